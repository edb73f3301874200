"""The commands that make something: ``build``, ``stages``, ``plan``, ``cost``, ``marks``."""

from __future__ import annotations

import datetime as dt
import math
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from flushwork.built import Build
from flushwork.cli.output import DONE, STOPPED, Console
from flushwork.core.findings import Finding, FlushworkError
from flushwork.core.units.kinds import INCH_MM
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.pipeline import build
from flushwork.process.stages import Setup
from flushwork.usecases.check import part_of
from flushwork.usecases.jobs import load, stages, stages_text
from flushwork.usecases.marks import (
    MarksRead,
    folder_to_correct,
    marks_to_read,
    read_marks,
    setup_of,
    write_corrected,
)
from flushwork.usecases.plan import cost, cost_text, day_sheet_text, plan, plan_data, write_plan
from flushwork.usecases.write import write

if TYPE_CHECKING:
    from flushwork.art.drawn import Begun
    from flushwork.views.book_records import BookLength


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
        console.say(
            f"G-code files: {target / 'gcode'} ({sum(len(each.gcode_files) for each in made.each)})"
        )
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


# ---- The commands about days and money: ``stages``, ``plan``, ``cost``


def show_stages(path: Path, console: Console, part: str = "") -> int:
    """Print the stages of a job, each with the reason why it stands where it does."""
    found = stages(path, part)
    if console.as_json:
        console.data(
            [
                {
                    "number": stage.number,
                    "kind": stage.kind.value,
                    "face": stage.face,
                    "title": stage.title,
                    "because": stage.because,
                    "setup": stage.setup or None,
                    "wait_s": stage.lag_s if math.isfinite(stage.lag_s) else None,
                }
                for stage in found.stages
            ]
        )
        return DONE
    console.units = load(path).shop.reads
    console.write(stages_text(found))
    return DONE


def show_plan(
    path: Path,
    console: Console,
    *,
    first: dt.date | None,
    log: Path | None,
    out: Path | None,
    zone: str,
    bench: str,
    today: dt.date,
) -> int:
    """Plan the days of a job, or what is left of them, and print the day sheets.

    With ``out`` the sheets, the calendar and the labels are written to that folder too.
    """
    found = plan(path, console.progress, first=first, log=log, zone=zone)
    made, schedule = found.build, found.schedule
    console.units = made.job.shop.reads
    if schedule is None:
        console.report((*found.hindered, *found.slips), ok_to_cut=made.ok_to_cut)
        return STOPPED
    if console.as_json:
        console.data(plan_data(schedule, found.slips))
    else:
        console.write(day_sheet_text(schedule))
        if found.slips:
            console.report(found.slips, ok_to_cut=made.ok_to_cut)
    if out is not None:
        write_plan(made, path, out, today=today, zone=zone, bench=bench)
        console.say(f"Day sheets, calendar and labels: {out}")
    return DONE


def show_cost(path: Path, console: Console) -> int:
    """Print what the run costs, what has to be asked for it, and what other numbers cost."""
    made = build(path, console.progress)
    console.units = made.job.shop.reads
    costs = cost(made)
    if costs is None:
        message = (
            "the shop file has no prices: add `prices` to it (docs/job-file.md tells its keys)"
        )
        raise FlushworkError(message)
    console.write(cost_text(costs))
    return DONE


# ---- The command ``marks``: what registration marks say, and the G-code that follows


def show_marks(
    path: Path,
    console: Console,
    *,
    setup: int,
    typed: Sequence[str],
    file: Path | None,
    out: Path | None,
    confirmed: Callable[[str], bool],
    part: str = "",
) -> int:
    """Tell what marks to read, or what their readings say, and write what follows once confirmed.

    ``confirmed`` is asked with a question and answers it for the user.
    """
    made = part_of(build(path, console.progress), part)
    console.units = made.job.shop.machine_reads
    found = read_marks(made, setup, typed, file)
    if found is None:
        _ask_for_readings(made, setup_of(made, setup), console)
        return DONE
    if not found.clear:
        console.report(found.told, ok_to_cut=False, setup=setup)
        console.say("Nothing was written. Read the marks again.")
        return STOPPED
    _tell(console, found)
    folder = folder_to_correct(made, path, out)
    if not confirmed(f"Write the {len(found.files)} G-code files of setup {setup} corrected?"):
        console.say("Nothing was written.")
        _print_data(console, found, written=None)
        return DONE
    place = write_corrected(folder, found)
    console.say(f"Corrected gcode files: {place} ({len(found.files)})")
    console.say("They fit this one piece as it lies now. Run each once in air first.")
    _print_data(console, found, written=str(place))
    return DONE


def _tell(console: Console, found: MarksRead) -> None:
    if console.as_json:
        return
    for finding in found.told:
        console.say(finding.message)
        console.say(finding.remedy)
    read = zip(found.marks, found.moved.residuals_mm, strict=True)
    for number, (mark, residual) in enumerate(read, start=1):
        console.say(
            f"  mark {number} at {mark.x_mm:.2f}, {mark.y_mm:.2f} mm: read "
            f"{mark.off_x_mm:+.3f}, {mark.off_y_mm:+.3f} mm, {residual:.3f} mm from that"
        )
    console.say("It would correct: " + ", ".join(each.file_name for each in found.files))


def _print_data(console: Console, found: MarksRead, *, written: str | None) -> None:
    if not console.as_json:
        return
    by = found.by
    console.data(
        {
            "setup": found.setup,
            "shift_mm": list(by.shift_mm),
            "turn_mrad": 1000.0 * by.turn_rad,
            "stretch_percent": 100.0 * (by.stretch_x + by.stretch_y),
            "residuals_mm": [round(float(each), 6) for each in found.moved.residuals_mm],
            "files": [each.file_name for each in found.files],
            "written": written,
        }
    )


def _ask_for_readings(made: Build, there: Setup, console: Console) -> None:
    places = marks_to_read(made, there)
    inch = made.job.shop.machine.dialect.inch
    if console.as_json:
        told = {"setup": there.number, "marks": [list(place) for place in places]}
        console.data({**told, "units": "mm"})
        return
    console.say(f"Read in setup {there.number}, {there.face} up, the marks of {there.reads}:")
    for number, (x, y) in enumerate(places, start=1):
        console.say(f"  {number}: go to {place_words(x, y, inch=inch)}; how far right, away is it?")
    such = "0.0047 in, 0.002 in" if inch else "0.12 mm, 0.05 mm"
    console.say(f'Then: flushwork marks JOB --setup N --read "1: {such}" --read "2: ..."')
    taken = "inches" if inch else "mm"
    console.say(f"A reading without a unit is taken as {taken}, the units of your G-code files.")


def place_words(x_mm: float, y_mm: float, *, inch: bool) -> str:
    """Return a place as the machine shows it, with its unit."""
    if not inch:
        return f"X {x_mm:.3f} Y {y_mm:.3f} mm"
    return f"X {x_mm / INCH_MM:.4f} Y {y_mm / INCH_MM:.4f} in"
