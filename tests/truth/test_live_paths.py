"""Outside numbers held to the very functions that findings, pictures and G-code go through."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.colour.kubelka_munk import SEEN_THROUGH, contrast_through, covering_depth
from flushwork.colour.spaces import apart, parse_hex
from flushwork.fit.cutting_force import (
    CARBIDE_E_N_MM2,
    CARBIDE_N_MM2,
    DULL,
    FLUTED,
    HARDWOOD,
    RESIN_STOCK,
    STRESS_SHARE,
    Stock,
    bending,
    power_w,
    side_force_n,
    stock_of_wood,
    thinning,
)
from flushwork.fit.feeds import DEFLECTION_MM, Limit, light, propose, wall_deflection_mm
from flushwork.job.keys.mixes import mixed_colour, mixed_opacity
from flushwork.job.records import MixPigment
from flushwork.kernels.thin_layers import INNER
from flushwork.resin.before_gel import escape, fluid_time_to_gel_s, sinking_mm, viscosity_at_pa_s
from flushwork.resin.bleed import PLUGGED, PORE_RADIUS_MM, bleed_mm
from flushwork.resin.recess import BARE_WALL_UPTAKE_MM, PINNING, recess_of
from flushwork.resin.thinned import dried_share, slower, viscosity_left, working_resin
from flushwork.shelf import tables
from flushwork.shelf.items import Pigment, Wood
from flushwork.wood.movement import stretch_across
from tests.checks.hearing import heard, one
from tests.many import examples
from tests.resin.shelf_samples import COATING, make_mix

WHITE_FIR = Wood("white fir", 0.00112, 0.00245, 0.39, 2100.0, "closed", "#e0cfa8", "#c0a070", "")
pigments = st.sampled_from(tables.starter_shop().pigments)


def on_shelf(name: str) -> Pigment:
    return next(pigment for pigment in tables.starter_shop().pigments if pigment.name == name)


def test_the_handbooks_worked_example_on_the_way_growth_goes() -> None:
    """GTR-190, p. 13-18: white fir, flat-sawn, 8 to 11 %: 232 mm becomes 233.7 mm."""
    assert 232.0 * stretch_across(WHITE_FIR, 0.03, flat_sawn=True) == pytest.approx(233.7, abs=0.05)


@pytest.mark.parametrize(
    ("name", "size_mm", "points", "moved_mm"),
    [("black cherry", 150.0, 4.0, 1.488), ("sugar maple", 300.0, 5.0, 5.295),
     ("black walnut", 200.0, -4.0, -2.192)],
)  # fmt: skip
def test_boards_of_the_shelf_move_as_eq_13_2_says(
    name: str, size_mm: float, points: float, moved_mm: float
) -> None:
    wood = next(each for each in tables.starter_shop().woods if each.name == name)
    grown = size_mm * stretch_across(wood, points / 100.0, flat_sawn=True) - size_mm
    assert grown == pytest.approx(moved_mm, abs=5e-4)


def test_a_board_not_settled_is_told_what_it_will_move(tmp_path: Path) -> None:
    """Table 4-2: 70 F and 30 % settle at 6.2 %; 150 mm of cherry from 9 % shrink 1.04 mm."""
    text = (
        "flushwork: 2\ncell: 0.25 mm\ntitle: Settling\n"
        "blank: {wood: black cherry, length: 160 mm, width: 150 mm, thickness: 16 mm, "
        "moisture: 9 %}\n"
        "mixes:\n  ink: {resin: coating epoxy, pigments: [{name: black powder, share: 1 %}]}\n"
        "front: {inlays: [{name: dot, circle: 20 mm, depth: 2 mm, fill: ink}]}\n"
    )
    shop = "air: {day temperature: 21.1 degC, night temperature: 20 degC, humidity: 30 %}\n"
    told = one(heard(tmp_path, text, shop), "wood-not-settled")
    assert "6.2 %" in told.message
    assert f"{150 * 0.00248 * 2.8:.1f}" in told.message


def test_half_and_half_of_two_pigments() -> None:
    """R 0.8 and 0.1 in equal parts have K/S 2.0375 and R 0.1693288 (Kubelka and Munk, by hand)."""

    def shown(inside: float) -> str:
        seen = 0.4 * inside / (1.0 - 0.6 * inside)
        part = 12.92 * seen if seen <= 0.0031308 else 1.055 * seen ** (1 / 2.4) - 0.055
        return f"{round(255 * part):02x}" * 3

    def pigment(inside: float) -> Pigment:
        kind = tables.starter_shop().pigments[0].kind
        return Pigment("grey", kind, f"#{shown(inside)}", 2.0, 0.5, 0.01, 0.03, 0.01, 0.5, False,
                       "")  # fmt: skip

    mixed = mixed_colour([(pigment(0.8), 0.02), (pigment(0.1), 0.02)])
    seen, wanted = parse_hex(mixed)[0], parse_hex("#" + shown(0.1693288))[0]
    assert seen == pytest.approx(wanted, abs=1.01 / 255.0)
    assert pytest.approx(0.6) == INNER


@given(pigments, st.floats(0.002, 0.06), st.floats(0.2, 3.0))
@settings(max_examples=examples(30), deadline=None)
def test_a_fill_of_the_middle_share_hides_at_the_tables_depth(
    pigment: Pigment, share: float, times: float
) -> None:
    middle = (pigment.share_low + pigment.share_high) / 2.0
    taken = mixed_opacity([(pigment, middle)])
    # what shows through falls by the same share with every mm: 0.02 is left at the hiding depth
    # (what hides in a tenth of a millimetre leaves less of 1 mm than a float can tell)
    assert 1.0 - taken == pytest.approx(0.02 ** (1.0 / pigment.hides_mm), rel=1e-2, abs=1e-15)
    alone = mixed_opacity([(pigment, share)])
    both = mixed_opacity([(pigment, share), (pigment, share * times)])
    assert 1.0 - both == pytest.approx((1.0 - alone) ** (1.0 + times), rel=1e-6, abs=1e-12)
    # one pigment keeps its colour, whatever its share
    off = zip(
        parse_hex(mixed_colour([(pigment, share)])),
        parse_hex(pigment.colour),
        strict=True,
    )
    assert all(abs(mine - its) <= 2.01 / 255.0 for mine, its in off)
    assert SEEN_THROUGH == 0.02
    grey = 0.3
    assert contrast_through(grey, covering_depth(grey)) == pytest.approx(0.02, rel=1e-6)


def test_bleed_is_washburns_length_for_the_plugged_vessels_of_a_wood() -> None:
    """0.045 N/m, 20 um, 30 degrees, 0.5 Pa s, 600 s: 21.6253 mm (Washburn 1921, by hand)."""
    assert bleed_mm("closed", 0.5, 600.0) == pytest.approx(0.05 * 21.6253, rel=1e-4)
    assert bleed_mm("open", 0.5, 600.0) == pytest.approx(
        math.sqrt(5.0) * bleed_mm("closed", 0.5, 600.0)
    )
    # vessels of 0.04 to 0.3 mm across (from memory); half as wide is a radius
    assert PORE_RADIUS_MM["semi"] == pytest.approx(0.05, rel=0.2)
    assert 0.01 <= PLUGGED <= 0.3


def test_resin_thickens_and_thins_by_rules_of_thumb() -> None:
    """Half as thick for 8 to 10 C (from memory), twice for each pot life; gel after three."""
    assert viscosity_at_pa_s(1.0, 34.0, 25.0) == pytest.approx(0.5)
    assert fluid_time_to_gel_s(1500.0) == pytest.approx(1500.0 / math.log(2.0) * 7.0 / 8.0)


def test_a_flake_and_a_grain_by_hand() -> None:
    """At 25 C in 0.7 Pa s for 1893.5 s of fluidity, on a liquid of about 1.11 g/cm3.

    A disc of 0.06 x 0.0006 mm: pi 1790 9.80665 0.06e-3 0.0006e-3 / (32 0.7) = 8.86e-8 m/s; rutile
    of 1 um: 9.80665 1e-12 3110 / (18 0.7) = 2.42e-9 m/s.
    """
    resin = tables.starter_shop().resins[0]
    flake, grain = (
        make_mix(resin=resin, pigments=(MixPigment(on_shelf(name), 0.01),))
        for name in ("teal flake", "white powder")
    )
    assert sinking_mm(flake, 25.0) == pytest.approx(8.86e-5 * 1893.5, rel=0.02)
    assert sinking_mm(grain, 25.0) == pytest.approx(2.42e-6 * 1893.5, rel=0.02)


def test_thinner_by_hand() -> None:
    """Guards of guesses, by hand: 4 % halves, (1 - 0.2)^-2 = 1.5625, 0.5 mm dries in a day.

    Of 2 mm: D t / d^2 = 0.216, so 2 sqrt(0.216 / pi) = 0.5244 but for the far side's 0.5 %.
    """
    assert viscosity_left(0.08) == pytest.approx(0.25)
    assert slower(0.2) == pytest.approx(1.5625)
    assert dried_share(2.0, 86400.0) == pytest.approx(0.5244, rel=0.01)
    assert dried_share(0.5, 86400.0) == pytest.approx(1.0 - 0.8106 * math.exp(-8.527), abs=1e-4)
    thin = working_resin(make_mix(thinner_share=0.5))
    assert thin.viscosity_pa_s == 0.001
    assert thin.sandable_s == 4.0 * COATING.sandable_s


def test_bubbles_get_out_as_stokes_says() -> None:
    """3 mm in 2677.8 s at 20 C and 1.0288 Pa s: d = sqrt(18 mu v / (g rho)) = 0.0439 mm."""
    out = escape(COATING, 3.0, 20.0, 1100.0)
    assert out.smallest_mm == pytest.approx(0.0439, abs=5e-5)
    # Boyle: from 101.325 kPa to 10 kPa a bubble grows 2.1639 times as wide
    assert out.smallest_mm / out.vacuum_mm == pytest.approx(2.1639, abs=1e-4)


def test_edges_ask_for_the_force_that_is_published() -> None:
    """10 to 60 N/mm2 for wood at 0.1 mm of chip, rising for thinner ones (handbooks, from memory).

    Resin: shear 100 N/mm2 (60 to 150) and 0.5 N/mm (0.2 to 1), from memory; a tenth off is told.
    """
    for wood in tables.starter_shop().woods:
        stock = stock_of_wood(wood)
        assert 10.0 < stock.specific_n_mm2(0.1) < 60.0
        assert stock.specific_n_mm2(0.02) > 2.0 * stock.specific_n_mm2(0.2)
    cherry = stock_of_wood(
        next(each for each in tables.starter_shop().woods if each.name == "black cherry")
    )
    assert cherry.specific_n_mm2(0.1) == pytest.approx(31.0, rel=0.1)
    assert RESIN_STOCK.specific_n_mm2(0.1) == pytest.approx(105.0, rel=0.05)
    assert RESIN_STOCK.specific_n_mm2(0.01) == pytest.approx(150.0, rel=0.05)


def test_force_and_power_of_dull_edges_by_hand() -> None:
    """100 N/mm2 and 1 N/mm, chip 0.1, 2 mm deep: 22 N sharp, 44 dull, 49.2 with half of it aside.

    Power at 1200 mm/min in a slot 3 mm wide: 120 mm3/s of 100 + pi / (2 0.1) J/cm3, doubled.
    """
    stock = Stock("made up", 100.0, 1.0)
    assert side_force_n(stock, 0.1, 2.0) == pytest.approx(49.19, abs=0.01)
    assert power_w(stock, 0.1, 1200.0, 3.0, 2.0) == pytest.approx(27.77, abs=0.01)
    assert 1.5 <= DULL <= 3.0


def test_carbide_is_as_stiff_and_strong_as_remembered() -> None:
    """550 to 650 GPa, 2 to 4 GPa in bending, and 0.8 of the diameter where it is fluted."""
    assert 550e3 <= CARBIDE_E_N_MM2 <= 650e3
    assert 2500.0 <= CARBIDE_N_MM2 <= 3500.0
    assert pytest.approx(0.8, abs=0.02) == FLUTED
    assert 0.15 <= STRESS_SHARE <= 0.25


def test_a_scraped_surface_hangs_by_the_capillary_length_of_resin() -> None:
    """sqrt(gamma / (rho g)): 0.045 N/m and 1150 kg/m3 give 1.99755 mm; this resin is lighter."""
    found = recess_of(make_mix())
    density = 1.15 * 1.0 * 1.44 / (1.0 + 0.44 * 1.15)
    assert found.capillary_mm == pytest.approx(1.99755 * math.sqrt(1.15 / density), rel=1e-4)
    assert found.pinning == PINNING == 1.0
    assert found.uptake_mm == BARE_WALL_UPTAKE_MM == pytest.approx(0.02, rel=0.2)


def test_what_is_wanted_of_colours_goes_straight_from_fine_to_broad() -> None:
    """30 in lightness at 1 mm and 20 at 3 (an inlay guide's, from memory); as much in colour."""
    grey = (0.5, 0.5, 0.5)
    for width, wanted in ((0.4, 30.0), (1.0, 30.0), (2.0, 25.0), (3.0, 20.0), (9.0, 20.0)):
        assert apart(grey, grey, width).lightness_wanted == pytest.approx(wanted)
        in_colour = apart(grey, grey, width).difference_wanted
        assert in_colour == (math.inf if width <= 1.0 else pytest.approx(wanted))
    assert apart(grey, grey, 2.5, lettering=True).difference_wanted == math.inf
    assert apart(grey, grey, 3.0, lettering=True).difference_wanted == pytest.approx(20.0)


@pytest.mark.parametrize("name", [bit.name for bit in tables.starter_shop().bits])
def test_feeds_of_the_shelf_are_turns_times_edges_times_chip(name: str) -> None:
    """F = n z f_z; a third of it straight down; no chip thicker than the bit's own."""
    bit = next(each for each in tables.starter_shop().bits if each.name == name)
    machine = tables.starter_shop().machine
    found = propose(bit, machine, HARDWOOD)
    assert found.feed_mm_min == pytest.approx(found.spindle_rpm * bit.flutes * found.chip_mm)
    assert found.feed_mm_min <= machine.feed_mm_min + 1e-6
    assert found.plunge_mm_min <= min(found.feed_mm_min / 3.0, machine.plunge_mm_min) + 1e-6
    assert found.chip_mm <= bit.chip_mm + 1e-12
    assert machine.spindle_min_rpm <= found.spindle_rpm <= machine.spindle_max_rpm


def test_a_wall_stands_off_by_force_times_give() -> None:
    """3.175 mm carbide, 0.2 mm left, 1 mm deep: force by chip and edges, give by the cantilever."""
    bit = next(each for each in tables.starter_shop().bits if each.name == "3.175 mm flat")
    machine = tables.starter_shop().machine
    found = propose(bit, machine, HARDWOOD)
    chip = found.chip_mm * light(found, 0.2) / thinning(0.2, bit.diameter_mm)
    chip = min(chip, bit.chip_mm * 1.4)
    force = side_force_n(HARDWOOD, chip, 1.0)
    give = bending(bit).mm_per_n
    assert wall_deflection_mm(found, 0.2, 1.0) == pytest.approx(force * give, rel=0.3)
    assert give == pytest.approx(
        64.0 / (3.0 * 580e3 * math.pi * 3.175**4)
        * (15.0**3 / 0.8**4 + 22.0**3 - 15.0**3)
    )  # fmt: skip


def test_a_long_thin_bit_gets_the_depth_at_which_it_bends_as_far_as_it_may() -> None:
    """Deflection goes with the force, the force with the depth: the pass ends just at the limit."""
    thin = next(each for each in tables.starter_shop().bits if each.name == "0.794 mm flat")
    bit = replace(thin, reach_mm=30.0, flute_mm=12.0)
    told = propose(bit, tables.starter_shop().machine, Stock("hard", 60.0, 1.0))
    assert told.pass_mm < bit.pass_mm
    assert told.binds in {Limit.DEFLECTION, Limit.STRESS}
    share = max(told.deflection_mm / DEFLECTION_MM, told.stress_share / STRESS_SHARE)
    assert share == pytest.approx(1.0, rel=0.02)
