"""What a change of a job comes to in the work: rounds, setups, bits, minutes, days and money."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from flushwork.core.words import counted, listed
from flushwork.usecases.jobs import preread

if TYPE_CHECKING:
    from flushwork.built import Build
    from flushwork.process.stages import Plan


@dataclass(frozen=True, slots=True)
class WorkFigures:
    """What a plan asks for; None where it is not known yet: bits need paths, the rest the days."""

    rounds: int
    setups: int
    bits: tuple[str, ...] | None = None
    hands_min: int | None = None
    machine_min: int | None = None
    days: int | None = None
    cost: Decimal | None = None
    currency: str = ""


def planned_figures(job_file: Path | str, text: str) -> WorkFigures:
    """Return what is known of a text before anything is cut: its rounds and setups.

    Raises JobRefusedError where it cannot be read.
    """
    from flushwork.process.infer_stages import infer_plan  # noqa: PLC0415

    return _of_plan(infer_plan(*preread(job_file, text)))


def work_figures(made: Build) -> WorkFigures:
    """Return what a build's plan asks for; of one without a check, what is known of it."""
    from flushwork.usecases.plan import cost  # noqa: PLC0415

    plain, bits = _of_plan(made.plan), sorted({each.order.bit.name for each in made.gcode_files})
    if made.schedule is None or not made.schedule.steps:
        return WorkFigures(plain.rounds, plain.setups, tuple(bits))
    table = cost(made)
    return WorkFigures(
        plain.rounds,
        plain.setups,
        tuple(bits),
        made.schedule.hands_min,
        made.schedule.machine_min,
        made.schedule.calendar_days,
        table.run.total if table is not None else None,
        table.run.currency if table is not None else "",
    )


def _of_plan(plan: Plan) -> WorkFigures:
    rounds = {(each.face, each.round) for each in plan.stages if each.round}
    return WorkFigures(len(rounds), len(plan.setups))


def plan_change(before: Build, after: Build) -> tuple[str, ...]:
    """Return in words what one build asks for that another did not, and what it no longer does."""
    return told_change(work_figures(before), work_figures(after))


def told_change(before: WorkFigures, after: WorkFigures) -> tuple[str, ...]:
    """Return in words what differs of two plans, as far as it is known of both."""
    told = [
        _more(after.rounds - before.rounds, "round"),
        _more(after.setups - before.setups, "setup"),
    ]
    if before.bits is not None and after.bits is not None:
        new = [each for each in after.bits if each not in before.bits]
        gone = [each for each in before.bits if each not in after.bits]
        told += [f"another bit: {listed(new)}"] if new else []
        told += [f"no longer the {listed(gone)}"] if gone else []
    told += [
        _minutes(before.hands_min, after.hands_min, "of work"),
        _minutes(before.machine_min, after.machine_min, "of it at the machine"),
    ]
    if before.days is not None and after.days is not None:
        told.append(_more(after.days - before.days, "day"))
    if before.cost is not None and after.cost is not None and before.cost != after.cost:
        by = after.cost - before.cost
        told.append(f"{abs(by):.2f} {after.currency} {'dearer' if by > 0 else 'cheaper'}")
    return tuple(each for each in told if each)


def _more(by: int, what: str) -> str:
    if not by:
        return ""
    return f"{counted(abs(by), what, f'{what}s')} {'more' if by > 0 else 'fewer'}"


def _minutes(before: int | None, after: int | None, what: str) -> str:
    if before is None or after is None or before == after:
        return ""
    by = after - before
    hours, minutes = divmod(abs(by), 60)
    long = f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
    return f"{long} {'more' if by > 0 else 'less'} {what}"
