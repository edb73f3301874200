"""What a shop that works in inches reads: the same quantities, in its own units."""

# ruff: noqa: RUF001
from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.units import Quantity, System, read_quantity
from flushwork.core.units.shown import Units, shown, shown_data, shown_markup
from tests.many import examples

INCH = Units(System.INCH)
OUNCES = Units(System.INCH, ounces=True, fluid_ounces=True)


@pytest.mark.parametrize(
    ("metric", "inch"),
    [
        ("a blank of 393.7 × 190.5 × 20.6 mm", "a blank of 15 1/2 × 7 1/2 × 13/16 in"),
        ("133 mm x 20 mm", "5 1/4 in x 25/32 in"),
        ("back within 0.4 mm", "back within 1/64 in"),
        ("now 19.84 mm thick", "now 0.781 in thick"),
        ("a 6.35 mm hole", "a 1/4 in hole"),
        ("no more than 0.05 mm", "no more than 0.002 in"),
        ("no more than 0.2032 mm", "no more than 0.008 in"),
        ("a bit of 1.588 mm", "a bit of 1/16 in"),
        ("at 900 mm/min", "at 35.4 in/min"),
        ("from 0.5 to 2 mm", "from 0.020 to 5/64 in"),
        ("between 3 and 12 mm", "between 0.118 and 15/32 in"),
        ("At x 12.50, y 31.75 mm on the front.", "At x 0.492, y 1.250 in on the front."),
        ("X −4.20 to 397.90 mm", "X −0.165 to 15.665 in"),
        ("read +0.130, -0.051 mm", "read +0.0051, -0.002 in"),
        ("at 20 °C", "at 68 °F"),
        ("16.1 degC at night", "61 degF at night"),
        ("-10 to 20 degC", "14 to 68 degF"),
        ("warmer by 5 °C", "warmer by 9 °F"),
        ("5 °C warmer than 20 °C", "9 °F warmer than 68 °F"),
        ("holds 250 N against 31 N", "holds 56.2 lbf against 6.97 lbf"),
        ("wood of 640 kg/m3", "wood of 40.0 lb/ft3"),
        ("an island of 12 mm2", "an island of 0.0186 sq in"),
        ("fine dust, 5 mg/m3", "fine dust, 5 mg/m3"),
        ("the tools measure 31.0 g", "the tools measure 31.0 g"),
        ("0.5 mm, 20 min and 3 m of tape", "0.020 in, 20 min and 9.84 ft of tape"),
        ("write `step: [133.35 mm, 0 mm]`", "write `step: [5 1/4 in, 0 in]`"),
        ("write `step: [133 mm, 12.5 mm]`", "write `step: [5.2362 in, 0.4921 in]`"),
        ("m1-front-1.nc, stage 3", "m1-front-1.nc, stage 3"),
    ],
)
def test_a_quantity_is_shown_in_the_units_of_the_shop(metric: str, inch: str) -> None:
    assert shown(metric, INCH) == inch
    assert shown(metric, Units()) == metric


def test_a_scale_and_a_cup_that_read_ounces_are_shown_ounces() -> None:
    assert shown("31.0 g in 28 cm³", OUNCES) == "1.09 oz in 0.947 fl oz"


def test_what_names_a_thing_of_the_shop_stays_as_it_is_called() -> None:
    units = Units(System.INCH, names=("25 mm facing bit",))
    assert shown("25 mm facing bit, 25 mm", units) == "25 mm facing bit, 1 in"


def test_words_of_records_and_of_pages_are_shown_and_markup_is_not_touched() -> None:
    assert shown_data({"a": ("10 mm", 3, ["20 °C"]), "svg": "1 mm"}, INCH, ("svg",)) == {
        "a": ("25/64 in", 3, ["68 °F"]),
        "svg": "1 mm",
    }
    metric, inch = "6.35 mm", "1/4 in"
    page = '<svg width="62 mm"><title>{0}</title></svg><p title="{0}">{0}</p><pre>1 mm</pre>'
    assert shown_markup(page.format(metric), INCH) == page.format(inch)


def _inches(text: str) -> float:
    return float(sum(Fraction(part) for part in text.removesuffix(" in").split()))


@settings(max_examples=examples(200), deadline=None)
@given(st.integers(1, 3_000_000), st.integers(0, 3))
def test_a_length_reads_back_within_what_is_printed(thousandths: int, places: int) -> None:
    value = f"{thousandths / 1000.0:.{places}f}"
    told = shown(f"it is {value} mm", INCH).removeprefix("it is ")
    off_mm = abs(_inches(told) * 25.4 - float(value))
    decimals = len(told.removesuffix(" in").partition(".")[2])
    step_in = 0.5 * 10.0 ** -max(decimals, 3) if "." in told else 0.0
    assert off_mm <= max(0.5 * 10.0**-places, step_in * 25.4) + 1e-9


@settings(max_examples=examples(200), deadline=None)
@given(st.integers(1, 3_000_000))
def test_a_figure_quoted_for_the_job_file_reads_back_to_the_same(thousandths: int) -> None:
    told = shown(f"`at: [{thousandths / 1000.0:.3f} mm, 0 mm]`", INCH)
    assert told.endswith(", 0 in]`")
    back = read_quantity(told[6 : told.index(",")], Quantity.LENGTH)
    assert back == pytest.approx(thousandths / 1000.0, abs=0.0005 * 25.4)


METRIC_LEFT = re.compile(r"\d[ \u00a0]?(?:mm|cm|°C|degC|kg/m3|N|m/s|µm)(?![\w/])")


@settings(max_examples=examples(200), deadline=None)
@given(
    st.lists(
        st.tuples(
            st.decimals(0, 9999, places=2).map(str),
            st.sampled_from(["mm", "cm", "°C", "degC", "kg/m3", "N", "mm/min", "m/s", "mm2", "m"]),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_nothing_metric_is_left_and_shown_twice_is_shown_once(each: list[tuple[str, str]]) -> None:
    text = "; ".join(f"about {value} {unit} of it" for value, unit in each)
    told = shown(text, INCH)
    assert not METRIC_LEFT.search(told)
    assert shown(told, INCH) == told
    assert shown(text, Units()) == text
