"""Text as a shop reads it: each metric quantity in it turned into the shop's own unit.

Findings, fixes and views are composed in metric.  At the edges, where they are printed, shown or
served, ``shown`` turns "133 mm" into "5 1/4 in" where the shop works in inches.  What names a thing
of the shop ("6.35 mm flat") stays as it is called.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from flushwork.core.units.format import System, half_up, number_text
from flushwork.core.units.kinds import FLUID_OUNCE_CM3, INCH_MM, OUNCE_G

_MINUS: Final = "\N{MINUS SIGN}"
_NUMBER: Final = rf"[-+{_MINUS}±]?(?<![\w.])\d+(?:\.\d+)?"
_UNIT: Final = (
    r"mm/min|mm/s2|mm/s²|mm2|mm²|mm3|mm³|mm|cm2|cm²|cm3|cm³|cm|dm3|dm³|m/min|m/s|m2/l|m²/l|m2|m²|"
    r"m3|m³|m|"
    r"kg/m3|kg/m³|kg|g/m2|g/m²|g/cm3|g/cm³|g|ml|N/mm2|N/mm²|N|MPa|degC|°C|\N{MICRO SIGN}m"
)
_BETWEEN: Final = (
    r"(?: ?[x\N{MULTIPLICATION SIGN}\N{EN DASH}/] ?| (?:to|or|by|±) |,? (?:and )?(?=[xyXY] )"
    r"|(?<=\.\d), (?=[-+]?\d+\.)|(?<=\.\d\d), (?=[-+]?\d+\.)|(?<=\.\d\d\d), (?=[-+]?\d+\.))"
)
_QUANTITY: Final = re.compile(
    rf"(?<![\w./])(?P<figures>{_NUMBER}(?:{_BETWEEN}(?:[xyXY] )?{_NUMBER})*)"
    rf"(?P<space>[ \u00a0]|(?=°C))(?P<unit>{_UNIT})(?![\w²³/])"
)
_BETWEEN_AND: Final = re.compile(
    rf"between (?P<low>{_NUMBER}) and (?=(?P<high>{_NUMBER})[ \u00a0])"
)
_FIGURE: Final = re.compile(_NUMBER)
_KEYED: Final = re.compile(r"(?:[a-z]: ?\[?|[\[`]|(?<=\d (?:mm|in)), )-?$")
_WARMER: Final = re.compile(
    r"(?:\bby|\bwithin|[±+]|differ\w*|\bper|\bfor each|\bspan of)[ \u00a0](?:about |up to )?$"
)
_WARMER_AFTER: Final = re.compile(
    r"[ \u00a0](?:warmer|cooler|colder|hotter|more\b|less\b|above|below|over\b)"
)
_AXIS: Final = re.compile(r"(?<!mm )(?<!cm )(?<!\d )\b[xyXYzZ] ")
_FINEST: Final = (1, 2, 4, 8, 16, 32, 64)


@dataclass(frozen=True, slots=True)
class Units:
    """What a shop reads: its lengths and temperatures, its scales, its cups, its things' names.

    ``ounces`` and ``fluid_ounces`` say that all its scales, all its vessels read so; ``names`` are
    those of its things that hold a figure, which stay as they are.  ``machine`` is for figures
    that a machine reads: four decimals of an inch.
    """

    system: System = System.METRIC
    ounces: bool = False
    fluid_ounces: bool = False
    names: tuple[str, ...] = ()
    machine: bool = False


METRIC: Final = Units()


def inches_text(
    length_mm: float,
    places: int,
    *,
    code: bool = False,
    machine: bool = False,
    axis: bool = False,
) -> str:
    """Return a length in inches, without its unit, as precise as ``places`` decimals of a mm are.

    No decimals are read off a rule: the coarsest fraction, down to 1/64, that is as good; one
    decimal is a fraction where one fits; two are read off a calliper, three decimals of an inch;
    more, and what a ``machine`` reads, has four.  A place along an ``axis`` is no fraction.
    ``code`` reads back within 0.0005 in.
    """
    inches = length_mm / INCH_MM
    size = abs(inches)
    sign = "-" if inches < 0.0 else ""
    if machine:
        text = half_up(size, 4)
        return text if float(text) == 0.0 else sign + text
    if size < 5e-7:
        return "0"
    off_in = 0.5 * 10.0**-places / INCH_MM + 1e-9
    if places < 1:
        off_in = min(off_in, 0.02 * size)
    finest = 64 if places < 2 or code else 16
    for parts in () if axis and not code else _FINEST:
        nearest = Fraction(round(size * parts), parts)
        if parts <= finest and nearest and abs(float(nearest) - size) <= (5e-4 if code else off_in):
            return sign + _fraction(nearest)
    if code:
        return sign + number_text(size)
    if places > 2 or size < 0.01:
        text = number_text(size, 4 if size >= 0.00095 or places < 3 else 5)
        return text if text == "0" else sign + text
    return sign + half_up(size, 3)


def _fraction(value: Fraction) -> str:
    whole, rest = divmod(value.numerator, value.denominator)
    if not rest:
        return str(whole)
    return f"{whole} {rest}/{value.denominator}" if whole else f"{rest}/{value.denominator}"


def _figures(value: float) -> str:
    """Write three figures that count, or all of a greater number."""
    size = abs(value)
    return half_up(value, next((n for n in range(4) if size >= 10.0 ** (2 - n)), 4))


def _plain(factor: float) -> Callable[[float, int], str]:
    return lambda value, _places: _figures(value * factor)


def _feed(value: float, _places: int) -> str:
    inches = value / INCH_MM
    return half_up(inches, 0 if abs(inches) >= 100.0 else 1).removesuffix(".0")


def _warmth(value: float, places: int) -> str:
    return half_up(value * 1.8 + 32.0, places).removesuffix(".0")


def _rise(value: float, places: int) -> str:
    return half_up(value * 1.8, max(places, 1)).removesuffix(".0")


def _ounces(value: float, _places: int) -> str:
    return half_up(value / OUNCE_G, 2 if abs(value) >= 28.0 else 3)


_OTHERS: Final[Mapping[str, tuple[str, Callable[[float, int], str]]]] = {
    "mm/min": ("in/min", _feed),
    "m/min": ("ft/min", _plain(3.280839895)),
    "m/s": ("ft/min", _plain(196.8503937)),
    "mm/s2": ("in/s2", _plain(1.0 / INCH_MM)),
    "mm2": ("sq in", _plain(1.0 / INCH_MM**2)),
    "cm2": ("sq in", _plain(100.0 / INCH_MM**2)),
    "m2/l": ("sq ft/gal", _plain(40.745833)),
    "m2": ("sq ft", _plain(10.763910417)),
    "mm3": ("cu in", _plain(1.0 / INCH_MM**3)),
    "m3": ("cu ft", _plain(35.314666721)),
    "m": ("ft", _plain(3.280839895)),
    "kg/m3": ("lb/ft3", _plain(0.0624279606)),
    "kg": ("lb", _plain(2.2046226218)),
    "g/m2": ("oz/sq ft", _plain(0.0032770581)),
    "g/cm3": ("lb/ft3", _plain(62.4279606)),
    "dm3": ("board feet", _plain(1.0 / 2.359737216)),
    "N": ("lbf", _plain(0.2248089431)),
    "N/mm2": ("psi", _plain(145.037737730)),
    "MPa": ("psi", _plain(145.037737730)),
    "\N{MICRO SIGN}m": ("in", lambda value, _places: number_text(value / 1000.0 / INCH_MM, 5)),
}
"""Factors of NIST Special Publication 811 (2008), appendix B.8."""


def shown(text: str, units: Units) -> str:
    """Return a text with its quantities in the units of a shop; metric text stays as it is."""
    if units.system is System.METRIC or not any(letter.isdigit() for letter in text):
        return text
    if text.startswith("<svg"):
        return shown_markup(text, units)
    kept = [name for name in units.names if name in text]
    if not kept:
        return _turned(text, units)
    called = "|".join(re.escape(name) for name in sorted(kept, key=len)[::-1])
    parts = re.split(rf"((?<![\w.])(?:{called}))", text)
    return "".join(part if at % 2 else _turned(part, units) for at, part in enumerate(parts))


def _turned(text: str, units: Units) -> str:
    def between(found: re.Match[str]) -> str:
        after = _QUANTITY.match(text, found.end())
        if after is None:
            return found[0]
        low = f"{found['low']}{after['space']}{after['unit']}"
        return f"between {_QUANTITY.sub(one, low).rsplit(after['space'], 1)[0]} and "

    def one(found: re.Match[str]) -> str:
        return _one(found, units)

    text = _BETWEEN_AND.sub(between, text) if "between " in text else text
    return _QUANTITY.sub(one, text)


def _one(found: re.Match[str], units: Units) -> str:
    unit = found["unit"].translate(str.maketrans("²³", "23")).replace("°C", "degC")
    told = _writer(found, unit, units)
    if told is None:
        return found[0]
    name, write = told
    figures = _FIGURE.sub(lambda each: _figure(each[0], write), found["figures"])
    return f"{figures}{found['space'] or ' '}{name}"


def _writer(
    found: re.Match[str], unit: str, units: Units
) -> tuple[str, Callable[[float, int], str]] | None:
    """Return the shop's unit for one of a text, and what writes a figure in it; None to keep it."""
    before = found.string[max(0, found.start() - 40) : found.start()]
    if unit in ("mm", "cm"):
        more = 1 if unit == "cm" else 0
        code = bool(_KEYED.search(before))
        return "in", lambda value, places: inches_text(
            value * 10.0**more,
            places - more,
            code=code,
            machine=units.machine,
            axis=bool(_AXIS.search(f"{before[-6:]}{found['figures']}")),
        )
    if unit == "degC":
        risen = _WARMER.search(before) or _WARMER_AFTER.match(found.string, found.end())
        name = "degF" if found["unit"] == "degC" else "°F"
        return name, _rise if risen or "±" in found["figures"] else _warmth
    if unit == "g":
        return ("oz", _ounces) if units.ounces else None
    if unit in ("cm3", "ml"):
        return ("fl oz", _plain(1.0 / FLUID_OUNCE_CM3)) if units.fluid_ounces else None
    return _OTHERS.get(unit)


