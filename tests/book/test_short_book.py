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
from flushwork.views.drawing.pictures import pictures_of
from tests.book.measured_pdf import Page, Said, contrast

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
            at = next(
                n for n, page in enumerate(short.pages) if squeezed(pour.heading) in squeezed(page)
            )
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
