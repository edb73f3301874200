"""What paints an SVG element: presentation attributes, style sheets, style attributes.

SVG 2, section 6 (styling) with the selectors a drawing program writes: element, class, id and
their plain combinations.  A selector beyond that is refused only where it sets something that
changes what is cut.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

from flushwork.art.svg.numbers import UnreadableError

INHERITED: Final = frozenset(
    {
        "fill",
        "fill-opacity",
        "fill-rule",
        "stroke",
        "stroke-opacity",
        "stroke-width",
        "stroke-linecap",
        "stroke-linejoin",
        "stroke-miterlimit",
        "stroke-dasharray",
        "stroke-dashoffset",
        "clip-rule",
        "marker",
        "marker-start",
        "marker-mid",
        "marker-end",
        "visibility",
    }
)
_OWN: Final = frozenset(
    {
        "display",
        "opacity",
        "clip-path",
        "mask",
        "mask-type",
        "filter",
        "vector-effect",
        "overflow",
        "transform",
        "transform-origin",
    }
)
_KNOWN: Final = INHERITED | _OWN
_COMMENT: Final = re.compile(r"/\*.*?\*/|<!--|-->", re.DOTALL)
_AT_RULE: Final = re.compile(r"@[^{};]*(?:;|\{(?:[^{}]*\{[^{}]*\})*[^{}]*\})")
_RULE: Final = re.compile(r"([^{}]+)\{([^{}]*)\}")
_SIMPLE: Final = re.compile(r"(\*|[\w-]+)?((?:[.#][\w-]+|\[[\w-]+(?:=[^\]\s]*)?\])*)$")
_PASSING: Final = re.compile(r":(?:hover|active|focus|visited|link|target|before|after)")
"""What holds only while somebody points at a thing paints nothing that is cut."""


@dataclass(frozen=True, slots=True)
class Simple:
    """One simple selector: an element name, ids, classes and attributes (None: any value)."""

    tag: str
    ids: frozenset[str]
    classes: frozenset[str]
    attributes: tuple[tuple[str, str | None], ...]

    def fits(self, element: Element, tag: str) -> bool:
        """Whether it picks an element."""
        return (
            self.tag in ("", tag)
            and self.ids <= {element.get("id", "")}
            and self.classes <= frozenset(element.get("class", "").split())
            and all(
                element.get(name) is not None and value in (None, element.get(name))
                for name, value in self.attributes
            )
        )


@dataclass(frozen=True, slots=True)
class Rule:
    """What a selector sets; ``weight`` orders rules by how specific they are.

    ``chain`` are its simple selectors from the last to the first, each with whether it has to fit
    the very parent of the one before it, or any element around that.
    """

    chain: tuple[tuple[Simple, bool], ...]
    properties: Mapping[str, str]

    @property
    def weight(self) -> tuple[int, int, int]:
        """Ids outweigh classes, classes outweigh element names."""
        parts = [simple for simple, _ in self.chain]
        return (
            sum(len(each.ids) for each in parts),
            sum(len(each.classes) + len(each.attributes) for each in parts),
            sum(bool(each.tag) for each in parts),
        )

    def fits(self, element: Element, tag: str, around: Sequence[tuple[Element, str]]) -> bool:
        """Whether the selector picks an element; ``around`` are those it lies in, inmost last."""
        (last, _), *rest = self.chain
        return last.fits(element, tag) and _fit(tuple(rest), tuple(around))


def _fit(chain: tuple[tuple[Simple, bool], ...], around: tuple[tuple[Element, str], ...]) -> bool:
    if not chain:
        return True
    simple, at_once = chain[0]
    for index in range(len(around) - 1, -1, -1):
        if simple.fits(*around[index]) and _fit(chain[1:], around[:index]):
            return True
        if at_once:
            return False
    return False


def read_declarations(text: str) -> dict[str, str]:
    """Return the properties of ``name: value; ...`` that change what is cut."""
    result: dict[str, str] = {}
    for part in _COMMENT.sub(" ", text).split(";"):
        name, colon, value = part.partition(":")
        name = name.strip().lower()
        if colon and name in _KNOWN:
            result[name] = value.replace("!important", "").strip()
    return result


def read_sheet(text: str) -> list[Rule]:
    """Return the rules of a style sheet, in its order."""
    rules: list[Rule] = []
    plain = _AT_RULE.sub(" ", _COMMENT.sub(" ", text))
    for selectors, body in _RULE.findall(plain):
        properties = read_declarations(body)
        if not properties:
            continue
        for selector in selectors.split(","):
            if _PASSING.search(selector) is None:
                rules += [Rule(_chain(selector.strip()), properties)]
    return sorted(rules, key=lambda rule: rule.weight)


def _chain(selector: str) -> tuple[tuple[Simple, bool], ...]:
    """Return the simple selectors of one selector, the last first."""
    words = re.sub(r"\s*>\s*", " > ", selector).split()
    chain: list[tuple[Simple, bool]] = []
    at_once = False
    for word in reversed(words):
        if word == ">":
            at_once = True
            continue
        match = _SIMPLE.match(word)
        if match is None:
            chain = []
            break
        marks = re.findall(r"([.#])([\w-]+)", match[2])
        told = re.findall(r"\[([\w-]+)(?:=[\"']?([^\"'\]]*)[\"']?)?\]", match[2])
        simple = Simple(
            tag="" if match[1] in (None, "*") else match[1],
            ids=frozenset(name for mark, name in marks if mark == "#"),
            classes=frozenset(name for mark, name in marks if mark == "."),
            attributes=tuple((name, value or None) for name, value in told),
        )
        chain.append((simple, at_once))
        at_once = False
    if not chain or at_once:
        raise UnreadableError(
            "svg-style-unreadable",
            f"its style sheet picks shapes by '{selector[:40]}', which this program does not "
            "follow",
        )
    return tuple(chain)


def own_style(
    element: Element, tag: str, rules: list[Rule], around: Sequence[tuple[Element, str]] = ()
) -> dict[str, str]:
    """Return the properties an element sets itself, the strongest saying last."""
    style = {
        name: value.strip()
        for name, value in element.attrib.items()
        # these two are read elsewhere, or are no attribute (SVG 2, section 13.7.3)
        if name in _KNOWN and name not in ("transform", "marker")
    }
    for rule in rules:
        if rule.fits(element, tag, around):
            style.update(rule.properties)
    style.update(read_declarations(element.get("style", "")))
    return style


def inherited(parent: Mapping[str, str], own: Mapping[str, str]) -> dict[str, str]:
    """Return the style in force on an element, given its parent's."""
    result = {name: value for name, value in parent.items() if name in INHERITED}
    result.update({name: value for name, value in own.items() if value != "inherit"})
    return result


