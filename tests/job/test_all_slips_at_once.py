"""However many slips a job and its shop have, of whatever kind, one reading tells of them all."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.findings import Finding, JobRefusedError
from flushwork.pipeline import build
from tests.many import examples

JOB = """\
flushwork: 2
title: Many slips
shop: shop.yaml
blank:
  wood: sugar maple
  length: 120 mm
  width: 90 mm
  thickness: 16 mm
trim line:
  rectangle: 100 mm x 70 mm
  round: 4 mm
mixes:
  dark:
    resin: coating epoxy
    pigments: [black powder]
  bright:
    resin: coating epoxy
    pigments: [silver flake]
front:
  inlays:
    - name: plate
      rectangle: 30 mm x 20 mm
      depth: 2 mm
      fill: dark
    - name: words
      text: OAK
      font: sans bold
      size: 14 mm
      at: [0 mm, 20 mm]
      depth: 2 mm
      fill: bright
    - name: leaf
      svg: leaf.svg
      at: [30 mm, -10 mm]
      depth: 2 mm
      fill: dark
    - name: rim
      seam line: {along: [plate], width: 1.6 mm}
      depth: 2 mm
      fill: bright
  holes:
    - name: pegs
      grid: {columns: 3, rows: 2, pitch: 8 mm}
      at: [-36 mm, 0 mm]
      diameter: 3.175 mm
      depth: 8 mm
"""
SHOP = """\
flushwork shop: 2
name: small shop
bits: [1 mm flat, 1.588 mm flat, 3.175 mm flat]
machine:
  name: router
air:
  day temperature: 20 degC
measuring tools: [fine scale]
"""
LEAF = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10">'
    '<path fill="#000" d="M1 1h8v8h-8z"/></svg>'
)
SLIPS = {
    "a wood unknown": ("  wood: sugar maple", "  wood: sugar mapel"),
    "a bad length": ("  length: 120 mm", "  length: 120 mmm"),
    "a length without a unit": ("  width: 90 mm", "  width: 90"),
    "an unknown key of the blank": ("  thickness: 16 mm", "  thickness: 16 mm\n  thicknes: 2 mm"),
    "too round a corner": ("  round: 4 mm", "  round: 60 mm"),
    "a resin unknown": ("  dark:\n    resin: coating epoxy", "  dark:\n    resin: coting epoxy"),
    "a pigment unknown": ("[silver flake]", "[silvr flake]"),
    "a depth of nothing": ("20 mm\n      depth: 2 mm", "20 mm\n      depth: 0 mm"),
    "a mix unknown": ("-10 mm]\n      depth: 2 mm\n      fill: dark",
                      "-10 mm]\n      depth: 2 mm\n      fill: dusk"),
    "a font unknown": ("      font: sans bold", "      font: nowhere.ttf"),
    "a letter missing": ("      text: OAK", "      text: O\u4e2dK"),
    "a drawing missing": ("      svg: leaf.svg", "      svg: loaf.svg"),
    "a seam along nothing": ("along: [plate]", "along: [plait]"),
    "a key twice": ("  rectangle: 100 mm x 70 mm", "  rectangle: 100 mm x 70 mm\n"
                    "  rectangle: 100 mm x 70 mm"),
    "holes without a diameter": ("      diameter: 3.175 mm\n", ""),
    "a number of columns": ("columns: 3", "columns: many"),
    "shop: a bit unknown": ("1.588 mm flat", "1.589 mm flet"),
    "shop: an unknown key": ("  name: router", "  nane: router"),
    "shop: a bad temperature": ("  day temperature: 20 degC", "  day temperature: warm"),
    "shop: a tool unknown": ("[fine scale]", "[finest scale]"),
}  # fmt: skip


def told(job: str, shop: str) -> tuple[Finding, ...]:
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        (folder / "job.yaml").write_text(job, "utf-8")
        (folder / "shop.yaml").write_text(shop, "utf-8")
        (folder / "leaf.svg").write_text(LEAF, "utf-8")
        try:
            build(folder / "job.yaml")
        except JobRefusedError as refused:
            return refused.findings
        return ()


def slipped(names: list[str]) -> tuple[tuple[Finding, ...], dict[str, tuple[Finding, ...]]]:
    """Return what one reading tells of several slips together, and of each alone."""
    job, shop, alone = JOB, SHOP, {}
    for name in names:
        old, new = SLIPS[name]
        if name.startswith("shop:"):
            shop = shop.replace(old, new, 1)
            alone[name] = told(JOB, SHOP.replace(old, new, 1))
        else:
            assert old in job, name
            job = job.replace(old, new, 1)
            alone[name] = told(JOB.replace(old, new, 1), SHOP)
    return told(job, shop), alone


def as_told(finding: Finding) -> tuple[str, str, str]:
    """Return a slip without its line, which other slips may move."""
    assert finding.source is not None
    # each run has a folder of its own, and other slips move lines
    words = re.sub(r"(?<= in )/.*|(?<=line )\d+", "", finding.message)
    return finding.code, finding.source.file, words


@pytest.mark.parametrize("name", SLIPS)
def test_each_slip_alone_is_told_once(name: str) -> None:
    _, alone = slipped([name])
    assert len({as_told(item) for item in alone[name]}) == 1, alone[name]


@settings(max_examples=examples(12), deadline=None)
@given(st.lists(st.sampled_from(sorted(SLIPS)), min_size=2, max_size=8, unique=True))
def test_all_slips_are_told_at_once(names: list[str]) -> None:
    if "a font unknown" in names:  # whose letters nobody can know
        names = [name for name in names if name != "a letter missing"]
    together, alone = slipped(names)
    wanted = {as_told(item) for found in alone.values() for item in found}
    missed = wanted - {as_told(item) for item in together}
    assert not missed
    lines = {item.source.line for item in together if item.source}
    assert len({as_told(item) for item in together}) <= len(wanted) + 1, lines
