"""What a G-code file looks like."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.gcode.emit import ProgramText, write
from flushwork.gcode.head_comments import plain_words
from flushwork.shelf.items import Dialect
from flushwork.toolpaths.arcs_on_grid import Grid, GridMove, HelicalArc, grid_of, rounded
from flushwork.toolpaths.drill import DrillHole
from flushwork.toolpaths.moves import Move, MoveKind
from flushwork.toolpaths.orders import OperationSpan, Work
from tests.gcode.text_samples import FLAT, arc, emit, feed, order, rapid

SQUARE = (
    rapid(0, 0, 5),
    rapid(10, 20, 5),
    rapid(10, 20, 1),
    feed(10, 20, -1.5, 300),
    feed(30, 20, -1.5),
    feed(30, 40, -1.5),
    rapid(30, 40, 5),
)


def body(text: str) -> list[str]:
    return [line for line in text.splitlines() if not line.startswith("(")]


def test_a_whole_file() -> None:
    assert body(emit(order(), SQUARE)) == [
        "G17 G21 G40 G49 G80 G90 G94",
        "M0",
        "G0 Z5.000",
        "M3 S18000",
        "G4 P3.0",
        "X10.000 Y20.000",
        "Z1.000",
        "G1 Z-1.500 F300.0",
        "X30.000 F900.0",
        "Y40.000",
        "G0 Z5.000",
        "M5",
        "M2",
    ]


def test_the_head_says_what_the_operator_must_know() -> None:
    asked = replace(order(notes=("Leave the tabs.",)), origin_mm=(12.0, -3.5))
    head = " ".join(line[1:-1] for line in emit(asked, SQUARE).splitlines() if line.startswith("("))
    for words in (
        "Job: Travelling set",
        "Face: front. Setup 1, file 2",
        "Bit: flat 1/8 in [flat, number 2]",
        "diameter 3.175 mm, standing 20.0 mm out",
        "lower left corner of the blank, front face up",
        "12.000 mm to the right of it and 3.500 mm before it",
        "Zero of Z: the wood of the face as it stands",
        "Units: mm",
        "Keep clamps out of X 8.412 to 31.588, Y 18.412 to 41.588:",
        "there the tip comes below Z 5.000, the radius of 1.588 counted.",
        "Its tip goes down to Z -1.500.",
        "Checked against the drawing: within 0.030 of it everywhere.",
        "First motion: straight to Z 5.000, then over to X 10.000 Y 20.000",
        "Leave the tabs.",
        "run it in the air",
        "Stay by the machine",
    ):
        assert words in head


def test_the_head_knows_how_far_arcs_reach() -> None:
    start = rapid(20, 10, 0)
    text = emit(order(), (rapid(0, 0, 5), start, arc(start, (10.0, 10.0), 1.5 * math.pi, 0.0)))
    assert "X -1.588 to 21.588, Y -1.588 to 21.588" in text
    text = emit(order(), (rapid(0, 0, 5), start, arc(start, (10.0, 10.0), -0.5 * math.pi, 0.0)))
    assert "X 8.412 to 21.588, Y -1.588 to 11.588" in text


def test_dialect_facts() -> None:
    dialect = Dialect(
        decimals=2,
        line_numbers=True,
        program_end="M30",
        spindle_clockwise="M4",
        tool_change="number",
    )
    lines = body(emit(order(dialect), SQUARE))
    assert lines[0] == "N1 G17 G21 G40 G49 G80 G90 G94"
    assert lines[1] == "N2 T2 M6"
    assert "N4 M4 S18000" in lines
    assert lines[-1] == f"N{len(lines)} M30"
    assert "N6 X10.00 Y20.00" in lines


def test_inch_files_have_five_decimals() -> None:
    lines = body(emit(order(Dialect(inch=True, decimals=3)), SQUARE))
    assert lines[0] == "G17 G20 G40 G49 G80 G90 G94"
    assert "X0.39370 Y0.78740" in lines
    assert "G1 Z-0.05906 F11.811" in lines


def test_line_numbers_stay_within_five_digits() -> None:
    sheet = ProgramText(Grid(1.0, 3), line_numbers=True)
    for _ in range(100_001):
        sheet.words("G4 P0.1")
    assert sheet.lines[99_998].startswith("N99999 ")
    assert sheet.lines[99_999].startswith("N1 ")


@given(st.text(max_size=60))
@settings(max_examples=100, deadline=None)
def test_any_name_becomes_a_plain_comment(name: str) -> None:
    text = emit(order(job=name, notes=(name,), bit=replace(FLAT, name=name)), SQUARE)
    for line in text.splitlines():
        assert line.isascii()
        assert line.isprintable()
        assert re.fullmatch(r"\([^()]*\)|[^()]*", line)
        assert len(line) <= 78


def test_accents_are_dropped_and_brackets_squared() -> None:
    assert plain_words("Éisvogel (groß)\n№ 3; x") == "Eisvogel [gross] No 3, x"


def test_the_spindle_follows_the_moves() -> None:
    slower = replace(feed(31, 41, -1.5), spindle_rpm=12000.0)
    lines = body(emit(order(), (*SQUARE[:-1], slower, rapid(31, 41, 5))))
    assert lines[lines.index("Y40.000") + 1 :][:2] == ["S12000", "X31.000 Y41.000"]


def test_first_place_is_reached_at_the_clear_height() -> None:
    """Where the first thing happens at the file's zero, X and Y are still said before Z drops."""
    lines = body(emit(order(), (rapid(0, 0, 5), rapid(0, 0, 1), feed(0, 0, -1), rapid(0, 0, 5))))
    assert lines[2:8] == [
        "G0 Z5.000",
        "M3 S18000",
        "G4 P3.0",
        "X0.000 Y0.000",
        "Z1.000",
        "G1 Z-1.000 F900.0",
    ]


