"""How much sealer and finish a run takes: the area brushed, over what a litre covers.

The area of cut walls and floors is the replay's, of faces and edges the job's own.  A sealer that
is uncured resin is measured like a pour (``process.sealing``), and is not told of here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from flushwork.art.drawn import DrawnFace
from flushwork.core.units.kinds import CM3_PER_L
from flushwork.job.records import Job
from flushwork.process.sealing import BESIDE_MM, brushed_mm2, seals_beside
from flushwork.process.stages import Plan, Stage, StageKind
from flushwork.shelf.working import StockKind
from flushwork.strata.surfaces import Poured

LEFT: Final = 1.25
"""By how much more is taken than covers: what stays in brush, rag and pot (assumed, 1.1 to 1.5; the
tin weighed before and after the first coat replaces it)."""
LIQUID_G_CM3: Final = 0.9
"""Shellac in alcohol and varnish in white spirit, liquid (from memory, 0.85 to 1.05)."""
MM2_PER_M2: Final = 1e6


@dataclass(frozen=True, slots=True)
class Coats:
    """What a run takes of one liquid that is brushed or wiped on, all its pieces and coats."""

    kind: StockKind
    name: str
    coats: int
    covers_m2_l: float
    volume_cm3: float

    @property
    def mass_g(self) -> float:
        """The same by weight."""
        return self.volume_cm3 * LIQUID_G_CM3


def coats_of(
    job: Job, faces: Sequence[DrawnFace], plan: Plan, poured: Sequence[Poured]
) -> tuple[Coats, ...]:
    """Return how much sealer and finish a run takes."""
    return (*_sealer(job, faces, plan, poured), *_finish(job, faces))


def _sealer(
    job: Job, faces: Sequence[DrawnFace], plan: Plan, poured: Sequence[Poured]
) -> Iterator[Coats]:
    sealer = job.sealer
    seals = [stage for stage in plan.stages if stage.kind is StageKind.SEAL]
    if sealer is None or sealer.resin or not seals:
        return
    area_mm2 = sum(
        sum(area for _, area in brushed_mm2(job, plan, stage, poured))
        + _beside_mm2(job, faces, stage)
        for stage in seals
    )
    volume_cm3 = _volume_cm3(job, area_mm2, sealer.covers_m2_l)
    yield Coats(StockKind.SEALER, sealer.name, len(seals), sealer.covers_m2_l, volume_cm3)


def _beside_mm2(job: Job, faces: Sequence[DrawnFace], stage: Stage) -> float:
    """Return the area beside the walls that a later seal is brushed on too."""
    if not seals_beside(stage):
        return 0.0
    wide_mm = job.allowances.overspill_mm + BESIDE_MM
    return sum(
        float(drawn.region.length) * wide_mm
        for face in faces
        if face.name == stage.face
        for drawn in face.inlays
        if drawn.inlay.name in stage.subjects
    )


def _finish(job: Job, faces: Sequence[DrawnFace]) -> Iterator[Coats]:
    """Both faces and the edges of the piece as it is trimmed."""
    if job.finish is None or not faces:
        return
    piece = faces[0].blank if faces[0].trim.is_empty else faces[0].trim
    finish, coats = job.finish.finish, job.finish.coats
    area_mm2 = 2.0 * float(piece.area) + float(piece.length) * job.blank.thickness_mm
    volume_cm3 = _volume_cm3(job, area_mm2 * coats, finish.covers_m2_l)
    yield Coats(StockKind.FINISH, finish.name, coats, finish.covers_m2_l, volume_cm3)


def _volume_cm3(job: Job, area_mm2: float, covers_m2_l: float) -> float:
    pieces = job.pieces + job.test_pieces
    return LEFT * pieces * area_mm2 / MM2_PER_M2 / covers_m2_l * CM3_PER_L
