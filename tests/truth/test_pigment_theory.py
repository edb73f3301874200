"""Kubelka-Munk and Saunderson against closed forms.

P. Kubelka and F. Munk, Z. tech. Phys. 12 (1931) 593; P. Kubelka, J. Opt. Soc. Am. 38 (1948) 448;
J. L. Saunderson, J. Opt. Soc. Am. 32 (1942) 727 in the form of Allen (1980), eq. 26.  The layer
formula is also checked against direct integration of Kubelka and Munk's two differential
equations.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from flushwork.colour.kubelka_munk import (
    opaque_from_pair,
    opaque_reflectance,
    scatter_from_swatches,
)
from flushwork.kernels.thin_layers import above, absorption_ratio, beneath, layer_reflectance

RATIOS = [
    (0.02, 24.01),
    (0.05, 9.025),
    (0.1, 4.05),
    (0.2, 1.6),
    (0.5, 0.25),
    (0.8, 0.025),
    (0.9, 0.0055556),
]


@pytest.mark.parametrize(("reflectance", "ratio"), RATIOS)
def test_opaque_layer(reflectance: float, ratio: float) -> None:
    assert absorption_ratio(reflectance) == pytest.approx(ratio, rel=1e-5)
    assert opaque_reflectance(ratio) == pytest.approx(reflectance, rel=1e-5)


@pytest.mark.parametrize(
    ("layer", "reflectance"),
    [
        ((0.1, 1.0, 1.0, 0.0), 0.4610336),
        ((0.1, 1.0, 1.0, 0.8), 0.7123473),
        ((0.1, 1.0, 1.0, 1.0), 0.8289193),
        ((0.1, 1.0, 50.0, 0.3), 0.6417424),
        ((1.0, 1.0, 1.0, 0.5), 0.2757167),
    ],
)
def test_layer(layer: tuple[float, float, float, float], reflectance: float) -> None:
    assert layer_reflectance(*layer) == pytest.approx(reflectance, abs=1e-7)


def integrated(absorb: float, scatter: float, thickness: float, ground: float) -> float:
    """Return the layer's reflectance by integrating dR/dx = S - 2 (K + S) R + S R^2 upwards."""
    solved = solve_ivp(
        lambda _, r: scatter - 2.0 * (absorb + scatter) * r + scatter * r**2,
        (0.0, thickness),
        np.array([ground]),
        rtol=1e-9,
        atol=1e-11,
    )
    return float(solved.y[0, -1])


@given(
    absorb=st.floats(0.0, 3.0),
    scatter=st.floats(0.0, 3.0),
    thickness=st.floats(0.0, 3.0),
    ground=st.floats(0.01, 0.99),
)
@settings(max_examples=30, deadline=None)
def test_layer_is_the_integral(
    absorb: float, scatter: float, thickness: float, ground: float
) -> None:
    found = layer_reflectance(absorb, scatter, thickness, ground)
    assert found == pytest.approx(integrated(absorb, scatter, thickness, ground), abs=2e-6)


@given(absorb=st.floats(0.02, 2.0), scatter=st.floats(0.1, 3.0), white=st.floats(0.6, 0.95))
@settings(max_examples=40, deadline=None)
def test_two_swatches_give_the_layer_back(absorb: float, scatter: float, white: float) -> None:
    over_black = layer_reflectance(absorb, scatter, 0.8, 0.0)
    over_white = layer_reflectance(absorb, scatter, 0.8, white)
    opaque = opaque_from_pair(over_black, over_white, white)
    assert opaque == pytest.approx(opaque_reflectance(absorb / scatter), rel=1e-6)
    assert scatter_from_swatches(over_black, opaque, 0.8) == pytest.approx(scatter, rel=1e-4)


def test_an_opaque_swatch_says_nothing_of_its_scattering() -> None:
    assert math.isinf(scatter_from_swatches(0.5, 0.5, 1.0))


@given(internal=st.floats(0.0, 1.0), inner=st.floats(0.0, 0.65))
@settings(max_examples=40, deadline=None)
def test_the_mirror_left_out_is_saunderson_without_its_first_reflection(
    internal: float, inner: float
) -> None:
    outer = ((1.5 - 1.0) / (1.5 + 1.0)) ** 2  # Fresnel's, at right angles, n = 1.5

    def outside(light: float) -> float:
        return outer + (1.0 - outer) * (1.0 - inner) * light / (1.0 - inner * light)

    shown = (outside(internal) - outer) / (outside(1.0) - outer)
    assert above(internal, inner) == pytest.approx(shown)
    assert beneath(above(internal, inner), inner) == pytest.approx(internal, abs=1e-12)


@pytest.mark.parametrize(("seen", "internal"), [(0.0425532, 0.1), (0.2857143, 0.5), (1.0, 1.0)])
def test_saunderson_by_hand(seen: float, internal: float) -> None:
    """Allen (1980), eq. 26 with k1 0 and k2 0.6: 0.4 R / (1 - 0.6 R)."""
    assert above(internal) == pytest.approx(seen, abs=1e-6)
    assert beneath(seen) == pytest.approx(internal, abs=1e-6)
