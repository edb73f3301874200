"""Our own files never move fast through anything that stands, as the replay sees it."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.toolpaths.moves import MoveKind
from tests.small_jobs import made

JOB = """\
flushwork: 2
title: Rapids
blank: {{wood: sugar maple, length: 130 mm, width: 50 mm, thickness: 16 mm}}
mixes:
  dark: {{resin: casting epoxy, pigments: [black powder]}}
front:
  inlays:
    - {{name: art, {art}, depth: {depth}, fill: dark}}
"""
ART = {
    "bold letters": 'text: "O\'Neil & Søn <b>", font: sans bold, size: 18 mm',
    "serif letters": 'text: "Brigg 88%", font: serif, size: 20 mm',
    "star": "polygon: {sides: 7, diameter: 40 mm, inner: 12 mm}",
    "frame": "rectangle: 90 mm x 36 mm, round: 5 mm, line: 2 mm",
}


@pytest.mark.parametrize("depth", ["2 mm", "4 mm"])
@pytest.mark.parametrize("art", ART.values(), ids=ART)
def test_no_rapid_takes_anything(tmp_path: Path, art: str, depth: str) -> None:
    result = made(tmp_path, JOB.format(art=art, depth=depth))
    reports = {report.file_name: report for report in result.replay.cuts}
    assert result.gcode_files
    for file in result.gcode_files:
        report = reports[file.file_name]
        for index, move in enumerate(file.program.moves):
            if move.kind is MoveKind.RAPID:
                assert report.removed_mm3[index] < 0.01, f"{file.file_name}:{move.line}"
