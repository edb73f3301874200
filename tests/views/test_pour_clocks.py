"""The clock of a cup.

One figure and one start on card, point of no return and page, on random jobs and shops.
"""

from __future__ import annotations

import re

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.machine_views import screens
from flushwork.bench.pages.whole_page import page_context
from flushwork.built import Build
from flushwork.checks.no_return_conditions import conditions
from flushwork.process.stages import StageKind
from flushwork.views.figures import Lengths
from flushwork.views.pour_views import pour_views
from flushwork.views.stage_views import LOOK_MIN, stage_views
from tests.many import examples
from tests.views.test_waits_alike import minutes_in, planned

SHOP = """\
flushwork shop: 2
name: small shop
measuring tools: [{tools}]
air: {{day temperature: {day} degC, night temperature: 16 degC}}
"""
COLOURS = ("red", "black", "white")


def text_of(sizes: list[float], pieces: int, resin: str, depth: float = 1.5) -> str:
    inlays = "\n".join(
        f"    - {{name: inlay {at + 1}, circle: {size:.2f} mm, at: [{24 * at - 24} mm, 0 mm], "
        f"depth: {depth} mm, fill: {COLOURS[at]}}}"
        for at, size in enumerate(sizes)
    )
    mixes = "\n".join(
        f"  {name}: {{resin: {resin}, pigments: [{{name: {name} powder, share: 3 %}}]}}"
        for name in COLOURS
    )
    return (
        "flushwork: 2\nshop: shop.yaml\ntitle: Clocks\ncell: 0.5 mm\n"
        f"pieces: {pieces}\nblank: {{wood: sugar maple, length: 100 mm, width: 70 mm, "
        f"thickness: 16 mm}}\nmixes:\n{mixes}\nfront:\n  inlays:\n{inlays}\n"
    )


@st.composite
def asked(draw: st.DrawFn) -> tuple[str, str]:
    """Return a job of small fills, which often share a cup, and its shop."""
    sizes = draw(st.lists(st.floats(5.0, 20.0), min_size=1, max_size=3))
    resin = draw(st.sampled_from(["coating epoxy", "five to one epoxy", "one to one epoxy"]))
    tools = draw(st.sampled_from(["fine scale", "bench scale", "fine scale, bench scale"]))
    job = text_of(sizes, draw(st.integers(1, 6)), resin)
    return job, SHOP.format(day=draw(st.integers(16, 30)), tools=tools)


def clocks_alike(made: Build) -> None:
    """Hold card, point of no return and timer of each pour to the whole minutes of its pot life."""
    sight = page_context(made, "metric", coarse=False)
    pages, case = screens(sight), made
    cards = {card.number: card for card in pour_views(sight, {})}
    timers = [each for page in pages for each in page.timers if "Pot life" in each.name]
    assert len(timers) == len({pour.clock_of for pour in made.pours})
    assert len({timer.name for timer in timers}) == len(timers)
    for pour in made.pours:
        minutes = int(pour.pot_life_s // 60)
        fact = next(each for each in cards[pour.number].facts if each.label == "Pot life")
        assert minutes_in(fact.value.split(";")[0]) == {minutes}, fact
        no_returns = conditions(case, made.plan.stage(pour.stage), None)
        (line,) = (each for each in no_returns if each.startswith(f"pour {pour.number} will be"))
        assert minutes_in(line) == {minutes}
        (timer,) = (
            each
            for each in timers
            if str(pour.number) in re.findall(r"\d+", each.name.split(":")[0])
        )
        assert timer.lasts_s == 60.0 * minutes
        told = " ".join([*cards[pour.number].notes, fact.value])
        starts = "clock starts" in told
        assert starts == (pour.clock_of == pour.number)
        assert starts or f"pour {pour.clock_of}" in told
        assert "longer" not in told
        assert "shorter" not in told


def topped_up_in_time(made: Build) -> None:
    """Hold every top-up out of a cup to the pot life of that cup."""
    sight = page_context(made, "metric", coarse=False)
    views = stage_views(sight, {}, Lengths("metric"))
    for stage, view in zip(made.plan.stages, views, strict=True):
        if stage.kind is not StageKind.FILL:
            continue
        _, told, look = view.differs.partition("Look again after ")
        after = int(re.findall(r"\d+", look)[0]) if told else LOOK_MIN
        for pour in made.pours:
            if pour.stage != stage.number:
                continue
            cup = [each for each in made.pours if each.clock_of == pour.clock_of]
            filled_s = max(each.working_s for each in cup)
            filled_s += sum(each.working_s for each in cup if each.out_of)
            late = filled_s + 60.0 * (after + 1) > pour.pot_life_s
            assert not late or "too soon to top up" in look, view.differs


@settings(max_examples=examples(6), deadline=None)
@given(asked())
@example((text_of([6.0, 6.0], 1, "one to one epoxy"), SHOP.format(day=20, tools="bench scale")))
@example((text_of([20.0, 20.0], 6, "five to one epoxy"), SHOP.format(day=29, tools="fine scale")))
def test_a_cup_has_one_clock_and_nothing_is_poured_after_it(texts: tuple[str, str]) -> None:
    made = planned(*texts)
    if made.schedule is not None and made.schedule.hindrance is None:
        clocks_alike(made)
        topped_up_in_time(made)


def test_two_colours_of_one_clear_batch_have_the_clock_of_their_first_contact() -> None:
    job = text_of([6.0, 6.0], 1, "one to one epoxy")
    made = planned(job, SHOP.format(day=20, tools="bench scale"))
    assert any(pour.shares_clear_with for pour in made.pours)
    clocks_alike(made)
