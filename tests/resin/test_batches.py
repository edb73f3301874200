from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.job.records import Mix, MixPigment
from flushwork.resin.composition import (
    CLEAR,
    HARDENER,
    PIGMENT,
    RESIN,
    REST,
    THINNER,
    compose,
    mix_density_g_cm3,
)
from flushwork.resin.cup.batches import KEPT_G, cups_for, plan_pours, split_pieces, stays_g
from flushwork.resin.pours import Pour, PourRequest, Served, requests_for
from flushwork.strata.surfaces import Poured
from tests.many import examples
from tests.resin.shelf_samples import (
    COATING,
    FINE_SCALE,
    FIVE_TO_ONE,
    FLAKE,
    SPOON,
    SYRINGE,
    TENTH_SCALE,
    make_mix,
    make_shop,
)


def request(
    mix: Mix, cm3: float, pieces: int = 1, stage: int = 4, session: int | None = None
) -> PourRequest:
    return PourRequest(stage, mix, pieces, (Served("line", "front", cm3, 0.0),), session)


def mass(pour: Pour, *kinds: str) -> float:
    return sum(part.mass_g for part in pour.parts if part.kind in kinds)


def test_a_line_for_twelve_boards_is_mixed_as_sixteen_grams() -> None:
    mix = make_mix()
    line_cm3 = 0.8 * 1.5 * 640.0 / 1000.0
    density = mix_density_g_cm3(mix)
    pours = plan_pours([request(mix, line_cm3, 12)], make_shop(TENTH_SCALE))
    assert len(pours) == 1
    pour = pours[0]
    assert pour.needed_cm3 == pytest.approx(12 * line_cm3)
    # 11.1 and 4.9 are within the tolerance, but leave the display nothing to stop between
    assert [part.target for part in pour.parts] == pytest.approx([11.2, 4.9])
    assert [(part.low, part.high) for part in pour.parts] == [(11.2, 11.3), (4.9, 5.0)]
    assert pour.smallest_g == pytest.approx(15.7, abs=0.05)
    assert pour.batch_g >= pour.smallest_g
    assert pour.surplus_g == pytest.approx(16.1 - 12 * line_cm3 * density - 1.5 - KEPT_G, abs=0.06)


def test_requests_of_one_mix_in_one_session_are_gathered() -> None:
    mix = make_mix()
    together = plan_pours(
        [request(mix, 3.0, 2, stage=4, session=1), request(mix, 5.0, 2, stage=6, session=1)],
        make_shop(TENTH_SCALE),
    )
    assert len(together) == 1
    assert together[0].needed_cm3 == pytest.approx(16.0)
    assert len(together[0].serves) == 2
    apart = plan_pours(
        [request(mix, 3.0, 2, stage=4), request(mix, 5.0, 2, stage=6)], make_shop(TENTH_SCALE)
    )
    assert [pour.stage for pour in apart] == [4, 6]


def test_small_colours_come_out_of_one_clear_batch() -> None:
    red = make_mix("red", pigments=(MixPigment(FLAKE, 0.03),))
    blue = make_mix("blue", pigments=(MixPigment(FLAKE, 0.02),))
    pours = plan_pours(
        [request(red, 4.0, stage=4, session=1), request(blue, 5.0, stage=5, session=1)],
        make_shop(TENTH_SCALE, FINE_SCALE, SPOON, cup_loss_g=1.0),
    )
    alone = plan_pours([request(red, 4.0), request(blue, 5.0, stage=5)], make_shop(TENTH_SCALE))
    assert all(not pour.shares_clear_with for pour in alone)
    coarse = plan_pours(
        [request(red, 4.0, stage=4, session=1), request(blue, 5.0, stage=5, session=1)],
        make_shop(TENTH_SCALE, SPOON, cup_loss_g=1.0),
    )
    assert [pour.shares_clear_with for pour in coarse] == [(2,), (1,)]
    mixed = sum(part.mass_g for part in coarse[0].clear_parts)
    assert mixed == pytest.approx(16.0, abs=0.5)
    # one share is taken out, the other stays in the cup: nothing is left, and no third cup used
    assert sum(mass(pour, CLEAR, REST) for pour in coarse) == pytest.approx(mixed)
    for pour in coarse:
        assert pour.batch_g >= pour.smallest_g
        assert pour.batch_cm3 >= pour.needed_cm3
        assert {part.kind for part in pour.parts} in ({CLEAR, PIGMENT}, {REST, PIGMENT})
    assert sum(pour.batch_g for pour in alone) > mixed
    assert all(pour.ratio_error < 0.03 for pour in pours)


