"""G-code files against the published language.

Source: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3,
NISTIR 6556 (2000).  Section numbers in the tests are the report's.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from pathlib import Path

import pytest

from flushwork.gcode.reader.program_text import read_program
from flushwork.toolpaths.moves import Move, MoveKind

EXPRESSIONS = Path(__file__).parent / "data" / "rs274_expressions.csv"

Step = tuple[str, float, float, float]


def read(text: str) -> tuple[Move, ...]:
    program, problems = read_program(text + "\nM2", parameters={})
    assert problems == ()
    return program.moves


def faults(text: str) -> list[tuple[int, str]]:
    return list(read_program(text + "\nM2", parameters={})[1])


def steps(moves: Sequence[Move]) -> list[Step]:
    return [(str(m.kind), round(m.x_mm, 9), round(m.y_mm, 9), round(m.z_mm, 9)) for m in moves]


def expressions() -> list[tuple[str, float]]:
    with EXPRESSIONS.open(encoding="ascii", newline="") as file:
        return [(row["expression"], float(row["expected"])) for row in csv.DictReader(file)]


def test_there_are_all_published_expressions() -> None:
    assert len(expressions()) == 46


@pytest.mark.parametrize(("expression", "printed"), expressions())
def test_expression_has_its_printed_answer(expression: str, printed: float) -> None:
    (move,) = read(f"G21 G0 X[{expression}] Y0 Z0")
    assert move.x_mm == pytest.approx(printed, rel=2e-5, abs=5e-5)


@pytest.mark.parametrize(
    ("expression", "answer"),
    [
        ("2 ** 3 ** 2", 64.0),  # one level, left to right: 3.3.2.3
        ("-2 ** 2", 4.0),  # the sign belongs to the number
        ("10 - 4 - 3", 3.0),
        ("1 + 7 MOD 4 * 2", 7.0),
        ("1 AND 0 OR 1", 1.0),
        ("-7 MOD 3", 2.0),
        ("atan[-1]/[-1]", -135.0),
    ],
)
def test_precedence_by_hand(expression: str, answer: float) -> None:
    (move,) = read(f"G21 G0 X[{expression}] Y0 Z0")
    assert move.x_mm == pytest.approx(answer, abs=1e-9)


def test_parameters_are_set_after_the_line() -> None:
    """3.3.2.2: a line uses the values from before it; ``##2`` goes through #2."""
    moves = read("G21 G0 X0 Y0 Z0\n#3=15\n#3=6 G1 X#3 F100\nX#3\n#2=3\nX[##2+1]")
    assert [move.x_mm for move in moves] == [0.0, 15.0, 6.0, 7.0]


def test_hash_binds_tighter_than_plus() -> None:
    assert read("G21 #1=5\n#2=20\n#7=30\nG0 X[#1+2] Y0 Z0")[0].x_mm == 7.0


def test_centre_arc() -> None:
    """3.5.3.2: G17 G2 X10 Y16 I3 J4 Z9 from (7, 7)."""
    arc = read("G21 F100 G0 X7 Y7 Z0\nG17 G2 X10 Y16 I3 J4 Z9")[1]
    assert (arc.centre_x_mm, arc.centre_y_mm) == (10.0, 11.0)
    assert math.hypot(arc.x_mm - 10.0, arc.y_mm - 11.0) == pytest.approx(5.0, abs=1e-12)
    assert arc.z_mm == 9.0
    # clockwise from the lower left (-3, -4) to straight up (0, 5)
    swept = math.atan2(5.0, 0.0) - math.atan2(-4.0, -3.0)
    assert arc.turn_rad == pytest.approx(swept % (2 * math.pi) - 2 * math.pi, abs=1e-12)


