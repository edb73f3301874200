"""How deep a scraped line sinks below its edges; and backwards, how deep to cut one that shines.

The liquid is scraped flush, then the thinner leaves and the resin shrinks.  Where the edge lets go
the surface drops flat by the mean recess m; where it stays pinned to both edges the same volume
hangs as a parabola, 1.5 m (1 - (2 x / w)^2).  Flakes lie flat only near that free surface, so what
sanding reaches goes dull.  (The program's own model; the scraped-slot test strip measures m and the
pinning share.)

The length over which a free surface bends at a wall.

P.-G. de Gennes, F. Brochard-Wyart and D. Quere, Capillarity and Wetting Phenomena (2004), ch. 2
(from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from statistics import NormalDist
from typing import Final

from flushwork.job.records import Mix
from flushwork.resin.bleed import TENSION_N_M
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.thinned import leaves_share
from flushwork.strata.steps import Recess

GRAVITY_M_S2: Final = 9.80665
"""Standard gravity, CGPM 1901."""


def capillary_length_mm(tension_n_m: float, density_kg_m3: float) -> float:
    """Return sqrt(gamma / (rho g))."""
    return 1000.0 * math.sqrt(tension_n_m / (density_kg_m3 * GRAVITY_M_S2))


PINNING = 1.0
"""Share by which the surface stays pinned to the edges, where a mix names none (assumed; range 0 to
1; the scraped-slot test strip replaces it).  Pinned is the careful end: it leaves less of the width
bright."""

BARE_WALL_UPTAKE_MM = 0.02
"""Liquid that a bare wooden wall drinks, in mm3 per mm2 (assumed; range 0 to 0.1; the scraped
slot test strip replaces it).  A sealed wall takes none, nor does one cut into cured resin."""


def keeps(thinner_share: float, evaporates: float, shrinkage: float) -> float:
    """Return the share of a liquid's volume left once cured.

    ``thinner_share`` f of the liquid by volume, of which a share ``evaporates`` e leaves; the rest
    of the liquid shrinks by ``shrinkage`` s of its volume: (1 - f)(1 - s) + f (1 - e).
    """
    return (1.0 - thinner_share) * (1.0 - shrinkage) + thinner_share * (1.0 - evaporates)


def keeps_share(mix: Mix, depth_mm: float) -> float:
    """Return the share of a mix's poured thickness left once cured, poured so deep.

    See ``keeps``; the deeper it is, the less of its thinner leaves.
    """
    if mix.thinner is None:
        return keeps(0.0, 0.0, mix.resin.shrinkage)
    share = mix.thinner_share
    leaves = leaves_share(mix.resin, share, mix.thinner.evaporates, depth_mm)
    return keeps(share, leaves, mix.resin.shrinkage)


def recess_of(mix: Mix) -> Recess:
    """Return how a mix sinks in the replay once scraped flush."""
    density_kg_m3 = 1000.0 * mix_density_g_cm3(mix)
    capillary_mm = capillary_length_mm(TENSION_N_M, density_kg_m3)
    return Recess(mix.pinning, capillary_mm, BARE_WALL_UPTAKE_MM)


def mean_recess_mm(
    width_mm: float, depth_mm: float, kept: float, uptake_mm: float = 0.0, proud_mm: float = 0.0
) -> float:
    """Return the mean recess below the edges; negative where the cured resin stands proud.

    The slot is filled to ``proud_mm`` above its edges (0: scraped flush); ``kept`` is the share
    left of the liquid, ``uptake_mm`` what each mm2 of bare wall and floor drinks.
    """
    poured = width_mm * (depth_mm + proud_mm)
    left = poured * kept - uptake_mm * (width_mm + 2.0 * depth_mm)
    return depth_mm - left / width_mm


def recess_at_mm(mean_mm: float, across: float, pinning: float) -> float:
    """Return the recess at ``across`` = 2 x / w, from 0 in the middle to 1 at either edge."""
    return mean_mm * ((1.0 - pinning) + 1.5 * pinning * (1.0 - across * across))


def bright_share(mean_mm: float, sanding_mm: float, pinning: float) -> float:
    """Return the share of the width that sanding by ``sanding_mm`` does not reach.

    Pinned: sqrt(1 - t / (1.5 m)); let go: all or nothing.
    """
    if mean_mm <= 0.0:
        return 0.0
    if recess_at_mm(mean_mm, 1.0, pinning) > sanding_mm:
        return 1.0
    if pinning <= 0.0:
        return 0.0
    inner = 1.0 - (sanding_mm / mean_mm - (1.0 - pinning)) / (1.5 * pinning)
    return math.sqrt(inner) if inner > 0.0 else 0.0


def most_sanding_mm(mean_mm: float, share: float, pinning: float) -> float:
    """Return the deepest sanding that still leaves ``share`` of the width bright."""
    return max(0.0, recess_at_mm(mean_mm, share, pinning))


# ---- The recess backwards: how deep, how thin, so that a line stays bright with the odds wanted
#
# Sanding is taken as normal about its mean. The line is bright enough while the sanding stays below
# ``most_sanding_mm``, so the odds are the normal share below it.


THINNER_TRIED: Sequence[float] = (0.0, 0.05, 0.10, 0.15, 0.20, 0.25)
"""Thinner shares proposed; more than a quarter is not (assumed; range 0.1 to 0.3; a cured strip of
each replaces it)."""


@dataclass(frozen=True, slots=True)
class Sanding:
    """What sanding takes off: its mean and standard deviation, mm."""

    mean_mm: float
    variation_mm: float


@dataclass(frozen=True, slots=True)
class LineProposal:
    """One way to keep a line bright: scraped to ``depth_mm`` with a share of thinner.

    ``odds`` is the chance that at least the wanted share stays bright; ``cap_mm`` the clear that
    then lies over the middle of the line after mean sanding, if it is capped.
    """

    depth_mm: float
    thinner_share: float
    odds: float
    cap_mm: float


def odds_bright(mean_mm: float, wanted: float, sanding: Sanding, pinning: float) -> float:
    """Return the chance that at least ``wanted`` of the width stays bright."""
    limit = most_sanding_mm(mean_mm, wanted, pinning)
    if limit <= 0.0:
        return 0.0
    if sanding.variation_mm <= 0.0:
        return 1.0 if sanding.mean_mm < limit else 0.0
    return NormalDist(sanding.mean_mm, sanding.variation_mm).cdf(limit)


def recess_wanted_mm(wanted: float, confidence: float, sanding: Sanding, pinning: float) -> float:
    """Return the mean recess that keeps ``wanted`` of the width bright with a confidence.

    Infinite where a pinned surface can never be bright out to there (``wanted`` 1 fully pinned).
    """
    per_mean = recess_at_mm(1.0, wanted, pinning)
    reach = sanding.mean_mm
    if sanding.variation_mm > 0.0:
        reach = NormalDist(sanding.mean_mm, sanding.variation_mm).inv_cdf(confidence)
    return max(0.0, reach) / per_mean if per_mean > 0.0 else math.inf


Kept = Callable[[float, float], float]
"""The share of a liquid's volume left once cured, by its share of thinner and its depth in mm."""


