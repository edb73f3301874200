"""Which bits to have in the machine for all inlays of a setup, and what each of them buys."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf
from typing import Final

from flushwork.fit.pocket_time import CutTerms, least_rest_s, rest_between, rest_s, whole_s
from flushwork.fit.reach import Reach
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Bit

LONGEST: Final = 3
"""Bits one after the other in one inlay, at most (assumed: a fourth hardly pays its change)."""

MOST: Final = 4
"""Bits put in on top of those that are asked for, at most, where many are owned."""

MANY: Final = 8
"""Up to so many owned bits every set is tried, however large."""


@dataclass(frozen=True, slots=True)
class Buy:
    """What one bit buys: the inlays it serves, and the time a setup would take without it.

    ``without_s`` is infinite where no other set of owned bits makes what is asked; ``asked``
    says that an inlay asks for this very bit.
    """

    bit: Bit
    serves: tuple[str, ...]
    without_s: float
    asked: bool


@dataclass(frozen=True, slots=True)
class BitSet:
    """The bits of one round of cutting, widest first, and about how long it takes.

    Times are of the pockets among ``subjects`` (the inlays free to choose) with a change for each
    bit.  ``single`` is the one bit that takes least time where one can make all of them
    alone, ``single_s`` that time.
    """

    subjects: tuple[str, ...]
    bits: tuple[Bit, ...]
    total_s: float
    single: Bit | None
    single_s: float
    buys: tuple[Buy, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """A pocket free to choose: what each bit reaches, and which may finish it."""

    name: str
    depth_mm: float
    reaches: tuple[Reach, ...]
    finishers: tuple[Reach, ...]


Chain = tuple[int, ...]
"""Bits by their number in the list of all, widest first."""


class _Pocket:
    """The chains of bits that make one pocket, their times bounded until they are asked for."""

    def __init__(self, choice: Choice, numbers: dict[Bit, int], terms: CutTerms) -> None:
        self.choice = choice
        self._terms = terms
        self._reach = {numbers[item.bit]: item for item in choice.reaches}
        self._exact: dict[tuple[int, int | None], float] = {}
        self._bound: dict[tuple[int, int], float] = {}
        ends = {numbers[item.bit] for item in choice.finishers}
        useful = {k for k, item in self._reach.items() if not item.centres.is_empty}
        self.chains = sorted(self._made(ends, useful), key=self.bound_s)

    def _made(self, ends: set[int], useful: set[int]) -> Iterator[Chain]:
        for end in ends:
            wider = sorted((k for k in useful if self._width(k) > self._width(end)), reverse=True)
            for count in range(LONGEST):
                for before in combinations(wider, count):
                    yield (*sorted(before, key=lambda k: -self._width(k)), end)

    def _width(self, k: int) -> float:
        return self._reach[k].bit.diameter_mm

    def bound_s(self, chain: Chain) -> float:
        """Return a time that the chain does not fall below."""
        return sum(
            self._exact[k, before] if (k, before) in self._exact else self._least(k, before)
            for before, k in zip((None, *chain), chain, strict=False)
        )

    def _least(self, k: int, before: int | None) -> float:
        if before is None:
            return self._step_s(k, None)
        if (k, before) not in self._bound:
            self._bound[k, before] = least_rest_s(
                self._reach[k], self._reach[before], self.choice.depth_mm, self._terms
            )
        return self._bound[k, before]

    def _step_s(self, k: int, before: int | None) -> float:
        item = self._reach[k]
        if (k, before) not in self._exact:
            deep = self.choice.depth_mm
            if before is None:
                took = whole_s(item, deep, self._terms)
            else:
                rest = rest_between(item, self._reach[before])
                took = rest_s(item.bit, rest, deep, self._terms)
            self._exact[k, before] = took
        return self._exact[k, before]

    def settle(self, chain: Chain) -> bool:
        """Work out the chain's time; return whether it was only bounded before."""
        steps = list(zip((None, *chain), chain, strict=False))
        new = any(step[::-1] not in self._exact for step in steps)
        if new:
            for before, k in steps:
                self._step_s(k, before)
            self.chains.sort(key=self.bound_s)
        return new

    def best(self, there: frozenset[int]) -> Chain | None:
        """Return the quickest chain of bits that are there."""
        return next((chain for chain in self.chains if there.issuperset(chain)), None)


