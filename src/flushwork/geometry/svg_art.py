"""SVG artwork: pick layers, refuse what cannot be cut as it is, give regions in mm."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from shapely import LineString, MultiLineString, MultiPolygon

from flushwork.findings import Finding, Source
from flushwork.geometry.affine import scaling
from flushwork.geometry.faults import Faults, caution, listed, refusal
from flushwork.geometry.regions import united
from flushwork.geometry.shapes import Shapes
from flushwork.geometry.svg_file import parsed, svg_data
from flushwork.geometry.svg_paint import Painted, hull, paint
from flushwork.geometry.svg_shapes import READERS
from flushwork.geometry.svg_size import Page, read_page
from flushwork.geometry.svg_text import PX_MM, UnreadableError
from flushwork.geometry.svg_tree import Seen, Walk
from flushwork.job.records import SvgArt
from flushwork.kernels.flatten import Points
from flushwork.memory import remembered

REMEDIES: Final = {
    "svg-path-malformed": "save the drawing anew; if the shape was typed by hand, mend its path",
    "svg-number-unreadable": "write lengths in mm, cm, in, pt or px, and every number in full",
    "svg-transform-malformed": "in the drawing program apply the transform to the shape itself",
    "svg-coordinates-absurd": "look for a stray point or a wrong unit in the drawing",
    "svg-style-unreadable": "give the shapes their fill and stroke themselves, not by a rule",
    "svg-size-unreadable": "set the page size of the drawing in mm or inches",
    "svg-too-many-shapes": "keep only the shapes that are cut, each drawn once",
    "svg-use-unknown": "replace the linked copy by a real one in the drawing program",
    "svg-use-endless": "replace the linked copy by a real one in the drawing program",
    "svg-symbol": "unlink the symbol in the drawing program, so that its shapes stand alone",
}
_TAGS: Final = {
    "text": (
        "svg-live-text",
        "is live text, and its font is not in the file",
        "convert the text to outlines in the drawing program, or set it with `text:` in the job",
    ),
    "image": (
        "svg-picture",
        "is a picture of dots, which has no outline to cut",
        "trace it to outlines in the drawing program, or take it out of the layer",
    ),
    "foreignObject": (
        "svg-picture",
        "is no drawing but something embedded",
        "take it out of the layer",
    ),
}
_EFFECTS: Final = {
    "clip-path": ("svg-clipped", "is clipped", "cut the shape at the clip path and remove that"),
    "mask": ("svg-clipped", "is masked", "cut the shape at the mask and remove the mask"),
    "filter": ("svg-effect", "has a filter", "remove the filter or draw its result as outlines"),
    "stroke-dasharray": ("svg-effect", "has a dashed stroke", "draw each dash as a line"),
    "marker": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "marker-start": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "marker-mid": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "marker-end": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "vector-effect": (
        "svg-effect",
        "has a stroke that does not scale with the drawing",
        "give the stroke its width in the drawing's own units",
    ),
}
_STROKE_EFFECTS: Final = frozenset({"stroke-dasharray", "vector-effect"})
_MARKERS: Final = frozenset({"marker", "marker-start", "marker-mid", "marker-end"})


SCREEN_UNITS: Final = frozenset({"px", "pt", "pc"})
"""Units of a screen or a printing press, which say nothing sure about wood."""
POINTS: Final = 96.0 / 72.0
"""Dots to the inch of CSS (CSS Values and Units 3, 6.2) over points to the inch."""

_ROUGH_MM: Final = 100.0
"""Shapes are measured at about this size before they are scaled, whatever their own units."""


@dataclass(frozen=True, slots=True)
class _Drawing:
    """A drawing once its layers are picked."""

    name: str
    page: Page
    picked: tuple[Seen, ...]
    source: Source


def draw_svg(art: SvgArt, folder: Path, source: Source, tolerance_mm: float) -> Shapes:
    """Return the picked shapes in mm; raise JobRefusedError with every fault found in them."""
    return _drawn(art, svg_data(folder / art.file, source), source, tolerance_mm)


@remembered
def _drawn(art: SvgArt, data: bytes, source: Source, tolerance_mm: float) -> Shapes:
    name = Path(art.file).name
    root = parsed(data, name, source)
    walk = Walk(root)
    try:
        page = read_page(root)
        seen = walk.shapes()
    except UnreadableError as fault:
        raise refusal(
            source, fault.code, f"the drawing {name}: {fault.what}", REMEDIES[fault.code]
        ) from None
    picked = _pick(art, seen, walk, name, source)
    drawing = _Drawing(name, page, picked, source)
    faults = Faults()
    _note_uncuttable(drawing, walk, art.layers, faults)
    if not page.sized and art.width_mm is None:
        faults.add(
            source,
            "svg-without-size",
            f"the drawing {name} does not say how large it is: its width and height bear no unit; "
            f"its {page.frame[2]:g} units are {PX_MM * page.frame[2]:.1f} mm at 96 to the inch, "
            f"{PX_MM * POINTS * page.frame[2]:.1f} mm at 72, or mm as they stand",
            "measure one length you know and give the artwork a `width` in the job, or set the "
            "page size in mm or inches in the drawing program",
        )
        faults.refuse()
    scale = 1.0 if art.width_mm is None else _scale_to(drawing, art.width_mm)
    painted = _paint_all(drawing, scale, tolerance_mm, faults)
    _note_outlines(drawing, painted, scale, faults)
    faults.refuse()
    return _gathered(drawing, painted, scale, _scale_unsure(drawing, art))


def _pick(
    art: SvgArt, seen: Sequence[Seen], walk: Walk, name: str, source: Source
) -> tuple[Seen, ...]:
    """Return what lies in the layers asked for, all of it where none is named."""
    faults = Faults()
    for layer in art.layers:
        if layer not in walk.names:
            there = listed(walk.names) or "none at all"
            faults.add(
                source,
                "svg-layer-unknown",
                f"the drawing {name} has no layer or shape called '{layer}'; "
                f"the names in it are: {there}",
                "mend the name; upper and lower case count",
            )
    faults.refuse()
    wanted = set(art.layers)
    picked = tuple(item for item in seen if not wanted or wanted & item.names)
    broken = any(not wanted or wanted & names for *_, names in walk.faults)
    if not picked and not broken:
        out_of_sight = sorted(wanted & walk.unseen_names)
        where = f"in {listed(sorted(wanted))} of" if wanted else "in"
        hint = f" ({listed(out_of_sight)} is switched off there)" if out_of_sight else ""
        raise refusal(
            source,
            "svg-without-shapes",
            f"there is no shape {where} the drawing {name}{hint}",
            "draw closed shapes or stroked lines, and leave their layer visible",
        )
    return picked


def _note_uncuttable(drawing: _Drawing, walk: Walk, layers: Sequence[str], faults: Faults) -> None:
    wanted = set(layers)
    for code, words, what, names in walk.faults:
        if not wanted or wanted & names:
            message = f"the {words} of {drawing.name} cannot be used: {what}"
            faults.add(drawing.source, code, message, REMEDIES[code])
    told = {
        f"the {item.words} of {drawing.name} {what}": (code, remedy)
        for item in drawing.picked
        for code, what, remedy in _objections(item)
    }
    for message, (code, remedy) in told.items():
        faults.add(drawing.source, code, message, remedy)


def _objections(item: Seen) -> list[tuple[str, str, str]]:
    """Return why a seen element cannot be cut as it stands."""
    if item.tag in _TAGS:
        return [_TAGS[item.tag]]
    found = [
        _EFFECTS[name]
        for name in ("clip-path", "mask", "filter")
        if any(style.get(name, "none") != "none" for style in item.around)
    ]
    stroked = item.style.get("stroke", "none") != "none"
    for name in ("stroke-dasharray", "vector-effect", *sorted(_MARKERS)):
        value = item.style.get(name, "none")
        if value == "none" or (name in _STROKE_EFFECTS and not stroked):
            continue
        if name == "vector-effect" and value != "non-scaling-stroke":
            continue
        if name in _MARKERS and item.tag in ("rect", "circle", "ellipse"):
            continue
        found.append(_EFFECTS[name])
    return found


def _paint_all(
    drawing: _Drawing, scale: float, tolerance_mm: float, faults: Faults
) -> list[tuple[Seen, Painted]]:
    to_mm = scaling(scale, scale).after(drawing.page.to_mm)
    result: list[tuple[Seen, Painted]] = []
    for item in drawing.picked:
        if item.tag not in READERS:
            continue
        try:
            result.append((item, paint(item, to_mm, tolerance_mm)))
        except UnreadableError as fault:
            message = f"the {item.words} of {drawing.name} cannot be used: {fault.what}"
            faults.add(drawing.source, fault.code, message, REMEDIES[fault.code])
    return result


def _scale_to(drawing: _Drawing, width_mm: float) -> float:
    """Return the factor that makes the picked shapes as wide as the job says."""
    found: list[Points] = []
    for item in drawing.picked:
        # what cannot be read is told when it is painted
        with suppress(UnreadableError):
            if item.tag in READERS:
                found.append(hull(item, drawing.page.to_mm))
    corners = np.concatenate([np.empty((0, 2)), *found])
    extent_mm = float(np.ptp(corners, axis=0).max()) if len(corners) else 0.0
    if not extent_mm > 0.0:
        return 1.0
    rough = _ROUGH_MM / extent_mm
    painted = _paint_all(drawing, rough, _ROUGH_MM * 1e-5, Faults())
    region = united([shape.region for _, shape in painted])
    wide_mm = 0.0 if region.is_empty else region.bounds[2] - region.bounds[0]
    return width_mm / wide_mm * rough if wide_mm > 0.0 else 1.0


def _note_outlines(
    drawing: _Drawing, painted: Sequence[tuple[Seen, Painted]], scale: float, faults: Faults
) -> None:
    """Note open and crossing outlines, with their places as the drawing program shows them."""

    def whence(place: tuple[float, float]) -> str:
        x, y = place[0] / scale, drawing.page.frame[3] - place[1] / scale
        unit = "mm" if drawing.page.sized else "of its units"
        return f"at {x:.2f} {unit} from the left and {y:.2f} {unit} from the top of its page"

    for item, shape in painted:
        for place in shape.crossing_at:
            faults.add(
                drawing.source,
                "svg-path-crosses-itself",
                f"the {item.words} of {drawing.name} crosses itself {whence(place)}",
                "take the loop out, or unite the path with itself in the drawing program",
            )
    gaps = [place for _, shape in painted for place in shape.open_at]
    if gaps:
        number = "one outline is" if len(gaps) == 1 else f"{len(gaps)} outlines are"
        faults.add(
            drawing.source,
            "svg-outline-open",
            f"{number} open though filled in {drawing.name}; the first begins {whence(gaps[0])}",
            "close it; if it is meant as a line, give it a stroke and no fill",
        )


def _scale_unsure(drawing: _Drawing, art: SvgArt) -> tuple[Finding, ...]:
    """Tell of a size written in dots, which programs take at 96 or at 72 to the inch."""
    page = drawing.page
    if art.width_mm is not None or page.unit not in SCREEN_UNITS:
        return ()
    wide = page.frame[2]
    other = wide * POINTS if page.unit == "px" else wide / POINTS
    at, else_at = ("96", "72") if page.unit == "px" else ("72", "96")
    return (
        caution(
            drawing.source,
            "svg-scale-unsure",
            f"the drawing {drawing.name} gives its size in {page.unit}: {wide:.1f} mm at {at} to "
            f"the inch, as it is read here, {other:.1f} mm if it was drawn at {else_at}, which is "
            f"{other / wide:.2f} times as wide",
            "measure one length you know and give the artwork a `width`, or save the drawing in mm",
        ),
    )


def _gathered(
    drawing: _Drawing,
    painted: Sequence[tuple[Seen, Painted]],
    scale: float,
    cautions: tuple[Finding, ...],
) -> Shapes:
    """Put the shapes together, and tell of shapes drawn twice."""
    region = united([shape.region for _, shape in painted])
    if region.is_empty:
        raise refusal(
            drawing.source,
            "svg-without-shapes",
            f"the shapes picked in the drawing {drawing.name} have no area",
            "draw closed shapes, or lines with a stroke",
        )
    lines_only = all(shape.stroked_only for _, shape in painted)
    strokes = [line for _, shape in painted for line in shape.strokes] if lines_only else []
    left, low, right, high = (number * scale for number in drawing.page.frame)
    return Shapes(
        region=region,
        strokes=MultiLineString(_once(strokes)),
        frame=(left, low, right, high),
        cautions=(*cautions, *_doubles(drawing, painted)),
    )


def _once(lines: Sequence[LineString]) -> list[LineString]:
    """Return the lines without exact repetitions, either way round."""
    kept: dict[tuple[tuple[float, ...], ...], LineString] = {}
    for line in lines:
        coords = tuple(line.coords)
        kept.setdefault(min(coords, coords[::-1]), line)
    return list(kept.values())


def _doubles(drawing: _Drawing, painted: Sequence[tuple[Seen, Painted]]) -> tuple[Finding, ...]:
    """Tell of shapes that lie exactly on another one."""
    seen: dict[tuple[float, ...], tuple[str, MultiPolygon]] = {}
    twice: list[str] = []
    for item, shape in painted:
        if shape.region.is_empty:
            continue
        key = tuple(round(number, 2) for number in (*shape.region.bounds, shape.region.area))
        if key in seen and _same(seen[key][1], shape.region):
            twice.append(f"{item.words} on {seen[key][0]}")
        seen.setdefault(key, (item.words, shape.region))
    if not twice:
        return ()
    return (
        caution(
            drawing.source,
            "svg-shape-twice",
            f"the drawing {drawing.name} holds the same shape twice: {listed(twice)}; "
            "it is cut once",
            "delete the copy in the drawing program, or move it to where it belongs",
        ),
    )


def _same(first: MultiPolygon, second: MultiPolygon) -> bool:
    apart: float = first.symmetric_difference(second).area
    return apart <= 0.01 * first.length
