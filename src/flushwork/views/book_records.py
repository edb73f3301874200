"""The shop book as records of plain words, numbers and pictures: all a renderer may know.

Lengths named ``*_mm`` here are sizes on paper.  Every other figure is already words, with its
unit.  ``svg`` holds a whole drawing, ``png`` the name of a picture of the book; one is empty.

Long because both renderers read this one page, and declarations alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

PageSize = Literal["a4", "us-letter"]
BookLength = Literal["short", "full"]
UnitSystem = Literal["metric", "inch"]
Mark = Literal["must-fix", "warning", "note", "good"]


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture: what it shows in words, a caption, and its true size on paper."""

    alt: str
    caption: str
    width_mm: float
    height_mm: float
    svg: str = ""
    png: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """A label and what it says."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class TableView:
    """A table of words; ``wide`` are the columns (from 0) that hold sentences, not figures."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    wide: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class VerdictView:
    """The check in words: may the run be cut or not."""

    mark: Mark
    words: str
    detail: str


@dataclass(frozen=True, slots=True)
class FindingView:
    """One finding: ``number`` is its pin on the face, 0 where it has no place.

    ``picture`` shows that place, and the figure drawn where it can be.
    """

    mark: Mark
    number: int
    code: str
    message: str
    where: str
    measure: str
    why: str
    remedy: str
    source: str
    accepted: str
    picture: Picture | None = None


@dataclass(frozen=True, slots=True)
class FindingGroup:
    """All findings of one weight."""

    mark: Mark
    heading: str
    findings: tuple[FindingView, ...]


@dataclass(frozen=True, slots=True)
class CheckView:
    """The check: verdict, where the findings lie, the findings."""

    verdict: VerdictView
    places: tuple[Picture, ...]
    groups: tuple[FindingGroup, ...]


@dataclass(frozen=True, slots=True)
class LegendInlay:
    """One inlay in the legend of a colour map."""

    name: str
    depth: str
    manner: str
    bits: str


@dataclass(frozen=True, slots=True)
class LegendMix:
    """One mix in the legend: its letter on the map, its colour, the inlays it fills."""

    letter: str
    name: str
    colour: str
    recipe: str
    inlays: tuple[LegendInlay, ...]


@dataclass(frozen=True, slots=True)
class FaceMapView:
    """The colour map of a face, from the working side and mirrored from behind."""

    face: str
    heading: str
    working: Picture
    behind: Picture
    legend: tuple[LegendMix, ...]
    holes: tuple[str, ...]
    beside: bool


@dataclass(frozen=True, slots=True)
class SeenView:
    """A face as drawn, beside as it will be seen at the final sanded plane."""

    face: str
    heading: str
    drawn: Picture
    seen: Picture | None
    note: str
    beside: bool


@dataclass(frozen=True, slots=True)
class StageView:
    """One stage: ``ticks`` are the pieces of the run, the test piece last.

    ``how`` names the how-to it is worked by, ``differs`` what differs at this step; ``touch_up``
    what has to be mended as a rule, line by line.
    """

    number: int
    face: str
    title: str
    because: str
    details: tuple[str, ...]
    wait: str
    ticks: tuple[str, ...]
    warnings: tuple[str, ...]
    how: str = ""
    differs: str = ""
    touch_up: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HowToView:
    """How one kind of work is done, told once; ``bites`` are the warnings at each such stage."""

    number: int
    name: str
    steps: tuple[str, ...]
    good: str
    if_not: str
    bites: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepLine:
    """A stage on a card: what differs, when it begins, boxes for the pieces, its how-to."""

    number: int
    title: str
    detail: str
    airing: str
    when: str
    ticks: tuple[str, ...]
    how: int
    bites: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FileRow:
    """A G-code file on its setup's card, its figures in the file's own units."""

    order: int
    file_name: str
    bit: str
    rpm: str
    feed: str
    lowest_z: str
    does: str
    more: str
    starts: str
    before: str


