"""Pours of one colour gathered over the faces, pieces and stages of a day, to be measurable."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from flushwork.plan.schedule import Schedule
from flushwork.plan.tasks import DAY_MIN
from flushwork.resin.common_cup import in_one_cup, too_small
from flushwork.resin.pours import Pour
from flushwork.shelf.items import Shop

MOST_TRIES = 8
"""So many pairs are put to the planner; every one of them costs a plan."""


def gathered(
    pours: tuple[Pour, ...],
    schedule: Schedule,
    shop: Shop,
    plan: Callable[[tuple[Pour, ...]], Schedule],
) -> tuple[tuple[Pour, ...], Schedule]:
    """Return pours and days with those gathered that fall on one day and are too small alone.

    ``plan`` plans the days of other pours.  A pair is taken where no window more is missed, the
    run ends no day later and no more work is done.
    """
    for _ in range(MOST_TRIES):
        found = _next(pours, schedule, shop, plan)
        if found is None:
            break
        pours, schedule = found
    return pours, schedule


def _next(
    pours: tuple[Pour, ...],
    schedule: Schedule,
    shop: Shop,
    plan: Callable[[tuple[Pour, ...]], Schedule],
) -> tuple[tuple[Pour, ...], Schedule] | None:
    for first, second in _pairs(pours, schedule)[:MOST_TRIES]:
        made = in_one_cup(first, second, shop)
        if made is None:
            continue
        by_number = {pour.number: pour for pour in made}
        other = tuple(by_number.get(pour.number, pour) for pour in pours)
        days = plan(other)
        if days.hindrance is None and _no_worse(days, schedule):
            return other, days
    return None


def _no_worse(other: Schedule, schedule: Schedule) -> bool:
    if len(other.missed) > len(schedule.missed) or other.hands_min > schedule.hands_min:
        return False
    return other.finish_min // DAY_MIN <= schedule.finish_min // DAY_MIN


def _pairs(pours: Sequence[Pour], schedule: Schedule) -> list[tuple[Pour, Pour]]:
    """Return pours of one colour made on one day, of which one is too small, in stage order."""
    when = {step.pour: step.begin_min for step in reversed(schedule.steps) if step.pour}
    row = sorted(
        (pour for pour in pours if pour.number in when and not pour.out_of),
        key=lambda pour: (pour.stage, pour.first),
    )
    pairs = [
        (one, two)
        for place, one in enumerate(row)
        for two in row[place + 1 :]
        if one.mix.name == two.mix.name
        and when[one.number] // DAY_MIN == when[two.number] // DAY_MIN
        and (too_small(one) or too_small(two))
        and not two.also_fills
    ]
    return sorted(pairs, key=lambda pair: abs(when[pair[0].number] - when[pair[1].number]))