def test_radius_arc() -> None:
    """3.5.3.1: G17 G2 X10 Y15 R20 Z5 is a helix about an axis 20 from both ends."""
    arc = read("G21 F100 G0 X0 Y5 Z0\nG17 G2 X10 Y15 R20 Z5")[1]
    centre = (arc.centre_x_mm, arc.centre_y_mm)
    assert math.dist(centre, (0.0, 5.0)) == pytest.approx(20.0, abs=1e-12)
    assert math.dist(centre, (10.0, 15.0)) == pytest.approx(20.0, abs=1e-12)
    assert arc.turn_rad == pytest.approx(-2.0 * math.asin(math.hypot(10, 10) / 2 / 20), abs=1e-12)


def test_negative_radius_takes_the_long_way() -> None:
    arc = read("G21 F100 G0 X0 Y5 Z0\nG2 X10 Y15 R-20")[1]
    short = 2.0 * math.asin(math.hypot(10, 10) / 2 / 20)
    assert arc.turn_rad == pytest.approx(short - 2.0 * math.pi, abs=1e-12)


def test_full_circle_ends_where_it_began() -> None:
    arc = read("G21 F100 G0 X32.5 Y0 Z-0.5\nn0320 g2 x32.5 j2.5")[1]
    assert arc.turn_rad == -2.0 * math.pi
    assert (arc.centre_x_mm, arc.centre_y_mm) == (32.5, 2.5)


@pytest.mark.parametrize(
    ("units", "apart", "taken"),
    [
        ("G21", 0.0019, True),
        ("G21", 0.0021, False),
        ("G20", 0.00019, True),
        ("G20", 0.00021, False),
    ],
)
def test_radii_may_differ_by_the_published_amount(units: str, apart: float, taken: bool) -> None:
    """3.5.3.2: 0.002 mm, 0.0002 inch, of numbers printed so finely that rounding is nothing."""
    found = faults(f"{units} F100 G0 X0 Y0 Z0\nG3 X{10 + apart:.7f} Y0 I5.0000000")
    assert (found == []) is taken


def test_arcs_in_the_other_planes() -> None:
    """3.5.3: G18 takes I and K, seen from +Y; G19 takes J and K, seen from +X."""
    half = read("G21 F100 G0 X0 Y0 Z0\nG18 G3 X10 Z0 I5")
    assert all(move.kind is MoveKind.FEED for move in half[1:])
    radii = [math.hypot(move.x_mm - 5.0, move.z_mm) for move in half]
    assert max(abs(radius - 5.0) for radius in radii) < 1e-9
    # from +Y, with Z upward, X points left: counter-clockwise from the right goes over the top
    assert max(move.z_mm for move in half) == pytest.approx(5.0, abs=0.01)
    other = read("G21 F100 G0 X0 Y0 Z0\nG19 G2 Y10 Z0 J5")
    assert max(move.z_mm for move in other) == pytest.approx(5.0, abs=0.01)


def test_g81_absolute() -> None:
    """3.5.16.2, example 1."""
    assert steps(read("G21 F100 G0 X1 Y2 Z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8"))[1:] == [
        ("rapid", 4, 5, 3),
        ("rapid", 4, 5, 2.8),
        ("feed", 4, 5, 1.5),
        ("rapid", 4, 5, 3),
    ]


def test_g81_incremental() -> None:
    """3.5.16.2, example 2."""
    expected: list[Step] = [("rapid", 1, 2, 4.8)]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        expected += [("rapid", x, y, 4.8), ("feed", x, y, 4.2), ("rapid", x, y, 4.8)]
    assert steps(read("G21 F100 G0 X1 Y2 Z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3"))[1:] == expected


def test_g82_dwells_on_the_floor() -> None:
    moves = read("G21 F100 G0 X0 Y0 Z3\nG82 X1 Y1 Z-1 R1 P0.5")
    assert [str(move.kind) for move in moves[1:]] == ["rapid", "rapid", "feed", "dwell", "rapid"]
    assert moves[4].dwell_s == 0.5


