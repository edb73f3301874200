"""Codes that other tests trip without naming them: each is told by name, and its twin is silent."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from tests.checks.hearing import heard, undated, written
from tests.checks.test_seeded_faults import FAULTS as ALL
from tests.checks.test_seeded_faults import (
    JOB,
    SHOP,
    Cut,
    Fault,
    Order,
    altered,
    loud,
    ordered,
    slipped,
)
from tests.scenarios.texts import job

FIELD = "front: {inlays: [{name: a, circle: 9 mm, depth: 2 mm, fill: navy}]}\n"
PEGS = (
    "front: {holes: [{name: p, grid: {columns: 2, rows: 2, pitch: 12 mm}, diameter: %s, "
    "depth: 3 mm, bit: 3.175 mm flat}]}\n"
)
NAVY = "navy: {resin: casting epoxy,"
TEXTS = {
    "ratio-unreadable": (
        job(FIELD).replace(NAVY, f"{NAVY} ratio: two to one,"),
        job(FIELD).replace(NAVY, f"{NAVY} ratio: '100:45 by weight',"),
    ),
    "colour-unreadable": (
        job(FIELD).replace(NAVY, f"{NAVY} colour: '#12',"),
        job(FIELD).replace(NAVY, f"{NAVY} colour: '#123456',"),
    ),
    "trim-line-without-area": (
        job("trim line: {lines: [[[0 mm, 0 mm], [10 mm, 0 mm]]]}\n" + FIELD),
        job("trim line: {circle: 40 mm}\n" + FIELD),
    ),
    "hole-bit-too-wide": (job(PEGS % "2 mm"), job(PEGS % "4 mm")),
    "proud-resin-left": (
        job("allowances: {left proud: 0.9 mm, overfill: 1 mm}\n" + FIELD),
        job("allowances: {left proud: 0.2 mm, overfill: 1 mm}\n" + FIELD),
    ),
}
FAULTS = {
    "shifted by 1 mm": ("cut-shifted", "cut-outside-artwork"),
    "spindle too slow": ("spindle-out-of-range",),
    "another bit called": ("other-bit-called",),
    "a word nobody knows": ("gcode-file-unreadable",),
    "a hole missing": ("holes-not-as-asked",),
    "outline not cut": ("trim-not-cut",),
    "flush milling left out": ("sanded-before-flush",),
    "thickness and width swapped": ("blank-thicker-than-wide",),
    "no scale": ("batch-cannot-be-measured",),
}
"""Seeded faults, and what is told of each by name; the sound job tells none of it."""


@pytest.mark.parametrize("code", TEXTS)
def test_it_is_told_by_name_and_its_twin_is_silent(tmp_path: Path, code: str) -> None:
    wrong, right = TEXTS[code]
    assert code in {item.code for item in heard(tmp_path / "wrong", wrong)}
    assert code not in {item.code for item in heard(tmp_path / "right", right)}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return undated(written(tmp_path_factory.mktemp("named"), JOB, SHOP))


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_told_by_its_own_name(tmp_path: Path, name: str, sound: Build) -> None:
    known = loud(run_checks(sound))
    fault: Fault = next(item for item in ALL if item.name == name)
    if isinstance(fault, Cut):
        found = altered(fault, sound, known)
    elif isinstance(fault, Order):
        found = ordered(fault, sound, known)
    else:
        found = slipped(fault, tmp_path, known)
    for code in FAULTS[name]:
        assert code in found.told
        assert code not in {item.code for item in run_checks(sound)}
