"""What a step at the machine tells: as its setup's card and its pour's card, at its moment."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.machine_views import ScreenView, screens
from flushwork.bench.pages.saved_views import saved_view
from flushwork.bench.pages.whole_page import page_context, pours
from flushwork.built import Build
from flushwork.fit.grip import speaks_of_pins
from flushwork.pipeline import build
from flushwork.process.stages import StageKind
from flushwork.usecases.weigh import weighable
from tests.bench.conftest import ask
from tests.gcode import second_reader
from tests.many import examples
from tests.random_jobs import Asked, cards, jobs, made


def thickness_mm(made: Build, number: int) -> float:
    """Return what the allowances leave of the blank when a stage begins."""
    given_ = made.job.allowances
    stands = made.job.blank.thickness_mm
    for stage in made.plan.stages[: number - 1]:
        if stage.kind is StageKind.SURFACE:
            stands -= given_.surface_mm
        if stage.kind is StageKind.MILL_FLUSH:
            stands -= given_.mill_flush_mm
        if stage.kind is StageKind.SAND:
            stands -= given_.sand_mm if stage.round == 1 else given_.light_sand_mm
    return stands


def figure(text: str) -> float:
    found = re.search(r"([0-9.]+)\u00a0mm", text)
    assert found is not None, text
    return float(found[1])


def check(made: Build) -> None:
    context = page_context(made, "metric", coarse=False)
    own = {card.number: card for card in cards(made)}
    stages = {stage.number: stage for stage in made.plan.stages}
    for screen in screens(context):
        stage = stages[screen.number]
        assert screen.pours == tuple(card for card in pours(context) if card.stage == stage.number)
        if stage.kind is StageKind.FILL:
            assert screen.pours
        if not stage.setup:
            continue
        card = own[stage.setup]
        assert [fact.label for fact in screen.facts] == [fact.label for fact in card.facts]
        told = {fact.label: fact.value for fact in screen.facts}
        assert {"Held by", "X0 Y0", "Z0", "Keep out", "Before going on"} <= set(told)
        assert figure(told["Thickness now"]) == pytest.approx(
            thickness_mm(made, stage.number), abs=0.011
        )
        if made.staged_files.get(stage.number):
            check_step(made, screen)
        if made.job.locating is None and speaks_of_pins(made.job.holding):
            assert "bore for the dowels by hand" in told["Their places"]
        else:
            assert "Their places" not in told


def check_step(made: Build, screen: ScreenView) -> None:
    """Hold a step with files to its thickness table.

    What is looked at first, how deep below the blank.
    """
    stage = made.plan.stage(screen.number)
    setup = next(each for each in made.plan.setups if each.number == stage.setup)
    earlier = [made.plan.stage(each) for each in setup.stages if each < stage.number]
    sandings = [each for each in earlier if each.kind is StageKind.SAND]
    cut_before = max(
        (each.number for each in earlier if made.staged_files.get(each.number)), default=0
    )
    between = [each for each in sandings if each.number > cut_before]
    assert screen.checks
    text = " ".join(screen.checks)
    for word in ("X0 Y0", "Z0", "over the work", "in air"):
        assert word in text
    assert ("sanded" in text) is bool(sandings)
    first = screen.files[0]
    assert ("sanded wood" in first.before) is bool(between)
    stands = thickness_mm(made, screen.number)
    if between:
        assert f"stage {between[-1].number}," in first.before
        assert figure(first.before) == pytest.approx(stands, abs=0.011)
    for row, file in zip(screen.files, made.staged_files[screen.number], strict=True):
        if file.order.bare:
            # the next file may have the same bit: nothing else would make one zero Z anew
            assert "Z0 on it; then the blank" in row.does
            assert "Z0 anew on the blank" in text
            continue
        lowest = min(each[3] for each in second_reader.read(file.text) if each[0] != "dwell")
        below = -lowest - stands
        told = [fact.value for fact in row.figures if "spoilboard" in fact.label]
        assert bool(told) is (below > 0.01)
        if told:
            assert figure(told[0]) == pytest.approx(below, abs=0.011)
        words = " ".join(re.findall(r"\((.*)\)", file.text)).lower()
        assert words.count("over the work, higher than all that holds it") == 1 + (
            "stops here" in words
        )


@settings(max_examples=examples(5), deadline=None)
@given(jobs())
def test_a_step_at_the_machine_tells_what_its_cards_tell(asked: Asked) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check(made(Path(folder), asked))


def test_the_shipped_coaster_is_sanded_between_two_files_of_a_setup() -> None:
    made_ = build(Path(__file__).parents[2] / "examples/coaster/job.yaml", check=False)
    check(made_)
    (trim,) = [row for card in cards(made_) for row in card.files if "trims" in row.does]
    assert "Sand the front flush" in trim.before
    assert "into the spoilboard" in {fact.label for fact in trim.figures}


def test_each_step_tells_how_it_is_done_and_a_setup_begins_with_its_picture(
    snapshot: Snapshot,
) -> None:
    context = page_context(snapshot.made, "metric", coarse=False)
    seen = screens(context)
    for screen in seen:
        assert screen.do, screen.title
        assert screen.good
        assert screen.if_not
        assert "{" not in "".join(screen.do)
    begun = [screen.setup.number for screen in seen if screen.setup is not None]
    assert begun == [setup.number for setup in snapshot.made.plan.setups]


def test_a_pour_is_weighed_along_by_the_saved_job_alone(built: Desk, snapshot: Snapshot) -> None:
    pour = next(each for each in snapshot.made.pours if weighable(each))
    page = ask(built, "GET", "/machine").text
    assert f'data-pour="{pour.number}"' in page
    assert 'class="along"' in page
    mark = saved_view(built.status()).mark
    assert f'data-mark="{mark}"' in page
    weighed = {"resin_g": 11.4, "beside_g": 0.5, "shown_g": None}
    at_desk = f"/doing/{snapshot.generation}/pour/{pour.number}/weighed"
    told = ask(
        built, "POST", "/machine/weighed", json={**weighed, "pour": pour.number, "mark": mark}
    )
    assert told.status_code == 200
    assert told.json() == ask(built, "POST", at_desk, json=weighed).json()
    for sent, status in (
        ({"pour": pour.number, "mark": "another"}, 409),
        ({"pour": 99, "mark": mark}, 404),
        ({"pour": pour.number, "mark": mark, "shown_g": 1.0}, 400),
    ):
        answer = ask(built, "POST", "/machine/weighed", json={**weighed, **sent})
        assert answer.status_code == status, sent
        assert answer.json()["error"]
