"""What holds against the push of the bits: random boards, shops and tabs, by closed form."""

from __future__ import annotations

import math
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.rules.machine.hold_rules import hardest_push, held_too_weakly
from flushwork.core.findings import Finding, Severity
from flushwork.fit.grip import grip_of, tape_n
from flushwork.shelf.items import Holding
from flushwork.toolpaths.orders import Work
from tests.checks import hearing
from tests.checks.hearing import one, undated, written
from tests.many import examples


@dataclass(frozen=True)
class Board:
    """A trimmed board and how it is held."""

    size: float
    tabs: int
    tab_mm: float
    tab_high_mm: float
    tape: int
    clamps: int
    pins: int


def job(board: Board) -> str:
    return (
        "flushwork: 2\ncell: 0.5 mm\ntitle: Held\nholding: own\n"
        f"blank: {{wood: sugar maple, length: {board.size + 40:.2f} mm, "
        f"width: {board.size + 30:.2f} mm, thickness: 14 mm}}\n"
        f"trim line: {{rectangle: {board.size:.2f} mm x {0.8 * board.size:.2f} mm, round: 5 mm, "
        f"tabs: {board.tabs}, tab length: {board.tab_mm:.2f} mm, "
        f"tab height: {board.tab_high_mm:.2f} mm}}\n"
        "mixes: {dark: {resin: coating epoxy, pigments: [black powder]}}\n"
        "front: {inlays: [{name: sun, circle: 24 mm, depth: 2 mm, fill: dark}]}\n"
    )


def shop(board: Board) -> str:
    return (
        "holding:\n  - {name: own, how: in some way, locates by: sight, repeatability: 0.1 mm, "
        f"tape: {board.tape} %, clamps: {board.clamps}, clamp force: 250 N, pins: {board.pins}}}\n"
    )


def heard(board: Board) -> tuple[Build, list[Finding]]:
    with tempfile.TemporaryDirectory() as folder:
        build = undated(written(Path(folder), job(board), shop(board)))
        return build, list(held_too_weakly(build))


def tape_of(share: float, long_mm: float, short_mm: float, area_mm2: float, arm_mm: float) -> float:
    """5 N/cm2 sideways; peeled, 5 N/cm2 at both edges, falling evenly to none in the middle."""
    strips, wide = 400, short_mm / 10.0
    middles = [(k + 0.5) / strips - 0.5 for k in range(strips)]
    moment = sum(
        5.0 * share * 2.0 * abs(at) * (long_mm / 10.0) * (wide / strips) * abs(at) * wide
        for at in middles
    )
    return min(5.0 * share * area_mm2 / 100.0, moment / (arm_mm / 10.0))


@settings(max_examples=examples(6), deadline=None)
@given(
    st.builds(
        Board,
        size=st.floats(40.0, 120.0),
        tabs=st.integers(0, 6),
        tab_mm=st.floats(0.5, 5.0),
        tab_high_mm=st.floats(0.2, 2.0),
        tape=st.integers(0, 60),
        clamps=st.integers(0, 4),
        pins=st.integers(0, 3),
    )
)
@example(Board(80.0, 0, 4.0, 1.2, 0, 2, 0))
@example(Board(80.0, 2, 0.5, 0.4, 0, 2, 0))
@example(Board(80.0, 0, 4.0, 1.2, 50, 0, 0))
def test_a_push_that_nothing_stands_must_be_mended(board: Board) -> None:
    build, found = heard(board)
    nothing = board.tape == board.clamps == board.pins == 0
    if nothing:
        assert {"grip-unsaid"} <= {item.code for item in found}
        assert ("trim-without-tabs" in {item.code for item in found}) is (board.tabs == 0)
        return
    reports = {report.file_name: report for report in build.replay.cuts}
    for file in build.gcode_files:
        push = hardest_push(build, file, reports[file.file_name])
        assert push.force_n > 0.0
        if any(operation.work is Work.TRIM for operation in file.order.operations):
            trim = build.faces[0].trim
            tape = tape_of(
                board.tape / 100.0, board.size, 0.8 * board.size, trim.area, push.bite_mm
            )
            holds = tape + board.tabs * board.tab_mm * board.tab_high_mm * 5.0
            told = [item for item in found if item.subject in {file.file_name, "trim line"}]
        else:
            long, short = board.size + 40.0, board.size + 30.0
            tape = tape_of(board.tape / 100.0, long, short, long * short, 13.5)
            holds = tape + 0.3 * 250.0 * board.clamps + 200.0 * board.pins
            told = [item for item in found if item.subject == file.file_name]
        if min(abs(holds / push.force_n - edge) for edge in (1.0, 2.0)) < 0.03:
            continue
        if holds > 2.0 * push.force_n:
            assert told == []
        else:
            weak = holds < push.force_n
            assert [item.severity for item in told] == [
                Severity.MUST_FIX if weak else Severity.WARNING
            ], (holds, push)
            loose = weak and told[0].subject == "trim line"
            assert told[0].code == ("trim-without-tabs" if loose else "held-too-weakly")
            assert told[0].measure is not None
            assert told[0].measure.value == pytest.approx(holds, rel=0.02, abs=0.1)