def _figure(text: str, write: Callable[[float, int], str]) -> str:
    mark = text[0] if text[0] in "+±" else ""
    bare = text.removeprefix(mark).replace(_MINUS, "-")
    told = write(float(bare), len(bare.partition(".")[2]))
    return mark + (told.replace("-", _MINUS) if _MINUS in text else told)


def shown_data(value: Any, units: Units, skip: Collection[str] = ()) -> Any:  # noqa: PLR0911
    """Return records, rows and mappings with all their words shown in the units of a shop.

    ``skip`` names the fields and keys whose words are not for reading.
    """
    if units.system is System.METRIC:
        return value
    if isinstance(value, str):
        return shown(value, units) if type(value) is str else value
    if isinstance(value, tuple) and type(value) is tuple:
        return tuple(shown_data(each, units, skip) for each in value)
    if isinstance(value, list):
        return [shown_data(each, units, skip) for each in value]
    if isinstance(value, dict):
        return {
            key: each if key in skip else shown_data(each, units, skip)
            for key, each in value.items()
        }
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        changed = {
            each.name: now
            for each in dataclasses.fields(value)
            if each.init and each.name not in skip
            for was in (getattr(value, each.name),)
            for now in (shown_data(was, units, skip),)
            if now is not was and now != was
        }
        return dataclasses.replace(value, **changed) if changed else value
    return value


_MARKUP: Final = re.compile(
    r"<(?P<whole>script|style|textarea|pre|code)\b.*?</(?P=whole)>|<!--.*?-->|<[^>]*>", re.DOTALL
)
_SAID: Final = re.compile(r'(?<= )(?P<name>alt|title|aria-label)="(?P<words>[^"]*)"')


def shown_markup(text: str, units: Units) -> str:
    """Return HTML or SVG with the words between its tags, and those told of a picture, so shown."""
    if units.system is System.METRIC:
        return text
    result, at = [], 0
    for found in _MARKUP.finditer(text):
        result.append(shown(text[at : found.start()], units))
        tag = found[0]
        if not found["whole"]:
            tag = _SAID.sub(lambda said: f'{said["name"]}="{shown(said["words"], units)}"', tag)
        result.append(tag)
        at = found.end()
    return "".join((*result, shown(text[at:], units)))
