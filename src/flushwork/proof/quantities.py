"""The quantities a piece stands or falls by, as linear sums of what strays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite

import numpy as np
import shapely
from numpy.typing import NDArray

from flushwork.colour.palette import NEVER_HIDES_MM
from flushwork.job.records import FaceName, Manner
from flushwork.plan.rounds import rounds
from flushwork.proof import spreads
from flushwork.proof.case import Case
from flushwork.proof.depth_rules import sunk_in, to_front
from flushwork.proof.growth import datum_mm, growth_between, mounting_of
from flushwork.proof.look_rules import mean_width_mm
from flushwork.proof.order_rules import has_flakes
from flushwork.proof.seam_cover import margin_mm, places_along
from flushwork.proof.spreads import Key, Spread
from flushwork.resin.recess import (
    PINNING,
    keeps_share,
    mean_recess_mm,
    most_sanding_mm,
    recess_at_mm,
)
from flushwork.strata.measure import thickness_map

THROUGH_MM = 0.3
"""Wood thinner than this lets wet resin through (assumed, 0.1 to 0.5 mm; a step-wedge coupon)."""
STANDS_MM = 0.5
"""Wood between neighbours thinner than this breaks out (assumed, 0.3 to 0.8 mm; a ladder)."""
WANTED = 0.6
"""Share of a line's width that shall stay bright (assumed, 0.5 to 0.8)."""
NEAR_MM = 3.0
"""Neighbours farther apart than this are safe."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """Something that must stay above a limit at every one of its places.

    ``nominal`` (n,) are its values there, ``coefficients`` (n,) by spread how each error changes
    them.  With ``both_ways`` it must stay within plus and minus ``nominal`` (a stray), and
    ``known`` (n,) is what it strays by for certain.  ``at_mm`` (n, 2) are the places.
    """

    name: str
    subject: str
    face: FaceName
    unit: str
    limit: float
    nominal: NDArray[np.float64]
    coefficients: dict[Key, NDArray[np.float64]]
    spreads: tuple[Spread, ...]
    at_mm: NDArray[np.float64]
    both_ways: bool = False
    known: NDArray[np.float64] | None = None


def _single(
    name: str,
    subject: str,
    face: FaceName,
    at: tuple[float, float],
    nominal: float,
    limit: float,
    by: tuple[tuple[Spread, float], ...],
) -> Quantity:
    kept = tuple((spread, factor) for spread, factor in by if spread.sd > 0.0 and factor != 0.0)
    return Quantity(
        name,
        subject,
        face,
        "mm",
        limit,
        np.array([nominal]),
        {spread.key: np.array([factor]) for spread, factor in kept},
        tuple(spread for spread, _ in kept),
        np.array([at]),
    )


def quantities(case: Case) -> tuple[Quantity, ...]:
    """Return every critical quantity of a job."""
    return (
        *seam_covers(case),
        *second_passes(case),
        *walls(case),
        *webs(case),
        *fills(case),
        *caps(case),
        *bright_lines(case),
        *ratios(case),
    )


def _mounting_number(case: Case, inlay: str) -> int:
    mounting = mounting_of(case.plan, inlay)
    return mounting.number if mounting is not None else 0


def seam_covers(case: Case) -> Iterator[Quantity]:
    """Yield the cover of each seam line cut in another mounting than what it follows."""
    for drawn in case.inlays:
        seam, inlay = drawn.inlay.seam, drawn.inlay
        if seam is None or drawn.strokes.is_empty:
            continue
        own = _mounting_number(case, inlay.name)
        before = next((name for name in seam.along if _mounting_number(case, name) != own), None)
        if before is None:
            continue
        places = places_along(drawn.strokes)
        yield _stray(
            case,
            "seam cover",
            inlay.name,
            inlay.face,
            places.at_mm,
            places.across,
            np.full(len(places.at_mm), margin_mm(seam.width_mm)),
            before,
        )


def _stray(
    case: Case,
    name: str,
    subject: str,
    face: FaceName,
    at_mm: NDArray[np.float64],
    across: NDArray[np.float64],
    margin: NDArray[np.float64],
    before: str,
) -> Quantity:
    """Return a stray across a direction at places, by shift, turn and the wood's stretch."""
    job = case.job
    number = _mounting_number(case, subject)
    growth = growth_between(job, case.plan, face, before, subject)
    axis = 1 if job.blank.grain_along_x else 0
    arms = at_mm - (job.blank.length_mm / 2.0, job.blank.width_mm / 2.0)
    by = (
        (spreads.shift_x(job, number), across[:, 0]),
        (spreads.shift_y(job, number), across[:, 1]),
        (spreads.turn(job, number), -across[:, 0] * arms[:, 1] + across[:, 1] * arms[:, 0]),
        (
            spreads.stretch(job, number),
            (at_mm[:, axis] - datum_mm(job, face)) * across[:, axis],
        ),
    )
    kept = tuple((spread, factor) for spread, factor in by if spread.sd > 0.0)
    return Quantity(
        name,
        subject,
        face,
        "mm",
        0.0,
        margin,
        {spread.key: factor for spread, factor in kept},
        tuple(spread for spread, _ in kept),
        at_mm,
        both_ways=True,
        known=growth.at(at_mm, across),
    )


