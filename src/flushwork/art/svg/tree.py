"""A drawing from its file to its shapes: safe to read, which are seen, where, in what style.

Long because groups, copies, markers, clip paths and masks all lead back into the one walk.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import Element, ParseError

import numpy as np
from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from flushwork.art.drawn import Box
from flushwork.art.faults import not_opened, refusal
from flushwork.art.placement import Affine, scaling, turning
from flushwork.art.svg.css import Rule, hidden, inherited, own_style, read_sheet, unseen
from flushwork.art.svg.dashes_and_markers import Vertex, vertices_of
from flushwork.art.svg.numbers import (
    UnreadableError,
    View,
    in_lengths,
    in_px,
    length_in,
    marker_viewport,
    nested,
    page_view,
    read_angle,
    read_style_transform,
    read_transform,
)
from flushwork.art.svg.shape_contours import READERS
from flushwork.core.findings import Source

# ---- What every SVG passes first: is it there, is it XML, is it SVG, does it hold anything
# hostile


SVG_SPACE = "{http://www.w3.org/2000/svg}"


def svg_data(path: Path, source: Source) -> bytes:
    """Return what an SVG file holds; raise JobRefusedError where it cannot be opened."""
    try:
        return path.read_bytes()
    except OSError as fault:
        raise not_opened(source, "svg-not-found", "drawing", path, fault) from None


def parsed(data: bytes, name: str, source: Source) -> Element:
    """Return the root of an SVG's text; raise JobRefusedError where it is none."""
    try:
        root = _tree(data)
    except DefusedXmlException:
        raise refusal(
            source,
            "svg-entities",
            f"the drawing {name} declares entities, which can swell without end or read other "
            "files; it is not opened",
            "save it again from your drawing program as plain SVG",
        ) from None
    except (ParseError, ValueError, LookupError) as fault:
        zipped = data[:2] == b"\x1f\x8b"
        what = "is compressed" if zipped else f"is not readable as XML ({fault})"
        raise refusal(
            source,
            "svg-not-xml",
            f"the drawing {name} {what if data.strip() else 'is empty'}",
            "save it again from your drawing program as plain, uncompressed SVG",
        ) from None
    if tag_of(root) != "svg":
        raise refusal(
            source,
            "svg-not-xml",
            f"{name} is XML but no drawing: it begins with <{root.tag.rpartition('}')[2][:40]}>",
            "give a file saved as SVG",
        )
    return root


@lru_cache(maxsize=8)
def _tree(data: bytes) -> Element:
    """Parse once where several inlays pick layers of one drawing; nobody changes the tree."""
    return fromstring(data)


def tag_of(element: Element) -> str:
    """Return the SVG name of an element, empty for anything of another vocabulary."""
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    if tag.startswith("{"):
        return tag[len(SVG_SPACE) :] if tag.startswith(SVG_SPACE) else ""
    return tag


# ---- The walk through a drawing: which shapes are seen, where, in what style, in which layers


MOST_ELEMENTS: Final = 20_000
"""More shapes than this, copies by ``use`` counted, are a trap and no drawing (assumed; a dense
engraving of one board has some thousands)."""

MOST_NESTED: Final = 200
"""Groups within groups beyond any drawing program's habit (assumed)."""

_GROUPS: Final = frozenset({"svg", "g", "a", "switch"})
_REFUSED: Final = frozenset({"text", "image", "foreignObject"})


@dataclass(frozen=True, slots=True)
class Seen:
    """An element that leaves a mark: a shape, or something that cannot be cut as it is.

    ``to_page`` maps its own units to the root's; ``names`` are the ids and labels of itself and
    everything it lies in; ``words`` names it in a message; ``styles`` holds its own style and, of
    the groups around it, what works on them as a whole (clip paths, masks, effects).
    """

    element: Element
    tag: str
    to_page: Affine
    style: Mapping[str, str]
    names: frozenset[str]
    words: str
    around: tuple[Mapping[str, str], ...]
    veils: tuple[Veil, ...] = ()


@dataclass(frozen=True, eq=False)
class Veil:
    """What a shape is seen through: the window of a drawing in it, a clip path or a mask.

    ``shapes`` are those of the clip path or mask, mapped to the page; a window has none, but its
    four corners in units that ``to_page`` maps.  ``alpha`` is a mask that goes by what is painted
    at all, not by how light.  ``known`` holds its region for each map to mm it was asked for.
    """

    kind: str
    to_page: Affine
    shapes: tuple[Seen, ...] = ()
    window: Box = (0.0, 0.0, 0.0, 0.0)
    alpha: bool = False
    known: dict[object, object] = field(default_factory=dict)


