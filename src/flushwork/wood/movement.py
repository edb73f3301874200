"""How far wood moves across the grain as its moisture changes, also through a year.

Forest Products Laboratory, Wood Handbook, GTR-190 (2010), p. 13-16, eq. 13-2 and table 13-5.

The moisture wood settles at in the air around it.

Forest Products Laboratory, Wood Handbook, GTR-282 (2021), ch. 4 (Glass and Zelinka), eq. 4-5; the
fit is W. T. Simpson, Wood and Fiber 5(1), 1973, 41-49.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from flushwork.shelf.items import Wood
from flushwork.shelf.rooms import MONTHS, Room


def per_pct(wood: Wood, *, flat_sawn: bool) -> float:
    """Return a wood's coefficient across its width: tangential where flat-sawn, else radial."""
    return wood.tangential_per_pct if flat_sawn else wood.radial_per_pct


def stretch_across(wood: Wood, moisture_change: float, *, flat_sawn: bool) -> float:
    """Return the factor by which a width grows for a change of moisture (share)."""
    return 1.0 + 100.0 * moisture_change * per_pct(wood, flat_sawn=flat_sawn)


def equilibrium_moisture(at_c: float, humidity: float) -> float:
    """Return the equilibrium moisture content as a share of the dry mass (eq. 4-5, Celsius form).

    ``humidity`` is relative, 0 to 1.  The table printed from it runs from -1 to 132 C and 5 to
    95 %; its values lie midway between taking up and giving off moisture.
    """
    w = 349.0 + 1.29 * at_c + 0.0135 * at_c**2
    k = 0.805 + 0.000736 * at_c - 0.00000273 * at_c**2
    k1 = 6.27 - 0.00938 * at_c - 0.000303 * at_c**2
    k2 = 1.91 + 0.0407 * at_c - 0.000293 * at_c**2
    wet = k * humidity
    held = k1 * wet + 2.0 * k1 * k2 * wet**2
    return 18.0 / w * (wet / (1.0 - wet) + held / (1.0 + k1 * wet + k1 * k2 * wet**2))


# ---- What a year in the places it will live does to a board: width, cup, gap, strain at an inlay
#
# Moisture follows the mean air of each month (eq. 4-5 of the Wood Handbook, see ``movement``). A
# finished board lags behind its air and moves less, so that these are the most it can do.


OPENS_MM: Final = 0.3
"""A rigid fill whose edge the wood leaves by this much opens a seam (assumed, 0.15 to 0.5 mm; a
test strip through a dry winter)."""


@dataclass(frozen=True, slots=True)
class RoomMonth:
    """A month in a room, and the moisture (share) wood settles at in it."""

    room: str
    month: str
    moisture: float


@dataclass(frozen=True, slots=True)
class MovingBoard:
    """What of a board decides how it moves: all of ``width_mm`` lies across the grain.

    ``moisture`` is that at which it was made (share); ``ring_radius_mm`` the radius of the growth
    rings in the middle of a strip; ``strips_mm`` the strips it is glued of, or the one board;
    ``alternating`` says that their rings curve up and down in turn.
    """

    wood: Wood
    width_mm: float
    moisture: float
    flat_sawn: bool
    ring_radius_mm: float
    strips_mm: tuple[float, ...] = ()
    alternating: bool = False


@dataclass(frozen=True, slots=True)
class Season:
    """What a board does from the shop to one moment; growth and cup are mm, signed.

    ``strain`` is the change of size across the grain as a share; ``cup_mm`` how far the middle
    stands off a straight edge laid across, positive where the board dries: hollow on the bark side.
    """

    at: RoomMonth
    strain: float
    growth_mm: float
    cup_mm: float


@dataclass(frozen=True, slots=True)
class Year:
    """The driest and the dampest season of all places, and what follows for frame and inlay.

    ``clearance_mm`` is left free on each side of a frame so that the dampest month does not burst
    it; ``gap_mm`` is what stands open there in the driest; ``inlay_mm`` is the widest rigid inlay
    across the grain that keeps its edges (infinite where nothing moves).
    """

    board: MovingBoard
    moments: tuple[RoomMonth, ...]
    driest: Season
    dampest: Season
    clearance_mm: float
    gap_mm: float
    inlay_mm: float

    @property
    def worst(self) -> Season:
        """The season farthest from the shop."""
        return max((self.driest, self.dampest), key=lambda each: abs(each.strain))


def moments_of(rooms: tuple[Room, ...]) -> tuple[RoomMonth, ...]:
    """Return every month of every room, in their order."""
    return tuple(
        RoomMonth(room.name, month, equilibrium_moisture(at_c, humidity))
        for room in rooms
        for month, (at_c, humidity) in zip(MONTHS, room.year, strict=True)
    )


def year_of(board: MovingBoard, rooms: tuple[Room, ...]) -> Year:
    """Return what a board does in the places it will live."""
    moments = moments_of(rooms)
    driest = season_of(board, min(moments, key=lambda each: each.moisture))
    dampest = season_of(board, max(moments, key=lambda each: each.moisture))
    clearance_mm = max(0.0, dampest.growth_mm) / 2.0
    most = max(abs(driest.strain), abs(dampest.strain))
    return Year(
        board=board,
        moments=moments,
        driest=driest,
        dampest=dampest,
        clearance_mm=clearance_mm,
        gap_mm=clearance_mm + max(0.0, -driest.growth_mm) / 2.0,
        inlay_mm=2.0 * OPENS_MM / most if most > 0.0 else float("inf"),
    )


def season_of(board: MovingBoard, at: RoomMonth) -> Season:
    """Return what a board does from the moisture it was made at to that of a moment."""
    change = 100.0 * (at.moisture - board.moisture)
    strain = change * per_pct(board.wood, flat_sawn=board.flat_sawn)
    return Season(at, strain, board.width_mm * strain, cup_mm(board, change))


def cup_mm(board: MovingBoard, change_pct: float) -> float:
    """Return how far the middle of a board stands off its edges after a change of moisture.

    Rings that change by e_t along and by e_r across themselves stay round about one heart, and
    their angles change by the share e_t - e_r.  A line that touches a ring of radius R in its
    middle bends by twice that over R: w^2 (e_r - e_t) / 4R is the sagitta over a width w
    (geometry of a ring sector, worked out here).  Strips whose rings curve in turn up and down
    bend each for itself.  Wood sawn on the quarter does not cup.
    """
    if not board.flat_sawn:
        return 0.0
    whole = not board.strips_mm or not board.alternating
    across_mm = board.width_mm if whole else max(board.strips_mm)
    apart = change_pct * (board.wood.radial_per_pct - board.wood.tangential_per_pct)
    return across_mm**2 * apart / (4.0 * board.ring_radius_mm)


def one_sided_cup_mm(board: MovingBoard, strain: float, thickness_mm: float) -> float:
    """Return how far a board cups while one face has followed its air by ``strain``, the other not.

    Where the strain falls evenly through the thickness t the board bends to the curvature e / t and
    nothing strains against it: e w^2 / 8t is the sagitta over a width w (geometry of a plate,
    worked out here).  It is the most there is: a sealed face lags, but follows too.
    """
    return abs(strain) * board.width_mm**2 / (8.0 * thickness_mm)
