"""What paints an SVG element: presentation attributes, style sheets, style attributes.

SVG 2, section 6 (styling) with the selectors a drawing program writes: element, class, id and
their plain combinations.  A selector beyond that is refused only where it sets something that
changes what is cut.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
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
        "marker",
        "marker-start",
        "marker-mid",
        "marker-end",
        "visibility",
    }
)
_OWN: Final = frozenset(
    {"display", "opacity", "clip-path", "mask", "filter", "vector-effect", "transform"}
)
_KNOWN: Final = INHERITED | _OWN
_COMMENT: Final = re.compile(r"/\*.*?\*/|<!--|-->", re.DOTALL)
_AT_RULE: Final = re.compile(r"@[^{};]*(?:;|\{(?:[^{}]*\{[^{}]*\})*[^{}]*\})")
_RULE: Final = re.compile(r"([^{}]+)\{([^{}]*)\}")
_SIMPLE: Final = re.compile(r"(\*|[\w-]+)?((?:[.#][\w-]+)*)$")


@dataclass(frozen=True, slots=True)
class Rule:
    """One simple selector and what it sets; ``weight`` orders rules by how specific they are."""

    tag: str
    ids: frozenset[str]
    classes: frozenset[str]
    properties: Mapping[str, str]

    @property
    def weight(self) -> tuple[int, int, int]:
        """Ids outweigh classes, classes outweigh element names."""
        return (len(self.ids), len(self.classes), int(bool(self.tag)))

    def fits(self, tag: str, identity: str, classes: frozenset[str]) -> bool:
        """Whether the selector picks an element."""
        return self.tag in ("", tag) and self.ids <= {identity} and self.classes <= classes


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
            match = _SIMPLE.match(selector.strip())
            if match is None or not selector.strip():
                raise UnreadableError(
                    "svg-style-unreadable",
                    f"its style sheet picks shapes by '{selector.strip()[:40]}', "
                    "which this program does not follow",
                )
            marks = re.findall(r"([.#])([\w-]+)", match[2])
            rules.append(
                Rule(
                    tag="" if match[1] in (None, "*") else match[1],
                    ids=frozenset(name for mark, name in marks if mark == "#"),
                    classes=frozenset(name for mark, name in marks if mark == "."),
                    properties=properties,
                )
            )
    return sorted(rules, key=lambda rule: rule.weight)


def own_style(element: Element, tag: str, rules: list[Rule]) -> dict[str, str]:
    """Return the properties an element sets itself, the strongest saying last."""
    style = {
        name: value.strip()
        for name, value in element.attrib.items()
        if name in _KNOWN and name != "transform"
    }
    identity = element.get("id", "")
    classes = frozenset(element.get("class", "").split())
    for rule in rules:
        if rule.fits(tag, identity, classes):
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
