"""What the living board is drawn from: tiles, film, sections, columns, pages' records."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.film.screen_tiles import Past, coarse, coarseness, screen_tile
from flushwork.bench.film.section_data import SANDED, column_data, section_data
from flushwork.bench.film.stills import CROP_MM, crop, still
from flushwork.bench.pages.whole_page import check, page_context, strip
from flushwork.checks.odds.variation import SANDING_SHARE
from flushwork.kernels.seen_layers import CUT_FLAKE
from flushwork.strata.palette import ShownColour
from flushwork.strata.section import section
from flushwork.strata.surfaces import TILE_CELLS, TileStack
from tests.small_jobs import made as made_of

FLAKE = {
    "teal": ShownColour((1.0, 1.0, 1.0), 0.4, flake=True, clear=False, scatter_per_mm=(20.0,) * 3)
}


def flat(height: float) -> np.ndarray[tuple[int, int], np.dtype[np.float32]]:
    return np.full((TILE_CELLS, TILE_CELLS), height, np.float32)


def test_pixels_are_as_fine_as_the_eye_and_the_card_bear() -> None:
    assert coarseness(125.0, 125.0, 0.1) == 2
    assert coarseness(125.0, 125.0, 0.5) == 1
    factor = coarseness(3000.0, 3000.0, 0.1)
    assert TILE_CELLS % factor == 0


def test_a_coarse_tile_keeps_the_mean() -> None:
    heights = np.random.default_rng(3).random((TILE_CELLS, TILE_CELLS)).astype(np.float32)
    small = coarse(heights, 4)
    assert small.shape == (TILE_CELLS // 4, TILE_CELLS // 4)
    assert small[0, 0] == pytest.approx(heights[:4, :4].mean(), rel=1e-5)
    assert small.mean() == pytest.approx(heights.mean(), rel=1e-5)


def test_flakes_flash_until_their_surface_is_sanded() -> None:
    past = Past()
    poured = screen_tile(TileStack(("wood", "teal"), (flat(-2.0), flat(0.4))), past, FLAKE, 1, None)
    sanded = screen_tile(
        TileStack(("wood", "teal"), (flat(-2.0), flat(-0.2))), past, FLAKE, 1, None
    )
    again = screen_tile(TileStack(("wood", "teal"), (flat(-2.0), flat(0.1))), past, FLAKE, 1, None)
    assert poured.shine[0, 0, 0] == 255
    assert sanded.shine[0, 0, 0] == round(255 * CUT_FLAKE)
    assert again.shine[0, 0, 0] == 255


def test_what_a_layer_hides_of_the_wood_follows_its_thickness() -> None:
    tile = TileStack(("wood", "teal"), (flat(-0.05), flat(0.0)))
    painted = screen_tile(tile, Past(), FLAKE, 1, None)
    # white that absorbs nothing, S X = 20 x 0.05: over black 1 / 2, over the tile's white wood 1
    assert painted.colour[0, 0, 3] == round(255 / 2)
    assert float(painted.heights[0, 0]) == 0.0


def test_the_film_holds_every_stage_and_shares_what_stays(snapshot: Snapshot) -> None:
    film, replay = snapshot.film, snapshot.made.replay
    assert [shot.stage for shot in film.shots] == [state.stage for state in replay.states]
    used = {number for shot in film.shots for number in shot.front.tiles.values()}
    used |= {number for shot in film.shots for number in shot.back.tiles.values()}
    assert used == set(range(len(film.tiles)))
    per_tile = film.side**2 * (2 + 4 + 4)
    assert len(film.pixels(range(len(film.tiles)))) == len(film.tiles) * per_tile
    assert len({frame.name for frame in film.tiles}) == len(film.tiles)
    assert film.shots[0].front.tiles == {}
    assert film.shots[-1].trimmed


def test_the_film_shows_the_heights_of_the_replay(snapshot: Snapshot) -> None:
    """Half precision keeps heights of this depth to 0.002 mm; one pixel is a mean of its cells."""
    film, made = snapshot.film, snapshot.made
    for shot in film.shots:
        cut = section(made.replay.after(shot.stage), film.spec, "front", (45.0, 35.0), (45.0, 35.0))
        column, row = int(45.0 / film.px_mm), int(35.0 / film.px_mm)
        key = (column // film.side, row // film.side)
        tile = shot.front.tiles.get(key)
        seen = (
            shot.front.plane_mm
            if tile is None
            else float(film.tiles[tile].screen.heights[row % film.side, column % film.side])
        )
        assert seen == pytest.approx(float(cut.near[-1][1][0]), abs=0.01)


def test_holes_are_seen_from_both_faces(snapshot: Snapshot) -> None:
    film = snapshot.film
    for face, x_mm in (("front", 15.0), ("back", 15.0)):
        shot = film.shots[-1].front if face == "front" else film.shots[-1].back
        column, row = int(x_mm / film.px_mm), int(35.0 / film.px_mm)
        tile = film.tiles[shot.tiles[(column // film.side, row // film.side)]].screen
        assert tile.shine[row % film.side, column % film.side, 2] == 255, face


def test_a_section_is_the_stratas_own(snapshot: Snapshot) -> None:
    made = snapshot.made
    last = made.replay.final.stage
    data = section_data(made, last, "front", (20.0, 35.0), (70.0, 35.0))
    names = [layer["material"] for layer in data["near"]]
    assert names[0] == "wood"
    assert "teal <script>alert(1)</script>" in names
    tops = np.array([layer["top"] for layer in data["near"]])
    assert np.all(np.diff(tops, axis=0) >= -1e-3)
    middle = len(data["positions"]) // 2
    finished = min(plane["mm"] for plane in data["planes"])
    assert tops[-1, middle] == pytest.approx(finished, abs=0.01)
    assert tops[0, middle] == pytest.approx(finished - 2.0, abs=0.02)


def test_a_column_names_what_lies_there_from_the_top(snapshot: Snapshot) -> None:
    last = snapshot.made.replay.final.stage
    inside = column_data(snapshot.made, last, "front", 45.0, 35.0)
    thick = next(layer["mm"] for layer in inside["layers"] if "teal" in layer["material"])
    assert thick == pytest.approx(2.0, abs=0.1)
    assert column_data(snapshot.made, last, "front", 15.0, 35.0)["hole"]
    assert column_data(snapshot.made, 0, "front", 45.0, 35.0)["wood_mm"] == pytest.approx(12.0)


def test_stills_are_pictures_of_the_face(snapshot: Snapshot) -> None:
    png = Image.open(io.BytesIO(still(snapshot, snapshot.film.shots[-1].stage, "front")))
    assert png.width / png.height == pytest.approx(90.0 / 70.0, rel=0.01)
    piece = np.asarray(Image.open(io.BytesIO(crop(snapshot, "front", 45.0, 35.0))).convert("RGB"))
    middle = piece[piece.shape[0] // 2, piece.shape[1] // 2]
    assert middle[0] < middle[1], "the middle of the plate is teal"
    corner = Image.open(io.BytesIO(crop(snapshot, "front", 0.0, 0.0)))
    assert corner.width == corner.height
    assert corner.width == pytest.approx(CROP_MM / 0.1, abs=2)


def test_the_strip_holds_the_stages_in_order_with_their_colours(snapshot: Snapshot) -> None:
    context = page_context(snapshot.made, "metric", coarse=False)
    stages = strip(context)
    assert [stage.number for stage in stages] == list(range(len(snapshot.made.plan.stages) + 1))
    fill = next(stage for stage in stages if stage.kind == "fill")
    assert fill.colour == snapshot.made.palette.mixes[fill_mix(snapshot)].hex
    assert all(pin.view.code for group in check(context) for pin in group.pins)


def fill_mix(snapshot: Snapshot) -> str:
    return snapshot.made.job.inlays[0].mix.name


def test_a_sanded_plane_tells_how_far_sandings_stray(snapshot: Snapshot) -> None:
    stage = snapshot.film.shots[-1].stage
    data = section_data(snapshot.made, stage, "front", (20.0, 35.0), (70.0, 35.0))
    sanded = [plane for plane in data["planes"] if plane["why"] == SANDED]
    taken = snapshot.made.job.allowances.sand_mm
    assert sanded
    assert sanded[0]["variation_mm"] == pytest.approx(2.0 * SANDING_SHARE * taken, abs=1e-4)
    assert all(plane["variation_mm"] == 0.0 for plane in data["planes"] if plane["why"] != SANDED)
    assert data["seams"] == []


def test_a_section_marks_the_edges_that_a_seam_line_hides(tmp_path: Path) -> None:
    text = """\
flushwork: 2
title: Seam
blank: {wood: sugar maple, length: 60 mm, width: 50 mm, thickness: 12 mm}
mixes: {teal: {resin: coating epoxy, pigments: [{name: deep teal flake, share: 3 %}]}}
front:
  inlays:
    - {name: plate, rectangle: 20 mm x 12 mm, depth: 2 mm, fill: teal}
    - {name: edge, seam line: {along: [plate], width: 1.6 mm, edges: all}, depth: 1 mm, fill: teal}
"""
    result = made_of(tmp_path, text)
    stage = result.plan.stages[-1].number
    seams = section_data(result, stage, "front", (10.0, 25.0), (50.0, 25.0))["seams"]
    assert [(each["at"], each["name"], each["mm"]) for each in seams] == [
        (pytest.approx(10.0, abs=0.02), "edge", 1.6),
        (pytest.approx(30.0, abs=0.02), "edge", 1.6),
    ]
    assert section_data(result, stage, "back", (10.0, 25.0), (50.0, 25.0))["seams"] == []
