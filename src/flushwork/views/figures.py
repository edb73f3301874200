"""Figures as the book prints them: number, no-break space, unit.

How an amount is read off a measuring tool, in the unit and the marks the tool itself has.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from flushwork.core.units.format import System, half_up
from flushwork.core.units.kinds import UNITS
from flushwork.core.units.shown import Units, shown
from flushwork.core.words import listed, plural
from flushwork.resin.pours import Part
from flushwork.shelf.items import MeasuringTool, ToolKind
from flushwork.views.book_records import UnitSystem

NO_BREAK = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
TIMES = "\N{MULTIPLICATION SIGN}"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
TO = "\N{EN DASH}"
_POWERS = re.compile(r"(?<=\d[ \u00a0])(mm|cm)([23])\b")
_FORBIDDEN = re.compile("[^\\t\\n\\r\\x20-\\ud7ff\\ue000-\\ufffd\\U00010000-\\U0010ffff]")


def number(value: float, places: int) -> str:
    """Return a number with a true minus sign and never a negative zero."""
    text = f"{value:.{places}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def short(value: float, places: int = 3) -> str:
    """Return a number without trailing zeros."""
    text = number(value, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def clean(text: str) -> str:
    """Return text without the characters that XML 1.0 (section 2.2) forbids in a document."""
    return _FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", text)


def raised(text: str) -> str:
    """Return text with the powers of units raised, as they are set in print: mm², cm³."""
    return _POWERS.sub(lambda found: found[1] + "²³"[int(found[2]) - 2], text)


def headed(part: str, mark: str = ": ") -> str:
    """Return the name of one of several parts of a job as it begins a line; nothing without one."""
    name = clean(part)
    return f"{name[:1].upper()}{name[1:]}{mark}" if name else ""


def joined(words: tuple[str, ...] | list[str]) -> str:
    """Return ``a, b and c``."""
    return listed(words)


def numbers_text(numbers: Collection[int]) -> tuple[str, ...]:
    """Return numbers in order, runs of them as one span."""
    ordered = sorted(set(numbers))
    runs = [
        [number for _, number in run]
        for _, run in groupby(enumerate(ordered), key=lambda item: item[1] - item[0])
    ]
    return tuple(str(run[0]) if len(run) == 1 else f"{run[0]}{TO}{run[-1]}" for run in runs)


def counted(count: int, singular: str, several: str = "") -> str:
    """Return ``1 hole`` or ``3 holes``."""
    return f"{count}{NO_BREAK}{plural(count, singular, several)}"


def duration(seconds: float) -> str:
    """Return a time as a woodworker says it: seconds, minutes, hours, days."""
    if math.isinf(seconds):
        return "without end"
    if seconds < 59.5:
        return f"{max(seconds, 0.0):.0f}{NO_BREAK}s"
    minutes = round(seconds / 60.0)
    if minutes < 90:
        return f"{minutes}{NO_BREAK}min"
    if minutes < 72 * 60:
        hours, rest = divmod(minutes, 60)
        tail = f" {rest}{NO_BREAK}min" if rest else ""
        return f"{hours}{NO_BREAK}h{tail}"
    days, rest = divmod(round(minutes / 60.0), 24)
    tail = f" {rest}{NO_BREAK}h" if rest else ""
    return f"{days}{NO_BREAK}days{tail}"


def no_longer_than(seconds: float) -> str:
    """Return a time that must not be overrun: whole minutes rounded down, seconds below one."""
    if seconds < 60.0:
        return f"{math.floor(max(seconds, 0.0))}{NO_BREAK}s"
    return f"{math.floor(seconds / 60.0)}{NO_BREAK}min"


def held(text: str) -> str:
    """Return words in which figures of time stay with their units."""
    return re.sub(r"(?<=\d) (?=(?:s|min|h|days?)\b)", NO_BREAK, text)


def grams(mass_g: float, step: float = 0.1) -> str:
    """Return a mass to the step of the scale it is read from."""
    return f"{number(mass_g, places_for(step))}{NO_BREAK}g"


def volume(volume_cm3: float) -> str:
    """Return a volume of liquid; small ones to a hundredth."""
    return f"{number(volume_cm3, 2 if volume_cm3 < 10.0 else 1)}{NO_BREAK}cm\N{SUPERSCRIPT THREE}"


def filled_up(volume_cm3: float) -> str:
    """Return how much of a liquid to have ready: two figures, rounded up."""
    step = 10.0 ** max(math.floor(math.log10(max(volume_cm3, 1.0))) - 1, 0)
    return f"{math.ceil(volume_cm3 / step - 1e-9) * step:.0f}{NO_BREAK}ml"


def coverage(covers_m2_l: float) -> str:
    """Return what a litre covers."""
    return f"{short(covers_m2_l, 1)}{NO_BREAK}m\N{SUPERSCRIPT TWO}/l"


def percent(share: float) -> str:
    """Return a share as per cent."""
    return f"{short(share * 100.0, 1)}{NO_BREAK}%"


def places_for(step: float) -> int:
    """Return how many decimals a tool with that step shows."""
    places = 0
    while places < 3 and abs(step * 10**places - round(step * 10**places)) > 1e-6:
        places += 1
    return places


@dataclass(frozen=True, slots=True)
class Lengths:
    """Spells lengths in the one unit of the shop."""

    units: UnitSystem

    def say(self, length_mm: float, places: int = 2) -> str:
        """Return a length with its unit."""
        return self._said(f"{number(float(half_up(length_mm, places)), places)}{NO_BREAK}mm")

    def cell(self, length_mm: float, places: int = 2) -> str:
        """Return a length for a column whose head names the unit."""
        return self._said(f"{number(length_mm, places)} mm").rsplit(" ", 1)[0]

    def size(self, *lengths_mm: float, places: int = 1) -> str:
        """Return ``a x b x c`` with one unit."""
        metric = f" {TIMES} ".join(short(length, places) for length in lengths_mm)
        return self._said(f"{metric}{NO_BREAK}mm")

    def _said(self, metric: str) -> str:
        return shown(metric, Units(System(self.units)))

    @property
    def head(self) -> str:
        """The unit as a column's head shows it."""
        return "mm" if self.units == "metric" else "in"


