"""Where flakes flash and how a face leans: by hand on small stacks and a tilted plane."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flushwork.kernels.seen_layers import CUT_FLAKE
from flushwork.strata.look import Swatch
from flushwork.strata.normals import normals, slopes
from flushwork.strata.shine import CUT_GLOSS, FREE_GLOSS, Layer, face_shine, shine_of
from flushwork.strata.steps import Fill, Plane
from flushwork.strata.tiles import Window
from tests.strata.hand_made import FLAT, board, cut, pocket_path, rectangle, run

TEAL = Swatch("#2f8f96", 0.2, flake=True)
INK = Swatch("#101010", 0.2)
GLASS = Swatch("#ffffff", math.inf)
ONE = np.ones((1, 1), np.float32)
YES, NO = ONE > 0.0, ONE < 0.0


@pytest.mark.parametrize(
    ("stack", "flash", "gloss"),
    [
        ([Layer(4.0 * ONE, TEAL, YES)], 1.0, FREE_GLOSS),
        ([Layer(4.0 * ONE, TEAL, NO)], CUT_FLAKE, CUT_GLOSS),
        # a sanded clear cap keeps the flakes beneath it whole
        ([Layer(4.0 * ONE, TEAL, YES), Layer(0.2 * ONE, GLASS, NO)], 1.0, CUT_GLOSS),
        ([Layer(4.0 * ONE, TEAL, YES), Layer(4.0 * ONE, INK, YES)], 0.0, FREE_GLOSS),
        ([Layer(0.2 * ONE, TEAL, YES)], 1.0 - math.exp(-1.0), FREE_GLOSS),
        ([Layer(0.01 * ONE, GLASS, YES)], 0.0, 0.0),
    ],
)
def test_layers_flash_and_gleam(stack: list[Layer], flash: float, gloss: float) -> None:
    shine = shine_of(stack)
    assert shine.flash[0, 0] == pytest.approx(flash, abs=1e-6)
    assert shine.gloss[0, 0] == pytest.approx(gloss)


def test_a_replayed_line_flashes_until_it_is_sanded() -> None:
    region = rectangle(12, 12, 24, 20)
    pocket = cut(FLAT, pocket_path(12, 8, FLAT.radius_mm, (-2.0,)), shift=(12, 12))
    proud = Fill("front", "a", "teal", region, 0.4, 0.0, 1.0)
    window = Window(150, 150, 10, 10)
    poured = run(board(), pocket, proud)
    sanded = run(board(), pocket, proud, Plane("front", -0.1, "sanded"))
    for replayed, flash, gloss in (
        (poured, 1.0, FREE_GLOSS),
        (sanded, CUT_FLAKE, CUT_GLOSS),
    ):
        shine = face_shine(replayed.final.front, window, {"teal": TEAL})
        np.testing.assert_allclose(shine.flash, flash, atol=1e-3)
        np.testing.assert_allclose(shine.gloss, gloss)


def test_a_tilted_plane_leans_one_way() -> None:
    rise = np.add.outer(0.2 * np.arange(6), 0.1 * np.arange(8)).astype(np.float32)
    across, up = slopes(rise, 1.0)
    assert across[2, 3] == pytest.approx(0.1)
    assert up[2, 3] == pytest.approx(0.2)
    lean = normals(rise, 1.0)
    np.testing.assert_allclose(np.linalg.norm(lean, axis=-1), 1.0, rtol=1e-6)
    assert lean[2, 3, 0] / lean[2, 3, 2] == pytest.approx(-0.1)
    np.testing.assert_allclose(normals(np.zeros((4, 4), np.float32), 0.1)[..., 2], 1.0)
