"""The odds of a run as a page shows them: bars, what could be steadier, a map over the board.

What is at stake: the points of no return, each with its cost and what to look at before.

Worked out when first asked for, behind the picture: sampling the odds takes longer than a page may.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from flushwork.art.drawn import DrawnFace
from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.bench.server.resources import templates
from flushwork.checks.odds.odds import QuantityOdds
from flushwork.usecases.odds import (
    SAMPLES,
    Critical,
    CriticalQuantity,
    Risk,
    RunOdds,
    cause_of,
    no_return,
    odds,
    outcomes,
    place_odds,
    quantities,
    steadied,
)
from flushwork.usecases.plan import cost
from flushwork.views.book_records import Fact, NoReturnsView, NoReturnView
from flushwork.views.check_views import no_returns_view
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.figures import MINUS, clean

QUICK: Final = 2_000
"""Samples while a slider moves: odds within about 0.01 of all of them."""
LEAST_SCALE, MOST_SCALE = 0.1, 4.0
NEARLY: Final = 0.9995
"""Odds as good as certain, to a count of 1000."""
TOLD_LOSS: Final = 0.0005
"""What is lost less often than on 5 of 10,000 pieces is told only when asked."""
OUTLINE_MM: Final = 0.05

WORDS: Final = {
    "place": "How well a board comes back to its place",
    "turn": "How straight it lies there",
    "moisture": "How dry the wood stays between setups",
    "zero": "How well the bit is touched off",
    "thickness": "How even the blanks are",
    "sanding": "How evenly it is sanded",
    "bit": "How well the bit's width is known",
    "bending": "How far bits are pushed aside",
    "flatness": "How flat the faces are",
    "blur": "How sharp sanded edges stay",
    "shrinkage": "How well the resin's shrinkage is known",
    "measuring": "How well resin and hardener are measured",
}
"""What varies, in the shop's words, by the name of its cause."""


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that varies and can be steadied: how far now, and how it is done."""

    name: str
    words: str
    now: str
    tighten: str
    shared: bool


@dataclass(frozen=True, slots=True)
class Loss:
    """What a piece may be lost to: of 1000 pieces ``lost``, and what rules it."""

    words: str
    detail: str
    lost: float
    face: str
    at: tuple[float, float] | None


@cached_on
def found_in(snapshot: Snapshot) -> tuple[CriticalQuantity, ...]:
    """Return the quantities of what is in sight, gathered once."""
    return quantities(snapshot.made)


@cached_on
def odds_as_is(snapshot: Snapshot) -> RunOdds:
    """Return the odds of what is in sight as the shop is, worked out once."""
    return odds(snapshot.made, found_in(snapshot))


def causes(found: tuple[CriticalQuantity, ...]) -> tuple[Cause, ...]:
    """Return what varies in a job, each once, with the span of its standard deviations."""
    gathered: dict[str, list[Any]] = {}
    for quantity in found:
        for variation in quantity.variations:
            gathered.setdefault(cause_of(variation.key[0]), []).append(variation)
    return tuple(
        Cause(
            name,
            WORDS.get(name, name),
            _span(variations),
            variations[0].tighten,
            variations[0].shared,
        )
        for name, variations in gathered.items()
    )


def _span(variations: list[Any]) -> str:
    low, high = min(item.sd for item in variations), max(item.sd for item in variations)
    texts = [_sd(low, variations[0].unit), _sd(high, variations[0].unit)]
    return texts[1] if texts[0] == texts[1] else f"{texts[0]} to {texts[1]}"


def _sd(value: float, unit: str) -> str:
    if unit == "rad":
        return f"{1000.0 * value:.2f} mm per metre"
    if not unit:
        return f"{100.0 * value:.2f} %"
    return f"{value:.3f} {unit}"


def odds_data(snapshot: Snapshot, scales: Mapping[str, float], *, quick: bool) -> dict[str, Any]:
    """Return everything the odds' part of the page draws."""
    job = snapshot.made.job
    as_is = found_in(snapshot)
    found = steadied(as_is, scales)
    samples = QUICK if quick else SAMPLES
    plain = not quick and all(scale == 1.0 for scale in scales.values())
    run = odds_as_is(snapshot) if plain else odds(snapshot.made, found, samples=samples)
    return {
        "summary": summary(run),
        "piece": run.piece,
        "outcomes": outcomes(found, job.pieces, samples),
        "losses": [_told(loss) for loss in losses(run)],
        "causes": [
            {
                "name": cause.name,
                "words": cause.words,
                "now": cause.now,
                "tighten": cause.tighten[:1].upper() + cause.tighten[1:],
                "shared": cause.shared,
            }
            for cause in causes(as_is)
        ],
        "map": odds_map(snapshot.made.faces, found),
    }


