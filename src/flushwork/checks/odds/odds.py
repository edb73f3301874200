"""The odds that a piece comes out right, and a whole run: closed forms, sampled elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.built import Build
from flushwork.checks.odds.quantities import quantities
from flushwork.checks.odds.variation import (
    BOUND_SIGMAS,
    CriticalQuantity,
    Key,
    Variation,
    of_piece,
)
from flushwork.job.records import FaceName

SAMPLES: Final = 10_000
SEED: Final = 20_260
CHUNK: Final = 2_000
HALVED: Final = 0.5
CERTAIN: Final = 1e-7
"""A place that fails more seldom than this is left out of the drawing of samples."""
NODES: Final = 24
"""Of the Gauss-Hermite sum over a margin that varies itself (M. Abramowitz and I. A. Stegun,
Handbook of Mathematical Functions, 1964, 25.4.46)."""
_STANDARD: Final = NormalDist()

Draws = dict[Key, NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class QuantityOdds:
    """How one quantity fares: nominal and limit, odds per piece, what rules it.

    ``closed`` says that the odds are a closed form (one place only).  ``dominant`` is the variation
    that makes most of the variance at the weakest place, ``share`` how much of it, ``halved`` the
    odds if it were half as large, ``tighten`` how that is done.
    """

    name: str
    subject: str
    face: FaceName
    unit: str
    nominal: float
    limit: float
    odds: float
    closed: bool
    dominant: str
    share: float
    halved: float
    tighten: str
    at_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class OddsMap:
    """Odds place by place along one subject of a face, each closed: (n, 2) and (n,)."""

    name: str
    subject: str
    face: FaceName
    at_mm: NDArray[np.float64]
    odds: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class StageOdds:
    """What a stage decides: ``spoils`` is the chance that it spoils a piece good until then.

    ``weakest`` is what fails most often of it.
    """

    stage: int
    spoils: float
    weakest: QuantityOdds


@dataclass(frozen=True, slots=True)
class Tightening:
    """What the run gains when one thing varies half as far: the odds of a piece, and of all."""

    what: str
    how: str
    piece: float
    all_good: float


@dataclass(frozen=True, slots=True)
class RunOdds:
    """The whole run as a joint figure, its quantities from the weakest, and their maps.

    ``piece`` are the odds of one piece; ``expected_good`` how many of ``pieces`` are expected to be
    good, ``all_good`` the chance that all are, test pieces not counted; ``test_good`` the chance
    that the test pieces are.  ``stages`` come in working order, ``tightenings`` the one that helps
    most first.
    """

    pieces: int
    test_pieces: int
    samples: int
    piece: float
    expected_good: float
    all_good: float
    test_good: float
    quantities: tuple[QuantityOdds, ...]
    maps: tuple[OddsMap, ...]
    stages: tuple[StageOdds, ...] = ()
    tightenings: tuple[Tightening, ...] = ()


def place_odds(
    quantity: CriticalQuantity, scale: dict[Key, float] | None = None
) -> NDArray[np.float64]:
    """Return the closed odds at each place, (n,); ``scale`` makes single variations smaller."""
    sd = _deviation(quantity, quantity.coefficients, scale or {})
    if quantity.both_ways and [variation.bounded for variation in quantity.variations] == [True]:
        return _within_triangle(quantity.nominal, BOUND_SIGMAS * sd)
    if not quantity.both_ways:
        return _phi(_ratio(quantity.nominal - quantity.limit, sd))
    narrowed = _deviation(quantity, quantity.narrowing, scale or {})
    if not narrowed.any():
        return _within(quantity, quantity.nominal, sd)
    at, weights = np.polynomial.hermite_e.hermegauss(NODES)
    odds = np.zeros(len(sd))
    for step, weight in zip(at, weights / weights.sum(), strict=True):
        odds += weight * _within(quantity, quantity.nominal + step * narrowed, sd)
    return odds


def _deviation(
    quantity: CriticalQuantity, factors: dict[Key, NDArray[np.float64]], scale: dict[Key, float]
) -> NDArray[np.float64]:
    variance = np.zeros(len(quantity.nominal))
    for variation in quantity.variations:
        if variation.key in factors:
            own = variation.sd * scale.get(variation.key, 1.0)
            variance += (factors[variation.key] * own) ** 2
    return np.sqrt(variance)


def _within(
    quantity: CriticalQuantity, margin: NDArray[np.float64], sd: NDArray[np.float64]
) -> NDArray[np.float64]:
    known = quantity.known if quantity.known is not None else np.zeros(len(sd))
    odds: NDArray[np.float64] = _phi(_ratio(margin - known, sd)) - _phi(_ratio(-margin - known, sd))
    return np.where(margin > 0.0, odds, 0.0)


def _within_triangle(margin: NDArray[np.float64], half: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return P(|e| < margin) of a triangle from -half to half: 1 - (1 - margin / half)^2."""
    beyond = np.clip(1.0 - margin / np.maximum(half, 1e-12), 0.0, 1.0)
    return np.asarray(1.0 - beyond**2, float)


