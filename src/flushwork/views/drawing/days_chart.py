"""The chart of pieces and cures over the days: one drawing for each week or two.

Every piece has a lane of two rows: above, what is done to it, at the machine (dark) or by hand
(white, outlined); below, what hardens (grey) and what still cures while it may be worked (thin).
Words stand in the bars where they fit, so that nothing is told by colour.

The axis of the chart of days: hours of the shop wide, nights narrow, idle days narrowest.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from flushwork.core.units.factors import DAY_MIN
from flushwork.schedule.plan import Reached, Schedule, Step, Wait
from flushwork.schedule.shop_days import ShopDays
from flushwork.schedule.solve.tasks import Span
from flushwork.views.book_records import Picture
from flushwork.views.day_sheets import by_piece
from flushwork.views.drawing.drawings import Space
from flushwork.views.drawing.svg import drawing, shape, words
from flushwork.views.figures import TO, joined

SHUT: Final = 0.2
"""How wide a shut hour of a day with work is drawn, for an open one of 1."""

IDLE: Final = 0.1
"""The same for all hours of a day without work: enough for its date."""

WEEK_DAYS: Final = 7

ROW_MIN: Final = 3900.0
"""Weeks stand in one row while they are no wider than this, in open minutes: five days of work."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Which days have work and so are drawn wide."""

    days: ShopDays
    busy: Collection[int]

    def width(self, day: int, until_min: int = DAY_MIN) -> float:
        """Return how wide a day is until a minute of it, in open minutes."""
        if day not in self.busy:
            return IDLE * until_min
        opened = max(0, min(until_min, self.days.closes_min) - self.days.opens_min)
        return opened + SHUT * (until_min - opened)


@dataclass(frozen=True, slots=True)
class Strip:
    """Some days in a row on paper: ``count`` of them from the day ``first`` on.

    ``left_mm`` is where the first midnight stands, ``per_min`` how wide an open minute is.
    """

    axis: Axis
    first: int
    count: int
    left_mm: float
    per_min: float

    @property
    def begin_min(self) -> int:
        """The first minute."""
        return self.first * DAY_MIN

    @property
    def end_min(self) -> int:
        """The minute after the last one."""
        return (self.first + self.count) * DAY_MIN

    @property
    def right_mm(self) -> float:
        """Where the last midnight stands."""
        return self.place(self.end_min)

    def place(self, minute: int) -> float:
        """Return where a minute stands, mm from the left; outside the strip, its nearer end."""
        inside = min(max(minute, self.begin_min), self.end_min)
        day, rest = divmod(inside, DAY_MIN)
        before = sum(self.axis.width(each) for each in range(self.first, day))
        return self.left_mm + self.per_min * (before + self.axis.width(day, rest))


def strips(axis: Axis, first: int, last: int, left_mm: float, room_mm: float) -> list[Strip]:
    """Return the days from first to last in rows of whole weeks, all at one scale."""
    rows: list[tuple[int, int, float]] = []
    for begin in range(first, last + 1, WEEK_DAYS):
        count = min(WEEK_DAYS, last + 1 - begin)
        wide = sum(axis.width(day) for day in range(begin, begin + count))
        if rows and rows[-1][2] + wide <= ROW_MIN:
            before = rows.pop()
            rows.append((before[0], before[1] + count, before[2] + wide))
        else:
            rows.append((begin, count, wide))
    widest = max(wide for _, _, wide in rows)
    return [Strip(axis, begin, count, left_mm, room_mm / widest) for begin, count, _ in rows]


NAMES_MM: Final = 19.0
HEAD_MM: Final = 6.0
LEGEND_MM: Final = 6.5
LANE_MM: Final = 9.0
BESIDE_MM: Final = 60.0
"""Room on the chart's page for its heading and note."""
LEAST_MM: Final = 0.35
"""A bar is drawn at least so wide where there is room before the next one."""
LETTER: Final = 0.56
"""Mean width of a letter for a size of 1 (from memory, for the book's sans serif)."""

INK: Final = "#2b2622"
OPEN: Final = "#f1ebe1"
CURE: Final = "#d3cbbf"
LINE: Final = "#bdb3a6"


class BarKind(StrEnum):
    """What a bar stands for."""

    MACHINE = "machine"
    HANDS = "hands"
    CURE = "cure"
    FULL = "full cure"


ROWS: Final = {
    BarKind.MACHINE: (0.08, 0.46),
    BarKind.HANDS: (0.22, 0.46),
    BarKind.CURE: (0.52, 0.92),
    BarKind.FULL: (0.66, 0.78),
}
"""Where a bar begins and ends within its lane; hands and machine differ in height too, so that bars
too thin for an outline are told apart."""

LEGEND: Final = (
    (BarKind.MACHINE, "at the machine"),
    (BarKind.HANDS, "by hand"),
    (BarKind.CURE, "hardens: leave it"),
    (BarKind.FULL, "hard, not yet fully cured"),
)


