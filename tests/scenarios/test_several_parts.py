"""One job of several parts: each cut as if it were alone, all poured, planned and paid together."""

from __future__ import annotations

import datetime as dt
import html
import random
import re
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.book.compose import book_view
from flushwork.built import Build
from flushwork.checks.all_rules import BOARD, MACHINE
from flushwork.checks.rules.work.stock_rules import needs, not_enough_on_hand
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.job.day_log import read_day_log
from flushwork.job.read import read_job
from flushwork.job.text.dump import resolved_text
from flushwork.pipeline import build
from flushwork.process.stages import StageKind
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.schedule.groups import days_of
from flushwork.schedule.plan_days import schedule_of
from flushwork.schedule.resume import Progress, first_day, progress_of
from flushwork.schedule.run import pieces_of
from flushwork.schedule.run_problem import NotBefore, schedule_options_of
from flushwork.schedule.schedule import Schedule, Step
from flushwork.shelf.working import StockKind
from flushwork.usecases.check import PartError, part_of
from flushwork.usecases.plan import cost, plan, planned_anew
from flushwork.usecases.what_if import fix
from flushwork.usecases.write import write
from flushwork.wood.cut_parts import cut_groups_of
from tests.many import examples

BEGIN = dt.datetime(2027, 3, 1, 8, 0)
COMMON = """\
flushwork: 2
title: Board and box
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
  clear: {resin: coating epoxy}
"""
BOARD_KEYS = """\
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 16 mm}
trim line: {rectangle: 76 mm x 56 mm, round: 4 mm}
front:
  inlays:
    - {name: plate, rectangle: 24 mm x 16 mm, at: [-18 mm, 0 mm], round: 3 mm,
       depth: 2 mm, fill: dark}
  holes:
    - {name: pegs, grid: {columns: 3, rows: 2, pitch: 8 mm}, at: [20 mm, 0 mm],
       diameter: 3.175 mm, depth: 8 mm}
"""
LID_KEYS = """\
blank: {wood: black cherry, length: 100 mm, width: 80 mm, thickness: 10 mm}
trim line: {rectangle: 86 mm x 66 mm, round: 4 mm}
front:
  inlays:
    - {name: disc, circle: 30 mm, depth: 2 mm, fill: dark}
"""
SHOP = """\
flushwork shop: 2
prices:
  currency: crowns
  hour of work: 20
  wanted per hour: 30
  hour of machine: 4
  sundries: 3
  wood: {sugar maple: 5, black cherry: 7}
  resin: {coating epoxy: 32}
  pigment: {black powder: 90}
  bits: {3.175 mm flat: {price: 12, life: 20 h}}
"""


def with_parts(first: str, **others: str) -> str:
    """Return a job's text of a first part's keys, and those of others by name."""
    told = COMMON + first
    if others:
        told += "parts:\n"
    for name, keys in others.items():
        told += f"  {name}:\n" + "".join(f"    {line}\n" for line in keys.splitlines())
    return told


def made(text: str) -> Build:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(text, "utf-8")
        return build(path)


BOTH = with_parts(BOARD_KEYS, lid=LID_KEYS) + "pieces: 2\n"


@pytest.fixture(scope="module")
def both() -> Build:
    return made(BOTH)


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("parts") / "job.yaml"
    path.write_text(BOTH + "shop: shop.yaml\n", "utf-8")
    path.with_name("shop.yaml").write_text(SHOP, "utf-8")
    return write(build(path), path, today=dt.date(2027, 3, 1)).folder


# ---- Any job of one to three parts


def sizes(draw: st.DrawFn) -> tuple[int, int, int]:
    return draw(st.integers(60, 90)), draw(st.integers(50, 70)), draw(st.sampled_from([5, 9, 14]))


