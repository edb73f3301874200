from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Point

from flushwork.job.records import FACES
from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.measure import least_wood_between_faces
from flushwork.strata.replay import replay
from flushwork.strata.steps import Coat, CutStep, Fill, Kerf, Plane, ReplayStep, Seal
from flushwork.strata.surfaces import TILE_CELLS
from flushwork.strata.tiles import Window, grid, layers, surface, wood_between
from flushwork.toolpaths.moves import Move, MoveKind, Program
from tests.strata.hand_made import (
    FLAT,
    board,
    cut,
    inlay_volume_mm3,
    many,
    pocket_path,
    rectangle,
    run,
)

SMALL = pocket_path(8, 6, FLAT.radius_mm, (-2.0,))
HERE = Window(150, 150, 1, 1)


def test_nothing_to_do_leaves_an_untouched_blank() -> None:
    replayed = replay(board(), [])
    assert [state.stage for state in replayed.states] == [0]
    assert replayed.final.front.tiles == {}
    assert [entry.thickness_mm for entry in replayed.thickness_table] == [19.0, 19.0]


def test_an_empty_program_changes_nothing() -> None:
    empty = CutStep("front", "empty", Program((0, 0, 5), ()), FLAT, (0, 0), 0.0)
    replayed = run(board(), empty)
    assert replayed.final.front.tiles == {}
    assert replayed.cuts[0].removed_mm3.shape == (0,)
    assert replayed.cuts[0].bite_at.shape == (0, 2)


def test_a_move_off_the_blank_removes_nothing() -> None:
    replayed = run(board(), cut(FLAT, [(-20.0, -20.0, -3.0), (-20.0, 90.0, -3.0)]))
    assert replayed.final.front.tiles == {}
    assert replayed.cuts[0].removed_mm3.sum() == 0.0


def test_a_cut_over_the_edge_counts_only_what_is_on_the_blank() -> None:
    report = run(board(), cut(FLAT, [(0.0, 30.0, -1.0)])).cuts[0]
    assert report.removed_mm3.sum() == pytest.approx(math.pi * FLAT.radius_mm**2 / 2.0, rel=5e-3)


def test_dwells_and_rapids_have_their_place_in_the_report() -> None:
    moves = (
        Move(MoveKind.RAPID, 20.0, 20.0, 5.0),
        Move(MoveKind.FEED, 20.0, 20.0, -1.0),
        Move(MoveKind.DWELL, 20.0, 20.0, -1.0, dwell_s=1.0),
        Move(MoveKind.RAPID, 40.0, 20.0, -0.5),
    )
    made = CutStep("front", "slip", Program((0, 0, 5), moves), FLAT, (0, 0), 0.0)
    report = run(board(), made).cuts[0]
    assert list(report.removed_mm3 > 0.0) == [False, True, False, True]
    assert report.bite_mm[1] == pytest.approx(1.0)
    assert report.bite_mm[3] == pytest.approx(1.0, abs=0.03)  # it starts 1 mm deep, rising
    assert np.isnan(report.bite_at[2]).all()
    x, y = report.bite_at[1]
    assert math.hypot(x - 20.0, y - 20.0) < FLAT.radius_mm


def test_a_second_run_of_the_same_file_removes_nothing() -> None:
    made = cut(FLAT, SMALL, shift=(12.03, 12.07))
    first, second = run(board(), made, made).cuts
    assert second.removed_mm3.sum() < 0.03 * first.removed_mm3.sum()


def test_passes_along_a_wall_do_not_deepen_its_edge() -> None:
    deep = pocket_path(8, 6, FLAT.radius_mm, (-0.5, -1.0, -1.5, -2.0, -2.0, -2.0))
    once = run(board(), cut(FLAT, SMALL, shift=(12.03, 12.07)))
    often = run(board(), cut(FLAT, deep, shift=(12.03, 12.07)))
    window = grid(board())
    np.testing.assert_allclose(
        surface(often.final.front, window, 0), surface(once.final.front, window, 0), atol=1e-6
    )


