"""The command ``marks``: what registration marks say, and the G-code that follows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from flushwork.built import Build
from flushwork.cli.output import Console
from flushwork.core.units.factors import INCH_MM
from flushwork.pipeline import build
from flushwork.process.stages import Setup
from flushwork.usecases.marks import (
    MarksRead,
    folder_to_correct,
    marks_to_read,
    read_marks,
    setup_of,
    write_corrected,
)

DONE, STOPPED = 0, 1


def show_marks(
    path: Path,
    console: Console,
    *,
    setup: int,
    typed: Sequence[str],
    file: Path | None,
    out: Path | None,
    confirmed: Callable[[str], bool],
) -> int:
    """Tell what marks to read, or what their readings say, and write what follows once confirmed.

    ``confirmed`` is asked with a question and answers it for the user.
    """
    made = build(path, console.progress)
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
