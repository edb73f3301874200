"""Do the joints of a glued-up blank keep out of what is fine?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from shapely import LineString, MultiPolygon, box

from flushwork.art.drawn import DrawnInlay
from flushwork.art.regions import many
from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Place

FINE_MM: Final = 3.0
"""Lines and words no wider than this show a joint that moves or tears under them (assumed, 2 to 5
mm; a line cut along a joint of your own)."""
CLEAR_MM: Final = 2.0
"""A joint stays so far off what is fine: glue dulls bits and takes no seal (assumed, 1 to 4 mm; as
above)."""


def fine_parts(drawn: DrawnInlay) -> MultiPolygon:
    """Return what of an inlay is fine: all of an engraved one, else what is narrow."""
    if drawn.inlay.v_bit or drawn.region.is_empty:
        return drawn.region
    broad = drawn.region.buffer(-FINE_MM / 2.0).buffer(FINE_MM / 2.0 + 0.01)
    return many(drawn.region.difference(broad))


def joint_through_fine_inlay(build: Build) -> Iterator[Finding]:
    """Yield a warning for each inlay whose fine parts run along a joint, or stand upon one."""
    glue_up, blank = build.job.blank.glue_up, build.job.blank
    if glue_up is None:
        return
    long_mm = blank.length_mm if blank.grain_along_x else blank.width_mm
    for drawn in build.inlays:
        fine = fine_parts(drawn)
        if fine.is_empty:
            continue
        for number, at_mm in enumerate(joints_on(build, drawn), start=1):
            band = (0.0, at_mm - CLEAR_MM, long_mm, at_mm + CLEAR_MM)
            if not blank.grain_along_x:
                band = (band[1], band[0], band[3], band[2])
            met = many(fine.intersection(box(*band)))
            if met.is_empty:
                continue
            spot = met.representative_point()
            line = LineString(
                [(0.0, at_mm), (long_mm, at_mm)]
                if blank.grain_along_x
                else [(at_mm, 0.0), (at_mm, long_mm)]
            )
            off_mm = fine.distance(line)
            yield Finding.warning(
                "joint-in-fine-inlay",
                message=f"Joint {number} of the glue-up runs {off_mm:.1f} mm off fine work of "
                f"{drawn.inlay.name}: a joint that moves, or glue in the cut, shows in a line.",
                remedy=f"Make the strips so that every joint stays {CLEAR_MM:g} mm off lines and "
                "words, or move the inlay.",
                subjects=(subject := drawn.subject,),
                source=build.source_of(subject),
                place=Place(drawn.inlay.face, spot.x, spot.y),
                measure=Measure("off the joint", off_mm, CLEAR_MM, "mm"),
            )
            break


def joints_on(build: Build, drawn: DrawnInlay) -> tuple[float, ...]:
    """Return where the joints run in the frame of an inlay's own face."""
    blank = build.job.blank
    joints = blank.glue_up.joints_mm if blank.glue_up else ()
    if drawn.inlay.face == "front":
        return joints
    wide = blank.width_mm if blank.grain_along_x else blank.length_mm
    mirrored = blank.turn_about_x == blank.grain_along_x
    return tuple(wide - each for each in joints) if mirrored else joints


RULES = (joint_through_fine_inlay,)