def test_snapshots_share_the_tiles_that_did_not_change() -> None:
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(2, 2)),
        cut(FLAT, SMALL, shift=(50, 40)),
        Fill("front", "b", "teal", rectangle(50, 40, 58, 46), 0.0, 0.0, 1.0),
        Coat("front", "varnish", 0.05),
    )
    first, second, third, fourth = (state.front for state in replayed.states[1:])
    assert set(first.tiles) == {(0, 0)}
    assert second.tiles[0, 0] is first.tiles[0, 0]
    assert third.tiles[0, 0] is first.tiles[0, 0]
    assert third.tiles[4, 3] is not second.tiles[4, 3]
    assert all(fourth.tiles[key] is tile for key, tile in third.tiles.items())
    assert replayed.states[0].front.tiles == {}
    with pytest.raises(ValueError, match="read-only"):
        third.tiles[0, 0].heights[0][0, 0] = 1.0


def test_levelling_above_the_wood_leaves_untouched_tiles_absent() -> None:
    passes = [[(-5.0, 1.0 + 2.0 * n, 0.1), (85.0, 1.0 + 2.0 * n, 0.1)] for n in range(30)]
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(2, 2)),
        Fill("front", "a", "teal", rectangle(2, 2, 10, 8), 0.4, 1.0, 1.0),
        cut(FLAT, *passes),
    )
    assert set(replayed.final.front.tiles) == {(0, 0)}
    assert float(replayed.final.front.tiles[0, 0].heights[-1].max()) == pytest.approx(0.1)
    assert replayed.cuts[1].resin_mm3 == pytest.approx(replayed.cuts[1].removed_mm3.sum())
    assert replayed.cuts[1].removed_mm3.sum() == pytest.approx(
        0.3 * (8 * 6 + 2 * 14 + math.pi), rel=5e-3
    )


def test_layers_lie_in_the_order_they_were_added() -> None:
    region = rectangle(12, 12, 20, 18)
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(12, 12)),
        Seal("front", (region,), "shellac", 0.03),
        Fill("front", "a", "teal", region, -0.5, 0.0, 1.0),
        Fill("front", "a", "clear", region, 0.2, 1.0, 1.0),
    )
    found = layers(replayed.final.front, HERE)
    assert found.materials == ("wood", "shellac", "teal", "clear")
    np.testing.assert_allclose(found.heights[:, 0, 0], [-2.0, -1.97, -0.5, 0.2], atol=1e-5)
    rim = layers(replayed.final.front, Window(115, 150, 1, 1))
    np.testing.assert_allclose(np.diff(rim.heights[:, 0, 0]), [0.0, 0.0, 0.2], atol=1e-5)


def test_sealer_keeps_to_the_cut_floors() -> None:
    wide = rectangle(5, 5, 30, 30)
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(12, 12)),
        Seal("front", (wide,), "shellac", 0.02),
    )
    area = 48.0 - (4.0 - math.pi) * FLAT.radius_mm**2
    film = inlay_volume_mm3(replayed.final.front, replayed.spec, "shellac")
    assert film == pytest.approx(0.02 * area, rel=0.1)


def test_a_cut_through_two_layers_takes_from_each() -> None:
    region = rectangle(12, 12, 20, 18)
    hole = Bit("2 mm", BitKind.FLAT, 2.0, 9)
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(12, 12)),
        Fill("front", "a", "teal", region, -1.0, 0.0, 1.0),
        Fill("front", "a", "clear", region, 0.0, 0.0, 1.0),
        cut(hole, [(16.0, 15.0, -2.5)]),
    )
    before, after = replayed.after(3).front, replayed.final.front
    disc = math.pi
    for material, height in (("teal", 1.0), ("clear", 1.0)):
        lost = inlay_volume_mm3(before, replayed.spec, material) - inlay_volume_mm3(
            after, replayed.spec, material
        )
        assert lost == pytest.approx(height * disc, rel=5e-3)
    report = replayed.cuts[-1]
    assert report.removed_mm3.sum() == pytest.approx(2.5 * disc, rel=5e-3)
    assert report.resin_mm3 == pytest.approx(2.0 * disc, rel=5e-3)


