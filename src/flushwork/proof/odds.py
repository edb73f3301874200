"""The odds that a piece comes out right, and a whole run: closed forms, sampled elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.job.records import FaceName
from flushwork.proof.case import Case
from flushwork.proof.quantities import Quantity, quantities
from flushwork.proof.spreads import Key, Spread

SAMPLES: Final = 10_000
SEED: Final = 20_260
CHUNK: Final = 2_000
HALVED: Final = 0.5
_STANDARD: Final = NormalDist()

Draws = dict[Key, NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class QuantityOdds:
    """How one quantity fares: nominal and limit, odds per piece, what rules it.

    ``closed`` says that the odds are a closed form (one place only).  ``dominant`` is the spread
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
class RunOdds:
    """The whole run as a joint figure, its quantities from the weakest, and their maps.

    ``piece`` are the odds of one piece; ``expected_good`` how many of ``pieces`` are expected to be
    good, ``all_good`` the chance that all are, test pieces not counted; ``test_good`` the chance
    that the test pieces are.
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


def place_odds(quantity: Quantity, scale: dict[Key, float] | None = None) -> NDArray[np.float64]:
    """Return the closed odds at each place, (n,); ``scale`` makes single spreads smaller."""
    variance = np.zeros(len(quantity.nominal))
    for spread in quantity.spreads:
        own = spread.sd * (scale or {}).get(spread.key, 1.0)
        variance += (quantity.coefficients[spread.key] * own) ** 2
    sd = np.sqrt(variance)
    if not quantity.both_ways:
        return _phi(_ratio(quantity.nominal - quantity.limit, sd))
    known = quantity.known if quantity.known is not None else np.zeros(len(sd))
    odds: NDArray[np.float64] = _phi(_ratio(quantity.nominal - known, sd)) - _phi(
        _ratio(-quantity.nominal - known, sd)
    )
    return np.where(quantity.nominal > 0.0, odds, 0.0)


def _ratio(margin: NDArray[np.float64], sd: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.where(sd > 0.0, margin / sd, np.where(margin > 0.0, np.inf, -np.inf))
    return np.asarray(found, float)


def _phi(value: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([_STANDARD.cdf(max(-40.0, min(40.0, float(item)))) for item in value])


def holds(quantity: Quantity, draws: Draws) -> NDArray[np.bool_]:
    """Return for each sample whether a quantity holds at all its places.

    ``draws`` are arrays of one shape by spread; the answer has that shape.
    """
    shape = next(iter(draws.values())).shape if draws else (1,)
    flat = {key: value.reshape(-1) for key, value in draws.items()}
    count = int(np.prod(shape))
    good = np.ones(count, bool)
    for begin in range(0, count, CHUNK):
        part = slice(begin, min(begin + CHUNK, count))
        stray = np.zeros((part.stop - part.start, len(quantity.nominal)))
        if quantity.known is not None and quantity.both_ways:
            stray += quantity.known
        for spread in quantity.spreads:
            stray += np.outer(flat[spread.key][part], quantity.coefficients[spread.key])
        held = (
            np.abs(stray) < quantity.nominal
            if quantity.both_ways
            else quantity.nominal + stray > quantity.limit
        )
        good[part] = held.all(axis=1)
    return good.reshape(shape)


def draw(spreads: tuple[Spread, ...], samples: int, pieces: int, seed: int = SEED) -> Draws:
    """Return normal errors by spread, (samples, pieces); what a run shares is alike for all."""
    rng = np.random.default_rng(seed)
    drawn: Draws = {}
    for spread in sorted(spreads, key=lambda item: item.key):
        if spread.shared:
            one = rng.normal(0.0, spread.sd, (samples, 1))
            drawn[spread.key] = np.broadcast_to(one, (samples, pieces)).copy()
        else:
            drawn[spread.key] = rng.normal(0.0, spread.sd, (samples, pieces))
    return drawn


def odds_of(case: Case, samples: int = SAMPLES, seed: int = SEED) -> RunOdds:
    """Return the odds of a job: per quantity and piece, and for its whole run."""
    return run_odds(
        quantities(case), case.job.pieces, case.job.test_pieces, samples=samples, seed=seed
    )


def run_odds(
    found: tuple[Quantity, ...],
    pieces: int,
    test_pieces: int,
    *,
    samples: int = SAMPLES,
    seed: int = SEED,
) -> RunOdds:
    """Return the joint odds of quantities over a run of pieces and test pieces."""
    spreads = tuple({spread.key: spread for item in found for spread in item.spreads}.values())
    draws = draw(spreads, samples, pieces + test_pieces, seed)
    good = np.ones((samples, pieces + test_pieces), bool)
    told: list[QuantityOdds] = []
    maps: list[OddsMap] = []
    for item in found:
        held = (
            holds(item, draws)
            if item.spreads
            else np.broadcast_to(np.array(place_odds(item).min() > 0.5), good.shape)
        )
        good &= held
        told.append(_told(item, float(held.mean())))
        if len(item.nominal) > 1:
            maps.append(OddsMap(item.name, item.subject, item.face, item.at_mm, place_odds(item)))
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
        maps=tuple(maps),
    )


def told_of(quantity: Quantity) -> QuantityOdds:
    """Return how a quantity of one place fares, by closed forms alone.

    At more places than one the odds are those of the weakest.
    """
    return _told(quantity, float(place_odds(quantity).min()))


def _told(quantity: Quantity, sampled: float) -> QuantityOdds:
    by_place = place_odds(quantity)
    weakest = int(np.argmin(by_place))
    closed = len(quantity.nominal) == 1
    shares = {
        spread.key: float((quantity.coefficients[spread.key][weakest] * spread.sd) ** 2)
        for spread in quantity.spreads
    }
    whole = sum(shares.values())
    ruling = max(quantity.spreads, key=lambda spread: shares[spread.key], default=None)
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
