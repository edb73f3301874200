"""The cover tells a disc as a disc, and everything else by what it measures across."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, box

from flushwork.views.context import shape_words
from flushwork.views.figures import Lengths
from tests.many import examples

METRIC = Lengths("metric")


@given(across_mm=st.integers(20, 400))
@settings(max_examples=examples(20), deadline=None)
def test_a_disc_is_told_as_a_disc(across_mm: int) -> None:
    disc = Point(40.0, 30.0).buffer(across_mm / 2.0, quad_segs=64)
    told = shape_words(MultiPolygon([disc]), METRIC)
    assert told == f"a disc of {METRIC.size(float(across_mm))}"


@given(
    long_mm=st.integers(20, 400),
    wide_mm=st.integers(20, 400),
    share=st.sampled_from([0.0, 0.1, 0.3, 0.45]),
)
@settings(max_examples=examples(20), deadline=None)
def test_a_board_is_told_by_its_sides(long_mm: int, wide_mm: int, share: float) -> None:
    round_mm = share * min(long_mm, wide_mm)
    inner = box(round_mm, round_mm, long_mm - round_mm, wide_mm - round_mm)
    board = inner.buffer(round_mm, quad_segs=64)
    told = shape_words(MultiPolygon([board]), METRIC)
    assert told == METRIC.size(float(long_mm), float(wide_mm))
