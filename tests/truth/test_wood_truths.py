"""Wood against the handbook.

Forest Products Laboratory, Wood Handbook, GTR-282 (2021), ch. 4, eq. 4-5 and table 4-2; GTR-190
(2010), eq. 13-2 (p. 13-16), worked example (p. 13-18), tables 4-3 and 13-5.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from flushwork.wood.gravity import (
    density_g_cm3,
    gravity_at,
    shrinkage_at,
    total_shrinkage,
)
from flushwork.wood.moisture import equilibrium_moisture, humidity_for
from flushwork.wood.movement import coefficient_from_shrinkage, movement_mm
from flushwork.wood.panel import clearance

TABLE = Path(__file__).parent / "data" / "wood_movement.csv"
PRINTED = [
    (21.1, 5, 1.3),
    (21.1, 30, 6.2),
    (21.1, 40, 7.7),
    (21.1, 50, 9.2),
    (21.1, 75, 14.4),
    (21.1, 85, 17.9),
    (21.1, 95, 23.9),
    (-1.1, 75, 14.9),
    (-1.1, 95, 24.3),
    (37.8, 50, 8.7),
    (37.8, 90, 19.5),
]
PRINTED_OTHERWISE = {"Ash, green", "Birch, sweet"}
"""Table 13-5 prints these with the coefficients of white ash and yellow birch."""


def rows() -> list[dict[str, str]]:
    lines = [line for line in TABLE.read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize(("at_c", "humidity", "printed"), PRINTED)
def test_moisture_as_printed(at_c: float, humidity: float, printed: float) -> None:
    assert 100.0 * equilibrium_moisture(at_c, humidity / 100.0) == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize(
    ("at_c", "humidity", "exact"),
    [(20.0, 0.65, 11.996), (20.0, 0.50, 9.271), (25.0, 0.50, 9.132), (21.1, 0.65, 11.958)],
)
def test_moisture_as_computed(at_c: float, humidity: float, exact: float) -> None:
    assert 100.0 * equilibrium_moisture(at_c, humidity) == pytest.approx(exact, abs=5e-4)


def fahrenheit_form(at_f: float, humidity: float) -> float:
    """Return eq. 4-5 with the handbook's other column of constants, in percent."""
    w = 330.0 + 0.452 * at_f + 0.00415 * at_f**2
    k = 0.791 + 0.000463 * at_f - 0.000000844 * at_f**2
    k1 = 6.34 + 0.000775 * at_f - 0.0000935 * at_f**2
    k2 = 1.09 + 0.0284 * at_f - 0.0000904 * at_f**2
    wet = k * humidity
    held = k1 * wet + 2.0 * k1 * k2 * wet**2
    return 1800.0 / w * (wet / (1.0 - wet) + held / (1.0 + k1 * wet + k1 * k2 * wet**2))


@pytest.mark.parametrize("at_f", [30.0, 50.0, 70.0, 90.0, 130.0])
@pytest.mark.parametrize("percent", [5, 35, 65, 95])
def test_both_columns_of_constants_agree(at_f: float, percent: int) -> None:
    celsius = 100.0 * equilibrium_moisture((at_f - 32.0) / 1.8, percent / 100.0)
    assert celsius == pytest.approx(fahrenheit_form(at_f, percent / 100.0), abs=0.02)


def test_humidity_is_the_way_back() -> None:
    assert humidity_for(20.0, equilibrium_moisture(20.0, 0.42)) == pytest.approx(0.42)


@pytest.mark.parametrize(
    ("size_mm", "per_pct", "change_pct", "moved_mm"),
    [
        (150.0, 0.00248, 4.0, 1.488),  # black cherry, flat-sawn
        (300.0, 0.00353, 5.0, 5.295),  # sugar maple, flat-sawn
        (200.0, 0.00274, -4.0, -2.192),  # black walnut, flat-sawn
        (220.0, 0.00274, 1.0, 0.603),  # black walnut board, one damp week
    ],
)
def test_movement(size_mm: float, per_pct: float, change_pct: float, moved_mm: float) -> None:
    found = movement_mm(size_mm, per_pct, 0.08, 0.08 + change_pct / 100.0)
    assert found == pytest.approx(moved_mm, abs=5e-4)


def test_the_handbooks_worked_example() -> None:
    # white fir, 8 to 11 %: 232 mm becomes 233.7 mm
    assert 232.0 + movement_mm(232.0, 0.00245, 0.08, 0.11) == pytest.approx(233.7, abs=0.05)


def test_a_growth_split_at_the_middle_is_half_at_each_edge() -> None:
    whole = movement_mm(220.0, 0.00274, 0.08, 0.09)
    assert movement_mm(110.0, 0.00274, 0.08, 0.09) == pytest.approx(whole / 2.0)
    assert whole == pytest.approx(0.60, abs=0.005)


@pytest.mark.parametrize("row", rows(), ids=lambda row: str(row["species"]))
def test_coefficients_follow_from_total_shrinkage(row: dict[str, str]) -> None:
    radial = coefficient_from_shrinkage(float(row["s_r_pct"]) / 100.0)
    tangential = coefficient_from_shrinkage(float(row["s_t_pct"]) / 100.0)
    agree = radial == pytest.approx(float(row["c_r"]), abs=1.5e-5) and tangential == pytest.approx(
        float(row["c_t"]), abs=1.5e-5
    )
    assert agree is (row["species"] not in PRINTED_OTHERWISE)


def test_weight_at_a_moisture() -> None:
    # eq. 4-14 as printed in table 4-6a, eq. 4-12, and eq. 4-13 against table 5-3a for white ash
    assert density_g_cm3(0.60, 0.12) == pytest.approx(0.672)
    assert density_g_cm3(0.40, 1.00) == pytest.approx(0.800)
    assert total_shrinkage(0.50) == pytest.approx(0.1325)
    assert gravity_at(0.55, 0.12) == pytest.approx(0.60, abs=0.005)
    assert gravity_at(0.55, 0.12) == pytest.approx(0.6027, abs=5e-5)
    assert shrinkage_at(0.12, 0.30) == pytest.approx(0.0)
    assert shrinkage_at(0.12, 0.0) == pytest.approx(0.12)


def test_a_floating_panel() -> None:
    room = clearance(150.0, 0.00248, 0.08, 0.06, 0.12)
    assert room.grows_mm == pytest.approx(1.488)
    assert room.side_mm == pytest.approx(0.744)
    assert room.shrinks_mm == pytest.approx(0.744)
    assert room.hold_mm == pytest.approx(0.372)