def test_planes_keep_the_thickness_table_and_drop_bare_tiles() -> None:
    replayed = run(
        board(),
        cut(FLAT, pocket_path(8, 6, FLAT.radius_mm, (-0.4,)), shift=(12, 12)),
        Plane("front", -0.5, "surfaced"),
        Plane("back", -0.3, "surfaced"),
        Plane("front", -0.4, "milled flush"),
    )
    assert replayed.after(2).front.tiles == {}
    assert [(e.face, e.why, e.face_mm) for e in replayed.thickness_table[2:]] == [
        ("front", "surfaced", -0.5),
        ("back", "surfaced", -0.3),
        ("front", "milled flush", -0.5),
    ]
    assert replayed.thickness_table[-1].thickness_mm == pytest.approx(18.2)


def test_a_plane_without_wood_takes_only_what_is_proud() -> None:
    region = rectangle(12, 12, 20, 18)
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(12, 12)),
        Fill("front", "a", "teal", region, 0.4, 1.0, 1.0),
        Plane("front", 0.15, "milled flush", wood=False),
        Plane("front", -0.2, "scraped", wood=False),
    )
    assert replayed.final.front.plane_mm == 0.0
    tops = [float(surface(state.front, HERE, -1)[0, 0]) for state in replayed.states[2:]]
    np.testing.assert_allclose(tops, [0.4, 0.15, -0.2], atol=1e-6)
    assert float(surface(replayed.final.front, Window(115, 150, 1, 1), -1)[0, 0]) == 0.0


def test_sanding_flush_leaves_no_resin_on_the_wood() -> None:
    region = rectangle(12, 12, 20, 18)
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(12, 12)),
        Fill("front", "a", "teal", region, 0.4, 1.0, 0.97),
        Plane("front", -0.7, "sanded"),
    )
    top, wood = (surface(replayed.final.front, grid(board()), layer) for layer in (-1, 0))
    assert float(top.max()) == np.float32(-0.7)
    rim = many(Point(11.5, 15.0).buffer(0.2))
    assert inlay_volume_mm3(replayed.final.front, replayed.spec, "teal", rim) == 0.0
    assert np.all(top >= wood)


def test_the_same_mix_twice_is_one_layer() -> None:
    region, other = rectangle(12, 12, 20, 18), rectangle(30, 12, 38, 18)
    replayed = run(
        board(length_mm=12.8 * 4),
        cut(FLAT, SMALL, shift=(12, 12)),
        Fill("front", "a", "teal", region, -1.0, 0.0, 1.0),
        Fill("front", "a", "teal", region, 0.0, 0.0, 1.0),
        cut(FLAT, SMALL, shift=(30, 12)),
        Fill("front", "b", "red", other, 0.0, 0.0, 1.0),
        cut(FLAT, [(26.0, 15.0, -1.0)]),
        Fill("front", "c", "teal", many(Point(26.0, 15.0).buffer(1.6)), 0.0, 0.0, 1.0),
    )
    for tile in replayed.final.front.tiles.values():
        assert len(set(tile.materials)) == len(tile.materials)


@pytest.mark.parametrize("turn_about_x", [True, False])
def test_the_wood_between_is_found_where_the_faces_meet(turn_about_x: bool) -> None:
    spec = board(turn_about_x=turn_about_x)
    x, y = 20.0, 14.0
    back = (x, 60.0 - y) if turn_about_x else (80.0 - x, y)
    replayed = run(
        spec,
        cut(FLAT, [(x, y, -8.0)]),
        cut(FLAT, [(*back, -7.0)], face="back"),
    )
    for face, place in zip(FACES, ((x, y), back), strict=True):
        found = least_wood_between_faces(replayed.final, spec, face=face)
        assert found is not None
        assert found.wood_between_mm == pytest.approx(4.0, abs=1e-5)
        assert math.hypot(found.x_mm - place[0], found.y_mm - place[1]) < FLAT.radius_mm


