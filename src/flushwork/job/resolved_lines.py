"""Writing keys and values back, each default marked."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from flushwork.job.located import Path_
from flushwork.units import Quantity, quantity_text

_PLAIN: Final = re.compile(r"[A-Za-z][A-Za-z0-9 _./()-]*[A-Za-z0-9_./()]|[A-Za-z]")
_OTHER: Final = frozenset({"null", "true", "false", "Null", "NULL", "True", "False"})
_DECIMALS: Final = 9


def words(text: str) -> str:
    """Return a text as a YAML value, in quotes where it needs them."""
    if _PLAIN.fullmatch(text) and text not in _OTHER:
        return text
    return json.dumps(text, ensure_ascii=False)


def measure(value: float, quantity: Quantity = Quantity.LENGTH) -> str:
    """Return a quantity with its unit, to nine decimals."""
    return quantity_text(value, quantity, decimals=_DECIMALS)


def pair(x_mm: float, y_mm: float) -> str:
    """Return ``[x mm, y mm]``."""
    return f"[{measure(x_mm)}, {measure(y_mm)}]"


def listed(values: Iterable[str]) -> str:
    """Return texts as a list on one line."""
    return f"[{', '.join(words(value) for value in values)}]"


def truth(value: bool) -> str:
    """Return yes or no."""
    return "yes" if value else "no"


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines of a file in the making, and the keys that the user's own file holds."""

    given: frozenset[str]
    lines: list[str] = field(default_factory=list)

    def stated(self, path: Path_) -> bool:
        """Whether the user's file holds a key, or a plain value in place of its group."""
        if _dotted(path) in self.given:
            return True
        above = _dotted(path[:-1])
        return (
            path[-1:] in (("name",), (0,))
            and above in self.given
            and not any(key.startswith(f"{above}.") for key in self.given)
        )

    def add(self, path: Path_, value: str, *, stated: bool | None = None) -> None:
        """Add ``key: value``; ``stated`` overrides what the path says."""
        given = self.stated(path) if stated is None else stated
        mark = "" if given else "  # default"
        self.lines.append(f"{_indent(path)}{_name(path)}: {value}{mark}")

    def group(self, path: Path_) -> None:
        """Open a group of keys."""
        self.lines.append(f"{_indent(path)}{_name(path)}:")

    def note(self, path: Path_, text: str) -> None:
        """Add a comment where a key would stand."""
        self.lines.append(f"{_indent(path)}# {text}")

    def item(self, path: Path_) -> None:
        """Turn the line added last into the first of an item of a list."""
        at = len(self.lines) - 1
        indent = _indent(path)
        self.lines[at] = f"{indent[:-2]}- {self.lines[at].lstrip()}"


def _dotted(path: Path_) -> str:
    return ".".join(map(str, path))


def _name(path: Path_) -> str:
    return words(str(path[-1]))


def _indent(path: Path_) -> str:
    return "  " * (len(path) - 1)
