"""Does the board as cut agree with the artwork as drawn?"""

from __future__ import annotations

from collections.abc import Iterator

from shapely import MultiPolygon

from flushwork.findings import Finding, Measure, Place, Severity
from flushwork.fit.reach import Fit
from flushwork.geometry.drawn import DrawnFace, DrawnInlay
from flushwork.geometry.regions import united
from flushwork.plan.heights import face_planes, floor_mm
from flushwork.plan.rounds import rounds
from flushwork.plan.stages import StageKind
from flushwork.proof.case import Case
from flushwork.strata.intent import compare

AROUND_MM = 1.0
"""How far around an inlay the cut is looked at."""
LEAST_AROUND_MM = 0.3
HALF_CELLS = 1.5
"""A difference this many cells to its middle is more than the edge's own blur."""
AREA_MM2 = 0.2


def cut_against_artwork(case: Case) -> Iterator[Finding]:
    """Yield a stop where the replayed cut leaves stock that was meant to go, or goes beyond."""
    for face in case.faces:
        face_rounds = rounds(face)
        planes = face_planes(case.job.allowances, face_rounds)
        for number, drawn_round in enumerate(face_rounds, start=1):
            stage = next(
                item
                for item in case.plan.stages
                if item.kind is StageKind.CUT and item.face == face.name and item.round == number
            )
            stack = case.replay.after(stage.number).face(face.name)
            for drawn in drawn_round:
                fit = case.fit(drawn.inlay.name)
                if drawn.inlay.vee or not fit.cutters:
                    continue
                meant = meant_region(fit)
                if meant.is_empty:
                    continue
                floor = floor_mm(drawn.inlay, planes, number)
                if floor >= stack.plane_mm:
                    continue
                around_mm = _free_around_mm(face, drawn)
                found = compare(stack, case.replay.spec, meant, floor, around_mm)
                least_mm = HALF_CELLS * case.replay.spec.cell_mm
                if found.missed_mm2 > AREA_MM2 and found.missed_half_mm > least_mm:
                    yield _differs(
                        drawn,
                        "cut-misses-artwork",
                        found.missed_mm2,
                        found.missed_at,
                        "is left standing that the artwork wants gone",
                    )
                if (
                    around_mm > LEAST_AROUND_MM
                    and found.beyond_mm2 > AREA_MM2
                    and found.beyond_half_mm > least_mm
                ):
                    yield _differs(
                        drawn,
                        "cut-beyond-artwork",
                        found.beyond_mm2,
                        found.beyond_at,
                        "is cut that the artwork wants left",
                    )


def meant_region(fit: Fit) -> MultiPolygon:
    """Return what the chosen cutters shall cut of an inlay: all that they reach."""
    reached = [reach.reached for cutter in fit.cutters if (reach := fit.reach(cutter)) is not None]
    return united(reached) if reached else fit.drawn.region


def _free_around_mm(face: DrawnFace, drawn: DrawnInlay) -> float:
    """Return how far around an inlay no other is, at most AROUND_MM."""
    gaps = [
        drawn.region.distance(other.region)
        for other in face.inlays
        if other is not drawn and not other.region.is_empty
    ]
    return max(0.05, min([AROUND_MM, *(gap / 2.0 for gap in gaps)]))


def _differs(
    drawn: DrawnInlay, code: str, area_mm2: float, at: tuple[float, float] | None, what: str
) -> Finding:
    inlay = drawn.inlay
    return Finding(
        code=code,
        severity=Severity.STOP,
        message=f"{area_mm2:.2f} mm2 of {inlay.name} {what}, as the cut files replay.",
        remedy="Do not run these files: cutter, zero or file differ from what the job asks.",
        subject=inlay.name,
        source=inlay.source,
        place=Place(inlay.face, *at) if at is not None else None,
        measure=Measure("area", area_mm2, AREA_MM2, "mm2"),
    )


RULES = (cut_against_artwork,)
