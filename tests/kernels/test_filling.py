"""What is poured into a tile and what was cut of it, against the same said with whole arrays."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.kernels.coverage import gone_within, off_meant, shift_of
from flushwork.kernels.filling import apart, bare_under, filled, film_over, level, wetted
from tests.many import examples

SEEDS = st.integers(0, 10_000)
NONE = np.empty((0, 0), np.bool_)
LEVEL, PLANE, THINNEST = np.float32(0.3), np.float32(-0.2), 1e-5
COUNTED = (THINNEST, 0.02, 0.999)


def pocket(seed: int) -> tuple[np.random.Generator, np.ndarray, np.ndarray, np.ndarray]:
    """Return a floor with a hole right through, shares of a region and where the hole is."""
    rng = np.random.default_rng(seed)
    top = rng.choice([-0.2, -1.5, -2.0, 0.5], (9, 11)).astype(np.float32)
    share = rng.choice([0.0, 0.4, 1.0, 1.0], (9, 11)).astype(np.float32)
    void = np.zeros((9, 11), np.bool_)
    void[2:4, 5] = True
    return rng, top, share, void


@given(SEEDS, st.booleans())
@settings(max_examples=40, deadline=None)
def test_a_liquid_is_what_whole_arrays_say(seed: int, holed: bool) -> None:
    _, top, share, void = pocket(seed)
    liquid = share * np.maximum(LEVEL - top, np.float32(0.0))
    if holed:
        liquid[void] = 0.0
    under = np.minimum(liquid, share * np.maximum(PLANE - top, np.float32(0.0)))
    deep = (top < PLANE - np.float32(0.02)) & (liquid > 0.0) & (share > 0.999)
    framed = np.pad(deep, 1, constant_values=True)
    inner = deep & np.logical_and.reduce(
        [framed[y : y + 9, x : x + 11] for y in range(3) for x in range(3)]
    )
    got, got_under, figures = filled(top, share, void if holed else NONE, (LEVEL, PLANE), COUNTED)
    assert np.array_equal(got, liquid)
    assert np.allclose(got_under, under, atol=0.0)
    wanted = [under.sum(), (liquid - under).sum(), share[liquid > 0.0].sum()]
    assert figures[:3] == pytest.approx([float(each) for each in wanted], rel=1e-5)
    inside = liquid[inner]
    assert figures[3] == (inside.max() if inside.size else 0.0)


def test_a_film_of_liquid_thinner_than_counts_is_none() -> None:
    top = np.full((5, 5), 0.299995, np.float32)
    liquid, _, figures = filled(top, np.ones((5, 5), np.float32), NONE, (LEVEL, PLANE), COUNTED)
    assert not liquid.any()
    assert figures[2] == 0.0


@given(SEEDS)
@settings(max_examples=30, deadline=None)
def test_bare_wood_is_wetted_where_nothing_lies_on_it(seed: int) -> None:
    rng, top, share, _ = pocket(seed)
    around = np.pad(top, 1, mode="edge")
    wood = top - rng.choice([0.0, 0.1], top.shape).astype(np.float32)
    under = share * np.maximum(PLANE - top, np.float32(0.0))
    area, total = bare_under(wood, around, under, np.float32(THINNEST), 0.1)
    wanted = np.where(top - wood <= np.float32(THINNEST), wetted(around, under, 0.1), 0.0)
    assert np.array_equal(area, wanted.astype(np.float32))
    assert total == pytest.approx(float(area.sum(dtype=np.float64)))


@given(SEEDS, st.booleans())
@settings(max_examples=30, deadline=None)
def test_a_film_lies_on_what_is_cut(seed: int, holed: bool) -> None:
    _, top, share, void = pocket(seed)
    low = top < PLANE
    if holed:
        low &= ~void
    some, film = film_over(top, share, void if holed else NONE, PLANE, np.float32(0.05))
    assert some == low.any()
    assert np.array_equal(film, np.where(low, share * np.float32(0.05), np.float32(0.0)))


def test_surfaces_apart_and_level() -> None:
    flat = np.full((4, 4), -1.0, np.float32)
    assert level(flat, np.float32(-1.0))
    assert not apart(flat, flat, THINNEST)
    bump = flat.copy()
    bump[3, 3] += np.float32(0.01)
    assert apart(bump, flat, THINNEST)
    assert not apart(flat, bump, THINNEST)
    assert not level(bump, np.float32(-1.0))


@given(SEEDS)
@settings(max_examples=40, deadline=None)
def test_what_is_missed_and_what_is_beyond_are_what_whole_arrays_say(seed: int) -> None:
    rng = np.random.default_rng(seed)
    wood = rng.choice([0.0, -0.9, -1.0, -3.0], (8, 9)).astype(np.float32)
    meant = rng.choice([0.0, 0.5, 0.95, 1.0], (8, 9)).astype(np.float32)
    near = rng.choice([0.0, 1.0], (8, 9)).astype(np.float32)
    off = meant - np.clip((np.float32(0.0) - wood) / np.float32(2.0), 0.0, 1.0)
    missed, beyond, sums, cells = off_meant(
        wood, meant, near, np.float32(0.0), np.float32(2.0), 0.1
    )
    wanted = np.where(off > 0.1, off, 0.0), np.where(off < -0.1, -off * near, 0.0)
    for got, want, total, cell in zip((missed, beyond), wanted, sums, cells, strict=True):
        assert np.allclose(got, want, atol=1e-6)
        assert total == pytest.approx(float(want.sum()), abs=1e-5)
        assert cell == (int(np.argmax(got)) if want.any() else -1)


def test_how_much_of_each_cell_near_a_place_is_gone() -> None:
    top = np.zeros((5, 7), np.float32)
    top[1:3, 2:6] = -1.0
    top[4, 0] = -5.0
    near = np.ones((5, 7), np.float32)
    near[4, 0] = 0.0
    gone = gone_within(top, near, np.float32(0.0), np.float32(2.0))
    assert gone.sum() == pytest.approx(4.0)


def squares(rng: np.random.Generator, right: float, up: float) -> np.ndarray:
    """Return the share of each cell that squares in rows cover, all moved by a part of a cell."""
    at = np.arange(120)
    x0, y0 = np.meshgrid(np.arange(8.0, 100.0, 24.0), np.arange(8.0, 100.0, 24.0))
    x0, y0 = x0.ravel() + rng.uniform(0, 1, x0.size), y0.ravel() + rng.uniform(0, 1, y0.size)
    whole = np.zeros((120, 120))
    for x, y in zip(x0 + right, y0 + up, strict=True):
        along = np.clip(np.minimum(at + 1, x + 12.3) - np.maximum(at, x), 0.0, 1.0)
        across = np.clip(np.minimum(at + 1, y + 9.7) - np.maximum(at, y), 0.0, 1.0)
        whole += np.outer(across, along)
    return whole.astype(np.float32)


@settings(max_examples=examples(20), deadline=None)
@given(seed=SEEDS, right=st.floats(-2.5, 2.5), up=st.floats(-2.5, 2.5))
def test_a_shift_is_told_by_every_edge_alike(seed: int, right: float, up: float) -> None:
    """To a third of it at worst, though squares far from the middle are cut a little fuller."""
    meant = squares(np.random.default_rng(seed), 0.0, 0.0)
    moved = squares(np.random.default_rng(seed), right, up)
    slack = 0.02 + 0.3 * max(abs(right), abs(up))
    assert shift_of(moved, meant, 4) == pytest.approx((right, up), abs=slack)
    # a middle of the whole would lie off by the arm of the last column
    fuller = moved.copy()
    fuller[:, 80:] = np.minimum(fuller[:, 80:] * 1.2, np.maximum(fuller[:, 80:], 0.9))
    assert shift_of(fuller, meant, 4) == pytest.approx((right, up), abs=slack + 0.15)


def test_a_shift_along_a_line_is_not_told() -> None:
    meant = np.zeros((20, 20), np.float32)
    meant[8:11] = 1.0
    moved = np.roll(meant, 2, axis=0)
    assert shift_of(moved, meant, 3) == pytest.approx((0.0, 2.0), abs=0.02)
    assert shift_of(meant.T.copy(), meant.T.copy(), 3) == (0.0, 0.0)
