"""Tasks that wait for their turn, in rows of those that differ only in when they may begin.

What is taken of a resource is never given back, so the first gap that holds so many minutes only
moves later.  All tasks of a row that may begin before it would begin there, and of these one is the
best choice: whatever the length of the row, one gap is looked for and one task is looked at.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from heapq import heappop, heappush

Rank = tuple[int, ...]
Gap = Callable[[int], int]


@dataclass
class Row:
    """One row: ``coming`` by the minute they may begin at, ``ripe`` those before ``gap_min``."""

    coming: list[tuple[int, Rank, str]] = field(default_factory=list)
    ripe: list[tuple[Rank, str]] = field(default_factory=list)
    gap_min: int = 0

    def __bool__(self) -> bool:
        """Whether any task waits in it."""
        return bool(self.coming or self.ripe)

    @property
    def any(self) -> str:
        """One task of the row, whichever."""
        return self.ripe[0][1] if self.ripe else self.coming[0][2]

    def add(self, begin: int, rank: Rank, name: str) -> None:
        """Let a task wait that may begin at a minute; the least rank of those alike comes first."""
        heappush(self.coming, (begin, rank, name))

    def least(self, gap: Gap) -> tuple[int, str]:
        """Return the start and the name of the task that comes first.

        ``gap`` returns the first start at or after a minute.
        """
        self.gap_min = gap(self.gap_min)
        while self.coming and self.coming[0][0] <= self.gap_min:
            _, rank, name = heappop(self.coming)
            heappush(self.ripe, (rank, name))
        if self.ripe:
            return self.gap_min, self.ripe[0][1]
        start = gap(self.coming[0][0])
        known = [heappop(self.coming)]
        while self.coming and self.coming[0][0] <= start:
            known.append(heappop(self.coming))
        for item in known:
            heappush(self.coming, item)
        _, name = min((rank, name) for _, rank, name in known)
        return start, name

    def take(self, name: str) -> None:
        """Take a task out that ``least`` has named."""
        if self.ripe and self.ripe[0][1] == name:
            heappop(self.ripe)
            return
        place = next(at for at, item in enumerate(self.coming) if item[2] == name)
        self.coming[place] = self.coming[-1]
        self.coming.pop()
        self.coming.sort()
