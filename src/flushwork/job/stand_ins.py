"""Going on after a slip: what is wrong is stood in for, so that the rest is read as well."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from typing import Any, Final

from pydantic import ValidationError

from flushwork.core.errors import JobRefusedError
from flushwork.core.keys.declare import Keyed, Model, Names, declared, inner_of
from flushwork.core.keys.settle import PerThing
from flushwork.core.keys.tree import Path_, Scalar
from flushwork.job.text.located import read_tree

MOST_ROUNDS: Final = 40
"""So many times the rest is looked at again; a file with more slips is told of those so far."""


@dataclass(frozen=True, slots=True)
class StoodIn:
    """A document with stand-ins, the places of these, and every word that was taken out or put in.

    ``keys`` is None where too little of the document is right.
    """

    keys: Any
    places: frozenset[Path_]
    words: frozenset[str]


def stood_in(model: type[Model], root: dict[str, Any], error: ValidationError) -> StoodIn:
    """Return the document that ``root`` would be without the slips of ``error``.

    A key at fault gets the example that its description shows; what has none, or is no better with
    it, is taken out, and with it whatever cannot do without.
    """
    tree, tried, words = deepcopy(root), set[Path_](), set[str]()
    record = model.record
    for _ in range(MOST_ROUNDS):
        for each in error.errors(include_url=False):
            path = each["loc"]
            place = path if path not in tried else path[:-1]
            if not place:
                return StoodIn(None, frozenset(tried), frozenset(words))
            words |= set(_words(_at(tree, place)))
            unwanted = place in tried or each["type"] in ("key-unknown", "keys-clash")
            shown = None if unwanted else _read(_example(record, place))
            words |= set(_words(shown))
            _put(tree, place, shown)
            tried.add(place)
        try:
            return StoodIn(model.model_validate(tree), frozenset(tried), frozenset(words))
        except ValidationError as again:
            error = again
    return StoodIn(None, frozenset(tried), frozenset(words))


def _at(tree: Any, path: Path_) -> Any:
    for step in path:
        if isinstance(tree, dict):
            tree = tree.get(str(step))
        elif isinstance(tree, list) and isinstance(step, int) and step < len(tree):
            tree = tree[step]
        else:
            return None
    return tree


def _put(tree: Any, path: Path_, value: Any) -> None:
    """Set what is at a path, or take it out where there is no value for it."""
    place, last = _at(tree, path[:-1]), path[-1]
    if isinstance(place, dict):
        if value is None:
            place.pop(str(last), None)
        else:
            place[str(last)] = value
    elif isinstance(place, list) and isinstance(last, int) and last < len(place):
        if value is None:
            del place[last]
        else:
            place[last] = value


def _words(tree: Any) -> Iterator[str]:
    """Yield every word in a part of a tree, keys included."""
    if isinstance(tree, Scalar):
        yield tree.text
    for key, item in tree.items() if isinstance(tree, dict) else ():
        yield str(key)
        yield from _words(item)
    for item in tree if isinstance(tree, list) else ():
        yield from _words(item)


def _example(record: type[Keyed], path: Path_) -> str:
    """Return the example that the declaration of a key shows; empty where it shows none."""
    group: type[Keyed] | None = record
    shown, named = "", False
    for step in path:
        if named or isinstance(step, int):
            shown, named = "", False
            continue
        key = next((each for each in declared(group) if each.name == step), None) if group else None
        if key is None:
            return ""
        shown, group = key.key.example, inner_of(key.kind)
        named = isinstance(key.kind, Names | PerThing)
    return shown


def _read(shown: str) -> Any:
    """Return an example as it would be read; None where there is none."""
    try:
        return read_tree(f"shown: {shown}", "example").root["shown"] if shown else None
    except JobRefusedError:
        return None
