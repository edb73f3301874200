"""What the views of book and bench are made from: a build, and how it shall be told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from flushwork.built import Build
from flushwork.checks.risk import Risk
from flushwork.process.bright_lines import BrightLine
from flushwork.schedule.cost_table import CostTable
from flushwork.schedule.schedule import Schedule
from flushwork.views.book_records import LightView, PageSize, SectionView, UnitSystem
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.face_art import mix_letters
from flushwork.views.figures import Lengths

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
