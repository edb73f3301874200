"""What the run costs: its lines, the price for the wanted return, other numbers of pieces."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from flushwork.schedule.cost import CostLine, RunCost, cents
from flushwork.schedule.cost_table import CostTable
from flushwork.views.book_records import CostView, Fact, TableView
from flushwork.views.figures import MINUS, NO_BREAK, clean, counted, joined, number, percent

LOST: Final = 0.005
"""A smaller share that ends in no piece is not told."""


def cost_view(table: CostTable) -> CostView:
    """Return the chapter on costs."""
    run = table.run
    currency = clean(run.currency)
    tests = f", {counted(run.test_pieces, 'test piece')}" if run.test_pieces else ""
    facts = [
        Fact("The run costs", money(run.total, currency)),
        Fact("One piece costs", money(run.each, currency)),
        Fact(
            f"Its price at {amount(run.wanted_h)} an hour",
            f"{money(run.price, currency)}, for {_hours(run)} a piece",
        ),
        Fact("One more piece adds", money(table.one_more, currency)),
    ]
    if run.test_pieces:
        facts.append(
            Fact(
                "The test piece adds" if run.test_pieces == 1 else "The test pieces add",
                money(table.test_adds, currency),
            )
        )
    return CostView(
        note=(
            f"{counted(run.pieces, 'piece')}{tests}, in {currency}. Hours of the machine and of "
            "work are those of the G-code files and of the days, grams those of the pour cards; "
            "prices are the shop file's. What a test piece costs is paid by the others."
        ),
        lines=_lines(run),
        facts=tuple(facts),
        others=_others(table),
        missing=(
            f"Without a price in the shop file, and counted as nothing: "
            f"{joined([clean(name) for name in run.unpriced])}."
            if run.unpriced
            else ""
        ),
    )


def amount(value: Decimal) -> str:
    """Return an amount of money to the hundredth."""
    return f"{cents(value):,.2f}".replace(",", NO_BREAK).replace("-", MINUS)


def money(value: Decimal, currency: str) -> str:
    """Return an amount of money with its currency."""
    return f"{amount(value)}{NO_BREAK}{currency}"


def _hours(run: RunCost) -> str:
    return f"{number(run.hands_h / run.pieces, 1)}{NO_BREAK}h"


def _lines(run: RunCost) -> TableView:
    rows = [
        (
            clean(line.what),
            _quantity(line),
            percent(line.waste) if line.waste > LOST else "",
            amount(line.total) if line.priced else "no price",
            amount(line.total / run.pieces) if line.priced else "",
        )
        for line in run.lines
    ]
    rows.append(("together", "", "", amount(run.total), amount(run.each)))
    return TableView(("what", "how much", "lost", "the run", "each piece"), tuple(rows), wide=(0,))


def _quantity(line: CostLine) -> str:
    if line.kind == "wear":
        return f"{percent(line.amount)} of its life"
    if line.kind == "sundries":
        return f"{number(line.amount, 0)} times"
    if line.unit == "kg":
        return f"{number(1000.0 * line.amount, 1)}{NO_BREAK}g"
    if line.unit == "l":
        return f"{number(1000.0 * line.amount, 1)}{NO_BREAK}cm\N{SUPERSCRIPT THREE}"
    unit = line.unit.replace("dm3", "dm\N{SUPERSCRIPT THREE}")
    return f"{number(line.amount, 2)}{NO_BREAK}{unit}"


def _others(table: CostTable) -> TableView:
    runs = {run.pieces: run for run in (*table.others, table.run)}
    rows = [
        (str(pieces), amount(run.total), amount(run.each), amount(run.price), _hours(run))
        for pieces, run in sorted(runs.items())
    ]
    head = ("pieces", "the run", "each costs", "its price", "work each")
    return TableView(head, tuple(rows))
