"""A seal coat of uncured resin is a pour like any other: card, gloves, ratio, grams, clocks."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages import whole_page
from flushwork.bench.pages.machine_views import screens
from flushwork.built import Build
from flushwork.pipeline import build
from flushwork.process.stages import Stage, StageKind
from flushwork.resin.composition import HARDENER, RESIN, mix_density_g_cm3
from flushwork.resin.cup.batches import stays_g
from flushwork.resin.pours import Pour
from flushwork.resin.recess import BARE_WALL_UPTAKE_MM, keeps_share
from flushwork.runtime.memo import Memo
from flushwork.views.drawing.face_art import mix_letters
from flushwork.views.pour_views import pour_views
from flushwork.views.warning_lines import GLOVES, HOT_CUP
from tests.many import examples

JOB = """\
flushwork: 2
title: Sealed
shop: shop.yaml
cell: 0.2 mm
pieces: {pieces}
blank: {{wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 16 mm}}
trim line: {{rectangle: 76 mm x 56 mm, round: 4 mm}}
sealer: seal coat
mixes:
  dark: {{resin: {resin}, pigments: [{{name: black powder, share: 3 %}}]}}
front:
  inlays:
    - {{name: plate, rectangle: {long} mm x {wide} mm, round: 3 mm, depth: {deep} mm, fill: dark}}
