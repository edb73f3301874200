"""A fix as the page shows it: what it changes in words, as written now and as proposed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from flushwork.bench.pages.page_records import EditView
from flushwork.job.text.change import Change, told_at
from flushwork.job.text.edit import EditError, items_of, path_of
from flushwork.usecases.fix import Fix
from flushwork.views.figures import clean

_NUMBER: Final = re.compile(r"^\d")


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
        found = told_at(text, path_of(text, steps))
    except EditError:
        return ""
    return "" if found is None else _line(found)


def _told(value: str | None) -> str | None:
    items = items_of(value) if value is not None else None
    return ", ".join(items) if items is not None else value


def _line(plain: Any) -> str:
    if isinstance(plain, dict):
        return ", ".join(f"{key} {_line(each)}" for key, each in plain.items())
    if isinstance(plain, list):
        return ", ".join(_line(each) for each in plain)
    return str(plain)


WORDS: Final = {"how": "filling", "in layers": "layered pour", "twice": "second pass of the V"}
"""What some keys are called beside a thing, where the key by itself says little."""
_PLACES: Final = ("front", "back", "allowances", "blank", "bright lines")


def words_of(path: Sequence[str]) -> str:
    """Return a key in words: what of which thing, and on which face or under what."""
    steps = [step for step in path if step not in ("inlays", "holes", "mixes")]
    place = f" ({steps.pop(0)})" if len(steps) > 1 and steps[0] in _PLACES else ""
    steps[-1] = WORDS.get(steps[-1], steps[-1])
    return clean(" of ".join(reversed(steps)) + place)
