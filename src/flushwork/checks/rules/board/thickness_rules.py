"""Is there wood left where there must be: between the faces, and under second passes?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import sqrt

from shapely import MultiPolygon, Polygon

from flushwork.art.regions import many
from flushwork.built import Build
from flushwork.checks.expected_board import (
    Sunk,
    all_sunk_in,
    finished_mm,
    finished_thickness_mm,
    sunk_in,
    to_front,
)
from flushwork.core.findings import Finding, Measure, Place, Severity
from flushwork.core.units import down_mm, up_mm
from flushwork.core.words import counted, plural
from flushwork.job.records import FaceName
from flushwork.runtime.memo import memoized
from flushwork.strata.measure import least_wood_between_faces

# ---- Chains of sizes with tolerances: what adds up at worst, and what usually comes out
#
# Worst case: the sum of the tolerances. Root sum square: the root of the sum of their squares, what
# independent errors come to (F. W. Scholz, "Tolerance Stack Analysis Methods", 1995).


@dataclass(frozen=True, slots=True)
class Link:
    """One size of a chain: added (sign 1) or taken off (-1), within a tolerance to both sides."""

    nominal_mm: float
    within_mm: float
    sign: int = 1


@dataclass(frozen=True, slots=True)
class Chain:
    """What a chain comes to."""

    nominal_mm: float
    worst_mm: float
    usual_mm: float


def chain(links: Iterable[Link]) -> Chain:
    """Return the nominal sum of a chain, its worst case and its root sum square."""
    held = tuple(links)
    return Chain(
        sum(link.sign * link.nominal_mm for link in held),
        sum(link.within_mm for link in held),
        sqrt(sum(link.within_mm**2 for link in held)),
    )


# ---- Is there wood left where there must be: between the faces, and under second passes?


AREA_MM2 = 0.05
"""Overlaps smaller than this are edges that touch."""
THICKNESS_VARIATION_MM = 0.1
DEPTH_VARIATION_MM = 0.1
"""Usual variation of a blank's thickness and of one depth (common practice, no source)."""
REPLAY_MM = 0.5
"""The replay's own figure is looked at where the sum comes this near the limit."""
ROUNDING_MM = 1e-3
"""Wood between the faces short by less than this is not short (heights are kept in single
precision)."""
WOOD_BETWEEN_SHARE = 0.2
"""Wood between the faces thinner than this share of the finished board drums and warps (assumed,
0.1 to 0.3)."""
LEFT_SHARE = 0.25
"""Less than this share of the wood asked for, once every variation adds up, must be mended first
(assumed, 0.2 to 0.5: what a pocket's floor needs not to flex under the bit)."""
FIRST_COLOUR_MM = 0.5
"""Least first colour left under a second pass (assumed, 0.3 to 0.8 mm; a step-wedge test strip)."""


@dataclass(frozen=True, slots=True)
class NearWoodBetween:
    """Two things sunk into the two faces with too little wood between them.

    ``shared`` is where they lie over one another, in the front's frame; ``wood_between_mm`` the
    least wood;
    ``holes`` which holes of a pattern are struck, by their numbers; ``asked_mm`` the least wood
    between faces the job asks for.
    """

    front: Sunk
    back: Sunk
    shared: MultiPolygon
    wood_between_mm: float
    limit_mm: float
    holes: tuple[int, ...] = ()
    asked_mm: float = 0.0

    @property
    def place(self) -> Place:
        """A place in the shared region."""
        spot = self.shared.representative_point()
        return Place("front", spot.x, spot.y)


def near_wood_between(build: Build) -> Iterator[NearWoodBetween]:
    """Yield the pairs sunk into the two faces that come too near each other."""
    limit_mm = max(
        build.job.allowances.wood_between_mm, WOOD_BETWEEN_SHARE * finished_thickness_mm(build)
    )
    backs = sunk_in(build, "back")
    for front in sunk_in(build, "front"):
        for back in backs:
            wood_between_mm = build.job.blank.thickness_mm + front.floor_mm + back.floor_mm
            if wood_between_mm > limit_mm + REPLAY_MM:
                continue
            shared = _shared(front.region, to_front(build.job, back.region))
            if shared.area <= AREA_MM2:
                continue
            replayed = least_wood_between_faces(build.replay.final, build.replay.spec, shared)
            if replayed is not None:
                wood_between_mm = min(wood_between_mm, replayed.wood_between_mm)
            if wood_between_mm < limit_mm - ROUNDING_MM:
                struck = _struck(front, shared) or _struck(back, to_front(build.job, shared))
                asked_mm = build.job.allowances.wood_between_mm
                yield NearWoodBetween(
                    front, back, shared, wood_between_mm, limit_mm, struck, asked_mm
                )


@memoized
def _shared(one: MultiPolygon, other: MultiPolygon) -> MultiPolygon:
    return many(one.intersection(other))