def test_g83_pecks() -> None:
    """3.5.16.4; R 0.2, Z -1.1, Q 0.21: 1.3 deep is six pecks of 0.21 and one of 0.04."""
    moves = read("G21 F100 G0 X0 Y0 Z3\nG99 G83 X1 Y1 Z-1.1 R0.2 Q0.21")
    cuts = [move.z_mm for move in moves if move.kind is MoveKind.FEED]
    assert cuts == pytest.approx([0.2 - 0.21 * k for k in range(1, 7)] + [-1.1], abs=1e-9)
    assert cuts[5] - cuts[6] == pytest.approx(0.04, abs=1e-9)


def test_g86_stops_the_spindle_on_the_way_out() -> None:
    moves = read("G21 F100 S9000 M3 G0 X0 Y0 Z3\nG86 X1 Y1 Z-1 R1 P0.1\nG0 X5")
    assert [move.spindle_rpm for move in moves[-3:]] == [9000.0, 0.0, 9000.0]


def test_cycles_in_the_other_planes() -> None:
    """3.5.16: R and depth lie along the axis square to the plane."""
    assert steps(read("G21 F100 G0 X9 Y2 Z3\nG19 G99 G81 X1 Y5 Z6 R4"))[1:] == [
        ("rapid", 9, 5, 6),
        ("rapid", 4, 5, 6),
        ("feed", 1, 5, 6),
        ("rapid", 4, 5, 6),
    ]


def test_g92_offsets() -> None:
    """3.5.18: at X = 4, G92 X7 gives an offset of -3, then G92 X9 one of -5."""
    text = "G21 G0 X4 Y0 Z0\nG92 X7\nG0 X7 Y#5211\nG92 X9\nG0 X9 Y#5211"
    assert steps(read(text)) == [
        ("rapid", 4, 0, 0),
        ("rapid", 4, -3, 0),
        ("rapid", 4, -5, 0),
    ]


def test_g92_is_taken_back_and_restored() -> None:
    text = "G21 G0 X4 Y0 Z0\nG92 X7\nG92.2\nG0 X4\nG92.3\nG0 X8\nG92.1\nG0 X4\nG92.3\nG0 X5"
    assert [move.x_mm for move in read(text)] == [4.0, 4.0, 5.0, 4.0, 5.0]


def test_g92_shifts_all_coordinate_systems() -> None:
    text = "G21 G10 L2 P2 X100\nG0 X4 Y0 Z0\nG92 X7\nG55 G0 X7"
    assert read(text)[-1].x_mm == 104.0


def test_inverse_time_feed() -> None:
    """3.5.19: F2.0 means the move takes half a minute."""
    moves = read("G21 G0 X0 Y0 Z0\nG93 G1 X30 F2.0\nG2 X30 Y20 J10 F4")
    assert 30.0 / moves[1].feed_mm_min == pytest.approx(0.5, abs=1e-12)
    assert math.pi * 10.0 / moves[2].feed_mm_min == pytest.approx(0.25, abs=1e-12)


def test_dwell_is_in_seconds() -> None:
    assert read("G4 P2.5")[0].dwell_s == 2.5


def test_the_machine_s_own_coordinates() -> None:
    """3.5.12, 3.2.2: G53 and G28 go by the machine's zero, wherever the work's lies."""
    own = {5220: 1.0, 5221: 50.0, 5222: 20.0, 5161: 0.0, 5162: 0.0, 5163: 90.0, 5181: 7.0}
    program, problems = read_program("G21 G90 G0 X0 Y0 Z5\nG53 G0 X50\nG28 Z10\nG30\nM2", own)
    assert problems == ()
    assert steps(program.moves)[1:] == [
        ("rapid", 0, 0, 5),
        ("rapid", 0, 0, 10),
        ("rapid", -50, -20, 90),
        ("rapid", -43, -20, 0),
    ]


