"""The short book measured in its PDF: pages, words, sizes of letters, contrast, repeated lines."""

from __future__ import annotations

import io
import re
from collections import Counter
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from flushwork.book.compose import book_view
from flushwork.book.pdf import pdf_bytes
from flushwork.pipeline import build
from flushwork.usecases.odds import no_return
from flushwork.usecases.plan import cost
from flushwork.views.book_records import BookView
from tests.book.measured_pdf import Page, Said, contrast
from tests.book.shared_views import pictures_of

EXAMPLES = Path(__file__).parents[2] / "examples"
MOST_PAGES = {"kingfisher": 24, "house-sign": 12, "coaster": 10}
MOST_WORDS = {"kingfisher": 6000, "house-sign": 3000, "coaster": 3000}
MOST_LINES = 8
WHITE = (1.0, 1.0, 1.0)
PAPER = (0xF7 / 255, 0xF3 / 255, 0xED / 255)
HAIR_PT = 0.05


class Short:
    """A short book: its view, the text of its pages, every run of text in the order of painting."""

    def __init__(self, view: BookView) -> None:
        self.view = view
        self.reader = PdfReader(io.BytesIO(pdf_bytes(view)))
        self.pages = [page.extract_text() for page in self.reader.pages]
        self.said = [Page(self.reader, number).said for number in range(len(self.pages))]

    def parts(self) -> tuple[list[Said], list[Said]]:
        """Return what is said before the appendix and in it; the foot of a page is in neither."""
        front: list[Said] = []
        appendix: list[Said] = []
        here = front
        for page in self.said:
            for each in page:
                if each.text == "Appendix":
                    here = appendix
                here.append(each)
        assert appendix
        return front, appendix


@pytest.fixture(scope="module", params=["coaster", "house-sign", "kingfisher"])
def short(request: pytest.FixtureRequest) -> Short:
    name = str(request.param)
    made = build(EXAMPLES / name / "job.yaml")
    view = book_view(
        made, pictures_of(made), date(2027, 3, 1), costs=cost(made), risk=no_return(made)
    )
    found = Short(view)
    found.name = name  # type: ignore[attr-defined]
    return found


def name_of(short: Short) -> str:
    return str(short.name)  # type: ignore[attr-defined]


def test_pages_words_and_repeated_lines_are_few(short: Short) -> None:
    name = name_of(short)
    assert len(short.pages) <= MOST_PAGES[name]
    assert sum(len(page.split()) for page in short.pages) <= MOST_WORDS[name]
    lines = Counter(line.strip() for page in short.pages for line in page.splitlines())
    often = {line: count for line, count in lines.items() if line and count > MOST_LINES}
    assert not often


def test_nothing_is_too_small_to_read(short: Short) -> None:
    front, appendix = short.parts()
    small = [each for each in front if each.size_pt < 10.0 - HAIR_PT]
    assert not small
    assert not [each for each in appendix if each.size_pt < 8.0 - HAIR_PT]


def sizes(said: list[Said], words: str) -> list[float]:
    """Return the sizes in which some words stand in runs of text that hold nothing else."""
    wanted = squeezed(words)
    return [each.size_pt for each in said if squeezed(each.text) == wanted]


def squeezed(text: str) -> str:
    return re.sub(r"[\s\N{NO-BREAK SPACE}\u200b]", "", text)


def test_setup_and_pour_figures_can_be_read_at_arms_length(short: Short) -> None:
    for card in short.view.cards:
        heading = card.setup.heading if card.setup else card.pours.heading  # type: ignore[union-attr]
        at = next(n for n, page in enumerate(short.pages) if squeezed(heading) in squeezed(page))
        said = short.said[at]
        if card.setup is not None:
            for row in card.setup.files:
                for figure in (row.file_name, row.bit, row.rpm, row.feed, row.lowest_z):
                    assert max(sizes(said, figure)) >= 14.0 - HAIR_PT, figure
        for pour in card.pours.pours if card.pours is not None else ():
            at = page_of(short, pour.heading)
            for step in (*pour.clear_steps, *pour.steps):
                assert max(sizes(short.said[at], step.add)) >= 16.0 - HAIR_PT
                if step.stop_between:
                    found = [
                        each.size_pt
                        for each in short.said[at]
                        if squeezed(step.stop_between) in squeezed(each.text)
                    ]
                    assert max(found) >= 12.0 - HAIR_PT


