"""What has gone into a run stage by stage: hours, machine, timber, resin, wear, at shop prices.

The same figures as the costs of the run, told by the stage that spends them; they add up to the
run's cost within the rounding of its lines.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from flushwork.job.records import Job
from flushwork.plan.cost import (
    CM3_PER_L,
    G_PER_KG,
    MIN_PER_H,
    MM3_PER_DM3,
    S_PER_H,
    amounts_of,
    cents,
)
from flushwork.plan.parts import StagePart
from flushwork.plan.stages import Plan, StageKind
from flushwork.resin.composition import PIGMENT, RESIN, THINNER
from flushwork.resin.pours import Pour
from flushwork.shelf.working import Prices
from flushwork.toolpaths.orders import CutFile

SUNDRY: Final = (
    StageKind.SEAL,
    StageKind.FILL,
    StageKind.CAP,
    StageKind.SAND,
    StageKind.FINISH,
)
"""Stages that share what the shop file calls sundries evenly."""


@dataclass(frozen=True, slots=True)
class StageSpend:
    """What a stage adds to one piece: minutes of work, of them at the machine, and its money.

    ``money`` is None where the shop has no prices.
    """

    stage: int
    minutes: float
    machine_min: float
    money: Decimal | None


@dataclass(frozen=True, slots=True)
class Spending:
    """What a piece costs before anything is done to it, and what each stage adds."""

    currency: str
    timber: Decimal | None
    stages: tuple[StageSpend, ...]

    def before(self, stage: int) -> tuple[float, Decimal | None]:
        """Return the minutes and the money in one piece when a stage begins."""
        past = [item for item in self.stages if item.stage < stage]
        minutes = sum(item.minutes for item in past)
        if self.timber is None:
            return minutes, None
        return minutes, self.timber + sum((item.money or Decimal(0) for item in past), Decimal(0))

    def at(self, stage: int) -> StageSpend:
        """Return what one stage adds."""
        return next(item for item in self.stages if item.stage == stage)


@dataclass
class _Ledger:
    """Minutes and money of the whole run by stage, as they are counted up."""

    minutes: dict[int, float] = field(default_factory=dict)
    machine_min: dict[int, float] = field(default_factory=dict)
    money: dict[int, Decimal] = field(default_factory=dict)

    def pay(self, stage: int, amount: float, price: Decimal | None) -> None:
        """Charge an amount at its price; what has no price costs nothing, as in the run's costs."""
        if price is not None and amount:
            self.money[stage] = self.money.get(stage, Decimal(0)) + Decimal(repr(amount)) * price


def spending_of(
    job: Job,
    plan: Plan,
    parts: Sequence[StagePart],
    pours: Sequence[Pour],
    cut_files: Mapping[int, Sequence[CutFile]],
) -> Spending:
    """Return what each stage adds to one piece of the run, test pieces counted like the others."""
    count = job.pieces + job.test_pieces
    prices = job.shop.prices
    ledger = _Ledger()
    for part in parts:
        number = part.stage.number
        ledger.minutes[number] = ledger.minutes.get(number, 0.0) + part.minutes
        if part.machine:
            ledger.machine_min[number] = ledger.machine_min.get(number, 0.0) + part.minutes
    if prices is not None:
        _charge(ledger, plan, pours, cut_files, prices, count)
    return Spending(
        currency=prices.currency if prices is not None else "",
        timber=_timber(job, prices) if prices is not None else None,
        stages=tuple(
            StageSpend(
                stage.number,
                ledger.minutes.get(stage.number, 0.0) / count,
                ledger.machine_min.get(stage.number, 0.0) / count,
                None
                if prices is None
                else cents(ledger.money.get(stage.number, Decimal(0)) / count),
            )
            for stage in plan.stages
        ),
    )


def _timber(job: Job, prices: Prices) -> Decimal:
    blank = job.blank
    volume = blank.length_mm * blank.width_mm * blank.thickness_mm / MM3_PER_DM3
    price = dict(prices.timber_dm3).get(blank.timber.name, Decimal(0))
    return cents(Decimal(repr(volume)) * price)


def _charge(
    ledger: _Ledger,
    plan: Plan,
    pours: Sequence[Pour],
    cut_files: Mapping[int, Sequence[CutFile]],
    prices: Prices,
    count: int,
) -> None:
    for stage, minutes in ledger.minutes.items():
        ledger.pay(stage, minutes / MIN_PER_H, prices.hands_h)
    for stage, minutes in ledger.machine_min.items():
        ledger.pay(stage, minutes / MIN_PER_H, prices.machine_h)
    tables = {
        RESIN: (dict(prices.resin_kg), G_PER_KG),
        PIGMENT: (dict(prices.pigment_kg), G_PER_KG),
        THINNER: (dict(prices.thinner_l), CM3_PER_L),
    }
    for pour in pours:
        for (kind, name), amount in amounts_of(pour):
            table, per = tables[kind]
            ledger.pay(pour.stage, amount / per, table.get(name))
    known = {each.cutter: each for each in prices.cutters}
    for stage, files in cut_files.items():
        for file in files:
            priced = known.get(file.order.cutter.name)
            if priced is not None:
                lives = count * file.cut_s / S_PER_H / priced.life_h
                ledger.pay(stage, lives, priced.price)
    sharing = [stage.number for stage in plan.stages if stage.kind in SUNDRY]
    for stage in sharing:
        ledger.pay(stage, count / len(sharing), prices.sundries)
