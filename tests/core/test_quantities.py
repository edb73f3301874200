"""Quantities in words, read and written back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.units import (
    Quantity,
    Ratio,
    UnitError,
    names_of,
    number_text,
    quantity_text,
    ratio_text,
    read_clock,
    read_number,
    read_quantity,
    read_ratio,
    read_size,
)


@pytest.mark.parametrize(
    ("text", "value_mm"),
    [
        ("10 mm", 10.0),
        ("1/32 in", 0.79375),
        ("1 1/4 in", 31.75),
        ("1-1/4 in", 31.75),
        ("1\u00bc in", 31.75),
        ('1/8"', 3.175),
        ("1' 3 1/2\"", 393.7),
        ("-3 mm", -3.0),
        (".5mm", 0.5),
        ("0.5 cm", 5.0),
        ("2 m", 2000.0),
        ("1 ft 3 in", 381.0),
        ("3 inches", 76.2),
    ],
)
def test_lengths_as_a_shop_writes_them(text: str, value_mm: float) -> None:
    assert read_quantity(text, Quantity.LENGTH) == pytest.approx(value_mm, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        ("68 degF", Quantity.TEMPERATURE, 20.0),
        ("-40 degF", Quantity.TEMPERATURE, -40.0),
        ("20 \u00b0C", Quantity.TEMPERATURE, 20.0),
        ("1 h 30 min", Quantity.TIME, 5400.0),
        ("2 days 4 h", Quantity.TIME, 187200.0),
        ("25 minutes", Quantity.TIME, 1500.0),
        ("8 %", Quantity.SHARE, 0.08),
        ("30 deg", Quantity.ANGLE, math.pi / 6),
        ("35 in/min", Quantity.FEED, 889.0),
        ("18000 rpm", Quantity.SPEED, 18000.0),
        ("700 mPa s", Quantity.VISCOSITY, 0.7),
        ("12 ml", Quantity.VOLUME, 12.0),
    ],
)
def test_other_quantities(text: str, quantity: Quantity, value: float) -> None:
    assert read_quantity(text, quantity) == pytest.approx(value, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "code", "remedy"),
    [
        ("10", "unit-missing", "write 10 mm or 10 in"),
        ("10 milimeter", "unit-unknown", "did you mean millimeter"),
        ("10 furlong", "unit-unknown", "use one of mm, cm, m, in, ft"),
        ("3 g", "unit-of-another-kind", "10 mm"),
        ("1,5 mm", "decimal-comma", "1.5 mm"),
        ("nan", "number-not-finite", "10 mm"),
        ("inf mm", "number-not-finite", "10 mm"),
        ("1/0 in", "number-unreadable", "1/32"),
        ("", "key-empty", "10 mm"),
        ("abc", "number-unreadable", "10 mm"),
        ("5 mm 3 mm", "number-unreadable", "write one"),
        ("3 in 1 ft", "number-unreadable", "write one"),
        ("1e5 mm", "unit-unknown", "use one of"),
        ("10 mm2", "unit-unknown", "mm"),
        ("9" * 400 + " mm", "number-unreadable", "at most"),
    ],
)
def test_a_slip_is_named_with_its_remedy(text: str, code: str, remedy: str) -> None:
    with pytest.raises(UnitError) as caught:
        read_quantity(text, Quantity.LENGTH)
    assert caught.value.code == code
    assert remedy in caught.value.remedy


def test_ratios_sizes_and_clock() -> None:
    assert read_ratio("5:1") == Ratio(5.0, 1.0, "")
    assert read_ratio("100:45 by weight") == Ratio(100.0, 45.0, "weight")
    assert read_ratio("3.3 : 1 by volume") == Ratio(3.3, 1.0, "volume")
    assert ratio_text(read_ratio("100:45 by weight")) == "100:45 by weight"
    assert read_size("320 mm x 170 mm") == (320.0, 170.0)
    assert read_size("12 x 6 1/2 in") == pytest.approx((304.8, 165.1))
    assert read_clock("17:30") == 17.5
    assert read_number("1 1/2") == 1.5


@pytest.mark.parametrize("text", ["5", "5:0", "a:b", "5:1 by hand", "-1:2"])
def test_a_bad_ratio_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        read_ratio(text)


@pytest.mark.parametrize("text", ["3 mm", "4 x 5", "3 mm x", "1 mm x 2 mm x 3 mm"])
def test_a_bad_size_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        read_size(text)


@pytest.mark.parametrize("text", ["25:00", "8", "8:99", "8 am"])
def test_a_bad_time_of_day_is_refused(text: str) -> None:
    with pytest.raises(UnitError):
        read_clock(text)


def _step(quantity: Quantity, value: float) -> float:
    """Half of the last decimal written, in the program's unit."""
    unit = quantity_text(value, quantity).split(" ", 1)[1]
    if quantity is Quantity.TEMPERATURE:
        return 0.5e-4
    return 0.5e-4 * read_quantity(f"1 {unit}", quantity)


@settings(max_examples=200, deadline=None)
@given(value=st.floats(min_value=-1e6, max_value=1e6), quantity=st.sampled_from(list(Quantity)))
def test_what_is_written_reads_back(value: float, quantity: Quantity) -> None:
    text = quantity_text(value, quantity)
    back = read_quantity(text, quantity)
    assert abs(back - value) <= _step(quantity, value) * (1 + 1e-6) + abs(value) * 1e-12


@settings(max_examples=200, deadline=None)
@given(text=st.text(max_size=20), quantity=st.sampled_from(list(Quantity)))
def test_any_text_reads_or_is_refused_in_words(text: str, quantity: Quantity) -> None:
    try:
        outcome = number_text(read_quantity(text, quantity))
    except UnitError as error:
        outcome = error.message and error.remedy
    assert outcome


def test_numbers_have_no_exponent_and_no_negative_zero() -> None:
    assert number_text(1e15) == "1000000000000000"
    assert number_text(-0.00001) == "0"
    with pytest.raises(ValueError, match="finite"):
        number_text(math.inf)


@pytest.mark.parametrize("quantity", list(Quantity))
def test_every_unit_named_can_be_read(quantity: Quantity) -> None:
    for name in names_of(quantity):
        assert math.isfinite(read_quantity(f"3 {name}", quantity))
