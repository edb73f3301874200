"""Dyeing bare wood to the colour of a fill, as nearly as the wood allows.

Kubelka and Munk with one constant, in the three bands of linear sRGB light (P. Kubelka and F. Munk,
Z. tech. Phys. 12 (1931) 593; P. Kubelka, J. Opt. Soc. Am. 38 (1948) 448): the wood is an endless
layer whose scattering stays its own, and each dye adds absorption only,

    K/S of the dyed wood = K/S of the bare wood + sum of strength x K/S of the dye's own colour.

A dye can therefore only take light away: in no band does dyed wood reflect more than bare wood.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from flushwork.colour.kubelka_munk import opaque_reflectance
from flushwork.colour.spaces import (
    Triple,
    ciede2000,
    difference,
    from_linear,
    parse_hex,
    to_lab,
    to_linear,
)
from flushwork.job.records import Job, LoosePart, Mix
from flushwork.kernels.thin_layers import absorption_ratio
from flushwork.shelf.items import Pigment, PigmentKind
from flushwork.strata.palette import Palette

MOST_DYES: Final = 3
"""More dyes in one bath are seldom matched twice (common practice, no source)."""

ALIKE: Final = 0.5
"""CIEDE2000 for which a recipe of fewer dyes is taken before a nearer one of more (assumed; range
0.3 to 1, about what is just seen side by side; two dyed strips held together replace it)."""

IDLE: Final = 0.1
"""The share of a remaining difference that one dye more has to take off it, or it stays out
(assumed; range 0.05 to 0.2; as above)."""

BANDS: Final = ("red", "green", "blue")

_DARK: Final = 1e-4
_BEAM: Final = 4
_LEVELS: Final = {1: 17, 2: 9, 3: 5}
_FIRST_STEP: Final = 0.1
_LAST_STEP: Final = 0.001

Ratios = tuple[float, float, float]
Places = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DyeShare:
    """A dye and its share of the bath by weight."""

    dye: Pigment
    share: float


@dataclass(frozen=True, slots=True)
class DyeRecipe:
    """The shares of a bath, the colour (sRGB) it leaves, and how far that stays from the wanted.

    ``apart`` and ``bare_apart`` are CIEDE2000 with the bath and without it.  ``lighter_in`` names
    the bands in which the wanted colour reflects more than the bare wood, which no dye can give.
    """

    shares: tuple[DyeShare, ...]
    rgb: Triple
    apart: float
    bare_apart: float
    lighter_in: tuple[str, ...]


def dyed_colour(wood: Triple, shares: Iterable[DyeShare]) -> Triple:
    """Return the colour (sRGB) of a wood (sRGB) that has taken up a bath."""
    return _colour(_ratios(wood), ((unit_ratios(each.dye), each.share) for each in shares))


def unit_ratios(dye: Pigment) -> Ratios:
    """Return the K/S by band that a dye adds to wood, for a whole part of it in the bath.

    At the middle of its advised shares a bath is taken to add the K/S of the dye's own colour
    (assumed; range a third to three times as much, by how deep the wood drinks; strips of the
    wood dyed at three strengths replace it).
    """
    middle = (dye.share_low + dye.share_high) / 2.0
    first, second, third = (ratio / middle for ratio in _ratios(parse_hex(dye.colour)))
    return first, second, third


@lru_cache(maxsize=64)
def dye_recipe(wood: Triple, wanted: Triple, dyes: tuple[Pigment, ...]) -> DyeRecipe:
    """Return the bath of at most three of ``dyes`` that brings a wood nearest to a colour.

    Both colours are sRGB.  No share exceeds the dye's own ``share_high``.  Every dye and every pair
    is tried; the best pairs are tried with each third dye.  Shares are searched on a grid of their
    cube roots, so that faint ones are told apart, then by ever smaller steps in all directions at
    once, and kept to three figures.  The same input always gives the same bath.
    """
    bare = _ratios(wood)
    lab = to_lab(wanted)
    best: list[tuple[float, tuple[DyeShare, ...]]] = [(difference(wood, wanted), ())]
    pairs: list[tuple[float, tuple[int, ...]]] = []
    for count in range(1, min(MOST_DYES, len(dyes)) + 1):
        sets = list(itertools.combinations(range(len(dyes)), count))
        if count == MOST_DYES:
            likely = [chosen for _, chosen in sorted(pairs)[:_BEAM]]
            sets = [each for each in sets if any(set(pair) <= set(each) for pair in likely)]
        found = []
        for chosen in sets:
            bath = _best_bath(bare, lab, [dyes[at] for at in chosen])
            found.append((ciede2000(lab, to_lab(dyed_colour(wood, bath))), bath))
            if count == MOST_DYES - 1:
                pairs.append((found[-1][0], chosen))
        best.append(min(found, key=lambda each: each[0]))
    nearest = min(apart for apart, _ in best)
    apart, bath = next(each for each in best if each[0] <= nearest + max(ALIKE, IDLE * nearest))
    light, dim = to_linear(wanted), to_linear(wood)
    return DyeRecipe(
        shares=bath,
        rgb=dyed_colour(wood, bath) if bath else wood,
        apart=apart,
        bare_apart=difference(wood, wanted),
        lighter_in=tuple(
            band for band, more, less in zip(BANDS, light, dim, strict=True) if more > less
        ),
    )


def dye_recipes(job: Job, palette: Palette) -> tuple[tuple[LoosePart, Mix, DyeRecipe], ...]:
    """Return the recipe of each kind of loose part that is dyed, from the job's own shelf.

    The dyed splines of a box are a kind of them: they are dyed before they are glued in.
    """
    dyes = tuple(each for each in job.shop.pigments if each.kind is PigmentKind.DYE)
    return tuple(
        (part, mix, dye_recipe(parse_hex(part.wood.colour), palette.mixes[mix.name].rgb, dyes))
        for part in (*job.loose_parts, *dyed_splines(job))
        if (mix := part.match) is not None
    )


def dyed_splines(job: Job) -> tuple[LoosePart, ...]:
    """Return the splines of a box as loose parts, where they are dyed to match a mix."""
    splines = job.box.splines if job.box is not None else None
    if job.box is None or splines is None or splines.match is None:
        return ()
    count = 4 * len(splines.heights_mm)
    part = LoosePart(
        name="box splines",
        wood=splines.wood,
        match=splines.match,
        count=count,
        source=job.box.source,
    )
    return (part,)


def _best_bath(bare: Ratios, lab: Triple, dyes: Sequence[Pigment]) -> tuple[DyeShare, ...]:
    units = [unit_ratios(dye) for dye in dyes]
    most = [dye.share_high for dye in dyes]

    def apart(places: Places) -> float:
        shares = (high * place**3 for high, place in zip(most, places, strict=True))
        return ciede2000(lab, to_lab(_colour(bare, zip(units, shares, strict=True))))

    levels = _LEVELS[len(dyes)]
    grid = [at / (levels - 1) for at in range(levels)]
    start = min(itertools.product(grid, repeat=len(dyes)), key=apart)
    found = _refined(apart, start)
    shares = [float(f"{dye.share_high * at**3:.3g}") for dye, at in zip(dyes, found, strict=True)]
    return tuple(
        DyeShare(dye, min(share, dye.share_high))
        for dye, share in zip(dyes, shares, strict=True)
        if share > 0.0
    )


def _refined(apart: Callable[[Places], float], start: Places) -> Places:
    """Return the place a walk ends at: a step in any direction while it helps, then half of it."""
    here, least, step = start, apart(start), _FIRST_STEP
    ways = [way for way in itertools.product((-1, 0, 1), repeat=len(start)) if any(way)]
    while step > _LAST_STEP:
        near = [
            tuple(min(1.0, max(0.0, at + step * by)) for at, by in zip(here, way, strict=True))
            for way in ways
        ]
        found, place = min((apart(each), each) for each in near)
        if found < least:
            here, least = place, found
        else:
            step /= 2.0
    return here


def _colour(bare: Ratios, dyes: Iterable[tuple[Ratios, float]]) -> Triple:
    red, green, blue = bare
    for unit, share in dyes:
        red, green, blue = red + share * unit[0], green + share * unit[1], blue + share * unit[2]
    return from_linear(
        (opaque_reflectance(red), opaque_reflectance(green), opaque_reflectance(blue))
    )


def _ratios(rgb: Triple) -> Ratios:
    first, second, third = (absorption_ratio(max(_DARK, band)) for band in to_linear(rgb))
    return first, second, third