def _ratio(margin: NDArray[np.float64], sd: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.where(sd > 0.0, margin / sd, np.where(margin > 0.0, np.inf, -np.inf))
    return np.asarray(found, float)


def _phi(value: NDArray[np.float64]) -> NDArray[np.float64]:
    bounded = np.clip(value, -40.0, 40.0)
    return np.fromiter(map(_STANDARD.cdf, bounded.tolist()), float, len(bounded))


def holds(quantity: CriticalQuantity, draws: Draws) -> NDArray[np.bool_]:
    """Return for each sample whether a quantity holds at all its places.

    ``draws`` are arrays of one shape by variation; the answer has that shape.  Places that hold as
    good as always are left out.
    """
    shape = next(iter(draws.values())).shape if draws else (1,)
    flat = {key: value.reshape(-1) for key, value in draws.items()}
    count = int(np.prod(shape))
    good = np.ones(count, bool)
    open_ = np.flatnonzero(place_odds(quantity) < 1.0 - CERTAIN)
    if not len(open_):
        return good.reshape(shape)
    nominal = quantity.nominal[open_]
    known = quantity.known[open_] if quantity.known is not None else np.zeros(len(open_))
    for begin in range(0, count, CHUNK):
        part = slice(begin, min(begin + CHUNK, count))
        stray = known + _strays(quantity.coefficients, flat, part, open_)
        if quantity.both_ways:
            margin = nominal + _strays(quantity.narrowing, flat, part, open_)
            held = np.abs(stray) < margin
        else:
            held = nominal + stray > quantity.limit
        good[part] = held.all(axis=1)
    return good.reshape(shape)


def _strays(
    factors: dict[Key, NDArray[np.float64]],
    flat: Draws,
    part: slice,
    places: NDArray[np.intp],
) -> NDArray[np.float64]:
    """Return the sum of what varies, (samples of the part, places)."""
    if not factors:
        return np.zeros((1, len(places)))
    drawn = np.column_stack([flat[key][part] for key in factors])
    return np.asarray(drawn @ np.stack([factor[places] for factor in factors.values()]), float)


def draw(variations: tuple[Variation, ...], samples: int, pieces: int, seed: int = SEED) -> Draws:
    """Return errors by variation, (samples, pieces); what a run shares is alike for all."""
    rng = np.random.default_rng(seed)
    drawn: Draws = {}
    for variation in sorted(variations, key=lambda item: item.key):
        size = (samples, 1 if variation.shared else pieces)
        half = BOUND_SIGMAS * variation.sd
        errors = (
            rng.triangular(-half, 0.0, half, size)
            if variation.bounded
            else rng.normal(0.0, variation.sd, size)
        )
        drawn[variation.key] = np.broadcast_to(errors, (samples, pieces)).copy()
    return drawn


def holds_each(quantity: CriticalQuantity, draws: Draws) -> NDArray[np.bool_]:
    """Return for each sample and piece whether a quantity holds, (samples, blanks x parted).

    ``draws`` are of blanks; the pieces that one is parted into follow each other.
    """
    if quantity.parted == 1:
        return holds(quantity, draws)
    found: list[NDArray[np.bool_]] = []
    shape = next(iter(draws.values())).shape
    for piece in range(quantity.parted if quantity.piece_of is not None else 1):
        own = of_piece(quantity, piece)
        found.append(np.ones(shape, bool) if own is None else holds(own, draws))
    if quantity.piece_of is None:
        found *= quantity.parted
    return np.stack(found, axis=2).reshape(shape[0], -1)


def odds_of(build: Build) -> RunOdds:
    """Return the odds of a job: per quantity and piece, and for its whole run."""
    return run_odds(quantities(build), build.job.pieces, build.job.test_pieces)


def run_odds(
    found: tuple[CriticalQuantity, ...],
    pieces: int,
    test_pieces: int,
    *,
    samples: int = SAMPLES,
    seed: int = SEED,
) -> RunOdds:
    """Return the joint odds of quantities over a run of blanks and test blanks.

    All that is told counts the pieces that these are parted into.
    """
    variations = tuple(
        {variation.key: variation for item in found for variation in item.variations}.values()
    )
    draws = draw(variations, samples, pieces + test_pieces, seed)
    parted = max((item.parted for item in found), default=1)
    pieces, test_pieces = pieces * parted, test_pieces * parted
    kept = [_held(item, draws, (samples, pieces + test_pieces)) for item in found]
    good = np.ones((samples, pieces + test_pieces), bool)
    for held in kept:
        good &= held
    told = tuple(_told(item, float(held.mean())) for item, held in zip(found, kept, strict=True))
    counted = good[:, :pieces]
    return RunOdds(
        pieces=pieces,
        test_pieces=test_pieces,
        samples=samples,
        piece=float(good.mean()),
        expected_good=float(counted.sum(axis=1).mean()),
        all_good=float(counted.all(axis=1).mean()),
        test_good=float(good[:, pieces:].all(axis=1).mean()),
        quantities=tuple(sorted(told, key=lambda item: item.odds)),
        maps=tuple(
            OddsMap(item.name, item.subject, item.face, item.at_mm, place_odds(item))
            for item in found
            if item.unit == "mm"
        ),
        stages=_by_stage(found, kept, told),
        tightenings=_tightenings(found, kept, draws, pieces),
    )


def _held(item: CriticalQuantity, draws: Draws, shape: tuple[int, int]) -> NDArray[np.bool_]:
    if item.variations:
        return holds_each(item, draws)
    return np.broadcast_to(np.array(place_odds(item).min() > 0.5), shape)


def _by_stage(
    found: Sequence[CriticalQuantity],
    kept: Sequence[NDArray[np.bool_]],
    told: Sequence[QuantityOdds],
) -> tuple[StageOdds, ...]:
    """Return what each stage decides, of the pieces that are good until then."""
    result: list[StageOdds] = []
    until = np.ones(kept[0].shape, bool) if kept else np.ones(1, bool)
    for stage in sorted({item.stage for item in found if item.stage}):
        own = [index for index, item in enumerate(found) if item.stage == stage]
        after = until.copy()
        for index in own:
            after &= kept[index]
        before = int(until.sum())
        spoils = 1.0 - int(after.sum()) / before if before else 1.0
        weakest = min((told[index] for index in own), key=lambda item: item.odds)
        result.append(StageOdds(stage, spoils, weakest))
        until = after
    return tuple(result)


def _tightenings(
    found: Sequence[CriticalQuantity], kept: Sequence[NDArray[np.bool_]], draws: Draws, pieces: int
) -> tuple[Tightening, ...]:
    """Return, for each kind of variation, the same runs drawn with it half as large."""
    unsure = [index for index, held in enumerate(kept) if not held.all()]
    kinds: dict[str, Variation] = {}
    for index in unsure:
        for variation in found[index].variations:
            kinds.setdefault(variation.key[0], variation)
    result: list[Tightening] = []
    for kind, variation in kinds.items():
        halved = {key: value * HALVED if key[0] == kind else value for key, value in draws.items()}
        good = np.ones(kept[unsure[0]].shape, bool)
        for index in unsure:
            mine = any(own.key[0] == kind for own in found[index].variations)
            good &= holds_each(found[index], halved) if mine else kept[index]
        all_good = float(good[:, :pieces].all(axis=1).mean())
        result.append(Tightening(kind, variation.tighten, float(good.mean()), all_good))
    return tuple(sorted(result, key=lambda item: -item.piece))


def told_of(quantity: CriticalQuantity) -> QuantityOdds:
    """Return how a quantity of one place fares, by closed forms alone.

    At more places than one the odds are those of the weakest.
    """
    return _told(quantity, float(place_odds(quantity).min()))


def _told(quantity: CriticalQuantity, sampled: float) -> QuantityOdds:
    by_place = place_odds(quantity)
    weakest = int(np.argmin(by_place))
    closed = len(quantity.nominal) == 1
    factors = quantity.coefficients | quantity.narrowing
    shares = {
        variation.key: float((factors[variation.key][weakest] * variation.sd) ** 2)
        for variation in quantity.variations
    }
    whole = sum(shares.values())
    ruling = max(quantity.variations, key=lambda variation: shares[variation.key], default=None)
    halved = place_odds(quantity, {ruling.key: HALVED}) if ruling is not None else by_place
    return QuantityOdds(
        name=quantity.name,
        subject=quantity.subject,
        face=quantity.face,
        unit=quantity.unit,
        nominal=float(quantity.nominal[weakest]),
        limit=quantity.limit,
        odds=float(by_place[0]) if closed else sampled,
        closed=closed,
        dominant=ruling.name if ruling is not None else "",
        share=shares[ruling.key] / whole if ruling is not None and whole > 0.0 else 0.0,
        halved=float(halved.min()),
        tighten=ruling.tighten if ruling is not None else "",
        at_mm=(float(quantity.at_mm[weakest, 0]), float(quantity.at_mm[weakest, 1])),
    )