Solution = tuple[float, frozenset[int], tuple[Chain, ...]]


def choose_set(
    choices: Sequence[Choice], asked: Sequence[Bit], terms: CutTerms
) -> tuple[BitSet, tuple[tuple[Bit, ...], ...]]:
    """Return the set of least total time, changes included, and the bits of each pocket.

    ``asked`` are in the machine anyway, for inlays that leave no choice (their own change is
    counted, since a set of others would need it too).  Every set of owned
    bits is tried; bounds are made exact only where they decide.
    """
    return _chosen(tuple(choices), tuple(asked), terms)


@memoized
def _chosen(
    choices: tuple[Choice, ...], asked: tuple[Bit, ...], terms: CutTerms
) -> tuple[BitSet, tuple[tuple[Bit, ...], ...]]:
    owned = dict.fromkeys(asked)
    owned.update(dict.fromkeys(item.bit for choice in choices for item in choice.reaches))
    every = list(owned)
    numbers = {bit: k for k, bit in enumerate(every)}
    pockets = [_Pocket(choice, numbers, terms) for choice in choices]
    standing = frozenset(numbers[bit] for bit in asked)
    free = frozenset(k for pocket in pockets for chain in pocket.chains for k in chain) - standing
    search = _Search(pockets, standing, terms.change_s)
    total, used, chains = search.quickest(sorted(free))
    singles = [
        (search.quickest([k], frozenset({k}))[0], k)
        for k in sorted(free | standing)
        if all(pocket.best(frozenset({k})) is not None for pocket in pockets)
    ]
    single_s, single = min(singles, default=(inf, -1))
    buys = tuple(
        Buy(
            bit=every[k],
            serves=tuple(
                pocket.choice.name
                for pocket, chain in zip(pockets, chains, strict=True)
                if k in chain
            ),
            without_s=search.quickest(sorted(free - {k}))[0],
            asked=k in standing,
        )
        for k in sorted(used, key=lambda k: -every[k].diameter_mm)
        if any(k in chain for chain in chains)
    )
    made = BitSet(
        subjects=tuple(choice.name for choice in choices),
        bits=tuple(buy.bit for buy in buys),
        total_s=total,
        single=every[single] if single >= 0 else None,
        single_s=single_s,
        buys=buys,
    )
    return made, tuple(tuple(every[k] for k in chain) for chain in chains)


class _Search:
    """All sets of bits against all pockets."""

    def __init__(
        self, pockets: Sequence[_Pocket], standing: frozenset[int], change_s: float
    ) -> None:
        self._pockets = pockets
        self._standing = standing
        self._change_s = change_s

    def quickest(self, free: Sequence[int], standing: frozenset[int] | None = None) -> Solution:
        """Return total time, bits used and chain of each pocket; infinite where none serves."""
        there = self._standing if standing is None else standing
        while True:
            found = min(
                (
                    self._solved(frozenset(extra) | there)
                    for count in range((len(free) if len(free) <= MANY else MOST) + 1)
                    for extra in combinations(free, count)
                ),
                key=lambda item: item[0],
            )
            settled = [
                pocket.settle(chain) for pocket, chain in zip(self._pockets, found[2], strict=False)
            ]
            if not any(settled):
                return found

    def _solved(self, there: frozenset[int]) -> Solution:
        chains: list[Chain] = []
        total = 0.0
        for pocket in self._pockets:
            chain = pocket.best(there)
            if chain is None:
                return inf, frozenset(), ()
            chains.append(chain)
            total += pocket.bound_s(chain)
        used = self._standing.union(*chains) & there
        return total + self._change_s * len(used), used, tuple(chains)
