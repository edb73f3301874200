"""The ``build`` command: everything a job yields, written in one move."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from flushwork.built import Build
from flushwork.cli.output import Console
from flushwork.core.findings import Finding
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.pipeline import build
from flushwork.usecases.write import write

if TYPE_CHECKING:
    from flushwork.art.drawn import Begun
    from flushwork.views.book_records import BookLength

DONE, STOPPED = 0, 1


def build_and_write(
    path: Path,
    out: Path | None,
    today: dt.date,
    console: Console,
    preread: Callable[[], Begun],
    *,
    timings: bool,
    book: BookLength = "short",
) -> int:
    """Build a job, write what it yields, tell the user, and return the exit code."""
    made = build(path, console.progress, preread=preread)
    console.units = made.job.shop.reads
    console.progress("print the book")
    start_s = time.perf_counter()
    written = write(made, path, today=today, out=out, book=book)
    timed = (*made.timings_s, ("print the book", time.perf_counter() - start_s))
    console.report(written.findings, ok_to_cut=made.ok_to_cut, folder=str(written.folder))
    if written.set_aside is not None:
        console.say(f"The folder had been changed by hand; it now lies in {written.set_aside}.")
    _tell_where(console, made, written.folder)
    if timings:
        console.timings(timed)
    return DONE if made.ok_to_cut else STOPPED


def _tell_where(console: Console, made: Build, target: Path) -> None:
    console.say(f"Shop book: {target / 'shop-book.pdf'}")
    if made.ok_to_cut:
        console.say(f"G-code files: {target / 'gcode'} ({len(made.gcode_files)})")
    else:
        for line in fix_words(made.findings):
            console.say(line)


def fix_words(findings: Iterable[Finding]) -> list[str]:
    """Return what to do about what must be fixed; only what a reason lifts is offered so."""
    stops = {finding.code for finding in findings if finding.stands}
    never = sorted(stops & NEVER_ACCEPTED.keys())
    offered = ", ".join(
        f"{{finding: {code}, because: your reason}}"
        for code in sorted(stops - NEVER_ACCEPTED.keys())
    )
    if not offered:
        return ["No G-code files were written. Fix it; no reason in the job lifts it."]
    lines = [
        "No G-code files were written. Fix it, or accept it by name in the job:",
        f"  accept: [{offered}]",
    ]
    return [*lines, f"No reason lifts these: {', '.join(never)}."] if never else lines
