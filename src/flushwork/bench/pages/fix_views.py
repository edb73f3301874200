"""A fix as the page shows it: what it changes in words, as written now and as proposed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from flushwork.bench.desk.edits import EditError, items_of, path_of, with_key
from flushwork.bench.desk.taking_out import without
from flushwork.bench.pages.page_records import EditView
from flushwork.core.errors import JobRefusedError
from flushwork.core.keys.tree import Scalar
from flushwork.job.text.located import read_tree
from flushwork.usecases.fix import Fix
from flushwork.views.figures import clean

Change = tuple[Sequence[str], str | None]
"""The steps of a key and what to write there; None takes it out."""
_NUMBER: Final = re.compile(r"^\d")


def with_changes(text: str, changes: Sequence[Change]) -> str:
    """Return a text with keys set or taken out, all its other letters as they were.

    What is to be taken out and is not there is no change.
    Raises EditError where one of them cannot be made so, or would change more than its own key.
    """
    for steps, value in changes:
        path = path_of(text, steps)
        if value is None and not _there(text, path):
            continue
        changed = without(text, path) if value is None else with_key(text, steps, value)
        wanted = _plain(_tree(text))
        _put(wanted, path, value)
        if _plain(_tree(changed)) != wanted:
            raise EditError("that value is written in a way that only the text itself can change")
        text = changed
    return text


def changes_of(fix: Fix) -> tuple[Change, ...]:
    """Return the changes that a fix makes."""
    return tuple((edit.path, edit.value) for edit in fix.edits)


def edit_views(text: str, fix: Fix) -> tuple[EditView, ...]:
    """Return what a fix changes in a text; what stands there already is left out."""
    alone = len(fix.edits) == 1
    views = []
    for edit in fix.edits:
        was, value = written(text, edit.path), _told(edit.value)
        if was != (value or ""):
            number = alone and value is not None and _NUMBER.match(value) is not None
            views.append(EditView(edit.path, words_of(edit.path), was, edit.value, value, number))
    return tuple(views)


def written(text: str, steps: Sequence[str]) -> str:
    """Return how a key is written in a text; empty where it is not."""
    try:
        path = path_of(text, steps)
    except EditError:
        return ""
    return _line(_at(_plain(_tree(text)), path)) if _there(text, path) else ""


def _there(text: str, path: Sequence[str | int]) -> bool:
    """Whether a text holds the key at a path."""
    try:
        _at(_tree(text), path)
    except (KeyError, IndexError, TypeError):
        return False
    return True


def _at(tree: Any, path: Sequence[str | int]) -> Any:
    for part in path:
        tree = tree[part]
    return tree


def _told(value: str | None) -> str | None:
    items = items_of(value) if value is not None else None
    return ", ".join(items) if items is not None else value


def _line(plain: Any) -> str:
    if isinstance(plain, dict):
        return ", ".join(f"{key} {_line(each)}" for key, each in plain.items())
    if isinstance(plain, list):
        return ", ".join(_line(each) for each in plain)
    return str(plain)


def _tree(text: str) -> Any:
    try:
        return read_tree(text, "job").root
    except JobRefusedError as refused:
        raise EditError("the text has to be readable first; its slips are marked") from refused


def _plain(tree: Any) -> Any:
    """Return a tree of words alone, no part of it shared."""
    if isinstance(tree, dict):
        return {key: _plain(each) for key, each in tree.items()}
    if isinstance(tree, list):
        return [_plain(each) for each in tree]
    return tree.text if isinstance(tree, Scalar) else tree


def _put(plain: Any, path: Sequence[str | int], value: str | None) -> None:
    for part in path[:-1]:
        plain = plain.setdefault(part, {}) if isinstance(plain, dict) else plain[part]
    if value is None:
        del plain[path[-1]]
        return
    items = items_of(value)
    plain[path[-1]] = list(items) if items is not None else value.strip()


WORDS: Final = {"how": "filling", "in layers": "layered pour", "twice": "second pass of the V"}
"""What some keys are called beside a thing, where the key by itself says little."""
_PLACES: Final = ("front", "back", "allowances", "blank", "bright lines")


def words_of(path: Sequence[str]) -> str:
    """Return a key in words: what of which thing, and on which face or under what."""
    steps = [step for step in path if step not in ("inlays", "holes", "mixes")]
    place = f" ({steps.pop(0)})" if len(steps) > 1 and steps[0] in _PLACES else ""
    steps[-1] = WORDS.get(steps[-1], steps[-1])
    return clean(" of ".join(reversed(steps)) + place)
