"""Small whole jobs as text, and what the pipeline makes of them."""

from __future__ import annotations

from pathlib import Path

from flushwork.built import Build
from flushwork.core.findings import Finding
from flushwork.pipeline import build

PLAIN = """\
flushwork: 2
title: Plain lid
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 16 mm}
trim line: {rectangle: 76 mm x 56 mm, round: 4 mm}
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: plate, rectangle: 24 mm x 16 mm, at: [-18 mm, 0 mm], round: 3 mm,
       depth: 2 mm, fill: dark}
  holes:
    - {name: pegs, grid: {columns: 3, rows: 2, pitch: 8 mm}, at: [20 mm, 0 mm],
       diameter: 3.175 mm, depth: 8 mm}
"""
"""One inlay, six holes, one face: a job in which nothing is wrong."""


def made(folder: Path, text: str) -> Build:
    """Build a job from its text, with no shop file but the packaged one."""
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    return build(path)


def changed(old: str, new: str, text: str = PLAIN) -> str:
    """Return a job's text with one part of it changed, which must be there just once."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the job"
    return text.replace(old, new)


def found(result: Build, code: str) -> tuple[Finding, ...]:
    """Return the findings of one code."""
    return tuple(finding for finding in result.findings if finding.code == code)
