"""Several pieces from one plank: cut in one run, parted at its end, each with its label."""

from __future__ import annotations

import cmath
import math
from itertools import pairwise
from pathlib import Path

import pytest

from flushwork.views.context import summary
from flushwork.views.figures import Lengths
from flushwork.views.labels import labels_of
from tests.small_jobs import made

PLANK = """\
flushwork: 2
title: Coins
blank: {wood: sugar maple, length: 120 mm, width: 70 mm, thickness: 10 mm}
trim line: {circle: 30 mm, at: [-22 mm, 0 mm], repeat: {columns: 2, pitch: 44 mm}}
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
front:
  inlays:
    - {name: discs, circle: 14 mm, at: [-22 mm, 0 mm], depth: 2 mm, fill: dark,
       repeat: {columns: 2, pitch: 44 mm}}
"""
ONE = PLANK.replace(", repeat: {columns: 2, pitch: 44 mm}", "").replace(
    "fill: dark,\n       repeat: {columns: 2, pitch: 44 mm}", "fill: dark"
).replace("at: [-22 mm, 0 mm], ", "").replace(", at: [-22 mm, 0 mm]", "")  # fmt: skip


def test_two_from_one_plank_are_poured_as_two_and_parted(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    plank, one = made(tmp_path, PLANK), made(tmp_path / "one", ONE)
    assert plank.ok_to_cut
    assert one.ok_to_cut
    assert len(plank.faces[0].trim.geoms) == 2
    assert plank.pours[0].needed_cm3 == pytest.approx(2 * one.pours[0].needed_cm3, rel=0.01)
    # one file parts both: as many cuts at the greatest depth round each as round one alone
    assert len(plank.gcode_files) == len(one.gcode_files)
    both, alone = plank.gcode_files[-1], one.gcode_files[-1]
    assert both.order.bit.name == alone.order.bit.name
    deepest = min(move.z_mm for move in alone.program.moves)
    reach = 15.0 + both.order.bit.diameter_mm / 2.0
    low = [move for move in both.program.moves if move.z_mm < deepest + 0.5]
    for middle, near in ((38.0, True), (82.0, False)):
        ways = [complex(m.x_mm - middle, m.y_mm - 35.0) for m in low if (m.x_mm < 60.0) is near]
        assert [abs(way) for way in ways] == pytest.approx([reach] * len(ways), abs=0.2)
        turns = sorted(cmath.phase(way) for way in ways)
        gaps = [b - a for a, b in pairwise([*turns, turns[0] + 2 * math.pi])]
        assert max(gaps) < 1.6


def test_each_outline_is_told_and_labelled(tmp_path: Path) -> None:
    plank = made(tmp_path, PLANK)
    told = summary(plank.job, plank.faces, Lengths("metric"))
    assert "parted into 2, each a disc of 30\N{NO-BREAK SPACE}mm" in told
    assert plank.schedule is not None
    names = [
        label.name
        for label in labels_of(
            "Coins", plank.plan, plank.schedule, plank.pours, parted=plank.parted
        )
    ]
    assert names == ["piece 1, 1 of 2", "piece 1, 2 of 2", "pour 1"]
