"""The care card that goes with the piece, made from what was used; it certifies nothing."""

from __future__ import annotations

from flushwork.job.records import Job, Mix
from flushwork.views.book_records import CareView
from flushwork.views.figures import joined
from flushwork.views.warning_lines import PEGS


def care_view(job: Job) -> CareView:
    """Return the care card of a job."""
    blank = job.blank
    mixes = tuple(
        dict.fromkeys(mix for inlay in job.inlays for mix in _poured(inlay.mix, inlay.cap))
    )
    lines = [f"Made of {blank.wood.name}{_resins(mixes)}{_finish(job)}."]
    lines.append(
        "Wipe with a damp cloth and dry at once. No soaking, no dishwasher, no scouring powder."
    )
    if mixes:
        lines.append(
            "Resin cured at room temperature softens in heat: no hot cups or pans on it, no closed "
            "car in summer, no radiator."
        )
        lines.append(
            "Strong sunlight yellows clear resin and fades some colours; shade keeps both."
        )
    lines.append(
        "Wood moves with the air's moisture: keep it from damp cellars and from the heating; "
        "store it flat, with air on both faces."
    )
    if job.finish is not None:
        lines.append(
            f"When the surface looks dry, a thin fresh coat of {job.finish.finish.name} on a "
            "clean, lightly rubbed surface renews it; try it on the back first."
        )
    if any(
        part.loose_parts or any(face.holes for face in part.faces) for part in (job, *job.parts)
    ):
        lines.append(PEGS)
    lines.append(
        "Let it rest until resin and finish are fully cured before use, as their sheets say. This "
        "card is advice, not a certificate of fitness for food or for children."
    )
    return CareView(heading=f"Looking after {job.title}", lines=tuple(lines))


def _poured(mix: Mix, cap: Mix | None) -> tuple[Mix, ...]:
    return (mix,) if cap is None else (mix, cap)


def _resins(mixes: tuple[Mix, ...]) -> str:
    if not mixes:
        return ""
    resins = joined(list(dict.fromkeys(mix.resin.name for mix in mixes)))
    pigments = list(dict.fromkeys(part.pigment.name for mix in mixes for part in mix.pigments))
    coloured = f" coloured with {joined(pigments)}" if pigments else ""
    return f", inlaid with {resins}{coloured}"


def _finish(job: Job) -> str:
    if job.finish is None:
        return ", without a finish"
    return f", finished with {job.finish.finish.name}"
