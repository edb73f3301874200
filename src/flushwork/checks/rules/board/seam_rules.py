"""Does what is cut in a later setup meet what was cut before?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.art.regions import united
from flushwork.built import Build
from flushwork.checks import registration
from flushwork.checks.seam_cover import (
    EDGE_BLUR_MM,
    Growth,
    SeamPlaces,
    comes_back,
    datum_mm,
    growth_between,
    margin_mm,
    moisture_when_cutting,
    places_along,
    setup_of,
    weakest,
)
from flushwork.core.findings import Finding, Measure, Place, Severity, Subject
from flushwork.core.tolerances import VISIBLE_MM
from flushwork.job.records import Job

ROUNDING_MM = 0.02
"""A margin short by less than this is even, not short."""
SPARE_MM = 0.05
"""Less margin than this over what adds up is told (assumed, 0.02 to 0.1 mm; registration marks)."""
TOUCHING_MM = 0.05
REPEATS = 4.0
"""A holding that comes back further off than so many times what it does usually was not used as
meant (assumed, 3 to 5)."""
LOUPE_MM = 0.1
"""What readings are off at most (assumed, 0.05 to 0.15 mm: twice what a loupe reads)."""
MOST_POINTS = 4.0
"""Points of moisture that wood in a shop hardly moves by between two cuts (assumed, 3 to 6)."""


@dataclass(frozen=True, slots=True)
class Cover:
    """A seam line, the place where it covers worst, and the figures there.

    ``growth_mm`` is the wood's deviation across the line, ``repeat_mm`` that of the setup,
    ``margin_mm`` what is left when all of it adds up, ``odds`` those of one piece at that place.
    """

    drawn: DrawnInlay
    at_mm: tuple[float, float]
    growth: Growth
    growth_mm: float
    repeat_mm: float
    margin_mm: float
    odds: float


def seam_covers(build: Build) -> tuple[Cover, ...]:
    """Return how each seam line cut in another setup than its inlays covers their edges."""
    found: list[Cover] = []
    for drawn in build.inlays:
        seam = drawn.inlay.seam
        own = setup_of(build.plan, drawn.inlay.name)
        if seam is None or drawn.strokes.is_empty:
            continue
        earlier = [name for name in seam.along if setup_of(build.plan, name) not in (own, None)]
        covers = [_cover(build, drawn, name) for name in earlier]
        if covers:
            found.append(min(covers, key=lambda cover: (cover.margin_mm, cover.odds)))
    return tuple(found)


def _cover(build: Build, drawn: DrawnInlay, before: str) -> Cover:
    job, seam = build.job, drawn.inlay.seam
    width = seam.width_mm if seam is not None else 0.0
    places = places_along(drawn.strokes)
    growth = growth_between(job, build.plan, drawn.inlay.face, before, drawn.inlay.name)
    moved: NDArray[np.float64] = growth.at(places.at_mm, places.across)
    worst = int(np.argmax(np.abs(moved)))
    grown = abs(float(moved[worst]))
    if growth.stretch == 0.0:
        worst, _ = weakest(places, moved, comes_back(job), margin_mm(width))
    at = places.at_mm[worst : worst + 1]
    spot = SeamPlaces(at, places.across[worst : worst + 1])
    _, odds = weakest(spot, moved[worst : worst + 1], comes_back(job), margin_mm(width))
    return Cover(
        drawn=drawn,
        at_mm=(float(at[0, 0]), float(at[0, 1])),
        growth=growth,
        growth_mm=grown,
        repeat_mm=job.holding.repeat_mm,
        margin_mm=margin_mm(width) - job.holding.repeat_mm - grown,
        odds=odds,
    )


def seam_not_covered(build: Build) -> Iterator[Finding]:
    """Yield a finding for each seam line that may leave the edge it follows in sight."""
    for cover in seam_covers(build):
        if cover.margin_mm >= SPARE_MM:
            continue
        inlay = cover.drawn.inlay
        seam = inlay.seam
        width = seam.width_mm if seam is not None else 0.0
        short = cover.margin_mm < -ROUNDING_MM
        grown = (
            f"the wood has grown by {cover.growth_mm:.2f} mm there"
            if cover.growth.stretch > 0.0
            else f"the wood has shrunk by {cover.growth_mm:.2f} mm there"
        )
        yield Finding(
            code="seam-not-covered",
            severity=Severity.MUST_FIX if short else Severity.WARNING,
            message=f"{inlay.name} is {width:g} mm wide and covers its edge within "
            f"{width / 2:.2f} mm; {grown if cover.growth_mm > 0.0 else 'the wood has not moved'}, "
            f"the setup comes back within {cover.repeat_mm:g} mm and the old edge is blurred by "
            f"{EDGE_BLUR_MM:g} mm: "
            + (
                f"old colour shows by up to {-cover.margin_mm:.2f} mm"
                if short
                else f"{max(0.0, cover.margin_mm):.2f} mm is left"
            )
            + f". About {100 * (1 - cover.odds):.0f} pieces in 100 show it there.",
            remedy=_mends(build.job, cover),
            subjects=(Subject("inlay", inlay.name),),
            source=inlay.source,
            place=Place(inlay.face, *cover.at_mm),
            measure=Measure("cover margin", cover.margin_mm, 0.0, "mm"),
        )


def _mends(job: Job, cover: Cover) -> str:
    """Return what would mend a seam line that does not cover, each with its new figure."""
    growth, seam = cover.growth, cover.drawn.inlay.seam
    width = seam.width_mm if seam is not None else 0.0
    varies = cover.repeat_mm + EDGE_BLUR_MM
    wider = 2.0 * (varies + cover.growth_mm + 2.0 * SPARE_MM)
    told = [f"make the line {_tenths(wider):.1f} mm wide"]
    if growth.stretch != 0.0:
        face = cover.drawn.inlay.face
        axis = cover.at_mm[1] if growth.along_x else cover.at_mm[0]
        central = abs(growth.stretch * (axis - datum_mm(job, face, "centre line")))
        if central < cover.growth_mm - ROUNDING_MM:
            left = width / 2.0 - varies - central
            told.append(
                f"locate by pins on the centre line along the grain (growth {central:.2f} mm, "
                f"{max(left, 0.0):.2f} mm left, or a line of "
                f"{_tenths(2 * (varies + central + 2 * SPARE_MM)):.1f} mm)"
            )
        told.append(
            "read registration marks and stretch the G-code file across the grain by "
            f"{1.0 + growth.stretch:.5f} ({width / 2 - varies:.2f} mm left)"
        )
        told.append("bring the wood back to the moisture of its first cut")
    else:
        told.append("locate by dowels in bushings, or cut it in the same setup")
    return "; or ".join(told).capitalize() + "."


def _tenths(value: float) -> float:
    """Return a width rounded up to a tenth, two hundredths overlooked."""
    return float(np.ceil((value - ROUNDING_MM) * 10.0) / 10.0)


def joint_without_line(build: Build) -> Iterator[Finding]:
    """Yield a warning where colours of two setups meet and no line hides the joint."""
    repeat_mm = build.job.holding.repeat_mm
    if repeat_mm <= VISIBLE_MM:
        return
    for face in build.faces:
        for index, drawn in enumerate(face.inlays):
            for other in face.inlays[:index]:
                if _meets_bare(build, face, drawn, other):
                    yield _joint(drawn, other, repeat_mm)


def _meets_bare(build: Build, face: DrawnFace, drawn: DrawnInlay, other: DrawnInlay) -> bool:
    names = (drawn.inlay.name, other.inlay.name)
    if drawn.inlay.seam is not None or other.inlay.seam is not None:
        return False
    if drawn.inlay.mix.name == other.inlay.mix.name or other.inlay.name in _into(drawn):
        return False
    if setup_of(build.plan, names[0]) == setup_of(build.plan, names[1]):
        return False
    if drawn.region.is_empty or drawn.region.distance(other.region) > TOUCHING_MM:
        return False
    joint = drawn.region.boundary.intersection(other.region.buffer(TOUCHING_MM))
    lines = united([item.region for item in face.inlays if item.inlay.seam is not None])
    return bool(joint.difference(lines).length > 2.0 * TOUCHING_MM)


def _into(drawn: DrawnInlay) -> tuple[str, ...]:
    return drawn.inlay.second_pass_of


def _joint(drawn: DrawnInlay, other: DrawnInlay, repeat_mm: float) -> Finding:
    spot = shapely.shortest_line(drawn.region, other.region).centroid
    return Finding.warning(
        "joint-without-line",
        message=f"{drawn.inlay.name} meets {other.inlay.name}, which was cut in another setup "
        f"that comes back only within {repeat_mm:g} mm: the eye sees {VISIBLE_MM:g} mm.",
        remedy="Lay a seam line along the joint, let wood stand between them, or locate by dowels.",
        subjects=(drawn.subject,),
        source=drawn.inlay.source,
        place=Place(drawn.inlay.face, spot.x, spot.y),
        measure=Measure("comes back within", repeat_mm, VISIBLE_MM, "mm"),
    )


def registration_marks(build: Build) -> Iterator[Finding]:
    """Yield what the registration marks of the job say."""
    yield from told_by_marks(build.job)


def told_by_marks(job: Job) -> Iterator[Finding]:
    """Yield what a job's registration marks say: a movement to apply, or the mark to read again."""
    marks = job.registration_marks
    if not marks:
        return
    about = (0.0, 0.0)
    along_x = job.blank.grain_along_x
    source = marks[0].source
    if len(marks) < registration.ENOUGH:
        yield Finding.warning(
            "registration-marks-too-few",
            message=f"{len(marks)} registration marks leave too little over to find a misread one.",
            remedy=f"Cut and read {registration.ENOUGH}, near the corners of the blank.",
            subjects=(Subject("key", "registration marks"),),
            source=source,
            measure=Measure("marks", float(len(marks)), float(registration.ENOUGH), ""),
        )
        return
    moved = registration.fit(marks, about, grain_along_x=along_x)
    if moved.worst_mm > registration.AGREE_MM:
        yield _disagree(job, moved)
        return
    points = 100.0 * moved.stretch / _per_moisture(job)
    yield from _unlikely(job, moved, points)
    yield Finding.note(
        "registration-marks-read",
        message=f"The registration marks say: shift {moved.shift_mm[0]:+.2f}, "
        f"{moved.shift_mm[1]:+.2f} mm, turn {1000 * moved.turn_rad:+.2f} mrad, stretch across the "
        f"grain {100 * moved.stretch:+.2f} % (about {points:+.1f} points of moisture), none of "
        f"them more than {moved.worst_mm:.3f} mm from that.",
        remedy="Compare the moisture with your log; shift, turn and stretch the next G-code file "
        "by this only once you have confirmed it.",
        subjects=(Subject("key", "registration marks"),),
        source=source,
        measure=Measure("stretch", 100 * moved.stretch, None, "%"),
    )


