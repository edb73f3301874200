"""Artwork added to a job's text: drawings, pictures, words and parts, where there is room.

What is added is written as a person would write it, with a size, a depth, a fill and a place that
are a sensible beginning; every letter that was there stays.

Long because all kinds of things find their room, their depth and their fill in the same way.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flushwork.core.findings import JobRefusedError, Source
from flushwork.core.units.kinds import INCH_MM
from flushwork.job.keys.cut_list import NAME_MARK
from flushwork.job.text.edit import EditError
from flushwork.job.text.insert import Group, Value, with_item, with_named
from flushwork.shelf.equipment import BitKind
from flushwork.usecases.making.begun import LONGEST_NAME, Bench, begun, bench_of, written
from flushwork.usecases.making.fills import AddError, Jars
from flushwork.usecases.making.take_in import contents

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from flushwork.job.records import FaceName

WIDE: Final = 0.6
"""A drawing takes so much of the board at first, along and across (assumed: room for a name)."""
SMALLER: Final = (1.0, 0.85, 0.7, 0.55, 0.42, 0.32, 0.24)
"""Sizes that are tried where there is no room, as shares of the first."""
MARGIN_MM: Final = 4.0
"""From the trim line, at first (common practice, no source)."""
GAP_MM: Final = 3.0
"""From what is there already, at first: twice the least wood between pockets."""
STEPS: Final = 24
"""Places tried from one side of the board to the other."""
LETTERS_MM: Final = 10.0
"""The least height of letters at first: those of the bold sans are then as wide as a fine bit."""
DRILLED_MM: Final = 8.0
"""Deep enough for a peg to stand (common practice, no source)."""
TRIED_MM: Final = 100.0
"""A drawing is drawn so wide to see what room it needs."""
FONT: Final = "sans bold"
DRILLED: Final = frozenset({"grid", "arc", "points", "points file"})
"""Keys that say where holes are."""


@dataclass(frozen=True, slots=True)
class Added:
    """A job's text with something added to it.

    ``things`` are what was added, each as its kind, face and name (``inlay/front/leaf``); ``said``
    tells in words where it lies.
    """

    text: str
    things: tuple[str, ...]
    said: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be added: items of ``inlays`` and ``holes``, and the groups that they name.

    ``resized`` is the key, ``width`` or ``size``, that may become whatever there is room for;
    ``stays`` says that they lie where they say.
    """

    items: tuple[tuple[str, Group], ...]
    named: tuple[tuple[tuple[str, ...], Group], ...] = ()
    resized: str = ""
    stays: bool = False


def add_words(
    job_file: Path | str,
    text: str,
    words: str,
    *,
    size: str = "",
    font: str = FONT,
    face: FaceName = "front",
    inch: bool = False,
    more: Group | None = None,
) -> Added:
    """Return a job's text with words added, on one line or on several.

    ``size`` is the height of their em square; where left out a tenth of the board, on a bare one
    whatever there is room for.  ``font`` is a packaged font or a file beside the job; ``more`` are
    other keys, as ``on arc``.  Words with parts finer than the finest bit are engraved.
    Raises AddError where they cannot be drawn, JobRefusedError where the text cannot be read.
    """
    bench = bench_of(job_file, text, face, inch=inch)
    said = "\n".join(line.strip() for line in words.splitlines() if line.strip())
    if not said:
        raise AddError("there are no words yet")
    jars = Jars(bench.job)
    item: Group = {
        "name": bench.named("names" if said == NAME_MARK else said.replace("\n", " ")),
        "text": said,
        "font": font,
        "size": size.strip() or bench.about(max(bench.narrow_mm / 10.0, LETTERS_MM)),
        **(more or {}),
        "depth": bench.depth(),
        "fill": jars.off(fine=True),
    }
    # the only thing on a board is as large as there is room for
    resized = "" if size.strip() or more or bench.face.things else "size"
    wanted = Wanted((("inlays", item),), jars.fresh, resized)
    added = put_on(bench, wanted)
    bit = _too_wide(bench, added)
    if not bit:
        return added
    carved = put_on(bench, replace(wanted, items=(("inlays", {**item, "engrave": "yes"}),)))
    told = f"{carved.said} It is engraved with a V-bit: parts of it are finer than the {bit}."
    return replace(carved, said=told)


