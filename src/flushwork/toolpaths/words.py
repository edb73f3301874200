"""One line of a cut file to its words.

Source: NISTIR 6556, section 3.3 (format of a line).  Beyond it, a comment may also begin with a
semicolon and run to the end of the line, as is common practice.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from flushwork.toolpaths.expressions import Scanner, parameter_index, whole
from flushwork.toolpaths.line_errors import LineError

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

    line: int
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


def read_block(code: str, line: int, parameter: Callable[[int], float]) -> Block:
    """Read the words of one line as ``code_of`` left it.

    ``parameter`` gives the parameters' values before the line.  Raises ``LineError``.
    """
    if len(code) > LONGEST:
        raise LineError(f"the line is longer than {LONGEST} characters")
    block = Block(line)
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
