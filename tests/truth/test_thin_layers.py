"""Thin coloured layers: swatches there and back, and the picture against Kubelka and Munk."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.colour.kubelka_munk import (
    LEAST_HIDING_MM,
    SEEN_THROUGH,
    ThinLayer,
    contrast_through,
    covering_depth,
    from_hiding,
    from_swatch,
    over,
    showing_through,
)
from flushwork.colour.spaces import Triple, format_hex, from_linear, parse_hex, to_linear
from flushwork.kernels.thin_layers import INNER, above, absorption_ratio, beneath, layer_reflectance
from flushwork.strata.look import WoodLook, looks
from flushwork.strata.palette import ShownColour
from flushwork.strata.steps import Fill
from tests.strata.hand_made import FLAT, board, cut, pocket_path, rectangle, run

BLACK, WHITE = (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)
channels = st.floats(0.02, 0.95)


@given(st.tuples(channels, channels, channels), st.floats(0.1, 5.0))
@settings(max_examples=40, deadline=None)
def test_a_hiding_depth_covers_and_half_of_it_does_not(rgb: Triple, hides_mm: float) -> None:
    layer = from_hiding(rgb, hides_mm)
    assert showing_through(layer, hides_mm) == pytest.approx(SEEN_THROUGH, rel=1e-3)
    assert showing_through(layer, hides_mm / 2.0) > 2.0 * SEEN_THROUGH


@given(
    st.tuples(channels, channels, channels),
    st.tuples(*[st.floats(0.2, 4.0)] * 3),
    st.floats(0.2, 1.5),
    st.sampled_from([0.0, INNER]),
)
@settings(max_examples=40, deadline=None)
def test_a_swatch_gives_its_layer_back(
    rgb: Triple, scatter: Triple, thickness_mm: float, inner: float
) -> None:
    layer = ThinLayer(rgb, scatter, 1.0, inner)
    found = from_swatch(
        over(layer, thickness_mm, BLACK), over(layer, thickness_mm, WHITE), thickness_mm, inner
    )
    assert found.rgb == pytest.approx(rgb, abs=2e-3)
    for band in range(3):
        # an all but opaque swatch tells its colour, not how it scatters
        opaque = beneath(to_linear(rgb)[band], inner)
        if contrast_through(opaque, scatter[band] * thickness_mm, inner) > 0.02:
            assert found.scatter_per_mm[band] == pytest.approx(scatter[band], rel=0.02)


@given(st.tuples(channels, channels, channels), st.floats(0.1, 5.0), st.floats(0.0, 4.0))
@settings(max_examples=40, deadline=None)
def test_a_fill_hides_more_the_thicker_it_is(rgb: Triple, hides_mm: float, thick_mm: float) -> None:
    layer = from_hiding(rgb, hides_mm)
    thin, thicker = showing_through(layer, thick_mm), showing_through(layer, thick_mm + 0.1)
    assert 0.0 <= thicker <= thin + 1e-12 <= 1.0 + 1e-9
    assert over(layer, 0.0, (0.3, 0.4, 0.5)) == pytest.approx((0.3, 0.4, 0.5))


def test_an_opaque_swatch_hides_at_once() -> None:
    red = parse_hex("#a02020")
    layer = from_swatch(red, red, 1.0)
    assert layer.hides_mm == pytest.approx(LEAST_HIDING_MM)
    assert format_hex(layer.rgb) == "#a02020"


def test_black_covers_by_absorbing_and_white_by_scattering() -> None:
    """White without absorption: R over black is S X / (1 + S X) (Kubelka 1948, from memory)."""
    assert covering_depth(1.0 - 1e-6) == pytest.approx(1.0 / SEEN_THROUGH - 1.0, rel=0.02)
    assert covering_depth(0.01) < 0.1


def test_gloss_tells_more_pigment_from_the_same_swatch() -> None:
    """The surface throws 0.6 of the light back in, so the same look hides more wood beneath it."""
    black, white = parse_hex("#20484c"), parse_hex("#5fb0b6")
    matt, glossy = from_swatch(black, white, 1.0), from_swatch(black, white, 1.0, INNER)
    assert all(g > m for g, m in zip(glossy.scatter_per_mm, matt.scatter_per_mm, strict=True))
    for layer in (matt, glossy):
        assert over(layer, 1.0, BLACK) == pytest.approx(black, abs=1e-3)
        assert over(layer, 1.0, WHITE) == pytest.approx(white, abs=1e-3)
    # between the swatch's thickness and none they part, in the middle of a thin fill
    thin = over(matt, 0.3, (0.5, 0.4, 0.3)), over(glossy, 0.3, (0.5, 0.4, 0.3))
    assert max(abs(a - b) for a, b in zip(*thin, strict=True)) > 0.004


@pytest.mark.parametrize("inner", [0.0, INNER])
@pytest.mark.parametrize("depth_mm", [0.1, 0.4, 1.5])
def test_the_picture_shows_the_wood_through_a_thin_fill(depth_mm: float, inner: float) -> None:
    colour, scatter = "#2f8f96", (0.8, 1.5, 1.6)
    region = rectangle(12, 12, 24, 20)
    replayed = run(
        board(),
        cut(FLAT, pocket_path(12, 8, FLAT.radius_mm, (-depth_mm,)), shift=(12, 12)),
        Fill("front", "a", "teal", region, 0.0, 0.0, 1.0),
    )
    wood = WoodLook("#a9683f", "#a9683f")
    swatches = {"teal": ShownColour(parse_hex(colour), 0.8, False, False, scatter, inner)}
    (seen,) = looks(replayed.final, replayed.spec, "front", wood, swatches, mm_per_px=0.2)
    (bare,) = looks(run(board()).final, board(), "front", wood, {}, mm_per_px=0.2)
    place = (seen.shape[0] - 1 - 80, 90)
    ground = to_linear((bare[place][0] / 255, bare[place][1] / 255, bare[place][2] / 255))
    first, second, third = (
        above(
            layer_reflectance(
                absorption_ratio(beneath(opaque, inner)) * s, s, depth_mm, beneath(below, inner)
            ),
            inner,
        )
        for opaque, s, below in zip(to_linear(parse_hex(colour)), scatter, ground, strict=True)
    )
    expected = [round(255 * part) for part in from_linear((first, second, third))]
    np.testing.assert_allclose(seen[place][:3], expected, atol=5)
