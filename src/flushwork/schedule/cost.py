"""What a run costs, line by line, and what has to be asked for it.

Amounts are decimals in the shop's own currency, each line rounded to the hundredth (half up), so
that what is printed adds up to the sum that is printed.

The same stage by stage: what has gone into a piece when a stage begins.  Told by the stage that
spends it, it adds up to the run's cost within the rounding of its lines.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from flushwork.core.units.kinds import CM3_PER_L, HOUR_MIN, HOUR_S
from flushwork.job.records import Job
from flushwork.process.stages import Plan, StageKind
from flushwork.resin.composition import HARDENER, PIGMENT, RESIN, THINNER
from flushwork.resin.pours import Part as PourPart
from flushwork.resin.pours import Pour
from flushwork.schedule.hand_work import box_uses
from flushwork.schedule.run import StagePart
from flushwork.shelf.working import Prices
from flushwork.toolpaths.orders import GcodeFile
from flushwork.wood.box_sizes import MadeBox

CENT = Decimal("0.01")
MM3_PER_DM3 = 1e6
G_PER_KG = 1000.0


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line: what, how much of it in ``unit``, what it comes to.

    ``waste`` is the share of it that ends in no piece; ``priced`` tells whether the shop file has
    a price for it.
    """

    kind: str
    what: str
    amount: float
    unit: str
    total: Decimal
    waste: float = 0.0
    priced: bool = True


@dataclass(frozen=True, slots=True)
class RunCost:
    """What a run costs: ``pieces`` to sell, ``test_pieces`` for testing, line by line."""

    currency: str
    pieces: int
    test_pieces: int
    lines: tuple[CostLine, ...]
    hands_h: float
    wanted_h: Decimal

    @property
    def total(self) -> Decimal:
        """The cost of the run."""
        return sum((line.total for line in self.lines), Decimal(0))

    @property
    def each(self) -> Decimal:
        """The cost of one piece to sell; the test pieces are paid by the others."""
        return cents(self.total / self.pieces)

    @property
    def without_hands(self) -> Decimal:
        """The cost of everything but the hours of work."""
        return sum((line.total for line in self.lines if line.kind != "work"), Decimal(0))

    @property
    def price(self) -> Decimal:
        """The price of one piece at which every hour brings what it shall."""
        hours = cents(Decimal(repr(self.hands_h)) * self.wanted_h)
        return cents((self.without_hands + hours) / self.pieces)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """What is used but has no price in the shop file."""
        return tuple(line.what for line in self.lines if not line.priced)


def cents(amount: Decimal) -> Decimal:
    """Return an amount to the hundredth, half up."""
    return amount.quantize(CENT, rounding=ROUND_HALF_UP)


def run_cost(
    job: Job,
    parts: Sequence[StagePart],
    pours: Sequence[Pour],
    cut_s: Mapping[str, float],
    prices: Prices,
    parted: int = 1,
    others: Sequence[Job] = (),
    box: MadeBox | None = None,
) -> RunCost:
    """Return the cost of a run; of a blank that is ``parted`` every piece is sold.

    ``others`` are the further parts of the job: each has its own number of blanks, and the pieces
    sold are those of the first.  ``cut_s`` is how long each bit cuts in all pieces, by its name;
    ``parts`` are all tasks of the run, for their minutes; ``box`` is the box that goes with each
    piece.
    """
    blanks = [each.pieces + each.test_pieces for each in (job, *others)]
    hands_h = sum(part.minutes for part in parts) / HOUR_MIN
    machine_h = sum(part.minutes for part in parts if part.machine) / HOUR_MIN
    lines = [
        *_woods((job, *others), prices),
        *(
            _line("material", use.what, use.amount, use.unit, use.price)
            for use in box_uses(job, box, prices)
        ),
        *_poured(pours, prices),
        *_bits(cut_s, prices),
        _line(
            "sundries",
            "sealer, finish, abrasives, cups",
            blanks[0] * parted + sum(blanks[1:]),
            "pieces",
            prices.sundries,
        ),
        _line("machine", "machine", machine_h, "h", prices.machine_h),
        _line("work", "work", hands_h, "h", prices.hands_h),
    ]
    return RunCost(
        currency=prices.currency,
        pieces=job.pieces * parted,
        test_pieces=job.test_pieces * parted,
        lines=tuple(lines),
        hands_h=hands_h,
        wanted_h=prices.wanted_h,
    )


