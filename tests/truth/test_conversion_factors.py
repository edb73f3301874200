"""Conversion factors as printed.

A. Thompson and B. N. Taylor, *Guide for the Use of the International System of Units (SI)*,
NIST Special Publication 811 (2008 edition), appendix B.8: seven-figure factors; those in bold
there are exact.
"""

from __future__ import annotations

import pytest

from flushwork.core.units import Quantity, read_quantity

EXACT = [
    ("1 in", Quantity.LENGTH, 25.4),
    ("1 ft", Quantity.LENGTH, 304.8),
    ("1 lb", Quantity.MASS, 453.59237),
    ("212 degF", Quantity.TEMPERATURE, 100.0),
    ("32 degF", Quantity.TEMPERATURE, 0.0),
    ("1 day", Quantity.TIME, 86400.0),
    ("1 l", Quantity.VOLUME, 1000.0),
]
PRINTED = [
    ("1 oz", Quantity.MASS, 28.34952),
    ("1 fl oz", Quantity.VOLUME, 29.57353),
    ("1 tbsp", Quantity.VOLUME, 14.78676),
    ("1 tsp", Quantity.VOLUME, 4.928922),
    ("1 deg", Quantity.ANGLE, 0.01745329),
]


@pytest.mark.parametrize(("text", "quantity", "value"), EXACT)
def test_exact_factors(text: str, quantity: Quantity, value: float) -> None:
    assert read_quantity(text, quantity) == pytest.approx(value, rel=1e-15, abs=1e-13)


@pytest.mark.parametrize(("text", "quantity", "value"), PRINTED)
def test_seven_figure_factors(text: str, quantity: Quantity, value: float) -> None:
    assert read_quantity(text, quantity) == pytest.approx(value, rel=5e-7)