def _gap(case: Case, name: str, first: str, second: str, limit: float) -> Quantity | None:
    """Return the distance between the outlines of two inlays of different mountings."""
    by_name = {drawn.inlay.name: drawn for drawn in case.inlays}
    one, other = by_name[first], by_name[second]
    link = shapely.shortest_line(one.region.boundary, other.region.boundary)
    if link is None or link.is_empty or link.length > NEAR_MM:
        return None
    (x0, y0), (x1, y1) = link.coords[0], link.coords[-1]
    length = float(link.length)
    across = (
        np.array([[(x1 - x0) / length, (y1 - y0) / length]])
        if length > 0.0
        else np.array([[0.0, 1.0]])
    )
    at = np.array([[(x0 + x1) / 2.0, (y0 + y1) / 2.0]])
    made = _stray(
        case, name, second, other.inlay.face, at, across, np.array([length - limit]), first
    )
    return Quantity(
        made.name,
        made.subject,
        made.face,
        made.unit,
        limit,
        np.array([length]),
        made.coefficients,
        made.spreads,
        made.at_mm,
    )


def second_passes(case: Case) -> Iterator[Quantity]:
    """Yield, for second passes within their first, how far they stay inside and off its floor."""
    by_name = {drawn.inlay.name: drawn for drawn in case.inlays}
    for drawn in case.inlays:
        for before in drawn.inlay.second_pass_of:
            first = by_name.get(before)
            if first is None or first.region.is_empty or drawn.region.is_empty:
                continue
            if first.region.covers(drawn.region):
                inside = _gap(case, "edge of the first pass", before, drawn.inlay.name, 0.0)
                if inside is not None:
                    yield inside
            yield _floor_left(case, before, drawn.inlay.name)


def _floor_left(case: Case, before: str, name: str) -> Quantity:
    drawn = next(item for item in case.inlays if item.inlay.name == name)
    sunk = {item.name: item for item in sunk_in(case, drawn.inlay.face)}
    spot = drawn.region.representative_point()
    return _single(
        "first colour left",
        name,
        drawn.inlay.face,
        (spot.x, spot.y),
        sunk[name].floor_mm - sunk[before].floor_mm,
        0.0,
        (
            (spreads.zero(_mounting_number(case, before)), -1.0),
            (spreads.zero(_mounting_number(case, name)), 1.0),
        ),
    )


def walls(case: Case) -> Iterator[Quantity]:
    """Yield the wood between neighbours that are cut in different mountings."""
    for face in case.faces:
        for index, drawn in enumerate(face.inlays):
            for other in face.inlays[:index]:
                names = (other.inlay.name, drawn.inlay.name)
                if drawn.inlay.seam is not None or other.inlay.seam is not None:
                    continue
                if _mounting_number(case, names[0]) == _mounting_number(case, names[1]):
                    continue
                apart = float(drawn.region.distance(other.region))
                if STANDS_MM < apart < NEAR_MM:
                    wall = _gap(case, "wood between", names[0], names[1], STANDS_MM)
                    if wall is not None:
                        yield wall


def webs(case: Case) -> Iterator[Quantity]:
    """Yield the web between the faces wherever two things lie over one another."""
    fronts, backs = sunk_in(case, "front"), sunk_in(case, "back")
    for front in fronts:
        for back in backs:
            web = case.job.blank.thickness_mm + front.floor_mm + back.floor_mm
            if web > 2.0 * NEAR_MM:
                continue
            shared = front.region.intersection(to_front(case.job, back.region))
            if shared.is_empty or shared.area <= 0.0:
                continue
            spot = shared.representative_point()
            yield _single(
                "web",
                f"{front.name} over {back.name}",
                "front",
                (spot.x, spot.y),
                web,
                THROUGH_MM,
                (
                    (spreads.thickness(), 1.0),
                    (spreads.zero(_mounting_number(case, front.name)), 1.0),
                    (spreads.zero(_mounting_number(case, back.name) or -1), 1.0),
                ),
            )


