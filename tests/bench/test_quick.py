"""What makes the bench quick: a depth seen at once, tiles known again, the look kept on disk."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.bench.desk import cached_page as looks
from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.sketch import MovedTile, depth_changed, sketched
from flushwork.bench.desk.snapshot import CACHED, Snapshot
from flushwork.bench.film.film import FilmCache, film_of, repainted
from flushwork.bench.server.rendering import rendered_parts
from flushwork.kernels.filling import move_floor
from flushwork.strata.section import section
from tests.bench.conftest import JOB, PAGE, ask, waited


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """Return a desk of its own, for a test that changes the job."""
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    made = Desk(path)
    made.open()
    yield made
    made.close()


def plain_move(
    heights: np.ndarray, mask: np.ndarray, stands: float, by: float, same: float, thin: float
) -> np.ndarray:
    """Return what the kernel should, said with whole arrays."""
    here = mask & (np.abs(heights[0] - np.float32(stands)) < np.float32(same))
    moved = [np.where(here, heights[0] + np.float32(by), heights[0])]
    for below, layer in pairwise(heights):
        here = here & (layer - below < np.float32(thin))
        raised = np.where(here, layer + np.float32(by), layer)
        inside = mask & (np.abs(heights[0] - np.float32(stands)) < np.float32(same))
        moved.append(np.where(inside, np.maximum(raised, moved[-1]), layer))
    return np.stack(moved)


@given(st.integers(0, 10_000), st.floats(-1.5, 1.5, width=32))
@settings(max_examples=30, deadline=None)
def test_the_kernel_moves_a_floor_as_whole_arrays_do(seed: int, by: float) -> None:
    rng = np.random.default_rng(seed)
    steps = rng.choice([0.0, 0.05, 0.4], (3, 6, 7)).astype(np.float32)
    steps[0] = rng.choice([-2.0, -1.0], (6, 7))
    heights, mask = np.cumsum(steps, axis=0, dtype=np.float32), rng.random((6, 7)) > 0.3
    args = (np.float32(-2.0), np.float32(by), np.float32(0.02), np.float32(0.15))
    moved, count = move_floor(heights, mask, *args)
    assert moved == pytest.approx(plain_move(heights, mask, *map(float, args)), abs=1e-6)
    assert count == int((mask & (heights[0] == -2.0)).sum())
    assert np.all(np.diff(moved[:, mask], axis=0) >= -1e-6)


@pytest.mark.parametrize("deeper", [1.4, 2.6])
def test_a_sketch_has_the_heights_that_the_replay_then_tells(tmp_path: Path, deeper: float) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    before = waited(desk).made
    changed = JOB.replace("depth: 2 mm", f"depth: {deeper} mm")
    found = depth_changed(JOB, changed)
    assert found == ("front", 0, deeper)
    sketch = sketched(before, *found)
    assert sketch is not None
    desk.try_text(PAGE, changed)
    after = waited(desk, PAGE).made
    spec = after.replay.spec
    for state in after.replay.states:
        begin, end = (20.0, 35.0), (70.0, 35.0)
        told = section(state, spec, "front", begin, end)
        drawn = section(sketch.made.replay.after(state.stage), spec, "front", begin, end)
        for (name, own), (other, like) in zip(told.near, drawn.near, strict=True):
            assert name == other
            # away from the very edge, where a cell holds floor and wall
            assert np.percentile(np.abs(own - like), 95) < 0.03, (state.stage, name)
    desk.close()


def test_a_section_of_a_sketch_moves_only_the_tiles_it_crosses(snapshot: Snapshot) -> None:
    sketch = sketched(snapshot.made, "front", 0, 1.5)
    assert sketch is not None
    moved = {id(tile): tile for tiles in sketch.moved.values() for tile in tiles.values()}
    assert len(moved) > 4
    state = sketch.made.replay.final
    face = state.front
    assert len(face.tiles) == len(list(face.tiles)) == len(snapshot.made.replay.final.front.tiles)
    section(state, sketch.made.replay.spec, "front", (45.0, 35.0), (46.0, 35.0))
    looked_at = [tile for tile in moved.values() if "stack" in vars(tile)]
    assert 1 <= len(looked_at) <= 2


def test_what_a_page_asks_first_is_ready_when_it_hears_of_a_check(desk: Desk) -> None:
    base = waited(desk)
    last = base.film.shots[-1].stage
    asked = {"base": base.generation, "stage": last, "face": "front", "units": "inch"}
    changed = JOB.replace("depth: 2 mm", "depth: 1.5 mm")
    ask(desk, "POST", "/try", json={"page": PAGE, "text": changed, **asked})
    assert desk.look_sent.is_set()
    checked = waited(desk, PAGE)
    tiles = {checked.film.tiles[n] for n in checked.film.shots[-1].front.tiles.values()}
    assert tiles
    assert all(tile.painted for tile in tiles)
    known = dict(checked.known)
    assert rendered_parts(checked, "inch") in known.values()
    assert checked.known == known


@pytest.mark.parametrize(
    "changed",
    [
        JOB.replace("depth: 2 mm", "depth: 2"),
        JOB.replace("depth: 2 mm", "depth: -2 mm"),
        JOB.replace("depth: 2 mm", "depth: 2 mm, how: scraped flush"),
        JOB.replace("depth: 2 mm", "depth: {a: 1}"),
        JOB.replace("pieces: 2", "pieces: 3"),
        JOB.replace("depth: 2 mm", "depth: 900 mm"),
        JOB + "# more\n",
        "a: [",
    ],
)
def test_what_is_more_than_a_depth_is_no_sketch(changed: str) -> None:
    assert depth_changed(JOB, changed) is None


def test_a_film_knows_its_tiles_again_and_repaints_only_what_moved(snapshot: Snapshot) -> None:
    memo = FilmCache()
    first = film_of(snapshot.made, memo)
    again = film_of(snapshot.made, memo)
    assert [tile.name for tile in again.tiles] == [tile.name for tile in first.tiles]
    sketch = sketched(snapshot.made, "front", 0, 1.5)
    assert sketch is not None
    film = repainted(first, sketch.moved, "front")
    fresh = {tile.name for tile in film.tiles} - {tile.name for tile in first.tiles}
    assert fresh
    whole = film_of(sketch.made)
    for one, other in zip(film.shots, whole.shots, strict=True):
        assert one.front.tiles.keys() == other.front.tiles.keys()
        for key, number in one.front.tiles.items():
            mine = film.tiles[number].screen
            theirs = whole.tiles[other.front.tiles[key]].screen
            assert np.abs(mine.heights - theirs.heights).max() < 0.01


def test_the_last_look_is_shown_at_once_and_only_for_what_it_was_made_from(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLUSHWORK_CACHE", str(tmp_path / "cache"))
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    assert desk.cached_page is None
    desk.open()
    built = waited(desk)
    desk.close()
    look = looks.kept_folder(path) / "look.json"
    assert look.is_file()
    again = Desk(path)
    assert again.cached_page is not None
    page = ask(again, "GET", "/").text
    assert "Trial" in page
    assert "<b>lid</b>" not in page
    told = ask(again, "GET", "/standing").json()
    assert told["generation"] == CACHED
    index = ask(again, "GET", f"/board/{CACHED}/film").json()
    assert index["px_mm"] == built.film.px_mm
    front = index["faces"][index["shots"][0]["front"]]["tiles"]
    sent = ask(again, "POST", f"/board/{CACHED}/tiles", json={"want": front[2::3]})
    last = built.film.shots[-1].front.tiles
    place = front.index(45 // round(built.film.side * built.film.px_mm)) // 3
    size = built.film.side**2 * 10
    number = last[front[place * 3], front[place * 3 + 1]]
    assert sent.content[place * size :][:size] == built.film.tiles[number].screen.data()
    first = ask(again, "GET", f"/board/{CACHED}/first?face=front").content
    length = int.from_bytes(first[:4], "little")
    told = json.loads(first[4 : 4 + length])
    wanted = ask(again, "POST", f"/board/{CACHED}/tiles", json={"want": told["sent"]})
    assert set(told["sent"]) == set(front[2::3])
    assert first[4 + length :] == wanted.content
    assert f"/board/{CACHED}/first?face=front" in page
    assert ask(again, "GET", f"/board/{CACHED}/first?face=side").status_code == 400
    assert ask(again, "GET", f"/board/{CACHED}/section?stage=1").status_code == 404
    assert ask(again, "POST", f"/board/{CACHED}/tiles", json={"want": [9999]}).status_code == 400
    path.write_text(JOB.replace("pieces: 2", "pieces: 3"), encoding="utf-8")
    assert Desk(path).cached_page is None, "another text"
    path.write_text(JOB, encoding="utf-8")
    monkeypatch.setattr(looks, "program", lambda: "another")
    assert Desk(path).cached_page is None, "another program"
    monkeypatch.undo()
    monkeypatch.setenv("FLUSHWORK_CACHE", str(tmp_path / "cache"))
    damaged = json.loads(look.read_text("utf-8"))
    del damaged["index"]
    look.write_text(json.dumps(damaged), encoding="utf-8")
    assert Desk(path).cached_page is None, "damaged"


def test_a_look_made_from_other_artwork_is_not_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLUSHWORK_CACHE", str(tmp_path / "cache"))
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
    (tmp_path / "art.svg").write_text(f'{svg}<rect width="20" height="20"/></svg>')
    path = tmp_path / "lid.yaml"
    text = JOB.replace("rectangle: 30 mm x 20 mm", "svg: art.svg, width: 20 mm")
    path.write_text(text, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    made = waited(desk).made
    desk.close()
    assert tmp_path.resolve() / "art.svg" in looks.made_from(path, made.job)
    assert Desk(path).cached_page is not None
    (tmp_path / "art.svg").write_text(f'{svg}<rect width="19" height="20"/></svg>')
    assert Desk(path).cached_page is None


def test_a_changed_depth_comes_in_one_answer(desk: Desk) -> None:
    base = waited(desk)
    last = base.film.shots[-1].stage
    asked = {"base": base.generation, "stage": last, "face": "front"}
    changed = JOB.replace("depth: 2 mm", "depth: 1.5 mm")
    data = ask(desk, "POST", "/try", json={"page": PAGE, "text": changed, **asked}).content
    length = int.from_bytes(data[:4], "little")
    assert (4 + length) % 8 == 0
    told = json.loads(data[4 : 4 + length])
    assert told["base"] == base.generation
    assert told["generation"] > base.generation
    # what the page puts together is what the other way round would be the whole film
    moved = base.film.tiles[0].changed(MovedTile(base.film.tiles[0].tile, lambda tile: tile))
    assert np.array_equal(moved.screen.colour, base.film.tiles[0].screen.colour)
    sketch = sketched(base.made, "front", 0, 1.5)
    assert sketch is not None
    film = repainted(base.film, sketch.moved, "front")
    assert len(film.tiles) == len(base.film.tiles) + len(told["tiles"])
    looks = {stage: told["looks"][look]["tiles"] for stage, look in told["stages"]}
    for shot, was in zip(film.shots, base.film.shots, strict=True):
        triples = looks.get(shot.stage, [])
        fresh = {(x, y): n for x, y, n in zip(*[iter(triples)] * 3, strict=True)}
        assert {**was.front.tiles, **fresh} == shot.front.tiles
    assert told["sent"]
    assert data[4 + length :] == film.pixels(told["sent"])
    waited(desk)
    stale = ask(desk, "POST", "/try", json={"page": PAGE, "text": JOB, **asked}).json()
    assert stale == {"trying": True}, "the page has another film"
    waited(desk)
    other = ask(desk, "POST", "/try", json={"page": PAGE, "text": "# more\n" + JOB, **asked}).json()
    assert other == {"trying": True}, "no depth"
    waited(desk)
