"""All that was done to a job's text, step by step, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from flushwork.bench.desk.fix_search import words_of
from flushwork.core.findings import JobRefusedError
from flushwork.core.keys.tree import Scalar
from flushwork.job.text.located import read_tree

TOLD: Final = 3
"""So many changes of one step are told one by one."""


@dataclass(frozen=True, slots=True)
class DoneStep:
    """One step: what it changed; ``here`` is the one the saved job is at, ``undone`` lies ahead."""

    number: int
    words: str
    here: bool
    undone: bool


def history_view(texts: Sequence[str], here: int) -> tuple[DoneStep, ...]:
    """Return the steps from one text to the next; the first is what there was to begin with."""
    known = [_values(text) for text in texts]
    told = ["As it was first opened"]
    told += [_step(known[at], known[at + 1]) for at in range(len(texts) - 1)]
    return tuple(
        DoneStep(number, words, here=number == here, undone=number > here)
        for number, words in enumerate(told)
    )


def _values(text: str) -> dict[tuple[str, ...], str] | None:
    try:
        return dict(_walk(read_tree(text, "job").root, ()))
    except JobRefusedError:
        return None


def _walk(tree: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from _walk(value, (*path, str(key)))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            name = value.get("name") if isinstance(value, dict) else None
            step = name.text if isinstance(name, Scalar) else str(index + 1)
            yield from _walk(value, (*path, step))
    elif isinstance(tree, Scalar):
        yield path, tree.text


def _step(
    before: dict[tuple[str, ...], str] | None, after: dict[tuple[str, ...], str] | None
) -> str:
    if after is None:
        return "The text, which cannot be read as it is"
    if before is None:
        return "The text, which could not be read before"
    changes = [
        f"{words_of(path)}: {_told(before.get(path))} before, {_told(after.get(path))} now"
        for path in dict.fromkeys((*before, *after))
        if before.get(path) != after.get(path)
    ]
    if not changes:
        return "Comments or layout alone"
    more = len(changes) - TOLD
    return "; ".join(changes[:TOLD]) + (f"; and {more} more" if more > 0 else "")


def _told(value: str | None) -> str:
    return "nothing" if value is None else value
