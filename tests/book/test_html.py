"""The HTML: one file, safe words, the same content as the PDF."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from flushwork.book.compose import view_of
from flushwork.book.html import html_text
from flushwork.views.context import ViewContext
from tests.book.rebuilt import rebuilt

VOID = {"meta", "br", "img", "input", "path", "rect", "circle"}


class Reader(HTMLParser):
    """Keeps tags, attributes and words, and checks that tags close in order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


@pytest.fixture(scope="module")
def text(context: ViewContext) -> str:
    return html_text(view_of(context))


def test_the_same_view_gives_the_same_text(context: ViewContext, text: str) -> None:
    assert html_text(view_of(context)) == text


def test_tags_close_in_order_and_names_are_unique(text: str) -> None:
    reader = read(text)
    names = [attributes["id"] for _, attributes in reader.tags if "id" in attributes]
    assert len(names) == len(set(names))


def test_nothing_is_fetched_and_nothing_runs(text: str) -> None:
    for tag, attributes in read(text).tags:
        assert tag not in {"script", "link", "iframe", "object", "base", "form"}
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href"):
            value = attributes.get(name)
            assert value is None or value.startswith(("data:image/png;base64,", "#"))
    addresses = set(re.findall(r"https?://[^\"'\s)]+", text))
    assert addresses == {"http://www.w3.org/2000/svg"}
    assert "default-src 'none'" in text


def test_links_lead_to_chapters_that_are_there(text: str) -> None:
    reader = read(text)
    names = {attributes.get("id") for _, attributes in reader.tags}
    links = {str(a["href"]).removeprefix("#") for tag, a in reader.tags if tag == "a"}
    assert links <= names


def test_hostile_words_stay_words(make_context: Callable[..., ViewContext]) -> None:
    hostile = "\"><script>alert('x')</script>{{ 7*7 }}{% raw %}&amp;"
    pieces = make_context(title=hostile)
    named = tuple(
        replace(each, message=hostile, accepted=hostile) for each in pieces.build.findings
    )
    text = html_text(view_of(replace(rebuilt(pieces, findings=named), resolved=hostile)))
    reader = read(text)
    assert not [tag for tag, _ in reader.tags if tag == "script"]
    assert "".join(reader.words).count(hostile) >= 6


def test_every_figure_of_the_view_is_on_the_page(context: ViewContext, text: str) -> None:
    view = view_of(context)
    said = "".join(read(text).words)
    setups = [card.setup for card in view.cards if card.setup is not None]
    sheets = [card.pours for card in view.cards if card.pours is not None]
    wanted = [fact.value for setup in setups for fact in (*setup.facts, *setup.regions)]
    wanted += [row.lowest_z for setup in setups for row in setup.files]
    wanted += [step.stop_between for sheet in sheets for pour in sheet.pours for step in pour.steps]
    wanted += [*view.safety_lines, *(line for setup in setups for line in setup.bites)]
    wanted += [step for how in view.how_to for step in how.steps]
    wanted += [finding.remedy for group in view.check.groups for finding in group.findings]
    wanted += [cell for group in view.holes for row in group.rows for cell in row]
    wanted += list(view.care.lines)
    assert [each for each in wanted if each not in said] == []


def test_tick_boxes_have_names(text: str) -> None:
    boxes = [a for tag, a in read(text).tags if tag == "input" and "aria-label" in a]
    assert [each["aria-label"] for each in boxes[:2]] == ["Stage 1, test piece", "Stage 1, piece 1"]
    assert len({each["aria-label"] for each in boxes}) == len(boxes)
    assert sum(str(each["aria-label"]).startswith("Pour") for each in boxes) == 4 * 3


def test_true_size_sheets_keep_their_millimetres(context: ViewContext, text: str) -> None:
    for sheet in view_of(context).sheets:
        for tile in sheet.tiles:
            assert f'width="{tile.width_mm:.2f}mm" height="{tile.height_mm:.2f}mm"' in text
