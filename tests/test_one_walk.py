"""One walk for a build and for the bench: what is remembered against what is worked out anew."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from flushwork.built import Build
from flushwork.pipeline import build
from flushwork.runtime.memo import Memo
from flushwork.strata.surfaces import FaceStack

HEAD = """\
flushwork: 2
title: Pockets, a line and a word
cell: 0.25 mm
pieces: 2
blank: {wood: black cherry, length: 120 mm, width: 90 mm, thickness: 9 mm}
allowances: {least wood between faces: 1 mm}
mixes:
  sea: {resin: coating epoxy, pigments: [teal flake], colour: "#0b6a72"}
  sand: {resin: coating epoxy, pigments: [ivory powder], colour: "#f3ead6"}
"""
HOLES = "{name: holes, points: [[50 mm, 30 mm], [-50 mm, -30 mm]], diameter: 4 mm, depth: %s}"
SHAPES = {
    "field": "rectangle: 50 mm x 30 mm, at: [%s, 0 mm]",
    "dots": "circle: 8 mm, at: [40 mm, %s]",
    "core": "rectangle: 20 mm x 12 mm, at: [%s, 0 mm], second pass of: [field]",
    "mark": "lines: [[[-40 mm, 35 mm], [40 mm, 35 mm]]], how: scraped flush, at: [%s, 0 mm]",
    "word": "text: OX, size: 12 mm, at: [%s, -32 mm], engrave: yes",
    "ring": "ring: {outside: 40 mm, inside: 32 mm}, at: [%s, 4 mm]",
}
CHOICES = {
    "at": ["-5 mm", "-4 mm", "-5.3 mm"],
    "depth": ["2 mm", "1.7 mm", "2.2 mm", "1.4 mm"],
    "fill": ["sea", "sand"],
    "colour": ["#0b6a72", "#7a1f2b", "#e0a030"],
    "hole": ["6 mm", "through"],
}


class Changing:
    """A job that somebody changes, one thing after the other."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)  # noqa: S311 - a series that can be repeated
        self.front = ["field", "dots", "core", "mark", "word"]
        self.values: dict[str, str] = {"core depth": "0.8 mm"}
        self.past: list[str] = [self.text()]

    def value(self, what: str, name: str = "") -> str:
        return self.values.get(f"{name} {what}", CHOICES[what][0])

    def inlay(self, name: str) -> str:
        shape = SHAPES[name] % self.value("at", name)
        cut = f"depth: {self.value('depth', name)}, fill: {self.value('fill', name)}"
        return f"    - {{name: {name}, {shape}, {cut}}}\n"

    def text(self) -> str:
        return (
            HEAD.replace("#0b6a72", self.value("colour"))
            + "front:\n  inlays:\n"
            + "".join(map(self.inlay, self.front))
            + f"  holes:\n    - {HOLES % self.value('hole')}\n"
            + f"back:\n  inlays:\n{self.inlay('ring')}"
        )

    def change(self, what: str) -> str:
        """Change one thing for certain, or go back to what was before; return the text."""
        if what == "undo":
            return self.past[-2]
        name = self.dice.choice([*self.front, "ring"]) if what in ("at", "depth", "fill") else ""
        if name == "core" and what == "depth":
            name = "field"
        if what == "order":
            self.front = [*self.front[1:], self.front[0]]
        elif what == "less":
            self.front = [name for name in self.front if name != "dots"]
        else:
            others = [each for each in CHOICES[what] if each != self.value(what, name)]
            self.values[f"{name} {what}"] = self.dice.choice(others)
        self.past.append(self.text())
        return self.past[-1]


def heights_of(face: FaceStack) -> dict[tuple[int, int], tuple[tuple[str, ...], bytes]]:
    return {
        key: (tile.materials, b"".join(heights.tobytes() for heights in tile.heights))
        for key, tile in face.tiles.items()
    }


def assert_same(one: Build, other: Build) -> None:
    assert [file.text for file in one.gcode_files] == [file.text for file in other.gcode_files]
    assert [file.cut_s for file in one.gcode_files] == [file.cut_s for file in other.gcode_files]
    assert one.bit_sets == other.bit_sets
    assert one.findings == other.findings
    assert one.replay.poured == other.replay.poured
    assert one.replay.thickness_table == other.replay.thickness_table
    assert one.pours == other.pours
    assert one.schedule == other.schedule
    for mine, theirs in zip(one.replay.cuts, other.replay.cuts, strict=True):
        assert np.array_equal(mine.removed_mm3, theirs.removed_mm3)
        assert np.array_equal(mine.bite_at, theirs.bite_at, equal_nan=True)
        assert mine.resin_mm3 == theirs.resin_mm3
    for now, then in zip(one.replay.states, other.replay.states, strict=True):
        for face in ("front", "back"):
            assert heights_of(now.face(face)) == heights_of(then.face(face))
            assert replace(now.face(face), tiles={}) == replace(then.face(face), tiles={})


@pytest.mark.parametrize("seed", [1, 2])
def test_a_walk_with_memory_makes_what_a_fresh_one_makes(tmp_path: Path, seed: int) -> None:
    path = tmp_path / "job.yaml"
    changing, memo = Changing(seed), Memo()
    build(path, text=changing.text(), memo=memo)
    kinds = ["depth", "at", "undo", "hole", "fill", "colour", "order", "depth", "less", "undo"]
    changing.dice.shuffle(kinds)
    for what in kinds[:6]:
        text = changing.change(what) if what != "undo" or len(changing.past) > 1 else ""
        if text:
            assert_same(build(path, text=text, memo=memo), build(path, text=text))


def test_a_walk_asked_the_same_again_gives_the_same_board(tmp_path: Path) -> None:
    path, text = tmp_path / "job.yaml", Changing(0).text()
    memo = Memo()
    first = build(path, text=text, memo=memo)
    rooms: list[str] = []
    again = build(path, rooms.append, text=text, memo=memo)
    assert again.replay is first.replay
    assert "check it" in rooms
    coarse = build(path, text=text, memo=memo, cell_mm=0.5, check=False)
    assert coarse.replay.spec.cell_mm == 0.5
    assert coarse.gcode_files == first.gcode_files
    assert not coarse.findings
    assert coarse.schedule is None
    assert coarse.pours


def test_what_a_change_leaves_alone_stays_the_very_same_tiles(tmp_path: Path) -> None:
    changing, memo = Changing(0), Memo()
    before = build(tmp_path / "job.yaml", text=changing.text(), memo=memo).replay.final
    changing.values["word depth"] = "1.7 mm"
    after = build(tmp_path / "job.yaml", text=changing.text(), memo=memo).replay.final
    assert all(tile is before.back.tiles[key] for key, tile in after.back.tiles.items())
    new = {key for key, tile in after.front.tiles.items() if tile is not before.front.tiles[key]}
    assert new
    assert all(row == 0 for _, row in new)  # the word lies along the near edge


def test_a_build_can_be_looked_at_before_its_check_is_heard(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(Changing(1).text(), encoding="utf-8")
    rooms: list[str] = []
    seen: list[tuple[Build, int]] = []
    made = build(path, rooms.append, on_replayed=lambda early: seen.append((early, len(rooms))))
    [(early, at)] = seen
    assert rooms[at:] == ["measure the pours, plan the days", "check it"]
    assert early.replay is made.replay
    assert early.palette == made.palette
    assert not early.pours
    assert not early.findings
    assert made.findings
    assert [room for room, _ in made.timings_s] == rooms
