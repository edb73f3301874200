"""Parts sawn to length, one after the other, out of boards no wider than they are: cutting stock.

P. C. Gilmore and R. E. Gomory, "A linear programming approach to the cutting-stock problem",
Operations Research 9 (1961), 849-859: patterns are priced by a knapsack until none helps; the value
of the linear program bounds what any pattern can do.  Whole numbers of the patterns found are then
chosen by the packaged solver.  A kerf is the same as parts and boards longer by it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from flushwork.cutlist.parts import Placed, Plank, SawLayout, Sawn, SawPart

TENTH_MM: Final = 0.1
"""Lengths are told apart to this: no saw stop is set finer."""
MOST_ROUNDS: Final = 400
SOLVER_S: Final = 4.0
"""Deterministic seconds the solver may take; what it has not proven by then is told as a gap."""
LEFT_OUT: Final = 1000.0
"""A part left out weighs as much as so many of its own area."""
NOTHING: Final = 1e-7


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to saw a board: for each of its clear lengths how many of each part."""

    plank: int
    counts: tuple[tuple[int, ...], ...]

    def of(self, part: int) -> int:
        """Return how many of a part it gives."""
        return sum(each[part] for each in self.counts)


def clear_lengths(plank: Plank) -> tuple[tuple[float, float], ...]:
    """Return the stretches of a board, from and until, that no defect reaches into."""
    found: list[tuple[float, float]] = []
    at = 0.0
    for defect in sorted(plank.defects, key=lambda each: each.x_mm):
        begin = min(defect.x_mm, plank.along_mm)
        if begin > at:
            found.append((at, begin))
        at = max(at, defect.x_mm + defect.along_mm)
    if plank.along_mm > at:
        found.append((at, plank.along_mm))
    return tuple(found)


def saw_lengths(parts: Sequence[SawPart], planks: Sequence[Plank], kerf_mm: float) -> SawLayout:
    """Return the layout that takes the least area of boards, as near as the solver comes to it."""
    return _Lengths(tuple(parts), tuple(planks), kerf_mm).layout()