@dataclass(frozen=True, slots=True)
class SetupCard:
    """A setup on one page; ``own`` are its stages at the machine, ``size`` is the blank's.

    ``feed_unit`` and ``z_unit`` are those of its files.
    """

    heading: str
    flip: str
    turns: tuple[str, ...]
    before: tuple[StepLine, ...]
    own: tuple[StepLine, ...]
    after: tuple[StepLine, ...]
    size: str
    thickness: str
    lasts: str
    facts: tuple[Fact, ...]
    regions: tuple[Fact, ...]
    picture: Picture
    feed_unit: str
    z_unit: str
    files: tuple[FileRow, ...]
    checks: tuple[str, ...]
    bites: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PourCard:
    """One pour on its sheet; ``too_much`` tells, row by row, how an overshoot is made good."""

    number: int
    letter: str
    colour: str
    heading: str
    makes: str
    fills: str
    step: StepLine
    picture: Picture | None
    scale: str
    clear_steps: tuple[MeasureStep, ...]
    colouring: str
    steps: tuple[MeasureStep, ...]
    too_much: tuple[str, ...]
    notes: tuple[str, ...]
    bites: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PourSheet:
    """The pours that follow each other, with what is alike for all of them said once."""

    heading: str
    facts: tuple[Fact, ...]
    detail: str
    before: tuple[StepLine, ...]
    pours: tuple[PourCard, ...]
    after: tuple[StepLine, ...]
    bites: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CardView:
    """A card in the order of work: one of a setup, or a sheet of pours."""

    setup: SetupCard | None
    pours: PourSheet | None