@dataclass(frozen=True, slots=True)
class Bar:
    """Something that lasts, in a lane; ``labels`` are its words, the longest first."""

    lane: int
    kind: BarKind
    begin_min: int
    end_min: int
    labels: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlacedBar:
    """A bar, or the part of it that falls into a week, on paper (mm from the upper left)."""

    bar: Bar
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


def bars_of(schedule: Schedule) -> tuple[Bar, ...]:
    """Return all bars; those of one row of a lane follow each other."""
    found: list[Bar] = []
    for lane, (_, steps, waits) in enumerate(by_piece(schedule)):
        found += _work(lane, steps)
        hard = [wait for wait in waits if wait.reaches is not Reached.CURED]
        spans = merged((wait.since_min, wait.ready_min) for wait in hard)
        found += [_cure(lane, span, hard) for span in spans]
        whole = merged(
            (wait.since_min, wait.ready_min) for wait in waits if wait.reaches is Reached.CURED
        )
        found += [
            Bar(lane, BarKind.FULL, begin, end)
            for span in whole
            for begin, end in without(span, spans)
        ]
    return tuple(found)


def _work(lane: int, steps: Sequence[Step]) -> list[Bar]:
    groups: list[list[Step]] = []
    for step in steps:
        last = groups[-1][-1] if groups else None
        if last is not None and last.end_min >= step.begin_min and last.machine == step.machine:
            groups[-1].append(step)
        else:
            groups.append([step])
    return [_worked(lane, group) for group in groups if group[-1].end_min > group[0].begin_min]


def _worked(lane: int, steps: Sequence[Step]) -> Bar:
    kind = BarKind.MACHINE if steps[0].machine else BarKind.HANDS
    first, last = steps[0].stage, steps[-1].stage
    stages = str(first) if first == last else f"{first}{TO}{last}"
    return Bar(
        lane, kind, steps[0].begin_min, steps[-1].end_min, (f"{kind.value} {stages}", stages)
    )


def _cure(lane: int, span: Span, waits: Sequence[Wait]) -> Bar:
    mixes = list(dict.fromkeys(wait.mix for wait in waits if span[0] <= wait.since_min < span[1]))
    return Bar(lane, BarKind.CURE, *span, labels=(f"cure: {joined(mixes)}", "cure"))


def merged(spans: Iterable[Span]) -> list[Span]:
    """Return the union of spans, in order, without touching ones."""
    result: list[Span] = []
    for begin, end in sorted(span for span in spans if span[1] > span[0]):
        if result and begin <= result[-1][1]:
            result[-1] = (result[-1][0], max(result[-1][1], end))
        else:
            result.append((begin, end))
    return result


def without(span: Span, others: Sequence[Span]) -> list[Span]:
    """Return what is left of a span when others, in order, are taken out of it."""
    left: list[Span] = []
    begin, end = span
    for other_begin, other_end in others:
        if other_end <= begin or other_begin >= end:
            continue
        if other_begin > begin:
            left.append((begin, other_begin))
        begin = max(begin, other_end)
    if begin < end:
        left.append((begin, end))
    return left


def placed(
    bars: Sequence[Bar], strip: Strip, top_mm: float, lane_mm: float
) -> tuple[PlacedBar, ...]:
    """Return the bars of one week on paper.

    A bar too short to be seen is drawn wider, as far as the next bar of its row leaves room.
    """
    rows: dict[tuple[int, bool], list[Bar]] = {}
    for bar in bars:
        if bar.end_min > strip.begin_min and bar.begin_min < strip.end_min:
            row = (bar.lane, bar.kind in (BarKind.MACHINE, BarKind.HANDS))
            rows.setdefault(row, []).append(bar)
    result: list[PlacedBar] = []
    for mine in rows.values():
        mine.sort(key=lambda bar: bar.begin_min)
        ends = [*(strip.place(bar.begin_min) for bar in mine[1:]), strip.right_mm]
        for bar, next_mm in zip(mine, ends, strict=True):
            x = strip.place(bar.begin_min)
            end = min(max(strip.place(bar.end_min), x + LEAST_MM), next_mm)
            above, below = ROWS[bar.kind]
            y = top_mm + (bar.lane + above) * lane_mm
            result.append(PlacedBar(bar, x, y, end - x, (below - above) * lane_mm))
    return tuple(result)


