"""The card of each stage: whole for every kind, filled from the job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.bench.pages.whole_page import page_context
from flushwork.book.compose import view_of
from flushwork.book.html import html_text
from flushwork.process.bright_lines import BrightLine
from flushwork.process.stages import Stage, StageKind
from flushwork.resin.recess import Sanding
from flushwork.views.book_records import StageView
from flushwork.views.context import ViewContext
from flushwork.views.stage_cards import CARDS, CUT_AGAIN, FLUSH, SEAL_AGAIN, SETTING
from flushwork.views.stage_views import card_of, stage_views, touch_up_batch
from tests.book.rebuilt import rebuilt
from tests.book.shared_views import stages as stages_of
from tests.small_jobs import changed, made

NB = "\N{NO-BREAK SPACE}"


@pytest.fixture(scope="module")
def stages(context: ViewContext) -> dict[int, StageView]:
    return {stage.number: stage for stage in stages_of(context)}


def test_every_kind_of_work_is_told_once() -> None:
    assert set(CARDS) == set(StageKind)
    cards = (*CARDS.values(), CUT_AGAIN, SEAL_AGAIN, FLUSH, SETTING)
    # later walls are sealed as the first ones are: only what stands at the step differs;
    # a box is sawn and fitted by one card
    assert len({card.name for card in cards}) == len(cards) - 2
    for card in cards:
        text = " ".join((card.name, card.lay_out, *card.steps, card.good, card.if_not))
        assert "{" not in text
        assert all(step[0].isupper() for step in card.steps)
        assert card.steps
        assert card.good
        assert card.if_not


def test_what_differs_stands_at_the_step(stages: dict[int, StageView]) -> None:
    assert not any("{" in stage.differs for stage in stages.values())
    assert f"0.15{NB}mm above the wood" in stages[8].differs
    assert f"0.50{NB}mm off this face" in stages[1].differs
    assert f"0.4{NB}mm proud." in stages[5].differs
    assert "coats" in stages[15].differs


def test_the_book_tells_each_how_to_once_and_names_it_at_its_steps(context: ViewContext) -> None:
    view = view_of(context)
    numbers = [how.number for how in view.how_to]
    assert numbers == list(range(1, len(numbers) + 1))
    used = {
        line.how
        for card in view.cards
        for line in ((*card.setup.before, *card.setup.own, *card.setup.after) if card.setup else ())
    }
    used |= {
        line.how
        for card in view.cards
        if card.pours
        for line in (*card.pours.before, *card.pours.after, *(p.step for p in card.pours.pours))
    }
    assert used <= set(numbers)
    page = html_text(view)
    for how in view.how_to:
        assert page.count(f'id="how-{how.number}"') == 1


def test_a_later_cut_and_a_wait_for_a_cap_have_cards_of_their_own(context: ViewContext) -> None:
    again, given = replace(context.build.plan.stages[9], round=2), context.build.job.allowances
    assert card_of(context.build.plan, again, given) is CUT_AGAIN
    assert card_of(context.build.plan, context.build.plan.stages[6], given) is CARDS[StageKind.CURE]
    cure = Stage(1, StageKind.CURE, "front", 1, "Let gold set", "it bonds")
    cap = Stage(2, StageKind.CAP, "front", 1, "Cap", "it bonds")
    assert card_of(replace(context.build.plan, stages=(cure, cap)), cure, given) is SETTING


def test_a_face_and_walls_are_sealed_by_words_that_fit_both(tmp_path: Path) -> None:
    sealed = changed("mixes:\n", "sealer: shellac\nmixes:\n")
    build = made(tmp_path, sealed)
    sight = page_context(build, "metric", coarse=False)
    views = stage_views(sight, {}, sight.lengths)
    face, walls = [
        view
        for view, stage in zip(views, build.plan.stages, strict=True)
        if stage.kind is StageKind.SEAL
    ]
    assert (face.how, walls.how) == ("Seal", "Seal")
    seal = CARDS[StageKind.SEAL]
    for word in ("wall", "floor", "corner"):
        assert word not in " ".join((*seal.steps, seal.good)).lower()
    cut = next(stage for stage in build.plan.stages if stage.kind is StageKind.CUT)
    assert "dry" in cut.because
    assert "nothing has to come" not in cut.because


def bright_line(context: ViewContext, odds: float, grams: float) -> BrightLine:
    drawn = next(each for each in context.build.faces[0].inlays if each.inlay.name == "bright edge")
    return BrightLine(
        drawn, 0.8, 1.2, 900.0, Sanding(0.2, 0.05), 0.25, 0.3, 0.9, odds, 0.1, 0.0, (), grams
    )


def test_sanding_bright_lines_tells_what_will_miss(context: ViewContext) -> None:
    sand = replace(context.build.plan.stages[8], subjects=("bright edge",))
    cured = (*context.build.plan.stages[:8], sand, *context.build.plan.stages[9:])
    plan = replace(context.build.plan, stages=cured)
    line = bright_line(context, 0.93, 0.37)
    made = replace(rebuilt(context, plan=plan), lines=(line,))
    (told,) = stages_of(made)[8].touch_up
    assert f"about 7{NB}% of its length" in told
    assert f"it takes 0.37{NB}g for all pieces" in told
    batch = touch_up_batch(line.inlay.mix, 0.37, context.build.job.shop)
    assert batch.ratio_error <= line.inlay.mix.resin.tolerance
    assert batch.mass_g >= 0.37 + context.build.job.shop.cup_loss_g
    assert f"mix {batch.mass_g:.1f}{NB}g of gold line afresh" in told
    assert "Nothing mixed today keeps" in told
    assert all(part.name in told for part in batch.parts)
    assert f"adds 2{NB}days" in told
    assert told in html_text(view_of(made))
    sure = replace(made, lines=(bright_line(context, 1.0, 0.0),))
    (told,) = stages_of(sure)[8].touch_up
    assert "none of it is expected dull" in told
    assert f"adds 2{NB}days" in told
    assert stages_of(context)[8].touch_up == ()
