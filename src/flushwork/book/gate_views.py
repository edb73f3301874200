"""The gates as the book tells them: a chart of what is in a piece, and one block for each gate."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from flushwork.book import svg
from flushwork.book.drawings import INK, SOFT, WORK, Space
from flushwork.book.figures import clean
from flushwork.book.records import GatesView, GateView, Picture
from flushwork.proof.gates import MOST_SPARES, SLIP, SURELY, Gate, right_share, spares_for
from flushwork.proof.risk import Risk

CHART_MM: Final = 52.0
AXIS_MM: Final = 14.0
FOOT_MM: Final = 6.0
STEPS: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)


def gates_view(risk: Risk, live: Space) -> GatesView:
    """Return the gates of a run."""
    currency = clean(risk.spending.currency)
    dearest = max(risk.gates, key=lambda gate: gate.risk_min, default=None)
    return GatesView(
        chart=_chart(risk.gates, currency, live),
        note=(
            "In a piece is what it has cost when the step begins, the test pieces counted like the "
            "others. A step spoils a piece by what strays, from the samples of the odds, or by a "
            "slip of the hand, which is assumed alike at every step and told here once: "
            + both_words(risk)
            + " At stake is what would be lost times both chances, for one piece. A check is held "
            "to find half of the slips (assumed)."
        ),
        gates=tuple(_gate(gate, currency, gate is dearest) for gate in risk.gates),
    )


def _gate(gate: Gate, currency: str, dearest: bool) -> GateView:
    saved = f"{gate.saved_min:.1f} min saved on the run on average"
    return GateView(
        stage=gate.stage,
        title=clean(gate.title),
        in_piece=money_and_work(gate.before_min, gate.before_cost, currency),
        odds=f"{_seldom(gate.strays)} in 100 by what strays",
        at_stake=money_and_work(gate.risk_min, gate.risk_cost, currency),
        check=f"{clean(gate.check.what)[:1].upper()}{clean(gate.check.what)[1:]}.",
        worth=f"{gate.check.minutes:g} min against {saved}: "
        + ("do it." if gate.worth else "when in doubt."),
        conditions=tuple(clean(f"{text[0].upper()}{text[1:]}.") for text in gate.conditions),
        dearest=dearest,
    )


def both_words(risk: Risk) -> str:
    """Return how many pieces come out right, slips counted, and the spares that follow from it."""
    steps, pieces = len(risk.gates), risk.odds.pieces
    right = right_share(risk.odds, risk.gates)
    spares = spares_for(pieces, right)
    wanted = "the piece" if pieces == 1 else f"all {pieces} pieces"
    start = (
        f"more than {MOST_SPARES} spares would be needed for {wanted}"
        if spares is None
        else f"for {wanted} to come out right in {100 * SURELY:.0f} runs of 100, start "
        + (f"{spares} more" if spares else "no more than that")
    )
    return (
        f"one in {1.0 / SLIP:.0f} (assumed, 0.3 to 3 in 100; count your own) at each of {steps} "
        f"steps. With both, {100 * right:.0f} of 100 pieces come out right; {start}."
    )


def _seldom(share: float) -> str:
    return "under 0.01" if share < 1e-4 else f"{100 * share:.2g}"


def money_and_work(minutes: float, cost: Decimal | None, currency: str) -> str:
    """Return what minutes of work and money come to, in words."""
    hours = f"{minutes / 60.0:.1f} h" if minutes >= 60.0 else f"{minutes:.1f} min"
    work = f"{hours} of work"
    return work if cost is None else f"{cost} {currency} and {work}"


def _chart(gates: Sequence[Gate], currency: str, live: Space) -> Picture:
    """Draw what is in one piece at each gate as steps, and what is at stake there as bars."""
    priced = bool(gates) and gates[-1].before_cost is not None
    values = [_value(gate.before_min, gate.before_cost) for gate in gates]
    ends = [
        _value(gate.before_min + gate.step_min, _sum(gate.before_cost, gate.step_cost))
        for gate in gates
    ]
    stakes = [_value(gate.risk_min, gate.risk_cost) for gate in gates]
    most = max([*ends, 1e-9])
    top, low = 4.0, CHART_MM - FOOT_MM
    wide = (live.width_mm - AXIS_MM - 2.0) / max(len(gates), 1)
    rise = (low - top) / most
    tall = 0.3 * (low - top) / max([*stakes, 1e-9])
    parts = [_axis(most, top, low, rise, live.width_mm)]
    line = f"M{AXIS_MM:.2f} {low:.2f}"
    for index, (value, end, stake) in enumerate(zip(values, ends, stakes, strict=True)):
        x = AXIS_MM + index * wide
        line += f"V{low - value * rise:.2f}H{x + 0.5 * wide:.2f}V{low - end * rise:.2f}"
        line += f"H{x + wide:.2f}"
        parts.append(
            svg.shape("rect", x=x + 0.25 * wide, y=low - stake * tall, width=0.5 * wide,
                      height=max(stake * tall, 0.1), fill=WORK)
        )  # fmt: skip
        number = str(gates[index].stage)
        size = min(2.6, 0.62 * wide)
        parts.append(svg.words(number, x + 0.5 * wide, low + 3.4, size, anchor="middle"))
    parts.insert(1, svg.path(f"{line}V{low:.2f}z", fill="#e8ded0"))
    parts.append(svg.path(line, fill="none", stroke=INK, stroke_width="0.35"))
    unit = currency if priced else "h of work"
    parts.append(svg.words(f"{unit} in one piece", AXIS_MM + 1.0, top - 0.8, 2.7))
    parts.append(
        svg.words(
            f"bars: at stake at the gate, the tallest {max([*stakes, 0.0]):.2f} {unit}",
            live.width_mm - 2.0, top - 0.8, 2.7, anchor="end", fill=WORK,
        )
    )  # fmt: skip
    alt = "What is in one piece before each step that cannot be taken back, and what is at stake"
    caption = "The numbers are those of the stages"
    drawn = svg.drawing(parts, live.width_mm, CHART_MM, alt)
    return Picture(alt, caption, live.width_mm, CHART_MM, drawn)


def _value(minutes: float, cost: Decimal | None) -> float:
    return minutes / 60.0 if cost is None else float(cost)


def _sum(first: Decimal | None, then: Decimal | None) -> Decimal | None:
    return None if first is None or then is None else first + then


def _axis(most: float, top: float, low: float, rise: float, width_mm: float) -> str:
    step = next((step for step in STEPS if most / step <= 6.0), STEPS[-1])
    parts: list[str] = []
    for tick in range(int(most / step) + 1):
        y = low - tick * step * rise
        line = f"M{AXIS_MM - 1:.2f} {y:.2f}H{width_mm - 2.0:.2f}"
        parts.append(svg.path(line, stroke=SOFT, stroke_width="0.1"))
        parts.append(svg.words(f"{tick * step:g}", AXIS_MM - 2.0, y + 0.9, 2.6, anchor="end"))
    del top
    return "".join(parts)
