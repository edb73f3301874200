"""The kernels that paint a tile for the screen, against the same said with whole arrays."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from flushwork.kernels.seen_layers import CLEAR_DEEPENS, CLEAR_DEPTH_MM, CUT_FLAKE, Inks
from flushwork.kernels.shown_tile import (
    CUT_GLOSS,
    FREE_GLOSS,
    GLOSSY_FROM_MM,
    coarse_tops,
    show_layers,
    still_free,
)

WOOD = np.array([0.5, 0.3, 0.15], np.float32)
COLOURS = np.array([[0.003, 0.14, 0.17], [1.0, 1.0, 1.0], [0.9, 0.82, 0.67]], np.float32)
HIDES_MM = np.array([0.05, np.inf, 0.4], np.float32)
SCATTER = np.array([[40.0, 25.0, 20.0], [0.0, 0.0, 0.0], [1.5, 2.0, 3.0]], np.float32)
INNER = np.array([0.6, 0.0, 0.0], np.float32)
FLAKE = np.array([1.0, 0.0, 0.0], np.float32)
INKS = Inks(
    np.array([WOOD, *COLOURS]),
    np.append(np.float32(0.0), HIDES_MM),
    np.concatenate([np.zeros((1, 3), np.float32), SCATTER]),
    np.append(np.float32(0.0), INNER),
    np.append(np.float32(0.0), FLAKE),
)


def over(at: int, thick: NDArray[np.float32], ground: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what a layer shows over a ground, by Kubelka's hyperbolic form (1948)."""
    inner = float(INNER[at])

    def inside(seen: NDArray[np.float64]) -> NDArray[np.float64]:
        return seen / (1.0 - inner + inner * seen)

    below, opaque = inside(ground), inside(COLOURS[at].astype(np.float64))
    a = 0.5 * (1.0 / opaque + opaque)
    b = np.sqrt(a * a - 1.0)
    turned = b / np.tanh(b * SCATTER[at] * np.maximum(thick, 1e-4)[..., np.newaxis])
    internal = (1.0 - below * (a - turned)) / (a - below + turned)
    return np.asarray((1.0 - inner) * internal / (1.0 - inner * internal))


def plainly(
    tops: NDArray[np.float32], free: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return colour and shine from 0 to 1, all but the holes."""
    shape = tops[0].shape
    seen, dark = np.broadcast_to(WOOD, (*shape, 3)).astype(np.float64), np.zeros((*shape, 3))
    cover, flash, gloss = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for at, (whole, thick) in enumerate(zip(free, np.diff(tops, axis=0), strict=True)):
        here = thick > 1e-4
        if math.isinf(HIDES_MM[at]):
            deep = 1.0 - CLEAR_DEEPENS * (1.0 - np.exp(-thick / CLEAR_DEPTH_MM))[..., np.newaxis]
            laid = [deep * light for light in (seen, dark)]
            cover = np.where(here, np.minimum(1.0, cover + thick), cover)
        else:
            laid = [over(at, thick, light) for light in (seen, dark)]
            hidden = np.where(here, 1.0 - np.exp(-thick / HIDES_MM[at]), 0.0)
            own = np.where(whole, 1.0, CUT_FLAKE) if FLAKE[at] else 0.0
            flash += hidden * (own - flash)
            cover = np.where(here, 0.0, cover)
        seen, dark = (
            np.where(here[..., np.newaxis], now, then)
            for now, then in zip(laid, (seen, dark), strict=True)
        )
        glossy = here & (thick > GLOSSY_FROM_MM)
        gloss = np.where(glossy, np.where(whole, FREE_GLOSS, CUT_GLOSS), gloss)
    bands = (seen - dark) / WOOD
    through = np.minimum(bands.mean(axis=-1), np.minimum((seen / WOOD).min(axis=-1), 1.0))
    own_light = np.sqrt(np.maximum(seen - through[..., np.newaxis] * WOOD, 0.0))
    colour = np.concatenate([own_light, 1.0 - through[..., np.newaxis]], axis=-1)
    return colour, np.stack([flash, cover, np.zeros(shape), gloss], axis=-1)


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
        INKS,
        colour,
        shine,
    )
    wanted_colour, wanted_shine = plainly(tops, free)
    wanted_shine[..., 2] = void
    assert np.abs(colour - 255.0 * wanted_colour).max() < 0.51
    assert np.abs(shine - 255.0 * wanted_shine).max() < 0.51


def test_a_sanded_clear_cap_keeps_the_flakes_beneath_it_whole() -> None:
    """By hand: flash and gloss of a whole flake fill, of one that was cut, and of capped ones."""

    def shown(thick: list[float], free: list[bool]) -> tuple[int, int]:
        tops = np.cumsum([-2.0, *thick], dtype=np.float32).reshape(4, 1, 1)
        colour, shine = np.empty((1, 1, 4), np.uint8), np.empty((1, 1, 4), np.uint8)
        whole = np.array(free).reshape(3, 1, 1)
        show_layers(tops, whole, np.zeros((1, 1), np.float32), INKS, colour, shine)
        return int(shine[0, 0, 0]), int(shine[0, 0, 3])

    cut = round(255 * CUT_GLOSS)
    assert shown([1.0, 0.0, 0.0], [True, True, True]) == (255, 255)
    assert shown([1.0, 0.0, 0.0], [False, True, True]) == (round(255 * CUT_FLAKE), cut)
    assert shown([1.0, 0.2, 0.0], [True, False, True]) == (255, cut)
    assert shown([1.0, 0.0, 8.0], [True, True, True]) == (0, 255)
    assert shown([0.0, 0.01, 0.0], [True, True, True]) == (0, 0)


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