@dataclass(frozen=True, slots=True)
class RunDay:
    """A working day on the run sheet; ``files`` are G-code files with their bits."""

    day: str
    hours: str
    work: tuple[str, ...]
    files: tuple[Fact, ...]
    pours: tuple[str, ...]
    leave: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RunSheet:
    """Page 1: what is made, when, and the warnings; ``status`` tells how good the plan is."""

    title: str
    summary: str
    pictures: tuple[Picture, ...]
    facts: tuple[Fact, ...]
    verdict: VerdictView
    days: tuple[RunDay, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BuyGroup:
    """Things of one kind to buy or lay out: what, how much, what for."""

    heading: str
    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class GcodeFileView:
    """One G-code file on its setup's card; ``before`` is what is done by hand before it runs."""

    order: int
    file_name: str
    bit: str
    does: str
    figures: tuple[Fact, ...]
    first_motion: str
    within: str
    before: str = ""


@dataclass(frozen=True, slots=True)
class SetupView:
    """The card of one setup."""

    number: int
    heading: str
    turned: str
    facts: tuple[Fact, ...]
    picture: Picture
    files: tuple[GcodeFileView, ...]
    checks: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeasureStep:
    """One step of measuring a batch."""

    what: str
    tool: str
    add: str
    reads: str
    stop_between: str
    also: str


@dataclass(frozen=True, slots=True)
class PourView:
    """The card of one pour.

    ``clear_steps`` measure the common clear batch it is coloured out of, ``colouring`` says what
    follows them; ``overshoot`` says what to do when too much went in.
    """

    number: int
    stage: int
    letter: str
    mix: str
    colour: str
    heading: str
    serves: TableView
    facts: tuple[Fact, ...]
    steps: tuple[MeasureStep, ...]
    notes: tuple[str, ...]
    ticks: tuple[str, ...]
    warnings: tuple[str, ...]
    clear_steps: tuple[MeasureStep, ...] = ()
    colouring: str = ""
    overshoot: TableView | None = None


@dataclass(frozen=True, slots=True)
class LayerView:
    """One material of a section: its colour and its name with its greatest thickness."""

    colour: str
    words: str


@dataclass(frozen=True, slots=True)
class SectionView:
    """A section through a tricky place."""

    heading: str
    picture: Picture
    layers: tuple[LayerView, ...]
    note: str


@dataclass(frozen=True, slots=True)
class HoleGroupView:
    """The holes of one pattern; each row is number, x, y."""

    heading: str
    detail: str
    rows: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class SheetView:
    """The true-size outline of one face, in tiles the size of a page's live area."""

    heading: str
    note: str
    landscape: bool
    tiles: tuple[Picture, ...]


@dataclass(frozen=True, slots=True)
class TiltView:
    """One face held so that its flakes flash, and so that they lie dark."""

    heading: str
    bright: Picture
    dark: Picture
    beside: bool


@dataclass(frozen=True, slots=True)
class DyeView:
    """One kind of loose part: its colours (hex), its bath, and what difference remains."""

    heading: str
    colours: tuple[Fact, ...]
    bath: tuple[Fact, ...]
    remains: str


@dataclass(frozen=True, slots=True)
class DyeCard:
    """The card of dyed loose parts: the kinds, the order of work, the warnings."""

    kinds: tuple[DyeView, ...]
    note: str
    steps: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LightView:
    """How colours and bright lines come out; a table without rows is left out."""

    tilts: tuple[TiltView, ...]
    tilt_note: str
    colours: TableView
    colour_note: str
    lines: TableView
    ways: TableView
    line_note: str
    dyed: DyeCard | None = None


@dataclass(frozen=True, slots=True)
class YearView:
    """What a year where it will live does to the board: its picture, its figures, every place.

    ``asked`` is whether the job names its places; the short book tells of no others.
    """

    chart: Picture
    facts: tuple[Fact, ...]
    places: TableView
    note: str
    asked: bool


@dataclass(frozen=True, slots=True)
class CutListView:
    """How parts come out of the boards on hand: a picture of each board, figures, every part."""

    boards: tuple[Picture, ...]
    facts: tuple[Fact, ...]
    parts: TableView
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BoxView:
    """The box: sizes, drawings, parts, saw cuts in order, gluing, what is left at its corners."""

    facts: tuple[Fact, ...]
    drawings: tuple[Picture, ...]
    together: tuple[Picture, ...]
    parts: TableView
    cuts: tuple[str, ...]
    gluing: tuple[str, ...]
    corners: TableView
    bites: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SettingGroup:
    """What the job was understood to say about one thing."""

    heading: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class CareView:
    """The card that goes with the piece."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DaysView:
    """The days: one strip of them, the figures of the plan, the dates."""

    chart: Picture
    chart_note: str
    status: str
    facts: tuple[Fact, ...]
    dates: TableView


@dataclass(frozen=True, slots=True)
class CostView:
    """What the run costs: its lines, what has to be asked, other numbers of pieces."""

    note: str
    lines: TableView
    facts: tuple[Fact, ...]
    others: TableView
    missing: str


@dataclass(frozen=True, slots=True)
class OddsView:
    """The odds: a sentence, faces with the odds by place, what is weakest, what to tighten."""

    summary: str
    places: tuple[Picture, ...]
    place_note: str
    weakest: TableView
    tighten: TableView
    note: str


@dataclass(frozen=True, slots=True)
class NoReturnView:
    """One point of no return.

    What is in a piece, the odds that the step spoils it, what is at stake, the check.

    ``worth`` says in words whether the check pays; ``conditions`` are ticked; ``dearest`` tells
    that it is the dearest point of no return of the run.
    """

    stage: int
    title: str
    in_piece: str
    odds: str
    at_stake: str
    check: str
    worth: str
    conditions: tuple[str, ...]
    dearest: bool


@dataclass(frozen=True, slots=True)
class NoReturnsView:
    """All points of no return of the run, with charts of what is in a piece and at stake."""

    charts: tuple[Picture, ...]
    by_check: tuple[tuple[str, str], ...]
    note: str
    no_returns: tuple[NoReturnView, ...]


@dataclass(frozen=True, slots=True)
class BitSetView:
    """The bits of one round: its inlays, one sentence on its time, what each bit buys."""

    heading: str
    note: str
    buys: TableView


@dataclass(frozen=True, slots=True)
class BitsView:
    """The chapter on bits: the sets chosen, and the table of feeds."""

    sets: tuple[BitSetView, ...]
    feeds: TableView
    note: str


@dataclass(frozen=True, slots=True)
class BookView:
    """The whole shop book; ``pngs`` holds its pictures by the names that ``Picture.png`` gives."""

    page: PageSize
    units: UnitSystem
    title: str
    mark: str
    today: str
    run: RunSheet
    buy: tuple[BuyGroup, ...]
    lay_out: tuple[str, ...]
    cards: tuple[CardView, ...]
    how_to: tuple[HowToView, ...]
    safety: str
    safety_lines: tuple[str, ...]
    dye_bites: tuple[str, ...]
    check: CheckView
    maps: tuple[FaceMapView, ...]
    seen: tuple[SeenView, ...]
    sections: tuple[SectionView, ...]
    holes: tuple[HoleGroupView, ...]
    hole_note: str
    sheets: tuple[SheetView, ...]
    thickness_table: TableView
    thickness_note: str
    settings: tuple[SettingGroup, ...]
    resolved: str
    care: CareView
    batches: TableView
    light: LightView | None = None
    days: DaysView | None = None
    cost: CostView | None = None
    odds: OddsView | None = None
    no_returns: NoReturnsView | None = None
    bits: BitsView | None = None
    year: YearView | None = None
    cut_list: CutListView | None = None
    box: BoxView | None = None
    pngs: Mapping[str, bytes] = field(default_factory=dict)