def test_a_file_that_ends_low_is_lifted() -> None:
    assert body(emit(order(), SQUARE[:-1]))[-3:] == ["G0 Z5.000", "M5", "M2"]


def test_nothing_is_cut_without_a_feed() -> None:
    with pytest.raises(ValueError, match="no feed"):
        emit(order(), (rapid(0, 0, 5), feed(1, 1, 1, 0.0)))
    with pytest.raises(ValueError, match="lifts the bit"):
        emit(order(), (feed(1, 1, 1),))


def test_a_file_without_moves_is_whole() -> None:
    assert body(emit(order(), ()))[-2:] == ["M5", "M2"]


def test_names_stand_before_what_is_cut() -> None:
    spans = (OperationSpan("rose (dark)", Work.POCKET, 1, 6),)
    written = write(order(), SQUARE, (), spans)
    lines = written.text.splitlines()
    assert lines[written.lines[1] - 2] == "(pocket: rose [dark])"
    assert lines[written.lines[1] - 1] == "X10.000 Y20.000"
    assert [lines[number - 1] for number in written.lines[-2:]] == ["Y40.000", "G0 Z5.000"]


HOLES = (
    rapid(0, 0, 5),
    *(
        move
        for x in (10.0, 20.0, 30.0)
        for move in (
            rapid(x, 8, 5),
            rapid(x, 8, 1),
            feed(x, 8, -6, 180),
            replace(rapid(x, 8, -6), kind=MoveKind.DWELL, dwell_s=0.25),
            rapid(x, 8, 5),
        )
    ),
)
DRILLS = tuple(
    DrillHole(2 + 5 * k, 5 + 5 * k, 10.0 * (k + 1), 8.0, 1.0, -6.0, 7.0, 0.25) for k in range(3)
)


def test_holes_are_written_once_as_a_cycle() -> None:
    assert body(emit(order(), HOLES, DRILLS))[5:] == [
        "G98 G82 X10.000 Y8.000 Z-6.000 R1.000 P0.250 F180.0",
        "X20.000",
        "X30.000",
        "G80",
        "M5",
        "M2",
    ]


def test_holes_without_cycles_are_moves() -> None:
    lines = body(emit(order(Dialect(cycles=False)), HOLES, DRILLS))
    assert lines.count("G4 P0.250") == 3
    assert not any("G8" in line for line in lines[1:])