def test_the_wood_between_on_a_blank_of_no_whole_cells() -> None:
    spec = board(cell_mm=0.07, length_mm=33.33, width_mm=22.22)
    replayed = run(
        spec, cut(FLAT, [(20.0, 14.0, -8.0)]), cut(FLAT, [(20.0, 8.22, -7.0)], face="back")
    )
    found = least_wood_between_faces(replayed.final, spec)
    assert found is not None
    assert found.wood_between_mm == pytest.approx(4.0, abs=1e-5)
    both = wood_between(spec, replayed.final.front, replayed.final.back, grid(spec))
    assert np.count_nonzero(both < 11.5) * 0.07**2 == pytest.approx(math.pi * 1.5875**2, rel=0.02)


@pytest.mark.parametrize("turn_about_x", [True, False])
def test_a_hole_right_through_erases_both_faces(turn_about_x: bool) -> None:
    spec = board(turn_about_x=turn_about_x)
    back = (20.0, 46.0) if turn_about_x else (60.0, 14.0)
    pocket = pocket_path(8, 6, FLAT.radius_mm, (-2.0,))
    corner = (back[0] - 4.0, back[1] - 3.0)
    region = rectangle(*corner, corner[0] + 8.0, corner[1] + 6.0)
    drill = Bit("2 mm", BitKind.FLAT, 2.0, 9)
    replayed = run(
        spec,
        cut(FLAT, pocket, face="back", shift=corner),
        Fill("back", "b", "teal", region, 0.0, 0.0, 1.0),
        cut(drill, [(20.0, 14.0, -20.0)]),
    )
    lost = inlay_volume_mm3(replayed.after(2).back, spec, "teal") - inlay_volume_mm3(
        replayed.final.back, spec, "teal"
    )
    assert lost == pytest.approx(2.0 * math.pi, rel=0.06)
    report = replayed.cuts[-1]
    # what lies below the board is air
    assert report.removed_mm3.sum() == pytest.approx(19.0 * math.pi, rel=5e-3)
    assert report.bite_mm.max() == pytest.approx(19.0, abs=1e-4)
    column = layers(replayed.final.back, Window(int(back[0] * 10), int(back[1] * 10), 1, 1))
    assert np.ptp(column.heights[1:] - column.heights[:1]) == 0.0


def test_nothing_is_cut_or_poured_in_a_hole() -> None:
    region = many(Point(20.0, 14.0).buffer(0.5))
    drill = Bit("2 mm", BitKind.FLAT, 2.0, 9)
    replayed = run(
        board(),
        cut(drill, [(20.0, 14.0, -20.0)]),
        Fill("front", "a", "teal", region, 0.0, 0.0, 1.0),
        cut(Bit("1 mm", BitKind.FLAT, 1.0, 9), [(20.0, 46.0, -3.0)], face="back"),
    )
    assert replayed.poured[0].pocket_mm3 == 0.0
    assert replayed.cuts[-1].removed_mm3.sum() == 0.0


def test_trimming_removes_the_kerf_down_to_the_far_face_and_leaves_tabs() -> None:
    across = [(30.0, -3.0, -20.0), (30.0, 20.0, -20.0), (30.0, 20.0, -17.0)]
    across += [(30.0, 26.0, -17.0), (30.0, 26.0, -20.0), (30.0, 63.0, -20.0)]
    replayed = run(board(), cut(FLAT, across))
    left = wood_between(board(), replayed.final.front, replayed.final.back, Window(300, 0, 1, 600))
    assert np.count_nonzero(left <= 0.0) == pytest.approx(600 - 60 + 2 * 15.875, abs=3)
    assert float(left.max()) == pytest.approx(2.0, abs=1e-4)
    assert replayed.cuts[0].removed_mm3.sum() == pytest.approx(
        3.175 * (60.0 * 17.0 + 2.0 * (60.0 - 6.0)) + 2.0 * math.pi * FLAT.radius_mm**2, rel=5e-3
    )