@dataclass
class Walk:
    """One walk; ``faults`` are what could not be followed, as (code, words, what, names)."""

    root: Element
    faults: list[tuple[str, str, str, frozenset[str]]] = field(default_factory=list)
    unseen_names: set[str] = field(default_factory=set)
    names: dict[str, None] = field(default_factory=dict)
    _by_id: dict[str, Element] = field(default_factory=dict)
    _rules: list[Rule] = field(default_factory=list)
    _numbers: dict[Element, int] = field(default_factory=dict)
    _parents: dict[Element, Element] = field(default_factory=dict)
    _veils: dict[object, Veil] = field(default_factory=dict)
    _visited: int = 0
    _veiling: int = 0

    def shapes(self) -> tuple[Seen, ...]:
        """Return everything seen, in drawing order.

        Raises UnreadableError for a style sheet that cannot be followed or a drawing without end.
        """
        counts: Counter[str] = Counter()
        for element in self.root.iter():
            counts[tag_of(element)] += 1
            self._numbers[element] = counts[tag_of(element)]
            self._parents.update(dict.fromkeys(element, element))
            if identity := element.get("id"):
                self._by_id.setdefault(identity, element)
            if tag_of(element) == "style":
                self._rules += read_sheet("".join(element.itertext()))
        self._rules.sort(key=lambda rule: rule.weight)
        start = _Stand(Affine(), {}, frozenset(), (), (), page_view(self.root))
        return tuple(self._visit(self.root, start))

    def _visit(
        self, element: Element, stand: _Stand, size: Element | None = None
    ) -> Iterator[Seen]:
        """Visit an element; ``size`` is the ``use`` that copies it and may say how large it is."""
        tag = tag_of(element)
        known = tag in _GROUPS or tag in READERS or tag in _REFUSED or tag == "use"
        if not known and not (tag == "symbol" and size is not None):
            return
        self._visited += 1
        if self._visited > MOST_ELEMENTS or len(stand.around) > MOST_NESTED:
            raise UnreadableError(
                "svg-too-many-shapes",
                f"it holds more than {MOST_ELEMENTS} shapes, copies counted, "
                f"or groups more than {MOST_NESTED} deep",
            )
        names = stand.names | self._names_of(element)
        own = own_style(element, tag, self._rules, self._lineage(element))
        style = inherited(stand.style, own)
        words = self._words(element, tag)
        if unseen(style):
            self.unseen_names |= names | {
                name for inner in element.iter() for name in self._names_of(inner)
            }
            return
        try:
            shape = in_lengths(element, stand.view) if tag in READERS else element
            inner = self._entered(shape, tag, replace(stand, style=style, names=names), size)
        except UnreadableError as fault:
            if fault.code == "svg-too-many-shapes":
                raise
            self.faults.append((fault.code, words, fault.what, names))
            return
        if tag in _GROUPS or tag == "symbol":
            for child in element:
                yield from self._visit(child, inner)
        elif tag == "use":
            yield from self._copies(element, inner, words)
        elif not hidden(style):
            yield from self._shape(shape, tag, inner, words)

    def _shape(self, element: Element, tag: str, stand: _Stand, words: str) -> Iterator[Seen]:
        style = in_px(stand.style, stand.view)
        yield Seen(element, tag, stand.affine, style, stand.names, words, stand.around, stand.veils)
        if tag in _MARKED and not self._veiling:
            yield from self._markers(element, tag, stand, words)

    def _entered(self, element: Element, tag: str, stand: _Stand, size: Element | None) -> _Stand:
        """Return where the walk stands once it is in an element."""
        affine = stand.affine.after(_own_map(element, tag, stand.style, stand.view))
        inner = replace(stand, affine=affine, around=(*stand.around, stand.style))
        inner = replace(inner, veils=(*inner.veils, *self._veils_of(element, tag, inner)))
        if tag == "symbol" or (tag == "svg" and element is not self.root):
            inner = _within(element, size, inner, stand.style)
        return inner

    def _lineage(self, element: Element) -> list[tuple[Element, str]]:
        """Return the elements around one, the outermost first."""
        found: list[tuple[Element, str]] = []
        above = self._parents.get(element)
        while above is not None:
            found.append((above, tag_of(above)))
            above = self._parents.get(above)
        return found[::-1]

    def _veils_of(self, element: Element, tag: str, stand: _Stand) -> list[Veil]:
        """Return the clip path and the mask of an element; what is not in the file is none."""
        found: list[Veil] = []
        for kind, of in (("clip-path", "clipPath"), ("mask", "mask")):
            href = _URL.match(stand.style.get(kind, "none"))
            target = self._by_id.get(href[1]) if href else None
            if target is None or tag_of(target) != of:
                if stand.style.get(kind, "none") != "none" and not href:
                    raise UnreadableError("svg-clipped", f"its {kind} is no shape of the drawing")
                continue
            found.append(self._veil(target, of, element, tag, stand))
        return found

    def _veil(self, target: Element, of: str, element: Element, tag: str, stand: _Stand) -> Veil:
        mark = f"{of} {target.get('id')}"
        if mark in stand.used:
            raise UnreadableError(
                "svg-use-endless", f"its {of} is seen through itself, without end"
            )
        units = target.get("clipPathUnits" if of == "clipPath" else "maskContentUnits", "")
        key = (target, stand.affine, stand.used)
        if units != "objectBoundingBox" and key in self._veils:
            return self._veils[key]
        affine = stand.affine.after(_own_map(target, of, {}, stand.view))
        if units == "objectBoundingBox":
            if tag not in READERS:
                raise UnreadableError(
                    "svg-clipped", f"its {of} is measured by the box of all that lies in it"
                )
            affine = affine.after(_unit_box(element, tag))
        style = inherited({}, own_style(target, of, self._rules, self._lineage(target)))
        behind = _Stand(affine, style, stand.names, (), (*stand.used, mark), stand.view)
        outer = tuple(self._veils_of(target, of, replace(behind, affine=stand.affine)))
        self._veiling += 1
        try:
            inner = replace(behind, veils=outer)
            shapes = [seen for child in target for seen in self._visit(child, inner)]
        finally:
            self._veiling -= 1
        if any(seen.tag in _REFUSED for seen in shapes):
            raise UnreadableError("svg-clipped", f"its {of} holds live text or a picture")
        veil = Veil(of, affine, tuple(shapes), alpha=style.get("mask-type") == "alpha")
        self._veils[key] = veil
        return veil

    def _markers(self, element: Element, tag: str, stand: _Stand, words: str) -> Iterator[Seen]:
        """Follow the markers along a line (SVG 2, section 13.7)."""
        style = stand.style
        named = {
            kind: _URL.match(style.get(f"marker-{kind}", style.get("marker", "none")))
            for kind in ("start", "mid", "end")
        }
        if not any(named.values()):
            return
        try:
            vertices = vertices_of(READERS[tag](element))
            wide = length_in(style.get("stroke-width", "1"), stand.view, 2)
        except UnreadableError:
            return  # told where the shape itself is painted
        for vertex in vertices:
            href = named[vertex.kind]
            marker = self._by_id.get(href[1]) if href else None
            if marker is None or tag_of(marker) != "marker":
                continue
            mark = f"marker {marker.get('id')}"
            if mark in stand.used:
                what = "its marker is drawn with itself, without end"
                self.faults.append(("svg-use-endless", words, what, stand.names))
                return
            try:
                yield from self._marker(
                    marker, vertex, wide, replace(stand, used=(*stand.used, mark))
                )
            except UnreadableError as fault:
                if fault.code == "svg-too-many-shapes":
                    raise
                self.faults.append((fault.code, f"marker of the {words}", fault.what, stand.names))
                return

    def _marker(
        self, marker: Element, vertex: Vertex, wide: float, stand: _Stand
    ) -> Iterator[Seen]:
        style = inherited({}, own_style(marker, "marker", self._rules, self._lineage(marker)))
        place = marker_viewport(marker, overflow=style.get("overflow", "hidden"))
        orient = marker.get("orient", "0").strip()
        turn = vertex.turn_rad if orient.startswith("auto") else read_angle(orient)
        if orient == "auto-start-reverse" and vertex.kind == "start":
            turn += math.pi
        size = 1.0 if marker.get("markerUnits") == "userSpaceOnUse" else wide
        there = Affine(e=vertex.x, f=vertex.y).after(turning(turn)).after(scaling(size, size))
        outer = stand.affine.after(there)
        veils = stand.veils
        if place.window is not None:
            veils = (*veils, Veil("window", outer, window=place.window))
        inner = replace(
            stand,
            affine=outer.after(place.to_outside),
            style=style,
            around=(*stand.around, style),
            view=place.view,
            veils=veils,
        )
        for child in marker:
            yield from self._visit(child, inner)

    def _copies(self, element: Element, stand: _Stand, words: str) -> Iterator[Seen]:
        """Follow a ``use`` to what it copies."""
        href = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
        target = self._by_id.get(href.strip().removeprefix("#"))
        if not href.strip().startswith("#") or target is None:
            what = f"it copies '{href.strip()[:40]}', which is not in the file"
            self.faults.append(("svg-use-unknown", words, what, stand.names))
        elif href in stand.used or target is self.root:
            what = f"it copies '{href.strip()[:40]}', which holds this very copy, without end"
            self.faults.append(("svg-use-endless", words, what, stand.names))
        else:
            inner = replace(stand, used=(*stand.used, href))
            yield from self._visit(target, inner, element)

    def _names_of(self, element: Element) -> frozenset[str]:
        """Return the id and the labels of an element, and remember what is a name here."""
        found = frozenset(
            value
            for name, value in element.attrib.items()
            if value and (name == "id" or name.rpartition("}")[2].endswith("label"))
        )
        if tag_of(element) in _GROUPS or tag_of(element) in READERS:
            self.names.update(dict.fromkeys(sorted(found)))
        return found

    def _words(self, element: Element, tag: str) -> str:
        identity = element.get("id")
        return f"{tag} '{identity}'" if identity else f"{tag} number {self._numbers[element]}"


