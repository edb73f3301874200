"""Reading quantities: ``1 1/4 in``, ``0.5 mm``, ``1 h 30 min``; ratios, sizes, times of day."""

from __future__ import annotations

import difflib
import itertools
import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from flushwork.core.units.kinds import EXAMPLES, UNITS, Quantity, Unit, UnitError, names_of

_VULGAR: Final = {
    "\u00bd": "1/2",
    "\u00bc": "1/4",
    "\u00be": "3/4",
    "\u215b": "1/8",
    "\u215c": "3/8",
    "\u215d": "5/8",
    "\u215e": "7/8",
}
_DIGITS: Final = 15
_NUMBER: Final = re.compile(
    r"\s*(?P<sign>[+-]?)\s*(?:(?P<whole>\d+)[\s-]+)?(?:(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
    r"|(?P<decimal>\d+\.?\d*|\.\d+))"
)
_NEXT_NUMBER: Final = re.compile(r"\s*[\d.+-]")
_UNIT: Final = re.compile(r"\s*(?P<unit>[^\s\d+\-.,](?:[^\d+\-.,]|(?<=[a-zA-Z])[23](?!\d))*)")
_NOT_FINITE: Final = re.compile(r"\s*[+-]?\.?(nan|inf|infinity)\b", re.IGNORECASE)
_COMMA: Final = re.compile(r"\d,\d")


def _plain(text: str) -> str:
    """Write vulgar fractions out and minus signs as the keyboard has them."""
    for sign, words in _VULGAR.items():
        text = text.replace(sign, f" {words}")
    return text.replace("\u2212", "-").replace("\u2044", "/")


def _refuse_slips(text: str, example: str) -> None:
    if _NOT_FINITE.match(text):
        raise UnitError(
            "number-not-finite", f"'{text.strip()}' is not a number", f"write for example {example}"
        )
    if _COMMA.search(text):
        point = text.strip().replace(",", ".")
        raise UnitError(
            "decimal-comma",
            f"'{text.strip()}' has a comma in the number",
            f"write decimals with a point ({point}) and thousands without any mark",
        )


def _number(text: str, at: int) -> tuple[Fraction, int] | None:
    """Read a number from ``at``; return it and where it ends."""
    match = _NUMBER.match(text, at)
    if match is None or (match["whole"] and match["top"] is None):
        return None
    if max(len(match[part] or "") for part in ("whole", "top", "bottom", "decimal")) > _DIGITS:
        raise UnitError(
            "number-unreadable", "the number has too many digits", f"write at most {_DIGITS}"
        )
    if match["decimal"] is not None:
        value = Fraction(match["decimal"])
    else:
        bottom = int(match["bottom"])
        if bottom == 0:
            raise UnitError(
                "number-unreadable",
                f"'{text.strip()}' divides by nothing",
                "write a fraction such as 1/32",
            )
        value = int(match["whole"] or 0) + Fraction(int(match["top"]), bottom)
    return (-value if match["sign"] == "-" else value), match.end()


def read_number(text: str) -> float:
    """Read a bare number: ``3``, ``0.4``, ``1/2``, ``1 1/4``.

    Raises ``UnitError`` where anything else stands there.
    """
    plain = _plain(text)
    _refuse_slips(plain, "0.5")
    found = _number(plain, 0)
    if found is None or plain[found[1] :].strip():
        raise UnitError(
            "number-unreadable",
            f"'{text.strip()}' is not a plain number",
            "write digits only, such as 3 or 0.5",
        )
    return float(found[0])


def _unit(word: str, quantity: Quantity, whole: str) -> Unit:
    """Find the unit a word names, or say what is wrong with it."""
    unit = UNITS.get(word) or UNITS.get(word.lower())
    if unit is None:
        near = difflib.get_close_matches(
            word.lower(),
            [name for name, each in UNITS.items() if each.quantity is quantity],
            n=1,
            cutoff=0.5,
        )
        known = f"did you mean {near[0]}? " if near else ""
        raise UnitError(
            "unit-unknown",
            f"'{word}' in '{whole.strip()}' is not a unit of {quantity.value}",
            f"{known}use one of {', '.join(names_of(quantity))}",
        )
    if unit.quantity is not quantity:
        raise UnitError(
            "unit-of-another-kind",
            f"'{whole.strip()}' is a {unit.quantity.value}; a {quantity.value} is wanted here",
            f"write for example {EXAMPLES[quantity]}",
        )
    return unit


def _without_unit(text: str, quantity: Quantity) -> UnitError:
    units = names_of(quantity)
    offers = {
        Quantity.LENGTH: ("mm", "in"),
        Quantity.TIME: ("min", "h"),
        Quantity.TEMPERATURE: ("degC", "degF"),
    }.get(quantity, units[:1])
    remedy = " or ".join(f"{text.strip()} {name}" for name in offers)
    return UnitError(
        "unit-missing", f"'{text.strip()}' has no unit", f"say which it is: write {remedy}"
    )


