"""Ready-made parts by their measures: plain shapes, rows of holes, ornament and boards of games."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flushwork.core.keys.declare import Declared, choices, declared
from flushwork.core.units import Quantity, read_quantity
from flushwork.job.keys.games import AREA, HOLES, LINES, WORDS
from flushwork.job.records import Layout
from flushwork.job.text.insert import Group, Value
from flushwork.usecases.jobs import load
from flushwork.usecases.making.add import (
    DRILLED_MM,
    Added,
    Wanted,
    is_drilled,
    put_on,
    room_times,
    tried_shape,
)
from flushwork.usecases.making.begun import Bench, bench_of
from flushwork.usecases.making.fills import AddError, Jars

if TYPE_CHECKING:
    from flushwork.job.records import FaceName

SINGLE_LINE: Final = "single line plain"
STROKES: Final = 10.0
"""Numbers are so many strokes high at least: their eyes stay open (assumed, 8 to 12)."""
SHALLOW: Final = 1.5
"""They are at most so many strokes deep: what stands within them then holds (assumed, 1 to 2)."""
LINE_MM: Final = 1.0
"""How wide the lines of a layout are at first (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MeasureView:
    """One measure of a part: its key, how it is written at first, what it is for."""

    key: str
    value: str
    words: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadyMade:
    """A part that is made by its measures.

    ``parts`` are those of a layout, with what each is made of; ``key`` is its key in the job file.
    """

    kind: str
    words: str
    layout: bool
    measures: tuple[MeasureView, ...]
    parts: tuple[tuple[str, str], ...] = ()
    key: str = ""


def _m(key: str, value: str, words: str, choices: tuple[str, ...] = ()) -> MeasureView:
    return MeasureView(key, value, words, choices)


PLAIN: Final = (
    ReadyMade("disc", "A disc", False, (_m("circle", "40 mm", "across"),)),
    ReadyMade(
        "ring",
        "A ring",
        False,
        (_m("ring.outside", "84 mm", "across, outside"), _m("ring.inside", "80 mm", "inside")),
    ),
    ReadyMade(
        "star",
        "A star",
        False,
        (
            _m("polygon.sides", "8", "points"),
            _m("polygon.diameter", "60 mm", "from tip to tip"),
            _m("polygon.inner", "34 mm", "across the inner corners"),
        ),
    ),
    ReadyMade(
        "polygon",
        "A polygon",
        False,
        (_m("polygon.sides", "6", "sides"), _m("polygon.diameter", "60 mm", "across the corners")),
    ),
    ReadyMade(
        "border",
        "A border",
        False,
        (
            _m("rectangle", "80 mm x 80 mm", "along by up"),
            _m("round", "4 mm", "radius of its corners"),
            _m("line", "1.5 mm", "how wide it is"),
        ),
    ),
    ReadyMade(
        "hole row",
        "A row of holes",
        False,
        (
            _m("grid.columns", "6", "holes"),
            _m("grid.pitch", "10 mm", "from hole to hole"),
            _m("diameter", "3 mm", "across each"),
            _m("depth", "8 mm", "deep, or `through`"),
        ),
    ),
    ReadyMade(
        "hole grid",
        "A grid of holes",
        False,
        (
            _m("grid.columns", "5", "holes along"),
            _m("grid.rows", "5", "holes up"),
            _m("grid.pitch", "10 mm", "from hole to hole"),
            _m("diameter", "3 mm", "across each"),
            _m("depth", "8 mm", "deep, or `through`"),
        ),
    ),
)
FIXED: Final = {"hole row": {"grid.rows": "1"}}
"""What goes without asking."""
UNSCALED: Final = frozenset({"diameter", "depth", "round", "line"})
"""Measures that do not grow with the board: of a bit, of a line."""


_BOTH: Final = {
    "scale": (
        ("ruler", "A ruler", {"diameter", "start", "sweep"}),
        ("dial", "A dial", {"length"}),
    )
}
"""Layouts that are two things, with the keys that go with the other one only."""


def ready_made() -> tuple[ReadyMade, ...]:
    """Return every part that can be made by its measures, layouts after the plain ones."""
    found = list(PLAIN)
    for record in choices(Layout):
        if record.under is None:
            continue
        name, doc = record.under.name, record.under.doc.rstrip(".")
        parts = tuple(getattr(record, "parts", {}).items())
        for kind, words, without in _BOTH.get(name, ((name, doc, set()),)):
            measures = tuple(
                MeasureView(
                    each.name,
                    _first_value(each, kind),
                    each.doc.rstrip("."),
                    tuple(str(one) for one in getattr(each.kind, "choices", ()) or ()),
                )
                for each in declared(record)
                if each.name not in without and each.key.example
            )
            found.append(ReadyMade(kind, words, True, measures, parts, name))
    return tuple(found)


def _first_value(key: Declared, kind: str) -> str:
    """Return what is written at first: an example where something has to be, else the default."""
    needed = key.required or key.name in _NEEDED.get(kind, ())
    return key.key.example if needed else key.default_text


_NEEDED: Final = {"ruler": ("length",), "dial": ("diameter",)}


def part_of(kind: str) -> ReadyMade:
    """Return a part by its kind; raises AddError for one there is not."""
    found = next((each for each in ready_made() if each.kind == kind), None)
    if found is None:
        message = f"there is no ready-made part called {kind}"
        raise AddError(message)
    return found


def measures_for(
    job_file: Path | str,
    text: str,
    kind: str,
    face: FaceName,
    *,
    parts: Sequence[str] = (),
    inch: bool = False,
) -> tuple[MeasureView, ...]:
    """Return the measures of a part, its lengths such that all of it that is wanted fits the board.

    ``parts`` are those of ``add_ready_made``.  Raises AddError for a kind there is not,
    JobRefusedError where the text cannot be read.
    """
    part = part_of(kind)
    bench = bench_of(job_file, text, face, inch=inch)
    wanted = _wanted(bench, part, {each.key: each.value for each in part.measures}, parts)
    times = room_times(bench, tried_shape(bench, wanted))

    def fitted(each: MeasureView) -> MeasureView:
        if (each.key, part.layout) == ("diameter", False):
            return replace(each, value=bench.hole(DRILLED_MM))
        own = 1.0 if each.key in UNSCALED and not part.layout else times
        return replace(each, value=_LENGTHS.sub(lambda at: _times(at[0], own, bench), each.value))

    return tuple(fitted(each) for each in part.measures)


_LENGTHS: Final = re.compile(r"\d+(?:\.\d+)? mm")


def _times(length: str, times: float, bench: Bench) -> str:
    return bench.about(read_quantity(length, Quantity.LENGTH) * times)


def add_ready_made(
    job_file: Path | str,
    text: str,
    kind: str,
    measures: Mapping[str, str],
    *,
    parts: Sequence[str] = (),
    face: FaceName = "front",
    inch: bool = False,
) -> Added:
    """Return a job's text with a part added by its measures (``ready_made``), as they are typed.

    Of a layout all ``parts`` named are added, without any the first that is inlaid or drilled.
    Raises AddError where it cannot be drawn, JobRefusedError where the text cannot be read.
    """
    part = part_of(kind)
    bench = bench_of(job_file, text, face, inch=inch)
    return put_on(bench, _wanted(bench, part, measures, parts))


def _wanted(
    bench: Bench, part: ReadyMade, measures: Mapping[str, str], parts: Sequence[str]
) -> Wanted:
    item: dict[str, Value] = {}
    given = {**FIXED.get(part.kind, {}), **measures}
    for key, value in given.items():
        if not value.strip():
            continue
        group, _, inner = key.rpartition(".")
        told: Value = _listed(value)
        if group:
            held = item.setdefault(group, {})
            if isinstance(held, dict):
                held[inner] = told
        else:
            item[inner] = told
    if part.layout:
        return _laid_out(bench, part, item, parts)
    named: Group = {"name": bench.named(part.kind), **item}
    if is_drilled(item):
        return Wanted((("holes", named),))
    jars = Jars(bench.job)
    own = {**named, "depth": bench.depth(), "fill": jars.off()}
    return Wanted((("inlays", own),), jars.fresh)


def _laid_out(bench: Bench, part: ReadyMade, measures: Group, parts: Sequence[str]) -> Wanted:
    taken = {each.name for each in bench.job.layouts}
    numbered = (f"{part.kind} {number}" for number in range(2, 100))
    layout = next(each for each in (part.kind, *numbered) if each not in taken)
    wanted = [(name, made_of) for name, made_of in part.parts if name in parts]
    wanted = wanted or [each for each in part.parts if each[1] != WORDS][:1]
    jars = Jars(bench.job)
    items: list[tuple[str, Group]] = []
    areas: dict[str, str] = {}
    for name, made_of in wanted:
        own = bench.named(f"{layout} {name}")
        lies: dict[str, Value] = {"name": own, "layout": layout, "part": name}
        if made_of == HOLES:
            drilled = {"diameter": bench.hole(DRILLED_MM), "depth": bench.about(DRILLED_MM)}
            items.append(("holes", {**lies, **drilled}))
            continue
        depth = bench.depth_mm()
        if made_of == LINES:
            lies["width"] = bench.about(LINE_MM)
            if areas:
                # they run over the areas' edges: a second pass, that leaves a floor of the first
                lies["second pass of"] = list(areas)
                depth /= 2.0
        elif made_of == WORDS:
            # by a single stroke, as wide as the finest bit, so that it passes everywhere
            stroke_mm = bench.finest_mm()
            lies["font"] = SINGLE_LINE
            lies["size"] = bench.about(max(bench.narrow_mm / 25.0, STROKES * stroke_mm))
            lies["width"] = bench.long(stroke_mm)
            depth = min(depth, SHALLOW * stroke_mm)
        fill = jars.off(*areas.values(), fine=made_of != AREA)
        if made_of == AREA:
            areas[own] = fill
        items.append(("inlays", {**lies, "depth": bench.about(depth), "fill": fill}))
    return Wanted(tuple(items), ((("layouts", layout), {part.key: measures}), *jars.fresh))


def _listed(value: str) -> Value:
    told = value.strip()
    if not (told.startswith("[") and told.endswith("]")):
        return told
    return [each.strip() for each in told[1:-1].split(",")]


def readable(job_file: Path | str, text: str) -> str:
    """Return a text that can be read; raises JobRefusedError with all its slips for another."""
    load(job_file, text)
    return text
