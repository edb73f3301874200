"""Setting keys in a job's text, its comments kept."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from flushwork.checks.fixes.fix import Fix
from flushwork.core.errors import FlushworkError

WRAP: Final = 10_000


class VaryError(FlushworkError, ValueError):
    """A key that cannot be found in the job; the message is in plain words."""


def changed(text: str, key: str, value: str) -> str:
    """Return a job's text with one key set.

    ``key`` is a dotted path; an item of a list goes by its `name`, or by its number from 1:
    ``front.inlays.body.depth``.  Raises VaryError where the path leads nowhere.
    """
    return _written(text, [([step.strip() for step in key.split(".") if step.strip()], value)])


def applied(text: str, fix: Fix) -> str:
    """Return a job's text with every edit of a fix made.  Raises VaryError as ``changed`` does."""
    return _written(text, [(edit.path, edit.value) for edit in fix.edits])


def _written(text: str, edits: Sequence[tuple[Sequence[str], str | None]]) -> str:
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = WRAP
    root = yaml.load(text)
    for path, value in edits:
        _set(root, path, value)
    out = io.StringIO()
    yaml.dump(root, out)
    return out.getvalue()


def _set(root: Any, path: Sequence[str], value: str | None) -> None:
    key = ".".join(path)
    if not path or not isinstance(root, CommentedMap):
        message = "Write a key such as front.inlays.body.depth."
        raise VaryError(message)
    place = root
    for step in path[:-1]:
        place = _into(place, step, key)
    last: int | str = path[-1]
    if isinstance(place, CommentedSeq):
        last = _number(place, path[-1], key)
    elif not isinstance(place, CommentedMap):
        message = f"{key} leads into a plain value, not to a key."
        raise VaryError(message)
    if value is not None:
        place[last] = YAML(typ="safe").load(value)
    elif isinstance(place, CommentedMap):
        place.pop(last, None)
    else:
        del place[last]


def _into(place: Any, step: str, key: str) -> Any:
    if isinstance(place, CommentedSeq):
        return place[_number(place, step, key)]
    if isinstance(place, CommentedMap):
        if step not in place:
            place[step] = CommentedMap()
        return place[step]
    message = f"{key}: there is nothing inside {step}."
    raise VaryError(message)


def _number(place: CommentedSeq, step: str, key: str) -> int:
    for number, item in enumerate(place):
        if isinstance(item, CommentedMap) and str(item.get("name", "")) == step:
            return number
    if step.isdigit() and 1 <= int(step) <= len(place):
        return int(step) - 1
    names = [
        str(item["name"]) for item in place if isinstance(item, CommentedMap) and "name" in item
    ]
    message = f"{key}: there is no item called {step}; there are {', '.join(names) or len(place)}."
    raise VaryError(message)
