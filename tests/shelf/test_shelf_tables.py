"""The packaged tables: complete, plausible, each row with its source."""

from __future__ import annotations

import math
import re

import pytest

from flushwork.shelf import tables
from flushwork.shelf.items import BitKind
from flushwork.shelf.tables import starter_shop

TABLES = [
    "bits",
    "finishes",
    "holdings",
    "machine",
    "pigments",
    "resins",
    "sealers",
    "thinners",
    "woods",
    "tools",
]
KNOWN_SOURCE = re.compile(
    r"common practice|assumed|from memory|GTR-|IEC |SP 811|as sold", re.IGNORECASE
)


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_a_name_of_its_own_and_a_source(table: str) -> None:
    found = tables.rows(table)
    assert len({row["name"] for row in found}) == len(found) > 0
    for row in found:
        assert KNOWN_SOURCE.search(row["source"]), row["name"]


@pytest.mark.parametrize("table", TABLES)
def test_every_assumption_says_what_replaces_it(table: str) -> None:
    for row in tables.rows(table):
        if "colour" in row:
            assert "swatch" in row["source"]
            assert re.fullmatch(r"#[0-9a-f]{6}", row["colour"])


def test_the_starter_shop_covers_the_work() -> None:
    shop = starter_shop()
    diameters = {c.diameter_mm for c in shop.bits if c.kind is BitKind.FLAT}
    assert {0.79375, 1.0, 1.5875, 3.175, 6.35} <= diameters
    angles = {round(c.angle_rad * 57.29578) for c in shop.bits if c.kind is BitKind.V_BIT}
    assert angles == {30, 60, 90}
    assert {c.kind for c in shop.bits} == set(BitKind)
    assert len({c.number for c in shop.bits}) == len(shop.bits)
    for bit in shop.bits:
        assert 0 < bit.chip_mm < bit.diameter_mm / 10
        assert bit.pass_mm <= bit.diameter_mm
        assert bit.flute_mm <= bit.reach_mm
        assert bit.tip_mm < bit.diameter_mm


def test_a_v_bit_has_flutes_as_long_as_its_cone() -> None:
    for bit in starter_shop().bits:
        if bit.kind is BitKind.V_BIT:
            cone_mm = (bit.diameter_mm - bit.tip_mm) / 2 / math.tan(bit.angle_rad / 2)
            assert bit.flute_mm == pytest.approx(cone_mm, abs=0.15)


def test_resin_clocks_run_in_order() -> None:
    for resin in starter_shop().resins:
        assert 0 < resin.pot_life_s < resin.recoat_from_s < resin.recoat_until_s
        assert resin.recoat_from_s < resin.sandable_s < resin.cure_s
        assert resin.floor_c < resin.at_c
        assert 0.01 <= resin.shrinkage <= 0.0755


def test_pigments_lie_flat_and_hide() -> None:
    for pigment in starter_shop().pigments:
        assert 0 < pigment.share_low < pigment.share_high <= 0.06
        assert pigment.bulk_g_cm3 <= pigment.density_g_cm3
        assert pigment.hides_mm > 0
        assert pigment.mobile == (pigment.kind.value == "dye")