@st.composite
def keys(draw: st.DrawFn, name: str) -> str:
    """Return the keys of a part; a thin one may be cut too deep, a large inlay stand too near."""
    long, wide, thick = sizes(draw)
    depth = draw(st.sampled_from([1.5, 2.0, 2.5]))
    mix = draw(st.sampled_from(["dark", "clear"]))
    shape = draw(st.sampled_from(["circle: 14 mm", "rectangle: 20 mm x 8 mm, round: 2 mm"]))
    told = [
        f"blank: {{wood: sugar maple, length: {long} mm, width: {wide} mm, thickness: {thick} mm}}",
        "front:",
        f"  inlays: [{{name: {name} mark, {shape}, depth: {depth} mm, fill: {mix}}}]",
    ]
    if draw(st.booleans()):
        told.insert(1, f"trim line: {{rectangle: {long - 14} mm x {wide - 14} mm, round: 3 mm}}")
    if draw(st.booleans()):
        told.append("  holes: [{name: peg, points: [[-18 mm, 0 mm]], at: [0 mm, 0 mm],"
                    " diameter: 3.175 mm, depth: 4 mm}]")  # fmt: skip
    return "\n".join(told) + "\n"


NAMES = ("board", "lid", "left cap")


@st.composite
def families(draw: st.DrawFn) -> tuple[tuple[str, ...], int]:
    count = draw(st.integers(1, 3))
    own = (draw(st.sampled_from(["", "pieces: 1\n", "pieces: 3\n"])) for _ in NAMES)
    parts = (draw(keys(name)) + (next(own) if name != NAMES[0] else "") for name in NAMES[:count])
    return tuple(parts), draw(st.integers(1, 2))


def gcode(part: Build) -> Iterator[tuple[str, str]]:
    """Yield the G-code files of a part without its name."""
    slug = part.job.part.replace(" ", "-")
    for file in part.gcode_files:
        name = file.file_name.removeprefix(f"{slug}-") if slug else file.file_name
        yield name, file.text.replace(f"(Part: {part.job.part})\n", "")


def of_the_cut(part: Build) -> set[str]:
    """Return the codes of what board and machine rules find in a part."""
    return {item.code for rule in (*BOARD, *MACHINE) for item in rule(part)}


def told(found: Build, codes: set[str], part: str = "") -> set[tuple[str, str]]:
    own = (item for item in found.findings if item.code in codes and item.part == part)
    return {(item.code, item.message.removeprefix(f"{part}: ")) for item in own}


def one_after_another(alone: Sequence[Build]) -> int:
    """Return when the last part is finished where each is begun when the one before is done."""
    until = 0
    for each in alone:
        options = replace(schedule_options_of(each.job), held=(NotBefore(1, until),))
        days = schedule_of(each.job, each.plan, each.staged_files, each.pours, options)
        assert days.hindrance is None
        until = days.finish_min
    return until


def obeyed(days: Schedule) -> None:
    """Assert that hands do one thing at a time, and a setup stands till it is done."""
    for one, two in pairwise(sorted(days.steps, key=lambda step: step.begin_min)):
        assert one.end_min <= two.begin_min, (one, two)
    loads: dict[tuple[str, int, object], list[Step]] = {}
    for step in days.steps:
        if step.machine:
            loads.setdefault((step.part, step.setup, step.pieces), []).append(step)
    spans = sorted((row[0].begin_min, row[-1].end_min) for row in loads.values())
    for (_, end_min), (begin_min, _) in pairwise(spans):
        assert end_min <= begin_min


