"""The cheapest single change that turns a stop or a caution green, tried on the proof itself."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from flushwork.findings import Finding, Severity
from flushwork.job.records import GridHoles, Inlay, Job
from flushwork.proof.quantity import Quantity as Held
from flushwork.proof.vary import Hear, VaryError, changed, loud
from flushwork.shelf.items import CutterKind
from flushwork.units import Quantity, quantity_text

ROUND_MM: Final = 0.05
"""Depths and widths are proposed in steps of this much."""
STEPS: Final = (1.0, 2.0, 4.0)
MOST_TRIED: Final = 8


@dataclass(frozen=True, slots=True)
class Change:
    """One change of the job: a key, its new value, how dear it is (0 is a stroke of the pen)."""

    key: str
    value: str
    cost: int


@dataclass(frozen=True, slots=True)
class Mend:
    """A finding, the cheapest change found that takes it away, and how many were tried.

    ``change`` is None where none of those tried does so without raising something else.
    """

    finding: Finding
    change: Change | None
    tried: int


def propose(
    text: str, job: Job, findings: Sequence[Finding], hear: Hear, only: str = ""
) -> tuple[Mend, ...]:
    """Return a mend for each stop and caution for which changes can be thought of.

    ``only`` keeps to the findings of one code.
    """
    before = loud(findings)
    found: list[Mend] = []
    for finding in findings:
        if finding.severity is Severity.NOTE or finding.accepted is not None:
            continue
        if only and finding.code != only:
            continue
        changes = changes_for(finding, job)[:MOST_TRIED]
        if not changes:
            continue
        tried = 0
        green: Change | None = None
        for change in changes:
            tried += 1
            if _green(text, change, finding, before, hear):
                green = change
                break
        found.append(Mend(finding, green, tried))
    return tuple(found)


def _green(
    text: str, change: Change, finding: Finding, before: set[tuple[str, str]], hear: Hear
) -> bool:
    try:
        after = loud(hear(changed(text, change.key, change.value)))
    except VaryError:
        return False
    return (finding.code, finding.subject) not in after and after <= before


def changes_for(finding: Finding, job: Job) -> tuple[Change, ...]:
    """Return the changes worth trying for a finding, by its code, the cheapest first."""
    inlay = next((item for item in job.inlays if item.name == finding.subject), None)
    tries = TRIES.get(finding.code)
    found = tries(finding, job, inlay) if tries is not None else ()
    return tuple(sorted(found, key=lambda change: change.cost))


FIGURES: Final = {
    "web-too-thin": "web",
    "web-broken": "web",
    "hole-meets-inlay": "web",
    "second-pass-through": "first colour left",
    "second-pass-floor-thin": "first colour left",
    "seam-not-covered": "seam cover",
    "fill-does-not-hide": "fill left",
    "cap-too-thin": "cap left",
    "wood-sliver-thin": "wood between",
    "thinned-by-sanding": "engraved stroke",
    "sanded-away": "engraved stroke",
}
"""Which quantity of the odds tells a finding's figure when it is no longer told."""


def figure_after(finding: Finding, held: Sequence[Held]) -> tuple[str, float, float] | None:
    """Return the figure of a mended finding: what it is, its least value and its limit, mm."""
    name = FIGURES.get(finding.code)
    mine = [item for item in held if item.name == name and _speaks_of(item, finding.subject)]
    if name is None or not mine:
        return None
    worst = min(mine, key=lambda item: float(item.nominal.min()) - item.limit)
    return name, float(worst.nominal.min()), worst.limit


def _speaks_of(item: Held, subject: str) -> bool:
    return subject == item.subject or subject in item.subject.split(" over ")


Tries = Callable[[Finding, Job, Inlay | None], Iterator[Change]]


def _key(inlay: Inlay, *rest: str) -> str:
    return ".".join((inlay.face, "inlays", inlay.name, *rest))


def _mm(value: float) -> str:
    return quantity_text(round(value / ROUND_MM) * ROUND_MM, Quantity.LENGTH, decimals=2)


