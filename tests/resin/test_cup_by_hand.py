"""What a cup's cards are made of, each figure worked out by hand beside its test."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.job.records import MixPigment
from flushwork.resin.before_gel import MIXING_S, fill_time_s
from flushwork.resin.bleed import soak_mm
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cup.batches import in_one_cup, plan_pours
from flushwork.resin.cup.cards import pigment_part, thinner_part
from flushwork.resin.cup.heat import critical_slab
from flushwork.resin.cup.sharing import share_clear
from flushwork.resin.cup.tool_pairs import measure_pair, stop_spans
from flushwork.resin.cup.tool_readings import MixRatio, each_fill, fills, top_mark
from flushwork.resin.pours import PourRequest, Served, levels_mm
from flushwork.resin.recess import Sanding, sand_less
from flushwork.resin.thinned import dried_share
from flushwork.shelf.items import MeasuringTool, ToolKind
from tests.many import examples
from tests.resin.shelf_samples import (
    COATING,
    ETHANOL,
    FINE_SCALE,
    FLAKE,
    SYRINGE,
    TENTH_SCALE,
    make_mix,
    make_shop,
)


def test_filling_takes_a_time_for_each_pocket_and_for_each_cm3() -> None:
    # 3 x 18 s + 2 s x (4 + 1) cm3
    assert fill_time_s([Served("line", "front", 4.0, 1.0, pockets=3)]) == pytest.approx(64.0)


def test_a_stain_goes_down_by_a_tenth_of_what_it_runs() -> None:
    assert soak_mm("closed", 3.0) == pytest.approx(0.3)
    # a vessel of 0.1 mm radius, cut open, is 0.2 mm deep
    assert soak_mm("open", 1.0) == pytest.approx(0.2)


@settings(max_examples=examples(60), deadline=None)
@given(st.floats(0.2, 60.0), st.floats(0.5, 12.0), st.floats(0.5, 1.0))
def test_layers_take_the_same_liquid_and_end_at_the_top(
    depth_mm: float, layer_mm: float, kept: float
) -> None:
    heights = levels_mm(depth_mm, layer_mm, kept)
    shrunk = 0.0
    for each in heights:
        assert each - shrunk == pytest.approx(heights[0])
        shrunk += (each - shrunk) * kept
    assert heights[-1] == pytest.approx(depth_mm)
    assert heights[0] <= layer_mm + 1e-9
    fewer = len(heights) - 1
    if fewer:
        assert depth_mm > layer_mm * ((fewer - 1) * kept + 1.0)


def test_three_layers_by_hand() -> None:
    # 4 mm a layer, 9 tenths kept: two reach 7.6 mm, three 11.2; 10 / 2.8 = 3.571 each
    assert levels_mm(10.0, 4.0, 0.9) == pytest.approx((3.5714, 6.7857, 10.0), abs=1e-4)


def test_a_line_cut_as_deep_as_it_may_be_is_told_in_tenths() -> None:
    told = sand_less(
        1.5, 1.29, 0.6, 0.9, Sanding(0.2, 0.05), kept=lambda _share, _depth: 0.9, pinning=1.0
    )
    assert told.depth_mm == pytest.approx(1.2)


def test_both_forms_of_what_has_dried_meet() -> None:
    """Crank's series and its beginning agree within a thousandth about where one takes over."""
    for passed in (0.08, 0.0999, 0.1001, 0.13):
        early = 2.0 * math.sqrt(passed / math.pi)
        terms = ((2.0 * n + 1.0) ** 2 * math.pi**2 for n in range(40))
        series = 1.0 - sum(8.0 / term * math.exp(-term * passed / 4.0) for term in terms)
        assert dried_share(2.0, passed * 4.0 / 1e-5) == pytest.approx(series, abs=1e-3)
        assert early == pytest.approx(series, abs=1e-3)


def test_a_slab_is_searched_to_the_end() -> None:
    """Bi = infinity: Frank-Kamenetskii's 0.878 (from memory)."""
    assert critical_slab(1e9) == pytest.approx(0.87846, abs=1e-5)


TEN = MeasuringTool("10 cm3 syringe", ToolKind.SYRINGE, 0.5, 10.0, 0.1)


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(1, 60))
def test_all_fills_but_the_last_are_alike_and_none_is_over_the_top(steps: int) -> None:
    amount = steps * TEN.step
    each = each_fill(TEN, amount)
    assert len(each) == fills(TEN, amount) == max(1, math.ceil(amount / 10.0))
    assert math.fsum(each) == pytest.approx(amount)
    assert len(set(each[:-1])) <= 1
    assert all(0.0 < one <= top_mark(TEN) + 1e-9 for one in each)