def test_the_push_is_the_side_force_of_the_replayed_bite(tmp_path: Path) -> None:
    """2 sqrt(1 + 0.5^2) x edges x depth x (shear x chip + tear), sugar maple of gravity 0.63."""
    build, _ = heard(Board(80.0, 4, 4.0, 1.2, 50, 0, 0))
    gravity = build.job.blank.wood.gravity
    file = next(f for f in build.gcode_files if f.order.operations[0].work is Work.TRIM)
    report = next(r for r in build.replay.cuts if r.file_name == file.file_name)
    push = hardest_push(build, file, report)
    bit, moves = file.order.bit, file.program.moves
    feed = max(move.feed_mm_min for move in moves)
    rpm = max(move.spindle_rpm for move in moves)
    chip = feed / rpm / bit.flutes
    chip += min(0.01, (bit.flutes - 1) * chip)
    most = 2.0 * math.sqrt(1.25) * max(1.0, bit.flutes / 2.0) * push.bite_mm
    assert push.force_n <= most * (40.0 * gravity * chip + 2.2 * gravity) * 1.0001
    assert push.force_n > 0.3 * most * (40.0 * gravity * chip + 2.2 * gravity)
    assert push.bite_mm <= float(report.bite_mm.max()) + 0.011


@pytest.mark.parametrize(
    ("how", "locates", "held"),
    [
        ("double-sided tape on the flat face", "two dowels in the waste", (0.5, 0, 2)),
        ("clamps on the waste", "a corner of two fixed stops", (0.0, 2, 0)),
        ("screwed through the waste", "pencil lines", (0.0, 0, 4)),
        ("a vacuum table", "two dowels", None),
        ("stapled", "a spindle over a mark", None),
    ],
)
def test_a_holding_is_taken_by_its_words(
    how: str, locates: str, held: tuple[float, int, int] | None
) -> None:
    grip = grip_of(Holding("own", how, locates, 0.1, ""))
    assert (None if grip is None else (grip.tape_share, grip.clamps, grip.pins)) == held


@settings(max_examples=examples(30), deadline=None)
@given(st.floats(0.05, 1.0), st.floats(20.0, 300.0), st.floats(20.0, 300.0), st.floats(0.5, 30.0))
def test_more_tape_and_a_shorter_arm_never_hold_less(
    share: float, long: float, short: float, arm: float
) -> None:
    here = tape_n(share, long * short, long, short, arm)
    assert tape_n(min(1.0, share * 1.2), long * short, long, short, arm) >= here
    assert tape_n(share, long * short, long, short, 0.8 * arm) >= here
    assert tape_n(share, 1.2 * long * short, long, 1.2 * short, arm) >= here


def test_a_trim_that_nothing_holds_is_never_accepted(tmp_path: Path) -> None:
    board = Board(80.0, 0, 4.0, 1.2, 0, 2, 0)
    text = job(board) + "accept: [{finding: trim-without-tabs, because: I am quick}]\n"
    assert one(hearing.heard(tmp_path, text, shop(board)), "trim-without-tabs").stands
