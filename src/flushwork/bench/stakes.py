"""What is at stake: the steps with no way back, each with its cost and what to look at before.

Worked out when first asked for, behind the picture: sampling the odds takes longer than a page may.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from flushwork.bench.odds_views import odds_as_is
from flushwork.bench.resources import templates
from flushwork.bench.snapshot import Snapshot, cached_on
from flushwork.book.drawings import Space
from flushwork.book.gate_views import gates_view
from flushwork.book.records import GatesView, GateView
from flushwork.usecases.no_return import Risk, no_return

CHART: Final = Space(190.0, 52.0)


@dataclass(frozen=True, slots=True)
class Stake:
    """What is in a piece when a stage begins, and its gate where there is no way back from it.

    ``held`` is that as a share of what is in a finished piece, ``stake`` what is at stake as a
    share of the dearest gate's.
    """

    stage: int
    held: float
    stake: float
    gate: GateView | None


@dataclass(frozen=True, slots=True)
class Stakes:
    """The stakes of all stages in working order, with the book's view of the gates."""

    view: GatesView
    stages: tuple[Stake, ...]

    def gate(self, stage: int) -> GateView | None:
        """Return the gate of a stage, None where it can be taken back or is none."""
        return next((each.gate for each in self.stages if each.stage == stage), None)

    @property
    def dearest(self) -> GateView | None:
        """The dearest gate of the run."""
        return next((gate for gate in self.view.gates if gate.dearest), None)


@cached_on
def stakes_of(snapshot: Snapshot) -> Stakes | None:
    """Return what is at stake in what is in sight, None before it is proved or without gates."""
    made = snapshot.made
    if snapshot.coarse or not made.replay.states:
        return None
    risk = no_return(made, odds_as_is(snapshot))
    if not risk.gates:
        return None
    view = gates_view(risk, CHART)
    gates = {gate.stage: gate for gate in view.gates}
    risks = {gate.stage: gate.risk_min for gate in risk.gates}
    whole = max((_in_piece(risk, each.number, after=True) for each in made.plan.stages), default=0)
    most = max(risks.values())
    return Stakes(
        view,
        tuple(
            Stake(
                stage=each.number,
                held=_in_piece(risk, each.number) / whole if whole > 0.0 else 0.0,
                stake=risks.get(each.number, 0.0) / most if most > 0.0 else 0.0,
                gate=gates.get(each.number),
            )
            for each in made.plan.stages
        ),
    )


def _in_piece(risk: Risk, stage: int, *, after: bool = False) -> float:
    """Return what is in a piece before or after a stage: money, or minutes without prices."""
    minutes, cost = risk.spending.before(stage)
    step = risk.spending.at(stage)
    if cost is None:
        return minutes + after * step.minutes
    return float(cost) + after * float(step.money or 0)


def stakes_data(snapshot: Snapshot) -> dict[str, Any]:
    """Return what the page draws of the stakes: a block for each gate, and the whole run's."""
    found = stakes_of(snapshot)
    if found is None:
        return {"stages": [], "run": ""}
    template = templates().get_template("gate.html.j2")
    return {
        "stages": [
            {
                "stage": each.stage,
                "held": round(each.held, 4),
                "stake": round(each.stake, 4),
                "words": f"no way back, {each.gate.at_stake} at stake" if each.gate else "",
                "html": template.render(gate=each.gate) if each.gate else "",
                "short": each.gate.in_piece if each.gate else "",
            }
            for each in found.stages
        ],
        "run": templates().get_template("stakes.html.j2").render(stakes=found),
    }
