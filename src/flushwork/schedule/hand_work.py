"""How long hands take at a stage, and what a box takes up: wood, and what is let into it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from flushwork.job.records import Job
from flushwork.process.stages import Stage, StageKind
from flushwork.shelf.working import HandTimes, Prices
from flushwork.wood.box_sizes import MadeBox
from flushwork.wood.box_stock import box_parts, spline_stock

MM3_PER_DM3 = 1e6
CORNERS = 4


def by_hand_min(stage: Stage, hands: HandTimes, dm2: float) -> int:
    """Return the minutes a stage takes by hand, per piece whose face has so many dm2."""
    sand_min = hands.sand_min if stage.round <= 1 else hands.light_sand_min
    minutes = {
        StageKind.ROUGH: hands.rough_min,
        StageKind.GLUE: hands.glue_min,
        StageKind.SURFACE: hands.surface_min,
        StageKind.SEAL: hands.seal_min,
        StageKind.SAND: sand_min,
    }.get(stage.kind, 0)
    return hands.on_face_min(minutes, dm2) if minutes else 0


def box_work_min(job: Job, kind: StageKind) -> int:
    """Return the minutes one kind of work on a box takes, pauses included; 0 for any other."""
    box, hands = job.box, job.shop.hands
    if box is None:
        return 0
    splines = CORNERS * len(box.splines.heights_mm) if box.splines is not None else 0
    minutes = {
        StageKind.BOX_SAW: hands.box_plane_min + hands.box_saw_min,
        StageKind.BOX_GLUE: hands.box_glue_min,
        StageKind.BOX_FIT: hands.box_sand_min
        + splines * hands.spline_min
        + sum(count for _, count, _ in fittings(job)) * hands.fitting_min,
        StageKind.BOX_COAT: hands.box_coat_min,
    }.get(kind, 0)
    return hands.paused_min(minutes) if minutes else 0


def fittings(job: Job) -> tuple[tuple[str, int, Decimal | None], ...]:
    """Return the hinges, catches and feet of one box: what, how many, the price of one."""
    box, prices = job.box, job.shop.prices
    if box is None:
        return ()
    wanted = (
        ("hinge", 2 if box.hinges is not None else 0, prices.hinge if prices else None),
        ("catch", 1 if box.catch is not None else 0, prices.catch if prices else None),
        ("foot", CORNERS if box.feet is not None else 0, prices.foot if prices else None),
    )
    return tuple(each for each in wanted if each[1])


@dataclass(frozen=True, slots=True)
class BoxUse:
    """What the boxes of a run use up: of what, how much, the price of one unit; at which work."""

    kind: StageKind
    what: str
    amount: float
    unit: str
    price: Decimal | None


def box_uses(job: Job, made: MadeBox | None, prices: Prices) -> Iterator[BoxUse]:
    """Yield the wood of a run's boxes, as sawn rough, and what is let into them."""
    if made is None:
        return
    by_wood = dict(prices.wood_dm3)
    volumes: dict[str, float] = {}
    splines = spline_stock(job, made)
    for wanted in (*box_parts(job, made), *((splines,) if splines is not None else ())):
        # the splines of all boxes come out of one stick
        count = 1 if wanted is splines else wanted.part.count
        mm3 = wanted.part.along_mm * wanted.part.across_mm * wanted.thick_mm * count
        volumes[wanted.wood] = volumes.get(wanted.wood, 0.0) + mm3 / MM3_PER_DM3
    for wood, dm3 in volumes.items():
        yield BoxUse(StageKind.BOX_SAW, f"{wood} for the boxes", dm3, "dm3", by_wood.get(wood))
    boxes = job.pieces + job.test_pieces
    for what, count, price in fittings(job):
        yield BoxUse(StageKind.BOX_FIT, what, float(count * boxes), "pieces", price)