def fills(case: Case) -> Iterator[Quantity]:
    """Yield the thickness of each opaque fill that is left, against what hides the wood."""
    for face in case.faces:
        allowances = case.job.allowances
        count = len(rounds(face))
        taken = allowances.sand_mm + max(0, count - 1) * allowances.light_sand_mm
        for item in sunk_in(case, face.name):
            drawn = next((one for one in face.inlays if one.inlay.name == item.name), None)
            if drawn is None or drawn.inlay.vee or drawn.region.is_empty:
                continue
            hides = case.palette.mixes[drawn.inlay.mix.name].hides_mm
            if hides >= NEVER_HIDES_MM or drawn.inlay.manner is Manner.CAPPED:
                continue
            spot = drawn.region.representative_point()
            yield _single(
                "fill left",
                item.name,
                face.name,
                (spot.x, spot.y),
                item.depth_mm,
                hides,
                (
                    (spreads.zero(_mounting_number(case, item.name)), 1.0),
                    (spreads.sanding(taken, _FACE[face.name]), -1.0),
                ),
            )


_FACE = {"front": spreads.FRONT, "back": spreads.BACK}


def caps(case: Case) -> Iterator[Quantity]:
    """Yield the clear that is left over each capped line once its cap is sanded."""
    for face in case.faces:
        for drawn in face.inlays:
            inlay, cap = drawn.inlay, drawn.inlay.cap
            if cap is None or drawn.region.is_empty:
                continue
            mapped = thickness_map(
                case.replay.final.face(face.name), case.replay.spec, cap.name, drawn.region
            )
            over = mapped.values[mapped.values > 0.0]
            nominal = float(np.median(over)) if over.size else 0.0
            spot = drawn.region.representative_point()
            yield _single(
                "cap left",
                inlay.name,
                face.name,
                (spot.x, spot.y),
                nominal,
                0.0,
                (
                    (
                        spreads.sanding(
                            case.job.allowances.light_sand_mm
                            if _mounting_number(case, inlay.name) > 1
                            else case.job.allowances.sand_mm,
                            _FACE[face.name],
                        ),
                        -1.0,
                    ),
                    (spreads.shrinkage(inlay.mix.resin.shrinkage), inlay.depth_mm),
                ),
            )


def bright_lines(case: Case) -> Iterator[Quantity]:
    """Yield, for scraped lines of flakes without a cap, how far sanding stays off them.

    The line counts as bright while most of its width is (``WANTED``).
    """
    for face in case.faces:
        for drawn in face.inlays:
            inlay = drawn.inlay
            width = inlay.seam.width_mm if inlay.seam is not None else mean_width_mm(drawn)
            if inlay.manner is not Manner.SCRAPED or not has_flakes(inlay.mix) or width <= 0.0:
                continue
            first = _mounting_number(case, inlay.name) <= 1
            allowances = case.job.allowances
            sand = allowances.sand_mm if first else allowances.light_sand_mm
            depth = inlay.depth_mm + sand
            recess = mean_recess_mm(width, depth, keeps_share(inlay.mix))
            spot = drawn.region.representative_point()
            yield _single(
                "bright line",
                inlay.name,
                face.name,
                (spot.x, spot.y),
                most_sanding_mm(recess, WANTED, PINNING) - sand,
                0.0,
                (
                    (spreads.sanding(sand, _FACE[face.name]), -1.0),
                    (
                        spreads.shrinkage(inlay.mix.resin.shrinkage),
                        depth * recess_at_mm(1.0, WANTED, PINNING),
                    ),
                ),
            )


def ratios(case: Case) -> Iterator[Quantity]:
    """Yield how far each batch's ratio stays within its resin's tolerance."""
    for pour in case.pours:
        if not isfinite(pour.ratio_error) or pour.ratio_error <= 0.0:
            continue
        spread = spreads.mixing(pour.number, pour.ratio_error)
        yield Quantity(
            "ratio",
            pour.mix.name,
            "front",
            "",
            0.0,
            np.array([pour.mix.resin.tolerance]),
            {spread.key: np.array([1.0])},
            (spread,),
            np.zeros((1, 2)),
            both_ways=True,
        )
