"""sRGB, CIELAB and contrast against published figures.

sRGB curve and matrix: IEC 61966-2-1; W3C, CSS Color Module Level 4 (matrices to full precision).
Contrast: W3C, Web Content Accessibility Guidelines 2.2, definitions of relative luminance and
contrast ratio; 21:1, 4.54:1 for #767676, 8.59:1 for pure blue and 1.07:1 for pure yellow on white
are printed there or in its techniques.  CIELAB figures are computed from the same matrix.
"""

from __future__ import annotations

import pytest

from flushwork.colour.spaces import (
    contrast_ratio,
    decode,
    encode,
    luminance,
    parse_hex,
    to_lab,
)

LAB = {
    "#ff0000": (53.237, 80.090, 67.203),
    "#00ff00": (87.736, -86.182, 83.187),
    "#0000ff": (32.301, 79.195, -107.855),
    "#808080": (53.585, 0.0, 0.0),
    "#ffffff": (100.0, 0.0, 0.0),
    "#000000": (0.0, 0.0, 0.0),
}
CONTRAST = [
    ("#000000", "#ffffff", 21.0),
    ("#767676", "#ffffff", 4.5422),
    ("#777777", "#ffffff", 4.4781),
    ("#0000ff", "#ffffff", 8.5925),
    ("#0000ff", "#ff0000", 2.1489),
    ("#ff0000", "#ffffff", 3.9985),
    ("#00ff00", "#ffffff", 1.3722),
    ("#ffff00", "#ffffff", 1.0738),
]


@pytest.mark.parametrize(("colour", "lab"), LAB.items())
def test_lab(colour: str, lab: tuple[float, float, float]) -> None:
    assert to_lab(parse_hex(colour)) == pytest.approx(lab, abs=6e-4)


@pytest.mark.parametrize(("first", "second", "ratio"), CONTRAST)
def test_contrast(first: str, second: str, ratio: float) -> None:
    one, two = parse_hex(first), parse_hex(second)
    assert contrast_ratio(one, two) == pytest.approx(ratio, abs=5e-5)
    assert contrast_ratio(two, one) == pytest.approx(ratio, abs=5e-5)


def test_middle_grey() -> None:
    assert luminance(parse_hex("#808080")) == pytest.approx(0.21586, abs=5e-6)


def test_the_curve_joins() -> None:
    assert decode(0.04045) == pytest.approx(decode(0.0404500001), abs=1e-6)
    assert encode(0.0031308) == pytest.approx(encode(0.00313080001), abs=1e-6)


@pytest.mark.parametrize("wrong", ["0b6a72", "#0b6a7", "#zzzzzz", ""])
def test_what_is_no_colour_is_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match=r"rrggbb|invalid literal"):
        parse_hex(wrong)