def _struck(sunk: Sunk, shared: MultiPolygon) -> tuple[int, ...]:
    """Return the numbers of the holes of a pattern that a region strikes."""
    if not sunk.hole:
        return ()
    return tuple(
        number
        for number, disc in enumerate(sunk.region.geoms, start=1)
        if disc.intersection(shared).area > AREA_MM2
    )


def wood_between_faces(build: Build) -> Iterator[Finding]:
    """Yield findings where what is sunk into the two faces comes too near each other."""
    for near in near_wood_between(build):
        yield _wood_between_finding(near)


def holes_through_the_other_face(build: Build) -> Iterator[Finding]:
    """Yield a must fix where a hole through the board breaks into an inlay of the other face."""
    faces: tuple[FaceName, ...] = ("front", "back")
    for name in faces:
        inlays = [sunk for sunk in sunk_in(build, _other(name)) if not sunk.hole and not sunk.empty]
        for holes in (sunk for sunk in all_sunk_in(build, name) if sunk.through):
            turned = to_front(build.job, holes.region)
            for inlay in inlays:
                shared = _shared(turned, inlay.region)
                if shared.area > AREA_MM2:
                    yield _through_finding(build, holes, inlay, shared)


def _through_finding(build: Build, holes: Sunk, inlay: Sunk, shared: MultiPolygon) -> Finding:
    """Tell of a hole through an inlay; ``shared`` is where, in the frame of the inlay's face."""
    struck = _struck(holes, to_front(build.job, shared))
    where = f"{plural(len(struck), 'hole')} {ranges(struck)} of " if struck else ""
    spot = shared.representative_point()
    return Finding.must_fix(
        "hole-meets-inlay",
        message=f"{where[:1].upper()}{where[1:]}{holes.name} ({holes.face}) come right through "
        f"{inlay.name} ({inlay.face}), over {shared.area:.1f} mm2: resin chips there, and wet "
        "resin would drain through.",
        remedy="Move the holes or the inlay, or drill less deep; accept it only if the hole is "
        "meant to stand in the colour.",
        subjects=(holes.subject, inlay.subject),
        source=holes.source,
        place=Place(inlay.face, spot.x, spot.y),
    )


def _wood_between_finding(near: NearWoodBetween) -> Finding:
    front, back, shared, wood_between_mm = near.front, near.back, near.shared, near.wood_between_mm
    limit_mm = near.limit_mm
    stack = chain(
        (
            Link(wood_between_mm + front.depth_mm + back.depth_mm, THICKNESS_VARIATION_MM),
            Link(front.depth_mm, DEPTH_VARIATION_MM, -1),
            Link(back.depth_mm, DEPTH_VARIATION_MM, -1),
        )
    )
    worst_mm = wood_between_mm - stack.worst_mm
    broken = wood_between_mm <= 0.0
    must = worst_mm <= 0.0 or worst_mm < LEFT_SHARE * near.asked_mm
    holes = front.hole or back.hole
    own, other = (back, front) if back.hole else (front, back)
    where = _where(near)
    return Finding(
        code=("hole-meets-inlay" if holes else "wood-between-gone")
        if broken
        else "wood-between-too-thin",
        severity=Severity.MUST_FIX if broken or must else Severity.WARNING,
        message=(
            f"{front.name} (front) and {back.name} (back) cut through each other{where}: the wood "
            f"between the faces is {wood_between_mm:.2f} mm over {shared.area:.1f} mm2"
            + ("." if front.empty and back.empty else ", and wet resin would drain through.")
            if broken
            else f"Only {wood_between_mm:.2f} mm of wood is left between {front.name} (front) and "
            f"{back.name} (back){where}, over {shared.area:.1f} mm2; {worst_mm:.2f} mm if every "
            f"variation adds up, usually not under {wood_between_mm - stack.usual_mm:.2f} mm."
        ),
        remedy=f"Make one of them {up_mm(limit_mm - wood_between_mm)} mm shallower, or move them "
        "apart. Opaque colour needs about 1.5 mm.",
        subjects=(own.subject, other.subject),
        source=own.source,
        place=near.place,
        measure=Measure("wood between faces", wood_between_mm, limit_mm, "mm"),
    )


def _where(near: NearWoodBetween) -> str:
    """Return at which holes, or at how many places, the two lie over one another."""
    if near.holes:
        return f" at {plural(len(near.holes), 'hole')} {ranges(near.holes)}"
    count = len(near.shared.geoms)
    return f" at {count} places" if count > 1 else ""


