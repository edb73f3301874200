"""Boards of games by their measures: how many places, and how they lie, by the published rules.

What has no source named beside it is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final

from flushwork.core.keys.declare import Items, Key, Keyed
from flushwork.core.keys.quantities import LENGTH, LENGTH_OR_NONE, Count
from flushwork.core.keys.settle import At
from flushwork.core.keys.words import TRUTH

AREA, LINES, HOLES, WORDS = "areas", "lines", "holes", "words"
"""What a part is made of."""

MORRIS_RINGS: Final = {3: 1, 6: 2, 9: 3, 12: 3}
"""Squares one inside the other by the men of each side: boards of 9, 16, 24 and 24 places
(R. C. Bell, *Board and Table Games from Many Civilizations*, 1969, chapter 3; from memory)."""
SOLITAIRE_ROWS: Final = {33: (3, 3, 7, 7, 7, 3, 3), 37: (3, 5, 7, 7, 7, 5, 3)}
"""Holes in each row, the English and the French form (J. D. Beasley, *The Ins and Outs of Peg
Solitaire*, 1985, chapter 1; from memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Squares(Keyed):
    """A board of squares; the near left one is dark, so that the near right one of 8 is light.

    FIDE Laws of Chess, article 2.1.  Squares of 50 to 60 mm are the FIDE Standards of Chess
    Equipment (2022); go lines stand 22 mm by 23.7 mm apart (common practice, no source).
    """

    under: ClassVar[Key | None] = Key(
        name="squares", doc="A board of squares (chess, draughts), or of lines (go)."
    )
    parts: ClassVar[Mapping[str, str]] = {
        "dark": AREA, "light": AREA, "lines": LINES, "holes": HOLES, "numbers": WORDS,
    }  # fmt: skip

    columns: Annotated[int, Count(1, 40), Key("8")] = 8
    """Squares across."""
    rows: Annotated[int, Count(1, 40), Key("8")] = 8
    """Squares up."""
    square_mm: Annotated[tuple[float, ...], Items(LENGTH, 1, 2, or_one=True), Key("50 mm")]
    """The side of a square, or [across, up]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointedBoard(Keyed):
    """Two tables of points, two rows facing each other, dark and light by turns.

    Twenty-four points in four sixes, a bar between (the published rules of backgammon).  A point
    as wide as a man, and five men or a little more long, is common practice, no source.
    """

    under: ClassVar[Key | None] = Key(
        name="pointed board", doc="Triangles in two rows, facing each other (backgammon)."
    )
    parts: ClassVar[Mapping[str, str]] = {
        "dark": AREA, "light": AREA, "lines": LINES, "numbers": WORDS,
    }  # fmt: skip

    point_mm: Annotated[tuple[float, float], Items(LENGTH, 2, 2), Key("[40 mm, 200 mm]")]
    """A point, [wide, long]."""
    points: Annotated[int, Count(1, 12), Key("6")] = 6
    """Points in a row of one table."""
    bar_mm: Annotated[float, LENGTH, Key("40 mm")]
    """Between the tables."""
    between_mm: Annotated[float, LENGTH, Key("60 mm")]
    """From the tips of one row to those of the other."""
    apart_mm: Annotated[float, LENGTH_OR_NONE, Key("1 mm")] = 0.0
    """Wood left between two points at their feet; it is taken off their width."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Leave something of each point."""
        if own["apart_mm"] >= own["point_mm"][0]:
            at.out_of_range(
                f"apart: nothing is left of points {own['point_mm'][0]:g} mm wide",
                "write less than their width",
                "apart",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Morris(Keyed):
    """Squares one inside the other, joined at the middles of their sides."""

    under: ClassVar[Key | None] = Key(
        name="morris", doc="The board of three, six, nine or twelve men's morris."
    )
    parts: ClassVar[Mapping[str, str]] = {"lines": LINES, "holes": HOLES}

    men: Annotated[int, Count(3, 12), Key("9")]
    """Men of each side: 3, 6, 9 or 12."""
    size_mm: Annotated[float, LENGTH, Key("180 mm")]
    """The side of the outer square, from line to line."""
    diagonals: Annotated[bool, TRUTH, Key("yes")] = False
    """With 3 men: the diagonals are lines, too. Those of 12 men always are."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Ask for a board that is known."""
        if own["men"] not in MORRIS_RINGS:
            at.out_of_range(
                f"men: there is no board for {own['men']} men", "write 3, 6, 9 or 12", "men"
            )
            own["men"] = 9
        if own["diagonals"] and own["men"] in (6, 9):
            at.out_of_range(
                f"diagonals: the board for {own['men']} men has none",
                "leave it out, or write `men: 12`",
                "diagonals",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Solitaire(Keyed):
    """Peg solitaire in its two forms."""

    under: ClassVar[Key | None] = Key(name="solitaire", doc="Peg solitaire.")
    parts: ClassVar[Mapping[str, str]] = {"holes": HOLES}

    holes: Annotated[int, Count(33, 37), Key("33")] = 33
    """33, the English form, or 37, the French."""
    pitch_mm: Annotated[float, LENGTH, Key("12 mm")]
    """From hole to hole."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Ask for a form that is known."""
        if own["holes"] not in SOLITAIRE_ROWS:
            at.out_of_range(f"holes: no form has {own['holes']} holes", "write 33 or 37", "holes")
            own["holes"] = 33


@dataclass(frozen=True, slots=True, kw_only=True)
class MancalaRows(Keyed):
    """Rows of round pits with a long store at each end; two rows of six by the rules of kalah."""

    under: ClassVar[Key | None] = Key(
        name="mancala", doc="Rows of pits with a store at each end (mancala)."
    )
    parts: ClassVar[Mapping[str, str]] = {"pits": AREA, "stores": AREA, "holes": HOLES}

    pits: Annotated[int, Count(2, 16), Key("6")] = 6
    """Pits in a row."""
    rows: Annotated[int, Count(2, 4), Key("2")] = 2
    """Rows of pits."""
    pit_mm: Annotated[float, LENGTH, Key("48 mm")]
    """Of each pit, across."""
    pitch_mm: Annotated[float, LENGTH, Key("56 mm")]
    """From pit to pit, both ways."""
    store_mm: Annotated[float, LENGTH_OR_NONE, Key("48 mm")] = 0.0
    """How wide a store is; it is as long as the rows are high. None where left out."""

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Leave wood between the pits."""
        if own["pitch_mm"] <= own["pit_mm"]:
            at.out_of_range(
                f"pitch: pits {own['pit_mm']:g} mm across run into each other",
                "write more than `pit`",
                "pitch",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class StarHalma(Keyed):
    """A six-pointed star of 121 places, ten of them in each point.

    E. W. Weisstein, MathWorld, *Chinese Checkers*: the star number S5.
    """

    under: ClassVar[Key | None] = Key(
        name="star halma", doc="A star of 121 places (Chinese checkers)."
    )
    parts: ClassVar[Mapping[str, str]] = {
        "holes": HOLES, "lines": LINES, "middle": AREA,
        **{f"point {number}": AREA for number in range(1, 7)},
    }  # fmt: skip

    pitch_mm: Annotated[float, LENGTH, Key("20 mm")]
    """From place to place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PegTrack(Keyed):
    """Lanes of holes in streets, in straight runs joined by half turns.

    Two lanes of 60 holes in fives, or 120 and one to finish in, are the scoring boards of the
    published card games (common practice, no source for their measures).
    """

    under: ClassVar[Key | None] = Key(
        name="peg track", doc="Lanes of peg holes in streets (a cribbage board)."
    )
    parts: ClassVar[Mapping[str, str]] = {
        "track": HOLES, "start": HOLES, "finish": HOLES, "lines": LINES, "numbers": WORDS,
    }  # fmt: skip

    lanes: Annotated[int, Count(1, 6), Key("2")] = 2
    """Lanes beside each other."""
    runs: Annotated[int, Count(1, 8), Key("2")] = 2
    """Straight runs; a half turn joins each to the next."""
    streets: Annotated[int, Count(1, 40), Key("11")]
    """Streets in a straight run."""
    turn_streets: Annotated[int, Count(1, 8), Key("2", name="streets in a turn")] = 1
    """Streets in each half turn."""
    street: Annotated[int, Count(1, 30), Key("5", name="holes in a street")] = 5
    """Holes in each street of a lane."""
    pitch_mm: Annotated[float, LENGTH, Key("6 mm")]
    """From hole to hole; in a turn, on its inner lane."""
    gap_mm: Annotated[float, LENGTH_OR_NONE, Key("3 mm")] = 0.0
    """Extra room between streets."""
    lane_mm: Annotated[float, LENGTH, Key("8 mm", name="lane pitch")]
    """From lane to lane."""
    start: Annotated[int, Count(0, 5), Key("2")] = 2
    """Holes of each lane before the first street."""

    @property
    def holes(self) -> int:
        """The holes that count, of one lane."""
        streets = self.runs * self.streets + (self.runs - 1) * self.turn_streets
        return streets * self.street


def men_of(game: object) -> tuple[int, int] | None:
    """Return the men of one side and the least number of sides, by the published rules.

    Fifteen of each of two on a pointed board; on a star ten of each where six play, and two play
    at least; two pegs to a lane; four seeds to a pit, whoever sows them.  None where the board
    alone does not say it: squares are for many games.
    """
    found: tuple[int, int] | None = None
    match game:
        case PointedBoard():
            found = 15, 2
        case Morris():
            found = game.men, 2
        case Solitaire():
            found = game.holes - 1, 1
        case MancalaRows():
            found = 4 * game.pits * game.rows, 1
        case StarHalma():
            found = 10, 2
        case PegTrack():
            found = 2, game.lanes
        case _:
            pass
    return found
