"""A file as dicts, lists and scalars that knows the line of every key."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
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
    under: Path_ = ()
    """Where the keys of a part stand in the whole file, of a tree that is one part of it."""
    own: frozenset[str] = frozenset()
    """The keys that the part itself holds."""

    def anew(self, group: str, name: str, aside: Collection[str]) -> Tree:
        """Return the file as it reads for one part of it.

        The keys at ``group.name`` stand in the place of the file's own; those ``aside`` the part
        does not take over from the file.
        """
        under = (group, name)
        said = self.root[group][name]
        gone = {*aside, *said}
        marks = {path: mark for path, mark in self.marks.items() if not path or path[0] not in gone}
        marks |= {path[2:]: mark for path, mark in self.marks.items() if path[:2] == under}
        root = {key: value for key, value in self.root.items() if key not in gone} | said
        return replace(self, root=root, marks=marks, under=under, own=frozenset(said))

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
        if self.under and (not path or path[0] in self.own):
            text = ".".join(map(str, self.under))
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
