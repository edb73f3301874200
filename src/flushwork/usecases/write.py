"""Everything a build yields, written to its folder in one move."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from flushwork.book.compose import book_view
from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.built import Build
from flushwork.core.findings import Finding
from flushwork.job.records import sources_of
from flushwork.job.text.dump import resolved_text
from flushwork.runtime.pool import map_shared, run_aside
from flushwork.store import standing_findings, write_folder
from flushwork.usecases.check import build_folder
from flushwork.usecases.explain import finding_data
from flushwork.usecases.odds import no_return
from flushwork.usecases.plan import cost, plan_files
from flushwork.views.book_records import BookLength, BookView
from flushwork.views.drawing.pictures import picture_names, picture_tasks


@dataclass(frozen=True, slots=True)
class Written:
    """Where a build was written.

    ``findings`` are those of the build, and of the last good one where that was left standing;
    ``set_aside`` is where a folder that somebody had changed by hand lies now.
    """

    folder: Path
    findings: tuple[Finding, ...]
    set_aside: Path | None


def write(
    made: Build,
    path: Path | str,
    *,
    today: dt.date,
    out: Path | None = None,
    book: BookLength = "short",
) -> Written:
    """Write what a build of the job at ``path`` yields: book, pictures, G-code files, findings.

    ``today`` is the date printed in the book; the full ``book`` has a longer
    appendix.  in which something must be fixed there are no G-code files, and the folder is another
    one: the last good build stays where it is.  Raises StoreError where the folder cannot be
    written; what stood there is then untouched.
    """
    path = Path(path)
    last_good = build_folder(path, out)
    folder = last_good
    if not made.ok_to_cut:
        folder = last_good.with_name(f"{last_good.name} (stopped)")
    sources = sources_of(made.job, path)
    aside = write_folder(folder, files_of(made, today, book), sources)
    standing = () if made.ok_to_cut else standing_findings(last_good, sources)
    return Written(folder, (*made.findings, *standing), aside)


def files_of(made: Build, today: dt.date, book: BookLength = "short") -> dict[str, bytes]:
    """Return the files of a build by name; G-code files only where nothing must be fixed."""
    tasks: list[Callable[[], Any]] = [partial(_words_of, made, today), *picture_tasks(made)]
    (view, plans), *drawn = map_shared(lambda task: task(), tasks)
    pictures = {name: data for some in drawn for name, data in some.items()}
    view = replace(view, pngs=pictures)
    # the typesetter keeps threads of its own, which a copy of this process would wait for in vain
    reads = made.job.shop.reads
    with run_aside(lambda: html_text(view).encode()) as web_page:
        files = {
            "shop-book.pdf": pdf_bytes(view, book),
            "check.json": _json([finding_data(item, reads) for item in made.findings]),
            "resolved-job.yaml": resolved_text(made.job).encode(),
            **{f"pictures/{name}.png": data for name, data in pictures.items()},
            **{f"plan/{name}": data for name, data in plans.items()},
        }
        if made.ok_to_cut:
            files |= {
                f"gcode/{file.file_name}": file.data
                for part in made.each
                for file in part.gcode_files
            }
        return files | {"shop-book.html": web_page()}


def _words_of(made: Build, today: dt.date) -> tuple[BookView, dict[str, bytes]]:
    """Return the book with its pictures still to come, and the files about days and costs."""
    costs = cost(made)
    risk = no_return(made) if made.replay.states else None
    awaited = dict.fromkeys(picture_names(made), b"")
    others = [no_return(part) for part in made.parts] if risk is not None else []
    view = book_view(made, awaited, today, costs=costs, risk=risk, other_risks=others)
    return view, plan_files(made, today, costs=costs)


def _json(value: object) -> bytes:
    return (json.dumps(value, indent=2, ensure_ascii=False) + "\n").encode()