class _Lengths:
    def __init__(
        self, parts: tuple[SawPart, ...], planks: tuple[Plank, ...], kerf_mm: float
    ) -> None:
        self.parts, self.planks, self.kerf_mm = parts, planks, kerf_mm
        self.sizes = [math.ceil(_tenths(part.along_mm + kerf_mm) - 1e-6) for part in parts]
        self.clear = [
            [math.floor(_tenths(end - at + kerf_mm) + 1e-6) for at, end in clear_lengths(each)]
            for each in planks
        ]
        self.patterns: list[Pattern] = []

    def layout(self) -> SawLayout:
        """Price patterns, choose whole ones, lay them out."""
        least_mm2 = self._price()
        chosen = self._choose()
        sawn: list[Sawn] = []
        left = [part.count for part in self.parts]
        for pattern, times in chosen:
            for _ in range(times):
                board = self._sawn(pattern, left)
                if board.placed:
                    sawn.append(board)
        out = tuple(
            SawPart(part.name, part.along_mm, part.across_mm, missing, part.turns)
            for part, missing in zip(self.parts, left, strict=True)
            if missing
        )
        return SawLayout(tuple(sawn), out, 0.0 if out else least_mm2)

    def _price(self) -> float:
        """Find the patterns of the linear program; return its value, mm2 of boards."""
        from ortools.linear_solver import pywraplp  # noqa: PLC0415  (only where needed)

        solver = pywraplp.Solver.CreateSolver("GLOP")
        least = solver.Objective()
        least.SetMinimization()
        demand = [solver.Constraint(part.count, solver.infinity()) for part in self.parts]
        stock = [solver.Constraint(0.0, plank.count) for plank in self.planks]
        for row, part in zip(demand, self.parts, strict=True):
            absent = solver.NumVar(0.0, solver.infinity(), "")
            row.SetCoefficient(absent, 1.0)
            least.SetCoefficient(absent, LEFT_OUT * part.area_mm2)
        value = 0.0
        for _ in range(MOST_ROUNDS):
            solver.Solve()
            value = least.Value()
            worth = [row.dual_value() for row in demand]
            better = [
                pattern
                for at, plank in enumerate(self.planks)
                for pattern, gain in (self._best(at, worth),)
                if gain > plank.area_mm2 * (1.0 + NOTHING) - stock[at].dual_value()
            ]
            if not better:
                break
            for pattern in better:
                self.patterns.append(pattern)
                column = solver.NumVar(0.0, solver.infinity(), "")
                least.SetCoefficient(column, self.planks[pattern.plank].area_mm2)
                stock[pattern.plank].SetCoefficient(column, 1.0)
                for at, row in enumerate(demand):
                    row.SetCoefficient(column, float(pattern.of(at)))
        return self._whole(value)

    def _whole(self, value_mm2: float) -> float:
        """Round a bound up to what whole boards come to, where all are of one area."""
        areas = {plank.area_mm2 for plank in self.planks}
        if len(areas) != 1:
            return value_mm2
        area = areas.pop()
        return math.ceil(value_mm2 / area - 1e-6) * area

    def _best(self, plank: int, worth: Sequence[float]) -> tuple[Pattern, float]:
        """Return the pattern of a board that is worth most, and its worth."""
        counts: list[tuple[int, ...]] = []
        gain = 0.0
        left = [part.count for part in self.parts]
        for room in self.clear[plank]:
            own, more = _knapsack(self.sizes, worth, left, room)
            counts.append(own)
            gain += more
            left = [have - used for have, used in zip(left, own, strict=True)]
        return Pattern(plank, tuple(counts)), gain

    def _choose(self) -> list[tuple[Pattern, int]]:
        """Return how often each pattern is sawn, in whole numbers."""
        from ortools.sat.python import cp_model  # noqa: PLC0415  (only where needed)

        model: Any = cp_model.CpModel()
        unit = max(1.0, min(plank.area_mm2 for plank in self.planks) / 1e4)
        times = [
            model.NewIntVar(0, self.planks[each.plank].count, f"{at}")
            for at, each in enumerate(self.patterns)
        ]
        absent = [
            model.NewIntVar(0, part.count, f"absent {at}") for at, part in enumerate(self.parts)
        ]
        for at, part in enumerate(self.parts):
            given = sum(
                pattern.of(at) * var for pattern, var in zip(self.patterns, times, strict=True)
            )
            model.Add(given + absent[at] >= part.count)
        for at, plank in enumerate(self.planks):
            own = [v for p, v in zip(self.patterns, times, strict=True) if p.plank == at]
            model.Add(sum(own) <= plank.count)
        model.Minimize(
            sum(
                round(self.planks[pattern.plank].area_mm2 / unit) * var
                for pattern, var in zip(self.patterns, times, strict=True)
            )
            + sum(
                round(LEFT_OUT * part.area_mm2 / unit) * var
                for part, var in zip(self.parts, absent, strict=True)
            )
        )
        solver: Any = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = SOLVER_S
        solver.Solve(model)
        return [
            (pattern, solver.Value(var))
            for pattern, var in zip(self.patterns, times, strict=True)
            if solver.Value(var)
        ]

    def _sawn(self, pattern: Pattern, left: list[int]) -> Sawn:
        """Lay a pattern out, the longest parts first; what is not needed any more stays uncut."""
        plank = self.planks[pattern.plank]
        order = sorted(range(len(self.parts)), key=lambda at: -self.parts[at].along_mm)
        placed: list[Placed] = []
        for (begin, _), counts in zip(clear_lengths(plank), pattern.counts, strict=True):
            x_mm = begin
            for at in order:
                for _ in range(min(counts[at], left[at])):
                    placed.append(Placed(self.parts[at], x_mm, 0.0))
                    x_mm += self.parts[at].along_mm + self.kerf_mm
                    left[at] -= 1
        return Sawn(plank, tuple(placed))


def _tenths(length_mm: float) -> float:
    return length_mm / TENTH_MM


def _knapsack(
    sizes: Sequence[int], worth: Sequence[float], most: Sequence[int], room: int
) -> tuple[tuple[int, ...], float]:
    """Return how many of each thing are worth most in a room, and that worth (bounded, exact).

    Each thing is taken in lots of 1, 2, 4 ... so that every number up to the most can be made.
    """
    step = math.gcd(*sizes, room) if room > 0 else 1
    cells = room // step if room > 0 else 0
    best: NDArray[np.float64] = np.zeros(cells + 1)
    taken: list[tuple[int, int, NDArray[np.bool_]]] = []
    for at, (size, each) in enumerate(zip(sizes, worth, strict=True)):
        left = min(most[at], room // size) if each > NOTHING and room > 0 else 0
        lot = 1
        while left > 0:
            lot = min(lot, left)
            wide = lot * size // step
            better = np.zeros(cells + 1, dtype=np.bool_)
            with_it = best[: cells + 1 - wide] + lot * each
            better[wide:] = with_it > best[wide:] + NOTHING
            best[wide:] = np.maximum(best[wide:], with_it)
            taken.append((at, lot, better))
            left -= lot
            lot *= 2
    counts = [0] * len(sizes)
    place = cells
    for at, lot, better in reversed(taken):
        if better[place]:
            counts[at] += lot
            place -= lot * sizes[at] // step
    return tuple(counts), float(best[cells])
