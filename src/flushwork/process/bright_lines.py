"""Lines that shine by flakes: how deep they sink, what sanding leaves bright, what would be better.

Flakes lie flat only near the free surface of their fill, so a line is bright where sanding never
reaches it (see ``resin.recess``).  The sums here are those of a straight slot; the replay shows
what becomes of corners and crossings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

import shapely
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from flushwork.art.board_frame import back_map
from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.job.records import Inlay, Job, Manner, Mix
from flushwork.process.rounds import FacePlanes
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.recess import (
    BARE_WALL_UPTAKE_MM,
    LineProposal,
    Sanding,
    SandLess,
    bright_share,
    cap_left_mm,
    keeps,
    keeps_share,
    mean_recess_mm,
    odds_bright,
    propose,
    recess_at_mm,
    sand_less,
    touch_up_g,
)
from flushwork.resin.thinned import leaves_share
from flushwork.shelf.items import BitKind, PigmentKind

WIDEST_MM: Final = 2.0
"""Flake fills up to this wide are looked at as lines (assumed, 1 to 3 mm: wider ones are sanded
across and shine by their turned flakes alone; a slot-width ladder would replace it)."""

SLOT_MM: Final = 0.02
"""A slot narrower than its bit by this still takes it (assumed, 0.01 to 0.05 mm)."""

FLUTE_SPARE_MM: Final = 1.0
"""Flutes stand out of a cut by this much (common practice, no source)."""

EVAPORATES: Final = 0.9
"""Share of a thinner that leaves, for proposals where the job has none yet (assumed, 0.7 to 1; a
cured strip on a fine scale replaces it)."""


@dataclass(frozen=True, slots=True)
class BrightLine:
    """One line of a job.

    ``depth_mm`` is the slot's depth when it is filled; ``sanding`` all that is taken off its edges
    afterwards, until the finished face.  ``recess_mm`` is the mean recess (negative: proud),
    ``centre_mm`` that in the middle of the width, ``bright`` the share of the width that mean
    sanding leaves bright, ``odds`` the chance that the wanted share stays so.  ``cap_mm`` is the
    clear left over the middle, None without a cap.  ``overfilled`` is the share the naive way
    leaves bright.  ``proposals`` are ways that hold the odds wanted, least thinner first, scraped
    flush and capped, no deeper than ``deepest_mm``: what one pour of the resin, the flutes of a bit
    that enters the line and the wood beneath allow.  Where there are none, ``instead`` is the least
    change of the sanding that would do.  ``touch_up_g`` refills what is expected to miss, of all
    pieces.
    """

    drawn: DrawnInlay
    width_mm: float
    depth_mm: float
    length_mm: float
    sanding: Sanding
    recess_mm: float
    centre_mm: float
    bright: float
    odds: float
    cap_mm: float | None
    overfilled: float
    proposals: tuple[LineProposal, ...]
    touch_up_g: float
    deepest_mm: float = math.inf
    instead: SandLess | None = None

    @property
    def inlay(self) -> Inlay:
        """The inlay as the job has it."""
        return self.drawn.inlay


def bright_lines(
    job: Job, faces: Sequence[DrawnFace], planes: Sequence[FacePlanes]
) -> tuple[BrightLine, ...]:
    """Return every line of a job that shines by flakes; ``planes`` are those of its faces."""
    return tuple(
        _line(job, faces, drawn, planes)
        for face, own in zip(faces, planes, strict=True)
        for together in own.drawn(face)
        for drawn in together
        if _shines(drawn)
    )


def line_width_mm(drawn: DrawnInlay) -> float:
    """Return the width of a line: as the job says, or twice the area over the outline's length."""
    if drawn.inlay.seam is not None:
        return drawn.inlay.seam.width_mm
    edge_mm = drawn.region.length
    return 2.0 * drawn.region.area / edge_mm if edge_mm > 0.0 else 0.0


def _shines(drawn: DrawnInlay) -> bool:
    flakes = any(each.pigment.kind is PigmentKind.FLAKE for each in drawn.inlay.mix.pigments)
    return flakes and not drawn.inlay.v_bit and 0.0 < line_width_mm(drawn) <= WIDEST_MM


