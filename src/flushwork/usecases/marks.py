"""G-code files corrected by registration marks: what to read, what it says, what is written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from flushwork.built import Build
from flushwork.checks import registration
from flushwork.checks.registration import Moved
from flushwork.checks.rules.board.seam_rules import told_by_marks
from flushwork.core.findings import Finding, FlushworkError, Severity, Source
from flushwork.core.units import Quantity, UnitError, read_quantity
from flushwork.gcode.corrected import Correction, corrected
from flushwork.job.records import RegistrationMark
from flushwork.process.stages import Setup
from flushwork.store import is_stale, put_folder
from flushwork.toolpaths.orders import GcodeFile
from flushwork.usecases.check import build_folder

# ---- Readings of registration marks as typed
#
# A mark's number, and how far right and away it is off.


AS_WRITTEN: Final = "write it as `NUMBER: RIGHT, AWAY`, such as `1: 0.12 mm, -0.05 mm`"
_LINE: Final = re.compile(r"^(?:mark\s*)?(\d+)\s*[:,;\s]\s*(.+?)\s*[,;]\s*(.+?)$", re.IGNORECASE)
_BARE: Final = re.compile(r"^[+\-\u2212]?\s*(\d+\.?\d*|\.\d+)$")


class ReadingError(FlushworkError):
    """A reading cannot be understood; the message says where and what would be right."""


def marks_read(
    places: Sequence[tuple[float, float]],
    typed: Sequence[str],
    file: Path | None,
    *,
    inch: bool,
) -> tuple[RegistrationMark, ...]:
    """Return the marks with their readings, in the order of their numbers.

    A length without a unit is in what the machine shows: inches where ``inch``, else mm.  Raises
    ReadingError for a line that is no reading, a number no mark has, a mark read twice.
    """
    found: dict[int, RegistrationMark] = {}
    for where, line, text in _lines(typed, file):
        match = _LINE.match(text)
        if match is None:
            raise ReadingError(f"{where}: '{text}' is no reading; {AS_WRITTEN}")
        number = int(match[1])
        if not 1 <= number <= len(places):
            raise ReadingError(f"{where}: there is no mark {number}; they are 1 to {len(places)}")
        if number in found:
            raise ReadingError(f"{where}: mark {number} is read twice")
        x_mm, y_mm = places[number - 1]
        found[number] = RegistrationMark(
            x_mm,
            y_mm,
            _length_mm(match[2], where, inch=inch),
            _length_mm(match[3], where, inch=inch),
            Source(file.name if file is not None else "typed", line, 1, f"mark {number}"),
        )
    return tuple(found[number] for number in sorted(found))


def _lines(typed: Sequence[str], file: Path | None) -> list[tuple[str, int, str]]:
    found = [(f"reading {index}", index, text) for index, text in enumerate(typed, start=1)]
    if file is None:
        return found
    try:
        held = file.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise ReadingError(f"there is no text file {file} that can be read") from None
    for number, whole in enumerate(held.splitlines(), start=1):
        text = whole.partition("#")[0].strip()
        if text:
            found.append((f"{file.name}, line {number}", number, text))
    return found


def _length_mm(text: str, where: str, *, inch: bool) -> float:
    plain = text.strip().replace("\u2212", "-")
    if _BARE.match(plain):
        plain += " in" if inch else " mm"
    try:
        return read_quantity(plain, Quantity.LENGTH)
    except UnitError as error:
        raise ReadingError(f"{where}: {error.message}; {AS_WRITTEN}") from None


# ---- G-code files corrected by registration marks: what to read, what it says, what is written


FOLDER: Final = "corrected-gcode"
DATUM: Final = (0.0, 0.0)
"""The blank's lower left corner, where X0 Y0 of our G-code files lies."""


class MarksError(FlushworkError):
    """The marks cannot be read or used as asked; the message says why."""