def test_different_resins_never_share() -> None:
    other = replace(COATING, name="casting epoxy")
    pours = plan_pours(
        [
            request(make_mix("red"), 4.0, stage=4, session=1),
            request(make_mix("blue", resin=other), 4.0, stage=5, session=1),
        ],
        make_shop(TENTH_SCALE),
    )
    assert all(not pour.shares_clear_with for pour in pours)


def test_thinner_goes_by_volume_and_flake_by_weight_and_spoon() -> None:
    mix = make_mix(thinner_share=0.10, pigments=(MixPigment(FLAKE, 0.03),))
    pour = plan_pours([request(mix, 40.0)], make_shop(TENTH_SCALE, SYRINGE, SPOON))[0]
    kinds = [part.kind for part in pour.parts]
    assert kinds == [RESIN, PIGMENT, THINNER, HARDENER]
    resin, flake, thinner, hardener = pour.parts
    assert thinner.tool == SYRINGE
    assert thinner.target / 0.2 == pytest.approx(round(thinner.target / 0.2))
    liquid = resin.volume_cm3 + thinner.volume_cm3 + hardener.volume_cm3
    assert thinner.volume_cm3 / liquid == pytest.approx(0.10, abs=0.005)
    assert flake.spoon == SPOON
    assert flake.spoons * 0.33 * 0.4 == pytest.approx(flake.mass_g, rel=0.1)
    assert hardener.low <= hardener.target <= hardener.high


def test_a_batch_past_the_scales_capacity_is_split_by_pieces() -> None:
    mix = make_mix()
    roomy = replace(mix, resin=replace(mix.resin, cup_g=5000.0, pot_life_s=360000.0))
    pours = plan_pours([request(roomy, 100.0, 20)], make_shop(TENTH_SCALE))
    assert [pour.pieces for pour in pours] == [4] * 5
    assert sum(pour.needed_cm3 for pour in pours) == pytest.approx(2000.0)
    # the scale bears the cup as well
    assert all(pour.batch_g <= 490.0 for pour in pours)


def test_no_batch_is_more_than_one_cup_may_hold() -> None:
    pours = plan_pours([request(make_mix(), 100.0, 20)], make_shop(TENTH_SCALE))
    assert len(pours) > 20
    assert all(pour.batch_g <= COATING.pot_mass_g for pour in pours)
    assert sum(pour.needed_cm3 for pour in pours) == pytest.approx(2000.0)


def test_walls_drink_once_however_many_batches_fill_one_piece() -> None:
    served = Served("pool", "front", 300.0, 0.0, walls_mm2=50000.0)
    pours = plan_pours([PourRequest(3, make_mix(), 1, (served,))], make_shop(TENTH_SCALE))
    assert len(pours) > 3
    density = compose(make_mix(), 1.0).density_g_cm3
    kept = sum(stays_g(pour.cups, 1.5) for pour in pours) / density
    drunk = sum(pour.allowance_cm3 for pour in pours) - kept
    assert drunk == pytest.approx(50000.0 * 0.02 / 1000.0)


def test_bare_walls_drink_and_are_allowed_for() -> None:
    served = Served("line", "front", 5.0, 1.0, walls_mm2=4000.0)
    mix = make_mix()
    shop = make_shop(TENTH_SCALE, cup_loss_g=0.0)
    pour = plan_pours([PourRequest(3, mix, 2, (served,))], shop)[0]
    assert pour.needed_cm3 == pytest.approx(12.0)
    kept = KEPT_G / mix_density_g_cm3(mix)
    assert pour.allowance_cm3 == pytest.approx(kept + 2 * 4000.0 * 0.02 / 1000.0)


def test_without_a_tool_nothing_honest_can_be_mixed() -> None:
    pour = plan_pours([request(make_mix(), 10.0)], make_shop())[0]
    assert math.isinf(pour.ratio_error)
    assert all(part.tool is None for part in pour.parts)


def test_what_the_replay_poured_is_what_is_asked_for() -> None:
    mix = make_mix()
    poured = [
        Poured(4, "front", "rose", "gold line", 1200.0, 300.0, 2.0, 120.0),
        Poured(4, "front", "words", "gold line", 500.0, 0.0, 2.0),
        Poured(9, "back", "bird", "gold line", 100.0, 0.0, 2.0),
    ]
    asked = requests_for(poured, {"gold line": mix}, 4, {4: 1, 9: 2}, {"words": 5})
    assert [each.needed_cm3 for each in asked] == pytest.approx([8.0, 0.4])
    assert [each.walls_mm2 for each in asked[0].serves] == [120.0, 0.0]
    assert [each.pockets for each in asked[0].serves] == [1, 5]
    assert [each.gathers_with for each in asked] == [1, 2]


