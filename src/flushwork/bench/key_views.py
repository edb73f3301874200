"""The keys of a job that can be varied, with the values worth trying first."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from flushwork.errors import JobRefusedError
from flushwork.job.text.located import Scalar, read_tree

STEPS: Final = (0.6, 0.8, 1.0, 1.2, 1.4)
UNVARIED: Final = frozenset({"name", "title", "svg", "text", "font", "because", "flushwork"})
_NUMBER: Final = re.compile(r"^(-?\d+(?:\.\d+)?)(\s*)([^\d].*)?$")


@dataclass(frozen=True, slots=True)
class KeyView:
    """A key as a dotted path, how it is written now, and values around it."""

    key: str
    value: str
    proposed: tuple[str, ...]


def keys_of(text: str) -> tuple[KeyView, ...]:
    """Return every key with a number in a job's text; nothing where it cannot be read."""
    try:
        root = read_tree(text, "job").root
    except JobRefusedError:
        return ()
    return tuple(_walk(root, ""))


def _walk(tree: Any, path: str) -> Iterator[KeyView]:
    if isinstance(tree, dict):
        for key, value in tree.items():
            if key not in UNVARIED:
                yield from _walk(value, f"{path}.{key}" if path else str(key))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            name = value.get("name") if isinstance(value, dict) else None
            step = name.text if isinstance(name, Scalar) and "." not in name.text else index + 1
            yield from _walk(value, f"{path}.{step}")
    elif isinstance(tree, Scalar):
        proposed = around(tree.text)
        if proposed:
            yield KeyView(path, tree.text, proposed)


def around(value: str) -> tuple[str, ...]:
    """Return values around a written number, with as many decimals; nothing for words."""
    found = _NUMBER.match(value.strip())
    if found is None:
        return ()
    number, gap, unit = found.group(1), found.group(2), found.group(3) or ""
    if "x" in unit or ":" in unit:
        return ()
    if "." not in number and not unit:
        whole = int(number)
        return tuple(str(whole + step) for step in (-1, 0, 1, 2, 3) if whole + step > 0)
    places = max(1, len(number.partition(".")[2]))
    return tuple(
        dict.fromkeys(
            f"{float(number) * step:.{places}f}".rstrip("0").rstrip(".") + gap + unit
            for step in STEPS
        )
    )
