"""One line of a G-code file to its words.

Source: NISTIR 6556, section 3.3 (format of a line).  Beyond it, a comment may also begin with a
semicolon and run to the end of the line, as is common practice.

What stops the reader from taking in a line of a G-code file.

Numbers, parameters and bracketed expressions of a G-code file.

Source: Kramer, Proctor & Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556 (2000),
section 3.3.2 (real values, parameters, expressions, unary operations).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from flushwork.core.findings import FlushworkError


class LineError(FlushworkError):
    """A line cannot be read as the published language has it; carries one text per fault.

    It never leaves the reader: ``read.read_program`` turns it into problems with their line.
    """

    def __init__(self, *faults: str) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))


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


LONGEST: Final = 256
"""Characters a line may have, comments left out of the count (NISTIR 6556, section 3.3)."""

LAST_LINE_NUMBER: Final = 99999

_LETTERS: Final = frozenset("abcdfghijklmnpqrstxyz")
_WORD = re.compile(r"([abcdfghijklmpqrstxyz])([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))")
_PLAIN = re.compile(r"(?:[abcdfghijklmpqrstxyz][+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))*")
_NOT_NEGATIVE: Final = "dfhst"
_CHECKED: Final = frozenset("gm" + _NOT_NEGATIVE)


@dataclass(slots=True)
class Block:
    """The words of one line.

    ``values`` holds the number behind each letter but G and M; ``g`` (in tenths) and ``m`` hold
    theirs in order; ``settings`` are (parameter, value) pairs, to be set after the line is done.
    """

    values: dict[str, float] = field(default_factory=dict)
    g: tuple[int, ...] = ()
    m: tuple[int, ...] = ()
    settings: tuple[tuple[int, float], ...] = ()
    deletable: bool = False


def code_of(raw: str) -> str:
    """Return a line without its comments and blanks, in lower case.

    Raises ``LineError`` for a comment left open or holding another ``(``.
    """
    if "(" in raw or ";" in raw or ")" in raw:
        raw = _without_comments(raw)
    return "".join(raw.split()).lower()


def _without_comments(raw: str) -> str:
    kept: list[str] = []
    at = 0
    while at < len(raw):
        mark = raw[at]
        if mark == ";":
            break
        if mark == ")":
            raise LineError("a comment ends with ) that never began")
        if mark != "(":
            kept.append(mark)
            at += 1
            continue
        end = raw.find(")", at)
        if end < 0:
            raise LineError("a comment begins with ( and never ends")
        if "(" in raw[at + 1 : end]:
            raise LineError("a comment holds another (; comments may not be nested")
        at = end + 1
    return "".join(kept)


def read_block(code: str, parameter: Callable[[int], float]) -> Block:
    """Read the words of one line as ``code_of`` left it.

    ``parameter`` gives the parameters' values before the line.  Raises ``LineError``.
    """
    if len(code) > LONGEST:
        raise LineError(f"the line is longer than {LONGEST} characters")
    block = Block()
    if code.startswith("/"):
        block.deletable = True
        code = code[1:]
    if code.startswith("n"):
        code = _after_line_number(code)
    pairs = _plain_pairs(code)
    settings: list[tuple[int, float]] = []
    if pairs is None:
        pairs = _worked_pairs(code, parameter, settings)
    block.settings = tuple(settings)
    _sort(block, pairs)
    return block


def _after_line_number(code: str) -> str:
    found = re.match(r"n([0-9]+)", code)
    if found is None:
        raise LineError("N needs a whole number without sign behind it")
    if int(found.group(1)[:12]) > LAST_LINE_NUMBER:
        raise LineError(f"line numbers run up to {LAST_LINE_NUMBER}")
    rest = code[found.end() :]
    if rest.startswith("."):
        raise LineError("a line number has no decimal point")
    return rest


def _plain_pairs(code: str) -> list[tuple[str, float]] | None:
    """Return the words of a line of bare numbers, or None where it holds anything else."""
    if _PLAIN.fullmatch(code) is None:
        return None
    return [(letter, float(digits)) for letter, digits in _WORD.findall(code)]


def _worked_pairs(
    code: str, parameter: Callable[[int], float], settings: list[tuple[int, float]]
) -> list[tuple[str, float]]:
    """Return the words of a line with expressions; parameter settings go to ``settings``."""
    scanner = Scanner(code, parameter)
    pairs: list[tuple[str, float]] = []
    faults: list[str] = []
    try:
        while scanner.next:
            begins = scanner.at
            letter = scanner.next
            scanner.at += 1
            if letter == "#":
                settings.append(_setting(scanner))
                continue
            _refuse_mark(letter)
            value = scanner.real_value()
            if letter in _LETTERS:
                pairs.append((letter, value))
            else:
                word = code[begins : scanner.at].upper()
                faults.append(f"{word} is not a word of the published language")
    except LineError as error:
        faults.extend(error.faults)
    if faults:
        raise LineError(*faults)
    return pairs


def _setting(scanner: Scanner) -> tuple[int, float]:
    index = parameter_index(scanner.real_value())
    if scanner.next != "=":
        raise LineError(f"#{index} stands alone; a setting has the form #{index}=2.5")
    scanner.at += 1
    return index, scanner.real_value()


def _refuse_mark(letter: str) -> None:
    if letter == "n":
        raise LineError("a line number N may stand only at the beginning")
    if not (letter.isalpha() and letter.isascii()):
        raise LineError(f"{letter!r} has no meaning here")


def _sort(block: Block, pairs: list[tuple[str, float]]) -> None:
    block.values = dict(pairs)
    if len(block.values) == len(pairs) and _CHECKED.isdisjoint(block.values):
        return
    block.values.clear()
    g: list[int] = []
    m: list[int] = []
    values = block.values
    for letter, value in pairs:
        if letter == "g":
            g.append(_g_in_tenths(value))
        elif letter == "m":
            m.append(whole(value, "M"))
        elif letter in values:
            raise LineError(f"{letter.upper()} stands twice on one line")
        elif value < 0 and letter in _NOT_NEGATIVE:
            raise LineError(f"{letter.upper()} may not be negative")
        else:
            values[letter] = value
    block.g = tuple(g)
    block.m = tuple(m)


def _g_in_tenths(value: float) -> int:
    tenths = round(value * 10.0)
    if tenths < 0 or abs(value - tenths / 10.0) > 0.0001:
        raise LineError(f"G{value:g} is not a word of the published language")
    return tenths