def test_a_hole_that_no_cycle_makes_stays_moves() -> None:
    """Pecked and dwelling on its floor; and one that ends at another height."""
    pecked = (
        rapid(0, 0, 5),
        rapid(1, 1, 5),
        rapid(1, 1, 1),
        feed(1, 1, -2),
        rapid(1, 1, 5),
        rapid(1, 1, -1.746),
        feed(1, 1, -5),
        replace(rapid(1, 1, -5), kind=MoveKind.DWELL, dwell_s=0.25),
        rapid(1, 1, 5),
    )
    text = emit(order(), pecked, (DrillHole(2, 8, 1.0, 1.0, 1.0, -5.0, 3.0, 0.25),))
    assert "G4 P0.250" in text
    assert "G83" not in text
    low = (*HOLES[:5], rapid(10, 8, 3))
    assert "G82" not in emit(order(), low, DRILLS[:1])


radii = st.floats(0.01, 2000.0)
angles = st.floats(-2 * math.pi, 2 * math.pi).filter(lambda angle: abs(angle) > 1e-4)


@given(st.tuples(st.floats(-300, 300), st.floats(-300, 300)), radii, st.floats(0, 6.3), angles)
@settings(max_examples=300, deadline=None)
@pytest.mark.parametrize("grid", [Grid(1.0, 3), Grid(1.0, 4), grid_of(Dialect(inch=True))])
def test_rounding_keeps_arcs_within_the_published_bound(
    grid: Grid, centre: tuple[float, float], radius: float, begin: float, turn: float
) -> None:
    """No written radius differs from the other end's, or from the arc's own, by over 0.002 mm."""
    start = (centre[0] + radius * math.cos(begin), centre[1] + radius * math.sin(begin), 0.0)
    at = tuple(grid.steps(value) for value in start)
    for piece in rounded(HelicalArc(start, -1.0, centre, turn), grid, arcs=True):
        if piece.offset is not None:
            middle = grid.mm(at[0] + piece.offset[0]), grid.mm(at[1] + piece.offset[1])
            first = math.dist(middle, (grid.mm(at[0]), grid.mm(at[1])))
            last = math.dist(middle, (grid.mm(piece.end[0]), grid.mm(piece.end[1])))
            assert abs(first - last) <= 0.002
            assert max(abs(first - radius), abs(last - radius)) <= 0.002
        else:
            half = [grid.mm(a + b) / 2.0 for a, b in zip(at, piece.end, strict=True)]
            assert abs(math.dist(half[:2], centre) - radius) <= 0.002 + 1.5 * grid.mm(1)
        at = piece.end
    assert (
        math.dist(
            (grid.mm(at[0]), grid.mm(at[1])), HelicalArc(start, -1.0, centre, turn).at(1.0)[:2]
        )
        < 0.002
    )


def test_three_decimals_give_one_arc_most_of_the_time() -> None:
    """The search for a centre, not chords, is what keeps the bound."""
    grid = Grid(1.0, 3)
    counts = []
    for k in range(200):
        begin = 0.031 * k
        start = (10.0 * math.cos(begin), 10.0 * math.sin(begin), 0.0)
        pieces: list[GridMove] = list(
            rounded(HelicalArc(start, 0.0, (0.0, 0.0), 0.5 + 0.02 * k), grid, True)
        )
        assert all(piece.offset is not None for piece in pieces)
        counts.append(len(pieces))
    assert sum(count == 1 for count in counts) > 180


def test_chords_where_arcs_are_not_known() -> None:
    start: Move = rapid(10, 0, 5)
    ring = (rapid(0, 0, 5), start, arc(start, (0.0, 0.0), 2 * math.pi, 5.0))
    lines = body(emit(order(Dialect(arcs=False)), ring))
    assert not any(line.startswith(("G2 ", "G3 ")) for line in lines)
    # sagitta rule: n = pi / acos(1 - 0.002 / 10)
    assert len(lines) - 8 == math.ceil(math.pi / math.acos(1.0 - 0.002 / 10.0))