def _short(finding: Finding) -> float:
    measure = finding.measure
    return abs(measure.value - measure.limit) if measure and measure.limit is not None else 0.0


def _shallower(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del job
    if inlay is not None:
        depth = inlay.depth_mm - _short(finding) - ROUND_MM / 2.0
        if depth > ROUND_MM:
            yield Change(_key(inlay, "depth"), _mm(depth), 0)


def _web(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    yield from _shallower(finding, job, inlay)
    for holes in (item for face in job.faces for item in face.holes):
        if holes.name == finding.subject:
            depth = holes.depth_mm - _short(finding) - ROUND_MM / 2.0
            yield Change(f"{holes.face}.holes.{holes.name}.depth", _mm(depth), 0)
    for other in job.inlays:
        if other is not inlay and other.name in finding.message:
            yield from _shallower(finding, job, other)
    yield Change("blank.thickness", _mm(job.blank.thickness_mm + _short(finding) + ROUND_MM), 3)


def _layer(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    if inlay is None:
        return
    depth = inlay.depth_mm - _short(finding) - ROUND_MM
    if depth > 0.0:
        yield Change(_key(inlay, "depth"), _mm(depth), 0)
    deeper = [resin for resin in job.shop.resins if resin.layer_mm > inlay.depth_mm + 1.0]
    for resin in deeper[:1]:
        yield Change(f"mixes.{inlay.mix.name}.resin", resin.name, 2)


def _wider(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    if inlay is None or inlay.seam is None:
        return
    margin = finding.measure.value if finding.measure is not None else 0.0
    yield Change("datum", "centre line", 0)
    widths = sorted(
        cutter.diameter_mm
        for cutter in job.shop.cutters
        if cutter.diameter_mm >= inlay.seam.width_mm + 2.0 * (0.05 - margin)
    )
    for width in widths[:2]:
        yield Change(_key(inlay, "seam line", "width"), _mm(width), 1)


def _deeper(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding, job
    if inlay is not None:
        for step in STEPS:
            yield Change(_key(inlay, "depth"), _mm(inlay.depth_mm + 0.25 * step), 0)


def _capped(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    if inlay is None:
        return
    for step in STEPS:
        yield Change(_key(inlay, "depth"), _mm(inlay.depth_mm + 0.25 * step), 0)
    if inlay.mix.thinner is not None:
        for step in STEPS:
            share = 100.0 * inlay.mix.thinner_share + 2.0 * step
            yield Change(f"mixes.{inlay.mix.name}.thinner.share", f"{share:g} %", 1)
    del finding, job


def _sanded(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    yield Change("allowances.sand", _mm(job.allowances.sand_mm / 2.0), 1)
    yield from _deeper(finding, job, inlay)


def _uncapped(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding, job
    if inlay is not None:
        yield Change(_key(inlay, "how"), "scraped and capped", 0)


def _scraped(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    if inlay is not None:
        yield Change(_key(inlay, "how"), "scraped", 0)
    yield Change("allowances.rim", _mm(max(0.1, job.allowances.rim_mm / 2.0)), 0)
    del finding


def _sealed(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding, inlay
    for sealer in job.shop.sealers[:1]:
        yield Change("sealer", sealer.name, 0)


def _batch(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding, inlay
    for step in STEPS:
        yield Change("pieces", str(job.pieces + int(step)), 3)


def _layers(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    if inlay is not None:
        yield Change(_key(inlay, "in layers"), "yes", 1)
    yield from _layer(finding, job, inlay)


def _after(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    """Yield a cut in a later round, once the neighbour is filled and level."""
    del finding
    if inlay is None:
        return
    for other in job.inlays:
        if other.face == inlay.face and other is not inlay and not other.after:
            yield Change(_key(other, "after"), f"[{inlay.name}]", 1)


def _holes(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    """Yield wider pitches, then narrower holes."""
    del inlay
    for holes in (item for face in job.faces for item in face.holes):
        if holes.name != finding.subject:
            continue
        key = f"{holes.face}.holes.{holes.name}"
        if isinstance(holes.pattern, GridHoles):
            pitch = max(holes.pattern.pitch_x_mm, holes.pattern.pitch_y_mm)
            yield Change(f"{key}.grid.pitch", _mm(pitch + _short(finding) + ROUND_MM), 1)


def _pegs(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    """Yield holes with the play that is wanted."""
    del inlay
    for holes in (item for face in job.faces for item in face.holes):
        if holes.name == finding.subject:
            more = _short(finding) + ROUND_MM / 2.0
            change = more if finding.code == "peg-tight" else -more
            diameter = f"{holes.diameter_mm + change:.2f} mm"
            yield Change(f"{holes.face}.holes.{holes.name}.diameter", diameter, 1)


def _other_fill(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    """Yield the other mixes of the job that have a colour of their own."""
    del finding
    if inlay is not None:
        for mix in job.mixes:
            if mix.name != inlay.mix.name and not mix.clear:
                yield Change(_key(inlay, "fill"), mix.name, 1)


def _clear_cap(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding
    if inlay is not None:
        for mix in job.mixes:
            if mix.clear:
                yield Change(_key(inlay, "cap"), mix.name, 0)


def _no_flame(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del job, inlay
    yield Change(f"mixes.{finding.subject}.bubbles", "pick", 0)


def _tabs(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding, job, inlay
    yield Change("trim line.tabs", "4", 0)


def _coating(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding
    if inlay is not None:
        for resin in job.shop.resins:
            if resin.kind == "coating":
                yield Change(f"mixes.{inlay.mix.name}.resin", resin.name, 2)


def _patience(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    """Yield longer waits for the cure, in days."""
    del job, inlay
    hours = finding.measure.value if finding.measure is not None else 24.0
    for factor in (1.5, 2.0, 3.0, 5.0):
        yield Change("cure wait", f"{math.ceil(hours * factor):d} h", 2)


def _sharper(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    """Yield narrower V cutters, then broader strokes."""
    del finding
    if inlay is None:
        return
    vees = [item for item in job.shop.cutters if item.kind is CutterKind.VEE]
    for cutter in sorted(vees, key=lambda item: item.angle_rad):
        yield Change(_key(inlay, "cutters"), f"[{cutter.name}]", 0)


def _bubbles(finding: Finding, job: Job, inlay: Inlay | None) -> Iterator[Change]:
    del finding, job
    if inlay is not None:
        yield Change(f"mixes.{inlay.mix.name}.bubbles", "vacuum", 1)


TRIES: Final[dict[str, Tries]] = {
    "web-too-thin": _web,
    "web-broken": _web,
    "hole-meets-inlay": _web,
    "floor-through": _web,
    "wood-sliver-thin": _after,
    "holes-too-close": _holes,
    "peg-tight": _pegs,
    "peg-loose": _pegs,
    "low-contrast": _other_fill,
    "fill-without-colour": _other_fill,
    "cap-not-clear": _clear_cap,
    "flame-near-solvent": _no_flame,
    "trim-without-tabs": _tabs,
    "casting-in-thin-slot": _coating,
    "cure-cut-short": _patience,
    "engraving-shallow": _sharper,
    "second-pass-through": _shallower,
    "second-pass-floor-thin": _shallower,
    "pour-too-deep": _layers,
    "seam-not-covered": _wider,
    "fill-does-not-hide": _deeper,
    "odds-poor": _deeper,
    "cap-too-thin": _capped,
    "bright-line-dull": _capped,
    "bright-line-uncapped": _uncapped,
    "thinned-by-sanding": _sanded,
    "sanded-away": _sanded,
    "proud-fills-meet": _scraped,
    "fill-before-seal": _sealed,
    "batch-below-tools": _batch,
    "bubbles-stay": _bubbles,
}
