"""Colour and Kubelka-Munk against a general colour library: ColorAide (test only).

Its spectral mixing carries Kubelka and Munk's two relations; CIEDE2000, the way from sRGB to CIELAB
and the contrast ratio are its own too.
"""

from __future__ import annotations

import pytest
from coloraide import Color
from coloraide.interpolate.spectral import km_to_ks, km_to_r
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.colour.kubelka_munk import ThinLayer, opaque_reflectance, over
from flushwork.colour.spaces import Triple, ciede2000, contrast_ratio, to_lab, to_linear
from flushwork.kernels.thin_layers import absorption_ratio, layer_reflectance

parts = st.floats(0.0, 1.0)
colours = st.tuples(parts, parts, parts)


def theirs(rgb: Triple) -> Color:
    return Color("srgb", list(rgb))


@given(st.floats(1e-3, 0.999))
@settings(max_examples=50, deadline=None)
def test_opaque_layers_agree(reflectance: float) -> None:
    ratio = absorption_ratio(reflectance)
    assert ratio == pytest.approx(km_to_ks(reflectance), rel=1e-9)
    assert opaque_reflectance(ratio) == pytest.approx(km_to_r(ratio), abs=1e-9)


@given(st.floats(0.02, 0.98), st.floats(0.0, 1.0))
@settings(max_examples=30, deadline=None)
def test_a_thick_layer_ends_in_their_endless_one(reflectance: float, ground: float) -> None:
    ratio = km_to_ks(reflectance)
    assert layer_reflectance(ratio, 1.0, 200.0, ground) == pytest.approx(km_to_r(ratio), abs=1e-4)


@given(colours)
@settings(max_examples=30, deadline=None)
def test_a_thick_fill_shows_its_opaque_colour(rgb: Triple) -> None:
    shown = over(ThinLayer(rgb, (50.0, 50.0, 50.0), 0.1, 0.6), 8.0, (0.5, 0.4, 0.3))
    assert theirs(shown).delta_e(theirs(rgb), method="2000") < 1.0


@given(colours, colours)
@settings(max_examples=60, deadline=None)
def test_difference_and_contrast_agree(one: Triple, other: Triple) -> None:
    lab = theirs(one).convert("lab-d65").coords()
    assert to_lab(one) == pytest.approx(lab, abs=1e-6)
    assert ciede2000(to_lab(one), to_lab(other)) == pytest.approx(
        theirs(one).delta_e(theirs(other), method="2000", space="lab-d65"), abs=1e-5
    )
    assert to_linear(one) == pytest.approx(theirs(one).convert("srgb-linear").coords(), abs=1e-12)
    # the library's weights of the three bands have more places than the definition's four
    assert contrast_ratio(one, other) == pytest.approx(
        theirs(one).contrast(theirs(other), method="wcag21"), rel=5e-4
    )
