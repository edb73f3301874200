"""What the views of book and bench are made from: a build, how it is told, what is made of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from shapely import MultiPolygon

from flushwork.art.drawn import DrawnFace
from flushwork.built import Build
from flushwork.checks.no_return_points import Risk
from flushwork.job.records import Job
from flushwork.process.bright_lines import BrightLine
from flushwork.schedule.cost_table import CostTable
from flushwork.schedule.schedule import Schedule
from flushwork.views.book_records import LightView, PageSize, SectionView, UnitSystem
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.face_art import mix_letters
from flushwork.views.figures import Lengths, clean, counted, joined

PAGES: Mapping[PageSize, tuple[float, float]] = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}
"""Page sizes in mm (ISO 216; ANSI/ASME Y14.1 for letter)."""


def page_of(units: UnitSystem) -> PageSize:
    """Return the paper of a shop: US Letter where it reads inches, A4 in another."""
    return "us-letter" if units == "inch" else "a4"


MARGIN_MM = 15.0
"""The page's margins left and right; top and bottom hold the running lines as well."""

SHEET_MARGIN_MM = 10.0
"""Margins of the true-size sheets: most printers leave 5 mm blank (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ViewContext:
    """A build with all that its views need besides.

    ``today`` is the day of printing, in words; ``colours`` gives the colour of a mix by its name;
    ``pictures`` the PNGs of ``views.drawing.pictures`` by their names, which may still be empty;
    ``causes`` the reason behind a finding's code; ``resolved`` the job's canonical text; ``lines``
    the lines of flakes and ``light`` what is told of them and of the colours; ``schedule`` the
    days, where there is a plan of them, ``dated`` whether one was looked for; ``costs`` what it
    costs, where the shop has prices; ``risk`` what may go wrong; ``coarse`` whether it is a first
    picture.
    """

    build: Build
    today: str = ""
    colours: Mapping[str, str] = field(default_factory=dict)
    pictures: Mapping[str, bytes] = field(default_factory=dict)
    sections: tuple[SectionView, ...] = ()
    causes: Mapping[str, str] = field(default_factory=dict)
    resolved: str = ""
    page: PageSize = "a4"
    units: UnitSystem = "metric"
    lines: tuple[BrightLine, ...] = ()
    light: LightView | None = None
    schedule: Schedule | None = None
    dated: bool = True
    costs: CostTable | None = None
    risk: Risk | None = None
    coarse: bool = False

    @property
    def letters(self) -> dict[str, str]:
        """The letter of each mix the job pours."""
        return mix_letters(self.build.job)

    @property
    def lengths(self) -> Lengths:
        """How lengths are written."""
        return Lengths(self.units)

    def live(self) -> Space:
        """Return the live area of a page."""
        return live_space(self.page)

    def sheet(self) -> Space:
        """Return the live area of a true-size sheet held upright, its heading included."""
        width_mm, height_mm = PAGES[self.page]
        around = 2.0 * SHEET_MARGIN_MM
        return Space(width_mm - around, height_mm - around)


def live_space(page: PageSize) -> Space:
    """Return the live area of a page."""
    width_mm, height_mm = PAGES[page]
    return Space(width_mm - 2.0 * MARGIN_MM, height_mm - 2.0 * MARGIN_MM)


# ---- What is made, in one paragraph: the words of the book's first page and of the bench


ROUND_MM = 0.05
"""A trim line that is no further than this from a circle on the average leaves a disc."""


def blank_words(count: int, parted: int) -> str:
    """Return a number of blanks: pieces, or planks of so many pieces."""
    if parted == 1:
        return counted(count, "piece")
    each = " each" if count > 1 else ""
    return f"{counted(count, 'plank')} of {counted(parted, 'piece')}{each}"


def run_words(made: Build) -> str:
    """Return how many pieces and test pieces, or planks that are parted into so many.

    Of a job of several parts: of each, where they are made in different numbers.
    """
    if len({part.job.pieces for part in made.each}) > 1:
        return "; ".join(f"{clean(part.job.part)}: {_run_words(part)}" for part in made.each)
    return _run_words(made)


def _run_words(made: Build) -> str:
    job, parted = made.job, made.parted_into
    text = blank_words(job.pieces, parted)
    test = "test piece" if parted == 1 else "test plank"
    return f"{text} and {counted(job.test_pieces, test)}" if job.test_pieces else text


def shape_words(trim: MultiPolygon, lengths: Lengths) -> str:
    """Return what a trim line leaves: a disc, or what it measures across."""
    left, low, right, top = trim.bounds
    across_mm = right - left
    round_mm2 = math.pi / 4.0 * across_mm**2
    square = abs(across_mm - (top - low)) < ROUND_MM
    if square and abs(trim.area - round_mm2) < math.pi * across_mm * ROUND_MM:
        return f"a disc of {lengths.size(across_mm)}"
    return lengths.size(across_mm, top - low)


def _trimmed(trim: MultiPolygon, lengths: Lengths) -> str:
    """Return what a trim line leaves in words: one outline, or several parted from one blank."""
    if len(trim.geoms) < 2:
        return f"trimmed to {shape_words(trim, lengths)}"
    sizes = dict.fromkeys(shape_words(MultiPolygon([part]), lengths) for part in trim.geoms)
    each = f", each {next(iter(sizes))}" if len(sizes) == 1 else ""
    return f"parted into {len(trim.geoms)}{each}"


def summary(job: Job, faces: tuple[DrawnFace, ...], lengths: Lengths) -> str:
    """Return the one paragraph of what is made."""
    wood = clean(job.blank.wood.name)
    sides = [face for face in faces if face.worked]
    how = "worked on both faces" if len(sides) > 1 else "worked on one face"
    text = f"A blank of {wood}, {how}"
    if sides and not sides[0].trim.is_empty and job.outline.artwork is not None:
        text += f" and {_trimmed(sides[0].trim, lengths)}"
    sentences = [f"{text}."]
    for face in sides:
        parts = []
        if face.inlays:
            mixes = list(dict.fromkeys(clean(drawn.inlay.mix.name) for drawn in face.inlays))
            parts.append(f"{counted(len(face.inlays), 'inlay')} in {_colours(mixes)}")
        count = sum(len(pattern.places) for pattern in face.holes)
        if count:
            parts.append(counted(count, "hole"))
        if face.pockets:
            parts.append(f"{counted(len(face.pockets), 'pocket')} left empty")
        if face.edges:
            parts.append(counted(len(face.edges), "shaped edge"))
        if face.hangers:
            parts.append(counted(len(face.hangers), "hanger slot"))
        sentences.append(f"The {face.name} carries {joined(parts)}.")
    if job.finish is not None:
        coats = counted(job.finish.coats, "coat")
        sentences.append(f"Finished with {clean(job.finish.finish.name)}, {coats}.")
    return " ".join(sentences)


def _colours(mixes: list[str]) -> str:
    return joined(mixes) if len(mixes) <= 4 else f"{len(mixes)} colours"
