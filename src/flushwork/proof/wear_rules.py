"""Do the cutters reach, and do they last?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import ceil
from typing import Final

from flushwork.built import Build
from flushwork.findings import Finding, Measure, Severity, Subject
from flushwork.job.records import Job
from flushwork.shelf.items import Cutter, CutterKind
from flushwork.toolpaths.orders import CutFile, Work
from flushwork.units import up_mm

FINE_MM: Final = 1.6
FINE_LIFE_H, LIFE_H = 2.0, 6.0
"""Hours of cutting after which a cutter of carbide is dull in hardwood, one under 1.6 mm and a
stouter one (assumed, 0.5 to 5 and 2 to 15; the cutter's life in the shop file's prices, counted,
replaces it)."""
HOLDER_MM: Final = 1.0
"""A holder that comes nearer to the face than this is too near (assumed, 0.5 to 3 mm)."""
S_PER_H: Final = 3600.0


def cutting_h(job: Job, cut_files: Iterable[CutFile]) -> dict[str, tuple[Cutter, float]]:
    """Return the cutters of a run, drills left out, each with the hours it cuts in all pieces."""
    pieces = job.pieces + job.test_pieces
    found: dict[str, tuple[Cutter, float]] = {}
    for file in cut_files:
        cutter = file.order.cutter
        if cutter.kind is CutterKind.DRILL or not file.order.operations:
            continue
        _, hours = found.get(cutter.name, (cutter, 0.0))
        found[cutter.name] = (cutter, hours + pieces * file.cut_s / S_PER_H)
    return found


def life_h(job: Job, cutter: Cutter) -> float:
    """Return after how many hours of cutting a cutter is dull: as counted, or as assumed."""
    prices = job.shop.prices
    counted = {each.cutter: each.life_h for each in prices.cutters} if prices is not None else {}
    return counted.get(cutter.name, FINE_LIFE_H if cutter.diameter_mm < FINE_MM else LIFE_H)


def cutter_wears(build: Build) -> Iterator[Finding]:
    """Yield a note for each cutter that cuts longer in this run than it stays sharp."""
    for name, (cutter, hours) in cutting_h(build.job, build.cut_files).items():
        sharp_h = life_h(build.job, cutter)
        if hours <= sharp_h:
            continue
        yield Finding(
            code="cutter-wears",
            severity=Severity.NOTE,
            message=f"The {name} cuts for {hours:.1f} h in this run, and is dull after about "
            f"{sharp_h:g} h: its slots grow narrower and their edges furry.",
            remedy=f"Have {ceil(hours / sharp_h) - 1} spare at hand, and touch off after each "
            "change.",
            subjects=(Subject("bit", name),),
            source=build.source_of(build.cut_thing(_first_cut_by(build, name))),
            measure=Measure("cutting", hours, sharp_h, "h"),
        )


def _first_cut_by(build: Build, cutter: str) -> str:
    return next(
        file.order.operations[0].subject
        for file in build.cut_files
        if file.order.cutter.name == cutter and file.order.operations
    )


def holder_touches(build: Build) -> Iterator[Finding]:
    """Yield a stop where a cutter sinks so deep that what holds it comes down on the face."""
    told: set[tuple[str, str]] = set()
    for file in build.cut_files:
        cutter = file.order.cutter
        for operation in file.order.operations:
            deep = -operation.floor_mm
            if operation.work is Work.LEVEL or deep <= cutter.reach_mm - HOLDER_MM:
                continue
            if (operation.subject, cutter.name) in told:
                continue
            told.add((operation.subject, cutter.name))
            yield Finding(
                code="holder-touches",
                severity=Severity.STOP,
                message=f"{operation.subject} is cut {deep:.1f} mm deep, but the {cutter.name} "
                f"stands out of its holder by {cutter.reach_mm:g} mm: the holder would come down "
                "on the face.",
                remedy=f"Let it stand out by {up_mm(deep + HOLDER_MM, 1)} mm or more (`reach` in "
                "the shop file; it bends more then), take a longer cutter, or cut less deep.",
                subjects=(thing := build.cut_thing(operation.subject),),
                source=build.source_of(thing),
                measure=Measure("depth", deep, cutter.reach_mm - HOLDER_MM, "mm"),
            )


RULES = (cutter_wears, holder_touches)