@given(
    cm3=st.floats(0.05, 60.0),
    pieces=st.integers(1, 20),
    thinner=st.floats(0.0, 0.2),
    flake=st.floats(0.002, 0.06),
    five=st.booleans(),
)
@settings(max_examples=40, deadline=None)
def test_every_batch_is_enough_and_honest(
    cm3: float, pieces: int, thinner: float, flake: float, five: bool
) -> None:
    mix = make_mix(
        resin=FIVE_TO_ONE if five else COATING,
        thinner_share=thinner,
        pigments=(MixPigment(FLAKE, flake),),
    )
    shop = make_shop(TENTH_SCALE, SYRINGE, SPOON)
    pours = plan_pours([request(mix, cm3, pieces)], shop)
    assert sum(pour.needed_cm3 for pour in pours) == pytest.approx(cm3 * pieces)
    assert sum(pour.pieces for pour in pours) == pieces or len(pours) > pieces
    for pour in pours:
        assert mass(pour, RESIN, HARDENER) > 0.0
        assert pour.ratio_error <= mix.resin.tolerance + 1e-9
        assert pour.batch_g >= pour.smallest_g * 0.999
        wanted = compose(mix, pour.needed_cm3 + pour.allowance_cm3)
        assert mass(pour, RESIN, HARDENER) >= wanted.mass_of(RESIN, HARDENER) - 1e-6
        right = mix.resin.ratio_hardener / mix.resin.ratio_resin
        if five:
            right *= mix.resin.density_hardener_g_cm3 / mix.resin.density_resin_g_cm3
        assert mass(pour, HARDENER) / mass(pour, RESIN) / right == pytest.approx(
            1.0, abs=mix.resin.tolerance
        )


def test_pieces_are_split_evenly() -> None:
    assert split_pieces(20, 3) == [7, 7, 6]
    assert split_pieces(5, 5) == [1, 1, 1, 1, 1]


def test_a_common_batch_must_save_more_than_its_cup_loses() -> None:
    wanted = [
        request(make_mix("red"), 4.0, stage=4, session=1),
        request(make_mix("blue"), 40.0, stage=5, session=1),
    ]
    saving = plan_pours(wanted, make_shop(TENTH_SCALE, cup_loss_g=1.0))
    assert [pour.shares_clear_with for pour in saving] == [(2,), (1,)]
    # nothing is saved where both can be measured alone
    wanted = [
        request(make_mix("red"), 20.0, stage=4, session=1),
        request(make_mix("blue"), 40.0, stage=5, session=1),
    ]
    alone = plan_pours(wanted, make_shop(TENTH_SCALE, cup_loss_g=1.0))
    assert all(not pour.shares_clear_with for pour in alone)


def test_colours_of_a_common_batch_are_poured_within_one_pot_life() -> None:
    slow = [
        replace(request(make_mix(name), 4.0, stage=stage, session=1), fill_s=900.0)
        for stage, name in ((4, "red"), (5, "blue"))
    ]
    pours = plan_pours(slow, make_shop(TENTH_SCALE, cup_loss_g=1.0))
    assert all(not pour.shares_clear_with for pour in pours)
    quick = [replace(each, fill_s=300.0) for each in slow]
    shared = plan_pours(quick, make_shop(TENTH_SCALE, cup_loss_g=1.0))
    assert all(pour.shares_clear_with for pour in shared)
    assert [pour.working_s for pour in shared] == [360.0 + 600.0] * 2
    assert all(pour.working_s <= pour.pot_life_s for pour in shared)


def test_a_better_tool_is_taken_where_it_wastes_no_more() -> None:
    pour = plan_pours([request(make_mix(), 30.0)], make_shop(FINE_SCALE, TENTH_SCALE, SYRINGE))[0]
    assert {part.tool for part in pour.parts} == {FINE_SCALE}
    assert pour.surplus_g < 0.02 * pour.batch_g


@given(
    pieces=st.integers(1, 40),
    each_cm3=st.floats(0.1, 60.0),
    loss_g=st.floats(0.0, 4.0),
)
@example(pieces=1, each_cm3=3.6, loss_g=1.5)
@settings(max_examples=examples(20), deadline=None)
def test_every_cup_a_batch_goes_through_is_mixed_for(
    pieces: int, each_cm3: float, loss_g: float
) -> None:
    mix = make_mix()
    density = mix_density_g_cm3(mix)
    shop = make_shop(TENTH_SCALE, FINE_SCALE, cup_loss_g=loss_g)
    for pour in plan_pours([request(mix, each_cm3, pieces)], shop):
        fills_g = pour.needed_cm3 * density
        assert pour.cups == cups_for(fills_g)
        # a part is weighed to the step of its scale, which may fall a hair short
        assert pour.batch_g >= fills_g + pour.cups * loss_g + KEPT_G - 0.06
