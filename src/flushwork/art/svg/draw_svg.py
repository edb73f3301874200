"""SVG artwork: pick layers, refuse what cannot be cut as it is, give regions in mm."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from shapely import LineString, MultiLineString, MultiPolygon

from flushwork.art.drawn import Box, Shapes
from flushwork.art.faults import Faults, listed, refusal, warned
from flushwork.art.placement import scaling
from flushwork.art.regions import united
from flushwork.art.svg.numbers import PX_MM, Page, UnreadableError, read_page
from flushwork.art.svg.objections import objections
from flushwork.art.svg.paint import PAPER, Painted, Sight, hull, in_sight, paint
from flushwork.art.svg.shape_contours import READERS
from flushwork.art.svg.tree import Seen, Walk, parsed, svg_data
from flushwork.core.findings import Finding, JobRefusedError, Source
from flushwork.job.records import SvgArt
from flushwork.kernels.outlines import Points
from flushwork.runtime.memo import memoized

REMEDIES: Final = {
    "svg-path-malformed": "save the drawing again; if it was typed by hand, correct its path",
    "svg-number-unreadable": "write lengths in mm, cm, in, pt or px, and every number in full",
    "svg-transform-malformed": "in the drawing program apply the transform to the shape itself",
    "svg-coordinates-absurd": "look for an odd point or a wrong unit in the drawing",
    "svg-style-unreadable": "give the shapes their fill and stroke themselves, not by a rule",
    "svg-size-unreadable": "set the page size of the drawing in mm or inches",
    "svg-too-many-shapes": "keep only the shapes that are cut, each drawn once",
    "svg-use-unknown": "replace the linked copy by a real one in the drawing program",
    "svg-use-endless": "replace the linked copy by a real one in the drawing program",
    "svg-clipped": "cut the shape at the clip path or mask in the drawing program",
}

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


@dataclass(frozen=True, slots=True)
class _Taken:
    """What one piece of artwork takes of a drawing."""

    art: SvgArt
    picked: tuple[Seen, ...]


def draw_svg(
    art: SvgArt,
    folder: Path,
    source: Source,
    tolerance_mm: float,
    together: tuple[SvgArt, ...] = (),
) -> Shapes:
    """Return the picked shapes in mm; raise JobRefusedError with every fault found in them.

    ``together`` are all picks of the drawing, this one too, that are to keep their places to each
    other: they are scaled and placed by the box of them all.
    """
    return _drawn(art, svg_data(folder / art.file, source), source, tolerance_mm, together)


@memoized
def _drawn(
    art: SvgArt, data: bytes, source: Source, tolerance_mm: float, together: tuple[SvgArt, ...]
) -> Shapes:
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
    box = _rough_box(drawing, [_Taken(art, picked)]) if art.width_mm is not None else None
    if len(together) > 1:
        takes = [_Taken(art, picked)]
        for each in (other for other in together if other != art):
            # what is wrong with another pick is told where that one is drawn
            with suppress(JobRefusedError):
                takes.append(_Taken(each, _pick(each, seen, walk, name, source)))
        box = _rough_box(drawing, takes)
    scale = art.width_mm / (box[2] - box[0]) if art.width_mm is not None and box else 1.0
    painted = _paint_all(drawing, scale, tolerance_mm, faults)
    _note_outlines(drawing, painted, scale, faults)
    faults.refuse()
    shapes = _gathered(drawing, painted, scale, art, _scale_unsure(drawing, art))
    shapes = replace(shapes, scale=scale)
    if box is None or len(together) < 2:
        return shapes
    left, low, right, high = (number * scale for number in box)
    return replace(shapes, extent=(left, low, right, high))


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
                "correct the name; upper and lower case count",
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
        for code, what, remedy in objections(item)
    }
    for message, (code, remedy) in told.items():
        faults.add(drawing.source, code, message, remedy)


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


def _rough_box(drawing: _Drawing, takes: Sequence[_Taken]) -> Box | None:
    """Return the box, in mm of the page, of all that is taken; None where it has no width.

    It is measured at about the same size whatever the drawing's own units.
    """
    found: list[Points] = []
    for item in (item for take in takes for item in take.picked):
        # what cannot be read is told when it is painted
        with suppress(UnreadableError):
            if item.tag in READERS:
                found.append(hull(item, drawing.page.to_mm))
    corners = np.concatenate([np.empty((0, 2)), *found])
    extent_mm = float(np.ptp(corners, axis=0).max()) if len(corners) else 0.0
    if not extent_mm > 0.0:
        return None
    rough = _ROUGH_MM / extent_mm
    regions = []
    for take in takes:
        picked = replace(drawing, picked=take.picked)
        painted = _paint_all(picked, rough, _ROUGH_MM * 1e-5, Faults())
        regions.append(in_sight([shape for _, shape in painted], take.art.colours).region)
    region = united(regions)
    if region.is_empty or region.bounds[2] <= region.bounds[0]:
        return None
    left, low, right, high = (number / rough for number in region.bounds)
    return (left, low, right, high)


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
        warned(
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
    art: SvgArt,
    warnings: tuple[Finding, ...],
) -> Shapes:
    """Put the shapes together as they are seen, and tell of shapes drawn twice or left out."""
    _refuse_colours(drawing, painted, art.colours)
    sight = in_sight([shape for _, shape in painted], art.colours)
    if sight.region.is_empty:
        raise refusal(
            drawing.source,
            "svg-without-shapes",
            f"the shapes picked in the drawing {drawing.name} have no area",
            "draw closed shapes, or lines with a stroke",
        )
    left, low, right, high = (number * scale for number in drawing.page.frame)
    told = (*warnings, *_doubles(drawing, painted), *_left_out(drawing, painted, art, sight))
    return Shapes(
        region=sight.region,
        strokes=MultiLineString(_once(sight.strokes)),
        frame=(left, low, right, high),
        warnings=told,
    )


def _refuse_colours(
    drawing: _Drawing, painted: Sequence[tuple[Seen, Painted]], colours: Sequence[str]
) -> None:
    """Refuse colours that nothing picked is painted in, and paints that have no one colour."""
    if not colours:
        return
    faults = Faults()
    there = dict.fromkeys(coat.colour for _, shape in painted for coat in shape.coats)
    for colour in colours:
        if colour not in there:
            names = listed([each for each in there if each]) or "none at all"
            faults.add(
                drawing.source,
                "svg-colour-unknown",
                f"nothing picked in the drawing {drawing.name} is painted {colour}; "
                f"its colours are: {names}",
                "correct the colour, or name the layer it is in",
            )
    mixed = [item.words for item, shape in painted if any(not coat.colour for coat in shape.coats)]
    if mixed:
        faults.add(
            drawing.source,
            "svg-colour-mixed",
            f"shapes of {drawing.name} are painted with no one colour: {listed(mixed)}",
            "give them a plain fill and stroke, or pick by `layers` instead of `colours`",
        )
    faults.refuse()


def _left_out(
    drawing: _Drawing, painted: Sequence[tuple[Seen, Painted]], art: SvgArt, sight: Sight
) -> tuple[Finding, ...]:
    """Tell of shapes that are white like the paper, or painted over in white."""
    if art.colours or not sight.white:
        return ()
    white = [
        item.words for item, shape in painted if any(coat.colour == PAPER for coat in shape.coats)
    ]
    return (
        warned(
            drawing.source,
            "svg-white-left-out",
            f"the drawing {drawing.name} holds white, which is taken for the paper and not inlaid, "
            f"and neither is what lies under it ({sight.covered_mm2:.1f} mm2): {listed(white)}",
            f"if it is meant so, name the `colours` you want; to inlay the white, add "
            f'"{PAPER}" to them',
        ),
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
        warned(
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