def test_every_word_stands_out_from_the_paper(short: Short) -> None:
    for page in short.said:
        for each in page:
            on_dark = each.colour == WHITE
            assert on_dark or contrast(each.colour, PAPER) >= 4.5, each


def test_a_setup_stands_on_one_page(short: Short) -> None:
    for card in short.view.cards:
        if card.setup is None:
            continue
        at = next(
            n
            for n, page in enumerate(short.pages)
            if squeezed(card.setup.heading) in squeezed(page)
        )
        page = squeezed(short.pages[at])
        for line in (*card.setup.before, *card.setup.own, *card.setup.after):
            assert squeezed(line.title) in page
        for row in card.setup.files:
            assert squeezed(row.file_name) in page


def test_boxes_stand_in_the_order_of_work(short: Short) -> None:
    for card in short.view.cards:
        lines = [*card.setup.before, *card.setup.own, *card.setup.after] if card.setup else []
        lines += [pour.step for pour in card.pours.pours] if card.pours else []
        for line in lines:
            numbers = [int(name) for name in line.ticks if name.isdigit()]
            assert numbers == sorted(numbers)
            tests = [name for name in line.ticks if name and not name.isdigit()]
            assert list(line.ticks[: len(tests)]) == tests, line


def page_of(short: Short, words: str) -> int:
    """Return the page, from 0, on which some words first stand."""
    wanted = squeezed(words)
    return next(n for n, page in enumerate(short.pages) if wanted in squeezed(page))


def test_a_sheet_of_pours_has_its_heading_and_warnings_on_every_page(short: Short) -> None:
    sheets = [card.pours for card in short.view.cards if card.pours is not None]
    assert sheets
    for sheet in sheets:
        for at in {page_of(short, pour.heading) for pour in sheet.pours}:
            page = squeezed(short.pages[at])
            assert squeezed(sheet.heading) in page
            assert all(squeezed(line) in page for line in sheet.bites)


def test_every_page_is_half_full(short: Short) -> None:
    """Few pours are set larger, and sheets that follow each other share a page."""
    high_pt = float(short.reader.pages[0].mediabox.height)
    for page in short.reader.pages:
        seen: list[float] = []
        page.extract_text(
            visitor_text=lambda text, cm, tm, *_: (
                seen.append(tm[5] * cm[3] + cm[5]) if text.strip() else None  # noqa: B023
            )
        )
        above_foot = sorted(each for each in seen if each > 0.06 * high_pt)
        assert above_foot
        assert above_foot[0] < 0.52 * high_pt


def test_every_stage_at_hand_has_boxes_and_says_when_it_is_dry(short: Short) -> None:
    seals = 0
    for card in short.view.cards:
        whole = card.setup or card.pours
        assert whole is not None
        own = card.setup.own if card.setup else ()
        for line in (*whole.before, *own, *whole.after):
            assert line.ticks, line.title
            if line.title.startswith("Seal "):
                seals += 1
                assert re.search(r"\d+\s(?:min|h) at least", line.detail), line
    assert seals >= 2


def test_colours_have_no_letters_to_be_taken_for_how_tos(short: Short) -> None:
    for card in short.view.cards:
        for pour in card.pours.pours if card.pours is not None else ():
            said = [each.text.strip() for each in short.said[page_of(short, pour.heading)]]
            assert pour.letter not in said
    told = "".join(short.pages[page_of(short, "How each kind of work is done") :])
    for how in short.view.how_to:
        assert squeezed(f"{how.number} {how.name}") in squeezed(told)


def test_a_setup_says_how_large_the_blank_is_and_where_its_first_file_starts(short: Short) -> None:
    for card in short.view.cards:
        if card.setup is None:
            continue
        page = squeezed(short.pages[page_of(short, card.setup.heading)])
        assert squeezed(card.setup.size) in page
        assert card.setup.files[0].starts.endswith(card.setup.z_unit)


def test_one_word_for_a_stage(short: Short) -> None:
    for page in short.pages:
        assert not re.search(r"\b[Ss]teps?\s\d", page), page
