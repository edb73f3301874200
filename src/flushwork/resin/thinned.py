"""What thinner does to a mix: it runs more easily, sets later, and not all of it leaves again.

A thinned mix behaves as a resin of its own (``working_resin``).  Only the pot life of a cup stays
the label's: a mix that sets later is worked no longer for it, which is the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from flushwork.job.records import Mix
from flushwork.shelf.items import Resin

HALVES_PER_SHARE: Final = 0.04
"""So much thinner, as a share of the liquid by volume, halves the viscosity (a guess, from memory:
one part of acetone or alcohol in twenty takes more than half of it; range 0.03 to 0.08; a timed
drip of both replaces it)."""

LEAST_PA_S: Final = 0.001
"""No mix is thinner than its thinner: about that of alcohol and of water at 20 C (from memory)."""

ORDER: Final = 2.0
"""Cure takes longer by the share of resin left to this power.  A reaction of order n goes by the
concentration to the power n - 1, and m + n = 2.5 to 3 is published for an amine-cured epoxy
(Barral and others, J. Appl. Polym. Sci. 56(9), 1995, 1029, abstract): 1.5 to 2, of which the
slower.  That thinner does nothing else to the cure is a guess; a cured strip of both replaces it.
"""

DIFFUSES_MM2_S: Final = 1e-5
"""How fast thinner moves through resin that sets (a guess within a factor of ten either way, from
memory: 1e-11 m2/s; strips of two depths weighed as they cure replace it)."""


def viscosity_left(share: float) -> float:
    """Return the share of its viscosity that a resin keeps with a share of thinner by volume."""
    return math.exp2(-share / HALVES_PER_SHARE)


def slower(share: float) -> float:
    """Return how many times as long a resin takes to cure with a share of thinner by volume."""
    return float((1.0 - share) ** -ORDER)


def thinner_share(mix: Mix) -> float:
    """Return the thinner's share of a mix's liquid by volume, 0 without one."""
    return mix.thinner_share if mix.thinner is not None else 0.0


def working_resin(mix: Mix) -> Resin:
    """Return a mix's resin as it behaves with its thinner: its viscosity and its clocks."""
    share = thinner_share(mix)
    if share <= 0.0:
        return mix.resin
    resin, longer = mix.resin, slower(share)
    return replace(
        resin,
        viscosity_pa_s=max(LEAST_PA_S, resin.viscosity_pa_s * viscosity_left(share)),
        pot_life_s=resin.pot_life_s * longer,
        recoat_from_s=resin.recoat_from_s * longer,
        recoat_until_s=max(resin.recoat_until_s, resin.recoat_from_s * longer),
        sandable_s=resin.sandable_s * longer,
        cure_s=resin.cure_s * longer,
    )


def slowest_of_each(mixes: Iterable[Mix]) -> tuple[Resin, ...]:
    """Return each resin once, as it behaves in the mix that hardens last."""
    found: dict[str, Resin] = {}
    for resin in map(working_resin, mixes):
        before = found.get(resin.name)
        if before is None or resin.sandable_s > before.sandable_s:
            found[resin.name] = resin
    return tuple(found.values())


def dried_share(depth_mm: float, time_s: float) -> float:
    """Return the share of what a sheet held that has left it through its one open face.

    1 - sum of 8 / ((2 n + 1)^2 pi^2) exp(-(2 n + 1)^2 pi^2 D t / (4 d^2)) over n >= 0; while little
    has left, 2 sqrt(D t / pi) / d (J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, section
    4.3, from memory).
    """
    if depth_mm <= 0.0:
        return 1.0
    passed = DIFFUSES_MM2_S * time_s / depth_mm**2
    if passed < 0.1:
        return 2.0 * math.sqrt(passed / math.pi)
    terms = ((2.0 * n + 1.0) ** 2 * math.pi**2 for n in range(12))
    return 1.0 - sum(8.0 / term * math.exp(-term * passed / 4.0) for term in terms)


def leaves_share(resin: Resin, share: float, evaporates: float, depth_mm: float) -> float:
    """Return the share of a thinner that has left a fill of a depth by the time it is hard.

    ``evaporates`` is what leaves the thinnest film.  Walls and floor let nothing through, which is
    the side on which more stays.  In the cold both thinner and cure are slow, so the time is taken
    at the resin's own temperature.
    """
    return evaporates * dried_share(depth_mm, resin.sandable_s * slower(share))


def stays_share(mix: Mix, depth_mm: float) -> float:
    """Return how much of a mix's liquid is thinner that never leaves a fill of a depth."""
    if mix.thinner is None:
        return 0.0
    left = leaves_share(mix.resin, mix.thinner_share, mix.thinner.evaporates, depth_mm)
    return mix.thinner_share * (1.0 - left)
