"""Feeds: the chip load kept, the machine's limits kept, resin slower."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flushwork.toolpaths.speeds import feeds, levels
from tests.fit.shapes import EIGHTH, QUARTER, THIRTYSECOND
from tests.gcode.text_samples import MACHINE


def test_feed_is_turns_by_flutes_by_chip() -> None:
    found = feeds(EIGHTH, MACHINE)
    assert found.feed_mm_min == pytest.approx(18000 * 2 * 0.03)
    assert found.plunge_mm_min == pytest.approx(18000 * 2 * 0.03 / 3)


def test_the_spindle_slows_where_the_machine_cannot_feed_so_fast() -> None:
    found = feeds(QUARTER, MACHINE)
    assert found.feed_mm_min == MACHINE.feed_mm_min
    assert found.feed_mm_min / (found.spindle_rpm * QUARTER.flutes) == pytest.approx(
        QUARTER.chip_mm
    )
    assert found.plunge_mm_min == MACHINE.plunge_mm_min


def test_the_spindle_never_turns_slower_than_it_can() -> None:
    found = feeds(replace(QUARTER, chip_mm=0.5), MACHINE)
    assert found.spindle_rpm == MACHINE.spindle_min_rpm
    assert found.feed_mm_min == MACHINE.feed_mm_min


def test_resin_is_cut_slower_with_the_same_chip() -> None:
    wood, resin = feeds(EIGHTH, MACHINE), feeds(EIGHTH, MACHINE, resin=True)
    assert resin.spindle_rpm < wood.spindle_rpm
    assert resin.feed_mm_min / resin.spindle_rpm == pytest.approx(
        wood.feed_mm_min / wood.spindle_rpm
    )


def test_depth_passes() -> None:
    assert levels(0.0, -2.0, replace(EIGHTH, pass_mm=1.0)) == (-1.0, -2.0)
    assert levels(0.4, 0.15, EIGHTH) == (0.15,)
    assert levels(0.0, 0.0, EIGHTH) == ()
    assert levels(0.0, -1.003, replace(EIGHTH, pass_mm=1.0)) == (-1.003,)
    fine = replace(THIRTYSECOND, pass_mm=0.4)
    assert len(levels(0.0, -1.2, fine)) == 3
    assert len(levels(0.0, -1.2, fine, resin=True)) == 6
