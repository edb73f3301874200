"""The command ``no_returns``: money at risk, and what must be true before each step."""

from __future__ import annotations

from dataclasses import asdict
from decimal import Decimal
from pathlib import Path

from flushwork.cli.output import Console
from flushwork.pipeline import build
from flushwork.usecases.no_return import PointOfNoReturn, no_return
from flushwork.views.check_views import both_words


def show_no_returns(path: Path, console: Console) -> None:
    """Print the points of no return of a job in working order."""
    made = build(path, console.progress)
    console.units = made.job.shop.reads
    risk = no_return(made)
    currency = risk.spending.currency
    if console.as_json:
        console.data({"currency": currency, "no_returns": [_data(point) for point in risk.points]})
        return
    console.say(f"Slips of the hand: {both_words(risk)}")
    for point in risk.points:
        console.say(f"{point.stage}. {point.title}")
        console.say(
            f"   In one piece: {money_and_time(point.before_min, point.before_cost, currency)}. "
            f"This step spoils it {100 * point.varies:.2g} times in 100 by what varies; with "
            f"slips, at stake "
            f"{money_and_time(point.risk_min, point.risk_cost, currency)}."
        )
        console.say(
            f"   Before it: {point.check.what} ({point.check.minutes:g} min; it saves "
            f"{point.saved_min:.1f} min on the run on average"
            f"{')' if point.worth else ', so do it when in doubt)'}."
        )
        for condition in point.conditions:
            console.say(f"   [ ] {condition}")


def money_and_time(minutes: float, cost: Decimal | None, currency: str) -> str:
    """Return what minutes of work and money come to, in words."""
    hours = f"{minutes / 60.0:.1f} h" if minutes >= 60.0 else f"{minutes:.1f} min"
    return hours if cost is None else f"{cost} {currency}, {hours} of work"


def _data(point: PointOfNoReturn) -> dict[str, object]:
    found = asdict(point)
    found["kind"] = point.kind.value
    for key in ("before_cost", "step_cost", "risk_cost"):
        if found[key] is not None:
            found[key] = str(found[key])
    found["saved_min"] = point.saved_min
    return found
