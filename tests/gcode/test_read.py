"""How the reader behaves towards files from anywhere."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.gcode.reader.program_text import read_program
from flushwork.toolpaths.moves import MoveKind


def notes(text: str) -> list[tuple[int, str]]:
    return list(read_program(text)[1])


@given(st.text(alphabet="GMXYZIJKRFSTN#[]=+-*/.0123456789 ()%;\nATANSQRabc", max_size=200))
@settings(max_examples=300, deadline=None)
def test_no_text_breaks_the_reader(text: str) -> None:
    program, _ = read_program(text)
    assert all(1 <= move.line <= text.count("\n") + 1 for move in program.moves)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "G0 X" + "9" * 500,
        "G0 X[" + "[" * 5000,
        "#" * 5000 + "1=2",
        "G0 X#" + "#" * 200 + "1",
        "G1 X1e5",
        "G0 X[exp[1000]]",
        "G999999999999999999999 X1",
        "N99999999999999999999 G0 X1",
        "\x00\x07G0 X1",
        "G0 X\uff11",
    ],
)
def test_hostile_lines_are_problems(text: str) -> None:
    program, problems = read_program(text)
    assert program.moves == ()
    assert problems


def test_a_faulty_line_changes_nothing() -> None:
    text = "G21 G90 G0 X1 Y1 Z1\nG91 G20 F9 S100 M3 #5=3 G2 X5 Y5 I9 J9\nG0 X4 Y#5\nM2"
    program, problems = read_program(text)
    assert [number for number, _ in problems] == [2]
    last = program.moves[-1]
    assert (last.x_mm, last.y_mm, last.spindle_rpm) == (4.0, 0.0, 0.0)


def test_a_faulty_repeat_of_a_cycle_leaves_no_half_of_it() -> None:
    text = "G21 G90 F100 G0 X0 Y0 Z5\nG83 X1 Z-2 R1 Q1\nX2 Q-1\nX3\nM2"
    program, problems = read_program(text)
    assert [number for number, _ in problems] == [3]
    assert {move.line for move in program.moves} == {1, 2, 4}
    assert min(move.z_mm for move in program.moves if move.line == 4) == -2.0


def test_several_faults_of_one_line_are_all_named() -> None:
    assert [text for _, text in notes("G21 E5 O100 U3\nM2")] == [
        f"{word} is not a word of the published language" for word in ("E5", "O100", "U3")
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("G0 X1 Y1 Z1\nM2", "before it says G20 (inch) or G21 (mm)"),
        ("G21 G1 X1 Y1 F9\nM2", "where the bit stands in Z"),
        ("G21 G91 G0 Z5\nG1 X1 F9\nM2", "where the bit stands in X, Y, Z"),
        ("G21 G0 X1 Y1 Z1\nG53 G0 Z0\nM2", "G53 goes by the machine's own coordinates"),
        ("G21 G0 X1 Y1 Z1\nG28\nM2", "G28 goes by the machine's own coordinates"),
        ("G21 G55 G0 X1 Y1 Z1\nM2", "G55 goes by the machine's own coordinates"),
        ("G21 G10 L2 P1 X1\nM2", "G10 goes by the machine's own coordinates"),
        ("G21 G0\nM2", "G0 stands without X, Y or Z"),
        ("G21 G0 X1 Y1 Z1\n/G0 X2\nM2", "begins with /"),
        ("G21 G1 X1 Y1 Z1 F10\nG20 F10 X2\nM2", "F stands on a line that changes the units"),
        ("G21 G0 X1 Y1 Z1", "ends without M2 or M30"),
    ],
)
def test_what_is_assumed_is_named(text: str, words: str) -> None:
    found = notes(text)
    assert len([fault for _, fault in found if words in fault]) == 1
    assert len(read_program(text)[0].moves) > 0 or "G10" in text or "G0\n" in text


def test_an_assumption_is_named_once() -> None:
    assert len(notes("G21 G0 X1 Y1 Z1\nG53 G0 Z0\nG53 G0 Z1\nG53 G0 Z0\nM2")) == 1


def test_a_file_between_percent_signs_needs_no_end() -> None:
    program, problems = read_program("%\nG21 G0 X1 Y1 Z1\n%\nG0 X9\nanything (at all")
    assert problems == ()
    assert len(program.moves) == 1


def test_nothing_after_the_end_is_read() -> None:
    assert len(read_program("G21 G0 X1 Y1 Z1\nM30\nG0 X5\nrubbish")[0].moves) == 1


def test_line_ends_of_all_kinds() -> None:
    program, problems = read_program("G21\r\nG0 X1 Y1 Z1\rG0 X2\nM2\r\n")
    assert problems == ()
    assert [move.line for move in program.moves] == [2, 3]


def test_feed_keeps_its_rate_when_the_units_change() -> None:
    moves = read_program("G21 G0 X0 Y0 Z0\nG1 X1 F300\nG20 X2\nX3 F10\nM2")[0].moves
    assert [move.feed_mm_min for move in moves[1:]] == [300.0, 300.0, 254.0]


def test_feed_mode_asks_for_a_new_feed() -> None:
    assert "F word is missing" in notes("G21 G0 X0 Y0 Z0\nG93 G1 X1 F3\nG94 X2\nM2")[0][1]


def test_spindle_state_is_carried() -> None:
    moves = read_program("G21 G0 X0 Y0 Z0\nS900 M3 G0 X1\nG0 X2 S950\nM5 X3\nM3 X4\nM2")[0].moves
    assert [move.spindle_rpm for move in moves] == [0.0, 900.0, 950.0, 0.0, 950.0]


def test_reader_and_writer_share_only_the_records() -> None:
    """None of the reader's modules names a module of the writer."""
    room = Path(__file__).parents[2] / "src" / "flushwork" / "gcode" / "reader"
    allowed = ("flushwork.gcode.reader.", "flushwork.toolpaths.moves", "flushwork.core.")
    for path in room.glob("*.py"):
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith("from flushwork."):
                assert line.split()[1].startswith(allowed), (path.name, line)


def test_a_big_file_is_read_quickly() -> None:
    lines = ["G21 G90 G0 X0 Y0 Z0", "G1 F900"]
    lines += [f"X{k % 97}.5 Y{k % 89}.25" for k in range(20_000)] + ["M2"]
    program, _ = read_program("\n".join(lines))
    assert sum(move.kind is MoveKind.FEED for move in program.moves) == 20_000