@settings(max_examples=examples(4), deadline=None)
@given(families())
def test_each_part_is_as_it_would_be_alone_and_what_they_share_is_the_sum(
    family: tuple[tuple[str, ...], int],
) -> None:
    parts, pieces = family
    more = f"pieces: {pieces}\n"
    others = dict(zip(NAMES[1:], parts[1:], strict=False))
    whole = made(with_parts(parts[0], **others) + more)
    alone = [made(COMMON + each + ("" if "pieces:" in each else more)) for each in parts]
    assert [each.job.pieces for each in whole.each] == [each.job.pieces for each in alone]
    for number, (own, single) in enumerate(zip(whole.each, alone, strict=True)):
        assert list(gcode(own)) == list(gcode(single))
        assert own.replay.thickness_table == single.replay.thickness_table
        codes = of_the_cut(single)
        assert told(whole, codes, own.job.part if number else "") == told(single, codes)
    for mix in ("dark", "clear"):
        wanted = [sum(p.needed_cm3 for p in each.pours if p.mix.name == mix) for each in alone]
        got = sum(pour.needed_cm3 for pour in whole.all_pours if pour.mix.name == mix)
        assert got == pytest.approx(sum(wanted))
    by_number = {pour.number: pour for pour in whole.all_pours}
    assert len(by_number) == len(whole.all_pours)
    for pour in whole.all_pours:
        fed = [by_number[other] for other in pour.also_fills]
        assert {each.out_of for each in fed} <= {pour.number}
        also_cm3 = sum(each.needed_cm3 + each.allowance_cm3 for each in fed)
        assert pour.also_cm3 == pytest.approx(also_cm3)
        if not pour.out_of and not pour.shares_clear_with:
            least_cm3 = pour.needed_cm3 + pour.allowance_cm3 + also_cm3
            weighed_g = sum(part.mass_g for part in pour.parts)
            assert weighed_g >= least_cm3 * mix_density_g_cm3(pour.mix) - 1e-6
    days = whole.all_days
    assert days is not None
    assert days.hindrance is None
    obeyed(days)
    assert days.finish_min <= one_after_another(alone)
    assert sum(len(each.schedule.steps) for each in whole.each if each.schedule) == len(days.steps)


# ---- A board and the lid of its box


def test_two_parts_that_fill_one_colour_are_mixed_in_one_cup(both: Build) -> None:
    first, second = both.all_pours
    assert (first.part, second.part) == ("board", "lid")
    assert first.also_fills == (second.number,)
    assert second.out_of == first.number
    assert second.batch_g == 0.0
    apart = [
        made(COMMON + each + "pieces: 2\n").pours[0].batch_g for each in (BOARD_KEYS, LID_KEYS)
    ]
    assert max(apart) < first.batch_g < sum(apart)
    days = both.all_days
    assert days is not None
    assert days.batches == 1
    when = {step.pour: step for step in days.steps if step.pour}
    assert when[2].begin_min >= when[1].end_min
    assert when[2].end_min - when[1].begin_min <= first.pot_life_min


def test_page_1_tells_a_cup_before_what_else_it_fills() -> None:
    """Four lids are on the machine when the board is filled, and come first on that day."""
    whole = made(with_parts(BOARD_KEYS, lid=LID_KEYS + "pieces: 4\n") + "pieces: 1\n")
    poured = [line for day in book_view(whole, {}, BEGIN.date()).run.days for line in day.pours]
    assert [line.partition(" ")[0] for line in poured] == ["1", "2"]


def test_all_prints_name_the_part(both: Build, printed: Path) -> None:
    page = printed.joinpath("shop-book.html").read_text("utf-8")
    plain = re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page)))
    for words in (
        "Board, setup 1: front up",
        "Lid, setup 1: front up",
        "Pour 1: dark, board",
        "Pour 2: dark, lid",
        "This cup also fills pour 2 of lid.",
        "keep pour 1's cup at hand",
        "sugar maple, board",
        "black cherry, lid",
        "Lid: A blank of black cherry",
        "Lid: Surface (1, 2), Seal (3, 5), Setup 1",
    ):
        assert words in plain, words
    names = sorted(each.name for each in (printed / "gcode").iterdir())
    assert len(names) == sum(len(part.gcode_files) for part in both.each)
    assert {name.split("-")[0] for name in names} == {"board", "lid"}
    for name in names:
        head = printed.joinpath("gcode", name).read_text("ascii").splitlines()[:4]
        assert f"(Part: {name.split('-')[0]})" in head
    sheets = printed.joinpath("plan", "day-sheets.txt").read_text("utf-8")
    assert "lid: Fill disc with dark" in sheets
    assert "1 batch mixed" in sheets
    assert {"board-front-finished.png", "lid-front-finished.png"} == {
        each.name for each in (printed / "pictures").iterdir()
    }