def summary(run: RunOdds) -> str:
    """Return in words how a run may turn out."""
    if not run.quantities:
        return "Nothing in this job can vary out of its bounds."
    alone = run.pieces == 1
    if run.piece > NEARLY:
        whole = "the piece" if alone else f"any of the {run.pieces}"
        return (
            f"If no mistakes are made, of 1000 pieces hardly one is lost to what varies, and "
            f"hardly {whole} in this run."
        )
    if run.piece < 1.0 - NEARLY:
        return "As it stands, hardly a piece comes out right: what it is lost to is told below."
    each = f"If no mistakes are made, of 1000 pieces {1000.0 * run.piece:.0f} come out right."
    if alone:
        return each
    return (
        f"{each} Of the {run.pieces} in this run, {run.expected_good:.1f} on average; all "
        f"{run.pieces} in {100.0 * run.all_good:.0f} runs of 100."
    )


def losses(run: RunOdds) -> tuple[Loss, ...]:
    """Return what a piece may be lost to, the likeliest first."""
    return tuple(_loss(item) for item in run.quantities)


def _loss(item: QuantityOdds) -> Loss:
    unit = f" {item.unit}" if item.unit else ""
    nominal = f"{item.nominal:.2f}".replace("-", MINUS)
    amount = f"{nominal}{unit}" if item.unit else f"{100.0 * item.nominal:.0f} %"
    detail = f"{amount} to spare" if not item.limit else f"{amount}, {item.limit:.2f}{unit} needed"
    if item.dominant:
        detail += f"; mostly {item.dominant} ({100.0 * item.share:.0f} %)"
    placed = item.name != Critical.RATIO
    return Loss(
        clean(f"{item.name} of {item.subject}"),
        clean(detail),
        1000.0 * (1.0 - item.odds),
        item.face,
        item.at_mm if placed else None,
    )


def _told(loss: Loss) -> dict[str, Any]:
    return {
        "words": loss.words[:1].upper() + loss.words[1:],
        "detail": loss.detail,
        "lost": round(loss.lost, 3),
        "small": loss.lost < 1000.0 * TOLD_LOSS,
        "face": loss.face,
        "at": [round(value, 2) for value in loss.at] if loss.at is not None else None,
    }


def odds_map(
    faces: tuple[DrawnFace, ...], found: tuple[CriticalQuantity, ...]
) -> dict[str, dict[str, list[Any]]]:
    """Return per face the inlays with their odds, and the places along lines with theirs."""
    result: dict[str, dict[str, list[Any]]] = {}
    for face in faces:
        mine = [item for item in found if item.face == face.name]
        single: dict[str, list[float]] = {}
        for item in mine:
            if len(item.nominal) == 1:
                single.setdefault(item.subject, []).append(float(place_odds(item)[0]))
        regions = [
            {
                "name": clean(drawn.inlay.name),
                "odds": round(float(np.prod(single[drawn.inlay.name])), 5),
                "rings": _rings(drawn.region),
            }
            for drawn in face.inlays
            if drawn.inlay.name in single and not drawn.region.is_empty
        ]
        lines = [
            {
                "name": clean(f"{item.name} of {item.subject}"),
                "at": np.round(item.at_mm, 2).reshape(-1).tolist(),
                "odds": np.round(place_odds(item), 5).tolist(),
            }
            for item in mine
            if len(item.nominal) > 1
        ]
        result[face.name] = {"regions": regions, "lines": lines}
    return result


