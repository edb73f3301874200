"""The head of a G-code file and what it asks where it waits, for the person at the machine."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from typing import Final

from flushwork.core.units.format import System, half_up
from flushwork.core.units.kinds import INCH_MM
from flushwork.core.units.shown import METRIC, Units, shown
from flushwork.gcode.reader.state import ORIGIN
from flushwork.gcode.swept import Box, Swept, swept
from flushwork.toolpaths.arcs_on_grid import Grid
from flushwork.toolpaths.moves import Move, Program
from flushwork.toolpaths.orders import CutOrder, Work

_WIDTH: Final = 76
_SPELT: Final = str.maketrans(
    {
        "(": "[",
        ")": "]",
        ";": ",",
        "\u00df": "ss",
        "\u00e6": "ae",
        "\u00c6": "Ae",
        "\u00f8": "o",
        "\u00d8": "O",
        "\u0153": "oe",
        "\u0142": "l",
        "\u0141": "L",
        "\u0111": "d",
        "\u00d7": "x",
        "\u00b0": " deg",
        "\u2013": "-",
        "\u2014": "-",
        "\u2018": "'",
        "\u2019": "'",
        "\u201c": '"',
        "\u201d": '"',
    }
)


def plain_words(text: str) -> str:
    """Return a name as a comment may hold it: plain ASCII on one line, no ( ) or ;.

    Letters lose their accents; a letter that has no plain form becomes ``?``.
    """
    variation = unicodedata.normalize("NFKD", text.translate(_SPELT)).translate(_SPELT)
    kept = (letter for letter in variation if not unicodedata.combining(letter))
    ascii_only = "".join(letter if " " <= letter <= "~" else _stand_in(letter) for letter in kept)
    return " ".join(ascii_only.split())


def _stand_in(letter: str) -> str:
    return " " if letter.isspace() or unicodedata.category(letter) == "Cc" else "?"


def comments(text: str) -> Iterator[str]:
    """Yield a text as comment lines of at most 78 characters."""
    for part in textwrap.wrap(plain_words(text), _WIDTH):
        yield f"({part})"


def region_lines(found: Swept | None, order: CutOrder, grid: Grid) -> tuple[str, ...]:
    """Return the lines on what the bit sweeps over, each short enough to stay one line."""
    if found is None:
        return ("Nothing is cut.",)
    over = grid.text(grid.steps(found.over_mm))
    radius = grid.text(grid.steps(found.radius_mm))
    return (
        f"Keep clamps out of {_box(found.low, grid)}:",
        f"there the tip comes below Z {over}, the radius of {radius} counted.",
        f"At Z {over} it crosses {_box(found.all, grid)}.",
        f"Its tip goes down to Z {grid.text(grid.steps(found.deepest_mm))}.",
        f"The holder comes down to Z {_lowest(found, order, grid)}, "
        f"{grid.text(grid.steps(order.machine.holder_mm))} wide.",
    )


def _lowest(found: Swept, order: CutOrder, grid: Grid) -> str:
    return grid.text(grid.steps(found.deepest_mm + order.bit.reach_mm))


def _box(box: Box, grid: Grid) -> str:
    left, right, near, far = (
        grid.text(grid.steps(value))
        for value in (box.left_mm, box.right_mm, box.near_mm, box.far_mm)
    )
    return f"X {left} to {right}, Y {near} to {far}"


def header(order: CutOrder, moves: Sequence[Move], grid: Grid) -> Iterator[str]:
    """Yield the head's comment lines: what is cut, with what, from which zero, how to begin."""
    inch = grid.unit_mm != 1.0
    units = Units(System.INCH, machine=True, names=(order.bit.name,)) if inch else METRIC
    for line in (
        f"G-code file {order.name}",
        f"Job: {order.job}",
        *([f"Part: {order.part}"] if order.part else []),
        _where(order),
        *_bit(order),
        _place_of_zero(order),
        "Zero of Z: the top of the spoilboard. Cutting is below 0."
        if order.bare
        else "Zero of Z: the wood of the face as it stands now"
        f"{', sanded' if order.sanded else ''}. Cutting is below 0.",
        _units(grid),
        *region_lines(swept(Program(ORIGIN, tuple(moves), 1), order.bit), order, grid),
        *_held(order, grid),
        _first_motion(moves, grid),
        *_pieces(order),
        *order.notes,
        *order.accepted,
        "WARNING. First run it in the air, well above the work, and watch it.",
        *_first_way(moves, grid),
        "Stay by the machine, a hand near its stop. Guard, eyes, ears, dust.",
        *order.warnings,
        "The machine's manual, local rules and trained practice come first.",
    ):
        yield from comments(shown(line, units))


