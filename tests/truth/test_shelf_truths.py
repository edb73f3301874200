"""The shelf against published tables and arithmetic."""

from __future__ import annotations

import pytest

from flushwork.shelf import tables
from flushwork.shelf.items import Wood

SHRINKAGE_PCT = {
    "black cherry": (3.7, 7.1),
    "sugar maple": (4.8, 9.9),
    "red maple": (4.0, 8.2),
    "black walnut": (5.5, 7.8),
    "yellow birch": (7.3, 9.5),
    "paper birch": (6.3, 8.6),
    "white ash": (4.9, 7.8),
    "American beech": (5.5, 11.9),
    "basswood": (6.6, 9.3),
    "American sycamore": (5.0, 8.4),
    "yellow-poplar": (4.6, 8.2),
    "red alder": (4.4, 7.3),
    "butternut": (3.4, 6.4),
}
"""Radial and tangential shrinkage, green to oven-dry, percent: Forest Products Laboratory, *Wood
Handbook*, GTR-190 (2010), table 4-3.  Commercial red and white oak are left out (their movement
row has no single species), and mahogany (imported woods rest on other data)."""


def _wood(name: str) -> Wood:
    return next(wood for wood in tables.starter_shop().woods if wood.name == name)


@pytest.mark.parametrize("name", SHRINKAGE_PCT)
def test_movement_follows_from_shrinkage(name: str) -> None:
    """GTR-190 equation 13-3 at 10 % moisture: C = (S/3000) / (1 - S/150), to the last place."""
    wood = _wood(name)
    for shrinkage, coefficient in zip(
        SHRINKAGE_PCT[name], (wood.radial_per_pct, wood.tangential_per_pct), strict=True
    ):
        assert coefficient == pytest.approx(shrinkage / 3000 / (1 - shrinkage / 150), abs=1.1e-5)


def test_movement_of_three_boards() -> None:
    """GTR-190 equation 13-2, change = size x C x moisture change."""
    assert 150 * _wood("black cherry").tangential_per_pct * 4 == pytest.approx(1.488)
    assert 300 * _wood("sugar maple").tangential_per_pct * 5 == pytest.approx(5.295)
    assert 200 * _wood("black walnut").tangential_per_pct * 4 == pytest.approx(2.192)


def test_one_to_one_by_volume_is_100_to_83_by_weight() -> None:
    """The weights of a system measured 1:1 by volume (common practice, no source)."""
    resin = next(
        resin for resin in tables.starter_shop().resins if resin.name == "one to one epoxy"
    )
    assert not resin.by_weight
    weight = 100 * resin.density_hardener_g_cm3 / resin.density_resin_g_cm3
    assert weight == pytest.approx(83, abs=0.05)
    assert 100 / weight - 1 == pytest.approx(0.205, abs=0.001)


@pytest.mark.parametrize(
    ("name", "density_g_cm3", "flash_c"),
    [("ethanol", 0.7893, 12), ("acetone", 0.7900, -20), ("isopropanol", 0.7855, 12)],
)
def test_thinners(name: str, density_g_cm3: float, flash_c: float) -> None:
    """Handbook densities at 20 degC within 0.2 %; flash points IEC 60079-20-1 (2010)."""
    thinner = next(each for each in tables.starter_shop().thinners if each.name == name)
    assert thinner.density_g_cm3 == pytest.approx(density_g_cm3, rel=2e-3)
    assert thinner.flash_point_c == flash_c
    assert thinner.flammable