def _too_wide(bench: Bench, added: Added) -> str:
    """Return the finest flat bit where it cannot pass words that a V-bit of the shop can carve."""
    from flushwork.fit.reach import reach  # noqa: PLC0415

    flats = bench.flat()
    carves = any(each.kind is BitKind.V_BIT for each in bench.job.shop.bits)
    _, faces = begun(bench.path, added.text)
    face = next(each for each in faces if each.name == bench.face.name)
    name = added.things[0].split("/", 2)[2]
    region = next(each.region for each in face.inlays if each.inlay.name == name)
    if region.is_empty or not flats or not carves:
        return ""
    finest = min(flats, key=lambda each: each.diameter_mm)
    return "" if reach(region, finest).passes else finest.name


def add_drawing(
    job_file: Path | str,
    text: str,
    file: str,
    *,
    by: str = "colours",
    face: FaceName = "front",
    inch: bool = False,
    more: Group | None = None,
    colours: Sequence[str] = (),
    stays: bool = False,
) -> Added:
    """Return a job's text with a drawing or a picture added that lies beside the job file.

    ``by`` is ``colours`` or ``layers``, an inlay for each, or ``whole``.  A colour is filled with
    the mix of the job that is nearly like it, else with a new mix of the shelf's nearest pigment.
    ``more`` are other keys, as ``width``; without one it gets the size there is room for.  Only
    ``colours`` are taken where some are named; one that ``stays`` lies where ``more`` has it.
    Raises AddError or TakenError where it cannot be drawn, JobRefusedError where the text cannot be
    read.
    """
    held, more = contents(job_file, file), more or {}
    if held.kind == "font":
        raise AddError("a font is for words: type some, and choose it there")
    bench = bench_of(job_file, text, face, inch=inch)
    parts: list[tuple[dict[str, list[str]], str]]
    jars = Jars(bench.job)
    colours = colours or [colour for colour, _ in held.colours]
    if by == "colours" and colours:
        fills = jars.like(colours)
        together: dict[str, list[str]] = {}
        for colour, fill in zip(colours, fills, strict=True):
            together.setdefault(fill, []).append(colour)
        parts = [({"colours": colours}, fill) for fill, colours in together.items()]
        if len(parts) == 1 and held.kind == "svg":
            parts = [({}, parts[0][1])]
    else:
        fill = jars.off()
        layers = held.layers if by == "layers" else ()
        parts = [({"layers": [layer]}, fill) for layer in layers] or [({}, fill)]
    items: list[tuple[str, Group]] = []
    for picked, fill in parts:
        told = ", ".join(picked.get("layers", ()) or (fill,))
        stem = Path(file).stem[: LONGEST_NAME - 12]
        item: Group = {
            "name": bench.named(stem if len(parts) == 1 else f"{stem} {told}"),
            held.kind: file,
            **picked,
            "width": bench.long(TRIED_MM),
            **({"even light": "yes"} if held.shaded and not stays else {}),
            **more,
            "depth": bench.depth(),
            "fill": fill,
        }
        items.append(("inlays", item))
    resized = "" if "width" in more else "width"
    return put_on(bench, Wanted(tuple(items), jars.fresh, resized, stays))


def add_part(
    job_file: Path | str,
    text: str,
    part: Group,
    *,
    face: FaceName = "front",
    inch: bool = False,
) -> Added:
    """Return a job's text with a part added by its measures, as an item of the job file has them.

    ``part`` is for example ``{"ring": {"outside": "84 mm", "inside": "80 mm"}}``, or with ``grid``,
    ``line``, ``arc`` or ``points`` a pattern of holes.  Raises AddError where it cannot be drawn,
    JobRefusedError where the text cannot be read.
    """
    if not part:
        raise AddError("nothing is named to be added")
    bench = bench_of(job_file, text, face, inch=inch)
    name = part.get("name") or next(iter(part))
    item: dict[str, Value] = {"name": "", **part}
    item["name"] = bench.named(str(name))
    if is_drilled(part):
        item.setdefault("diameter", bench.hole(DRILLED_MM))
        item.setdefault("depth", "through")
        return put_on(bench, Wanted((("holes", item),)))
    jars = Jars(bench.job)
    item.setdefault("depth", bench.depth())
    item.setdefault("fill", jars.off())
    return put_on(bench, Wanted((("inlays", item),), jars.fresh))


