"""Labels: words that fit, codes that hold what they shall."""

from __future__ import annotations

import io
import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import segno
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from flushwork.book.pdf import label_sheets
from flushwork.built import Build
from flushwork.core.findings import JobRefusedError
from flushwork.job.read import read_job
from flushwork.shelf.working import COMMON_LABELS, LabelSheet
from flushwork.views.book_records import PageSize
from flushwork.views.context import PAGES
from flushwork.views.labels import (
    CODE_SHARE,
    QUIET,
    Label,
    label_svg,
    labels_of,
    margin_of,
)
from tests.many import examples
from tests.small_jobs import PLAIN, made

SHEET = COMMON_LABELS
MARGIN_MM = margin_of(SHEET)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return made(tmp_path_factory.mktemp("labels"), PLAIN + "pieces: 2\ntest pieces: 1\n")


def labels(result: Build, bench: str = "") -> tuple[Label, ...]:
    assert result.schedule is not None
    return labels_of("A & B", result.plan, result.schedule, result.pours, bench)


def test_every_piece_and_every_cup_has_its_label(result: Build) -> None:
    names = [label.name for label in labels(result)]
    assert names == ["test piece 1", "piece 1", "piece 2", "pour 1"]
    cup = labels(result)[-1]
    assert cup.lines[0] == "dark"
    assert "plate" in cup.lines[2]


def test_the_bag_of_each_loose_part_has_its_label(result: Build, tmp_path: Path) -> None:
    parts = read_job(
        _written(
            tmp_path,
            PLAIN
            + "loose parts: [{name: pins, wood: sugar maple, match: dark, count: 6, spares: 1,"
            " side: near}, {name: stones, wood: red oak, count: 4}]\n",
        )
    ).loose_parts
    assert result.schedule is not None
    found = labels_of("A & B", result.plan, result.schedule, result.pours, "", parts)
    assert [label.name for label in found][-2:] == ["pins", "stones"]
    assert found[-2].lines == ("pins", "A & B", "14 of sugar maple, dyed dark", "for near")
    assert found[-1].lines[2] == "8 of red oak, bare"


def _written(folder: Path, text: str) -> Path:
    path = folder / "parts.yaml"
    path.write_text(text, "utf-8")
    return path


def test_a_code_opens_the_stage_on_the_bench_or_tells_the_same_words(result: Build) -> None:
    cup = labels(result, "http://127.0.0.1:8000/")[-1]
    assert cup.code == f"http://127.0.0.1:8000/machine#{result.pours[0].stage}"
    assert labels(result)[-1].code == f"A & B, pour 1, stage {result.pours[0].stage}"


def test_the_drawn_squares_are_those_of_the_code(result: Build) -> None:
    label = labels(result)[-1]
    root = ET.fromstring(label_svg(label))  # noqa: S314  (our own text)
    path = root.find(f"{SVG}path")
    assert path is not None
    matrix = segno.make(label.code, error="m", micro=False).matrix
    side = min(SHEET.height_mm - 2.0 * MARGIN_MM, CODE_SHARE * SHEET.width_mm)
    top = (SHEET.height_mm - side) / 2.0
    cell = side / (len(matrix) + 2 * QUIET)
    drawn = {
        (
            round((float(y) - top) / cell) - QUIET,
            round((float(x) - (SHEET.width_mm - MARGIN_MM - side)) / cell) - QUIET,
        )
        for x, y in re.findall(r"M([\d.]+) ([\d.]+)", path.attrib["d"])
    }
    assert drawn == {
        (row, column)
        for row, cells in enumerate(matrix)
        for column, dark in enumerate(cells)
        if dark
    }


def test_words_are_escaped_shortened_and_kept_off_the_code(tmp_path: Path) -> None:
    long = Label("x", ("<b> & so on", "one two three four five six seven eight nine"), "code")
    root = ET.fromstring(label_svg(long))  # noqa: S314  (our own text)
    texts = root.findall(f"{SVG}text")
    assert texts[0].text == "<b> & so on"
    assert texts[1].text is not None
    assert texts[1].text.endswith("\u2026")
    for text in texts:
        width = 0.56 * float(text.attrib["font-size"]) * len(text.text or "")
        assert MARGIN_MM + width <= (1.0 - CODE_SHARE) * SHEET.width_mm - MARGIN_MM + 0.1


PT = 72.0 / 25.4


@settings(max_examples=examples(15), deadline=None)
@given(
    st.integers(1, 60), st.integers(1, 4), st.integers(1, 8), st.floats(20.0, 50.0),
    st.floats(12.0, 33.0), st.floats(0.0, 2.0), st.sampled_from(["a4", "us-letter"]),
)  # fmt: skip
def test_every_label_has_a_place_of_its_own_on_the_page(
    count: int, columns: int, rows: int, wide: float, high: float, gap: float, page: PageSize
) -> None:
    sheet = LabelSheet(wide, high, columns, rows, gap, gap)
    labels = [Label(f"piece {n}", (f"PIECE{n}",), f"code {n}") for n in range(count)]
    reader = PdfReader(io.BytesIO(label_sheets(labels, sheet, page)))
    assert len(reader.pages) == math.ceil(count / (columns * rows))
    size = (wide, high) if columns == rows == 1 else PAGES[page]
    names: list[str] = []
    for each in reader.pages:
        told = (float(each.mediabox.width) / PT, float(each.mediabox.height) / PT)
        assert told == pytest.approx(size, abs=0.02)
        names += re.findall(r"PIECE\d+", each.extract_text())
    assert sorted(names) == sorted(f"PIECE{n}" for n in range(count))


def test_labels_are_set_by_the_shop_and_a_sheet_too_large_is_refused(tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text(
        "flushwork shop: 2\nlabels: {width: 2 5/8 in, height: 1 in, columns: 3, rows: 10, "
        "gap across: 1/8 in}\n", "utf-8"
    )  # fmt: skip
    (tmp_path / "job.yaml").write_text(PLAIN + "shop: shop.yaml\n", "utf-8")
    sheet = read_job(tmp_path / "job.yaml").shop.labels
    assert (sheet.columns, sheet.rows) == (3, 10)
    assert sheet.across_mm == pytest.approx(206.375)
    assert sheet.down_mm == pytest.approx(254.0)
    (tmp_path / "shop.yaml").write_text(
        "flushwork shop: 2\nlabels: {width: 99 mm, columns: 3}\n", "utf-8"
    )
    with pytest.raises(JobRefusedError) as told:
        read_job(tmp_path / "job.yaml")
    assert "297 mm wide, a page is" in str(told.value.findings)


@settings(max_examples=examples(20), deadline=None)
@given(
    wide=st.floats(20.0, 120.0),
    high=st.floats(12.0, 80.0),
    lines=st.lists(st.text("abcdefg hi", min_size=1, max_size=40), min_size=1, max_size=4),
)
def test_no_letter_is_smaller_than_six_points(wide: float, high: float, lines: list[str]) -> None:
    """But where not even eight letters of that size stand beside the code."""
    sheet = LabelSheet(width_mm=wide, height_mm=high, columns=1, rows=1)
    root = ET.fromstring(label_svg(Label("x", tuple(lines), "code"), sheet))  # noqa: S314
    texts = root.findall(f"{SVG}text")
    assert texts
    for text in texts:
        size_pt = float(text.attrib["font-size"]) * PT
        assert size_pt >= 5.99 or len(text.text or "") <= 8
        assert float(text.attrib["y"]) <= high