def test_order_of_execution() -> None:
    """Table 8: feed and spindle come before motion, the dwell before it, distance mode too."""
    moves = read("G21 G90 G0 X1 Y1 Z1\nX2 G1 G91 M3 S500 F60 G4 P1")
    assert [str(move.kind) for move in moves] == ["rapid", "dwell", "feed"]
    assert (moves[2].x_mm, moves[2].feed_mm_min, moves[2].spindle_rpm) == (3.0, 60.0, 500.0)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("G0 G1 X1", "both of the motion group"),
        ("G20 G21", "both of the units group"),
        ("G90 G91 X1", "both of the distance group"),
        ("M3 M4", "both of the spindle group"),
        ("M3 M7 M8 M48 M0", "more than 4 M words"),
        ("X1 X2", "X stands twice"),
        ("G92 G1 X1", "both want the axis words"),
        ("G4", "G4 needs P"),
        ("G4 P-1", "G4 needs P"),
        ("G2 X5 Y5", "its centre (I and J) or its radius"),
        ("G2 I5 J5", "G2 needs X, Y or Z"),
        ("G2 Z5 I5 J5", "needs the X or Y of its end"),
        ("G2 X5 I2.5 K1", "K does not belong"),
        ("G2 X5 R9 I1", "R or I, not both"),
        ("G2 X1 Y0 R9", "may not end where it begins"),
        ("G2 X50 R9", "cannot reach"),
        ("G81 X1 Z-1", "needs R the first time"),
        ("G81 X1 R1", "needs Z the first time"),
        ("G81 X1 Z2 R1", "below the hole's floor"),
        ("G81 X1 Z-2 R1 L0", "L, the number of repeats"),
        ("G82 X1 Z-2 R1", "needs P"),
        ("G82 X1 Z-2 R1 P-2", "needs P"),
        ("G83 X1 Z-2 R1 Q0", "needs Q"),
        ("G93 G81 X1 Z-2 R1 F3", "inverse time"),
        ("G93 G1 X5", "its own F"),
        ("G10 L2 P10 X1", "from 1 to 9"),
        ("G10 L1 P1 X1", "only with L2"),
        ("G53 G81 X1 Z-2 R1", "G53 works only with G0 or G1"),
        ("G43", "G43 needs H"),
        ("G92", "G92 needs at least one"),
        ("G80 X5", "G80 ends motion"),
        ("X5 P2", "P has nothing on its line"),
        ("F-5", "F may not be negative"),
        ("G1 X5.2.3", "has no meaning"),
        ("G1 X", "a number is missing"),
        ("G1 X[1+", "a number is missing"),
        ("G1 X[1", "not closed"),
        ("G1 X[1/0]", "has no answer"),
        ("G1 X[sqrt[-1]]", "has no answer"),
        ("G1 X#0", "parameters run from"),
        ("#5400=1", "parameters run from"),
        ("#1.5=1", "whole number"),
        ("G1 X(one", "never ends"),
        ("G1 (one (two) X5", "nested"),
        ("X5 N10", "only at the beginning"),
        ("N123456 X5", "up to 99999"),
        ("G38.2 Z-5", "probes"),
        ("G41 D3", "bit radius"),
        ("A90", "rotary axis"),
    ],
)
def test_what_the_rules_forbid_is_named_and_left_out(line: str, words: str) -> None:
    text = f"G21 F100 G0 X0 Y0 Z0\nG1 X1\n{line}\nG0 X9"
    program, problems = read_program(text + "\nM2", parameters={})
    assert [number for number, _ in problems] == [3] * len(problems)
    assert any(words in fault for _, fault in problems)
    assert [move.x_mm for move in program.moves] == [0.0, 1.0, 9.0]


@pytest.mark.parametrize(
    "word", ["E5", "O100", "U1", "V2", "W3", "G12", "G33.1", "M98", "M19", "G5.1"]
)
def test_unknown_words_are_named_with_their_line(word: str) -> None:
    assert faults(f"G21\n\n{word}") == [(3, f"{word} is not a word of the published language")]
