"""The chapter on costs: what is printed adds up, and nothing is priced without a price."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from flushwork.book.compose import view_of
from flushwork.book.figure_chapters import amount, cost_view
from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.schedule.cost import CostLine, RunCost
from flushwork.schedule.cost_table import CostTable
from flushwork.views.context import ViewContext

NB = "\N{NO-BREAK SPACE}"
LINES = (
    CostLine("material", "black cherry", 4.9, "dm3", Decimal("49.00")),
    CostLine("material", "coating epoxy", 0.1432, "kg", Decimal("4.30"), 0.155),
    CostLine("material", "dust", 0.002, "kg", Decimal(0), priced=False),
    CostLine("wear", "1 mm flat", 0.853, "of a bit", Decimal("11.94")),
    CostLine("sundries", "sealer", 4, "pieces", Decimal("16.00")),
    CostLine("machine", "machine", 20.5, "h", Decimal("61.50")),
    CostLine("work", "work", 30.0, "h", Decimal("720.00")),
)


def run(pieces: int = 3, tests: int = 1) -> RunCost:
    return RunCost("<crowns>", pieces, tests, LINES, 30.0, Decimal(36))


@pytest.fixture
def table() -> CostTable:
    return CostTable(run(), (run(1), run(5), run(10)), Decimal("226.66"), Decimal("229.45"))


def test_lines_add_up_to_the_run(table: CostTable) -> None:
    rows = cost_view(table).lines.rows
    parts = [Decimal(row[3].replace(NB, "")) for row in rows[:-1] if row[3] != "no price"]
    assert sum(parts) == Decimal("862.74")
    assert rows[-1] == ("together", "", "", "862.74", "287.58")
    assert rows[1][1:3] == (f"143.2{NB}g", f"15.5{NB}%")
    assert rows[3][1] == f"85.3{NB}% of its life"
    assert rows[2][3:] == ("no price", "")


def test_what_has_to_be_asked_and_what_one_more_adds(table: CostTable) -> None:
    view = cost_view(table)
    facts = {fact.label: fact.value.replace(NB, " ") for fact in view.facts}
    assert facts["Its price at 36.00 an hour"] == "407.58 <crowns>, for 10.0 h a piece"
    assert facts["One more piece adds"] == "226.66 <crowns>"
    assert facts["The test piece adds"] == "229.45 <crowns>"
    assert view.missing.endswith("counted as nothing: dust.")
    assert [row[0] for row in view.others.rows] == ["1", "3", "5", "10"]


def test_without_a_test_piece_none_is_told(table: CostTable) -> None:
    view = cost_view(replace(table, run=run(tests=0)))
    assert not [fact for fact in view.facts if "test" in fact.label]


def test_amounts_have_two_places() -> None:
    assert [amount(Decimal(each)) for each in ("2571.717", "-0.5", "0.005")] == [
        f"2{NB}571.72", "\N{MINUS SIGN}0.50", "0.01",
    ]  # fmt: skip


def test_the_book_tells_costs_only_where_there_are_prices(
    make_context: Callable[..., ViewContext], table: CostTable
) -> None:
    assert 'id="cost"' not in html_text(view_of(make_context()))
    view = view_of(replace(make_context(), costs=table))
    text = html_text(view)
    assert 'id="cost"' in text
    assert "<crowns>" not in text
    assert "&lt;crowns&gt;" in text
    assert pdf_bytes(view).startswith(b"%PDF")
