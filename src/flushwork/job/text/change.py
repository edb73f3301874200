"""Keys told in steps, set or taken out: in place where that can be, else laid out anew."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap

from flushwork.core.keys.tree import Scalar
from flushwork.job.text.edit import EditError, items_of, path_of, remove_key, tree_of, with_key

Change = tuple[Sequence[str], str | None]
"""The steps of a key and what to write there; None takes it out.

An item of a list goes by its name, or by its number from 1.
"""
WIDTH: Final = 10_000


class VaryError(ValueError):
    """A key that cannot be found in the job; the message is in plain words."""


def changed(text: str, key: str, value: str) -> str:
    """Return a job's text with one key set.

    ``key`` is a dotted path: ``front.inlays.body.depth``.  Raises VaryError where the path leads
    nowhere.
    """
    return changed_together(
        text, [([step.strip() for step in key.split(".") if step.strip()], value)]
    )


def changed_together(text: str, changes: Sequence[Change]) -> str:
    """Return a job's text with all changes made.  Raises VaryError as ``changed`` does."""
    if not all(steps for steps, _ in changes):
        message = "Write a key such as front.inlays.body.depth."
        raise VaryError(message)
    paths = [_path(text, steps) for steps, _ in changes]
    try:
        return in_place(text, [(steps, _bare(value)) for steps, value in changes])
    except EditError:
        return _anew(text, [(path, value) for path, (_, value) in zip(paths, changes, strict=True)])


def _path(text: str, steps: Sequence[str]) -> tuple[str | int, ...]:
    try:
        return path_of(text, steps)
    except EditError as error:
        message = f"{'.'.join(steps)}: {error}."
        raise VaryError(message) from error


def in_place(text: str, changes: Sequence[Change]) -> str:
    """Return a text with keys set or taken out, all its other letters as they were.

    What is to be taken out and is not there is no change.
    Raises EditError where one of them cannot be made so, or would change more than its own key.
    """
    for steps, value in changes:
        path = path_of(text, steps)
        if value is None and told_at(text, path) is None:
            continue
        after = remove_key(text, path) if value is None else with_key(text, steps, value)
        wanted = plain(tree_of(text))
        _put(wanted, path, value)
        if plain(tree_of(after)) != wanted:
            raise EditError("that value is written in a way that only the text itself can change")
        text = after
    return text


def told_at(text: str, path: Sequence[str | int]) -> Any:
    """Return what stands at a path, as words; None where nothing does."""
    here = plain(tree_of(text))
    try:
        for part in path:
            here = here[part]
    except (KeyError, IndexError, TypeError):
        return None
    return here


def plain(tree: Any) -> Any:
    """Return a tree of words alone, no part of it shared."""
    if isinstance(tree, dict):
        return {key: plain(each) for key, each in tree.items()}
    if isinstance(tree, list):
        return [plain(each) for each in tree]
    return tree.text if isinstance(tree, Scalar) else tree


def _put(tree: Any, path: Sequence[str | int], value: str | None) -> None:
    for part in path[:-1]:
        tree = tree.setdefault(part, {}) if isinstance(tree, dict) else tree[part]
    if value is None:
        del tree[path[-1]]
        return
    items = items_of(value)
    tree[path[-1]] = list(items) if items is not None else value.strip()


def _bare(value: str | None) -> str | None:
    """Return a value without the quotes around it.  Raises EditError for keys and values."""
    if value is None or value.strip()[:1] not in ("'", '"', "{"):
        return value
    loaded = YAML(typ="safe").load(value)
    if not isinstance(loaded, str):
        raise EditError("only the text itself can take a group of keys")
    return loaded


def _anew(text: str, changes: Sequence[tuple[Sequence[str | int], str | None]]) -> str:
    """Return a text laid out anew, its comments kept, with keys set or taken out."""
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = WIDTH
    root = yaml.load(text)
    for path, value in changes:
        place = root
        for part in path[:-1]:
            there = not isinstance(place, CommentedMap) or part in place
            place = place[part] if there else place.setdefault(part, CommentedMap())
        if value is not None:
            place[path[-1]] = YAML(typ="safe").load(value)
        elif not isinstance(place, CommentedMap) or path[-1] in place:
            del place[path[-1]]
    out = io.StringIO()
    yaml.dump(root, out)
    return out.getvalue()
