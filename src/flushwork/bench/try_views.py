"""What can be tried to mend a finding: changes of single values, as written now and as proposed."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any, Final

from flushwork.bench.edits import EditError, path_of
from flushwork.bench.records import TryView
from flushwork.book.figures import clean
from flushwork.errors import JobRefusedError
from flushwork.findings import Finding
from flushwork.job.located import Scalar, read_tree
from flushwork.pipeline import Build
from flushwork.proof.fixes.propose import fixes_for
from flushwork.proof.fixes.question import Question

MOST: Final = 3
_NUMBER: Final = re.compile(r"^\d")


def tries_of(text: str, made: Build, finding: Finding) -> tuple[TryView, ...]:
    """Return what may be tried for a finding, one change for each key."""
    if not text or finding.accepted is not None:
        return ()
    found: dict[str, TryView] = {}
    for fix in fixes_for(Question(finding, made.job, made.faces)):
        edit = fix.edits[0]
        was = written(text, edit.key)
        if len(fix.edits) == 1 and edit.value is not None and was not in (None, edit.value):
            number = _NUMBER.match(edit.value) is not None
            view = TryView(edit.key, words_of(edit.key), was, edit.value, number)
            found.setdefault(edit.key, view)
    return tuple(found.values())[:MOST]


def written(text: str, key: str) -> str | None:
    """Return how a key is written in a text: empty where it is not, None where it leads nowhere."""
    tree = _tree(text)
    if tree is None:
        return None
    try:
        path = path_of(text, key)
    except EditError:
        return None
    for part in path:
        if isinstance(tree, dict):
            if part not in tree:
                return ""
            tree = tree[part]
        elif isinstance(tree, list) and isinstance(part, int):
            tree = tree[part]
        else:
            return None
    return tree.text if isinstance(tree, Scalar) else None


@lru_cache(maxsize=4)
def _tree(text: str) -> Any:
    try:
        return read_tree(text, "job").root
    except JobRefusedError:
        return None


WORDS: Final = {"how": "filling", "in layers": "layered pour", "twice": "second pass of the V"}
"""What some keys are called beside a thing, where the key by itself says little."""
_PLACES: Final = ("front", "back", "allowances", "blank", "bright lines")


def words_of(key: str) -> str:
    """Return a dotted key in words: what of which thing, and on which face or under what."""
    steps = [step for step in key.split(".") if step not in ("inlays", "holes", "mixes")]
    place = f" ({steps.pop(0)})" if len(steps) > 1 and steps[0] in _PLACES else ""
    steps[-1] = WORDS.get(steps[-1], steps[-1])
    return clean(" of ".join(reversed(steps)) + place)
