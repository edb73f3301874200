"""Wood against the handbook.

Forest Products Laboratory, Wood Handbook, GTR-282 (2021), ch. 4, eq. 4-5 and table 4-2.  How far
woods of the shelf move is in ``test_live_paths`` and ``test_shelf_rows``.
"""

from __future__ import annotations

import pytest

from flushwork.wood.movement import equilibrium_moisture

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
