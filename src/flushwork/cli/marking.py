"""The command ``marks``: what witness marks say, and the cut files that follow from them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flushwork.cli.output import Console
from flushwork.cli.readings import marks_read
from flushwork.errors import FlushworkError
from flushwork.findings import Finding, Severity
from flushwork.job.records import WitnessMark
from flushwork.pipeline import Build, build
from flushwork.plan.stages import Mounting
from flushwork.proof import witness
from flushwork.proof.seam_rules import told_by_marks
from flushwork.store import is_stale, put_folder
from flushwork.toolpaths.corrected import Correction, corrected
from flushwork.toolpaths.orders import CutFile

DONE, STOPPED = 0, 1
FOLDER = "corrected-cut-files"
MM_PER_INCH = 25.4
"""Exact (NIST SP 811, appendix B)."""
DATUM = (0.0, 0.0)
"""The blank's lower left corner, where X0 Y0 of our cut files lies."""


class MarksError(FlushworkError):
    """The marks cannot be read or used as asked; the message says why."""


def show_marks(
    path: Path,
    console: Console,
    *,
    mounting: int,
    typed: Sequence[str],
    file: Path | None,
    out: Path | None,
    confirmed: Callable[[str], bool],
) -> int:
    """Tell what marks to read, or what their readings say, and write what follows once confirmed.

    ``confirmed`` is asked with a question and answers it for the user.
    """
    made = build(path, console.progress)
    if made.job.bed.pieces > 1:
        raise MarksError("marks are read and corrected piece by piece: take `on the bed` out")
    there = _mounting(made, mounting)
    marks = _readings(made, there, typed, file)
    if not marks:
        _ask_for_readings(made, there, console)
        return DONE
    job = replace(made.job, witness_marks=marks)
    told = tuple(told_by_marks(job))
    clear = all(finding.severity is Severity.NOTE for finding in told)
    if not clear:
        console.report(told, may_be_cut=False, mounting=mounting)
        console.say("Nothing was written. Read the marks again.")
        return STOPPED
    along_x = job.blank.grain_along_x
    moved = witness.fit(marks, DATUM, grain_along_x=along_x)
    by = Correction(
        shift_mm=moved.shift_mm,
        about_mm=DATUM,
        turn_rad=moved.turn_rad,
        stretch_x=0.0 if along_x else moved.stretch,
        stretch_y=moved.stretch if along_x else 0.0,
    )
    files = tuple(
        each for each in made.cut_files if each.order.mounting == mounting and not each.order.bare
    )
    _tell(console, told, marks, moved, files)
    return _write(made, path, console, _Writing(mounting, by, moved, marks, files, out, confirmed))


@dataclass(frozen=True, slots=True)
class _Writing:
    """What is to be written, and whether the user wants it."""

    mounting: int
    by: Correction
    moved: witness.Moved
    marks: tuple[WitnessMark, ...]
    files: tuple[CutFile, ...]
    out: Path | None
    confirmed: Callable[[str], bool]


def _write(made: Build, path: Path, console: Console, what: _Writing) -> int:
    folder = what.out if what.out is not None else path.parent / f"{path.stem} built"
    if not made.may_be_cut:
        raise MarksError("a stop stands in the proof: no cut files are written")
    if is_stale(folder, (path,)):
        raise MarksError(
            f"{folder} holds no build of this job as it stands; run `flushwork build` first"
        )
    question = f"Write the {len(what.files)} cut files of mounting {what.mounting} corrected?"
    if not what.confirmed(question):
        console.say("Nothing was written.")
        _print_data(console, what, written=None)
        return DONE
    notes = (
        f"CORRECTED by witness marks read in mounting {what.mounting}.",
        f"S{correction_words(what.by)[1:]}.",
        "It fits this one piece as it lies now, and no other.",
    )
    files = {
        each.file_name: each.data
        for each in (corrected(file, what.by, notes) for file in what.files)
    }
    files["reading.txt"] = reading_text(what.marks, what.moved, what.by).encode()
    name = f"{FOLDER}/mounting {what.mounting}"
    put_folder(folder, name, files)
    console.say(f"Corrected cut files: {folder / name} ({len(files) - 1})")
    console.say("They fit this one piece as it lies now. Run each once in air first.")
    _print_data(console, what, written=str(folder / name))
    return DONE


def correction_words(by: Correction) -> str:
    """Return a correction in words."""
    return (
        f"shift {by.shift_mm[0]:+.3f}, {by.shift_mm[1]:+.3f} mm, turn {1000 * by.turn_rad:+.3f} "
        f"mrad, stretch {100 * (by.stretch_x + by.stretch_y):+.3f} % across the grain, about X0 Y0"
    )


