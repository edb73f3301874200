"""The words of a cut file's lines, without comments and blanks, for a look at single words."""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.toolpaths.line_errors import LineError
from flushwork.toolpaths.words import code_of


def lines_with(text: str, letter: str) -> Iterator[tuple[int, str]]:
    """Yield the lines that hold a letter outside of comments: number from 1, words in small print.

    A line whose comment is left open is passed over; the reader has named it.
    """
    for number, raw in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), 1):
        if letter not in raw and letter.upper() not in raw:
            continue
        try:
            code = code_of(raw)
        except LineError:
            continue
        if letter in code:
            yield number, code
