"""Feed, speed and depth of pass proposed for one bit in one material on one machine."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from math import cos, sqrt
from typing import Final

from flushwork.core.tolerances import SLOT_WIDTH_MM
from flushwork.fit.cutting_force import (
    CARBIDE_N_MM2,
    STRESS_SHARE,
    Bending,
    Stock,
    bending,
    edges_in_cut,
    power_w,
    side_force_n,
    thickest_mm,
    thinning,
)
from flushwork.shelf.items import Bit, BitKind, Machine

PLUNGE_SHARE: Final = 1.0 / 3.0
"""Plunge at a third of the feed: common practice, no source."""

RESIN_RPM: Final = 12000.0
"""Fastest spindle in cured resin, which melts and smears before it burns.

Common practice, no source: 10 000 to 14 000 per minute; a groove cut in a resin test strip at three
speeds would replace it.
"""

FINE_BIT_MM: Final = 1.6
"""Bits under this diameter take half the depth in resin: common practice, no source."""

RUB_SHARE: Final = 0.5
"""Chips thinner than this share of the bit's own rub and burn: the pass gets shallower instead.

Assumed (0.3 to 0.7); three slots at falling feed, the first that scorches, would replace it.
"""

DEFLECTION_MM: Final = SLOT_WIDTH_MM
"""A tip bent aside further than this cuts a slot that is visibly off: the slot's tolerance."""

RUN_UP_MM: Final = 10.0
"""A feed that needs a longer way to be reached is hardly ever reached.  Assumed (5 to 20 mm)."""

POWER_SHARE: Final = 0.5
"""Share of a spindle's power to count on: what it says it takes is not what it gives.  Assumed
(0.4 to 0.7)."""

LIGHT_MOST: Final = 1.4
"""A light cut is fed at most this much faster than a slot, however thin its chips get.

Assumed (1.2 to 1.5): past it the wobble of a small bit makes chips of its own.
"""


class Limit(StrEnum):
    """What keeps a feed from being higher."""

    CHIP = "chip load"
    FEED = "machine's feed"
    RUN_UP = "acceleration"
    SPINDLE = "spindle's speed"
    POWER = "spindle's power"
    STRESS = "bending stress"
    DEFLECTION = "deflection"
    MELTING = "melting resin"


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is proposed for a bit in a material, and what binds it.

    ``feed_mm_min`` is for a cut as wide as the bit; lighter ones may be fed faster
    (``light``).  ``chip_mm`` is the advance per edge at that feed, ``pass_mm`` the depth of one
    pass, ``step`` the step-over as a share of the diameter.  ``force_n`` pulls the tip aside at the
    end of its life by ``deflection_mm`` and strains it to ``stress_share`` of carbide's strength.
    ``binds`` keeps the feed where it is; ``too_much`` says that a cut as deep and as fast as the
    bit's own, in its full width, would bend or strain it too far.
    """

    bit: Bit
    machine: Machine
    stock: Stock
    feed_mm_min: float
    plunge_mm_min: float
    spindle_rpm: float
    chip_mm: float
    pass_mm: float
    step: float
    force_n: float
    deflection_mm: float
    stress_n_mm2: float
    power_w: float
    binds: Limit
    too_much: bool

    @property
    def stress_share(self) -> float:
        """The stress as a share of the strength of carbide."""
        return self.stress_n_mm2 / CARBIDE_N_MM2


LEAST_PASS_MM: Final = 0.02
"""No pass is thinner: a bit that stands less than this in the wood at hand does not cut it
(assumed, 0.01 to 0.05 mm; a slot on a test strip replaces it)."""


def stands(bit: Bit, machine: Machine, stock: Stock) -> bool:
    """Whether a bit bears a pass that is worth the name in the wood at hand."""
    return _stands(bit, machine, stock, bit.diameter_mm)[0] >= min(LEAST_PASS_MM, bit.pass_mm)


@lru_cache(maxsize=1024)
def propose(bit: Bit, machine: Machine, stock: Stock) -> Proposal:
    """Return feed, speed and depth of pass of a full-width cut, and what binds them.

    First the depth and the chip, by what the bit stands; then the feed, turns per minute x
    flutes x chip, by what the machine does.  Where the machine cannot feed so fast the spindle
    slows, so that the chip stays as thick; where it cannot turn so slowly the chip gets thinner, or
    the pass shallower where power is short.
    """
    depth, chip, held = _stands(bit, machine, stock, bit.diameter_mm)
    depth = max(depth, min(LEAST_PASS_MM, bit.pass_mm))
    wanted = min(bit.spindle_rpm, RESIN_RPM) if stock.melts else bit.spindle_rpm
    rpm = min(max(wanted, machine.spindle_min_rpm), machine.spindle_max_rpm)
    binds = held or (Limit.MELTING if wanted < bit.spindle_rpm else Limit.CHIP)
    if rpm < wanted and held is None:
        binds = Limit.SPINDLE
    feed = rpm * bit.flutes * chip
    most, by = _machine_most(bit, machine, stock, depth, chip)
    if feed > most:
        feed, binds = most, by
        rpm = min(max(feed / (bit.flutes * chip), machine.spindle_min_rpm), rpm)
        if by is Limit.POWER:
            feed = bit.flutes * chip * rpm
            depth *= most / feed
        chip = feed / (bit.flutes * rpm)
    force = _force_n(bit, machine, stock, depth, chip, bit.diameter_mm)
    beam = bending(bit)
    return Proposal(
        bit=bit,
        machine=machine,
        stock=stock,
        feed_mm_min=feed,
        plunge_mm_min=min(feed * PLUNGE_SHARE, machine.plunge_mm_min),
        spindle_rpm=rpm,
        chip_mm=chip,
        pass_mm=depth,
        step=bit.step,
        force_n=force,
        deflection_mm=force * beam.mm_per_n,
        stress_n_mm2=force * beam.n_mm2_per_n,
        power_w=power_w(stock, chip, feed, bit.diameter_mm, _edge_mm(bit, depth)),
        binds=binds,
        too_much=held is not None,
    )


def push_n(bit: Bit, machine: Machine, stock: Stock, depth_mm: float, chip_mm: float) -> float:
    """Return how hard a full-width cut pushes sideways, in N, at the end of the bit's life."""
    return _force_n(bit, machine, stock, depth_mm, chip_mm, bit.diameter_mm)


