"""The published sample programs, and files in other hands' habits: read and replayed whole.

Source and status of the programs: ``data/rs274_programs.md``.  Places are worked out by hand from
NISTIR 6556, sections 3.5.3 (arcs) and 3.5.16 (cycles).
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from flushwork.gcode.reader.program_text import read_imported, read_program
from flushwork.shelf.tables import starter_shop
from flushwork.strata.replay import replay
from flushwork.strata.steps import BoardSpec, CutStep, ReplayStep
from flushwork.toolpaths.moves import Move, MoveKind, Program
from tests.gcode import second_reader
from tests.gcode.text_samples import apart_mm, visits

DATA = Path(__file__).parent / "data"
HABITS = Path(__file__).parents[1] / "gcode" / "habits"
INCH = 25.4
AGREE_MM = 0.001

Place = tuple[float, float]
# every stroke of "Hello world": where the tip goes down, and where each cut of it ends
STROKES: list[list[Place]] = [
    [(0, 0), (0, 10)], [(0, 5), (7, 5)], [(7, 0), (7, 10)],
    [(11, 2.5), (16, 2.5), (13.5, 0), (16, 0)],
    [(20, 0), (20, 9)], [(26, 9), (26, 0)], [(32.5, 0), (32.5, 0)],
    [(45, 5), (47, 0), (48.5, 3), (50, 0), (52, 5)], [(57.5, 0), (57.5, 0)],
    [(64, 0), (64, 5), (64, 4), (69, 4)], [(73, 0), (73, 9)],
    [(81, 9), (81, 0), (79.5, 0), (79.5, 5), (81, 5)],
]  # fmt: skip
# (line, centre, radius, turn) of its arcs
ARCS = [
    (18, (13.5, 2.5), 2.5, 1.5 * math.pi),
    (31, (32.5, 2.5), 2.5, -2.0 * math.pi),
    (42, (57.5, 2.5), 2.5, -2.0 * math.pi),
    (48, (66.5, 4.0 - math.sqrt(16.0 - 6.25)), 4.0, -2.0 * math.asin(2.5 / 4.0)),
    (58, (79.5, 2.5), 2.5, -math.pi),
]
# floors of the cycles in the XY plane, in inches: line, then each hole's x, y, z
FLOORS: dict[int, list[tuple[float, float, float]]] = {
    3: [(3, 4, -1.1)],
    4: [(4, 4, -0.9), (5, 4, -0.9), (6, 4, -0.9)],
    5: [(6, 2, -0.8)],
    6: [(4, 5, -1.1)],
    7: [(2, 5, -3.0)],
    8: [(0, 7, -2.7), (-2, 9, -2.7), (-4, 11, -2.7), (-6, 13, -2.7)],
    9: [(5, 6, z) for z in (-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1)],
    11: [(7, 8, -1.1)],
    12: [(8, 9, -1.1)],
    16: [(11, 12, -1.1)],
    18: [(8, 9, -1.1)],
    23: [(4, -1.1, 3)],
    27: [(6, y, 5) for y in (-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1)],
    37: [(-1.1, 3, 4)],
}
UNREAD = {10: "G84", 13: "G87", 14: "I has nothing", 15: "G88", 19: "G87", 20: "G88", 28: "G84"}


def text_of(name: str) -> str:
    return (DATA / f"rs274_{name}.nc").read_text("ascii")


def test_hello_world_is_cut_stroke_by_stroke() -> None:
    read = read_imported(text_of("hello_world"))
    assert read.faults == ()
    assert read.assumed == ()
    strokes: list[list[Place]] = []
    for move in read.program.moves:
        if move.kind is MoveKind.RAPID:
            continue
        assert move.z_mm == -0.5
        assert move.feed_mm_min == 20.0
        assert move.spindle_rpm == 4000.0
        place = (move.x_mm, move.y_mm)
        if _goes_down(read.program, move):
            strokes.append([place])
        else:
            strokes[-1].append(place)
    assert strokes == STROKES
    last = read.program.moves[-1]
    assert (last.kind, last.z_mm) == (MoveKind.RAPID, 50.0)


def _goes_down(program: Program, move: Move) -> bool:
    before = program.moves[program.moves.index(move) - 1]
    return before.z_mm > 0.0


@pytest.mark.parametrize(("line", "centre", "radius", "turn"), ARCS)
def test_its_arcs_turn_about_their_centres(
    line: int, centre: Place, radius: float, turn: float
) -> None:
    program = read_imported(text_of("hello_world")).program
    (arc,) = [item for item in program.moves if item.line == line]
    assert arc.kind is MoveKind.ARC
    assert (arc.centre_x_mm, arc.centre_y_mm) == pytest.approx(centre, abs=1e-9)
    assert arc.turn_rad == pytest.approx(turn, abs=1e-9)
    assert math.dist((arc.x_mm, arc.y_mm), centre) == pytest.approx(radius, abs=1e-9)


def test_both_readers_cut_hello_world_alike() -> None:
    text = text_of("hello_world")
    assert apart_mm(visits(read_program(text)[0]), second_reader.read(text)) < AGREE_MM


def test_the_cycles_reach_their_floors_and_the_rest_is_named() -> None:
    read = read_imported(text_of("cycles"))
    assert [line for line, _ in read.assumed] == [2]  # G43, whose length the file does not say
    for line, floors in FLOORS.items():
        own = [item for item in read.program.moves if item.line == line]
        cut = [item for item in own if item.kind is MoveKind.FEED][: len(floors)]
        found = [(item.x_mm / INCH, item.y_mm / INCH, item.z_mm / INCH) for item in cut]
        assert len(found) == len(floors), line
        for place, wanted in zip(found, floors, strict=True):
            assert place == pytest.approx(wanted, abs=1e-9)
    told = dict(reversed(read.faults))
    assert {line: told[line].startswith(words) for line, words in UNREAD.items()} == dict.fromkeys(
        UNREAD, True
    )
    assert {line for line, _ in read.faults} == {*UNREAD, 31, 32, 33, 42, 45, 46, 47}
    assert not {item.line for item in read.program.moves} & {line for line, _ in read.faults}


def replayed(program: Program) -> tuple[float, float]:
    """Return what a program cuts out of a board around it, mm3, and its deepest bite."""
    spec = BoardSpec(260.0, 200.0, 30.0, turn_about_x=True, cell_mm=0.5)
    bit = next(item for item in starter_shop().bits if item.name == "3.175 mm flat")
    cut = CutStep("front", "file", program, bit, (80.0, 80.0), 0.0)
    (report,) = replay(spec, (ReplayStep(1, (cut,)),)).cuts
    return float(report.removed_mm3.sum()), float(report.bite_mm.max(initial=0.0))


@pytest.mark.parametrize("name", sorted(path.stem for path in HABITS.glob("*.nc")))
def test_files_in_other_habits_replay(name: str) -> None:
    program, _ = read_program((HABITS / f"{name}.nc").read_text("ascii"), parameters={})
    volume, bite = replayed(program)
    deepest = -min(move.z_mm for move in program.moves)
    assert volume > 0.0
    assert bite <= deepest + 1e-6


def test_hello_world_replays() -> None:
    """Strokes of 3.175 mm, half a millimetre deep; the two rings have no core left."""
    volume, bite = replayed(read_imported(text_of("hello_world")).program)
    assert bite == pytest.approx(0.5, abs=1e-6)
    ring = math.pi * ((2.5 + 1.5875) ** 2 - (2.5 - 1.5875) ** 2) * 0.5
    assert 2.0 * ring < volume < 260.0


def test_there_are_a_dozen_habits() -> None:
    assert len(list(HABITS.glob("*.nc"))) >= 12