"""
SHOP = """\
flushwork shop: 2
measuring tools: [fine scale, bench scale, small spoon]
air: {{day temperature: {day} degC, night temperature: {day} degC}}
"""


class Bench:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.memo = Memo()

    def __repr__(self) -> str:
        return "the bench"

    def built(self, day: float = 22.0, **wanted: object) -> Build:
        given = {"pieces": 1, "resin": "coating epoxy", "long": 24, "wide": 16, "deep": 2} | wanted
        (self.folder / "shop.yaml").write_text(SHOP.format(day=day), encoding="utf-8")
        (self.folder / "job.yaml").write_text(JOB.format(**given), encoding="utf-8")
        return build(self.folder / "job.yaml", memo=self.memo)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return Bench(tmp_path_factory.mktemp("sealed"))


def seals(made: Build) -> list[Stage]:
    return [stage for stage in made.plan.stages if stage.kind is StageKind.SEAL]


def of_stage(made: Build, stage: Stage) -> list[Pour]:
    return [pour for pour in made.pours if pour.stage == stage.number]


def test_every_seal_has_its_card_in_the_book_and_on_the_page(bench: Bench) -> None:
    made = bench.built()
    assert len(seals(made)) == 2
    sight = whole_page.page_context(made, "metric", coarse=False)
    for cards in (pour_views(sight, mix_letters(made.job)), whole_page.pours(sight)):
        by_stage = {card.stage: card for card in cards}
        for stage in seals(made):
            card = by_stage[stage.number]
            assert [step.what for step in card.steps] == [
                "coating epoxy (resin)",
                "coating epoxy hardener",
            ]
            assert all(step.tool and step.stop_between for step in card.steps)
            assert "Pot life" in {fact.label for fact in card.facts}
            assert GLOVES in card.warnings
            assert HOT_CUP in card.warnings
    for screen in screens(sight):
        if screen.kind == "seal":
            assert any("Pot life" in timer.name for timer in screen.timers)
            assert GLOVES in screen.warnings


def test_another_sealer_is_no_pour(bench: Bench) -> None:
    (bench.folder / "shop.yaml").write_text(SHOP.format(day=20), encoding="utf-8")
    text = JOB.format(pieces=1, resin="coating epoxy", long=24, wide=16, deep=2)
    text = text.replace("seal coat", "shellac")
    made = build(bench.folder / "job.yaml", text=text)
    assert seals(made)
    assert not any(of_stage(made, stage) for stage in seals(made))


@given(
    long=st.integers(12, 40),
    wide=st.integers(8, 30),
    deep=st.sampled_from([0.8, 2.0, 3.5, 5.5]),
    pieces=st.sampled_from([1, 3, 9]),
)
@settings(max_examples=examples(4), deadline=None)
@example(long=13, wide=19, deep=5.5, pieces=1)
def test_it_weighs_what_the_wetted_wood_takes(
    long: int, wide: int, deep: float, pieces: int, bench: Bench
) -> None:
    made = bench.built(long=long, wide=wide, deep=deep, pieces=pieces)
    face, walls = seals(made)
    round_mm = 3.0
    floor = long * wide - (4.0 - math.pi) * round_mm**2
    around = 2.0 * (long + wide) - (8.0 - 2.0 * math.pi) * round_mm
    # cut from a face that is still to be sanded
    high = deep + made.job.allowances.sand_mm
    areas = {face.number: 90.0 * 70.0, walls.number: floor + around * high}
    # a wall blurs over two cells
    blurred = {face.number: 0.0, walls.number: around * 2.0 * made.replay.spec.cell_mm}
    for stage in (face, walls):
        pours = of_stage(made, stage)
        mix, sealer = pours[0].mix, made.job.sealer
        assert sealer is not None
        wet_mm = sealer.film_mm / keeps_share(mix, sealer.film_mm)
        needed = sum(pour.needed_cm3 for pour in pours)
        off = pieces * blurred[stage.number] * wet_mm / 1000.0
        wanted = pieces * areas[stage.number] * wet_mm / 1000.0
        assert needed == pytest.approx(wanted, abs=off + 0.002 * wanted)
        density = mix_density_g_cm3(mix)
        kept = sum(stays_g(pour.cups, made.job.shop.cup_loss_g) / density for pour in pours)
        drunk = pieces * areas[stage.number] * BARE_WALL_UPTAKE_MM / 1000.0
        off = pieces * blurred[stage.number] * BARE_WALL_UPTAKE_MM / 1000.0
        held = sum(pour.allowance_cm3 for pour in pours) - kept
        assert held == pytest.approx(drunk, abs=off + 0.002 * drunk)
        for pour in pours:
            grams = {part.kind: part.mass_g for part in pour.parts}
            assert grams[HARDENER] / grams[RESIN] == pytest.approx(0.44, rel=0.03)
            assert pour.working_s <= pour.pot_life_s


@given(
    day=st.integers(16, 32),
    resin=st.sampled_from(["coating epoxy", "casting epoxy", "one to one epoxy"]),
    pieces=st.sampled_from([1, 4]),
)
@settings(max_examples=examples(6), deadline=None)
def test_its_hours_run_by_the_temperature(day: int, resin: str, pieces: int, bench: Bench) -> None:
    made = bench.built(day, resin=resin, pieces=pieces)
    kept = next(each for each in made.job.shop.resins if each.name == resin)
    slower = 2.0 ** ((kept.at_c - day) / 10.0)
    schedule = made.schedule
    assert schedule is not None
    assert schedule.hindrance is None
    begins = {step.task: step.begin_min for step in schedule.steps}
    face, walls = seals(made)
    for piece in schedule.pieces:
        run = [step for step in schedule.steps if piece in step.pieces]
        brushed = {step.stage: step for step in run if step.kind is StageKind.SEAL}
        cut = next(step for step in run if step.kind is StageKind.CUT)
        fill = next(step for step in run if step.kind is StageKind.FILL)
        # a sealed face is cut once it is hard, sealed walls are filled within the recoat window
        hard_min = kept.sandable_s * slower / 60.0
        assert begins[cut.task] - brushed[face.number].end_min >= hard_min - 1
        waited = begins[fill.task] - brushed[walls.number].end_min
        assert waited >= max(kept.recoat_from_s, 21600.0) * slower / 60.0 - 1
        if not fill.scuffed:
            closes = min(kept.recoat_until_s, 64800.0) * slower / 60.0
            assert fill.end_min - brushed[walls.number].end_min <= closes + 1


@given(day=st.integers(16, 31), colder=st.integers(1, 6))
@settings(max_examples=examples(3), deadline=None)
def test_a_colder_shop_never_ends_sooner(day: int, colder: int, bench: Bench) -> None:
    warm = bench.built(day)
    cold = bench.built(max(15, day - colder))
    assert warm.schedule is not None
    assert cold.schedule is not None
    for one, two in zip(seals(warm), seals(cold), strict=True):
        assert two.lag_s >= one.lag_s
    assert cold.schedule.finish_min >= warm.schedule.finish_min


def test_a_sealer_of_a_resin_that_is_not_there_is_told(tmp_path: Path) -> None:
    from flushwork.core.findings import JobRefusedError  # noqa: PLC0415

    shop = SHOP.format(day=20) + "sealers: [{like: seal coat, resin: treacle}]\n"
    (tmp_path / "shop.yaml").write_text(shop, encoding="utf-8")
    text = JOB.format(pieces=1, resin="coating epoxy", long=24, wide=16, deep=2)
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(JobRefusedError, match="treacle"):
        build(tmp_path / "job.yaml")
