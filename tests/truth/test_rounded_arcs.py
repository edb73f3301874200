"""Arcs as a program prints them: every number rounded to the last decimal it prints.

NISTIR 6556, section 3.5.3.2, lets the radii to start and end differ by 0.002 mm (0.0002 inch).
Rounding each number to the nearest step h moves start, end and centre by up to h / sqrt(2) each, so
that a rightly rounded arc of three decimals may differ by more than that.  How much more follows
from the triangle inequality alone and is what these tests hold the reader to.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.gcode.reader.program_text import read_imported
from flushwork.toolpaths.moves import MoveKind
from tests.many import examples

MANY = 5000


def printed(value: float, decimals: int) -> str:
    return f"{value:.{decimals}f}"


def arc_lines(
    rng: np.random.Generator, decimals: int, longest: float, by_radius: bool
) -> list[str]:
    """One arc and the way to its start, in the file's units."""
    x, y = rng.uniform(-10.0 * longest, 10.0 * longest, 2)
    radius = rng.uniform(longest / 100.0, longest)
    begin = rng.uniform(0.0, 2.0 * math.pi)
    most = math.pi if by_radius else 1.95 * math.pi
    turn = rng.uniform(0.3, most) * rng.choice([-1.0, 1.0])
    if rng.random() < 0.5:  # half circles between places on the diagonal: rounding at its worst
        begin, turn = math.pi / 4.0, math.copysign(math.pi, turn)
    start = x + radius * math.cos(begin), y + radius * math.sin(begin)
    end = x + radius * math.cos(begin + turn), y + radius * math.sin(begin + turn)
    word = "G2" if turn < 0 else "G3"
    places = f"X{printed(end[0], decimals)} Y{printed(end[1], decimals)}"
    centre = (
        f"R{printed(radius, decimals)}"
        if by_radius
        else f"I{printed(x - start[0], decimals)} J{printed(y - start[1], decimals)}"
    )
    return [
        f"G1 X{printed(start[0], decimals)} Y{printed(start[1], decimals)}",
        f"{word} {places} {centre}",
    ]


@pytest.mark.parametrize(
    ("unit", "decimals", "longest"),
    [("G21", 3, 40.0), ("G21", 2, 40.0), ("G20", 4, 1.5), ("G20", 3, 1.5)],
)
@pytest.mark.parametrize("by_radius", [False, True])
def test_no_rightly_rounded_arc_is_refused(
    unit: str, decimals: int, longest: float, by_radius: bool
) -> None:
    rng = np.random.default_rng(7)
    lines = [f"{unit} G90 G94 F20", "G0 X0 Y0 Z1", "G1 Z-1"]
    for _ in range(MANY):
        lines += arc_lines(rng, decimals, longest, by_radius)
    read = read_imported("\n".join([*lines, "M2"]))
    assert read.faults == ()
    assert sum(move.kind is MoveKind.ARC for move in read.program.moves) == MANY


@given(
    st.integers(0, 2**32 - 1),
    st.sampled_from([("G21", 3, 25.0), ("G21", 4, 25.0), ("G20", 4, 1.0)]),
    st.floats(1.0, 50.0),
)
@settings(max_examples=examples(40), deadline=None)
def test_an_arc_wrong_by_more_than_rounding_is_refused(
    seed: int, units: tuple[str, int, float], times: float
) -> None:
    """The end lies further off than the published bound and all rounding together."""
    unit, decimals, radius = units
    rng = np.random.default_rng(seed)
    step = 10.0**-decimals
    published = 0.002 if unit == "G21" else 0.0002
    off = times * (published + 6.0 * step)
    begin, turn = rng.uniform(0.0, 6.0), rng.uniform(0.5, 5.5)
    start = radius * math.cos(begin), radius * math.sin(begin)
    end = (radius + off) * math.cos(begin + turn), (radius + off) * math.sin(begin + turn)
    text = "\n".join(
        [
            f"{unit} G90 G94 F20",
            f"G0 X{start[0]:.{decimals}f} Y{start[1]:.{decimals}f} Z1",
            f"G3 X{end[0]:.{decimals}f} Y{end[1]:.{decimals}f}"
            f" I{-start[0]:.{decimals}f} J{-start[1]:.{decimals}f}",
            "M2",
        ]
    )
    (fault,) = read_imported(text).faults
    assert "radius" in fault[1]


def test_many_decimals_leave_the_published_bound_as_it_is() -> None:
    text = "G21 G90 F100\nG0 X10.000000 Y0 Z0\nG3 X0 Y10.003 I-10.000000 J0.000000\nM2"
    (fault,) = read_imported(text).faults
    assert "may differ by 0.002 mm" in fault[1]


def test_a_comment_does_not_make_the_numbers_finer() -> None:
    text = (
        "(made for x1.000000 i0.000000)\nG21 G90 F100\nG0 X10.000 Y0.000 Z0\n"
        "G3 X0.000 Y10.003 I-10.000 J0.000 ; x0.0000001\nM2"
    )
    assert read_imported(text).faults == ()
