"""What a bit's shape and width let it do, told as it is: points, flutes, tight slots."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon

from flushwork.art.draw import begin
from flushwork.checks.rules.board.hole_rules import hole_not_flat
from flushwork.checks.rules.board.reach_rules import bit_cannot_pass, flutes_too_short
from flushwork.fit.reach import reach
from flushwork.shelf.items import Bit, BitKind
from tests.checks.hearing import undated, written
from tests.many import examples

JOB = """\
flushwork: 2
title: Bits
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 16 mm}
mixes: {dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}}
front:
"""
HOLES = """\
  holes:
    - {{name: pegs, grid: {{columns: 1, rows: 1, pitch: 8 mm}}, diameter: {wide} mm,
       depth: {deep} mm, bit: bit, flat bottom: {flat}}}
"""


@settings(max_examples=examples(3), deadline=None)
@given(
    st.sampled_from(["drill", "V-bit", "flat"]),
    st.integers(2, 9),
    st.integers(60, 150),
    st.integers(3, 12),
    st.sampled_from(["yes", "no"]),
)
@example("drill", 6, 115, 6, "yes")
def test_a_pointed_floor_is_told_with_the_depth_of_full_width(
    tmp_path_factory: pytest.TempPathFactory,
    kind: str,
    wide: int,
    angle: int,
    deep: int,
    flat: str,
) -> None:
    tip = "tip: 0.2 mm, " if kind == "V-bit" else ""
    point = f"angle: {angle} deg, {tip}" if kind != "flat" else ""
    shop = (
        f"bits:\n  - {{name: bit, kind: {kind}, diameter: {wide} mm, {point}"
        "flute length: 14 mm, reach: 18 mm, shank: 3 mm, plunges: yes}\n"
    )
    text = JOB + HOLES.format(wide=wide, deep=deep, flat=flat)
    build = undated(written(tmp_path_factory.mktemp("holes"), text, shop))
    told = list(hole_not_flat(build))
    if kind == "flat" or flat == "no":
        assert not told
        return
    # the replayed hole is the outside truth: its floor as deep as told is a full disc
    assert [each.code for each in told] == ["hole-not-flat"]
    measure = told[0].measure
    assert measure is not None
    flank = deep - math.tan(math.radians(90 - angle / 2)) * (wide / 2 - (0.1 if tip else 0.0))
    assert measure.value == pytest.approx(max(0.0, flank), abs=0.005)
    face = build.replay.final.face("front")
    tops = np.concatenate([np.ravel(tile.heights[-1]) for tile in face.tiles.values()])
    full_mm2 = math.pi * wide**2 / 4
    cell_mm2 = build.replay.spec.cell_mm**2
    above, within = (
        np.count_nonzero(tops - face.plane_mm < -at_mm) * cell_mm2
        for at_mm in (measure.value - 0.3, (measure.value + deep) / 2.0)
    )
    if measure.value > 0.5:
        assert above == pytest.approx(full_mm2, rel=0.1)
    assert within < 0.6 * full_mm2


ENGRAVED = """\
  inlays:
    - {{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], width: {wide} mm, depth: {deep} mm,
       engrave: yes, fill: dark}}
"""


@settings(max_examples=examples(3), deadline=None)
@given(st.integers(3, 20), st.integers(20, 80), st.integers(4, 20))
@example(8, 60, 20)
def test_flutes_are_held_to_where_the_tip_goes(
    tmp_path_factory: pytest.TempPathFactory, tenths: int, flutes: int, deep: int
) -> None:
    """A 60 degree bit goes as deep as its walls let it, whatever depth the inlay has."""
    wide, flute_mm, depth_mm = tenths / 10, flutes / 20, deep / 2
    shop = (
        "bits:\n  - {name: bit, kind: V-bit, diameter: 6.35 mm, angle: 60 deg, tip: 0.1 mm, "
        f"flute length: {flute_mm} mm, pass depth: 0.5 mm, shank: 6.35 mm, plunges: yes}}\n"
    )
    text = JOB + ENGRAVED.format(wide=wide, deep=min(depth_mm, 12.0))
    build = undated(written(tmp_path_factory.mktemp("V-bit"), text, shop))
    goes_mm = min((wide - 0.1) / 2 / math.tan(math.radians(30)), depth_mm)
    told = list(flutes_too_short(build))
    if any(file.order.operations for file in build.gcode_files) and goes_mm < flute_mm - 0.3:
        assert not told
    for finding in told:
        assert finding.measure is not None
        assert finding.measure.value <= goes_mm + 0.3
        assert finding.measure.value > flute_mm


def slots(kind: str, wide: float) -> str:
    return {
        "rectangle": f"rectangle: 30 mm x {wide:.4f} mm",
        "ring": f"ring: {{outside: {30 + 2 * wide:.4f} mm, inside: 30 mm}}",
        "small ring": f"ring: {{outside: {8 + 2 * wide:.4f} mm, inside: 8 mm}}",
        "line": f"lines: [[[-15 mm, 0 mm], [0 mm, 5 mm], [15 mm, 3 mm]]], width: {wide:.4f} mm",
        "curve": f"curve: [[-15 mm, 0 mm], [0 mm, 9 mm], [15 mm, 0 mm]], width: {wide:.4f} mm",
    }[kind]


@settings(max_examples=examples(15), deadline=None)
@given(
    st.sampled_from(["rectangle", "ring", "small ring", "line", "curve"]),
    st.sampled_from([1.5875, 3.175, 6.0]),
    st.floats(0.0, 0.015) | st.floats(0.03, 0.3),
)
@example("ring", 3.175, 0.015)
@example("rectangle", 3.175, 0.015)
def test_a_slot_passes_by_its_width_and_not_by_its_kind(
    tmp_path_factory: pytest.TempPathFactory, kind: str, diameter: float, narrower: float
) -> None:
    text = (
        f"{JOB}  inlays:\n    - {{name: slot, {slots(kind, diameter - narrower)}, depth: 1 mm, "
        "fill: dark}\n"
    )
    region = begin(tmp_path_factory.getbasetemp() / "job.yaml", text)[1][0].inlays[0].region
    bit = Bit("bit", BitKind.FLAT, diameter, 1, flute_mm=15.0)
    assert reach(region, bit).passes == (narrower < 0.02)


@settings(max_examples=examples(4), deadline=None)
@given(st.integers(300, 3150))
@example(3156)
@example(3154)
@example(3150)
def test_the_bit_a_remedy_names_goes_through(
    tmp_path_factory: pytest.TempPathFactory, microns: int
) -> None:
    text = (
        f"{JOB}  inlays:\n    - {{name: slot, rectangle: 30 mm x {microns / 1000} mm, depth: 1 mm, "
        "fill: dark, bits: [bit]}\n"
    )
    shop = "bits:\n  - {name: bit, kind: flat, diameter: 3.175 mm, flute length: 12 mm}\n"
    build = undated(written(tmp_path_factory.mktemp("slot"), text, shop))
    region: MultiPolygon = build.inlays[0].region
    told = list(bit_cannot_pass(build))
    assert bool(told) == (microns < 3155)
    for finding in told:
        named = re.search(r"at most ([\d.]+) mm", finding.remedy)
        assert named is not None
        fits = float(named[1])
        assert fits < 3.175
        assert reach(region, Bit("named", BitKind.FLAT, fits, 1, flute_mm=9.0)).passes
        assert not shapely.is_empty(region)