def test_a_saw_kerf_erases_the_whole_thickness() -> None:
    region = rectangle(12, 12, 20, 18)
    replayed = run(
        board(),
        cut(FLAT, SMALL, face="back", shift=(12, 60 - 18)),
        Fill("back", "a", "teal", rectangle(12, 42, 20, 48), 0.2, 1.0, 1.0),
        Kerf("front", rectangle(-1, 14, 81, 16)),
    )
    left = wood_between(board(), replayed.final.front, replayed.final.back, grid(board()))
    assert np.count_nonzero(left <= 0.0) == 800 * 20
    before, after = (
        inlay_volume_mm3(state.back, replayed.spec, "teal", rectangle(12, 44, 20, 46))
        for state in replayed.states[2:4]
    )
    assert before > 30.0
    assert after == 0.0
    assert region.area > 0.0


def test_origin_and_zero_place_a_file_on_its_face() -> None:
    made = cut(FLAT, [(0.0, 0.0, -1.0)])
    placed = CutStep("front", "p", made.program, FLAT, (40.0, 30.0), -0.5)
    replayed = run(board(), Plane("front", -0.5, "surfaced"), placed)
    heights = surface(replayed.final.front, Window(400, 300, 1, 1), 0)
    assert float(heights[0, 0]) == pytest.approx(-1.5)
    assert replayed.cuts[0].bite_mm.max() == pytest.approx(1.0, abs=1e-6)


def test_tiles_are_squares_of_cells() -> None:
    replayed = run(board(), cut(FLAT, SMALL, shift=(12.8 * 2 - 4, 12.8 - 3)))
    assert set(replayed.final.front.tiles) == {(1, 0), (2, 0), (1, 1), (2, 1)}
    for tile in replayed.final.front.tiles.values():
        assert tile.heights[0].shape == (TILE_CELLS, TILE_CELLS)
        assert tile.heights[0].dtype == np.float32


def test_fills_leave_poured_in_order() -> None:
    region = rectangle(12, 12, 20, 18)
    steps = [
        ReplayStep(4, (cut(FLAT, SMALL, shift=(12, 12)),)),
        ReplayStep(
            7,
            (
                Fill("front", "a", "teal", region, -1.0, 0.0, 0.5),
                Fill("front", "a", "clear", region, 0.0, 0.0, 1.0),
            ),
        ),
    ]
    replayed = replay(board(), steps)
    assert [(p.stage, p.mix) for p in replayed.poured] == [(7, "teal"), (7, "clear")]
    # the first shrank to half a millimetre, so the second takes one and a half
    assert replayed.poured[1].greatest_mm == pytest.approx(1.5, abs=1e-5)
    assert [state.stage for state in replayed.states] == [0, 4, 7]


@pytest.mark.parametrize("shift", [0.0, 0.02, 0.05])
def test_pockets_that_meet_leave_no_ridge(shift: float) -> None:
    one = Bit("1 mm", BitKind.FLAT, 1.0, 9)
    lines = [[(20.0, y + shift, z), (40.0, y + shift, z)] for z in (-0.5, -1.0) for y in (20, 21)]
    report = run(board(), cut(one, *lines)).cuts[0]
    truth = 20.0 * 2.0 + 2.0 * math.pi / 4.0
    assert report.removed_mm3.sum() == pytest.approx(truth, rel=3e-3)


def test_surfaces_keep_their_order_where_walls_of_two_depths_meet() -> None:
    region = rectangle(12, 12, 20, 18)
    one = Bit("1 mm", BitKind.FLAT, 1.0, 9)
    replayed = run(
        board(),
        cut(FLAT, SMALL, shift=(12, 12)),
        Fill("front", "a", "teal", region, -1.0, 0.0, 1.0),
        Fill("front", "a", "clear", region, 0.0, 0.0, 1.0),
        cut(one, [(11, 14.52, -2.5), (22, 14.52, -2.5)], [(11, 15.5, -1.2), (22, 15.5, -1.2)]),
    )
    stack = layers(replayed.final.front, grid(board()))
    assert np.all(np.diff(stack.heights, axis=0) >= 0.0)
