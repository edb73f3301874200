from __future__ import annotations

import numpy as np
import pytest

from flushwork.colour.spaces import decode, encode, parse_hex, to_linear
from flushwork.job.records import FaceName
from flushwork.strata.look import Picture, WoodLook, looks, slopes, srgb_bytes
from flushwork.strata.palette import ShownColour
from flushwork.strata.steps import Coat, Fill, Plane
from flushwork.strata.surfaces import Replay
from flushwork.strata.tiles import Window
from tests.strata.hand_made import FLAT, board, cut, pocket_path, rectangle, run

WOOD = WoodLook("#a9683f", "#6f3d22")


def shown(colour: str, scatter: float, *, flake: bool = False) -> ShownColour:
    return ShownColour(parse_hex(colour), 0.6, flake, clear=False, scatter_per_mm=(scatter,) * 3)


SWATCHES = {
    "teal": shown("#0b6a72", 40.0),
    "thin": shown("#ffffff", 1.0),
}
POCKET = pocket_path(12, 8, FLAT.radius_mm, (-2.0,))
REGION = rectangle(12, 12, 24, 20)


def picture(replayed: Replay, face: FaceName = "front", mm_per_px: float = 0.2) -> Picture:
    return looks(replayed.final, replayed.spec, face, WOOD, SWATCHES, mm_per_px=mm_per_px)[0]


def pixel(seen: Picture, x: float, y: float, mm_per_px: float = 0.2) -> list[int]:
    """Return the colour at a place on the face; the first row is the far edge."""
    row = seen.shape[0] - 1 - int(y / mm_per_px)
    value: list[int] = seen[row, int(x / mm_per_px)].tolist()
    return value


def filled(mix: str) -> Replay:
    return run(
        board(),
        cut(FLAT, POCKET, shift=(12, 12)),
        Fill("front", "a", mix, REGION, 0.3, 1.0, 1.0),
        Plane("front", 0.0, "sanded"),
    )


def test_a_thick_fill_shows_its_own_colour_where_it_lies() -> None:
    seen = picture(filled("teal"))
    assert seen.shape == (300, 400, 4)
    assert seen.dtype == np.uint8
    np.testing.assert_allclose(pixel(seen, 18.0, 16.0), [0x0B, 0x6A, 0x72, 255], atol=6)
    red, green, blue, alpha = pixel(seen, 40.0, 40.0)
    assert red > green > blue
    assert alpha == 255


def test_hiding_follows_the_thickness() -> None:
    """White that absorbs nothing, S X = 2: R = (2 + Rg (1 - 2)) / (1 + 2 - 2 Rg) over a ground Rg.

    Kubelka 1948 (from memory), in linear light, before shading.
    """
    red = pixel(picture(filled("thin")), 18.0, 16.0)[0]
    bare = picture(run(board()))
    ground = decode(pixel(bare, 18.0, 16.0)[0] / 255.0)
    expected = 255.0 * encode((2.0 - ground) / (3.0 - 2.0 * ground))
    assert red == pytest.approx(expected, abs=5)


def test_clear_over_colour_stays_that_colour() -> None:
    replayed = run(
        board(),
        cut(FLAT, POCKET, shift=(12, 12)),
        Fill("front", "a", "teal", REGION, -0.5, 0.0, 1.0),
        Fill("front", "a", "water clear", REGION, 0.0, 0.0, 1.0),
    )
    red, green, blue, _ = pixel(picture(replayed), 18.0, 16.0)
    assert green == pytest.approx(0x6A, abs=14)
    assert blue == pytest.approx(0x72, abs=14)
    assert red < 40


def test_holes_and_what_lies_outside_the_outline_are_transparent() -> None:
    replayed = run(board(), cut(FLAT, [(20.0, 20.0, -20.0)]))
    (seen,) = looks(
        replayed.final,
        replayed.spec,
        "front",
        WOOD,
        {},
        mm_per_px=0.2,
        within=rectangle(5, 5, 75, 55),
    )
    assert pixel(seen, 20.0, 20.0)[3] == 0
    assert pixel(seen, 2.0, 30.0)[3] == 0
    assert pixel(seen, 30.0, 30.0)[3] == 255
    assert pixel(picture(replayed, "back"), 20.0, 40.0)[3] == 0