def test_twenty_six_cm3_in_three_fills() -> None:
    assert each_fill(TEN, 26.0) == pytest.approx((9.0, 9.0, 8.0))


def test_thinner_may_be_off_by_a_tenth_either_way() -> None:
    part = thinner_part(ETHANOL, 4.0, [TENTH_SCALE])
    # 4 cm3 x 0.789 = 3.156 g: 3.2 on the display; 2.84 to 3.47 g, half a step inside
    assert part.target == pytest.approx(3.2)
    assert (part.low, part.high) == pytest.approx((2.9, 3.4))


def test_a_pigment_outside_its_advice_may_be_off_by_a_tenth() -> None:
    # 12 % where 1 to 6 are advised
    part = pigment_part(MixPigment(FLAKE, 0.12), 2.0, [FINE_SCALE])
    assert part.target == pytest.approx(2.0, abs=0.005)
    assert 1.8 <= part.low < 1.85
    assert 2.15 < part.high <= 2.2


def test_two_of_a_colour_out_of_one_cup_hold_what_both_want() -> None:
    mix = make_mix()
    shop = make_shop(TENTH_SCALE)
    density = mix_density_g_cm3(mix)
    first, second = plan_pours(
        [
            PourRequest(4, mix, 1, (Served("line", "front", 3.0, 0.0, walls_mm2=500.0),)),
            PourRequest(6, mix, 1, (Served("dots", "front", 2.0, 0.0, walls_mm2=400.0),)),
        ],
        shop,
    )
    both = in_one_cup(first, second, shop)
    assert both is not None
    one, two = both
    # the second takes its 2 cm3 and what its 400 mm2 of wall drink, 0.02 mm of it
    assert one.also_cm3 == pytest.approx(2.0 + 400.0 * 0.02 / 1000.0)
    wanted = first.needed_cm3 + first.allowance_cm3 + one.also_cm3
    assert one.batch_cm3 >= wanted - 1e-9
    assert one.surplus_g == pytest.approx(max(0.0, one.batch_g - wanted * density))
    assert two.batch_g == 0.0
    assert one.working_s >= MIXING_S


def test_colours_of_a_common_clear_each_get_their_pigment_for_their_share() -> None:
    red = make_mix("red", pigments=(MixPigment(FLAKE, 0.03),))
    blue = make_mix("blue", pigments=(MixPigment(FLAKE, 0.05),))
    shared = share_clear([(red, 2.0), (blue, 6.0)], [FINE_SCALE, SYRINGE], 10.0)
    assert shared is not None
    for mix, colour in zip((red, blue), shared.colours, strict=True):
        clear, pigment = colour.parts[0], colour.parts[-1]
        wanted = mix.pigments[0].share
        # its share is of all that is in the cup
        assert pigment.mass_g / (clear.mass_g + pigment.mass_g) == pytest.approx(wanted, rel=0.08)


@settings(max_examples=examples(60), deadline=None)
@given(st.floats(0.01, 0.1), st.integers(20, 400), st.sampled_from([TENTH_SCALE, FINE_SCALE]))
def test_wherever_both_stop_the_ratio_holds_and_one_step_wider_would_not(
    tolerance: float, marks: int, scale: MeasuringTool
) -> None:
    ratio = MixRatio(0.44, 1.15, 1.0, tolerance)
    pair = measure_pair(scale, scale, ratio, marks * scale.step)
    spans = stop_spans(pair, ratio)
    if spans is None:
        return
    (r_low, r_high), (h_low, h_high) = spans
    half = scale.step / 2.0
    over = (h_high + half) / (r_low - half) / 0.44 - 1.0
    under = (h_low - half) / (r_high + half) / 0.44 - 1.0
    assert over <= tolerance + 1e-9
    assert under >= -tolerance - 1e-9
    room = tolerance * marks * scale.step
    if room > 12.0 * scale.step:
        # nearly all of the tolerance is given to the hands, half above and half below
        assert over > tolerance - 3.0 * scale.step / (marks * scale.step)
        assert under < -tolerance + 3.0 * scale.step / (marks * scale.step)


def test_a_resin_of_another_ratio_is_another_batch() -> None:
    mix = make_mix()
    other = replace(mix, name="other", resin=replace(COATING, name="another"))
    shop = make_shop(TENTH_SCALE)
    first, second = plan_pours(
        [
            PourRequest(4, mix, 1, (Served("line", "front", 3.0, 0.0),)),
            PourRequest(6, other, 1, (Served("dots", "front", 2.0, 0.0),)),
        ],
        shop,
    )
    assert in_one_cup(first, second, shop) is None