def _rings(region: MultiPolygon) -> list[list[list[float]]]:
    return [
        _points(np.asarray(ring.coords))
        for part in shapely.get_parts(region.simplify(OUTLINE_MM))
        for ring in (part.exterior, *part.interiors)
    ]


def _points(ring: NDArray[np.float64]) -> list[list[float]]:
    points: list[list[float]] = np.round(ring[:, :2], 2).tolist()
    return points


CHART: Final = Space(190.0, 52.0)


@dataclass(frozen=True, slots=True)
class Stake:
    """What is in a piece when a stage begins, and its point of no return where it has one.

    ``held`` is that as a share of what is in a finished piece, ``stake`` what is at stake as a
    share of the dearest point of no return's.
    """

    stage: int
    held: float
    stake: float
    no_return: NoReturnView | None


@dataclass(frozen=True, slots=True)
class Stakes:
    """The stakes of all stages in working order, with the book's view of points of no return."""

    view: NoReturnsView
    stages: tuple[Stake, ...]

    def no_return(self, stage: int) -> NoReturnView | None:
        """Return the point of no return of a stage, None where it can be taken back or is none."""
        return next((each.no_return for each in self.stages if each.stage == stage), None)

    @property
    def dearest(self) -> NoReturnView | None:
        """The dearest point of no return of the run."""
        return next((no_return for no_return in self.view.no_returns if no_return.dearest), None)


@cached_on
def stakes_of(snapshot: Snapshot) -> Stakes | None:
    """Return what is at stake in what is in sight; None before it is checked."""
    made = snapshot.made
    if snapshot.coarse or not made.replay.states:
        return None
    risk = no_return(made, odds_as_is(snapshot))
    if not risk.points:
        return None
    view = no_returns_view(risk, CHART)
    no_returns = {no_return.stage: no_return for no_return in view.no_returns}
    risks = {no_return.stage: no_return.risk_min for no_return in risk.points}
    whole = max((_in_piece(risk, each.number, after=True) for each in made.plan.stages), default=0)
    most = max(risks.values())
    return Stakes(
        view,
        tuple(
            Stake(
                stage=each.number,
                held=_in_piece(risk, each.number) / whole if whole > 0.0 else 0.0,
                stake=risks.get(each.number, 0.0) / most if most > 0.0 else 0.0,
                no_return=no_returns.get(each.number),
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


def _costs(snapshot: Snapshot) -> tuple[Fact, ...]:
    """Return what a piece and the run cost, where the shop has prices."""
    table = cost(snapshot.made)
    if table is None:
        return ()
    run = table.run

    def money(amount: Decimal) -> str:
        return f"{amount} {run.currency}"

    facts = [Fact("A piece costs", money(run.each)), Fact("The run costs", money(run.total))]
    if run.hands_h:
        facts.append(Fact("Of that without work", money(run.without_hands)))
    facts.append(Fact("One more piece adds", money(table.one_more)))
    if run.test_pieces:
        facts.append(Fact("The test pieces add", money(table.test_adds)))
    return tuple(facts)


def stakes_data(snapshot: Snapshot) -> dict[str, Any]:
    """Return what the page draws of the stakes, for each point of no return and the whole run."""
    found = stakes_of(snapshot)
    if found is None:
        return {"stages": [], "run": ""}
    template = templates().get_template("no_return.html.j2")
    return {
        "stages": [
            {
                "stage": each.stage,
                "held": round(each.held, 4),
                "stake": round(each.stake, 4),
                "words": f"point of no return, {each.no_return.at_stake} at stake"
                if each.no_return
                else "",
                "html": template.render(no_return=each.no_return) if each.no_return else "",
                "short": each.no_return.in_piece if each.no_return else "",
            }
            for each in found.stages
        ],
        "run": templates()
        .get_template("stakes.html.j2")
        .render(stakes=found, costs=_costs(snapshot)),
    }
