"""A file as dicts, lists and scalars that knows the line of every key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from flushwork.core.findings import Source

Path_ = tuple[str | int, ...]
Kind = Literal["text", "number", "truth", "nothing"]


@dataclass(frozen=True, slots=True)
class Scalar:
    """One value as typed, and what the file's rules make of it."""

    text: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class Tree:
    """A file as dicts, lists and scalars, and the line and column of every key and item."""

    file: str
    root: dict[str, Any]
    marks: dict[Path_, tuple[int, int]]

    def has(self, path: Path_) -> bool:
        """Whether the file itself holds this key."""
        return path in self.marks

    def source(self, path: Path_) -> Source:
        """Return the place of a key, or of the nearest key above it that the file holds."""
        while path and path not in self.marks:
            path = path[:-1]
        line, column = self.marks.get(path, (1, 1))
        return Source(file=self.file, line=line, column=column, key=self.key(path))

    @property
    def places(self) -> tuple[tuple[str, Source], ...]:
        """Where each key stands, and each key and item below it: ``air``, ``bits.2 mm flat``.

        An item goes by its name, or is its own name.
        """
        return tuple((self._label(path), self.source(path)) for path in self.marks if len(path) < 3)

    def _label(self, path: Path_) -> str:
        here: Any = self.root
        for part in path:
            here = here[part]
        if path and isinstance(path[-1], int):
            name = here.get("name") if isinstance(here, dict) else here
            path = (*path[:-1], name.text if isinstance(name, Scalar) else path[-1])
        return ".".join(map(str, path))

    def key(self, path: Path_) -> str:
        """Write a path as the user would say it: ``front.inlays[rose dark].depth``."""
        text = ""
        here: Any = self.root
        for part in path:
            if isinstance(here, list) and isinstance(part, int):
                here = here[part]
            else:
                here = here.get(part) if isinstance(here, dict) else None
            if isinstance(part, str):
                text = f"{text}.{part}" if text else part
                continue
            name = here.get("name") if isinstance(here, dict) else None
            text = f"{text}[{name.text if isinstance(name, Scalar) else part + 1}]"
        return text