def _terms(text: str, quantity: Quantity) -> list[tuple[Fraction, Unit]]:
    """Split ``1 ft 3 1/2 in`` into its numbers and units."""
    terms: list[tuple[Fraction, Unit]] = []
    at = 0
    while at < len(text) and text[at:].strip():
        found = _number(text, at)
        if found is None:
            raise UnitError(
                "number-unreadable",
                f"'{text.strip()}' is not a {quantity.value}",
                f"write for example {EXAMPLES[quantity]}",
            )
        value, at = found
        match = _UNIT.match(text, at)
        if match is None:
            if text[at:].strip() and not _NEXT_NUMBER.match(text, at):
                raise UnitError(
                    "number-unreadable",
                    f"'{text.strip()}' is not a {quantity.value}",
                    f"write for example {EXAMPLES[quantity]}",
                )
            raise _without_unit(text, quantity)
        terms.append((value, _unit(match["unit"].strip(), quantity, text)))
        at = match.end()
    return terms


def read_quantity(text: str, quantity: Quantity) -> float:
    """Read a quantity and return it in the program's own unit.

    Lengths come back in mm, weights in g, volumes in cm3, temperatures in degrees C, times in s,
    shares as a fraction of 1, angles in radians, feeds in mm/min, spindle speeds in turns per
    minute, accelerations in mm/s2, densities in g/cm3, viscosities in Pa s, forces in N, powers in
    W.  Raises ``UnitError`` with what is wrong and what would be right.
    """
    plain = _plain(text)
    _refuse_slips(plain, EXAMPLES[quantity])
    if not plain.strip():
        raise UnitError("key-empty", "nothing is written here", f"write {EXAMPLES[quantity]}")
    terms = _terms(plain, quantity)
    if len(terms) > 1:
        factors = [unit.factor for _, unit in terms]
        falling = all(a > b for a, b in itertools.pairwise(factors))
        if (
            quantity not in (Quantity.LENGTH, Quantity.TIME)
            or not falling
            or any(value < 0 for value, _ in terms[1:])
        ):
            raise UnitError(
                "number-unreadable",
                f"'{text.strip()}' holds more than one {quantity.value}",
                f"write one, for example {EXAMPLES[quantity]}",
            )
    sign = -1 if terms[0][0] < 0 else 1
    total = sum((abs(value) * unit.factor for value, unit in terms), Fraction(0))
    result = float(sign * total + terms[0][1].offset)
    return math.radians(result) if quantity is Quantity.ANGLE else result


# ---- Quantities of two parts: ratios, sizes, and times of day


Basis = Literal["weight", "volume", ""]

_RATIO: Final = re.compile(r"^(?P<first>[^:]+):(?P<second>[^:]+?)(?:\s+by\s+(?P<basis>\w+))?$")
_TIMES: Final = re.compile(r"\s*[xX\u00d7*]\s*")
_CLOCK: Final = re.compile(r"^\s*(?P<hours>\d{1,2}):(?P<minutes>\d{2})\s*$")


@dataclass(frozen=True, slots=True)
class Ratio:
    """Parts of the first to parts of the second; ``basis`` is empty where the text names none."""

    first: float
    second: float
    basis: Basis


def read_ratio(text: str) -> Ratio:
    """Read ``5:1`` or ``100:45 by weight``; raises ``UnitError``."""
    example = "write for example 5:1 by volume or 100:45 by weight"
    match = _RATIO.match(text.strip())
    if match is None:
        raise UnitError("ratio-unreadable", f"'{text.strip()}' is not a ratio", example)
    first, second = read_number(match["first"]), read_number(match["second"])
    if first <= 0 or second <= 0:
        raise UnitError(
            "ratio-unreadable", f"'{text.strip()}' has a part that is not above 0", example
        )
    if match["basis"] == "weight":
        return Ratio(first, second, "weight")
    if match["basis"] == "volume":
        return Ratio(first, second, "volume")
    if match["basis"] is None:
        return Ratio(first, second, "")
    raise UnitError(
        "ratio-unreadable", f"'by {match['basis']}' is neither by weight nor by volume", example
    )


def read_size(text: str) -> tuple[float, float]:
    """Read ``320 mm x 170 mm`` or ``320 x 170 mm`` to two lengths in mm; raises ``UnitError``."""
    parts = _TIMES.split(text.strip())
    if len(parts) != 2 or not all(parts):
        raise UnitError(
            "size-unreadable",
            f"'{text.strip()}' is not a length by a width",
            "write for example 320 mm x 170 mm",
        )
    first, second = parts
    if re.fullmatch(r"[\d\s./+-]+", first):
        units = sorted(names_of(Quantity.LENGTH), key=len, reverse=True)
        unit = next((name for name in [*units, '"', "inch"] if second.endswith(name)), "")
        first = f"{first} {unit}"
    return read_quantity(first, Quantity.LENGTH), read_quantity(second, Quantity.LENGTH)


def read_clock(text: str) -> float:
    """Read a time of day, ``8:00`` to ``24:00``, to hours after midnight; raises ``UnitError``."""
    match = _CLOCK.match(text)
    hours = int(match["hours"]) + int(match["minutes"]) / 60 if match else 25.0
    if match is None or int(match["minutes"]) > 59 or hours > 24:
        raise UnitError(
            "time-unreadable",
            f"'{text.strip()}' is not a time of day",
            "write for example 8:00 or 17:30",
        )
    return hours