def test_a_recess_reads_by_its_shadow() -> None:
    replayed = run(board(), cut(FLAT, POCKET, shift=(12, 12)))
    shadow, floor = (sum(pixel(picture(replayed), *at)[:3]) for at in ((18.0, 19.5), (18.0, 14.0)))
    assert shadow < 0.8 * floor


def test_a_finish_deepens_the_wood() -> None:
    bare, finished = run(board()), run(board(), Coat("front", "varnish", 0.08))
    assert picture(finished)[..., :3].mean() < picture(bare)[..., :3].mean()


def test_the_same_board_looks_the_same_each_time() -> None:
    replayed = filled("teal")
    np.testing.assert_array_equal(picture(replayed), picture(replayed))


@pytest.mark.parametrize("mm_per_px", [0.05, 0.1, 0.37, 2.0])
def test_any_size_of_pixel(mm_per_px: float) -> None:
    seen = picture(filled("teal"), mm_per_px=mm_per_px)
    assert seen.shape == (round(60 / mm_per_px), round(80 / mm_per_px), 4)
    np.testing.assert_allclose(pixel(seen, 18.0, 16.0, mm_per_px)[:3], [0x0B, 0x6A, 0x72], atol=30)


def test_grain_runs_with_the_board() -> None:
    def roughness(along_x: bool) -> tuple[float, float]:
        wood = WoodLook("#a9683f", "#6f3d22", grain_along_x=along_x)
        replayed = run(board())
        (seen,) = looks(replayed.final, replayed.spec, "front", wood, {}, mm_per_px=0.2)
        grey = seen[..., :3].mean(axis=2)
        return float(np.abs(np.diff(grey, axis=1)).mean()), float(
            np.abs(np.diff(grey, axis=0)).mean()
        )

    along, across = roughness(True)
    assert along < 0.6 * across
    along, across = roughness(False)
    assert across < 0.6 * along


@pytest.mark.parametrize("colour", ["", "red", "#12345", "#12345g", "#+1+2+3"])
def test_a_colour_that_is_none_is_refused(colour: str) -> None:
    with pytest.raises(ValueError, match="#rrggbb"):
        parse_hex(colour)


def test_srgb_there_and_back() -> None:
    colours = ["#000000", "#ffffff", "#0b6a72", "#010203", "#a9683f"]
    for colour in colours:
        light = np.array(to_linear(parse_hex(colour)), np.float32)
        back = "#{:02x}{:02x}{:02x}".format(*srgb_bytes(light))
        assert back == colour


def test_a_flake_flashes_alike_in_every_piece_of_the_face() -> None:
    poured = Fill("front", "a", "flake", REGION, 0.3, 1.0, 1.0)
    replayed = run(board(), cut(FLAT, POCKET, shift=(12, 12)), poured)
    swatches = {"flake": shown("#0b6a72", 40.0, flake=True)}
    part = Window(61, 57, 50, 40)
    whole, piece = (
        looks(replayed.final, replayed.spec, "front", WOOD, swatches, mm_per_px=0.2, part=window)[0]
        for window in (None, part)
    )
    rows = slice(len(whole) - part.row - part.rows, len(whole) - part.row)
    same = whole[rows, part.column : part.column + part.columns].astype(int)
    inner = (slice(10, -10), slice(10, -10))
    assert np.std(same[inner][..., 1]) > 3.0, "flakes"
    # but for the lamp, which falls off by 2 % across each picture
    assert np.abs(piece[inner].astype(int) - same[inner]).max() <= 6


def test_a_pixel_needs_a_size() -> None:
    with pytest.raises(ValueError, match="positive"):
        picture(run(board()), mm_per_px=0.0)


def test_a_tilted_plane_rises_along_both_its_sides() -> None:
    rise = np.add.outer(0.2 * np.arange(6), 0.1 * np.arange(8)).astype(np.float32)
    across, up = slopes(rise, 1.0)
    assert across[2, 3] == pytest.approx(0.1)
    assert up[2, 3] == pytest.approx(0.2)