@pytest.mark.parametrize("lids", [2, 5])
def test_the_run_costs_less_than_its_parts_made_as_jobs_of_their_own(
    tmp_path: Path, lids: int
) -> None:
    tmp_path.joinpath("shop.yaml").write_text(SHOP, "utf-8")
    totals = []
    own = LID_KEYS + f"pieces: {lids}\n"
    both = with_parts(BOARD_KEYS, lid=own) + "pieces: 2\n"
    board = COMMON + BOARD_KEYS + "pieces: 2\n"
    for name, text in (("whole", both), ("one", board), ("two", COMMON + own)):
        path = tmp_path / f"{name}.yaml"
        path.write_text(text + "shop: shop.yaml\n", "utf-8")
        table = cost(build(path))
        assert table is not None
        totals.append(table.run)
    whole, one, two = totals
    woods = {line.what: line.total for line in whole.lines if line.unit == "dm3"}
    for alone in (one, two):
        (wood,) = [line for line in alone.lines if line.unit == "dm3"]
        assert woods[wood.what] == wood.total
    assert whole.total < one.total + two.total
    assert whole.hands_h < one.hands_h + two.hands_h
    for unit in ("of a bit", "pieces"):
        amounts = [
            sum(line.amount for line in run.lines if line.unit == unit) for run in (whole, one, two)
        ]
        assert amounts[0] == pytest.approx(amounts[1] + amounts[2])


def test_other_days_hold_the_same_parts(both: Build) -> None:
    """A stage of the first part put off by hand is put off, and the lid's days go with it."""
    options = schedule_options_of(both.job)
    held = (NotBefore(4, 5 * 24 * 60, part="board"),)
    later = planned_anew(both, replace(options, held=held))
    assert later.hindrance is None
    assert {step.part for step in later.steps} == {"board"}
    assert min(step.begin_min for step in later.steps if step.stage == 4) >= 5 * 24 * 60


def history(chance: random.Random, both: Build) -> str:
    """Return a log that can have been, with lines left out and in any order."""
    lines, ends = [], [BEGIN]
    for part in both.each:
        kinds = [each.number for each in part.plan.stages if each.kind is not StageKind.CURE]
        for piece in range(1, part.job.pieces + 1):
            at = BEGIN
            name, reached = f"piece {piece}", chance.randint(0, len(kinds))
            for number in kinds[:reached]:
                at += dt.timedelta(minutes=chance.choice((3, 40, 700, 3000)))
                if number == kinds[reached - 1] or chance.random() < 0.5:
                    lines.append(f"{at:%Y-%m-%d %H:%M} part {part.job.part} stage {number} {name}")
                    ends.append(at)
            if chance.random() < 0.2:
                lines.append(f"{at:%Y-%m-%d %H:%M} part {part.job.part} {name} spoiled")
                ends.append(at)
    lines.append(f"{max(ends) + dt.timedelta(minutes=10):%Y-%m-%d %H:%M} now")
    chance.shuffle(lines)
    return "\n".join(lines)


def state(both: Build, log: str) -> Progress:
    told = read_day_log(log, "days.log")
    stages = {part.job.part: len(part.plan.stages) for part in both.each}
    pieces = [piece for part in both.each for piece in pieces_of(part.job)]
    return progress_of(told, first_day(told), pieces, stages, "days.log")


@settings(max_examples=examples(8), deadline=None)
@given(seed=st.integers(0, 10**6))
def test_no_step_of_any_part_comes_before_its_own_past(both: Build, seed: int) -> None:
    progress = state(both, history(random.Random(seed), both))  # noqa: S311
    options = replace(schedule_options_of(both.job), first=BEGIN.date(), progress=progress)
    found = days_of([part.asked for part in both.each], options)
    days = found.schedule
    assert days.hindrance is None
    by_part = {part.job.part: part for part in both.each}
    for index, piece in enumerate(days.pieces):
        own = [step for step in days.steps if piece in step.pieces]
        assert {step.part for step in own} <= {piece.part}
        own.sort(key=lambda step: (step.stage, step.coat, step.begin_min, step.end_min))
        for one, two in pairwise(own):
            assert one.end_min <= two.begin_min, (piece.name, one, two)
        last = progress.last(index)
        for step in own:
            assert step.done == (step.stage <= last)
            assert step.done or step.begin_min >= progress.now_min
        asked = {
            stage.number
            for stage in by_part[piece.part].plan.stages
            if stage.kind is not StageKind.CURE
            and (stage.number <= last or index not in progress.spoiled)
        }
        assert {step.stage for step in own} == asked, piece.name
    obeyed(replace(days, steps=tuple(step for step in days.steps if not step.done)))
    when = {step.pour: step for step in days.steps if step.pour and not step.done}
    for pour in found.pours:
        if pour.out_of and pour.number in when:
            # what is still to be poured comes out of a cup that is still to be mixed
            cup = when[pour.out_of]
            assert when[pour.number].end_min - cup.begin_min <= pour.pot_life_min


