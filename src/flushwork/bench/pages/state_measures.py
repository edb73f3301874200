"""Two states of a board against each other: what differs in figures, each in the shop's words.

A state is a job after one of its stages: of the same job, or of the saved one and one being tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.built import Build
from flushwork.core.findings import Severity
from flushwork.core.units.kinds import DAY_MIN
from flushwork.usecases.plan import spending
from flushwork.usecases.thinnest_wood import thinnest_wood_mm
from flushwork.views.figures import MINUS, grams

_Words = Callable[[float], str]

SAME: Final = "the same"
NOT_YET: Final = "not yet known"
NOT_BEGUN: Final = "not begun"


@dataclass(frozen=True, slots=True)
class StateFigures:
    """A state in figures; None where there is none.

    ``resin_g`` is mixed for the run up to and with the stage; ``work_min`` and ``money`` are in one
    piece by then; ``done_min`` is when the last piece is through it, from midnight of the first
    day; ``wood_mm`` is the thinnest wood under any inlay of either face.
    """

    resin_g: float
    work_min: float | None
    money: Decimal | None
    currency: str
    done_min: int | None
    done: str
    must_fix: int | None
    warnings: int | None
    wood_mm: float | None


@dataclass(frozen=True, slots=True)
class StateDifference:
    """One figure of both states and what differs, all in words; ``same`` says that nothing does."""

    label: str
    there: str
    here: str
    change: str
    same: bool


@cached_on
def measured(snapshot: Snapshot, stage: int) -> StateFigures:
    """Return a job after a stage in figures."""
    made, plan = snapshot.made, snapshot.made.schedule
    spent = None if snapshot.coarse else spending(made)
    work, money = spent.before(stage + 1) if spent is not None else (None, None)
    ends = [
        step.end_min
        for step in (plan.steps if plan is not None and plan.hindrance is None else ())
        if step.stage <= stage
    ]
    done = max(ends, default=None)
    return StateFigures(
        resin_g=sum(pour.batch_g for pour in made.pours if pour.stage <= stage),
        work_min=work,
        money=money,
        currency=spent.currency if spent is not None else "",
        done_min=done,
        done=f"{plan.days.day_text(done)}, {plan.days.clock_text(done)}"
        if plan is not None and done is not None
        else NOT_BEGUN
        if stage == 0
        else "",
        must_fix=None if snapshot.coarse else _count(made, Severity.MUST_FIX),
        warnings=None if snapshot.coarse else _count(made, Severity.WARNING),
        wood_mm=thinnest_wood_mm(made, stage),
    )


def _count(made: Build, severity: Severity) -> int:
    return sum(each.severity is severity and each.accepted is None for each in made.findings)


def differences(there: StateFigures, here: StateFigures) -> tuple[StateDifference, ...]:
    """Return what differs from one state to the other, figure by figure."""
    return tuple(_differences(there, here))


def _differences(there: StateFigures, here: StateFigures) -> Iterator[StateDifference]:
    yield _told("Resin mixed for the run", there.resin_g, here.resin_g, grams)
    yield _told("Work in one piece", there.work_min, here.work_min, _minutes)
    if there.money is not None and here.money is not None:
        yield _told(
            "Money in one piece",
            float(there.money),
            float(here.money),
            lambda value: f"{value:.2f} {here.currency}",
        )
    yield StateDifference(
        "All pieces through",
        there.done or NOT_YET,
        here.done or NOT_YET,
        _later(there.done_min, here.done_min),
        same=there.done_min == here.done_min,
    )
    yield _told("Must be fixed", there.must_fix, here.must_fix, _plain)
    yield _told("Warnings", there.warnings, here.warnings, _plain)
    if there.wood_mm is not None or here.wood_mm is not None:
        yield _told("Thinnest wood under an inlay", there.wood_mm, here.wood_mm, _mm)


def _told(label: str, there: float | None, here: float | None, words: _Words) -> StateDifference:
    first, second = (NOT_YET if value is None else words(value) for value in (there, here))
    if there is None or here is None:
        return StateDifference(label, first, second, "", same=there is here)
    # two figures that read alike are alike
    same = first == second
    change = SAME if same else ("+" if here > there else MINUS) + words(abs(here - there))
    return StateDifference(label, first, second, change, same=same)


def _later(there: int | None, here: int | None) -> str:
    if there is None or here is None:
        return ""
    if there == here:
        return SAME
    days, minutes = divmod(abs(here - there), DAY_MIN)
    hours = minutes / 60.0
    parts = ([f"{days} d"] if days else []) + ([f"{hours:.1f} h"] if hours >= 0.05 else [])
    return f"{' '.join(parts) or _minutes(minutes)} {'later' if here > there else 'sooner'}"


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < 120.0 else f"{minutes / 60.0:.1f} h"


def _mm(length_mm: float) -> str:
    return f"{length_mm:.2f} mm"


def _plain(value: float) -> str:
    return f"{value:.0f}"