def add_points(
    job_file: Path | str,
    text: str,
    file: str,
    *,
    by: str = "holes",
    face: FaceName = "front",
    inch: bool = False,
) -> Added:
    """Return a job's text with a list of points added that lies beside the job file.

    ``by`` is ``holes``, one at each point, or ``outline``, an inlay with the points as its corners,
    written into the text.  Raises AddError or TakenError where it cannot be drawn, JobRefusedError
    where the text cannot be read.
    """
    held = contents(job_file, file)
    if held.kind != "points":
        message = f"{held.file} is no list of points"
        raise AddError(message)
    name = Path(held.file).stem[:LONGEST_NAME]
    if by == "holes":
        part: Group = {"name": name, "points file": held.file}
        return add_part(job_file, text, part, face=face, inch=inch)
    from flushwork.art.hole_patterns import read_points  # noqa: PLC0415

    place = Path(job_file).parent / held.file
    corners = [
        [written(x_mm, inch=inch), written(y_mm, inch=inch)]
        for x_mm, y_mm in read_points(place, Source(held.file, 1, 1, ""))
    ]
    return add_part(
        job_file, text, {"name": name, "polygon": {"points": corners}}, face=face, inch=inch
    )


def is_drilled(part: Group) -> bool:
    """Return whether a part's keys name a pattern of holes; a rectangle has a ``line`` as well."""
    return bool(DRILLED & part.keys()) or isinstance(part.get("line"), Mapping)


# ---- Where it lies: in the middle of the board, or the nearest place that is free


def put_on(bench: Bench, wanted: Wanted) -> Added:
    """Return a text with all that is wanted put on the face, where there is room for it."""
    tried = _written_in(bench, wanted, 1.0, (0.0, 0.0))
    shape = _shape_of(bench, tried, wanted)
    size, shift, said = 1.0, (0.0, 0.0), "It lies where it did."
    if not wanted.stays:
        size, shift, said = _room_for(bench, shape, resized=bool(wanted.resized))
    text = tried
    if wanted.resized or shift != (0.0, 0.0):
        text = _written_in(bench, wanted, size, shift)
    kinds = {"inlays": "inlay", "holes": "holes"}
    things = tuple(f"{kinds[at]}/{bench.face.name}/{item['name']}" for at, item in wanted.items)
    return Added(text, things, said)


def tried_shape(bench: Bench, wanted: Wanted) -> BaseGeometry:
    """Return what is wanted as it would lie in the middle of the board; raises AddError."""
    return _shape_of(bench, _written_in(bench, wanted, 1.0, (0.0, 0.0)), wanted)


def _written_in(bench: Bench, wanted: Wanted, size: float, shift: tuple[float, float]) -> str:
    text = bench.text
    try:
        for steps, group in wanted.named:
            text = with_named(text, steps, group)
        for kind, item in wanted.items:
            own = dict(item)
            if wanted.resized:
                own[wanted.resized] = bench.long(size * TRIED_MM)
            if shift != (0.0, 0.0):
                own["at"] = [bench.long(each) for each in shift]
            text = with_item(text, (bench.face.name, kind), own)
    except EditError as error:
        message = f"it cannot be written into the text: {error}"
        raise AddError(message) from error
    return text


