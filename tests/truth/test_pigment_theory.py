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
    absorption_ratio,
    layer_reflectance,
    mix_ratio,
    mix_two_constant,
    opaque_from_pair,
    opaque_reflectance,
    scatter_from_swatches,
)
from flushwork.colour.saunderson import above, beneath, fresnel, inside, outside

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


def test_half_and_half() -> None:
    ratio = mix_ratio([(0.5, absorption_ratio(0.8)), (0.5, absorption_ratio(0.1))])
    assert ratio == pytest.approx(2.0375)
    assert opaque_reflectance(ratio) == pytest.approx(0.1693288, abs=1e-7)


def test_two_constants_fall_back_to_one_where_scattering_is_alike() -> None:
    assert mix_two_constant([(1.0, 0.025, 1.0), (1.0, 4.05, 1.0)]) == pytest.approx(2.0375)
    assert mix_two_constant([(1.0, 0.1, 4.0), (1.0, 2.0, 1.0)]) == pytest.approx(0.42)


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


@pytest.mark.parametrize(
    ("measured", "internal"), [(0.0808511, 0.1), (0.3142857, 0.5), (0.7913043, 0.9), (1.0, 1.0)]
)
def test_saunderson(measured: float, internal: float) -> None:
    assert inside(measured, 0.04, 0.6) == pytest.approx(internal, abs=1e-6)
    assert outside(internal, 0.04, 0.6) == pytest.approx(measured, abs=1e-6)


def test_fresnel_at_right_angles() -> None:
    assert fresnel(1.5) == pytest.approx(0.04)
    assert fresnel(1.56) == pytest.approx(0.0478516, abs=1e-7)


@given(internal=st.floats(0.0, 1.0), inner=st.floats(0.0, 0.65))
@settings(max_examples=40, deadline=None)
def test_the_mirror_left_out_is_saunderson_without_its_first_reflection(
    internal: float, inner: float
) -> None:
    outer = fresnel(1.5)
    white = outside(1.0, outer, inner) - outer
    assert above(internal, inner) == pytest.approx(
        (outside(internal, outer, inner) - outer) / white
    )
    assert beneath(above(internal, inner), inner) == pytest.approx(internal, abs=1e-12)