@dataclass(frozen=True, slots=True)
class _Stand:
    """Where the walk stands: the map so far, the style in force, names and copies around it."""

    affine: Affine
    style: Mapping[str, str]
    names: frozenset[str]
    around: tuple[Mapping[str, str], ...]
    used: tuple[str, ...]
    view: View
    veils: tuple[Veil, ...] = ()


_URL: Final = re.compile(r"""url\(\s*["']?#([^"')]+)["']?\s*\)""")
_MARKED: Final = frozenset({"path", "line", "polyline", "polygon"})


def _own_map(element: Element, tag: str, style: Mapping[str, str], view: View) -> Affine:
    """Return the map of an element's own transform, and of the place of a ``use``."""
    if style.get("transform", "none") != "none":
        if style.get("transform-origin", "0 0") not in ("0", "0 0", "0px 0px", "left top"):
            raise UnreadableError(
                "svg-transform-malformed", "its style turns it about a place of its own"
            )
        affine = read_style_transform(style["transform"])
    else:
        affine = read_transform(element.get("transform", ""))
    if tag == "use":
        x, y = (length_in(element.get(name, "0"), view, at) for at, name in enumerate("xy"))
        affine = affine.after(Affine(e=x, f=y))
    return affine


def _within(
    element: Element, size: Element | None, stand: _Stand, style: Mapping[str, str]
) -> _Stand:
    """Return where the walk stands inside an ``svg`` or ``symbol``, seen through its window."""
    # of a copy the use says how large it is, where it does
    said = Element(element.tag, dict(element.attrib))
    for name in ("width", "height"):
        if size is not None and size.get(name):
            said.set(name, size.get(name, ""))
    place = nested(element, said, stand.view, overflow=style.get("overflow", "hidden"))
    veils = stand.veils
    if place.window is not None:
        veils = (*veils, Veil("window", stand.affine, window=place.window))
    affine = stand.affine.after(place.to_outside)
    return replace(stand, affine=affine, view=place.view, veils=veils)


def _unit_box(element: Element, tag: str) -> Affine:
    """Return the map of the unit square onto the box of a shape, without its stroke."""
    runs = [contour.points(_FINE) for contour in READERS[tag](element)]
    if not runs:
        return Affine(a=0.0, d=0.0)
    points = np.concatenate(runs)
    (left, low), (wide, high) = points.min(axis=0), np.ptp(points, axis=0)
    return Affine(float(wide), 0.0, 0.0, float(high), float(left), float(low))


_FINE: Final = 1e-3
"""How near the box of a shape is measured, in its own units."""