def deepest_slot_mm(
    job: Job,
    faces: Sequence[DrawnFace],
    drawn: DrawnInlay,
    planes: Sequence[FacePlanes],
    sanded_mm: float,
) -> float:
    """Return how deep a line may be cut, from the face as it stands ``sanded_mm`` above its finish.

    The least of what one pour of its resin allows, what the flutes of the longest bit that
    enters it allow, and what keeps the least wood between faces over the other face's work as the
    job draws it.
    """
    bounds = [drawn.inlay.mix.resin.layer_mm]
    width_mm = line_width_mm(drawn)
    flutes = [
        bit.flute_mm
        for bit in job.shop.bits
        if bit.kind is BitKind.FLAT and bit.diameter_mm <= width_mm + SLOT_MM
    ]
    if flutes:
        bounds.append(max(flutes) - FLUTE_SPARE_MM)
    thickness_mm = job.blank.thickness_mm + sum(each.finished_mm for each in planes)
    behind = affine_transform(drawn.region, back_map(job.blank).numbers)
    beneath_mm = max(_beneath(faces, drawn, behind), default=0.0)
    bounds.append(thickness_mm - job.allowances.wood_between_mm - beneath_mm + sanded_mm)
    return max(0.0, min(bounds))


def _beneath(
    faces: Sequence[DrawnFace], drawn: DrawnInlay, behind: BaseGeometry
) -> Iterator[float]:
    """Yield how deep the other face is cut behind a line, from its finished face."""
    shapely.prepare(behind)
    for face in faces:
        if face.name == drawn.inlay.face:
            continue
        for other in face.inlays:
            if behind.intersects(other.region):
                yield other.inlay.depth_mm
        for pattern in face.holes:
            radius_mm = pattern.holes.diameter_mm / 2.0
            if pattern.holes.depth_mm is not None and any(
                behind.distance(shapely.Point(hole.x_mm, hole.y_mm)) < radius_mm
                for hole in pattern.places
            ):
                yield pattern.holes.depth_mm


def _kept(mix: Mix, share: float, depth_mm: float) -> float:
    """Return what is left of a mix poured so deep, were it thinned by a share."""
    evaporates = mix.thinner.evaporates if mix.thinner is not None else EVAPORATES
    leaves = leaves_share(mix.resin, share, evaporates, depth_mm)
    return keeps(share, leaves, mix.resin.shrinkage)


def _line(
    job: Job,
    faces: Sequence[DrawnFace],
    drawn: DrawnInlay,
    planes: Sequence[FacePlanes],
) -> BrightLine:
    inlay, given = drawn.inlay, job.allowances
    mix = inlay.mix
    width_mm = line_width_mm(drawn)
    own = next(each for each in planes if each.face == inlay.face)
    before_mm = own.standing_mm(inlay)
    depth_mm = before_mm - own.floor_mm(inlay)
    sandings = len(own.rounds) - own.round_of(inlay.name) + 1
    sanding = Sanding(before_mm - own.finished_mm, given.sand_variation_mm * math.sqrt(sandings))
    bare = job.sealer is None or not inlay.sealed
    uptake_mm = BARE_WALL_UPTAKE_MM if bare and not inlay.second_pass_of else 0.0
    kept = keeps_share(mix, depth_mm)
    overfilled_mm = mean_recess_mm(width_mm, depth_mm, kept, uptake_mm, given.overfill_mm)
    scraped_mm = mean_recess_mm(width_mm, depth_mm, kept, uptake_mm)
    recess_mm = overfilled_mm if inlay.manner is Manner.OVERFILLED else scraped_mm
    odds = odds_bright(recess_mm, job.bright_share, sanding, mix.pinning)
    deepest_mm = deepest_slot_mm(job, faces, drawn, planes, sanding.mean_mm)
    proposals = propose(
        width_mm,
        job.bright_share,
        job.bright_odds,
        sanding,
        kept=partial(_kept, mix),
        deepest_mm=deepest_mm,
        pinning=mix.pinning,
        uptake_mm=uptake_mm,
    )
    length_mm = drawn.region.area / width_mm
    density = mix_density_g_cm3(mix)
    each_g = touch_up_g(length_mm, width_mm, depth_mm, odds, density)
    return BrightLine(
        drawn=drawn,
        width_mm=width_mm,
        depth_mm=depth_mm,
        length_mm=length_mm,
        sanding=sanding,
        recess_mm=recess_mm,
        centre_mm=recess_at_mm(recess_mm, 0.0, mix.pinning) if recess_mm > 0.0 else recess_mm,
        bright=bright_share(recess_mm, sanding.mean_mm, mix.pinning),
        odds=odds,
        cap_mm=cap_left_mm(recess_mm, sanding.mean_mm, mix.pinning)
        if inlay.manner is Manner.CAPPED
        else None,
        overfilled=bright_share(overfilled_mm, sanding.mean_mm, mix.pinning),
        proposals=proposals,
        touch_up_g=each_g * (job.pieces + job.test_pieces),
        deepest_mm=deepest_mm,
        instead=None
        if proposals
        else sand_less(
            width_mm,
            deepest_mm,
            job.bright_share,
            job.bright_odds,
            sanding,
            kept=partial(_kept, mix),
            pinning=mix.pinning,
            uptake_mm=uptake_mm,
        ),
    )
