"""The command ``gates``: money at risk, and what must be true before each step."""

from __future__ import annotations

from dataclasses import asdict
from decimal import Decimal
from pathlib import Path

from flushwork.cli.output import Console
from flushwork.pipeline import build
from flushwork.usecases.no_return import Gate, no_return
from flushwork.views.check_views import both_words


def show_gates(path: Path, console: Console) -> None:
    """Print the gates of a job in working order."""
    risk = no_return(build(path, console.progress))
    currency = risk.spending.currency
    if console.as_json:
        console.data({"currency": currency, "gates": [_data(gate) for gate in risk.gates]})
        return
    console.say(f"Slips of the hand: {both_words(risk)}")
    for gate in risk.gates:
        console.say(f"{gate.stage}. {gate.title}")
        console.say(
            f"   In one piece: {money_and_time(gate.before_min, gate.before_cost, currency)}. "
            f"This step spoils it {100 * gate.strays:.2g} times in 100 by what strays; with "
            f"slips, at stake "
            f"{money_and_time(gate.risk_min, gate.risk_cost, currency)}."
        )
        console.say(
            f"   Before it: {gate.check.what} ({gate.check.minutes:g} min; it saves "
            f"{gate.saved_min:.1f} min on the run on average"
            f"{')' if gate.worth else ', so do it when in doubt)'}."
        )
        for condition in gate.conditions:
            console.say(f"   [ ] {condition}")


def money_and_time(minutes: float, cost: Decimal | None, currency: str) -> str:
    """Return what minutes of work and money come to, in words."""
    hours = f"{minutes / 60.0:.1f} h" if minutes >= 60.0 else f"{minutes:.1f} min"
    return hours if cost is None else f"{cost} {currency}, {hours} of work"


def _data(gate: Gate) -> dict[str, object]:
    found = asdict(gate)
    found["kind"] = gate.kind.value
    for key in ("before_cost", "step_cost", "risk_cost"):
        if found[key] is not None:
            found[key] = str(found[key])
    found["saved_min"] = gate.saved_min
    return found
