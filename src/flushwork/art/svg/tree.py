"""A drawing from its file to its shapes: safe to read, which are seen, where, in what style."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from flushwork.art.faults import folder_of, refusal
from flushwork.art.placement import Affine
from flushwork.art.svg.css import Rule, hidden, inherited, own_style, read_sheet, unseen
from flushwork.art.svg.numbers import UnreadableError, nested_map, read_length_px, read_transform
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
        reason = "is a folder" if path.is_dir() else "cannot be opened"
        if isinstance(fault, FileNotFoundError):
            reason = "is not there"
        raise refusal(
            source,
            "svg-not-found",
            f"the drawing {path.name} {reason} in {folder_of(path)}",
            "put the file beside the job, or correct its name, counted from the job's folder",
        ) from None


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
    _visited: int = 0

    def shapes(self) -> tuple[Seen, ...]:
        """Return everything seen, in drawing order.

        Raises UnreadableError for a style sheet that cannot be followed or a drawing without end.
        """
        counts: Counter[str] = Counter()
        for element in self.root.iter():
            counts[tag_of(element)] += 1
            self._numbers[element] = counts[tag_of(element)]
            if identity := element.get("id"):
                self._by_id.setdefault(identity, element)
            if tag_of(element) == "style":
                self._rules += read_sheet("".join(element.itertext()))
        self._rules.sort(key=lambda rule: rule.weight)
        start = _Stand(Affine(), {}, frozenset(), (), ())
        return tuple(self._visit(self.root, start))

    def _visit(self, element: Element, stand: _Stand) -> Iterator[Seen]:
        tag = tag_of(element)
        if tag not in _GROUPS and tag not in READERS and tag not in _REFUSED and tag != "use":
            return
        self._visited += 1
        if self._visited > MOST_ELEMENTS or len(stand.around) > MOST_NESTED:
            raise UnreadableError(
                "svg-too-many-shapes",
                f"it holds more than {MOST_ELEMENTS} shapes, copies counted, "
                f"or groups more than {MOST_NESTED} deep",
            )
        names = stand.names | self._names_of(element)
        style = inherited(stand.style, own_style(element, tag, self._rules))
        words = self._words(element, tag)
        if unseen(style):
            self.unseen_names |= names | {
                name for inner in element.iter() for name in self._names_of(inner)
            }
            return
        try:
            affine = stand.affine.after(self._own_map(element, tag, style))
        except UnreadableError as fault:
            self.faults.append((fault.code, words, fault.what, names))
            return
        inner = _Stand(affine, style, names, (*stand.around, style), stand.used)
        if tag in _GROUPS:
            for child in element:
                yield from self._visit(child, inner)
        elif tag == "use":
            yield from self._copies(element, inner, words)
        elif not hidden(style):
            yield Seen(element, tag, affine, style, names, words, inner.around)

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
        elif tag_of(target) == "symbol":
            what = f"it copies the symbol '{href.strip()[:40]}'"
            self.faults.append(("svg-symbol", words, what, stand.names))
        else:
            inner = _Stand(
                stand.affine, stand.style, stand.names, stand.around, (*stand.used, href)
            )
            yield from self._visit(target, inner)

    def _own_map(self, element: Element, tag: str, style: Mapping[str, str]) -> Affine:
        if "transform" in style and style["transform"] != "none":
            raise UnreadableError(
                "svg-transform-malformed", "its style holds a transform in style-sheet words"
            )
        affine = read_transform(element.get("transform", ""))
        if tag == "use":
            place = (read_length_px(element.get(name, "0")) for name in ("x", "y"))
            affine = affine.after(Affine().moved(*place))
        elif tag == "svg" and element is not self.root:
            affine = affine.after(nested_map(element))
        return affine

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
