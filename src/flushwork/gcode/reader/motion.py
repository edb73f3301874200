"""Moves as the reader strings them together, and what it has to say about them.

How finely a G-code file prints its numbers, and what their rounding may do to an arc.

A number printed to a step s lies up to s / 2 off the one that was meant; a place of two such
numbers up to s / sqrt(2).  Numbers that are never printed with decimals are taken to be exact.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Final

from flushwork.gcode.reader.line_words import LineError, code_of
from flushwork.gcode.reader.state import State, Vector
from flushwork.toolpaths.moves import Move, MoveKind

_NUMBERS: Final = re.compile(r"([xyzijkr])[+-]?[0-9]*\.?([0-9]*)")
_OF_A_PLACE: Final = "xyz"
_OF_A_CENTRE: Final = "ijk"
_MOST: Final = 12


class Decimals:
    """The most decimals a text prints of places, of centres and of radii; looked up when asked."""

    __slots__ = ("_found", "_text")

    def __init__(self, text: str) -> None:
        self._text = text
        self._found: tuple[int, int, int] | None = None

    def radii_apart(self) -> float:
        """Return how far the two radii of a rightly rounded arc may differ, in the file's units.

        The start and the end are a place off each; the centre, said from the start, moves the
        radius at the start by its own rounding and that at the end by as much the other way.
        """
        place, centre, _ = self._steps()
        return (2.0 * place + 2.0 * centre) / math.sqrt(2.0)

    def chord_beyond(self) -> float:
        """Return how far half of a chord may be longer than its arc's radius, likewise."""
        place, _, radius = self._steps()
        return place / math.sqrt(2.0) + radius / 2.0

    def _steps(self) -> tuple[float, float, float]:
        if self._found is None:
            self._found = _decimals(self._text)
        place, centre, radius = (10.0**-count if count else 0.0 for count in self._found)
        return place, centre, radius


def _decimals(text: str) -> tuple[int, int, int]:
    most = {"place": 0, "centre": 0, "radius": 0}
    for raw in text.replace("\r", "\n").split("\n"):
        try:
            code = code_of(raw)
        except LineError:
            continue
        for letter, decimals in _NUMBERS.findall(code):
            of = (
                "place"
                if letter in _OF_A_PLACE
                else "centre"
                if letter in _OF_A_CENTRE
                else "radius"
            )
            most[of] = max(most[of], min(len(decimals), _MOST))
    return most["place"], most["centre"], most["radius"]


_AXES: Final = ("x", "y", "z")


class Run:
    """The state of the machine, the moves so far, and the problems so far.

    ``line`` is the line at hand, which every new move and problem carries.  ``decimals`` tell how
    finely the text prints its numbers.
    """

    __slots__ = ("_noted", "_placed", "_told", "decimals", "line", "moves", "problems", "state")

    def __init__(self, state: State, text: str) -> None:
        self.state = state
        self.decimals = Decimals(text)
        self.line = 0
        self.moves: list[Move] = []
        self.problems: list[tuple[int, str]] = []
        self._noted: set[str] = set()
        self._told: set[str] = set()
        self._placed: int | None = None

    @property
    def placed(self) -> int:
        """The number of the move that first ends over a place the file has told."""
        return len(self.moves) if self._placed is None else self._placed

    @property
    def is_placed(self) -> bool:
        """Whether the file has told a place in X and in Y."""
        return self._placed is not None

    def tell(self, values: Mapping[str, float]) -> None:
        """Take in which axes the file has told; homes count for none, they are the machine's."""
        if self._placed is None:
            self._told.update(axis for axis in _AXES[:2] if axis in values)
            if len(self._told) == 2:
                self._placed = len(self.moves)

    def note(self, text: str) -> None:
        """Name something that had to be assumed, once in a file."""
        if text not in self._noted:
            self._noted.add(text)
            self.problems.append((self.line, text))

    def assumes(self, text: str) -> bool:
        """Whether a problem names what had to be assumed, and not a line left out."""
        return text in self._noted

    def forget(self, count: int) -> None:
        """Take back all problems but the first ``count``."""
        self._noted.difference_update(text for _, text in self.problems[count:])
        del self.problems[count:]

    def target(self, values: Mapping[str, float]) -> Vector:
        """Return where the axis words lead, by the distance mode and units in force."""
        state = self.state
        if len(state.sure) < 3 and state.absolute:
            state.sure = state.sure.union(axis for axis in _AXES if axis in values)
        if state.absolute:
            self.tell(values)
        unit_mm, at = state.unit_mm, state.at
        base = state.zero if state.absolute else at
        x, y, z = values.get("x"), values.get("y"), values.get("z")
        return (
            at[0] if x is None else base[0] + x * unit_mm,
            at[1] if y is None else base[1] + y * unit_mm,
            at[2] if z is None else base[2] + z * unit_mm,
        )

    def rapid(self, to: Vector) -> None:
        """Add a rapid move."""
        state = self.state
        self._said_units()
        self.moves.append(Move(MoveKind.RAPID, *to, spindle_rpm=state.rpm, line=self.line))
        state.at = to

    def feed(self, to: Vector) -> None:
        """Add a straight feed move; raise ``LineError`` where no feed is in force."""
        state = self.state
        feed = self.feed_mm_min(math.dist(state.at, to))
        if state.inverse_time and feed == 0.0:
            return
        self.moves.append(
            Move(MoveKind.FEED, *to, feed_mm_min=feed, spindle_rpm=state.rpm, line=self.line)
        )
        state.at = to

    def arc(self, to: Vector, centre: tuple[float, float], turn_rad: float) -> None:
        """Add an arc in the XY plane; raise ``LineError`` where no feed is in force."""
        state = self.state
        radius = math.dist(state.at[:2], centre)
        feed = self.feed_mm_min(math.hypot(radius * turn_rad, to[2] - state.at[2]))
        self.moves.append(
            Move(
                MoveKind.ARC,
                *to,
                feed_mm_min=feed,
                centre_x_mm=centre[0],
                centre_y_mm=centre[1],
                turn_rad=turn_rad,
                spindle_rpm=state.rpm,
                line=self.line,
            )
        )
        state.at = to

    def dwell(self, seconds: float) -> None:
        """Add a dwell where the tip stands."""
        self.moves.append(
            Move(
                MoveKind.DWELL,
                *self.state.at,
                dwell_s=seconds,
                spindle_rpm=self.state.rpm,
                line=self.line,
            )
        )

    def feed_mm_min(self, length_mm: float) -> float:
        """Return the feed of a cut of that length; raise ``LineError`` where none is set."""
        state = self.state
        if state.feed == 0.0:
            raise LineError("no feed is set: an F word is missing")
        self._said_units()
        if len(state.sure) < 3:
            unsaid = ", ".join(axis.upper() for axis in _AXES if axis not in state.sure)
            self.note(
                f"the file cuts before it says where the bit stands in {unsaid};"
                " read as if it stood over zero"
            )
        return state.feed * length_mm if state.inverse_time else state.feed

    def _said_units(self) -> None:
        if not self.state.unit_said:
            self.note("the file moves before it says G20 (inch) or G21 (mm); read as mm")
