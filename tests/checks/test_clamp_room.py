"""Clamps that a holding speaks of have somewhere to stand, and no holder meets one that is told."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from flushwork.checks.rules.board.face_rules import clamp_room
from flushwork.checks.rules.machine.clamp_rules import CLAMP_FOOT_MM, clamp_hit, clamps_without_room
from flushwork.core.findings import Severity
from flushwork.gcode.swept import CLAMP_GAP_MM
from tests.checks.hearing import undated, written
from tests.many import examples

ROUND_MM = 4.0
BOARD = """\
flushwork: 2
title: Held by clamps
cell: 0.3 mm
holding: {holding}
blank: {{wood: sugar maple, length: {long:.3f} mm, width: {wide:.3f} mm, thickness: 12 mm}}
trim line: {{rectangle: 60 mm x 50 mm, round: 4 mm}}
{more}mixes: {{dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}}}
front: {{inlays: [{{name: plate, rectangle: 16 mm x 12 mm, round: 3 mm, depth: 2 mm, fill: dark}}]}}
"""
SHOP = """\
holding:
  - {name: bare clamps, how: clamps on the waste, locates by: two stops, repeatability: 0.2 mm}
  - {name: clamps and tape, how: clamps and double-sided tape, locates by: two stops,
     repeatability: 0.2 mm}
  - {name: tape, how: double-sided tape, locates by: two stops, repeatability: 0.2 mm}
"""


def needs_mm(trim_bit_mm: float) -> float:
    """Return the waste around the line at which a foot fits into the blank's corner."""
    return CLAMP_FOOT_MM - ROUND_MM + float((ROUND_MM + trim_bit_mm + CLAMP_GAP_MM) / 2.0**0.5)


def board(waste_mm: float, holding: str = "bare clamps", more: str = "") -> str:
    long, wide = 60.0 + 2.0 * waste_mm, 50.0 + 2.0 * waste_mm
    return BOARD.format(long=long, wide=wide, holding=holding, more=more)


@settings(max_examples=examples(4), deadline=None)
@given(waste=st.floats(9.0, 30.0), holding=st.sampled_from(["bare clamps", "clamps and tape"]))
@example(waste=12.0, holding="bare clamps")
@example(waste=24.0, holding="bare clamps")
@example(waste=12.0, holding="clamps and tape")
def test_clamps_have_room_where_a_foot_fits_beside_the_cut(waste: float, holding: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        build = undated(written(Path(folder), board(waste, holding), SHOP))
    trim = next(file.order for file in build.gcode_files if "Trim" in file.order.name)
    needs, trimming = needs_mm(trim.bit.diameter_mm), trim.setup
    assume(abs(waste - needs) > 0.3)
    found = [item for item in clamps_without_room(build) if f"etup {trimming} " in item.message]
    assert bool(found) is (waste < needs)
    for item in found:
        assert item.code == "clamps-without-room"
        assert item.severity is (
            Severity.MUST_FIX if holding == "bare clamps" else Severity.WARNING
        )
        assert "keep clear of" in item.remedy


def test_tape_needs_no_room_and_told_clamps_are_looked_at_themselves(tmp_path: Path) -> None:
    taped = undated(written(tmp_path, board(10.0, "tape"), SHOP))
    assert not list(clamps_without_room(taped))
    more = "keep clear of: [{name: far, size: [8 mm, 8 mm], from: top, height: 3 mm}]\n"
    told = undated(written(tmp_path, board(10.0, more=more), SHOP))
    assert not list(clamps_without_room(told))


@pytest.mark.parametrize(
    ("high_mm", "nut_mm", "hit"), [(40.0, 25.0, True), (40.0, 6.4, False), (2.0, 25.0, False)]
)
def test_a_holder_meets_a_clamp_that_the_bit_passes(
    tmp_path: Path, high_mm: float, nut_mm: float, hit: bool
) -> None:
    more = (
        "keep clear of: [{name: tall clamp, size: [20 mm, 8 mm], at: [0 mm, -4 mm], from: bottom, "
        f"height: {high_mm} mm}}]\n"
    )
    shop = f"{SHOP}machine: {{holder width: {nut_mm} mm}}\n"
    build = undated(written(tmp_path, board(13.0, more=more), shop))
    trims = tuple(file for file in build.gcode_files if "Trim" in file.order.name)
    found = list(clamp_hit(replace(build, gcode_files=trims)))
    assert bool(found) is hit
    for item in found:
        assert "the holder of the" in item.message


HOLDS = {
    "cam levers, by a figure": (
        "{how: cam levers on the waste, locates by: two stops, clamps: 2}",
        True,
    ),
    "no clamps, by a figure": (
        "{how: tape and no clamp at all, locates by: two stops, tape: 80 %, clamps: 0}",
        False,
    ),
    "a spindle to set it by": ("{how: double-sided tape, locates by: the spindle nose}", False),
    "pins to set it by": ("{how: double-sided tape, locates by: two pins}", True),
}


@pytest.mark.parametrize("kind", HOLDS)
def test_what_holds_is_read_as_the_holding_means_it(kind: str, tmp_path: Path) -> None:
    holding, told = HOLDS[kind]
    shop = f"holding:\n  - {holding.replace('{', '{name: own, repeatability: 0.2 mm, ')}\n"
    build = undated(written(tmp_path, board(3.0, "own"), shop))
    assert bool([*clamp_room(build)]) == told
