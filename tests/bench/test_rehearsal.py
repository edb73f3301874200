"""The bench's walk over a text against the pipeline's over the file."""

from __future__ import annotations

from pathlib import Path

from flushwork.bench.rehearsal import Memory, rehearse
from flushwork.job.read import read_job
from flushwork.pipeline import build

JOB = """\
flushwork: 1
title: Two pockets and a line
cell: 0.2 mm
pieces: 2
blank: {timber: black cherry, length: 120 mm, width: 90 mm, thickness: 15 mm}
mixes:
  sea: {resin: coating epoxy, pigments: [teal flake]}
front:
  inlays:
    - {name: field, rectangle: 60 mm x 40 mm, at: [-15 mm, 0 mm], depth: 2 mm, fill: sea}
    - {name: dots, circle: 4 mm, at: [40 mm, 0 mm], depth: 2 mm, fill: sea}
    - {name: mark, lines: [[[-40 mm, 35 mm], [40 mm, 35 mm]]], depth: 1 mm, fill: sea}
"""


def test_the_bench_rehearses_what_a_build_makes(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB, "utf-8")
    made, memory = build(path), Memory()
    for _ in range(2):  # the second time from memory
        told = rehearse(lambda: read_job(path), memory)
        assert [file.text for file in told.cut_files] == [file.text for file in made.cut_files]
        assert told.cutter_sets == made.cutter_sets
        assert told.findings == made.findings
        assert told.replay.poured == made.replay.poured
