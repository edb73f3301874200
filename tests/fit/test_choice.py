"""Which bits are chosen, and the reason given."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise, permutations
from math import inf

import pytest
import shapely
from shapely import MultiLineString, MultiPolygon

from flushwork.art.drawn import DrawnInlay
from flushwork.fit.bit_sets import Choice, choose_set
from flushwork.fit.choice import Weighed, engraved_depth, weigh
from flushwork.fit.pocket_time import CutTerms, rest_between, rest_s, whole_s
from flushwork.shelf.items import Bit, BitKind
from tests.fit.by_itself import fit_inlay, usual_terms
from tests.fit.shapes import (
    BEND,
    EIGHTH,
    QUARTER,
    SIXTEENTH,
    SIXTY,
    THIRTY,
    THIRTYSECOND,
    box,
    disc,
    inlay,
    many,
    slot,
)

OWNED = (THIRTYSECOND, SIXTEENTH, EIGHTH, QUARTER, SIXTY, THIRTY)


def test_a_disc_takes_the_widest_bit_alone() -> None:
    fit = fit_inlay(inlay(disc(20)), OWNED)
    assert fit.bits == (QUARTER,)
    assert fit.narrowest_needed == QUARTER
    assert fit.reach(QUARTER) is not None


def test_square_corners_want_the_narrowest_and_a_wide_one_clears_before_it() -> None:
    fit = fit_inlay(inlay(box(0, 0, 60, 40)), OWNED)
    assert fit.bits == (QUARTER, THIRTYSECOND)
    assert "clears all but" in fit.reason


def test_a_small_square_is_not_worth_a_change_of_bit() -> None:
    fit = fit_inlay(inlay(box(0, 0, 7, 7), depth=0.5), (THIRTYSECOND, SIXTEENTH, EIGHTH))
    assert fit.bits == (THIRTYSECOND,)
    assert "1.588 mm flat would leave" in fit.reason


def test_corners_rounded_to_the_bit_lose_nothing_visible() -> None:
    rounded = many(shapely.buffer(box(2, 2, 30, 20), 1.6, quad_segs=16))
    fit = fit_inlay(inlay(rounded), (THIRTYSECOND, SIXTEENTH, EIGHTH))
    assert fit.bits == (EIGHTH,)


def test_flutes_must_reach_the_floor() -> None:
    fit = fit_inlay(inlay(box(0, 0, 60, 40), depth=5.0), OWNED)
    assert THIRTYSECOND not in [item.bit for item in fit.reaches]
    assert fit.bits[-1] == SIXTEENTH


def test_no_flutes_long_enough() -> None:
    fit = fit_inlay(inlay(box(0, 0, 60, 40), depth=30.0), OWNED)
    assert fit.bits == ()
    assert "30.30 mm" in fit.reason
    assert QUARTER.name in fit.reason


def test_a_bit_that_cannot_plunge_is_left_out() -> None:
    fit = fit_inlay(inlay(disc(20)), (replace(QUARTER, plunges=False), EIGHTH))
    assert fit.bits == (EIGHTH,)


def test_the_jobs_own_bits_are_taken_widest_first() -> None:
    fit = fit_inlay(inlay(disc(20), bits=(THIRTYSECOND, EIGHTH)), OWNED)
    assert fit.bits == (EIGHTH, THIRTYSECOND)
    assert "asks for" in fit.reason


def test_a_named_bit_without_room_is_dropped_and_its_neck_kept() -> None:
    fit = fit_inlay(inlay(slot(BEND, 2.0), bits=(EIGHTH,)), OWNED)
    assert fit.bits == ()
    found = fit.reach(EIGHTH)
    assert found is not None
    assert found.necks


def test_where_none_passes_the_narrowest_cuts_what_it_can() -> None:
    region = many(shapely.union_all([box(0, 0, 9, 9), box(9, 4, 20, 4.5), box(20, 0, 29, 9)]))
    fit = fit_inlay(inlay(region), (THIRTYSECOND, EIGHTH))
    assert fit.bits == (THIRTYSECOND,)
    assert "cannot pass" in fit.reason
    assert "0.50 mm" in fit.reason


def test_a_seam_as_wide_as_a_bit_is_one_cut() -> None:
    line = MultiLineString([list(BEND)])
    drawn = inlay(slot(BEND, 0.8), strokes=line, seam_width=0.8)
    fit = fit_inlay(drawn, OWNED)
    assert fit.bits == (THIRTYSECOND,)
    assert "as wide as" in fit.reason


def test_bare_strokes_take_the_narrowest() -> None:
    drawn = inlay(MultiPolygon(), strokes=MultiLineString([list(BEND)]))
    assert fit_inlay(drawn, OWNED).bits == (THIRTYSECOND,)
    assert fit_inlay(inlay(MultiPolygon()), OWNED).bits == ()


def test_lettering_takes_the_sharpest_v_bit_that_needs_no_floor() -> None:
    drawn = inlay(slot(BEND, 1.0), depth=2.0, v_bit=True)
    assert engraved_depth(THIRTY, 0.5) == pytest.approx(0.45 / 0.267949, rel=1e-5)
    assert fit_inlay(drawn, OWNED).bits == (THIRTY,)


def test_wide_lettering_takes_the_blunt_v_bit_and_a_floor() -> None:
    fit = fit_inlay(inlay(slot(BEND, 4.0), depth=1.0, v_bit=True), OWNED)
    assert fit.bits == (SIXTY,)
    assert "flat floor is left at 1.00 mm" in fit.reason


def test_engraving_without_a_v_bit() -> None:
    assert fit_inlay(inlay(slot(BEND, 4.0), v_bit=True), (EIGHTH,)).bits == ()


def weighed(*inlays: DrawnInlay) -> list[Choice]:
    found = [weigh(each, OWNED) for each in inlays]
    return [each.choice for each in found if isinstance(each, Weighed)]


def by_hand(choices: list[Choice], there: tuple[Bit, ...], terms: CutTerms) -> float:
    """Return the least time of all pockets with these bits, every chain timed in full."""
    total = terms.change_s * len(there)
    for choice in choices:
        items = [item for item in choice.reaches if item.bit in there]
        times = []
        for count in range(1, 4):
            for chain in permutations(items, count):
                widths = [item.bit.diameter_mm for item in chain]
                falls = widths == sorted(widths, reverse=True) and len(set(widths)) == count
                if not falls or chain[-1] not in choice.finishers or chain[0].centres.is_empty:
                    continue
                took = whole_s(chain[0], choice.depth_mm, terms)
                for wide, fine in pairwise(chain):
                    rest = rest_between(fine, wide)
                    took += rest_s(fine.bit, rest, choice.depth_mm, terms)
                times.append(took)
        total += min(times, default=inf)
    return total


@pytest.mark.parametrize("change_s", [10.0, 240.0, 2000.0])
def test_the_set_is_the_quickest_of_all_sets(change_s: float) -> None:
    terms = replace(usual_terms(), change_s=change_s)
    choices = weighed(
        inlay(box(0, 0, 60, 40), name="plate"),
        inlay(disc(20), name="moon"),
        inlay(slot(BEND, 4.0), name="bend"),
        inlay(box(0, 0, 9, 9), name="chip", depth=0.6),
    )
    found, chains = choose_set(choices, (), terms)
    flats = [bit for bit in OWNED if bit.kind is BitKind.FLAT]
    totals = [
        by_hand(choices, there, terms)
        for count in range(1, len(flats) + 1)
        for there in combinations(flats, count)
    ]
    assert found.total_s == pytest.approx(min(totals))
    singles = [by_hand(choices, (bit,), terms) for bit in flats]
    assert found.single_s == pytest.approx(min(singles))
    assert found.total_s <= found.single_s
    assert set(found.bits) == {bit for chain in chains for bit in chain}
    for buy in found.buys:
        assert buy.without_s >= found.total_s - 1e-9
        assert buy.serves


def test_a_bit_in_the_machine_anyway_costs_no_change() -> None:
    terms = replace(usual_terms(), change_s=20000.0)
    choices = weighed(inlay(box(0, 0, 60, 40)))
    alone, _ = choose_set(choices, (), terms)
    assert len(alone.bits) == 1
    beside, chains = choose_set(choices, (QUARTER,), terms)
    assert chains[0] == (QUARTER, THIRTYSECOND)
    assert [buy.asked for buy in beside.buys] == [True, False]


def test_inlays_of_one_round_share_a_bit() -> None:
    """A disc by itself takes the widest; beside a square it takes what the square needs."""
    terms = replace(usual_terms(), change_s=3000.0)
    disc_alone = fit_inlay(inlay(disc(3.4)), OWNED, terms)
    assert disc_alone.bits == (QUARTER,)
    square, round_one = inlay(box(0, 0, 7, 7), name="square"), inlay(disc(3.4), name="round")
    found, chains = choose_set(weighed(square, round_one), (), terms)
    assert chains == ((THIRTYSECOND,), (THIRTYSECOND,))
    assert found.subjects == ("square", "round")