def _line(
    kind: str, what: str, amount: float, unit: str, price: Decimal | None, waste: float = 0.0
) -> CostLine:
    total = cents(Decimal(repr(float(amount))) * (price or Decimal(0)))
    return CostLine(kind, what, amount, unit, total, waste, price is not None)


def _wood(job: Job, prices: Prices) -> CostLine:
    """Return the wood of the blanks of one part of a job."""
    blank = job.blank
    volume = blank.length_mm * blank.width_mm * blank.thickness_mm / MM3_PER_DM3
    price = dict(prices.wood_dm3).get(blank.wood.name)
    return _line("material", blank.wood.name, (job.pieces + job.test_pieces) * volume, "dm3", price)


def _woods(jobs: Sequence[Job], prices: Prices) -> list[CostLine]:
    """Return the wood of all parts of a job, a line for each kind."""
    lines: dict[str, CostLine] = {}
    for job in jobs:
        if job.sawn_for_box:
            continue
        line = _wood(job, prices)
        known = lines.get(line.what)
        if known is not None:
            line = replace(line, amount=known.amount + line.amount, total=known.total + line.total)
        lines[line.what] = line
    return list(lines.values())


def _poured(pours: Sequence[Pour], prices: Prices) -> list[CostLine]:
    """Return what is mixed: resin with hardener, pigments, thinners, and the share wasted.

    Of a common clear batch everything is counted once, what is left over included.
    """
    used: dict[tuple[str, str], float] = {}
    wasted: dict[tuple[str, str], float] = {}
    for pour in pours:
        filled_cm3 = pour.needed_cm3 + pour.also_cm3
        waste = 1.0 - min(1.0, filled_cm3 / pour.batch_cm3) if pour.batch_cm3 else 0.0
        for key, amount in amounts_of(pour):
            used[key] = used.get(key, 0.0) + amount
            wasted[key] = wasted.get(key, 0.0) + waste * amount
    lines: list[CostLine] = []
    for kind, (table, unit, per) in _price_lists(prices).items():
        for (of_kind, name), amount in sorted(used.items()):
            if of_kind == kind and amount > 0.0:
                share = wasted[of_kind, name] / amount
                lines.append(_line("material", name, amount / per, unit, table.get(name), share))
    return lines


def mixed_cost(pour: Pour, prices: Prices) -> Decimal:
    """Return what the parts of one batch cost; a part without a price costs nothing."""
    lists = _price_lists(prices)
    total = Decimal(0)
    for (kind, name), amount in amounts_of(pour):
        table, _, per = lists[kind]
        total += Decimal(repr(amount / per)) * table.get(name, Decimal(0))
    return cents(total)


def _price_lists(prices: Prices) -> dict[str, tuple[dict[str, Decimal], str, float]]:
    """Return by kind the prices by name, the unit they are for, and how much of it one is."""
    return {
        RESIN: (dict(prices.resin_kg), "kg", G_PER_KG),
        PIGMENT: (dict(prices.pigment_kg), "kg", G_PER_KG),
        THINNER: (dict(prices.thinner_l), "l", CM3_PER_L),
    }


def amounts_of(pour: Pour) -> Iterable[tuple[tuple[str, str], float]]:
    """Yield (kind, name) and the amount of each part: g, of thinner cm3."""
    first = all(pour.number < other for other in pour.shares_clear_with)
    parts: tuple[PourPart, ...] = pour.parts + (pour.clear_parts if first else ())
    resin = pour.mix.resin.name
    for part in parts:
        if part.kind in (RESIN, HARDENER):
            yield (RESIN, resin), part.mass_g
        elif part.kind == PIGMENT:
            yield (PIGMENT, part.name), part.mass_g
        elif part.kind == THINNER:
            yield (THINNER, part.name), part.volume_cm3


def _bits(cut_s: Mapping[str, float], prices: Prices) -> list[CostLine]:
    """Return the wear of the bits: the share of its life that each one is used."""
    known = {each.bit: each for each in prices.bits}
    lines: list[CostLine] = []
    for name, seconds in sorted(cut_s.items()):
        priced = known.get(name)
        hours = seconds / HOUR_S
        lives = hours / priced.life_h if priced is not None else 0.0
        price = priced.price if priced is not None else None
        lines.append(_line("wear", name, lives, "of a bit", price))
    return lines


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
    """What a stage adds to one piece: minutes of work, and its money.

    ``money`` is None where the shop has no prices.
    """

    stage: int
    minutes: float
    money: Decimal | None