def light(proposal: Proposal, width_mm: float) -> float:
    """Return how much faster than its full-width feed a cut ``width_mm`` wide may be fed.

    Thin chips allow it, up to ``LIGHT_MOST`` and to what the machine feeds at all.
    """
    thin = min(thinning(width_mm, proposal.bit.diameter_mm), LIGHT_MOST)
    return min(thin, max(1.0, proposal.machine.feed_mm_min / proposal.feed_mm_min))


def deepest_mm(proposal: Proposal, width_mm: float) -> float:
    """Return how deep a cut ``width_mm`` wide may be at its light feed, bending and strain kept.

    Never deeper than the flutes are long.
    """
    bit = proposal.bit
    per_mm = _light_force_n(proposal, width_mm, 1.0)
    if per_mm <= 0.0:
        return bit.flute_mm
    return min(_allowed_n(bending(bit))[0] / per_mm, bit.flute_mm)


def wall_deflection_mm(proposal: Proposal, left_mm: float, depth_mm: float) -> float:
    """Return how far the tip bends aside where a pass takes the last ``left_mm`` off a wall.

    The pass is ``depth_mm`` deep, or as deep as ``deepest_mm`` allows.  So far the wall may stand
    off its place at the end of the bit's life; a sharp one bends half as far (``DULL``).  The
    figure a tolerance of the wall's place has to hold.
    """
    deep = min(depth_mm, deepest_mm(proposal, left_mm))
    return _light_force_n(proposal, left_mm, deep) * bending(proposal.bit).mm_per_n


def _light_force_n(proposal: Proposal, width_mm: float, depth_mm: float) -> float:
    bit = proposal.bit
    advance = proposal.chip_mm * light(proposal, width_mm)
    chip = thickest_mm(advance, width_mm, bit.diameter_mm)
    return _force_n(bit, proposal.machine, proposal.stock, depth_mm, chip, width_mm)


def own_pass_mm(bit: Bit, *, melts: bool) -> float:
    """Return the bit's own depth of pass, halved for fine ones in resin."""
    fine = melts and bit.diameter_mm < FINE_BIT_MM
    return bit.pass_mm / 2.0 if fine else bit.pass_mm


def _stands(
    bit: Bit, machine: Machine, stock: Stock, width_mm: float
) -> tuple[float, float, Limit | None]:
    """Return depth and chip that neither bend nor strain the bit too far, and what held them.

    In wood the chip gets thinner first, in what melts the pass gets shallower at once: slow feeds
    make heat.
    """
    depth, chip = own_pass_mm(bit, melts=stock.melts), bit.chip_mm
    if bit.kind is BitKind.DRILL:
        return depth, chip, None
    allowed, limit = _allowed_n(bending(bit))
    if _force_n(bit, machine, stock, depth, chip, width_mm) <= allowed:
        return depth, chip, None
    least = chip if stock.melts else RUB_SHARE * chip
    low = _force_n(bit, machine, stock, depth, least, width_mm)
    if low >= allowed:
        return depth * allowed / low, least, limit
    high = _force_n(bit, machine, stock, depth, chip, width_mm)
    return depth, least + (chip - least) * (allowed - low) / (high - low), limit


def _allowed_n(beam: Bending) -> tuple[float, Limit]:
    by_stress = STRESS_SHARE * CARBIDE_N_MM2 / beam.n_mm2_per_n
    by_bend = DEFLECTION_MM / beam.mm_per_n
    return (by_stress, Limit.STRESS) if by_stress < by_bend else (by_bend, Limit.DEFLECTION)


def _force_n(
    bit: Bit, machine: Machine, stock: Stock, depth_mm: float, chip_mm: float, width_mm: float
) -> float:
    """Return the side force of a cut; wobble thickens one edge's chip by its own measure."""
    if bit.kind is BitKind.DRILL:
        return 0.0
    wobble = min(machine.wobble_mm, (bit.flutes - 1) * chip_mm)
    edges = edges_in_cut(bit.flutes, width_mm, bit.diameter_mm)
    return side_force_n(stock, chip_mm + wobble, _edge_mm(bit, depth_mm), edges)


def _edge_mm(bit: Bit, depth_mm: float) -> float:
    """Return how long an edge is in a cut that deep: a V-bit's lies aslant."""
    aslant = cos(bit.angle_rad / 2.0) if bit.kind is BitKind.V_BIT else 1.0
    return depth_mm / aslant


def _machine_most(
    bit: Bit, machine: Machine, stock: Stock, depth_mm: float, chip_mm: float
) -> tuple[float, Limit]:
    """Return the fastest feed the machine has for this cut, and what of it is short."""
    found = [
        (machine.feed_mm_min, Limit.FEED),
        (60.0 * sqrt(2.0 * machine.acceleration_mm_s2 * RUN_UP_MM), Limit.RUN_UP),
    ]
    if machine.spindle_w > 0.0:
        per_feed = power_w(stock, chip_mm, 1.0, bit.diameter_mm, depth_mm)
        found.append((POWER_SHARE * machine.spindle_w / per_feed, Limit.POWER))
    return min(found)
