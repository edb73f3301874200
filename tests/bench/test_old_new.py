"""What a change asks for that the saved job does not: told at once, and in full with the check."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Browser, expect

import flushwork
from flushwork.bench.desk.desk import Desk
from flushwork.usecases.making.meet import seam_between
from flushwork.usecases.plan_change import WorkFigures, planned_figures, told_change, work_figures
from tests.bench.conftest import Served, ask, keep, until

LID: Final = """\
flushwork: 2
title: Lid
shop: shop.yaml
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 12 mm}
trim line: {rectangle: 76 mm x 56 mm}
cell: 0.4 mm
mixes:
  teal: {resin: coating epoxy, pigments: [teal flake]}
  red: {resin: coating epoxy, pigments: [red powder]}
front:
  inlays:
    - {name: left, rectangle: 16 mm x 20 mm, at: [-8 mm, 0 mm], depth: 2 mm, fill: teal}
    - {name: right, rectangle: 16 mm x 20 mm, at: [8 mm, 0 mm], depth: 2 mm, fill: teal}
"""
SHOP: Final = """\
flushwork shop: 2
name: Corner shop
prices: {currency: crowns, hour of work: 25.00, hour of machine: 4.00}
"""
RED: Final = LID[: LID.rindex("teal")] + "red}\n"


@pytest.fixture(scope="module")
def lid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("lid") / "job.yaml"
    path.with_name("shop.yaml").write_text(SHOP, "utf-8")
    path.write_text(LID, "utf-8")
    return path


def test_a_seam_line_is_another_round_and_what_it_takes(lid: Path) -> None:
    text = seam_between(lid, LID, "inlay/front/left", "inlay/front/right").text
    before, after = flushwork.build(lid, check=True), flushwork.build(lid, text=text)
    at_once = told_change(planned_figures(lid, LID), planned_figures(lid, text))
    told = flushwork.plan_change(before, after)
    assert told[: len(at_once)] == at_once
    assert at_once[0] == "1 round more"
    assert before.schedule is not None
    assert after.schedule is not None
    new = {each.order.bit.name for each in after.gcode_files}
    new -= {each.order.bit.name for each in before.gcode_files}
    assert new
    assert f"another bit: {new.pop()}" in told
    minutes = after.schedule.hands_min - before.schedule.hands_min
    hours = f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"
    assert f"{hours} more of work" in told
    days = after.schedule.calendar_days - before.schedule.calendar_days
    assert any("day" in each for each in told) == (days != 0)
    assert told[-1].endswith("crowns dearer")
    back = flushwork.plan_change(after, before)
    assert back[0] == "1 round fewer"
    assert work_figures(after).cost is not None


FIGURES: Final = st.builds(
    WorkFigures,
    st.integers(0, 9),
    st.integers(0, 9),
    st.none() | st.lists(st.sampled_from(["1 mm flat", "60 deg V-bit"]), unique=True).map(tuple),
    st.none() | st.integers(0, 3000),
    st.none() | st.integers(0, 3000),
    st.none() | st.integers(1, 60),
    st.none() | st.integers(0, 9999).map(lambda cents: Decimal(cents) / 100),
)


@given(FIGURES, FIGURES)
def test_either_way_round_as_much_is_told_and_nothing_of_what_is_alike(
    one: WorkFigures, other: WorkFigures
) -> None:
    assert told_change(one, one) == ()
    there, back = told_change(one, other), told_change(other, one)
    turned = {"more": "fewer", "fewer": "more", "less": "more", "dearer": "cheaper"}
    assert len(there) == len(back)
    assert ("more" in str(there)) == ("fewer" in str(back) or "less" in str(back))
    assert (one.rounds == other.rounds) == (not any("round" in each for each in there))
    assert (turned["dearer"] in str(back)) == ("dearer" in str(there))


def test_the_door_tells_rounds_before_anything_is_built(lid: Path) -> None:
    told = ask(Desk(lid), "POST", "/making/change", json={"text": RED, "page": "page1"}).json()
    assert told["known"] is False
    assert told["told"] == list(told_change(planned_figures(lid, LID), planned_figures(lid, RED)))


def test_the_page_tells_it_as_soon_as_a_jar_is_touched(browser: Browser, lid: Path) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    page = context.new_page()
    page.goto(f"{Served(lid).address}#inlay/front/right")
    expect(page.locator("html[data-picture=checked]")).to_be_attached()
    expect(page.locator("#jars [aria-checked=true]")).to_have_text("teal")
    page.locator("#jars [role=radio]", has_text="red").click()
    line = page.locator("#old-new")
    expect(line).to_contain_text("saved job")
    until(page, lambda: line.get_attribute("data-known") == "true")
    before, after = flushwork.build(lid), flushwork.build(lid, text=RED)
    expect(line).to_have_text(
        f"Against the saved job: {', '.join(flushwork.plan_change(before, after))}."
    )
    keep(page, "old-new")
    context.close()