def _unlikely(job: Job, moved: registration.Moved, points: float) -> Iterator[Finding]:
    """Yield a warning for a movement that neither the holding nor the wood can have made."""
    blank, repeat_mm = job.blank, job.holding.repeat_mm
    across_mm = blank.width_mm if blank.grain_along_x else blank.length_mm
    allowed_mm = REPEATS * repeat_mm + LOUPE_MM + abs(moved.stretch) * across_mm
    far_mm = registration.farthest_mm(job.registration_marks, moved)
    wet = abs(points) > MOST_POINTS
    if far_mm <= allowed_mm and not wet:
        return
    yield Finding.warning(
        "registration-marks-unlikely",
        message=(
            f"The registration marks agree, but on a stretch of {100 * moved.stretch:+.2f} %: "
            f"about {points:+.1f} points of moisture, and a shop rarely sees {MOST_POINTS:g} "
            "between two cuts."
            if wet
            else f"The registration marks agree, but on a shift and turn of {far_mm:.2f} mm: "
            f"{job.holding.name} comes back within {repeat_mm:g} mm, and {allowed_mm:.2f} mm would "
            "be much."
        ),
        remedy="See that the readings are in the unit they stand with, and are how far off a mark "
        "is and not where it is; measure one by another means before you correct a file by it.",
        subjects=(Subject("key", "registration marks"),),
        source=job.registration_marks[0].source,
        measure=Measure("moisture", abs(points), MOST_POINTS, "points")
        if wet
        else Measure("shift and turn", far_mm, allowed_mm, "mm"),
    )


