"""Pours: one mixed batch, the pockets it serves, and its measuring plan.

A pour deeper than the resin allows goes in by lifts, each poured within the recoat window.

What the replay says has to be poured: requests by stage and mix.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flushwork.job.records import Mix
from flushwork.shelf.items import MeasuringTool
from flushwork.strata.surfaces import Poured


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

    ``stage`` is that of its ``part`` of the job, empty where there is only one.

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
    part: str = ""

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


def levels_mm(depth_mm: float, layer_mm: float, kept: float) -> tuple[float, ...]:
    """Return the heights above the floor that a depth is poured to, layer by layer.

    The fewest layers whose liquid stays within ``layer_mm``; all take the same liquid t, and each
    is left with ``kept`` of it before the next goes in: t ((n - 1) kept + 1) = depth.
    """
    count = 1
    while depth_mm > layer_mm * ((count - 1) * kept + 1.0) + 1e-9:
        count += 1
    each = depth_mm / ((count - 1) * kept + 1.0)
    return tuple(each * (before * kept + 1.0) for before in range(count))


@dataclass(frozen=True, slots=True)
class PourRequest:
    """The liquid of one mix wanted at one stage, per piece, for a number of pieces.

    Requests of one ``session`` (fills made one after another, before any of them is cut again) may
    be gathered into one batch, or coloured out of one clear batch; by default a stage is its own
    session.  ``fill_s`` is the time one piece takes to fill.  ``first`` is the place of the first
    piece among all of the run.
    """

    stage: int
    mix: Mix
    pieces: int
    serves: tuple[Served, ...]
    session: int | None = None
    fill_s: float = 0.0
    first: int = 0

    @property
    def gathers_with(self) -> int:
        """The session this request belongs to."""
        return self.stage if self.session is None else self.session

    @property
    def needed_cm3(self) -> float:
        """The replayed liquid for all pieces."""
        return self.pieces * sum(each.pocket_cm3 + each.over_cm3 for each in self.serves)


def requests_for(
    poured: Iterable[Poured],
    mixes: Mapping[str, Mix],
    pieces: int,
    sessions: Mapping[int, int] | None = None,
    pockets: Mapping[str, int] | None = None,
    first: int = 0,
) -> tuple[PourRequest, ...]:
    """Return one request per stage and mix, in the order of the replay.

    ``sessions`` maps a stage to the session it is poured in, ``pockets`` an inlay to the number of
    pockets it is made of, ``first`` the place of the first piece among all of the run.
    """
    grouped: dict[tuple[int, str], list[Served]] = {}
    for each in poured:
        served = Served(
            subject=each.subject,
            face=each.face,
            pocket_cm3=each.pocket_mm3 / 1000.0,
            over_cm3=each.over_mm3 / 1000.0,
            walls_mm2=each.bare_mm2,
            pockets=(pockets or {}).get(each.subject, 1),
        )
        grouped.setdefault((each.stage, each.mix), []).append(served)
    return tuple(
        PourRequest(
            stage, mixes[mix], pieces, tuple(serves), (sessions or {}).get(stage), first=first
        )
        for (stage, mix), serves in grouped.items()
    )