def ranges(numbers: Sequence[int]) -> str:
    """Return numbers that rise as they would be read out: 1 to 4, 7, 9 to 12."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs)


def floor_through_blank(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for anything sunk right through the finished board by itself."""
    faces: tuple[FaceName, ...] = ("front", "back")
    for name in faces:
        other = finished_mm(build, _other(name))
        for sunk in sunk_in(build, name):
            if sunk.region.is_empty:
                continue
            left_mm = build.job.blank.thickness_mm + sunk.floor_mm + other
            stack = chain(
                (Link(left_mm, THICKNESS_VARIATION_MM), Link(sunk.depth_mm, DEPTH_VARIATION_MM, -1))
            )
            worst_mm = left_mm - stack.worst_mm
            asked_mm = min(build.job.allowances.wood_between_mm, 1.0)
            limit_mm = max(asked_mm, stack.worst_mm)
            if (
                left_mm > limit_mm - ROUNDING_MM
                or -sunk.floor_mm >= build.job.blank.thickness_mm * 2.0
            ):
                continue
            spot = sunk.region.representative_point()
            yield Finding(
                code="floor-through",
                severity=Severity.MUST_FIX
                if worst_mm <= 0.0 or worst_mm < LEFT_SHARE * asked_mm
                else Severity.WARNING,
                message=f"{sunk.name} leaves {left_mm:.2f} mm of wood under its floor in the "
                f"finished board, {worst_mm:.2f} mm if every variation adds up.",
                remedy="Cut less deep, or start from a thicker blank.",
                subjects=(sunk.subject,),
                source=sunk.source,
                place=Place(name, spot.x, spot.y),
                measure=Measure("floor", left_mm, limit_mm, "mm"),
            )


def second_pass_depth(build: Build) -> Iterator[Finding]:
    """Yield findings for second passes that leave too little of the first colour, or none."""
    faces: tuple[FaceName, ...] = ("front", "back")
    for name in faces:
        sunk = {item.name: item for item in sunk_in(build, name)}
        for drawn in build.face(name).inlays:
            for before in drawn.inlay.second_pass_of:
                if before not in sunk:
                    continue
                left_mm = sunk[drawn.inlay.name].floor_mm - sunk[before].floor_mm
                if left_mm >= FIRST_COLOUR_MM - ROUNDING_MM:
                    continue
                yield _shallow_floor(build, drawn.inlay.name, before, left_mm, sunk)


def _shallow_floor(
    build: Build, name: str, before: str, left_mm: float, sunk: dict[str, Sunk]
) -> Finding:
    item = sunk[name]
    spot = item.region.representative_point()
    through = left_mm < 0.0
    inlay = next(inlay for inlay in build.job.inlays if inlay.name == name)
    most_mm = inlay.depth_mm + left_mm - FIRST_COLOUR_MM
    return Finding(
        code="second-pass-through" if through else "second-pass-floor-thin",
        severity=Severity.MUST_FIX if through else Severity.WARNING,
        message=f"{name} goes {-left_mm:.2f} mm through the floor of {before} into bare wood."
        if through
        else f"{name} leaves only {left_mm:.2f} mm of {before} under it.",
        remedy=f"Cut {name} at most {down_mm(most_mm)} mm deep, or {before} deeper; if a wood "
        "floor is wanted, say so by accepting this.",
        subjects=(item.subject, sunk[before].subject),
        source=item.source,
        place=Place(item.face, spot.x, spot.y),
        measure=Measure("first colour left", left_mm, FIRST_COLOUR_MM, "mm"),
    )


def holes_and_inlays_of_one_face(build: Build) -> Iterator[Finding]:
    """Yield a finding where holes are drilled into an inlay of their own face."""
    faces: tuple[FaceName, ...] = ("front", "back")
    for name in faces:
        items = all_sunk_in(build, name)
        inlaid = [
            item for item in items if not item.hole and not item.empty and not item.region.is_empty
        ]
        for holes in (item for item in items if item.hole):
            for inlay in inlaid:
                struck = [
                    disc
                    for disc in _met(holes.region, inlay.region)
                    if disc.intersection(inlay.region).area > AREA_MM2
                ]
                if not struck:
                    continue
                spot = struck[0].centroid
                yield Finding.warning(
                    "hole-in-inlay",
                    message=f"{counted(len(struck), 'hole')} of {holes.name} "
                    f"run into {inlay.name} of the same face; resin chips at a hole's edge.",
                    remedy="Move one of them, or drill with a sharp bit and a slow plunge if it "
                    "is meant.",
                    subjects=(holes.subject,),
                    source=holes.source,
                    place=Place(name, spot.x, spot.y),
                )


@memoized
def _met(discs: MultiPolygon, region: MultiPolygon) -> tuple[Polygon, ...]:
    """Return the discs that a region meets."""
    return tuple(disc for disc in discs.geoms if disc.intersects(region))


def _other(name: FaceName) -> FaceName:
    return "back" if name == "front" else "front"


RULES = (
    wood_between_faces,
    holes_through_the_other_face,
    floor_through_blank,
    second_pass_depth,
    holes_and_inlays_of_one_face,
)