def asked_at_stop(order: CutOrder, grid: Grid) -> Iterator[str]:
    """Yield the comment lines of what must be true before start is pressed where a file waits."""
    inch = grid.unit_mm != 1.0
    wide = order.bit.diameter_mm
    size = f"{half_up(wide / INCH_MM, 4)} in" if inch else f"{half_up(wide, 3)} mm"
    zero = "Z zero set on the sanded wood" if order.sanded else "Z zero set"
    yield from comments(
        f"The program waits here. Is the {order.bit.name}, {size}, in the holder and {zero}?"
    )
    yield from comments("Is the bit over the work and above every clamp? Stand clear, press start.")


def _held(order: CutOrder, grid: Grid) -> tuple[str, ...]:
    """Return how closely the path is held against the drawing; a face is milled by no outline."""
    if any(operation.work is Work.MILL_FLUSH for operation in order.operations):
        return ()
    allowed = grid.text(grid.steps(order.machine.tolerance_mm))
    return (f"Checked against the drawing: within {allowed} of it everywhere.",)


def _pieces(order: CutOrder) -> tuple[str, ...]:
    """Return how the pieces lie on the bed, nothing where there is one."""
    if len(order.places) < 2:
        return ()
    x, y = order.places[1]
    return (
        f"{len(order.places)} pieces on the bed, each X {x:.3f} Y {y:.3f} mm on.",
        "The zero is that of the first. A place left empty is cut in air.",
    )


def _where(order: CutOrder) -> str:
    number = f"Setup {order.setup}, file {order.sequence} of it."
    if order.bare:
        return f"The bare spoilboard, no blank on it. {number}"
    return f"Face: {order.face}. {number}"


def _bit(order: CutOrder) -> tuple[str, str]:
    bit = order.bit
    size = f"diameter {half_up(bit.diameter_mm, 3)} mm"
    return (
        f"Bit: {bit.name} ({bit.kind}, number {bit.number})",
        f"Bit: {size}, standing {bit.reach_mm:.1f} mm out of the holder.",
    )


def _place_of_zero(order: CutOrder) -> str:
    corner = f"lower left corner of the blank, {order.face} face up"
    if order.bare:
        corner = "place where the lower left corner of the blank will lie"
    x, y = order.origin_mm
    if abs(x) < 5e-4 and abs(y) < 5e-4:
        return f"Zero of X and Y: {corner}."
    across = f"{abs(x):.3f} mm to the {'right' if x > 0 else 'left'} of it"
    away = f"{abs(y):.3f} mm {'beyond' if y > 0 else 'before'} it"
    return f"Zero of X and Y: from the {corner}, {across} and {away}."


def _units(grid: Grid) -> str:
    if grid.unit_mm == 1.0:
        return "Units: mm, feeds in mm per minute."
    return "Units: inches, feeds in inches per minute."


def _first_way(moves: Sequence[Move], grid: Grid) -> tuple[str, ...]:
    """Return what to see to before a file goes on: nobody knows from where its first way leads."""
    if not moves:
        return ()
    return (
        "WARNING. Its first way starts where the spindle stands, at Z "
        f"{grid.text(grid.steps(moves[0].z_mm))}:",
        "stand clear, bring it over the work, higher than all that holds it.",
    )


def _first_motion(moves: Sequence[Move], grid: Grid) -> str:
    if not moves:
        return "First motion: none."
    lift = grid.text(grid.steps(moves[0].z_mm))
    over = moves[1] if len(moves) > 1 else moves[0]
    x, y = grid.text(grid.steps(over.x_mm)), grid.text(grid.steps(over.y_mm))
    return f"First motion: straight to Z {lift}, then over to X {x} Y {y}."