def test_the_rest_of_a_job_of_several_parts_is_planned_from_a_log(tmp_path: Path) -> None:
    path, log = tmp_path / "job.yaml", tmp_path / "days.log"
    path.write_text(BOTH, "utf-8")
    log.write_text(
        "2027-03-01 12:00 part Lid stage 3\n2027-03-01 13:00 part board piece 2 spoiled\n"
        "2027-03-01 14:00 now\n",
        "utf-8",
    )
    days = plan(path, log=log).schedule
    assert days is not None
    past = {(step.part, step.stage) for step in days.steps if step.done}
    assert past == {("lid", 1), ("lid", 2), ("lid", 3)}
    assert [piece.name for piece in days.spoiled] == ["board 2"]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("stage 3", "not of which part of the job: board and lid"),
        ("piece 1 spoiled", "not of which part of the job: board and lid"),
        ("part box stage 3", "no such part"),
        ("part lid stage 99", "no such stage or piece"),
        ("part lid stage 3 piece 9", "no such stage or piece"),
        ("part lid 9 degC", "no line of a day log"),
    ],
)
def test_a_line_of_no_part_is_refused_with_its_place(both: Build, line: str, words: str) -> None:
    with pytest.raises(JobRefusedError) as refused:
        state(both, f"2027-03-01 12:00 now\n2027-03-01 11:00 {line}\n")
    (found,) = refused.value.findings
    assert words in found.message
    assert found.source is not None
    assert found.source.line == 2


def test_all_parts_are_made_out_of_one_stock(both: Build) -> None:
    whole, (lid,) = needs(both), both.parts
    board = needs(replace(both, parts=()))
    wood = (StockKind.WOOD, "sugar maple")
    assert whole[wood].number == board[wood].number == 2
    assert whole[StockKind.WOOD, "black cherry"].number == 2
    bit = (StockKind.BIT, "6.35 mm flat")
    assert whole[bit].worn == pytest.approx(board[bit].worn + needs(lid)[bit].worn)
    assert not list(not_enough_on_hand(lid))


def test_the_commands_take_a_part_by_its_name(both: Build) -> None:
    assert part_of(both, "") is both
    assert part_of(both, "lid") is both.parts[0]
    with pytest.raises(PartError, match="its parts are: board, lid"):
        part_of(both, "box")


# ---- The file