@dataclass(frozen=True, slots=True)
class Spending:
    """What a piece costs before anything is done to it, and what each stage adds."""

    currency: str
    wood: Decimal | None
    stages: tuple[StageSpend, ...]

    def before(self, stage: int) -> tuple[float, Decimal | None]:
        """Return the minutes and the money in one piece when a stage begins."""
        past = [item for item in self.stages if item.stage < stage]
        minutes = sum(item.minutes for item in past)
        if self.wood is None:
            return minutes, None
        return minutes, self.wood + sum((item.money or Decimal(0) for item in past), Decimal(0))

    def at(self, stage: int) -> StageSpend:
        """Return what one stage adds."""
        return next(item for item in self.stages if item.stage == stage)


def spending_of(
    job: Job,
    plan: Plan,
    parts: Sequence[StagePart],
    pours: Sequence[Pour],
    gcode_files: Mapping[int, Sequence[GcodeFile]],
    parted: int = 1,
    box: MadeBox | None = None,
) -> Spending:
    """Return what each stage adds to one piece of the run, test pieces counted like the others.

    Every piece that a blank is ``parted`` into has its share of what goes into the blank.
    """
    blanks = job.pieces + job.test_pieces
    count = blanks * parted
    prices = job.shop.prices
    minutes: Counter[int] = Counter()
    machine_min: Counter[int] = Counter()
    for part in parts:
        minutes[part.stage.number] += part.minutes
        machine_min[part.stage.number] += part.minutes if part.machine else 0
    money: dict[int, Decimal] = defaultdict(Decimal)
    charged = _by_the_hour(minutes, machine_min, prices) if prices is not None else ()
    more = _by_use(plan, pours, gcode_files, prices, (blanks, parted)) if prices is not None else ()
    own = _for_boxes(job, plan, box, prices) if prices is not None else ()
    for stage, amount, price in (*charged, *more, *own):
        # what has no price costs nothing, as in the run's costs
        if price is not None and amount:
            money[stage] += Decimal(repr(amount)) * price
    return Spending(
        currency=prices.currency if prices is not None else "",
        wood=cents(_wood(replace(job, pieces=1, test_pieces=0), prices).total / parted)
        if prices is not None
        else None,
        stages=tuple(
            StageSpend(
                stage.number,
                minutes[stage.number] / count,
                None if prices is None else cents(money[stage.number] / count),
            )
            for stage in plan.stages
        ),
    )


Charge = tuple[int, float, Decimal | None]
"""A stage, an amount that it spends, and the price of one of it."""


def _by_the_hour(
    minutes: Mapping[int, int], machine_min: Mapping[int, int], prices: Prices
) -> Iterator[Charge]:
    for stage, worked in minutes.items():
        yield stage, worked / HOUR_MIN, prices.hands_h
        yield stage, machine_min[stage] / HOUR_MIN, prices.machine_h


def _for_boxes(job: Job, plan: Plan, box: MadeBox | None, prices: Prices) -> Iterator[Charge]:
    """Yield what the work on the boxes uses up."""
    for use in box_uses(job, box, prices):
        for stage in plan.stages:
            if stage.kind is use.kind:
                yield stage.number, use.amount, use.price


def _by_use(
    plan: Plan,
    pours: Sequence[Pour],
    gcode_files: Mapping[int, Sequence[GcodeFile]],
    prices: Prices,
    counts: tuple[int, int],
) -> Iterator[Charge]:
    """Yield what is mixed, the wear of the bits, and an even share of the sundries.

    ``counts`` are the blanks, and into how many pieces each is parted.
    """
    blanks, parted = counts
    lists = _price_lists(prices)
    for pour in pours:
        for (kind, name), amount in amounts_of(pour):
            listed, _, per = lists[kind]
            yield pour.stage, amount / per, listed.get(name)
    known = {each.bit: each for each in prices.bits}
    for number, files in gcode_files.items():
        for file in files:
            priced = known.get(file.order.bit.name)
            if priced is not None:
                yield number, blanks * file.cut_s / HOUR_S / priced.life_h, priced.price
    sharing = [stage.number for stage in plan.stages if stage.kind in SUNDRY]
    for number in sharing:
        yield number, blanks * parted / len(sharing), prices.sundries
