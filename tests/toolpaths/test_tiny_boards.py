"""Boards narrower than the bits that work on them: safe files, and no way longer than it needs."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon

from flushwork.built import Build
from flushwork.pipeline import build
from flushwork.toolpaths.mill_flush import BEYOND_MM
from flushwork.toolpaths.moves import table_of
from flushwork.toolpaths.orders import GcodeFile, LevelCut
from tests.many import examples
from tests.small_jobs import made

JOB = """\
flushwork: 2
title: Tiny
{shop}blank: {{wood: black walnut, length: {length:.2f} mm, width: {width:.2f} mm,
  thickness: {thick:.2f} mm}}
mixes:
  ivory: {{resin: coating epoxy, pigments: [{{name: ivory powder, share: 4 %}}]}}
front:
  inlays:
    - {{name: dot, circle: {across:.2f} mm, at: [{x:.2f} mm, {y:.2f} mm], depth: 1 mm, fill: ivory}}
"""
SHOP = """\
flushwork shop: 2
name: small shop
bits: [1 mm flat, {{name: wide, like: 25 mm facing bit, diameter: {wide:.2f} mm}}]
"""
COIN = JOB.format(shop="", length=12, width=9, thick=4, across=3, x=0, y=0)


@st.composite
def tiny(draw: st.DrawFn) -> tuple[str, str]:
    """Return a job and its shop: a board of 8 to 60 mm, a facing bit wider than it is."""
    length, width = draw(st.floats(8.0, 60.0)), draw(st.floats(8.0, 60.0))
    across = draw(st.floats(2.5, min(length, width) - 4.0))
    x, y = (draw(st.floats(-0.5, 0.5)) * (side - across - 2.0) for side in (length, width))
    wide = min(max(14.0, draw(st.floats(1.02, 3.0)) * min(length, width)), 80.0)
    return (
        JOB.format(
            shop="shop: shop.yaml\n",
            length=length,
            width=width,
            thick=draw(st.floats(4.0, 15.0)),
            across=across,
            x=x,
            y=y,
        ),
        SHOP.format(wide=wide),
    )


def _rapids_that_take(result: Build) -> list[str]:
    reports = {report.file_name: report for report in result.replay.cuts}
    return [
        f"{file.file_name}:{file.program.moves[index].line}"
        for file in result.gcode_files
        for index in np.flatnonzero(table_of(file.program).rapid)
        if reports[file.file_name].removed_mm3[index] > 0.01
    ]


def _off_the_work_mm(file: GcodeFile, region: MultiPolygon) -> float:
    """Return how far off the region to be faced the middle of a file's bit goes while it is low."""
    table = table_of(file.program)
    low = table.to_mm[table.to_mm[:, 2] < table.to_mm[:, 2].max() - 0.01]
    return float(shapely.distance(region, shapely.points(low[:, :2])).max(initial=0.0))


def test_a_coin_narrower_than_its_facing_bit_ok_to_cut(tmp_path: Path) -> None:
    codes = {finding.code for finding in made(tmp_path, COIN).findings}
    assert "rapid-through-material" not in codes


@settings(max_examples=examples(16), deadline=None)
@given(tiny())
def test_no_rapid_takes_anything_of_a_board_narrower_than_the_bit(asked: tuple[str, str]) -> None:
    with TemporaryDirectory() as folder:
        job = Path(folder) / "job.yaml"
        job.write_text(asked[0], "utf-8")
        (Path(folder) / "shop.yaml").write_text(asked[1], "utf-8")
        result = build(job, check=False)
    assert _rapids_that_take(result) == []
    facing = [
        (file, cut)
        for file in result.gcode_files
        for cut in file.order.operations
        if isinstance(cut, LevelCut)
    ]
    assert facing
    for file, cut in facing:
        off_mm = _off_the_work_mm(file, cut.region)
        assert off_mm <= cut.bit.radius_mm + BEYOND_MM + 0.01
