"""A box is in the plan, in the days and in the price: hours of each work, wood, what is let in."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.pipeline import build
from flushwork.process.stages import BOX_WORK, StageKind
from flushwork.schedule.hand_work import box_uses
from flushwork.usecases.plan import cost, spending
from tests.checks.hearing import written
from tests.many import examples
from tests.small_jobs import PLAIN

INCH = 25.4
PRICES = """\
prices:
  currency: crowns
  hour of work: 30.00
  hour of machine: 6.00
  wood: {sugar maple: 8.00, black walnut: 14.00}
"""


@st.composite
def boxes(draw: st.DrawFn) -> tuple[str, str]:
    """Draw a job with a box and the shop it is made in, sizes metric or in inches."""
    inch = draw(st.booleans())

    def say(value_mm: float) -> str:
        return f"{value_mm / INCH:.4f} in" if inch else f"{value_mm:.2f} mm"

    held = draw(st.sampled_from(["in a groove", "in a rebate", "loose"]))
    wall = draw(st.floats(9.0, 14.0))
    lines = [
        f"  wall: {say(wall)}",
        f"  height: {say(80.0)}",
        f"  wood: {draw(st.sampled_from(['sugar maple', 'black walnut']))}",
    ]
    where = "" if held == "loose" else f", from base: {say(55.0)}, depth: {say(3.0)}"
    lines.append(f"  board: {{held: {held}{where}}}")
    heights = draw(st.sampled_from([(), (12.0,), (10.0, 30.0)]))
    if heights:
        slots = ", ".join(map(say, heights))
        lines.append(f"  splines: {{heights: [{slots}], thickness: 2 mm, depth: 6 mm}}")
    if draw(st.booleans()):
        lines.append(f"  lid: {{from base: {say(42.0)}}}")
        if draw(st.booleans()):
            lines.append("  hinges: {from corner: 15 mm, length: 12 mm, leaf: 5 mm}")
        if draw(st.booleans()):
            lines.append("  catch: {length: 12 mm, leaf: 5 mm}")
    if draw(st.booleans()):
        lines.append("  feet: {diameter: 5 mm, from corner: 14 mm}")
    priced = draw(st.sampled_from(["", "  hinge: 2.50\n  catch: 3.25\n  foot: 0.40\n"]))
    hands = draw(st.integers(10, 90)), draw(st.integers(2, 9))
    shop = (
        f"flushwork shop: 2\nhand times: {{box saw: {hands[0]} min, spline: {hands[1]} min, "
        f"pause: 0 min}}\n{PRICES}{priced}"
    )
    runs = f"shop: shop.yaml\npieces: {draw(st.integers(1, 3))}\ntest pieces: 1\n"
    return PLAIN.replace("title:", f"{runs}title:") + "box:\n" + "\n".join(lines) + "\n", shop


def built(folder: Path, case: tuple[str, str]) -> Build:
    (folder / "shop.yaml").write_text(case[1], "utf-8")
    return build(written(folder, case[0]))


@given(case=boxes())
@settings(max_examples=examples(4), deadline=None)
def test_hours_wood_and_fittings_of_a_box_are_in_plan_and_price(
    tmp_path_factory: pytest.TempPathFactory, case: tuple[str, str]
) -> None:
    made = built(tmp_path_factory.mktemp("boxed"), case)
    bare = built(tmp_path_factory.mktemp("bare"), (case[0].partition("box:")[0], case[1]))
    box, hands, count = made.job.box, made.job.shop.hands, made.job.pieces + 1
    assert box is not None
    splines = 4 * len(box.splines.heights_mm) if box.splines else 0
    fitted = 2 * bool(box.hinges) + bool(box.catch) + 4 * bool(box.feet)
    finish = made.job.finish
    assert finish is not None
    each_min = (
        hands.box_plane_min
        + hands.box_saw_min
        + hands.box_glue_min
        + hands.box_sand_min
        + splines * hands.spline_min
        + fitted * hands.fitting_min
        + finish.coats * hands.box_coat_min
    )
    with_box, without = cost(made), cost(bare)
    assert with_box is not None
    assert without is not None
    more_min = 60.0 * (with_box.run.hands_h - without.run.hands_h)
    assert more_min == pytest.approx(count * each_min, abs=0.01)
    # the wood of the boxes, by the sizes of its cut sheet, and what is let in
    whole = box_of_build(made)
    prices = made.job.shop.prices
    assert prices is not None
    used = {use.what: use for use in box_uses(made.job, whole, prices)}
    told = {line.what: line for line in with_box.run.lines}
    for what, use in used.items():
        assert told[what].amount == pytest.approx(use.amount)
        assert told[what].priced is (use.price is not None)
    assert sum(use.amount for use in used.values() if use.unit == "pieces") == count * fitted
    assert ("hinge" in with_box.run.unpriced) is (bool(box.hinges) and prices.hinge is None)
    least_dm3 = 2.0 * sum(whole.outside_mm) * box.wall_mm * box.height_mm / 1e6 if whole else 0.0
    wood_dm3 = sum(use.amount for use in used.values() if use.unit == "dm3")
    assert count * 0.8 * least_dm3 < wood_dm3 < count * 4.0 * least_dm3
    # told stage by stage it comes to the same sum
    spent = spending(made)
    assert spent.wood is not None
    stages = sum((item.money or Decimal(0) for item in spent.stages), spent.wood)
    assert float(stages) * count == pytest.approx(float(with_box.run.total), abs=0.06 * count)


def test_the_box_is_made_while_resin_cures_and_closes_when_its_board_is_done(
    tmp_path: Path,
) -> None:
    box = (
        "box:\n  wall: 10 mm\n  height: 60 mm\n  board: {held: %s, from base: 40 mm, depth: 3 mm}\n"
    )
    rebated = built(tmp_path, (PLAIN + box % "in a rebate", ""))
    kinds = [stage.kind for stage in rebated.plan.stages]
    assert kinds.index(StageKind.BOX_GLUE) < kinds.index(StageKind.MILL_FLUSH)
    assert StageKind.BOX_COAT not in kinds
    grooved = built(tmp_path, (PLAIN + box % "in a groove", ""))
    assert grooved.schedule is not None
    kinds = [stage.kind for stage in grooved.plan.stages]
    assert kinds.index(StageKind.BOX_SAW) < kinds.index(StageKind.MILL_FLUSH)
    assert kinds.index(StageKind.FINISH) < kinds.index(StageKind.BOX_GLUE)
    assert kinds.count(StageKind.BOX_COAT) == 3
    assert {step.kind for step in grooved.schedule.steps} >= set(BOX_WORK)
