"""Numbers, parameters and bracketed expressions of a cut file.

Source: Kramer, Proctor & Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556 (2000),
section 3.3.2 (real values, parameters, expressions, unary operations).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Final

from flushwork.toolpaths.line_errors import LineError

WHOLE_WITHIN: Final = 0.0001
"""A number that must be whole may be off by this much (NISTIR 6556, section 3.3.2.1)."""

DEEPEST: Final = 40
"""Brackets nested deeper than this are refused, so that no file can exhaust the reader."""

LAST_PARAMETER: Final = 5399
"""Parameters run from 1 to this number (NISTIR 6556, section 3.2.1)."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_NAME = re.compile(r"[a-z]+")
_LEVELS: tuple[tuple[str, ...], ...] = (
    ("+", "-", "or", "xor", "and"),
    ("*", "/", "mod"),
    ("**",),
)


def _nearest(value: float) -> float:
    """Round to the nearest whole number, halves away from zero."""
    return math.copysign(math.floor(abs(value) + 0.5), value)


_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "abs": abs,
    "acos": lambda value: math.degrees(math.acos(value)),
    "asin": lambda value: math.degrees(math.asin(value)),
    "cos": lambda value: math.cos(math.radians(value)),
    "exp": math.exp,
    "fix": math.floor,
    "fup": math.ceil,
    "ln": math.log,
    "round": _nearest,
    "sin": lambda value: math.sin(math.radians(value)),
    "sqrt": math.sqrt,
    "tan": lambda value: math.tan(math.radians(value)),
}


def _power(left: float, right: float) -> float:
    if left < 0 and not right.is_integer():
        raise ValueError
    return float(left**right)


def _modulo(left: float, right: float) -> float:
    return left - abs(right) * math.floor(left / abs(right))


_OPERATIONS: dict[str, Callable[[float, float], float]] = {
    "+": lambda left, right: left + right,
    "-": lambda left, right: left - right,
    "*": lambda left, right: left * right,
    "/": lambda left, right: left / right,
    "**": _power,
    "mod": _modulo,
    "or": lambda left, right: float(left != 0 or right != 0),
    "xor": lambda left, right: float((left != 0) != (right != 0)),
    "and": lambda left, right: float(left != 0 and right != 0),
}


def whole(value: float, what: str) -> int:
    """Return ``value`` as a whole number; raise ``LineError`` if it is not within 0.0001 of one."""
    nearest = round(value)
    if abs(value - nearest) > WHOLE_WITHIN:
        raise LineError(f"{what} must be a whole number, not {value:g}")
    return nearest


def parameter_index(value: float) -> int:
    """Return the number of a parameter, 1 to 5399; raise ``LineError`` outside."""
    index = whole(value, "a parameter's number")
    if not 1 <= index <= LAST_PARAMETER:
        raise LineError(f"parameters run from #1 to #{LAST_PARAMETER}, not #{index}")
    return index


class Scanner:
    """Walks one line (lower case, no spaces, no comments) and evaluates what it meets.

    ``parameter`` gives the value a numbered parameter had before the line.
    """

    __slots__ = ("_depth", "_parameter", "at", "text")

    def __init__(self, text: str, parameter: Callable[[int], float]) -> None:
        self.text = text
        self.at = 0
        self._depth = 0
        self._parameter = parameter

    @property
    def next(self) -> str:
        """The character at hand, empty at the end of the line."""
        return self.text[self.at : self.at + 1]

    def real_value(self) -> float:
        """Read a number, a parameter, a function or an expression in brackets.

        Raises ``LineError`` where none stands or the sum has no answer.
        """
        self._depth += 1
        if self._depth > DEEPEST:
            raise LineError(f"brackets or # signs nested more than {DEEPEST} deep")
        if self.next == "[":
            value = self._expression()
        elif self.next == "#":
            self.at += 1
            value = self._parameter(parameter_index(self.real_value()))
        elif self.next.isalpha():
            value = self._function()
        else:
            value = self._number()
        self._depth -= 1
        if not math.isfinite(value):
            raise LineError("a number is too large to use")
        return value

    def _number(self) -> float:
        found = _NUMBER.match(self.text, self.at)
        if found is None:
            rest = self.text[self.at : self.at + 12]
            if rest[:1] in {"+", "-"} and rest[1:2]:
                raise LineError(f"a sign may stand only before digits: {rest!r}")
            raise LineError(
                f"a number is missing before {rest!r}" if rest else "a number is missing"
            )
        self.at = found.end()
        return float(found.group())

    def _expression(self) -> float:
        self.at += 1
        value = self._terms(0)
        if self.next != "]":
            raise LineError("a bracket [ is not closed")
        self.at += 1
        return value

    def _terms(self, level: int) -> float:
        if level == len(_LEVELS):
            return self.real_value()
        left = self._terms(level + 1)
        while (operator := self._operator(level)) is not None:
            self.at += len(operator)
            left = _answer(_OPERATIONS[operator], operator, left, self._terms(level + 1))
        return left

    def _operator(self, level: int) -> str | None:
        return next((sign for sign in _LEVELS[level] if self.text.startswith(sign, self.at)), None)

    def _function(self) -> float:
        found = _NAME.match(self.text, self.at)
        name = found.group() if found else ""
        if name != "atan" and name not in _FUNCTIONS:
            raise LineError(f"{name.upper()!r} is not a function of the published language")
        self.at += len(name)
        argument = self._bracketed(name)
        if name != "atan":
            return _answer(_FUNCTIONS[name], name, argument)
        if self.next != "/":
            raise LineError("ATAN needs two numbers in brackets with a / between them")
        self.at += 1
        return math.degrees(math.atan2(argument, self._bracketed(name)))

    def _bracketed(self, name: str) -> float:
        if self.next != "[":
            raise LineError(f"{name.upper()} needs its number in brackets [ ]")
        return self._expression()


def _answer(operation: Callable[..., float], name: str, *values: float) -> float:
    try:
        return float(operation(*values))
    except (ValueError, ZeroDivisionError, OverflowError):
        shown = " and ".join(f"{value:g}" for value in values)
        raise LineError(f"{name.upper()} has no answer for {shown}") from None
