"""How deep a scraped line sinks below its edges, and how much of it stays bright when sanded.

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
