"""Two states of a board against each other: the figures are those of the builds, both ways."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page, expect

from flushwork.bench.desk.desk import Desk
from flushwork.bench.pages.state_measures import SAME, differences, measured
from tests.bench.conftest import JOB, PAGE, Served, ask, hold, keep, waited
from tests.many import examples

DEEPER = JOB.replace("depth: 2 mm", "depth: 3 mm")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Have a job saved on a desk and, on one page, the same tried with a deeper inlay."""
    path = tmp_path_factory.mktemp("two") / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    made = Desk(path)
    made.open()
    waited(made)
    made.try_text(PAGE, DEEPER)
    waited(made, PAGE)
    yield made
    made.close()


def rows(desk: Desk, here: int, other: int, stage: int) -> dict[str, Any]:
    asked = f"there={stage}&here={stage}&units=metric"
    answer = ask(desk, "GET", f"/thing/{here}/against/{other}?{asked}")
    assert answer.status_code == 200, answer.text
    return {row["label"]: row for row in answer.json()["rows"]}


def test_what_is_tried_against_what_is_saved(desk: Desk) -> None:
    saved, tried = desk.status(), desk.status(PAGE)
    assert saved.snapshot is not None
    assert tried.snapshot is not None
    last = max(stage.number for stage in saved.snapshot.made.plan.stages)
    told = rows(desk, tried.generation, saved.generation, last)
    grams = [
        sum(pour.batch_g for pour in each.snapshot.made.pours)
        for each in (saved, tried)
        if each.snapshot is not None
    ]
    resin = told["Resin mixed for the run"]
    shown = [float(re.sub(r"[^\d.]", "", resin[side])) for side in ("there", "here")]
    assert shown == pytest.approx(grams, abs=0.051)
    assert resin["change"].startswith("+")
    # the inlay goes 1 mm deeper: so much less wood lies under it
    wood = told["Thinnest wood under an inlay"]
    assert wood["change"] == "\N{MINUS SIGN}1.00 mm"
    assert told["Warnings"]["same"] is (told["Warnings"]["there"] == told["Warnings"]["here"])


def test_an_unknown_picture_or_stage_is_refused(desk: Desk) -> None:
    here = desk.status().generation
    for path, status in (
        (f"{here}/against/999999?there=0&here=0", 410),
        (f"{here}/against/{here}?there=0&here=999", 404),
        (f"{here}/against/{here}?there=0", 400),
    ):
        assert ask(desk, "GET", f"/thing/{path}").status_code == status, path


@given(st.data())
@settings(max_examples=examples(8), deadline=None)
def test_the_other_way_round_the_same_differs(desk: Desk, data: st.DataObject) -> None:
    """Each figure there stands here the other way round; from a state to itself nothing differs.

    Resin, work and money only ever grow from stage to stage, and wood only ever goes.
    """
    found = [desk.status().snapshot, desk.status(PAGE).snapshot]
    stages = st.sampled_from([0, *(stage.number for stage in found[0].made.plan.stages)])  # type: ignore[union-attr]
    one, other = data.draw(st.sampled_from(found)), data.draw(st.sampled_from(found))
    assert one is not None
    assert other is not None
    first, second = data.draw(stages), data.draw(stages)
    before, after = measured(one, first), measured(other, second)
    for there, back in zip(differences(before, after), differences(after, before), strict=True):
        assert (there.there, there.here) == (back.here, back.there)
        assert there.same is back.same
    assert all(row.same for row in differences(before, before))
    assert {row.change for row in differences(before, before)} <= {SAME, ""}
    if one is other and first <= second:
        assert before.resin_g <= after.resin_g
        assert (before.work_min or 0.0) <= (after.work_min or 0.0)
        assert (before.wood_mm or 0.0) >= (after.wood_mm or 0.0) - 1e-6


def part(page: Page, left: float, right: float) -> str:
    """Return the pixels of both canvases in a part of their width, as one text."""
    return str(
        page.evaluate(
            "([left, right]) => { const { compare, board } = bench, live = board.live.canvas;"
            " const pen = Object.assign(document.createElement('canvas'),"
            " { width: live.width, height: live.height }).getContext('2d');"
            " const box = [left * live.width, 0, (right - left) * live.width, live.height];"
            " return [live, compare.canvas].map((each) => {"
            " pen.clearRect(0, 0, live.width, live.height); pen.drawImage(each, 0, 0);"
            " return pen.getImageData(...box).data.join(); }).join('|'); }",
            [left, right],
        )
    )


def test_two_stages_side_by_side_and_blinking(page: Page, bench: Served) -> None:
    """The other stage lies left of the seam; its picture is the one that stage has by itself."""
    last = page.evaluate("bench.strip.last")
    page.evaluate("bench.strip.go(bench.strip.last)")
    hold(page, "compare")
    page.locator("#against").select_option("0")
    expect(page.locator("#there-name")).to_have_text("As sawn")
    expect(page.locator("#here-name")).to_have_text(f"After stage {last}")
    expect(page.locator("#compare-said")).to_contain_text("figures differ")
    page.wait_for_function("bench.compare.fine")
    live, there = part(page, 0.3, 0.5).split("|")
    assert live != there
    keep(page, "desk-compare")
    page.locator("#seam").fill("20")
    assert "80%" in page.evaluate("bench.compare.canvas.style.clipPath")
    page.locator("[data-shown=there]").click()
    expect(page.locator("#here-name")).to_have_class("unseen-now")
    assert page.evaluate("bench.compare.canvas.style.clipPath") == ""
    page.locator("[data-shown=there]").press("ArrowLeft")
    expect(page.locator("[data-shown=blink]")).to_be_focused()
    page.wait_for_selector("#there", state="hidden")
    page.wait_for_selector("#there", state="visible")
    # the strip chooses the stage that it is compared with, and the sheet stays
    page.evaluate("bench.strip.go(3)")
    expect(page.locator("#here-name")).to_have_text("After stage 3")
    assert page.evaluate("location.hash") == "#compare"
    hold(page, "text")
    page.locator("#job").fill(JOB.replace("depth: 2 mm", "depth: 3 mm"))
    page.wait_for_selector("html[data-picture=checked]")
    hold(page, "compare")
    expect(page.locator("#against")).to_have_value("saved")
    expect(page.locator("#here-name")).to_have_text("Tried")
    page.locator("#unsaved-drop").click()
    expect(page.locator("#unsaved")).to_be_hidden()
    page.locator("[data-shown=beside]").click()
    hold(page, "today")
    expect(page.locator("#there")).to_be_hidden()
    expect(page.locator("#meet")).to_be_hidden()
    page.evaluate("bench.strip.go(bench.strip.last)")
    assert bench.path.read_text("utf-8") == JOB
