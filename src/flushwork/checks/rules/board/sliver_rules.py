"""Is the wood between neighbours broad enough to stand, and to keep proud resin apart?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot
from typing import Final

import shapely
from shapely import Polygon, STRtree

from flushwork.art.drawn import DrawnFace
from flushwork.art.regions import apart_mm
from flushwork.built import Build
from flushwork.checks.expected_board import sunk_in
from flushwork.core.findings import Finding, Measure, Place, Severity, Subject
from flushwork.core.units import up_mm
from flushwork.job.records import FaceName, Job, Manner
from flushwork.process.rounds import FacePlanes

ALONG_MM: Final = 1.0
"""Least wood between neighbours where the sliver runs along the grain (assumed, 0.7 to 1.5 mm; a
ladder of slivers on a test strip)."""
ACROSS_MM: Final = 1.5
"""... and where it runs across the grain, and is short-grained (assumed, 1.5 to 2 mm)."""
HELD_MM: Final = 0.5
"""... and where hard resin holds it from one side while the other is cut (assumed, 0.3 to 0.8 mm;
as above)."""
SNAPS: Final = 4.0
"""A short-grained sliver this many times taller than broad snaps (assumed, 3 to 6; as above)."""
TOUCHES_MM: Final = 0.03
"""Nearer than this they touch, and no wood is meant to stand between."""


@dataclass(frozen=True, slots=True)
class SunkPart:
    """One closed part of something sunk into a face."""

    subject: Subject
    outline: Polygon
    depth_mm: float
    hole: bool = False
    round: int = 0


@dataclass(frozen=True, slots=True)
class Sliver:
    """Wood between two parts at its narrowest: width, the least allowed there, place, height.

    ``across`` tells how much the sliver runs across the grain: 1 wholly, 0 along it.
    """

    between: tuple[Subject, Subject]
    width_mm: float
    limit_mm: float
    at_mm: tuple[float, float]
    height_mm: float
    across: float

    @property
    def snaps(self) -> bool:
        """Whether it is short-grained, much taller than broad, and will not stand the cutting."""
        return self.across > 0.5 and self.height_mm >= SNAPS * self.width_mm


def slivers(build: Build, name: FaceName) -> tuple[Sliver, ...]:
    """Return the slivers of wood between parts of a face that are narrower than wood stands."""
    numbers = {
        item: number
        for number, together in enumerate(build.plan.on(name).rounds, start=1)
        for item in together
    }
    face = build.face(name)
    last = len(build.plan.on(name).rounds) + 1
    numbers |= {drawn.pocket.name: last for drawn in face.pockets}
    engraved = {drawn.thing.name for drawn in face.things if drawn.thing.v_bit}
    parts = [
        SunkPart(item.subject, outline, item.depth_mm, item.hole, numbers.get(item.name, 0))
        for item in sunk_in(build, name)
        if item.name not in engraved
        for outline in item.region.geoms
    ]
    if len(parts) < 2:
        return ()
    tree = STRtree([part.outline for part in parts])
    found: list[Sliver] = []
    for index, part in enumerate(parts):
        for other in tree.query(part.outline, predicate="dwithin", distance=ACROSS_MM):
            if part.hole and parts[int(other)].hole:
                continue  # holes beside holes are told by their own rule
            if int(other) > index:
                sliver = _between(build.job, part, parts[int(other)], parts, tree)
                if sliver is not None:
                    found.append(sliver)
    return tuple(found)


def _between(
    job: Job, first: SunkPart, second: SunkPart, parts: list[SunkPart], tree: STRtree
) -> Sliver | None:
    link = shapely.shortest_line(first.outline, second.outline)
    width = float(link.length)
    if width <= TOUCHES_MM:
        return None
    (x0, y0), (x1, y1) = link.coords
    run = abs(x1 - x0) if job.blank.grain_along_x else abs(y1 - y0)
    across = run / hypot(x1 - x0, y1 - y0)  # the link along the grain: the sliver across it
    limit = ALONG_MM + (ACROSS_MM - ALONG_MM) * across**2
    if first.round and second.round and first.round != second.round:
        limit = HELD_MM
    if width >= limit:
        return None
    middle = link.interpolate(0.5, normalized=True)
    if any(parts[int(index)].outline.covers(middle) for index in tree.query(middle)):
        return None  # a third part takes that wood away
    height = min(first.depth_mm, second.depth_mm)
    pair = (first.subject, second.subject)
    return Sliver(pair, width, limit, (middle.x, middle.y), height, across)


def slivers_of_wood(build: Build) -> Iterator[Finding]:
    """Yield one finding for each face and pair of neighbours whose wood between is too thin."""
    for face in build.faces:
        by_pair: dict[tuple[Subject, Subject], list[Sliver]] = {}
        for sliver in slivers(build, face.name):
            by_pair.setdefault(sliver.between, []).append(sliver)
        for pair, found in by_pair.items():
            worst = min(found, key=lambda sliver: sliver.width_mm / sliver.limit_mm)
            yield _thin(build, face.name, pair, worst, len(found))


def _thin(
    build: Build, face: FaceName, pair: tuple[Subject, Subject], worst: Sliver, count: int
) -> Finding:
    one, two = (subject.name for subject in pair)
    between = f"within {one}" if one == two else f"between {one} and {two}"
    where = f" at {count} places" if count > 1 else ""
    grain = "across" if worst.across > 0.5 else "along"
    snaps = worst.snaps
    return Finding(
        code="wood-sliver-thin",
        severity=Severity.MUST_FIX if snaps else Severity.WARNING,
        message=f"Only {worst.width_mm:.2f} mm of wood stands {between}{where}, "
        f"{worst.height_mm:.1f} mm tall, running {grain} the grain: "
        + ("it will snap." if snaps else f"less than {worst.limit_mm:.1f} mm splinters easily."),
        remedy=f"Move them {up_mm(worst.limit_mm - worst.width_mm)} mm apart, let them meet under "
        "a seam line, or fill one and mill it flush before the other is cut (`after:`).",
        subjects=pair,
        source=build.source_of(pair[0]),
        place=Place(face, *worst.at_mm),
        measure=Measure("wood between", worst.width_mm, worst.limit_mm, "mm"),
    )


def proud_fills_meet(build: Build) -> Iterator[Finding]:
    """Yield a warning where two wet colours run over their edges onto one narrow strip of wood."""
    overspill_mm = build.job.allowances.overspill_mm
    for face in build.faces:
        pairs = _neighbours(face, build.plan.on(face.name), 2.0 * overspill_mm)
        if not pairs:
            continue
        wood_between, first, second, at = min(pairs)
        also = f" ({len(pairs) - 1} more like it)" if len(pairs) > 1 else ""
        yield Finding.warning(
            "proud-fills-meet",
            message=f"{first} and {second} are overfilled wet beside each other with "
            f"{wood_between:.2f} mm of wood between{also}: each runs {overspill_mm:g} mm over its "
            f"edge, and the colours mingle.",
            remedy="Scrape them (`how: scraped flush`) or dam the wood between with tape; or write "
            "`after:` in one of them, so that the other is hard before it is cut.",
            subjects=(own := Subject("inlay", second), Subject("inlay", first)),
            source=build.source_of(own),
            place=Place(face.name, *at),
            measure=Measure("wood between", wood_between, 2.0 * overspill_mm, "mm"),
        )


def _neighbours(
    face: DrawnFace, planes: FacePlanes, limit_mm: float
) -> list[tuple[float, str, str, tuple[float, float]]]:
    found: list[tuple[float, str, str, tuple[float, float]]] = []
    for together in planes.drawn(face):
        wet = [item for item in together if item.inlay.manner is Manner.OVERFILLED]
        for index, drawn in enumerate(wet):
            for other in wet[:index]:
                if drawn.inlay.mix.name == other.inlay.mix.name:
                    continue
                wood_between = apart_mm(drawn.region, other.region)
                if TOUCHES_MM < wood_between < limit_mm:
                    spot = shapely.shortest_line(drawn.region, other.region).centroid
                    found.append(
                        (wood_between, other.inlay.name, drawn.inlay.name, (spot.x, spot.y))
                    )
    return found


RULES = (slivers_of_wood, proud_fills_meet)
