"""What the bed and the hands cost: set-ups, changes, runs in air, work by area, pauses."""

from __future__ import annotations

import functools
import math
import re
import tempfile
from decimal import Decimal
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.no_return_points import risk_of
from flushwork.gcode.run_time import run_time_s
from flushwork.process.stages import StageKind
from flushwork.schedule.cost_table import Costing
from flushwork.schedule.schedule import Schedule, Step
from tests.many import examples
from tests.schedule.replanned import replanned
from tests.small_jobs import PLAIN, found, made

SMALL = PLAIN.replace("title: Plain lid", "title: Plain lid\ncell: 0.4 mm")
PRICES = """\
prices: {currency: crowns, hour of work: 30, hour of machine: 6}
"""
MACHINED = (StageKind.CUT, StageKind.MILL_FLUSH, StageKind.DRILL, StageKind.TRIM)


@functools.cache
def folder() -> Path:
    return Path(tempfile.mkdtemp())


def with_bed(bed: int, pieces: int, tests: int = 0) -> str:
    text = SMALL + f"pieces: {pieces}\n" + (f"test pieces: {tests}\n" if tests else "")
    return text + (f"on the bed: {{pieces: {bed}, step: [0 mm, 80 mm]}}\n" if bed > 1 else "")


@functools.cache
def board(bed: int) -> Build:
    return made(folder(), with_bed(bed, 1))


def days(made: Build) -> Schedule:
    assert made.schedule is not None
    assert made.schedule.hindrance is None, made.schedule.hindrance
    return made.schedule


def run(bed: int, pieces: int, tests: int = 0, shop: str = "") -> Build:
    return replanned(board(bed), folder(), with_bed(bed, pieces, tests), shop)


def in_air_min(made: Build, air_min: int) -> int:
    """Return what the runs in air take by the files themselves: each once, over a whole bed."""
    machine = made.job.shop.machine
    seconds = [run_time_s(file.program, machine) for file in made.gcode_files]
    return sum(air_min + math.ceil(each / 60.0 - 1e-9) for each in seconds)


def files_of(made: Build, step: Step) -> list[float]:
    machine = made.job.shop.machine
    return [run_time_s(file.program, machine) for file in made.staged_files.get(step.stage, ())]


@settings(max_examples=examples(8), deadline=None)
@given(st.integers(1, 3), st.integers(1, 7), st.integers(0, 2))
@example(3, 6, 0)
def test_every_file_is_run_in_air_once_before_it_cuts_and_that_is_planned_and_paid(
    bed: int, pieces: int, tests: int
) -> None:
    result = run(bed, pieces, tests, PRICES)
    schedule = days(result)
    assert sum(step.air_min for step in schedule.steps) == in_air_min(result, 2)
    for stage in {step.stage for step in schedule.steps if step.machine and step.tools}:
        own = sorted(
            (step for step in schedule.steps if step.stage == stage),
            key=lambda step: step.begin_min,
        )
        flown = 0
        for step in own:
            flown += step.air_min
            # whatever is cut comes after every file of its stage has been in the air
            assert flown == sum(other.air_min for other in own)
    costing = Costing(
        result.job, result.faces, result.plan, result.staged_files, result.replay.poured
    )
    cost = costing.cost(pieces, tests)
    assert round(60.0 * cost.hands_h) == schedule.hands_min
    machine = next(line for line in cost.lines if line.kind == "machine")
    assert round(60.0 * machine.amount) == schedule.machine_min
    assert machine.total >= Decimal(6 * in_air_min(result, 2)) / 60 - Decimal("0.01")


@settings(max_examples=examples(8), deadline=None)
@given(st.integers(1, 3), st.integers(1, 7), st.integers(4, 20), st.integers(1, 9))
@example(3, 6, 10, 4)
def test_set_ups_changes_and_runs_follow_the_bed(
    bed: int, pieces: int, mount: int, change: int
) -> None:
    shop = f"hand times: {{mount: {mount} min, change: {change} min, mount next: 3 min}}\n"
    schedule = days(result := run(bed, pieces, 0, shop))
    loads = math.ceil(pieces / bed)
    assert schedule.set_ups == loads * len(result.plan.setups)
    for step in schedule.steps:
        if step.kind not in MACHINED:
            continue
        runs = files_of(result, step)
        assert len(step.pieces) <= bed
        held = mount + 3 * (len(step.pieces) - 1) if step.mounts else 0
        least = held + sum(math.ceil(each / 60.0 - 1e-9) for each in runs) + step.air_min
        assert least + change * (len(runs) - 1) <= step.minutes <= least + change * len(runs)
    for stage in (stage for stage in result.plan.stages if stage.setup):
        own = [step for step in schedule.steps if step.stage == stage.number]
        assert sorted(piece.number for step in own for piece in step.pieces) == list(
            range(1, pieces + 1)
        )
        assert len(own) == loads


