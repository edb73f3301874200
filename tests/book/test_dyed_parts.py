"""The card of dyed parts, and the finding of parts that cannot be dyed to match."""

from __future__ import annotations

import html
import io
import re
from datetime import date

import pytest
from pypdf import PdfReader

from flushwork.book.compose import book_view
from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.built import Build
from flushwork.core.findings import Severity
from flushwork.views.book_records import BookView, DyeCard
from flushwork.views.warning_lines import DYE, PEGS
from tests.book.shared_views import pictures_of
from tests.small_jobs import changed, found, made

PARTS = changed(
    "title: Plain lid",
    "title: Plain lid\npieces: 2\nloose parts:\n"
    "  - {name: dark pins, wood: sugar maple, match: dark, count: 6}\n"
    "  - {name: milk pins, wood: black walnut, match: milk, count: 4,"
    " spares: 1, shape: peg, across: 4 mm, length: 20 mm, side: south}\n"
    "  - {name: plain dice, wood: red oak, count: 2, shape: die, across: 12 mm}",
    changed(
        "  clear: {",
        "  milk: {resin: coating epoxy, pigments: [{name: white powder, share: 4 %}]}\n  clear: {",
    ),
)


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return made(tmp_path_factory.mktemp("dyed"), PARTS)


@pytest.fixture(scope="module")
def view(result: Build) -> BookView:
    return book_view(result, pictures_of(result), date(2027, 3, 1))


@pytest.fixture(scope="module")
def card(view: BookView) -> DyeCard:
    assert view.light is not None
    assert view.light.dyed is not None
    return view.light.dyed


def test_parts_that_match_have_a_bath_and_little_remains(card: DyeCard) -> None:
    dark = card.kinds[0]
    assert "12 of sugar maple, 6 to each piece" in dark.heading
    assert all(" dye" in fact.label for fact in dark.bath)
    grams = [float(fact.value.split("\N{NO-BREAK SPACE}")[0]) for fact in dark.bath]
    assert all(0.0 < mass_g <= 1.5 for mass_g in grams)  # 1.5 % is the most of every dye here
    colours = {fact.label: fact.value for fact in dark.colours}
    assert colours["bare"] == "#dcc096"
    assert colours["wanted"] == "#17171a"
    left = float(dark.remains.split("difference of ")[1].removeprefix("under ").split()[0])
    assert left < 2.0
    assert "lighter" not in dark.remains


def test_page_two_says_how_many_and_what_to_cut_them_from(view: BookView) -> None:
    rows = {row[0]: row[1:] for group in view.buy for row in group.rows}
    assert rows["dark pins"] == ("12", "sugar maple, dyed to dark")
    number, told = rows["milk pins"]
    assert number == "10 (2 spare)"
    said = told.replace("\N{NO-BREAK SPACE}", " ")
    # ten parts of 20 mm and 3 mm beside each, and 80 mm to hold, are 310 mm; 4 mm and 2 mm thick
    assert said.startswith("black walnut, dyed to milk, for south, 4.00 mm across, 20.00 mm long, ")
    assert said.endswith("from 1 stick 6 \N{MULTIPLICATION SIGN} 6 \N{MULTIPLICATION SIGN} 310 mm")
    assert rows["plain dice"][1].startswith("red oak, bare")


def test_bare_parts_have_no_bath(card: DyeCard) -> None:
    assert len(card.kinds) == 2
    assert "10 of black walnut, 4 to each piece, 2 of them spare" in card.kinds[1].heading


def test_a_faint_dye_is_weighed_out_of_a_stock(card: DyeCard) -> None:
    faint = [fact.value for fact in card.kinds[0].bath if "stock" in fact.value]
    assert faint
    for value in faint:
        dye_g, _, stock = value.partition(", out of the stock: ")
        mass_g, stock_g = (float(text.split("\N{NO-BREAK SPACE}")[0]) for text in (dye_g, stock))
        assert stock_g == pytest.approx(100.0 * mass_g, abs=0.06)


def test_parts_that_cannot_match_say_why(card: DyeCard) -> None:
    milk = card.kinds[1]
    assert "leave them bare" in milk.bath[0].value
    assert "cannot be dyed lighter than itself" in milk.remains


def test_the_card_has_its_order_and_its_warnings(card: DyeCard) -> None:
    order = " ".join(card.steps)
    marks = [order.index(word) for word in ("Dye them", "Dry them", "barrier", "Glue last")]
    assert marks == sorted(marks)
    assert "sand nothing after" in card.steps[-1]
    assert DYE in card.warnings


def test_both_books_show_it(view: BookView) -> None:
    page = html_text(view)
    assert "Dyed loose parts" in page
    assert "cannot be dyed lighter than itself" in page
    data = pdf_bytes(view)
    assert data.startswith(b"%PDF")
    # HTML and PDF alike: the card's warnings stand on it, once
    paper = "".join(each.extract_text() for each in PdfReader(io.BytesIO(data)).pages)
    for line in (DYE, PEGS):
        assert html.unescape(page).count(line) >= 1
        assert re.sub(r"[\s-]", "", line) in re.sub(r"[\s\N{SOFT HYPHEN}-]", "", paper)


def test_what_cannot_match_is_found_and_what_matches_is_not(result: Build) -> None:
    (told,) = found(result, "dye-cannot-match")
    assert told.severity is Severity.WARNING
    assert told.subject == "milk pins"
    assert told.measure is not None
    assert told.measure.value > 5.0
    assert "lighter than itself" in told.message
    assert result.ok_to_cut
