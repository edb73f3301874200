"""The kernels that paint a tile for the screen, against the same said with whole arrays."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from flushwork.kernels.seen_layers import CLEAR_DEEPENS, CLEAR_DEPTH_MM
from flushwork.kernels.shown_tile import coarse_tops, show_layers, still_free
from flushwork.strata.look import Swatch, linear_light
from flushwork.strata.shine import CUT_GLOSS, FREE_GLOSS, GLOSSY_FROM_MM, Layer, shine_of

WOOD = np.array([0.5, 0.3, 0.15], np.float32)
LOOKS = (
    Swatch("#0b6a72", 0.05, flake=True),
    Swatch("#ffffff", math.inf),
    Swatch("#f3ead6", 0.4),
)


def plainly(
    tops: NDArray[np.float32], free: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return colour and shine from 0 to 1, all but the holes."""
    through, resin = np.ones(tops[0].shape), np.zeros((*tops[0].shape, 3))
    cover, stack = np.zeros(tops[0].shape), []
    for look, whole, thick in zip(LOOKS, free, np.diff(tops, axis=0), strict=True):
        here = thick > 1e-4
        if math.isinf(look.hides_mm):
            seen = 1.0 - CLEAR_DEEPENS * (1.0 - np.exp(-thick / CLEAR_DEPTH_MM))
            deep = np.where(here, seen, 1.0)
            through, resin = through * deep, resin * deep[..., np.newaxis]
            cover = np.where(here, np.minimum(1.0, cover + thick), cover)
        else:
            hidden = np.where(here, 1.0 - np.exp(-thick / look.hides_mm), 0.0)
            through = through * (1.0 - hidden)
            resin += hidden[..., np.newaxis] * (linear_light(look.colour) - resin)
            cover = np.where(here, 0.0, cover)
        stack.append(Layer(thick, look, whole))
    shine = shine_of(stack)
    colour = np.concatenate([np.sqrt(resin), 1.0 - through[..., np.newaxis]], axis=-1)
    return colour, np.stack([shine.flash, cover, np.zeros(cover.shape), shine.gloss], axis=-1)


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_what_a_tile_shows_is_what_whole_arrays_tell(seed: int) -> None:
    rng = np.random.default_rng(seed)
    thick = rng.choice([0.0, 0.01, 0.06, 0.5, 2.0], (3, 5, 6)).astype(np.float32)
    tops = np.cumsum([np.full((5, 6), -2.0, np.float32), *thick], axis=0, dtype=np.float32)
    free, void = rng.random((3, 5, 6)) > 0.5, rng.random((5, 6)).astype(np.float32)
    colour, shine = np.empty((5, 6, 4), np.uint8), np.empty((5, 6, 4), np.uint8)
    show_layers(
        tops,
        free,
        void,
        np.array([WOOD, *(linear_light(look.colour) for look in LOOKS)]),
        np.array([look.hides_mm for look in LOOKS], np.float32),
        np.full((3, 3), np.nan, np.float32),
        np.zeros(3, np.float32),
        np.array([look.flake for look in LOOKS]),
        (FREE_GLOSS, CUT_GLOSS, GLOSSY_FROM_MM),
        colour,
        shine,
    )
    wanted_colour, wanted_shine = plainly(tops, free)
    wanted_shine[..., 2] = void
    assert np.abs(colour - 255.0 * wanted_colour).max() < 0.51
    assert np.abs(shine - 255.0 * wanted_shine).max() < 0.51


@given(st.integers(0, 10_000), st.sampled_from([2, 4, 8]))
@settings(max_examples=20, deadline=None)
def test_pixels_are_means_and_a_level_floor_stays_where_it_is(seed: int, factor: int) -> None:
    rng = np.random.default_rng(seed)
    heights = rng.normal(-1.0, 0.5, (16, 24)).astype(np.float32)
    mean = heights.reshape(16 // factor, factor, 24 // factor, factor).mean(axis=(1, 3))
    assert np.allclose(coarse_tops(heights, factor), mean, atol=1e-6)
    level = np.full((16, 16), rng.normal(), np.float32)
    assert np.array_equal(coarse_tops(level, factor), level[::factor, ::factor])


def test_a_surface_is_free_until_it_is_lowered_and_again_once_it_rises() -> None:
    old, was = np.zeros((1, 4), np.float32), np.array([[True, True, False, False]])
    top = np.array([[0.001, -0.01, 0.001, 0.01]], np.float32)
    assert still_free(top, old, was, 0.004).tolist() == [[True, False, False, True]]
