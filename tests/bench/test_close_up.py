"""Close up: tiles down to the replay's own cell, and edges drawn from outlines."""

from __future__ import annotations

import json
import random
from hashlib import blake2b
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page
from scipy.ndimage import median_filter

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.sketch import sketched
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.film.close_tiles import CloseTiles
from flushwork.bench.film.cut_lines import CUT, TRIMMED, lines_of, outlines
from flushwork.bench.film.film import Film, FilmTile, film_of, repainted
from flushwork.built import Build
from flushwork.job.records import FaceName
from flushwork.kernels.seen_layers import THIN_MM
from flushwork.pipeline import build
from flushwork.strata.planes import HOLE_MM, other_name
from flushwork.strata.surfaces import TILE_CELLS, BoardState
from flushwork.strata.tiles import grid, layers, wood_between
from tests.bench.conftest import AT_REST, Served, ask, keep
from tests.many import examples

JOB = """\
flushwork: 2
title: Any
blank: {{wood: sugar maple, length: 70 mm, width: 50 mm, thickness: 12 mm}}
trim line: {{{trim}}}
mixes:
  dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
  pale: {{resin: coating epoxy, pigments: [ivory powder]}}
front:
  inlays:
    - {{name: plate, {shape}, turn: {turn} deg, at: [{right} mm, 2 mm], depth: {depth} mm,
       fill: dark, how: {how}}}
    - {{name: band, rectangle: 34 mm x 4 mm, at: [{right} mm, 3 mm], depth: 0.8 mm, fill: pale,
       after: [plate]}}
  holes:
    - {{name: pegs, points: [[-20 mm, -10 mm], [20 mm, -10 mm]], diameter: 3.175 mm, depth: {deep}}}
back:
  inlays:
    - {{name: spot, circle: 8 mm, at: [-16 mm, 8 mm], depth: 1.5 mm, fill: dark}}
"""


@st.composite
def jobs(draw: st.DrawFn) -> str:
    """Return a small board of two faces, with any inlay, holes and trim line."""
    return JOB.format(
        trim=draw(st.sampled_from(["rectangle: 60 mm x 40 mm, round: 5 mm", "circle: 44 mm"])),
        shape=draw(
            st.sampled_from(
                [
                    "circle: 17.3 mm",
                    "rectangle: 18 mm x 12 mm, round: 2 mm",
                    "rectangle: 15 mm x 9 mm",
                    "ring: {outside: 18 mm, inside: 12 mm}",
                    "polygon: {sides: 5, diameter: 20 mm, inner: 11 mm}",
                ]
            )
        ),
        turn=draw(st.integers(0, 89)),
        right=draw(st.sampled_from(["0", "1.37", "-2"])),
        depth=draw(st.sampled_from(["1.2", "2", "3"])),
        how=draw(st.sampled_from(["overfilled", "scraped flush", "scraped flush and capped"])),
        deep=draw(st.sampled_from(["through", "5 mm"])),
    )


class Filmed(NamedTuple):
    """A job built, and its film."""

    made: Build
    film: Film

    def state(self, stage: int) -> BoardState:
        return self.made.replay.after(stage)


def built_of(folder: Path, text: str) -> Filmed:
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    made = build(path, check=False)
    return Filmed(made, film_of(made))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("any")


FACES: tuple[FaceName, FaceName] = ("front", "back")


A_HAIR_LEFT = JOB.format(
    trim="rectangle: 60 mm x 40 mm, round: 5 mm",
    shape="polygon: {sides: 5, diameter: 20 mm, inner: 11 mm}",
    turn=85, right=0, depth=2, how="overfilled", deep="through",
)  # fmt: skip
"""Between the ways in its arms a hair of wood is left, one cell wide: no wall."""


