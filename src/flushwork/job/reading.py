"""What is at hand while names are resolved: the tree, the shop, the slips found so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from flushwork.errors import JobRefusedError
from flushwork.findings import Finding, Severity, Source
from flushwork.job.leaves import near
from flushwork.job.located import Path_, Tree
from flushwork.shelf.items import Timber


class Named(Protocol):
    """Anything with a name."""

    @property
    def name(self) -> str:
        """The name it goes by."""
        ...


N = TypeVar("N", bound=Named)


def called(items: Sequence[N], name: str | None) -> N | None:
    """Return the item of that name, of a timber also by another name; None where there is none."""
    for item in items:
        if item.name == name:
            return item
    for item in items:
        if isinstance(item, Timber) and name in item.other_names:
            return item
    return None


@dataclass(frozen=True, slots=True)
class Reading:
    """The file being read, and the list its slips are added to."""

    tree: Tree
    findings: list[Finding] = field(default_factory=list)

    def slip(self, code: str, message: str, remedy: str, path: Path_) -> None:
        """Add a slip at a key."""
        self.findings.append(
            Finding(
                code=code,
                severity=Severity.STOP,
                message=message,
                remedy=remedy,
                source=self.source(path),
            )
        )

    def source(self, path: Path_) -> Source:
        """Return the place of a key."""
        return self.tree.source(path)

    def find(self, items: Sequence[N], name: str, what: str, path: Path_) -> N:
        """Return the item of that name; where there is none, note the slip and return the first.

        A timber goes by its other names as well.  The first only stands in so that the rest of the
        file can be read for more slips.  Raises JobRefusedError, with every slip so far, where
        there is no item at all.
        """
        found = called(items, name)
        if found is not None:
            return found
        known = tuple(item.name for item in items)
        self.slip(
            "name-unknown",
            f"there is no {what} called '{name}'",
            f"{near(name, known)}known here: {', '.join(known[:40])}"
            if known
            else f"take this line out, or put a {what} into the shop file",
            path,
        )
        if not items:
            raise JobRefusedError(self.findings)
        return items[0]
