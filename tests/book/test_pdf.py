"""The PDF: same bytes, safe words, true size."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from flushwork.book.compose import view_of
from flushwork.book.pdf import pdf_bytes
from flushwork.views.book_records import BookView
from flushwork.views.context import PAGES, ViewContext
from tests.book.rebuilt import rebuilt

POINTS_PER_MM = 72.0 / 25.4
Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

HOSTILE = (
    '"quoted" \'single\' <script>alert(1)</script> & #panic("no") $x$ *bold* _it_ @ref \\ '
    "`raw` [ ] { } // /* \u00e5\u00df\u6728 " + "w" * 300
)


def times(inner: Matrix, outer: Matrix) -> Matrix:
    """Return the product of two PDF matrices (ISO 32000-1, 8.3.3)."""
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (
        a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j,
        e * g + f * i + k, e * h + f * j + m,
    )  # fmt: skip


class Filled:
    """Walks a page's drawing and keeps the size on paper, in mm, of every filled path."""

    def __init__(self, reader: PdfReader) -> None:
        self.reader = reader
        self.sizes: list[tuple[float, float]] = []

    def walk(self, content: Any, resources: Any, matrix: Matrix) -> None:
        kept: list[Matrix] = []
        points: list[tuple[float, float]] = []
        for operands, operator in ContentStream(content, self.reader).operations:
            numbers = [float(each) for each in operands if isinstance(each, int | float)]
            if operator == b"q":
                kept.append(matrix)
            elif operator == b"Q":
                matrix = kept.pop()
            elif operator == b"cm":
                matrix = times(matrix_of(numbers), matrix)
            elif operator == b"Do":
                self.enter(resources["/XObject"][operands[0]].get_object(), resources, matrix)
            else:
                points = self.paint(operator, numbers, points, matrix)

    def enter(self, form: Any, resources: Any, matrix: Matrix) -> None:
        if form.get("/Subtype") == "/Form":
            own = matrix_of([float(each) for each in form.get("/Matrix", IDENTITY)])
            self.walk(form, form.get("/Resources", resources), times(own, matrix))

    def paint(
        self, operator: bytes, numbers: list[float], points: list[tuple[float, float]],
        matrix: Matrix,
    ) -> list[tuple[float, float]]:  # fmt: skip
        if operator in (b"m", b"l"):
            return [*points, (numbers[0], numbers[1])]
        if operator == b"re":
            x, y, width, height = numbers
            return [*points, (x, y), (x + width, y + height)]
        if operator in (b"f", b"f*", b"B", b"B*") and points:
            placed = [times((1, 0, 0, 1, x, y), matrix)[4:] for x, y in points]
            xs, ys = [x for x, _ in placed], [y for _, y in placed]
            wide, high = max(xs) - min(xs), max(ys) - min(ys)
            self.sizes.append((wide / POINTS_PER_MM, high / POINTS_PER_MM))
        return [] if operator in (b"f", b"f*", b"B", b"B*", b"S", b"s", b"n") else points


def matrix_of(numbers: list[float]) -> Matrix:
    a, b, c, d, e, f = numbers
    return a, b, c, d, e, f


def sizes_on(reader: PdfReader, number: int) -> list[tuple[float, float]]:
    page = reader.pages[number]
    filled = Filled(reader)
    filled.walk(page.get_contents(), page["/Resources"], IDENTITY)
    return filled.sizes


@pytest.fixture(scope="module")
def view(context: ViewContext) -> BookView:
    return view_of(context)


@pytest.fixture(scope="module")
def reader(view: BookView) -> PdfReader:
    return PdfReader(io.BytesIO(pdf_bytes(view, "full")))


def words(reader: PdfReader, pages: int = 99) -> str:
    text = " ".join(page.extract_text() for page in reader.pages[:pages])
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


def test_the_same_view_gives_the_same_bytes(view: BookView) -> None:
    assert pdf_bytes(view) == pdf_bytes(view)


def test_every_chapter_is_there(reader: PdfReader) -> None:
    text = words(reader)
    for heading in (
        "Buy and lay out", "Setup 1: front up", "Pour 1: deep teal", "Safety",
        "How each kind of work is done", "Checks", "Colours, front face", "Colours, back face",
        "As drawn and as seen", "The holes", "Thickness table", "The job as understood",
        "Looking after", "Front face at true size",
    ):  # fmt: skip
        assert heading in text


def test_the_check_bar_measures_true_on_every_outline_sheet(
    reader: PdfReader, view: BookView
) -> None:
    tiles = sum(len(sheet.tiles) for sheet in view.sheets)
    for number in range(len(reader.pages) - tiles, len(reader.pages)):
        bars = sorted(wide for wide, high in sizes_on(reader, number) if abs(high - 1.2) < 0.01)
        assert bars == pytest.approx([50.0], abs=0.01)


@pytest.mark.parametrize("page", ["a4", "us-letter"])
def test_pages_have_the_size_asked_for(make_context: Callable[..., ViewContext], page: Any) -> None:
    reader = PdfReader(io.BytesIO(pdf_bytes(view_of(replace(make_context(), page=page)))))
    for each in reader.pages:
        size = sorted((float(each.mediabox.width), float(each.mediabox.height)))
        assert size == pytest.approx(sorted(side * POINTS_PER_MM for side in PAGES[page]), abs=0.1)


def test_hostile_words_are_printed_as_they_are(make_context: Callable[..., ViewContext]) -> None:
    pieces = make_context(title=HOSTILE)
    named = tuple(replace(each, message=HOSTILE, remedy=HOSTILE) for each in pieces.build.findings)
    text = words(PdfReader(io.BytesIO(pdf_bytes(view_of(rebuilt(pieces, findings=named))))), 3)
    assert '#panic("no") $x$ *bold* _it_ @ref' in text
    assert "<script>alert(1)</script>" in text


def test_no_word_runs_off_the_page(make_context: Callable[..., ViewContext]) -> None:
    pieces = make_context(title="w" * 400)
    stages = tuple(replace(stage, title="m" * 300) for stage in pieces.build.plan.stages)
    pieces = rebuilt(pieces, plan=replace(pieces.build.plan, stages=stages))
    reader = PdfReader(io.BytesIO(pdf_bytes(view_of(pieces))))
    for page in reader.pages[:10]:
        width = float(page.mediabox.width)
        starts: list[float] = []

        def note(text: str, _cm: Any, tm: Any, _font: Any, size: Any) -> None:
            if text.strip():
                starts.append(float(tm[4]) + 0.3 * len(text.strip()) * float(size or 0.0))  # noqa: B023

        page.extract_text(visitor_text=note)
        assert max(starts, default=0.0) < width


def test_a_book_without_inlays_holes_or_machine_still_prints(context: ViewContext) -> None:
    build = context.build
    bare = rebuilt(
        replace(context, resolved=""),
        job=replace(build.job, faces=(), mixes=(), sealer=None, finish=None, test_pieces=0),
        faces=(), fits=(), gcode_files=(), pours=(), findings=(),
        plan=replace(build.plan, stages=(), setups=()),
        replay=replace(build.replay, thickness_table=()),
    )  # fmt: skip
    assert len(PdfReader(io.BytesIO(pdf_bytes(view_of(bare)))).pages) >= 3


def test_the_pdf_has_its_title_and_no_clock(reader: PdfReader) -> None:
    assert reader.metadata is not None
    assert reader.metadata.title == "Kingfisher travelling set"
    made = reader.metadata.creation_date
    assert made is None or made.year == 1970