CM3: Final = "cm\N{SUPERSCRIPT THREE}"
_FRACTIONS: Final = (1, 2, 4, 8, 16, 32, 64, 128)


def mark_text(amount: float, tool: MeasuringTool, *, unit: bool = True, half: bool = False) -> str:
    """Return a reading as the tool shows it: grams or ounces, cm3 or fluid ounces.

    With ``half`` a vessel is read to half a mark.

    A step that is no round metric figure, but is one in ounces, belongs to a tool that shows
    ounces; one with marks at an even part of an ounce is read in whole ounces and marks.
    """
    scale = tool.kind is ToolKind.SCALE
    shown = tool.step / 2.0 if half and not scale else tool.step
    name = "oz" if scale else "fl oz"
    ounce = float(UNITS[name].factor)
    step = shown / ounce
    parts = next((n for n in _FRACTIONS if abs(step * n - 1.0) < 1e-4), 0)
    if not tool.ounces or tool.kind is ToolKind.SPOON:
        text, name = number(amount, places_for(shown)), "g" if scale else CM3
    elif parts:
        whole, rest = divmod(round(amount / shown), parts)
        shared = math.gcd(rest, parts) or 1
        text = " ".join(
            ([str(whole)] if whole or not rest else [])
            + ([f"{rest // shared}/{parts // shared}"] if rest else [])
        )
    else:
        text = number(amount / ounce, places_for(round(step, 6)))
    return f"{text}{NO_BREAK}{name}" if unit else text


def measured_amount(part: Part) -> str:
    """Return what is measured of a part: every fill of a vessel, one after the other."""
    tool = part.tool
    if tool is None:
        return f"{number(part.mass_g, 2)}{NO_BREAK}g"
    if not part.fills:
        return mark_text(part.target, tool)
    shown = [mark_text(each, tool, unit=False) for each in part.fills[:-1]]
    return " + ".join((*shown, mark_text(part.fills[-1], tool)))