def day_charts(schedule: Schedule, space: Space) -> tuple[Picture, ...]:
    """Return the drawings, of a week or more each; the first one explains the bars."""
    lanes = len(schedule.pieces)
    first, last = schedule.begin_min // DAY_MIN, max(schedule.finish_min - 1, 0) // DAY_MIN
    axis = Axis(schedule.days, {step.begin_min // DAY_MIN for step in schedule.steps})
    weeks = strips(axis, first, last, NAMES_MM, space.width_mm - NAMES_MM - 0.4)
    room_mm = space.height_mm - BESIDE_MM - LEGEND_MM - HEAD_MM
    lane_mm = min(LANE_MM, room_mm / lanes)
    bars = bars_of(schedule)
    return tuple(
        _week(schedule, bars, strip, space.width_mm, lane_mm, legend=number == 0)
        for number, strip in enumerate(weeks)
    )


def _week(
    schedule: Schedule,
    bars: Sequence[Bar],
    strip: Strip,
    width_mm: float,
    lane_mm: float,
    *,
    legend: bool,
) -> Picture:
    top = HEAD_MM + (LEGEND_MM if legend else 0.0)
    bottom = top + lane_mm * len(schedule.pieces)
    days, end = schedule.days, strip.end_min - 1
    span = days.day_text(strip.begin_min)
    if strip.count > 1:
        span += f" to {days.day_text(end)}"
    parts = _legend() if legend else []
    parts += _ground(strip, top, bottom)
    size = min(2.5, 0.4 * lane_mm)
    for lane, piece in enumerate(schedule.pieces):
        y = top + lane * lane_mm
        line = {"x1": 0.0, "x2": strip.right_mm, "y1": y, "y2": y, "stroke_width": 0.15}
        parts.append(shape("line", stroke=LINE, **line))
        parts.append(words(piece.name, 0.0, y + 0.5 * lane_mm + 0.35 * size, size))
    for bar in placed(bars, strip, top, lane_mm):
        parts += _drawn(bar)
    alt = f"What is done to each piece, and what cures, {span}"
    height = bottom + 0.4
    return Picture(alt, span, width_mm, height, svg=drawing(parts, width_mm, height, alt))


def _ground(strip: Strip, top: float, bottom: float) -> list[str]:
    """Return the shop's hours, the midnights, the names of the days, the frame."""
    days = strip.axis.days
    parts: list[str] = []
    for day in range(strip.first, strip.first + strip.count):
        begin, end = strip.place(day * DAY_MIN), strip.place((day + 1) * DAY_MIN)
        if days.works(day):
            opens = strip.place(day * DAY_MIN + days.opens_min)
            closes = strip.place(day * DAY_MIN + days.closes_min)
            box = {"x": opens, "y": top, "width": closes - opens, "height": bottom - top}
            parts.append(shape("rect", fill=OPEN, **box))
        line = {"x1": begin, "x2": begin, "y1": top - 1.5, "y2": bottom, "stroke_width": 0.15}
        parts.append(shape("line", stroke=LINE, **line))
        for name in day_names(days, day):
            if _fits(name, 2.4, end - begin):
                middle = (begin + end) / 2.0
                parts.append(words(name, middle, top - 1.6, 2.4, anchor="middle", bold=True))
                break
    frame = {"x": strip.left_mm, "y": top, "width": strip.right_mm - strip.left_mm}
    parts.append(
        shape("rect", fill="none", stroke=INK, stroke_width=0.25, height=bottom - top, **frame)
    )
    return parts


def day_names(days: ShopDays, day: int) -> tuple[str, ...]:
    """Return short names of a day, the longest first."""
    date = days.date(day)
    if days.dated:
        return (f"{date:%a} {date.day} {date:%b}", f"{date:%a} {date.day}", str(date.day))
    return (f"day {day + 1}, {date:%a}", f"{date:%a} {day + 1}", str(day + 1))


def _legend() -> list[str]:
    parts: list[str] = []
    x = NAMES_MM
    for kind, text in LEGEND:
        above, below = ROWS[kind]
        height = (below - above) * LANE_MM
        parts.append(_box(kind, x, 2.0 - height / 2.0, 7.0, height))
        parts.append(words(text, x + 8.2, 2.85, 2.5))
        x += 12.0 + LETTER * 2.5 * len(text)
    return parts


def _drawn(bar: PlacedBar) -> list[str]:
    kind = bar.bar.kind
    parts = [_box(kind, bar.x_mm, bar.y_mm, bar.width_mm, bar.height_mm)]
    size = min(2.3, 0.72 * bar.height_mm)
    text = next((each for each in bar.bar.labels if _fits(each, size, bar.width_mm)), "")
    if text and kind is not BarKind.FULL:
        parts.append(
            words(
                text,
                bar.x_mm + bar.width_mm / 2.0,
                bar.y_mm + bar.height_mm / 2.0 + 0.35 * size,
                size,
                anchor="middle",
                fill="#ffffff" if kind is BarKind.MACHINE else INK,
            )
        )
    return parts


def _box(kind: BarKind, x: float, y: float, width: float, height: float) -> str:
    """Return a bar; an outline is drawn within it, so that neighbours never overlap."""
    if kind is not BarKind.HANDS:
        fill = {BarKind.MACHINE: INK, BarKind.CURE: CURE}.get(kind, "#8f867b")
        return shape("rect", fill=fill, x=x, y=y, width=width, height=height)
    line = min(0.3, width / 4.0)
    return shape(
        "rect",
        fill="#ffffff",
        stroke=INK,
        stroke_width=line,
        x=x + line / 2.0,
        y=y + line / 2.0,
        width=max(width - line, 0.01),
        height=height - line,
    )


def _fits(text: str, size_mm: float, room_mm: float) -> bool:
    return LETTER * size_mm * len(text) + 0.8 <= room_mm
