"""A half is rounded up in every figure, wherever it is printed."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.core.units.format import half_up
from flushwork.views.figures import Lengths
from tests.many import examples


@given(tenths=st.integers(0, 500_000))
@example(tenths=15875)
@settings(max_examples=examples(30), deadline=None)
def test_a_half_is_rounded_up_in_files_and_book_alike(tenths: int) -> None:
    length_mm = tenths / 10_000
    thousandths = int(Fraction(tenths, 10) + Fraction(1, 2))
    right = f"{thousandths // 1000}.{thousandths % 1000:03d}"
    assert half_up(length_mm, 3) == right
    assert Lengths("metric").say(length_mm, 3).startswith(right)