def _per_moisture(job: Job) -> float:
    blank = job.blank
    wood = blank.wood
    return 100.0 * (wood.tangential_per_pct if blank.flat_sawn else wood.radial_per_pct)


def _disagree(job: Job, moved: registration.Moved) -> Finding:
    marks = job.registration_marks
    found = registration.misread(marks, (0.0, 0.0), grain_along_x=job.blank.grain_along_x)
    index = found[0] if found is not None else int(np.argmax(moved.residuals_mm))
    mark = marks[index]
    return Finding.must_fix(
        "registration-mark-disagrees",
        message=f"Mark {index + 1} disagrees by {found[1]:.2f} mm with the other "
        f"{len(marks) - 1}, which agree without it within {found[2].worst_mm:.3f} mm: "
        "a slip of a sign?"
        if found is not None
        else f"No one shift, turn and stretch fits the marks: one is {moved.worst_mm:.2f} mm off.",
        remedy=f"Read mark {index + 1} again."
        if found is not None
        else "Read all of them again, and check that each is where the job says.",
        subjects=(Subject("key", "registration marks"),),
        source=mark.source,
        place=Place("front", mark.x_mm, mark.y_mm),
        measure=Measure("residual", moved.worst_mm, registration.AGREE_MM, "mm"),
    )


def moisture_apart(build: Build) -> Iterator[Finding]:
    """Yield a note where the log says the wood has moved and nobody reads registration marks."""
    job = build.job
    if not job.moisture_log or job.registration_marks:
        return
    read = [moisture_when_cutting(job, build.plan, inlay.name) for inlay in job.inlays]
    change = max(read) - min(read)
    moved = (
        change
        * _per_moisture(job)
        * (job.blank.width_mm if job.blank.grain_along_x else job.blank.length_mm)
    )
    if moved <= VISIBLE_MM:
        return
    yield Finding.note(
        "wood-moves-between-cuts",
        message=f"The moisture log spans {100 * change:.1f} points, {moved:.2f} mm over the width "
        "of the blank across the grain.",
        remedy="Cut four registration marks into the waste in the first setup and read them in the "
        "next.",
        subjects=(Subject("key", "moisture log"),),
        source=job.moisture_log[0].source,
        measure=Measure("movement", moved, VISIBLE_MM, "mm"),
    )


RULES = (seam_not_covered, joint_without_line, registration_marks, moisture_apart)