def test_a_fuller_bed_takes_less_work_and_price() -> None:
    hours, prices = [], []
    for bed in (1, 2, 3):
        result = run(bed, 6, 0, PRICES)
        hours.append(days(result).hands_min)
        costing = Costing(
            result.job, result.faces, result.plan, result.staged_files, result.replay.poured
        )
        prices.append(costing.cost(6, 0).total)
    assert hours == sorted(hours, reverse=True)
    assert hours[2] < hours[0]
    assert prices[2] < prices[0]


def test_the_run_time_told_is_that_of_the_file(tmp_path: Path) -> None:
    for bed in (1, 3):
        for file in board(bed).gcode_files:
            assert math.isclose(file.run_s, run_time_s(file.program, file.order.machine))


@settings(max_examples=examples(15), deadline=None)
@given(st.integers(60, 400), st.integers(60, 400), st.integers(5, 60), st.integers(0, 15))
@example(95, 95, 12, 5)
def test_work_by_hand_goes_by_the_area_and_has_its_pauses(
    length: int, width: int, surface: int, pause: int
) -> None:
    shop = (
        f"hand times: {{surface: {surface} min, pause: {pause} min, timed on: 360 mm x 260 mm}}\n"
    )
    text = SMALL.replace("length: 90 mm, width: 70 mm", f"length: {length} mm, width: {width} mm")
    step = next(
        step
        for step in days(replanned(board(1), folder(), text, shop)).steps
        if step.kind is StageKind.SURFACE
    )
    share = 0.3 + 0.7 * (length * width) / (360 * 260)
    assert abs(step.minutes - max(1.0, surface * share * 60 / (60 - pause))) <= 0.5


def test_a_coaster_is_not_flattened_in_the_time_of_a_board() -> None:
    def surfaced(size: str) -> int:
        text = SMALL.replace("length: 90 mm, width: 70 mm", size)
        steps = days(replanned(board(1), folder(), text, "")).steps
        return next(step.minutes for step in steps if step.kind is StageKind.SURFACE)

    small = surfaced("length: 95 mm, width: 95 mm")
    assert surfaced("length: 360 mm, width: 260 mm") > 2 * small


def test_the_no_returns_never_weigh_a_run_in_air() -> None:
    for bed in (1, 3):
        result = run(bed, 3)
        for no_return in risk_of(result).points:
            assert "run each file" not in no_return.check.what
            assert "run the outline" not in no_return.check.what
            flown = [line for line in no_return.conditions if "run once in air" in line]
            if no_return.kind in MACHINED:
                (line,) = flown
                planned = sum(
                    step.air_min for step in days(result).steps if step.stage == no_return.stage
                )
                assert f"compulsory, {planned} min of the plan" in line
            else:
                assert not flown


def forbidding(result: Build) -> set[str]:
    return {finding.code for finding in result.findings if finding.stands}


def test_what_a_fuller_bed_would_save_is_told_where_it_is_much(tmp_path: Path) -> None:
    many = made(tmp_path, with_bed(1, 12))
    (told,) = found(many, "bed-fuller-saves")
    assert told.measure is not None
    assert told.measure.value >= 1.0
    asked = re.search(r"on the bed: \{pieces: (\d+), step: \[[^]]*\]\}", told.remedy)
    assert asked is not None
    assert int(asked[1]) > 2
    assert not found(made(tmp_path, with_bed(1, 2)), "bed-fuller-saves")
    # and whoever does what is told saves it, with nothing more that forbids cutting
    obeyed = made(tmp_path, with_bed(1, 12) + f"{asked[0]}\n")
    assert forbidding(obeyed) <= forbidding(many)
    assert not found(obeyed, "bed-fuller-saves")
    saved = days(many).hands_min - days(obeyed).hands_min
    assert abs(saved - 60.0 * told.measure.value) < 0.15 * saved


def test_a_run_in_air_that_does_not_fit_beside_the_cut_is_a_task_of_its_own() -> None:
    shop = (
        "hand times: {air: 5 min, change: 5 min, mount: 5 min, surface: 5 min, sand: 5 min,\n"
        "  tidy: 1 min}\nhours: {opens: 8:00, closes: 8:16}\n"
    )
    result = run(1, 3, 0, shop)
    schedule = days(result)
    cuts = [step for step in schedule.steps if step.kind is StageKind.CUT]
    cuts.sort(key=lambda step: step.begin_min)
    flown, *others = cuts
    assert flown.air_min == in_air_min(result, 5) / len(result.gcode_files)
    assert flown.minutes == 5 + 5 + flown.air_min
    assert [step.air_min for step in others] == [0, 0, 0]
    assert sum(step.air_min for step in schedule.steps) == in_air_min(result, 5)
    assert schedule.set_ups == 3 * len(result.plan.setups)