@given(text=jobs(), seed=st.integers(0, 1000))
@example(text=A_HAIR_LEFT, seed=0)
@settings(max_examples=examples(3), deadline=None)
def test_a_tile_close_up_shows_the_columns_of_the_replay_and_edges_lie_on_outlines(
    folder: Path, text: str, seed: int
) -> None:
    """At random places of every stage; and no wall of the replay is without an outline."""
    filmed, lots = built_of(folder, text), random.Random(seed)  # noqa: S311
    spec = filmed.film.spec
    looked_at: dict[int, object] = {}
    assert spec.cell_mm < filmed.film.px_mm
    for shot in filmed.film.shots:
        state = filmed.state(shot.stage)
        for name in FACES:
            face, other = state.face(name), state.face(other_name(name))
            if id(face) in looked_at or not face.tiles:
                continue
            looked_at[id(face)] = face
            seen = layers(face, grid(spec))
            wood = wood_between(spec, face, other, grid(spec))
            held = getattr(shot, name).tiles
            for key, number in lots.sample(sorted(held.items()), min(2, len(held))):
                tile = filmed.film.tiles[number]
                whole, half = tile.closely(1), tile.closely(2)
                own = tile.tile.heights[-1]
                assert np.array_equal(
                    half.heights,
                    own.reshape(TILE_CELLS // 2, 2, TILE_CELLS // 2, 2)
                    .mean(axis=(1, 3), dtype=np.float64)
                    .astype(np.float32)
                    .astype(np.float16),
                )
                for _ in range(40):
                    row, column = lots.randrange(TILE_CELLS), lots.randrange(TILE_CELLS)
                    up, right = key[1] * TILE_CELLS + row, key[0] * TILE_CELLS + column
                    if up >= grid(spec).rows or right >= grid(spec).columns:
                        continue
                    heights = seen.heights[:, up, right]
                    assert whole.heights[row, column] == np.float16(heights[-1])
                    thick = float(heights[-1] - heights[0])
                    if thick <= THIN_MM:
                        assert whole.colour[row, column, 3] == 0
                    elif thick > 0.3:
                        assert whole.colour[row, column, 3] > 0
                    void = bool(wood[up, right] <= HOLE_MM)
                    assert whole.shine[row, column, 2] == (255 if void else 0)
            walls_lie_on_outlines(filmed, shot.stage, name)


def walls_lie_on_outlines(filmed: Filmed, stage: int, name: FaceName) -> None:
    spec = filmed.film.spec
    seen = layers(filmed.state(stage).face(name), grid(spec))
    # a hair between two ways of the bit, one cell wide, is no wall
    top = median_filter(seen.heights[-1], 3)
    edge = np.zeros(top.shape, np.bool_)
    # what is on top: a layer under another shows no edge
    layer = np.zeros(top.shape, np.float32)
    for material, thick in zip(seen.materials[1:], np.diff(seen.heights, axis=0), strict=True):
        layer[thick > 0.05] = seen.materials.index(material)
    for flat, least in ((top, 0.4), (layer, 0.5)):
        edge[:, :-1] |= np.abs(np.diff(flat, axis=1)) > least
        edge[:-1] |= np.abs(np.diff(flat, axis=0)) > least
    rows, columns = np.nonzero(edge)
    if not len(rows):
        return
    told = [
        shapely.linestrings(each.points)
        for each in lines_of(filmed.made, name)
        if each.since <= stage < each.until
    ]
    assert told, "something was cut before anything was told of it"
    lines = shapely.union_all(np.asarray(told))
    at = np.stack([columns + 1, rows + 1], axis=1) * spec.cell_mm
    shapely.prepare(lines)
    near = np.asarray(shapely.dwithin(np.asarray(shapely.points(at)), lines, 2.0 * spec.cell_mm))
    # where the rounded ends of a groove's tabs stand there is no straight wall
    assert near.mean() > 0.995, (near.mean(), at[~near][:5])


def test_outlines_are_told_by_what_they_are_and_since_when(folder: Path) -> None:
    text = JOB.format(
        trim="rectangle: 60 mm x 40 mm", shape="rectangle: 18 mm x 12 mm", turn=0, right=0,
        depth=2, how="overfilled", deep="through",
    )  # fmt: skip
    made = built_of(folder, text).made
    front, back = outlines(made, "front"), outlines(made, "back")
    assert [each.kind for each in front] == [CUT, CUT, CUT, CUT, CUT, TRIMMED, CUT]
    plate, over = front[0].region, front[1].region
    bit = min(made.fit("plate").bits, key=lambda each: each.diameter_mm)
    assert 18 * 12 - plate.area == pytest.approx((4 - np.pi) * bit.radius_mm**2, rel=0.02)
    assert over.contains(plate)
    mill = next(each.number for each in made.plan.stages if "plate" in each.subjects)
    assert front[0].since == mill
    pegs = [each.region for each in back if each.kind == CUT]
    holes = next(each for each in pegs if len(each.geoms) == 2)
    assert holes.area == pytest.approx(2 * np.pi * (3.175 / 2.0) ** 2, rel=0.001)
    for hole in holes.geoms:
        assert hole.centroid.y == pytest.approx(35.0), "it opens on the other side, mirrored"


def test_a_depth_that_is_tried_is_seen_close_up_as_well(folder: Path) -> None:
    text = JOB.format(
        trim="circle: 44 mm", shape="circle: 17 mm", turn=0, right=0, depth=2,
        how="overfilled", deep="5 mm",
    )  # fmt: skip
    filmed = built_of(folder, text)
    sketch = sketched(filmed.made, "front", 0, 1.1)
    assert sketch is not None
    film = repainted(filmed.film, sketch.moved, "front")
    fresh = film.tiles[len(filmed.film.tiles) :]
    assert fresh
    for tile in fresh[:4]:
        assert np.array_equal(tile.closely(1).heights, tile.tile.heights[-1].astype(np.float16))
    assert not any(tile.painted for tile in fresh), "nothing is kept of what is seen close up"


@pytest.fixture(scope="module")
def lid(snapshot: Snapshot) -> list[FilmTile]:
    return list(snapshot.film.tiles)


def test_close_tiles_go_by_the_hash_of_their_bytes_and_take_up_no_more_than_allowed(
    lid: list[FilmTile],
) -> None:
    roomy, narrow = CloseTiles(), CloseTiles(most_bytes=3000)
    names = roomy.names(lid, 1)
    assert narrow.names(lid, 1) == names, "whoever makes them calls them the same"
    assert 0 < narrow.held_bytes <= 3000 < roomy.held_bytes
    for name, tile in zip(names, lid, strict=True):
        data = roomy.data(name)
        assert data == tile.closely(1).data()
        assert blake2b(data, digest_size=12).hexdigest() == name
    forgotten = [name for name in names if narrow.data(name) is None]
    assert forgotten
    assert narrow.names(lid, 1) == names, "forgotten ones are made again"
    assert narrow.held_bytes <= 3000


def test_the_bench_sends_a_close_tile_to_be_kept_for_good(
    built: Desk, snapshot: Snapshot, lid: list[FilmTile]
) -> None:
    def asked(want: object, factor: object) -> Any:
        path = f"/board/{snapshot.generation}/close"
        return ask(built, "POST", path, json={"want": want, "factor": factor})

    for want, factor in (([0], 3), ([0], 0), ([0], "1"), ([len(lid)], 1), ([0] * 1025, 1), (0, 1)):
        assert asked(want, factor).status_code == 400, (want, factor)
    assert len(asked([0, 1], 1).json()["names"]) == 2
    assert ask(built, "GET", "/board/close/abc").status_code == 410
    edges = ask(built, "GET", f"/board/{snapshot.generation}/edges?face=front").content
    count = int.from_bytes(edges[:4], "little")
    lines = json.loads(edges[4 : 4 + count])["lines"]
    points = np.frombuffer(edges[4 + count :], "<f4").reshape(-1, 2)
    assert sum(line[0] for line in lines) == len(points)
    assert points.min() > -10.0
    assert points[:, 0].max() < 100.0


# ---- The real page

CLOSE = f"{AT_REST} && bench.board.painter.behind === null"
LOOK = """([face, stage, x, y, scale]) => {
  const { board, strip } = bench;
  if (board.face !== face) board.faceUp(face);
  strip.go(stage);
  Object.assign(board.camera, { x, y, scale });
  board.fitted = false;
  board.moving();
}"""
ACROSS = """([x, y, dx, dy, far]) => {
  // along a line through a place of the board, how bright each pixel is and how much is there
  const { camera, canvas, painter: { gl } } = bench.board, told = [];
  const [px, py] = camera.toScreen(x, y), k = canvas.width / camera.width, at = new Uint8Array(4);
  for (let step = -far; step <= far; step++) {
    const [u, v] = [Math.floor(px * k + dx * step), Math.floor(py * k - dy * step)];
    gl.readPixels(u, canvas.height - 1 - v, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, at);
    // where in the picture the middle of this pixel lies, along the line
    const way = (u + 0.5 - px * k) * dx - (v + 0.5 - py * k) * dy;
    told.push([way, at[0] + at[1] + at[2], at[3]]);
  }
  return told;
}"""
CUT_STAGE, LAST = 4, 13


def look(page: Page, face: str, stage: int, at: tuple[float, float], scale: float) -> None:
    page.evaluate(LOOK, [face, stage, *at, scale])
    page.wait_for_function(f"stage => bench.strip.stage === stage && ({CLOSE})()", arg=stage)


def edge_of(told: list[list[float]]) -> float:
    """Return where a line passes from what lies at one of its ends to what lies at the other.

    At the board's own edge nothing lies beyond; elsewhere its brightness differs.
    """
    ways, bright, there = np.array(told).T
    light = there if abs(there[0] - there[-1]) > 200 else bright
    low, high = np.median(light[: len(light) // 3]), np.median(light[-len(light) // 3 :])
    assert abs(high - low) > 40, "there is an edge to be seen"
    share = (light - low) / (high - low)
    crossing = [
        ways[i] + (0.5 - share[i]) / (share[i + 1] - share[i]) * (ways[i + 1] - ways[i])
        for i in range(len(ways) - 1)
        if (share[i] < 0.5) != (share[i + 1] < 0.5)
    ]
    return float(min(crossing, key=abs))


@pytest.fixture
def plates(snapshot: Snapshot) -> tuple[Any, Any]:
    """Return the outline of the plate as its bits cut it, and that of the trim line."""
    told = outlines(snapshot.made, "front")
    return told[0].region, next(each.region for each in told if each.kind == TRIMMED)


def test_an_edge_is_a_smooth_line_at_any_zoom(page: Page, plates: tuple[Any, Any]) -> None:
    """Within half a pixel of the outline, straight and round, of resin and of the board."""
    for region, shares in ((plates[0], (0.11, 0.2502, 0.777)), (plates[1], (0.3, 0.5235))):
        ring = region.geoms[0].exterior
        for scale in (60.0, 400.0):
            for share in shares:
                at = share * ring.length
                here, on = ring.interpolate(at), ring.interpolate(at + 1e-4)
                away = np.array([on.y - here.y, here.x - on.x])
                away /= np.linalg.norm(away)
                look(page, "front", LAST, (here.x, here.y), scale)
                assert page.evaluate("bench.board.painter.close.laid.factor") == 1
                told = page.evaluate(ACROSS, [here.x, here.y, *away.tolist(), 30])
                assert abs(edge_of(told)) <= 0.5, (scale, share, edge_of(told), told)
    keep(page, "desk-edge")


def test_close_up_only_what_is_looked_at_is_asked_for_and_never_twice(
    page: Page, bench: Served, plates: tuple[Any, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    sent: list[str] = []
    data = CloseTiles.data

    def counted(tiles: CloseTiles, name: str) -> bytes | None:
        sent.append(name)
        return data(tiles, name)

    monkeypatch.setattr(CloseTiles, "data", counted)
    x0, y0, x1, y1 = plates[0].bounds
    # close up the page has all it paints from once it is at rest, so that nothing is under way
    look(page, "front", CUT_STAGE, (x0, y0), 100.0)
    keep(page, "desk-close-up")
    first = list(sent)
    board = page.evaluate("bench.board.film.across * bench.board.film.up")
    assert 0 < len(first) <= 16 < board
    look(page, "front", CUT_STAGE, (x0 + 0.5, y0 + 0.5), 120.0)
    assert sent == first, "the same tiles are seen"
    look(page, "front", CUT_STAGE, (x1, y1), 100.0)
    assert len(sent) > len(first), "the other corner has tiles of its own"
    before = len(sent)
    page.goto(bench.address)
    page.wait_for_selector("html[data-picture=checked]")
    look(page, "front", CUT_STAGE, (x0, y0), 100.0)
    assert page.evaluate("bench.board.painter.close.seen !== null")
    assert len(sent) == before, "the browser has kept them"


def test_the_words_of_a_cross_section_lie_below_the_board(page: Page) -> None:
    page.evaluate("bench.board.whole()")
    for mode in ("section", "measure", "light"):
        page.evaluate("mode => bench.board.setMode(mode)", mode)
        page.wait_for_function(AT_REST)
        low, top = page.evaluate(
            """() => {
              const { board } = bench, [x0, y0, x1] = board.bounds();
              const frame = document.querySelector('.frame').getBoundingClientRect().top;
              return [board.camera.toScreen((x0 + x1) / 2, y0)[1],
                      board.readout.getBoundingClientRect().top - frame];
            }"""
        )
        assert low < top, mode
    keep(page, "desk-section-words")
