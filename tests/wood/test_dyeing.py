"""Dyed wood: Kubelka and Munk's one constant in closed form, and what a search must find.

P. Kubelka and F. Munk, Z. tech. Phys. 12 (1931) 593: absorption adds, K/S = (1 - R)^2 / (2 R).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.colour.spaces import Triple, difference, parse_hex, to_linear
from flushwork.shelf.items import Pigment, PigmentKind
from flushwork.shelf.tables import starter_shop
from flushwork.wood.dyeing import DyeShare, dye_recipe, dyed_colour

MAPLE = parse_hex("#dcc096")
DYES = tuple(each for each in starter_shop().pigments if each.kind is PigmentKind.DYE)
BY_NAME = {each.name: each for each in DYES}
GREY = replace(BY_NAME["black dye"], name="grey dye", colour="#808080", share_low=0.0,
               share_high=0.02)  # fmt: skip


def ratios(rgb: Triple) -> list[float]:
    return [(1.0 - band) ** 2 / (2.0 * band) for band in to_linear(rgb)]


def bath(**shares: float) -> tuple[DyeShare, ...]:
    return tuple(DyeShare(BY_NAME[f"{name} dye"], share) for name, share in shares.items())


def test_a_bath_without_dye_leaves_the_wood() -> None:
    assert dyed_colour(MAPLE, ()) == pytest.approx(MAPLE, abs=1e-12)
    assert dyed_colour(MAPLE, bath(red=0.0)) == pytest.approx(MAPLE, abs=1e-12)


@pytest.mark.parametrize("share", [0.001, 0.01, 0.02])
def test_absorption_of_a_dye_adds_by_its_share(share: float) -> None:
    # the middle of its advised shares is 0.01, where it adds the K/S of its own colour once
    dyed = dyed_colour(MAPLE, (DyeShare(GREY, share),))
    once = ratios(parse_hex("#808080"))
    wanted = [wood + share / 0.01 * dye for wood, dye in zip(ratios(MAPLE), once, strict=True)]
    assert ratios(dyed) == pytest.approx(wanted, rel=1e-9)


def test_two_dyes_add_as_they_would_one_after_the_other() -> None:
    after = dyed_colour(dyed_colour(MAPLE, bath(red=0.002)), bath(blue=0.004))
    assert dyed_colour(MAPLE, bath(blue=0.004, red=0.002)) == pytest.approx(after, abs=1e-9)


REACHABLE = [
    bath(blue=0.006),
    bath(amber=0.012, red=0.0008),
    bath(blue=0.003, green=0.005, black=0.0002),
    bath(amber=0.004),
]


@pytest.mark.parametrize("shares", REACHABLE)
def test_a_colour_that_a_bath_gives_is_found(shares: tuple[DyeShare, ...]) -> None:
    wanted = dyed_colour(MAPLE, shares)
    recipe = dye_recipe(MAPLE, wanted, DYES)
    assert recipe.apart < 1.0
    assert recipe.apart == pytest.approx(difference(recipe.rgb, wanted), abs=1e-9)
    assert recipe.rgb == pytest.approx(dyed_colour(MAPLE, recipe.shares), abs=1e-12)
    assert recipe.bare_apart > 5.0
    assert len(recipe.shares) <= len(shares)
    assert not recipe.lighter_in


def test_a_lighter_colour_leaves_its_difference_and_says_so() -> None:
    recipe = dye_recipe(MAPLE, parse_hex("#f3ead6"), DYES)
    assert recipe.lighter_in == ("red", "green", "blue")
    assert recipe.shares == ()
    assert recipe.apart == recipe.bare_apart > 5.0


def test_a_colour_lighter_in_one_band_is_told_of_that_band() -> None:
    recipe = dye_recipe(MAPLE, parse_hex("#f9bf60"), DYES)
    assert recipe.lighter_in == ("red",)
    assert 1.0 < recipe.apart < recipe.bare_apart


def test_without_dyes_the_wood_stays_bare() -> None:
    recipe = dye_recipe(MAPLE, parse_hex("#152a52"), ())
    assert recipe.shares == ()
    assert recipe.rgb == MAPLE
    assert recipe.apart == recipe.bare_apart


def strong(share_high: float) -> tuple[Pigment, ...]:
    return (replace(BY_NAME["blue dye"], share_low=0.0085, share_high=share_high),)


def test_no_share_passes_the_greatest() -> None:
    recipe = dye_recipe(MAPLE, parse_hex("#000010"), strong(0.009))
    assert [each.share for each in recipe.shares] == [0.009]


COLOURS = st.tuples(*[st.integers(0, 255)] * 3).map(lambda rgb: "#" + bytes(rgb).hex())


@given(wood=COLOURS, wanted=COLOURS)
@settings(max_examples=8, deadline=None)
def test_dye_never_lightens_and_never_leaves_it_worse(wood: str, wanted: str) -> None:
    species, target = parse_hex(wood), parse_hex(wanted)
    recipe = dye_recipe(species, target, DYES[:3])
    assert recipe.apart <= recipe.bare_apart
    assert len({each.dye.name for each in recipe.shares}) == len(recipe.shares) <= 3
    assert all(0.0 < each.share <= each.dye.share_high for each in recipe.shares)
    # two thousandths: bands darker than the model tells apart count as its least
    for dyed, bare in zip(recipe.rgb, species, strict=True):
        assert dyed <= bare + 0.002


def test_the_same_question_has_the_same_answer() -> None:
    first = dye_recipe(MAPLE, parse_hex("#4ea6ac"), DYES)
    dye_recipe.cache_clear()
    assert dye_recipe(MAPLE, parse_hex("#4ea6ac"), DYES) == first
