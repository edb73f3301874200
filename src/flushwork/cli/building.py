"""The ``build`` command: everything a job yields, written in one move."""

from __future__ import annotations

import datetime as dt
import json
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.book.pictures import picture_names, picture_tasks
from flushwork.book.records import BookView
from flushwork.book.views import at_stake, book_view, costs_of
from flushwork.cli.output import Console, finding_data
from flushwork.cli.plan_files import plan_files
from flushwork.findings import Finding
from flushwork.geometry.drawn import Begun
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.job.resolved import resolved_text
from flushwork.job.sources import sources_of
from flushwork.kernels.ready import load_kernels
from flushwork.pipeline import Build
from flushwork.pipeline import build as build_job
from flushwork.runtime.pool import map_shared, run_aside
from flushwork.store import standing_findings, write_folder

DONE, STOPPED = 0, 1


def build_and_write(
    path: Path,
    out: Path | None,
    today: dt.date,
    console: Console,
    begun: Callable[[], Begun] | None = None,
    *,
    timings: bool,
) -> int:
    """Build a job, write what it yields, tell the user, and return the exit code.

    ``begun`` returns the job as read and drawn, where somebody has begun with that already.
    A job with a standing ``stop`` gets its proof and book in a folder of its own, without cut
    files; the last good build stays where it is.
    """
    load_kernels()
    made = build_job(path, console.progress, preread=begun)
    timed = list(made.timings_s)
    target = last_good(path, out)
    if not made.may_be_cut:
        target = target.with_name(f"{target.name} (stopped)")
    console.progress("print the book")
    start_s = time.perf_counter()
    files = yield_of(made, today)
    timed.append(("print the book", time.perf_counter() - start_s))
    sources = sources_of(made.job, path)
    aside = write_folder(target, files, sources)
    standing = () if made.may_be_cut else standing_findings(last_good(path, out), sources)
    told = (*made.findings, *standing)
    console.report(told, may_be_cut=made.may_be_cut, folder=str(target))
    if aside is not None:
        console.say(f"The folder had been changed by hand; it now lies in {aside}.")
    _tell_where(console, made, target)
    if timings:
        console.timings(timed)
    return DONE if made.may_be_cut else STOPPED


def last_good(path: Path, out: Path | None = None) -> Path:
    """Return the folder that the build of a job stands in."""
    return out if out is not None else path.parent / f"{path.stem} built"


def yield_of(made: Build, today: dt.date) -> dict[str, bytes]:
    """Return the files of a build by name: the book, pictures, proof, and cut files if proven."""
    tasks: list[Callable[[], Any]] = [partial(_words_of, made, today), *picture_tasks(made)]
    (view, plans), *drawn = map_shared(lambda task: task(), tasks)
    pictures = {name: data for some in drawn for name, data in some.items()}
    view = replace(view, pngs=pictures)
    # the typesetter keeps threads of its own, which a copy of this process would wait for in vain
    with run_aside(lambda: html_text(view).encode()) as web_page:
        files = {
            "shop-book.pdf": pdf_bytes(view),
            "proof.json": _json([finding_data(item) for item in made.findings]),
            "resolved-job.yaml": resolved_text(made.job).encode(),
            **{f"pictures/{name}.png": data for name, data in pictures.items()},
            **{f"plan/{name}": data for name, data in plans.items()},
        }
        if made.may_be_cut:
            files |= {f"cut-files/{file.file_name}": file.data for file in made.cut_files}
        return files | {"shop-book.html": web_page()}


def _words_of(made: Build, today: dt.date) -> tuple[BookView, dict[str, bytes]]:
    """Return the book with its pictures still to come, and the files about days and costs."""
    costs, risk = costs_of(made), at_stake(made)
    awaited = dict.fromkeys(picture_names(made), b"")
    view = book_view(made, awaited, today, costs=costs, risk=risk)
    return view, plan_files(made, today, costs=costs)


def _json(value: object) -> bytes:
    return (json.dumps(value, indent=2, ensure_ascii=False) + "\n").encode()


def _tell_where(console: Console, made: Build, target: Path) -> None:
    console.say(f"Shop book: {target / 'shop-book.pdf'}")
    if made.may_be_cut:
        console.say(f"Cut files: {target / 'cut-files'} ({len(made.cut_files)})")
    else:
        for line in mend_words(made.findings):
            console.say(line)


def mend_words(findings: Iterable[Finding]) -> list[str]:
    """Return what to do about the stops that stand; only what a reason lifts is offered so."""
    stops = {finding.code for finding in findings if finding.stands}
    never = sorted(stops & NEVER_ACCEPTED.keys())
    offered = ", ".join(
        f"{{finding: {code}, because: your reason}}"
        for code in sorted(stops - NEVER_ACCEPTED.keys())
    )
    if not offered:
        return ["No cut files were written. Mend the stop; no reason in the job lifts it."]
    lines = [
        "No cut files were written. Mend the stop, or accept it by name in the job:",
        f"  accept: [{offered}]",
    ]
    return [*lines, f"No reason lifts these: {', '.join(never)}."] if never else lines
