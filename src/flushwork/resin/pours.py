"""Pours: one mixed batch, the pockets it serves, and its measuring plan (the records)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from flushwork.job.records import Mix
from flushwork.shelf.items import MeasuringTool


@dataclass(frozen=True, slots=True)
class Served:
    """What one inlay takes of a pour, in cm3 of liquid: per piece, in the pocket and above it.

    ``walls_mm2`` is the bare wood that one piece's fill wets, for what soaks in; ``pockets`` into
    how many places it is filled.
    """

    subject: str
    face: str
    pocket_cm3: float
    over_cm3: float
    walls_mm2: float = 0.0
    pockets: int = 1


@dataclass(frozen=True, slots=True)
class Part:
    """One ingredient of a batch: what, how much by volume and by weight.

    ``target`` is what its tool is to show, in g or cm3, on a scale that was set to zero before it;
    a vessel is filled for it as ``fills`` say.  The reading may stop anywhere between ``low`` and
    ``high`` (of the last fill), wherever the other parts stopped.  ``spoons`` counts level spoons
    of ``spoon``.  Without a tool it is not measured.
    """

    name: str
    kind: str
    volume_cm3: float
    mass_g: float
    tool: MeasuringTool | None
    target: float
    low: float
    high: float
    spoons: float = 0.0
    spoon: MeasuringTool | None = None
    fills: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Pour:
    """One mixed batch.

    ``needed_cm3`` is the replayed liquid for all pieces; ``allowance_cm3`` what stays in its
    ``cups``, is kept back and soaks into the walls; ``batch_cm3`` what is mixed.  ``ratio_error``
    is the worst relative error of the ratio with the tools named; ``smallest_g`` the least batch
    those tools can measure within the resin's tolerance.

    ``shares_clear_with`` names the pours coloured out of one common clear batch, measured by
    ``clear_parts``; the first of ``parts`` is then this pour's share of it, of kind ``clear``, or
    of kind ``rest`` where it is coloured in the clear cup itself, once the others have theirs.

    ``pot_life_s`` counts from first contact of resin and hardener at the shop's day temperature,
    ``working_s`` is what mixing and filling take of it; ``cup_limit_g`` is the most of this mix
    that may be in one cup there.  ``first`` is the place, from 0, of the first of the ``pieces``
    it serves among all of the run, test pieces before the others.

    A batch too small by itself may come ``out_of`` the cup of another pour, by number (it has then
    no parts and no mass of its own); that one ``also_fills`` it, with ``also_cm3`` of its cup.
    """

    number: int
    stage: int
    mix: Mix
    pieces: int
    serves: tuple[Served, ...]
    needed_cm3: float
    allowance_cm3: float
    batch_cm3: float
    batch_g: float
    parts: tuple[Part, ...]
    ratio_error: float
    smallest_g: float
    surplus_g: float
    shares_clear_with: tuple[int, ...] = ()
    clear_parts: tuple[Part, ...] = ()
    pot_life_s: float = 0.0
    working_s: float = 0.0
    cup_limit_g: float = math.inf
    first: int = 0
    out_of: int = 0
    also_fills: tuple[int, ...] = ()
    also_cm3: float = 0.0
    cups: int = 1

    @property
    def clock_of(self) -> int:
        """The number of the pour at whose measuring its resin meets its hardener."""
        return self.out_of or min((self.number, *self.shares_clear_with))

    @property
    def clock_with(self) -> tuple[int, ...]:
        """The numbers of the other pours that the clock of its first contact runs for."""
        return tuple(sorted({*self.shares_clear_with, *self.also_fills}))

    @property
    def pot_life_min(self) -> int:
        """The whole minutes of its pot life: told and timed so, never more than it is."""
        return math.floor(self.pot_life_s / 60.0)


def left_in_cup_s(pour: Pour, pours: Sequence[Pour]) -> float:
    """Return how much of a cup's pot life is left when all that it fills is filled.

    Of pours coloured out of a common batch ``working_s`` is that of all of them already.
    """
    first = next(each for each in pours if each.number == pour.clock_of)
    worked_s = first.working_s + sum(
        each.working_s for each in pours if each.out_of == first.number
    )
    return first.pot_life_s - worked_s
