"""The stages in order, each with its tick boxes, its wait and the cautions that apply."""

from __future__ import annotations

from collections.abc import Mapping

from flushwork.book.cautions import stage_cautions
from flushwork.book.figures import Lengths, clean, counted, duration, joined
from flushwork.book.pieces import Pieces
from flushwork.book.records import StageView
from flushwork.job.records import Job
from flushwork.plan.stages import Stage, StageKind


def ticks(job: Job) -> tuple[str, ...]:
    """Return the names of the run's pieces: numbers, then the test pieces."""
    tests = ("T",) if job.test_pieces == 1 else tuple(f"T{n + 1}" for n in range(job.test_pieces))
    return tuple(str(number + 1) for number in range(job.pieces)) + tests


def stage_views(
    pieces: Pieces, letters: Mapping[str, str], lengths: Lengths
) -> tuple[StageView, ...]:
    """Return all stages."""
    return tuple(_stage(pieces, stage, letters, lengths) for stage in pieces.plan.stages)


def _stage(pieces: Pieces, stage: Stage, letters: Mapping[str, str], lengths: Lengths) -> StageView:
    mine = [file for file in pieces.cut_files if file.order.mounting == stage.mounting]
    return StageView(
        number=stage.number,
        face=stage.face,
        title=clean(stage.title),
        because=clean(_sentence(stage.because)),
        details=_details(pieces, stage, letters, lengths),
        wait=_wait(stage),
        ticks=ticks(pieces.job),
        cautions=stage_cautions(pieces.job, stage, mine if stage.mounting else ()),
    )


def _sentence(text: str) -> str:
    text = text.strip()
    return f"{text[0].upper()}{text[1:].rstrip('.')}." if text else ""


def _details(
    pieces: Pieces, stage: Stage, letters: Mapping[str, str], lengths: Lengths
) -> tuple[str, ...]:
    lines: list[str] = []
    if stage.mounting:
        lines.append(f"mounting {stage.mounting}")
    pours = [pour.number for pour in pieces.pours if pour.stage == stage.number]
    if pours:
        word = "pour" if len(pours) == 1 else "pours"
        lines.append(f"{word} {joined([str(number) for number in pours])}")
    if stage.mix:
        lines.append(f"mix {letters.get(stage.mix, '')} {clean(stage.mix)}".replace("  ", " "))
    if stage.subjects and stage.kind is StageKind.DRILL:
        lines.append(counted(_holes(pieces, stage), "hole") + " each piece")
    lines.extend(
        f"the face comes to {lengths.say(entry.face_mm)}, "
        f"the blank to {lengths.say(entry.thickness_mm)}"
        for entry in pieces.replay.ledger
        if entry.stage == stage.number and entry.face == stage.face
    )
    return tuple(lines)


def _holes(pieces: Pieces, stage: Stage) -> int:
    return sum(
        len(pattern.places)
        for face in pieces.faces
        if face.name == stage.face
        for pattern in face.holes
        if pattern.holes.name in stage.subjects
    )


def _wait(stage: Stage) -> str:
    if stage.lag_s <= 0.0:
        return ""
    return f"then wait {duration(stage.lag_s)} at least"