def painted(style: Mapping[str, str], what: str, default: str) -> bool:
    """Whether ``fill`` or ``stroke`` leaves a mark."""
    paint = style.get(what, default).lower()
    return paint not in ("none", "transparent") and not _clear(style.get(f"{what}-opacity", "1"))


def colour_of(style: Mapping[str, str], what: str, default: str) -> str:
    """Return the colour of ``fill`` or ``stroke`` as ``#rrggbb``; "" where it is no one colour.

    Names and notations of CSS Color 4, sections 4 to 6; how clear it is does not count.
    """
    paint = style.get(what, default).strip().lower()
    if paint == "currentcolor":
        paint = "black"
    if re.fullmatch(r"#[0-9a-f]{3,4}", paint):
        return "#" + "".join(2 * sign for sign in paint[1:4])
    if re.fullmatch(r"#[0-9a-f]{6}([0-9a-f]{2})?", paint):
        return paint[:7]
    # the table of names is loaded only where a drawing uses them
    from PIL import ImageColor  # noqa: PLC0415

    try:
        red, green, blue = ImageColor.getrgb(re.sub(r"^rgba", "rgb", paint))[:3]
    except ValueError:
        return ""
    return f"#{red:02x}{green:02x}{blue:02x}"


def unseen(style: Mapping[str, str]) -> bool:
    """Whether an element and all in it is left out of the picture."""
    return style.get("display", "") == "none" or _clear(style.get("opacity", "1"))


def hidden(style: Mapping[str, str]) -> bool:
    """Whether an element itself is hidden (what it holds may say otherwise)."""
    return style.get("visibility", "") in ("hidden", "collapse")


def _clear(opacity: str) -> bool:
    try:
        return float(opacity.rstrip("%")) == 0.0
    except ValueError:
        return False
