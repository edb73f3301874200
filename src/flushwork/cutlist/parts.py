"""What is cut out of what: parts, boards with their defects, and how the ones lie on the others.

``x`` runs along a board's grain from its left end, ``y`` across it from its near edge, in mm.
Every board is cut by cuts that run from edge to edge of what is left, as a saw with a fence does.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SawPart:
    """Parts of one size, along and across the grain; with ``turns`` it may run either way.

    Sizes are those that are sawn, what is planed off later included.
    """

    name: str
    along_mm: float
    across_mm: float
    count: int = 1
    turns: bool = False

    @property
    def area_mm2(self) -> float:
        """Of one."""
        return self.along_mm * self.across_mm


@dataclass(frozen=True, slots=True)
class Defect:
    """A rectangle of a board that no part may hold."""

    x_mm: float
    y_mm: float
    along_mm: float
    across_mm: float

    def meets(self, x_mm: float, y_mm: float, along_mm: float, across_mm: float) -> bool:
        """Whether a rectangle lies on it; edges that touch do not."""
        return (
            x_mm < self.x_mm + self.along_mm
            and self.x_mm < x_mm + along_mm
            and y_mm < self.y_mm + self.across_mm
            and self.y_mm < y_mm + across_mm
        )


@dataclass(frozen=True, slots=True)
class Plank:
    """Boards of one size, alike in their defects."""

    name: str
    along_mm: float
    across_mm: float
    count: int = 1
    defects: tuple[Defect, ...] = ()

    @property
    def area_mm2(self) -> float:
        """Of one, its defects included."""
        return self.along_mm * self.across_mm


@dataclass(frozen=True, slots=True)
class Placed:
    """One part on a board; ``turned`` with its length across the grain."""

    part: SawPart
    x_mm: float
    y_mm: float
    turned: bool = False

    @property
    def along_mm(self) -> float:
        """Its size along the board."""
        return self.part.across_mm if self.turned else self.part.along_mm

    @property
    def across_mm(self) -> float:
        """Its size across the board."""
        return self.part.along_mm if self.turned else self.part.across_mm


@dataclass(frozen=True, slots=True)
class Sawn:
    """One board with the parts that are sawn out of it."""

    plank: Plank
    placed: tuple[Placed, ...]


@dataclass(frozen=True, slots=True)
class SawLayout:
    """All boards that are sawn, the parts that found no place, and how good that is.

    ``least_mm2`` is an area of boards that no other layout of the same parts can do with less than
    (0 where parts are left out).
    """

    sawn: tuple[Sawn, ...]
    left_out: tuple[SawPart, ...]
    least_mm2: float

    @property
    def used_mm2(self) -> float:
        """The area of the boards that are sawn."""
        return sum(each.plank.area_mm2 for each in self.sawn)

    @property
    def waste(self) -> float:
        """The share of it that ends in no part."""
        held = sum(placed.part.area_mm2 for each in self.sawn for placed in each.placed)
        return 1.0 - held / self.used_mm2 if self.sawn else 0.0

    @property
    def gap(self) -> float:
        """By which share at most less wood might do."""
        if not self.sawn or self.left_out:
            return 0.0
        return max(0.0, 1.0 - self.least_mm2 / self.used_mm2)

    @property
    def best(self) -> bool:
        """Whether it is proven that no less wood will do."""
        return not self.left_out and self.gap < 1e-6