@dataclass(frozen=True, slots=True)
class MarksRead:
    """Marks as read, what the checks make of them, and the files of the setup at hand.

    While anything heavier than a note is in ``told``, ``clear`` is false, there is no telling how
    the piece lies, and nothing may be written.
    """

    setup: int
    marks: tuple[RegistrationMark, ...]
    told: tuple[Finding, ...]
    files: tuple[GcodeFile, ...]
    grain_along_x: bool

    @property
    def clear(self) -> bool:
        """Whether the marks can be believed."""
        return all(finding.severity is Severity.NOTE for finding in self.told)

    @property
    def moved(self) -> Moved:
        """How the piece lies, by the marks."""
        return registration.fit(self.marks, DATUM, grain_along_x=self.grain_along_x)

    @property
    def by(self) -> Correction:
        """What the files are corrected by; wood moves across its grain only."""
        moved = self.moved
        return Correction(
            shift_mm=moved.shift_mm,
            about_mm=DATUM,
            turn_rad=moved.turn_rad,
            stretch_x=0.0 if self.grain_along_x else moved.stretch,
            stretch_y=moved.stretch if self.grain_along_x else 0.0,
        )


def setup_of(made: Build, number: int) -> Setup:
    """Return a setup by its number; raises MarksError where no mark can help it."""
    if made.job.bed.pieces > 1:
        raise MarksError("marks are read and corrected piece by piece: take `on the bed` out")
    for setup in made.plan.setups:
        if setup.number == number:
            return setup
    last = len(made.plan.setups)
    raise MarksError(f"there is no setup {number}; this job has 1 to {last}")


def marks_to_read(made: Build, there: Setup) -> tuple[tuple[float, float], ...]:
    """Return where the marks lie that a setup reads, in mm from the blank's corner.

    Raises MarksError where it reads none.
    """
    if not there.reads:
        raise MarksError(
            f"setup {there.number} reads no marks: none was cut into its face before"
            + ("" if made.job.marks else "; write `cut registration marks: yes` into the job")
        )
    return made.plan.setups[there.reads - 1].marks


def read_marks(
    made: Build, number: int, typed: Sequence[str] = (), file: Path | None = None
) -> MarksRead | None:
    """Return what readings say in a setup; None where there are none.

    ``number`` is the setup's, from 1.  Readings are ``typed`` and in a text ``file``, else the
    job's own.  Each is a text such as ``1: 0.12 mm, -0.05 mm``: the mark, how far it lies to the
    right and away of where the job has it.
    Raises MarksError or ReadingError where they cannot be read or used.
    """
    there = setup_of(made, number)
    marks = made.job.registration_marks
    if typed or file is not None:
        inch = made.job.shop.machine.dialect.inch
        marks = marks_read(marks_to_read(made, there), typed, file, inch=inch)
    if not marks:
        return None
    told = tuple(told_by_marks(replace(made.job, registration_marks=marks)))
    files = tuple(
        each
        for each in made.gcode_files
        if each.order.setup == there.number and not each.order.bare
    )
    return MarksRead(there.number, marks, told, files, made.job.blank.grain_along_x)


def folder_to_correct(made: Build, path: Path, out: Path | None = None) -> Path:
    """Return the folder of the build to correct; raises MarksError where that must not be."""
    folder = build_folder(path, out)
    if not made.ok_to_cut:
        raise MarksError("something must be fixed: no G-code files are written")
    if is_stale(folder, (path,)):
        raise MarksError(
            f"{folder} holds no build of this job as it stands; run `flushwork build` first"
        )
    return folder


def write_corrected(folder: Path, found: MarksRead) -> Path:
    """Write the corrected files and the readings into a build's folder; return where they lie.

    Raises StoreError where they cannot be written.
    """
    notes = (
        f"CORRECTED by registration marks read in setup {found.setup}.",
        f"S{correction_words(found.by)[1:]}.",
        "It fits this one piece as it lies now, and no other.",
    )
    moved = (corrected(file, found.by, notes) for file in found.files)
    files = {each.file_name: each.data for each in moved}
    files["reading.txt"] = reading_text(found.marks, found.moved, found.by).encode()
    part = found.files[0].order.part if found.files else ""
    name = f"{FOLDER}/{f'{part}, ' if part else ''}setup {found.setup}"
    put_folder(folder, name, files)
    return folder / name


def correction_words(by: Correction) -> str:
    """Return a correction in words."""
    return (
        f"shift {by.shift_mm[0]:+.3f}, {by.shift_mm[1]:+.3f} mm, turn {1000 * by.turn_rad:+.3f} "
        f"mrad, stretch {100 * (by.stretch_x + by.stretch_y):+.3f} % across the grain, about X0 Y0"
    )


def reading_text(marks: Sequence[RegistrationMark], moved: Moved, by: Correction) -> str:
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