def reading_text(marks: Sequence[WitnessMark], moved: witness.Moved, by: Correction) -> str:
    """Return the readings and what follows from them, to be kept beside the files.

    The text is a file of readings itself: ``--readings`` takes it, whatever the shop's units.
    """
    lines = ["# number: right, away; from what the movement says"]
    lines += [
        f"{number}: {mark.off_x_mm:+.3f} mm, {mark.off_y_mm:+.3f} mm  "
        f"# cut at X {mark.x_mm:.3f} mm, Y {mark.y_mm:.3f} mm; {residual:.3f} mm off"
        for number, (mark, residual) in enumerate(
            zip(marks, moved.residuals_mm, strict=True), start=1
        )
    ]
    return "\n".join([*lines, f"# {correction_words(by)}", ""])


def _tell(
    console: Console,
    told: tuple[Finding, ...],
    marks: Sequence[WitnessMark],
    moved: witness.Moved,
    files: Sequence[CutFile],
) -> None:
    if console.as_json:
        return
    for finding in told:
        console.say(finding.message)
        console.say(finding.remedy)
    for number, (mark, residual) in enumerate(zip(marks, moved.residuals_mm, strict=True), start=1):
        console.say(
            f"  mark {number} at {mark.x_mm:.2f}, {mark.y_mm:.2f} mm: read "
            f"{mark.off_x_mm:+.3f}, {mark.off_y_mm:+.3f} mm, {residual:.3f} mm from that"
        )
    console.say("It would correct: " + ", ".join(each.file_name for each in files))


def _print_data(console: Console, what: _Writing, *, written: str | None) -> None:
    if not console.as_json:
        return
    by = what.by
    console.data(
        {
            "mounting": what.mounting,
            "shift_mm": list(by.shift_mm),
            "turn_mrad": 1000.0 * by.turn_rad,
            "stretch_percent": 100.0 * (by.stretch_x + by.stretch_y),
            "residuals_mm": [round(float(each), 6) for each in what.moved.residuals_mm],
            "files": [each.file_name for each in what.files],
            "written": written,
        }
    )


def _mounting(made: Build, number: int) -> Mounting:
    for mounting in made.plan.mountings:
        if mounting.number == number:
            return mounting
    last = len(made.plan.mountings)
    raise MarksError(f"there is no mounting {number}; this job has 1 to {last}")


def _readings(
    made: Build, there: Mounting, typed: Sequence[str], file: Path | None
) -> tuple[WitnessMark, ...]:
    if not typed and file is None:
        return made.job.witness_marks
    if not there.reads:
        raise MarksError(
            f"mounting {there.number} reads no marks: none was cut into its face before"
            + ("" if made.job.marks else "; write `cut witness marks: yes` into the job")
        )
    return marks_read(
        made.plan.mountings[there.reads - 1].marks,
        typed,
        file,
        inch=made.job.shop.machine.dialect.inch,
    )


def _ask_for_readings(made: Build, there: Mounting, console: Console) -> None:
    if not there.reads:
        raise MarksError(
            f"mounting {there.number} reads no marks: none was cut into its face before"
            + ("" if made.job.marks else "; write `cut witness marks: yes` into the job")
        )
    places = made.plan.mountings[there.reads - 1].marks
    inch = made.job.shop.machine.dialect.inch
    if console.as_json:
        told = {"mounting": there.number, "marks": [list(place) for place in places]}
        console.data({**told, "units": "mm"})
        return
    console.say(f"Read in mounting {there.number}, {there.face} up, the marks of {there.reads}:")
    for number, (x, y) in enumerate(places, start=1):
        console.say(f"  {number}: go to {place_words(x, y, inch=inch)}; how far right, away is it?")
    such = "0.0047 in, 0.002 in" if inch else "0.12 mm, 0.05 mm"
    console.say(f'Then: flushwork marks JOB --mounting N --read "1: {such}" --read "2: ..."')
    taken = "inches" if inch else "mm"
    console.say(f"A reading without a unit is taken as {taken}, the units of your cut files.")


def place_words(x_mm: float, y_mm: float, *, inch: bool) -> str:
    """Return a place as the machine shows it, with its unit; in inches the mm beside it."""
    if not inch:
        return f"X {x_mm:.3f} Y {y_mm:.3f} mm"
    x_in, y_in = x_mm / MM_PER_INCH, y_mm / MM_PER_INCH
    return f"X {x_in:.4f} Y {y_in:.4f} in ({x_mm:.3f}, {y_mm:.3f} mm)"