def test_the_resolved_job_reads_back_to_the_same_parts(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(BOTH, "utf-8")
    job = read_job(path)
    text = resolved_text(job)
    again = read_job(path, text)
    assert [each.part for each in again.each] == ["board", "lid"]
    bare = [line.partition("  # default")[0] for line in text.splitlines()]
    assert [line.partition("  # default")[0] for line in resolved_text(again).splitlines()] == bare


@pytest.mark.parametrize(
    ("was", "now", "code", "key"),
    [
        ("fill: dark}\n", "fill: drak}\n", "name-unknown", "parts.lid.front.inlays[disc].fill"),
        ("circle: 30 mm", "circel: 30 mm", "key-unknown", "parts.lid.front.inlays[disc]"),
        ("  lid:", "  board:", "part-name", "parts.board"),
        ("    blank: {wood", "    bank: {wood", "key-unknown", "parts.lid.bank"),
    ],
)
def test_a_slip_in_a_part_is_told_once_at_its_line(
    tmp_path: Path, was: str, now: str, code: str, key: str
) -> None:
    head, _, tail = BOTH.rpartition(was)
    path = tmp_path / "job.yaml"
    path.write_text(head + now + tail, "utf-8")
    with pytest.raises(JobRefusedError) as refused:
        read_job(path)
    found = [each for each in refused.value.findings if each.code == code]
    assert len(found) == 1
    source = found[0].source
    assert source is not None
    assert source.key.startswith(key)
    assert source.line == head.count("\n") + 1


LOOSE = """\
loose parts: [{name: %s, wood: sugar maple, shape: peg, count: 6, length: 30 mm, across: 6 mm}]
"""
BOARDS = """\
cut list:
  boards:
    - {name: A, length: 2 m, width: 160 mm, thickness: 26 mm, wood: sugar maple}
    - {name: B, length: 2 m, width: 160 mm, thickness: 26 mm, wood: black cherry}
"""


def test_each_part_has_its_loose_parts_and_all_blanks_are_in_one_cut_list(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    lid = LID_KEYS + "pieces: 5\n" + LOOSE % "knobs"
    path.write_text(with_parts(BOARD_KEYS + BOARDS + LOOSE % "pegs", lid=lid), "utf-8")
    job = read_job(path)
    jobs = (job, *job.parts)
    assert [[each.name for each in part.loose_parts] for part in jobs] == [["pegs"], ["knobs"]]
    sawn = {
        wanted.part.name: (wanted.wood, wanted.part.count)
        for group in cut_groups_of(jobs)
        for wanted in group.wanted
    }
    assert sawn == {"board blank": ("sugar maple", 1), "lid blank": ("black cherry", 5)}
    assert not any(group.layout.left_out for group in cut_groups_of(jobs))


@st.composite
def hostile(draw: st.DrawFn) -> str:
    """Return the text of a job of several parts with one thing about it wrong, or not."""
    names = draw(
        st.lists(st.sampled_from(["lid", "Lid", "tray 2", "true", "!", "a" * 41]), max_size=4)
    )
    lids = "".join(f"  {name}:\n{LID_TEXT}" for name in names)
    lines = (COMMON + BOARD_KEYS + (f"parts:\n{lids}" if lids else "")).splitlines()
    at = draw(st.integers(0, len(lines) - 1))
    line = lines[at]
    lines[at] = draw(
        st.sampled_from(
            [line, "", f"  {line}", line.replace(" mm", "", 1), line.replace(":", "", 1),
             line.replace("{", "[", 1), line.replace("dark", "drak"), f"{line}\n{line}",
             line.replace("blank", "pieces: 0\nblank"), line.replace("front", "of the box")]
        )
    )  # fmt: skip
    return "\n".join(lines) + "\n"


LID_TEXT = "".join(f"    {line}\n" for line in LID_KEYS.splitlines())


@settings(max_examples=examples(25), deadline=None)
@given(hostile())
def test_what_is_wrong_anywhere_is_told_with_its_line_and_a_remedy(text: str) -> None:
    found: tuple[Finding, ...] = ()
    try:
        read_job(Path("job.yaml"), text)
    except JobRefusedError as refused:
        found = refused.findings
    for each in found:
        assert each.message
        assert each.remedy
        assert each.source is not None
        assert 1 <= each.source.line <= text.count("\n")


def test_artwork_that_is_wrong_in_a_part_is_told_at_its_line(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    text = BOTH.replace("circle: 30 mm", "svg: gone.svg, width: 30 mm")
    path.write_text(text, "utf-8")
    with pytest.raises(JobRefusedError) as refused:
        build(path)
    (found,) = refused.value.findings
    assert found.source is not None
    assert found.source.line == text[: text.index("gone.svg")].count("\n") + 1


def test_a_fix_goes_to_the_part_it_is_for(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(
        BOTH.replace("circle: 30 mm, depth: 2 mm", "circle: 30 mm, depth: 8 mm"), "utf-8"
    )
    offers = [each.proposal for each in fix(path) if each.proposal.finding.part == "lid"]
    gone = [each for each in offers if each.fix is not None]
    assert gone
    for each in gone:
        assert each.fix is not None
        assert each.fix.edits[0].path[:2] == ("parts", "lid")
