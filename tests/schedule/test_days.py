"""The days of small whole jobs: what is waited for, what is found, what is planned again."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.checks.rules.work.schedule_rules import no_days
from flushwork.core.findings import JobRefusedError, Severity
from flushwork.core.units.kinds import DAY_MIN
from flushwork.job.day_log import read_day_log
from flushwork.job.records import Lead
from flushwork.pipeline import build
from flushwork.process.stages import StageKind
from flushwork.schedule.groups import days_of
from flushwork.schedule.plan_days import schedule_of, yardstick
from flushwork.schedule.resume import Done, Progress, progress_of
from flushwork.schedule.run_problem import ScheduleOptions, schedule_options_of
from flushwork.schedule.schedule import Hindrance, Obstacle, Schedule, Step
from flushwork.schedule.shop_days import shop_days
from flushwork.schedule.solve.tasks import Goal, Shift
from flushwork.views.day_sheets import day_sheet_text, entries_of
from tests.small_jobs import PLAIN, changed, found, made

CAPPED = changed(
    "  holes:",
    "    - {name: line, seam line: {along: [plate], width: 1 mm}, depth: 1.2 mm, fill: dark,\n"
    "       how: scraped flush and capped, cap: clear}\n  holes:",
)
RUN = CAPPED + "pieces: 2\ntest pieces: 1\nfinish: {name: wiping varnish, coats: 2}\n"
SHOP = "flushwork shop: 2\n"


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return made(tmp_path_factory.mktemp("run"), RUN)


def days(result: Build) -> Schedule:
    assert result.schedule is not None
    return result.schedule


def in_shop(folder: Path, shop: str, text: str = PLAIN) -> Build:
    (folder / "shop.yaml").write_text(SHOP + shop, "utf-8")
    (folder / "job.yaml").write_text(text + "shop: shop.yaml\n", "utf-8")
    return build(folder / "job.yaml")


def again(result: Build, wishes: ScheduleOptions) -> Schedule:
    return schedule_of(result.job, result.plan, result.staged_files, result.pours, wishes)


def of_kind(schedule: Schedule, kind: StageKind) -> list[Step]:
    return [step for step in schedule.steps if step.kind is kind]


def test_one_pair_of_hands_works_in_the_shops_hours_only(run: Build) -> None:
    schedule = days(run)
    for step, later in pairwise(schedule.steps):
        assert step.end_min <= later.begin_min
    for step in schedule.steps:
        assert schedule.days.works(step.begin_min // DAY_MIN)
        assert 8 * 60 <= step.begin_min % DAY_MIN < step.end_min % DAY_MIN <= 18 * 60


def test_every_wait_is_kept_and_every_window_met(run: Build) -> None:
    schedule = days(run)
    begins = {step.task: step.begin_min for step in schedule.steps}
    ends = {step.task: step.end_min for step in schedule.steps}
    assert schedule.missed == ()
    assert any(wait.closes_min is not None for wait in schedule.waits)
    for wait in schedule.waits:
        assert wait.since_min == ends[wait.task]
        assert begins[wait.until] >= wait.ready_min - 1
        assert wait.closes_min is None or ends[wait.until] <= wait.closes_min


def test_one_colour_is_mixed_once_for_all_pieces(run: Build) -> None:
    for step in days(run).steps:
        assert (len(step.pieces) == 3) == (step.pour > 0)
    assert days(run).batches == len(run.pours)


def test_a_piece_keeps_the_machine_through_its_setup(run: Build) -> None:
    mounted = [step for step in days(run).steps if step.machine]
    spans: dict[tuple[int, str], tuple[int, int]] = {}
    for step in mounted:
        key = (step.setup, step.pieces[0].name)
        begin, end = spans.get(key, (step.begin_min, step.end_min))
        spans[key] = (min(begin, step.begin_min), max(end, step.end_min))
    row = sorted(spans.values())
    assert all(one[1] <= two[0] for one, two in pairwise(row))
    assert days(run).set_ups == len(spans) == 3 * len(run.plan.setups)


def test_the_finish_waits_for_the_full_cure_and_its_coats_for_one_another(run: Build) -> None:
    schedule = days(run)
    cured = [wait for wait in schedule.waits if wait.what.endswith("fully cured")]
    coats = of_kind(schedule, StageKind.FINISH)
    assert min(step.begin_min for step in coats) >= max(wait.ready_min for wait in cured)
    for piece in schedule.pieces:
        first, second = (step for step in coats if piece in step.pieces)
        assert second.begin_min - first.end_min >= 12 * 60


def test_days_that_are_found_and_proven_have_nothing_told(run: Build) -> None:
    assert days(run).proven
    for code in ("days-unproven", "days-impossible", "days-not-found"):
        assert not found(run, code)


def test_the_same_job_gives_the_same_days(run: Build) -> None:
    assert again(run, schedule_options_of(run.job)).steps == days(run).steps


def test_it_beats_piece_after_piece(run: Build) -> None:
    alone = yardstick(run.job, run.plan, run.staged_files, run.pours, schedule_options_of(run.job))
    assert days(run).finish_min < alone.finish_min
    assert days(run).hands_min < alone.hands_min
    assert days(run).batches < alone.batches


def test_a_test_piece_ahead_has_batches_of_its_own_and_is_waited_for(tmp_path: Path) -> None:
    result = made(tmp_path, RUN + "test piece ahead: until the last sanding\n")
    schedule = days(result)
    assert {pour.pieces for pour in result.pours} == {1, 2}
    lessons = max(step.end_min for step in of_kind(schedule, StageKind.SAND) if step.pieces[0].test)
    cuts = [step for step in of_kind(schedule, StageKind.CUT) if not step.pieces[0].test]
    assert min(step.begin_min for step in cuts) >= lessons
    assert schedule.proven


def test_few_cure_places_make_a_job_wait(tmp_path: Path) -> None:
    text = PLAIN + "pieces: 2\ntest pieces: 1\ntest piece ahead: until the first sanding\n"
    wide = in_shop(tmp_path, "", text)
    (tmp_path / "narrow").mkdir()
    narrow = in_shop(tmp_path / "narrow", "cure places: 2\n", text)
    assert days(narrow).steps
    assert days(narrow).finish_min >= days(wide).finish_min


def test_too_few_places_for_one_batch_leave_no_plan_and_one_finding(tmp_path: Path) -> None:
    result = in_shop(tmp_path, "cure places: 1\n", PLAIN + "pieces: 2\ngroups: 1\n")
    assert days(result).hindrance is not None
    (told,) = found(result, "cure-places-too-few")
    assert "fills 2 pieces" in told.message
    assert "places for 1" in told.message


def test_pieces_that_do_not_fit_together_are_poured_in_groups(tmp_path: Path) -> None:
    result = in_shop(tmp_path, "cure places: 1\n", PLAIN + "pieces: 2\n")
    schedule = days(result)
    assert schedule.groups == (1, 1)
    assert {(pour.first, pour.pieces) for pour in result.pours} == {(0, 1), (1, 1)}
    poured = of_kind(schedule, StageKind.FILL)
    assert sorted(step.pieces[0].number for step in poured) == [1, 2]
    assert not found(result, "cure-places-too-few")


def test_groups_are_taken_where_they_end_a_day_sooner(tmp_path: Path) -> None:
    """Six pieces that take long to mount: half of them cure while the others are cut."""
    result = in_shop(
        tmp_path, "hand times: {mount: 100 min}\ncoats apart: yes\n", CAPPED + "pieces: 6\n"
    )
    schedule = days(result)
    alone = replace(result.job, groups=1)
    together = days_of((replace(result, job=alone).asked,), schedule_options_of(alone))
    assert len(schedule.groups) > 1
    assert schedule.finish_min // DAY_MIN < together.schedule.finish_min // DAY_MIN
    assert schedule.batches > together.schedule.batches
    assert together.schedule.groups == (6,)
    (told,) = found(result, "days-unproven")
    assert told.severity is Severity.NOTE
    gap = next(goal for goal in schedule.goals if goal.name == "finish")
    sooner = gap.reached - gap.bound
    assert f"at most {sooner // 60} h {sooner % 60} min sooner" in told.message
    other = next(item for item in together.schedule.groupings if item.groups == 2)
    assert other.finish_min < together.schedule.finish_min
    assert "sooner" in day_sheet_text(together.schedule)
    for one, two in pairwise(sorted(schedule.steps, key=lambda step: step.begin_min)):
        assert one.end_min <= two.begin_min


def test_what_comes_out_of_one_cup_is_poured_within_its_life(run: Build) -> None:
    """All fills of a session come out of one cup: none is left standing over a night."""
    lives = {pour.number: pour.pot_life_s / 60 for pour in run.pours}
    for schedule in (days(run), again(run, replace(schedule_options_of(run.job), off=frozenset()))):
        for number, life_min in lives.items():
            own = [step for step in schedule.steps if step.pour == number]
            worked = sum(step.minutes for step in own)
            spanned = max(step.end_min for step in own) - min(step.begin_min for step in own)
            assert spanned <= max(life_min, worked)


def test_batches_shared_with_a_test_piece_that_is_waited_for_leave_no_plan(run: Build) -> None:
    schedule = again(run, replace(schedule_options_of(run.job), lead=Lead.FINISH))
    assert schedule.hindrance is not None
    assert schedule.hindrance.kind is Obstacle.NO_PLAN
    (told,) = no_days(replace(run, schedule=schedule))
    assert (told.code, told.severity) == ("days-impossible", Severity.WARNING)


def test_a_run_longer_than_the_days_the_shop_is_open_is_told(tmp_path: Path) -> None:
    """One Monday is no time for a cure; every Monday is."""
    first = dt.date(2027, 3, 1)
    weeks = [str(first + dt.timedelta(days=7 * week)) for week in range(1, 115)]
    text = PLAIN + f"begin: {first}\n"
    once = in_shop(tmp_path, "days: Monday\n", text + f"days off: [{', '.join(weeks)}]\n")
    (told,) = found(once, "days-impossible")
    assert "No plan of days exists" in told.message
    assert days(once).steps == ()
    assert not found(in_shop(tmp_path, "days: Monday\n", text), "days-impossible")


def test_a_search_without_time_says_that_it_found_none(run: Build) -> None:
    case = run
    missing = replace(days(run), steps=(), hindrance=Hindrance(Obstacle.NOT_FOUND))
    (told,) = no_days(replace(case, schedule=missing))
    assert (told.code, told.severity) == ("days-not-found", Severity.WARNING)
    assert "in the time given" in told.message
    assert "fewer pieces" in told.remedy
    assert not list(no_days(case))


def test_a_day_log_names_what_the_job_has(run: Build) -> None:
    """The stages of the plan, and test piece 1 and pieces 1 and 2."""
    stages, pieces = len(run.plan.stages), days(run).pieces

    def read(*entries: str) -> Progress:
        text = "# the log\n" + "".join(f"2027-03-02 09:00 {entry}\n" for entry in entries)
        return progress_of(
            read_day_log(text, "day.log"), dt.date(2027, 3, 2), pieces, {"": stages}, "day.log"
        )

    known = ("stage 1", f"stage {stages}", "stage 1 piece 2", "stage 1 test piece 1")
    assert len(read(*known).done) == 2 * len(pieces) + 2
    unknown = (f"stage {stages + 1}", "stage 1 piece 3", "stage 1 test piece 2")
    with pytest.raises(JobRefusedError) as refused:
        read("stage 1", *unknown)
    told = refused.value.findings
    assert {item.code for item in told} == {"day-log-names-nothing"}
    assert [item.subject for item in told] == list(unknown)
    assert [item.source.line for item in told if item.source] == [3, 4, 5]
    assert f"stages 1 to {stages}" in told[0].message


def test_a_shop_that_is_never_open_is_one_finding(run: Build) -> None:
    monday = dt.date(2027, 3, 1)
    shut = frozenset(monday + dt.timedelta(days=day) for day in range(800))
    schedule = again(run, ScheduleOptions(first=monday, off=shut))
    assert schedule.hindrance is not None
    assert schedule.hindrance.kind is Obstacle.NO_HOURS
    assert schedule.steps == ()


def test_a_shop_without_days_is_told(tmp_path: Path) -> None:
    first = dt.date(2027, 3, 1)
    off = ", ".join(str(first + dt.timedelta(days=7 * week)) for week in range(110))
    text = PLAIN + f"begin: {first}\ndays off: [{off}]\n"
    result = in_shop(tmp_path, "days: Monday\n", text)
    (told,) = found(result, "shop-without-hours")
    assert "no hours" in told.message
    assert days(result).steps == ()


def test_a_stage_longer_than_the_day_is_told(tmp_path: Path) -> None:
    result = in_shop(
        tmp_path,
        'hours: {opens: "8:00", closes: "9:00"}\nhand times: {sand: 90 min,'
        " pause: 0 min, timed on: 90 mm x 70 mm}\n",
    )
    (told,) = found(result, "stage-longer-than-day")
    assert "90 min" in told.message
    assert told.measure is not None
    assert told.measure.limit == pytest.approx(60)


def test_a_window_that_closes_overnight_is_told_once_and_keyed(tmp_path: Path) -> None:
    """Two hours a day: 8:00 to 10:00 is too short for 6 h, and the warm night is too long."""
    shop = (
        'hours: {opens: "8:00", closes: "10:00"}\n'
        "air: {day temperature: 30 degC, night temperature: 30 degC}\n"
    )
    result = in_shop(tmp_path, shop, CAPPED)
    (told,) = found(result, "recoat-window-missed")
    assert told.subject == "dark"
    assert "from 08:00 to 10:00" in told.message
    (cap,) = of_kind(days(result), StageKind.CAP)
    assert cap.scuffed
    assert cap.minutes > 15
    assert "wash and scuff-sand" in day_sheet_text(days(result))


def test_a_cold_shop_cures_too_slowly(tmp_path: Path) -> None:
    air = "air: {day temperature: 15 degC, night temperature: 2 degC}\n"
    (told,) = found(in_shop(tmp_path, air), "cure-too-slow")
    assert told.measure is not None
    assert told.measure.value > 4.0


def test_a_cure_longer_than_the_job_is_told_and_not_the_lateness_too(tmp_path: Path) -> None:
    result = made(tmp_path, RUN + "begin: 2027-03-01\nwanted by: 2027-03-05\n")
    (told,) = found(result, "cure-longer-than-job")
    assert told.subject == "coating epoxy"
    assert not found(result, "finish-after-wanted")
    cold = "air: {day temperature: 15 degC, night temperature: 2 degC}\n"
    both = in_shop(tmp_path, cold, RUN + "begin: 2027-03-01\nwanted by: 2027-03-05\n")
    assert len(found(both, "cure-longer-than-job")) == 1
    assert not found(both, "cure-too-slow")


def test_a_finish_after_the_day_it_is_wanted_is_told(tmp_path: Path) -> None:
    late = made(tmp_path, RUN + "begin: 2027-03-01\nwanted by: 2027-03-19\n")
    (told,) = found(late, "finish-after-wanted")
    assert told.measure is not None
    assert told.measure.value > 0.0
    soon = made(tmp_path, RUN + "begin: 2027-03-01\nwanted by: 2027-05-28\n")
    assert not found(soon, "finish-after-wanted")


def test_a_search_cut_short_still_gives_days_and_its_gap(run: Build) -> None:
    limits = replace(ScheduleOptions().limits, effort=0.0, tidy_effort=0.0, seconds=0.001)
    schedule = again(run, replace(schedule_options_of(run.job), limits=limits))
    assert schedule.steps
    short = replace(schedule, goals=(Goal("finish", schedule.finish_min, 0),))
    assert not short.proven
    assert "at most" in short.status()


def filled_until(schedule: Schedule, minute: int, log: tuple[tuple[int, float], ...]) -> Progress:
    """Return the state in which the first fill has been made, at its planned time."""
    first = of_kind(schedule, StageKind.FILL)[0]
    done = [step for step in schedule.steps if step.end_min <= first.end_min]
    index = {piece: number for number, piece in enumerate(schedule.pieces)}
    return Progress(
        now_min=minute,
        done=tuple(
            Done(step.stage, step.end_min, index[piece]) for step in done for piece in step.pieces
        ),
        log=log,
    )


def test_the_rest_is_planned_from_the_middle(run: Build) -> None:
    schedule = days(run)
    fill = of_kind(schedule, StageKind.FILL)[0]
    after = again(
        run,
        replace(schedule_options_of(run.job), progress=filled_until(schedule, fill.end_min, ())),
    )
    assert after.finish_min == schedule.finish_min
    assert {step.task for step in after.steps if step.done} == {
        step.task for step in schedule.steps if step.end_min <= fill.end_min
    }
    assert all(step.begin_min >= fill.end_min for step in after.steps if not step.done)


def test_a_cold_night_in_the_log_moves_the_levelling(run: Build) -> None:
    """A night at 8 degrees is below the resin's floor and counts for nothing."""
    schedule = days(run)
    fill = of_kind(schedule, StageKind.FILL)[0]
    morning = (fill.end_min // DAY_MIN + 1) * DAY_MIN + 8 * 60
    evening = fill.end_min // DAY_MIN * DAY_MIN + 18 * 60
    usual = ((fill.begin_min, 20.0), (evening, 16.0), (morning, 20.0))
    cold = ((fill.begin_min, 20.0), (evening, 8.0), (morning, 20.0))
    level = {
        name: min(
            wait.ready_min
            for wait in again(
                run,
                replace(
                    schedule_options_of(run.job), progress=filled_until(schedule, morning, log)
                ),
            ).waits
            if wait.task == fill.task
        )
        for name, log in (("usual", usual), ("cold", cold))
    }
    planned = min(wait.ready_min for wait in schedule.waits if wait.task == fill.task)
    assert level["usual"] == pytest.approx(planned, abs=1)
    lost_h = 14.0 * 2.0 ** ((16.0 - 25.0) / 10.0)
    assert level["cold"] > level["usual"] + lost_h * 60


def test_milestones_of_each_piece(run: Build) -> None:
    schedule = days(run)
    for dates in schedule.milestones:
        cuts = [s for s in of_kind(schedule, StageKind.CUT) if dates.piece in s.pieces]
        assert dates.cut_min == min(step.begin_min for step in cuts)
        assert dates.mill_flush_min is not None
        assert dates.last_pour_min is not None
        assert dates.ship_min >= dates.finish_min + 72 * 60


def test_the_day_sheets_hold_every_step(run: Build) -> None:
    schedule = days(run)
    told = [step for entry in entries_of(schedule) for step in entry.steps]
    assert sorted(told, key=lambda step: step.task) == sorted(
        schedule.steps, key=lambda step: step.task
    )
    text = day_sheet_text(schedule)
    assert "day 1 (Monday)" in text
    assert "test piece 1" in text
    assert "last moment to pour on it" in text


def test_each_layer_waits_for_the_one_beneath_it_alone(tmp_path: Path) -> None:
    """Three layers within one window each: the third is not held against the first."""
    deep = changed("depth: 2 mm, fill: dark}", "depth: 13.9 mm, fill: dark, in layers: yes}")
    thick = changed("thickness: 16 mm", "thickness: 30 mm", deep)
    schedule = days(made(tmp_path, thick))
    fills = of_kind(schedule, StageKind.FILL)
    assert len(fills) == 3
    on = [wait for wait in schedule.waits if wait.closes_min is not None]
    assert [(wait.task, wait.until) for wait in on] == [
        (one.task, two.task) for one, two in pairwise(fills)
    ]
    assert schedule.missed == ()


SEAL_COAT = "sealers: [{like: seal coat, dry after: 4 h, fill within: 12 h}]\n"


def test_a_seal_coat_is_filled_within_its_window(tmp_path: Path) -> None:
    """Nine hours of cutting are sealed piece by piece; the common pour is in time for the first."""
    result = in_shop(tmp_path, SEAL_COAT + "hand times: {mount: 90 min}\n", PLAIN + "pieces: 4\n")
    schedule = days(result)
    sealed = [wait for wait in schedule.waits if "seal until" in wait.what]
    assert {wait.piece.number for wait in sealed} == {1, 2, 3, 4}
    assert schedule.missed == ()
    begins = {step.task: step.begin_min for step in schedule.steps}
    ends = {step.task: step.end_min for step in schedule.steps}
    for wait in sealed:
        # the resin's own six hours are longer than the sealer's four, twelve shorter than eighteen;
        # all of them at 25 degrees, in a shop of 20 by day and 16 by night
        assert begins[wait.until] >= max(wait.ready_min, ends[wait.task] + 6 * 60 * 2**0.5)
        assert wait.closes_min is not None
        assert ends[wait.until] <= wait.closes_min <= ends[wait.task] + 12 * 60 * 2**0.9


def test_a_seal_that_cannot_be_filled_in_time_is_keyed(tmp_path: Path) -> None:
    narrow = SEAL_COAT.replace("fill within: 12 h", "fill within: 4 h")
    result = in_shop(tmp_path, narrow, PLAIN + "pieces: 2\n")
    schedule = days(result)
    assert schedule.missed
    assert any(step.scuffed for step in of_kind(schedule, StageKind.FILL))


@pytest.mark.parametrize(
    ("first", "begin", "until", "times"),
    [
        (dt.date(2027, 3, 26), 2 * DAY_MIN + 120, 2 * DAY_MIN + 180, 0),
        (dt.date(2027, 10, 29), 2 * DAY_MIN + 120, 2 * DAY_MIN + 180, 2),
    ],
)
def test_the_shops_zone_tells_when_its_clock_is_changed(
    run: Build, first: dt.date, begin: int, until: int, times: int
) -> None:
    """In Berlin at 2:00 on 28 March 2027, and at 3:00 on 31 October."""
    planned = shop_days(run.job.shop, first, (), "Europe/Berlin")
    assert planned.shifts(5 * DAY_MIN) == (Shift(begin, until, times),)
    assert shop_days(run.job.shop, first).shifts(5 * DAY_MIN) == ()


def test_a_cure_over_the_change_of_the_clock_is_planned_by_the_true_time(run: Build) -> None:
    """Filled on the Friday before; the hour that never was, or comes twice, moves the alarm."""
    for first, sign in ((dt.date(2027, 3, 26), 1), (dt.date(2027, 10, 29), -1)):
        wishes = replace(schedule_options_of(run.job), first=first)
        plain, true = again(run, wishes), again(run, replace(wishes, zone="Europe/Berlin"))
        pairs = [
            (one, two)
            for one in plain.waits
            for two in true.waits
            if (one.task, one.until, one.piece) == (two.task, two.until, two.piece)
            and one.since_min == two.since_min < 2 * DAY_MIN < one.ready_min - 180
            and one.resin
        ]
        assert pairs
        assert all(0 < sign * (two.ready_min - one.ready_min) <= 60 for one, two in pairs)


def test_colours_of_one_clear_batch_are_made_for_each_piece_apart(tmp_path: Path) -> None:
    text = changed(
        "  holes:",
        "    - {name: dot, circle: 8 mm, at: [0 mm, 18 mm], depth: 2 mm, fill: red}\n  holes:",
        changed(
            "  clear: {",
            "  red: {resin: coating epoxy, pigments: [{name: ivory powder}]}\n  clear: {",
        ),
    )
    result = made(tmp_path, text + "pieces: 2\n")
    assert any(pour.shares_clear_with for pour in result.pours)
    alone = yardstick(
        result.job, result.plan, result.staged_files, result.pours, schedule_options_of(result.job)
    )
    assert alone.hindrance is None
    assert alone.hands_min > days(result).hands_min
    none = replace(alone, steps=(), goals=())
    assert not none.proven
