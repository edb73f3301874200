"""Orders insisted on change the plan, and the check tells what they break."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.core.findings import Severity, Source
from flushwork.job.records import OrderConstraint
from flushwork.process.user_order import in_user_order, keeps_order, known_steps, stages_named
from flushwork.usecases.jobs import stages_text
from tests.small_jobs import PLAIN, changed, found, made

TWO = changed(
    "  holes:",
    "    - {name: dot, circle: 8 mm, at: [0 mm, 18 mm], depth: 2 mm, fill: dark}\n  holes:",
)
NOWHERE = Source("job.yaml", 1, 1, "")


def with_order(folder: Path, *orders: str, text: str = PLAIN) -> Build:
    return made(folder, text + "order:\n" + "".join(f"  - {{{each}}}\n" for each in orders))


def kinds(result: Build) -> list[str]:
    return [stage.kind.value for stage in result.plan.stages]


def test_a_fill_before_the_seal_is_done_and_told(tmp_path: Path) -> None:
    result = with_order(tmp_path, "do: fill plate, before: seal plate")
    assert kinds(result)[3:6] == ["cut", "fill", "seal"]
    (told,) = found(result, "fill-before-seal")
    assert told.subject == "plate"


def test_a_cut_before_the_cure_is_done_and_stopped(tmp_path: Path) -> None:
    result = with_order(tmp_path, "do: drill pegs, before: mill flush plate")
    result = with_order(tmp_path, "do: mill flush plate, before: cure front")
    told = found(result, "cut-before-cure")
    assert told
    assert told[0].severity is Severity.MUST_FIX
    assert not result.ok_to_cut


def test_an_order_that_breaks_nothing_is_only_done(tmp_path: Path) -> None:
    result = with_order(tmp_path, "do: drill pegs, after: trim")
    assert kinds(result)[-4:] != kinds(made(tmp_path, PLAIN))[-4:]
    assert kinds(result).index("drill") > kinds(result).index("trim")
    assert not [item for item in result.findings if item.code.startswith("order-")]
    told = stages_text(result.plan)
    assert "the job insists on trim before drill pegs" in told


def test_one_of_two_subjects_moves_alone(tmp_path: Path) -> None:
    result = with_order(tmp_path, "do: cut dot, before: cut plate", text=TWO)
    cuts = [stage.subjects for stage in result.plan.stages if stage.kind.value == "cut"]
    assert cuts == [("dot",), ("plate",)]
    assert [stage.number for stage in result.plan.stages] == list(
        range(1, len(result.plan.stages) + 1)
    )
    assert len(result.plan.setups) == 2


def test_a_circle_is_one_stop(tmp_path: Path) -> None:
    result = with_order(
        tmp_path, "do: drill pegs, before: cut plate", "do: cut plate, before: drill pegs"
    )
    (told,) = found(result, "order-circle")
    assert "drill pegs before cut plate" in told.message
    assert told.source is not None
    assert told.source.key.startswith("order")


def test_a_step_that_does_not_exist_is_one_stop_with_the_nearest(tmp_path: Path) -> None:
    (told,) = found(with_order(tmp_path, "do: cut plat, before: trim"), "order-step-unknown")
    assert "`cut plate`" in told.remedy


def test_an_order_that_holds_already_changes_nothing(tmp_path: Path) -> None:
    plain = made(tmp_path, PLAIN).plan
    assert with_order(tmp_path, "do: cut plate, before: trim").plan == plain
    assert in_user_order(plain.stages, ()) == plain.stages


@pytest.mark.parametrize(
    ("step", "count"),
    [("surface", 2), ("seal front", 1), ("seal plate", 1), ("fill dark", 1), ("cut pegs", 0)],
)
def test_names_of_steps(tmp_path: Path, step: str, count: int) -> None:
    stages = made(tmp_path, PLAIN).plan.stages
    assert len(stages_named(stages, step)) == count
    assert "cut plate" in known_steps(stages)
    assert keeps_order(stages, OrderConstraint("no such", "step", only_after=False, source=NOWHERE))


def test_stages_tell_their_reasons(tmp_path: Path) -> None:
    told = stages_text(made(tmp_path, PLAIN).plan)
    assert "setup 1: front up, held by" in told
    assert "because walls just cut into wood drink resin" in told
    assert "off the machine" in told