def depth_for_recess_mm(
    recess_mm: float,
    width_mm: float,
    kept: Callable[[float], float],
    deepest_mm: float,
    uptake_mm: float = 0.0,
) -> float:
    """Return the least slot depth whose scraped fill sinks by a mean recess.

    m = d (1 - kept(d)) + a (w + 2 d) / w rises with d; solved by halving.  Infinite where even
    ``deepest_mm`` does not sink so far.
    """

    def sinks(depth_mm: float) -> bool:
        return mean_recess_mm(width_mm, depth_mm, kept(depth_mm), uptake_mm) >= recess_mm

    if not math.isfinite(recess_mm) or not sinks(deepest_mm):
        return math.inf
    low, high = 0.0, deepest_mm
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (low, middle) if sinks(middle) else (middle, high)
    return high


def propose(
    width_mm: float,
    wanted: float,
    confidence: float,
    sanding: Sanding,
    *,
    kept: Kept,
    deepest_mm: float,
    pinning: float,
    uptake_mm: float = 0.0,
) -> tuple[LineProposal, ...]:
    """Return the ways to keep a scraped line bright, least thinner first.

    One for each thinner share whose depth the bit can reach (``deepest_mm``) and whose resin
    still fills half of it; empty where there is none.
    """
    recess = recess_wanted_mm(wanted, confidence, sanding, pinning)
    found: list[LineProposal] = []
    for share in THINNER_TRIED:
        exact = depth_for_recess_mm(recess, width_mm, partial(kept, share), deepest_mm, uptake_mm)
        # recesses are cut in hundredths, rounded up so that the odds hold
        depth = math.ceil(exact * 100.0 - 1e-6) / 100.0 if math.isfinite(exact) else math.inf
        if not 2.0 * recess <= depth <= deepest_mm:
            continue
        mean = mean_recess_mm(width_mm, depth, kept(share, depth), uptake_mm)
        found.append(
            LineProposal(
                depth,
                share,
                odds_bright(mean, wanted, sanding, pinning),
                cap_left_mm(mean, sanding.mean_mm, pinning),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class SandLess:
    """The least change of the sanding with which a line at its deepest stays bright.

    ``mean_mm`` is the most that may be sanded with the variation as it is (0 where none may);
    ``variation_mm`` the widest variation with the mean as it is (0 where none helps); ``share`` the
    share of the width that stays bright with the odds wanted if nothing of that is changed.
    """

    depth_mm: float
    thinner_share: float
    mean_mm: float
    variation_mm: float
    share: float


def sand_less(
    width_mm: float,
    deepest_mm: float,
    wanted: float,
    confidence: float,
    sanding: Sanding,
    *,
    kept: Kept,
    pinning: float,
    uptake_mm: float = 0.0,
) -> SandLess:
    """Return what of the sanding would have to change for a line cut as deep as it may be.

    With the most thinner of ``THINNER_TRIED`` whose resin still fills half of the slot.
    """
    depth_mm = math.floor(deepest_mm * 10.0 + 1e-6) / 10.0
    sinks = [
        (mean_recess_mm(width_mm, depth_mm, kept(share, depth_mm), uptake_mm), share)
        for share in THINNER_TRIED
    ]
    mean, share = max((one for one in sinks if one[0] <= depth_mm / 2.0), default=(0.0, 0.0))
    limit = most_sanding_mm(mean, wanted, pinning)
    steps = NormalDist().inv_cdf(confidence)
    reach = sanding.mean_mm + steps * sanding.variation_mm
    return SandLess(
        depth_mm=depth_mm,
        thinner_share=share,
        mean_mm=max(0.0, limit - steps * sanding.variation_mm),
        variation_mm=max(0.0, (limit - sanding.mean_mm) / steps) if steps > 0.0 else 0.0,
        share=bright_share(mean, reach, pinning),
    )


def cap_left_mm(mean_recess: float, sanding_mm: float, pinning: float) -> float:
    """Return the clear over the middle of a capped line once its cap is sanded flush.

    The cap fills the recess to the edges and is sanded with them; negative means that sanding
    reaches the flakes.
    """
    return recess_at_mm(mean_recess, 0.0, pinning) - sanding_mm


def touch_up_g(
    length_mm: float, width_mm: float, depth_mm: float, odds: float, density_g_cm3: float
) -> float:
    """Return the batch that refills the share of a line expected to miss, cut out again."""
    return (1.0 - odds) * length_mm * width_mm * depth_mm / 1000.0 * density_g_cm3
