"""No bit turns faster than it is marked for, or than its width allows.

Read off the G-code files.
"""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Severity
from flushwork.job.read import read_job
from flushwork.shelf.equipment import UNMARKED, greatest_rpm
from flushwork.toolpaths.orders import GcodeFile
from tests.checks.hearing import heard, one, read_back, replayed, undated, written
from tests.many import examples
from tests.scenarios.texts import job

DISC = "front: {inlays: [{name: disc, circle: 9 mm, depth: 2 mm, fill: navy}]}\n"
STEPS = ((25.0, 24000.0), (50.0, 18000.0), (63.0, 16000.0), (90.0, 12000.0))
"""Common practice, no source, written down a second time."""


def allowed_rpm(diameter_mm: float, marked: float | None) -> float:
    """Return what a bit may turn, reckoned apart from the product."""
    if marked is not None:
        return marked
    for widest, rpm in STEPS:
        if diameter_mm <= widest:
            return rpm
    return 12000.0 * 90.0 / diameter_mm


def shop_with(diameter_mm: float, rpm: float, marked: float | None) -> str:
    mark = "" if marked is None else f", greatest speed: {marked:.0f} rpm"
    return (
        f"machine: {{slowest spindle: {rpm:.0f} rpm, fastest spindle: {rpm:.0f} rpm}}\n"
        "bits:\n"
        "  - {name: little, like: 3.175 mm flat, greatest speed: 60000 rpm}\n"
        f"  - {{name: wide, like: 25 mm facing bit, diameter: {diameter_mm:.2f} mm{mark}}}\n"
    )


@settings(max_examples=examples(2), deadline=None)
@given(
    diameter=st.floats(12.0, 100.0),
    rpm=st.floats(3000.0, 40000.0),
    marked=st.one_of(st.none(), st.floats(3000.0, 40000.0)),
)
@example(diameter=58.0, rpm=24000.0, marked=None)
@example(diameter=58.0, rpm=16000.0, marked=None)
@example(diameter=58.0, rpm=16000.0, marked=12000.0)
@example(diameter=100.0, rpm=12000.0, marked=None)
def test_what_the_files_ask_is_held_against_what_the_bit_stands(
    diameter: float, rpm: float, marked: float | None
) -> None:
    diameter, rpm = round(diameter, 2), round(rpm)
    marked = None if marked is None else round(marked)
    with TemporaryDirectory() as folder:
        build = undated(written(Path(folder), job(DISC), shop_with(diameter, rpm, marked)))
    told = {
        item.subject for item in run_checks(build) if item.code == "bit-over-speed" and item.stands
    }
    asked = {
        file.file_name
        for file in build.gcode_files
        if file.order.bit.name == "wide"
        and max(map(float, re.findall(r"S(\d+\.?\d*)", file.text))) > allowed_rpm(diameter, marked)
    }
    assert any(file.order.bit.name == "wide" for file in build.gcode_files)
    assert told == asked


def test_a_bit_whose_speed_nobody_states_is_never_proposed_faster_than_it_may_turn(
    tmp_path: Path,
) -> None:
    wide = "bits: [3.175 mm flat, {name: wide, like: 6.35 mm flat, diameter: 80 mm}]\n"
    shop = read_job(written(tmp_path, job(DISC), wide)).shop
    found = next(each for each in shop.bits if each.name == "wide")
    assert found.spindle_rpm == 12000.0


def test_a_speed_stated_over_the_mark_stops_at_its_file_and_cannot_be_accepted(
    tmp_path: Path,
) -> None:
    text = job(DISC + "accept: [{finding: bit-over-speed, because: it sounds fine}]\n")
    told = one(heard(tmp_path, text, shop_with(58.0, 24000.0, None)), "bit-over-speed")
    assert told.severity is Severity.MUST_FIX
    assert told.stands
    assert told.measure is not None
    assert (told.measure.value, told.measure.limit) == (24000.0, 16000.0)
    assert "73 m/s" in told.message
    assert UNMARKED in told.message


def test_a_file_that_somebody_changed_is_read_too(tmp_path: Path) -> None:
    build = undated(written(tmp_path, job(DISC)))
    file: GcodeFile = build.gcode_files[0]
    changed = read_back(file, re.sub(r"S\d+", "S30000", file.text))
    found = run_checks(replayed(build, {file.file_name: changed}))
    assert one(found, "bit-over-speed", file.file_name).stands


@pytest.mark.parametrize(("widest", "rpm"), STEPS)
def test_the_steps_hold_to_their_edge(widest: float, rpm: float) -> None:
    assert greatest_rpm(widest, 0.0) == rpm
    assert greatest_rpm(widest + 0.01, 0.0) < rpm
    assert greatest_rpm(widest, 9000.0) == 9000.0
