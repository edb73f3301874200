"""How an amount is read off a measuring tool, in the unit and the marks the tool itself has."""

from __future__ import annotations

import math
from typing import Final

from flushwork.book.figures import NO_BREAK, number, places_for
from flushwork.resin.pours import Part
from flushwork.shelf.items import MeasuringTool, ToolKind
from flushwork.units.kinds import UNITS

CM3: Final = "cm\N{SUPERSCRIPT THREE}"
_FRACTIONS: Final = (1, 2, 4, 8, 16, 32, 64, 128)
_EVEN: Final = 1e-6


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
    metric = abs(tool.step * 1000.0 - round(tool.step * 1000.0)) < _EVEN * 1000.0
    step = shown / ounce
    parts = next((n for n in _FRACTIONS if abs(step * n - 1.0) < 1e-4), 0)
    if metric or not (parts or abs(step * 1000.0 - round(step * 1000.0)) < 1e-3):
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
