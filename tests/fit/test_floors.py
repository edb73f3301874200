"""Flat floors of engravings: a flat bit first, where that is sooner."""

from __future__ import annotations

from dataclasses import replace

import shapely

from flushwork.fit.choice import engraved_half_width, with_floor
from tests.fit.by_itself import fit_inlay, usual_terms
from tests.fit.shapes import EIGHTH, QUARTER, SIXTY, THIRTYSECOND, box, inlay

OWNED = (THIRTYSECOND, EIGHTH, QUARTER, SIXTY)
PLATE = inlay(box(0, 0, 40, 25), depth=1.0, v_bit=True)


def test_a_wide_floor_is_cleared_flat_first() -> None:
    fit = with_floor(fit_inlay(PLATE, OWNED), (), OWNED, usual_terms())
    assert fit.floor is not None
    assert fit.bits == (SIXTY,)
    floor = shapely.buffer(PLATE.region, -engraved_half_width(SIXTY, 1.0), join_style="mitre")
    assert shapely.covers(shapely.buffer(floor, 1e-3), fit.floor.reached)
    assert "minutes less" in fit.reason


def test_a_narrow_floor_is_left_to_the_v_bit() -> None:
    thin = inlay(box(0, 0, 12, 2.2), depth=0.8, v_bit=True)
    fit = fit_inlay(thin, OWNED)
    assert with_floor(fit, (), OWNED, usual_terms()).floor is None


def test_a_change_has_to_pay() -> None:
    dear = replace(usual_terms(), change_s=1e6)
    fit = fit_inlay(PLATE, OWNED)
    assert with_floor(fit, (), OWNED, dear).floor is None
    beside = with_floor(fit, (EIGHTH,), OWNED, dear).floor
    assert beside is not None
    assert beside.bit == EIGHTH