def _shape_of(bench: Bench, text: str, wanted: Wanted) -> BaseGeometry:
    """Return what is added as it would lie in the middle of the board."""
    from shapely import Point, unary_union  # noqa: PLC0415

    names = {str(item["name"]) for _, item in wanted.items}
    try:
        _, faces = begun(bench.path, text)
    except JobRefusedError as refused:
        first = refused.findings[0]
        message = f"{first.message}; {first.remedy}"
        raise AddError(message) from refused
    face = next(each for each in faces if each.name == bench.face.name)
    shapes: list[BaseGeometry] = []
    for drawn in face.inlays:
        if drawn.inlay.name in names:
            shapes += [drawn.region, drawn.strokes]
    for drilled in face.holes:
        if drilled.holes.name in names:
            radius = drilled.holes.diameter_mm / 2.0
            shapes += [Point(each.x_mm, each.y_mm).buffer(radius) for each in drilled.places]
    return unary_union([each for each in shapes if not each.is_empty])


def _room_for(
    bench: Bench, shape: BaseGeometry, *, resized: bool
) -> tuple[float, tuple[float, float], str]:
    """Return how large something may be and how far from the middle it lies, and say so."""
    from shapely import Point, prepare, unary_union  # noqa: PLC0415
    from shapely.affinity import scale, translate  # noqa: PLC0415

    face = bench.face
    x0, y0, x1, y1 = face.trim.bounds
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    there: list[BaseGeometry] = [each.region.buffer(GAP_MM) for each in face.things]
    there += [
        Point(hole.x_mm, hole.y_mm).buffer(drilled.holes.diameter_mm / 2.0 + GAP_MM)
        for drilled in face.holes
        for hole in drilled.places
    ]
    free = face.visible.buffer(-MARGIN_MM).difference(unary_union(there))
    prepare(free)
    hull = shape.convex_hull if resized else shape.simplify(0.05)
    first = 1.0
    if resized and not shape.is_empty:
        left, low, right, high = shape.bounds
        seen = face.visible.bounds
        fits = (
            WIDE * (seen[2] - seen[0]) / (right - left),
            WIDE * (seen[3] - seen[1]) / max(high - low, 1e-9),
        )
        first = min(fits)
    step = INCH_MM / 32.0 if bench.inch else 0.5

    def rounded(mm: float) -> float:
        return round(mm / step) * step

    across, up = (x1 - x0) / STEPS, (y1 - y0) / STEPS
    half = range(-STEPS // 2, STEPS // 2 + 1)
    places = [(rounded(column * across), rounded(row * up)) for column, row in product(half, half)]
    # straight below the middle comes before beside it, as under a picture
    places.sort(key=lambda at: (hypot(1.5 * at[0], at[1]), at[1], at[0]))
    for share in SMALLER if resized else (1.0,):
        size = first * share
        if resized:
            size = max(rounded(size * TRIED_MM), step) / TRIED_MM
        sized = scale(hull, size, size, origin=middle) if resized else hull
        for at in places:
            if free.contains(translate(sized, *at)):
                where = "in the middle of the board" if at == (0.0, 0.0) else "where there is room"
                return size, at, f"It lies {where}."
    if not resized and face.visible.contains(hull) and not unary_union(there).intersects(hull):
        return 1.0, (0.0, 0.0), "It lies in the middle of the board, near its edge."
    size = max(rounded(first * TRIED_MM), step) / TRIED_MM if resized else 1.0
    return size, (0.0, 0.0), "There is no free place of its size: it lies in the middle for now."


def room_times(bench: Bench, shape: BaseGeometry) -> float:
    """Return how many times as large a shape may be to fill the middle of the bare board."""
    from shapely.affinity import scale  # noqa: PLC0415

    face = bench.face
    x0, y0, x1, y1 = face.trim.bounds
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    hull, free = shape.convex_hull, face.visible.buffer(-MARGIN_MM)
    left, low, right, high = hull.bounds
    seen = face.visible.bounds
    most = min(
        (seen[2] - seen[0]) / max(right - left, 1e-9), (seen[3] - seen[1]) / max(high - low, 1e-9)
    )
    return next(
        (
            most * share / 20.0
            for share in range(19, 0, -1)
            if free.contains(scale(hull, most * share / 20.0, most * share / 20.0, origin=middle))
        ),
        most / 20.0,
    )
