"""The box in the book: its cuts, drawings and parts, and its corner at true size in the PDF."""

from __future__ import annotations

import html
import io
import math
import re
from datetime import date
from pathlib import Path
from typing import Any, cast

import pytest
from pypdf import PdfReader

from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.server.rendering import rendered_parts
from flushwork.book.compose import book_view
from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.checks.rules.board.box_rules import box_findings
from flushwork.job.read import read_job
from flushwork.job.text.dump import resolved_text
from flushwork.views.book_records import BookView
from flushwork.views.box.box_drawings import corner_sheet
from flushwork.views.box.box_views import box_view
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.figures import Lengths
from flushwork.views.warning_lines import BOX_SAW, SAW, bites
from tests.book.test_pdf import sizes_on
from tests.checks.hearing import written
from tests.scenarios.texts import job
from tests.small_jobs import PLAIN, made
from tests.wood.test_box import FIELD, begun, boxed, drawn

BOX = """\
box:
  wall: 8 mm
  height: 66 mm
  board: {from base: 44 mm, width: 15.5 mm, depth: 3 mm}
  bottom: {from base: 5 mm, width: 3 mm, depth: 3 mm}
  trim: 0.5 mm
  splines: {heights: [14 mm, 24 mm], thickness: 2 mm, depth: 7 mm}
  lid: {from base: 35 mm}
  hinges: {from corner: 16 mm, length: 20 mm, leaf: 6 mm}
  catch: {length: 12 mm}
  feet: {diameter: 5 mm, from corner: 12 mm, recess: 1 mm}
  art outside: [{name: band, from base: 26 mm, to: 31 mm, from corner: 14 mm}]
cut list:
  boards:
    - {name: A, length: 900 mm, width: 150 mm, thickness: 25 mm}
    - {name: B, length: 700 mm, width: 150 mm, thickness: 15 mm}
    - {name: C, length: 300 mm, width: 150 mm, thickness: 9 mm}
"""


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Build:
    found = made(tmp_path_factory.mktemp("box"), PLAIN + BOX)
    assert found.ok_to_cut, [each for each in found.findings if each.stands]
    assert not [each for each in found.findings if each.code.startswith(("box", "boards"))]
    return found


@pytest.fixture(scope="module")
def view(build: Build) -> BookView:
    return book_view(build, {}, date(2027, 3, 1))


@pytest.fixture(scope="module")
def full(view: BookView) -> PdfReader:
    return PdfReader(io.BytesIO(pdf_bytes(view, "full")))


def told(reader: PdfReader) -> str:
    text = " ".join(page.extract_text() for page in reader.pages)
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


def test_the_saw_cuts_stand_in_order_with_stops_and_angles(view: BookView) -> None:
    """By hand: the board of 76 x 56, 0.3 free, 3 into each wall of 8: 86.6 x 66.6 outside."""
    assert view.box is not None
    cuts = "\n".join(view.box.cuts)
    order = [
        "Plane the walls to 8.0\xa0mm, rip them to 66.0\xa0mm",
        "3.0\xa0mm deep and 15.5\xa0mm wide, from 44.0\xa0mm above the base",
        "order A, B, C, D, with letters on the outer face: A and C 88.6\xa0mm and B and D "
        "68.6\xa0mm",
        "blade tilted 45.0\N{DEGREE SIGN}",
        "86.6\xa0mm for A and C and 66.6\xa0mm for B and D",
        "blade 7.0\xa0mm above its corner, slots 2.0\xa0mm wide, their middles 14.0 and 24.0 mm",
        "Plane 0.5\xa0mm off",
        "a kerf from 33.5\xa0mm to 36.5\xa0mm",
        "16.0\xa0mm from each corner",
        "12.0 \N{MULTIPLICATION SIGN} 6.0 mm, in the middle",
        "12.0\xa0mm from each corner",
    ]
    places = [cuts.index(words) for words in order]
    assert places == sorted(places)
    assert view.box.bites == bites((SAW, BOX_SAW))
    assert {SAW, BOX_SAW} <= set(view.safety_lines)


def test_the_parts_are_laid_out_with_the_others(view: BookView) -> None:
    assert view.cut_list is not None
    assert view.box is not None
    names = [row[0] for row in view.cut_list.parts.rows]
    assert set(names) == {"blank", "box walls in one length", "box bottom"}
    # by hand: 2 (86.6 + 66.6), 2 mm for each wall, three cuts of 3 mm
    assert "323.4 \N{MULTIPLICATION SIGN} 66.0 \N{MULTIPLICATION SIGN} 8.0" in str(
        view.box.parts.rows
    )
    assert "running on around the corners" in str(view.box.parts.rows)
    # by hand: two to a corner, 14 wide, 7 deep; 2 mm over, a kerf of 3 mm each, 80 mm to hold
    sticks = view.box.parts.rows[-1]
    assert sticks[:2] == ("splines, of one stick", "8")
    assert sticks[2].startswith("232.0 \N{MULTIPLICATION SIGN} 9.0")
    assert sticks[3] == "14.0 \N{MULTIPLICATION SIGN} 7.0 \N{MULTIPLICATION SIGN} 2.0"
    assert sticks[5] == "along it, across the joint"


def test_both_books_and_the_page_tell_it(view: BookView, full: PdfReader) -> None:
    assert view.box is not None
    said, page = told(full), html_text(view)
    for line in (*view.box.cuts, *view.box.gluing, *view.box.bites):
        assert re.sub(r"\s", "", line) in re.sub(r"\s", "", said)
        assert line.split(",")[0] in page
    short = told(PdfReader(io.BytesIO(pdf_bytes(view))))
    assert "true-size corner are in the full book" in short


def test_the_bench_tells_it_beside_the_cut_list(build: Build, view: BookView) -> None:
    """All but the film, which the page of the wood does not show."""
    assert view.box is not None
    snapshot = Snapshot(1, "", lambda: build, cast("Any", None), coarse=False)
    page = rendered_parts(snapshot, "metric")["parts"]["wood"]
    assert "<h3>The box</h3>" in page
    for line in (*view.box.cuts, *view.box.gluing, *view.box.bites):
        assert html.escape(line, quote=False).split("'")[0] in page
    assert page.count("<figure>") == len(view.box.drawings) + len(view.box.together)
    inches = rendered_parts(snapshot, "inch")["parts"]["wood"]
    told = inches[inches.index("<h3>The box</h3>") :]
    assert not re.search(r"\d[\s\xa0]mm\b", re.sub(r"<svg.*?</svg>", "", told, flags=re.DOTALL))


def test_the_corner_is_printed_at_true_size(full: PdfReader) -> None:
    sizes = [size for at in range(len(full.pages)) for size in sizes_on(full, at)]
    slots = [
        (wide, high)
        for wide, high in sizes
        if abs(wide - 2 * 7 * math.sqrt(2.0)) < 0.02 and abs(high - 2.0) < 0.02
    ]
    assert len(slots) == 2
    bars = [wide for wide, high in sizes_on(full, len(full.pages) - 1) if abs(high - 1.2) < 0.01]
    assert bars == pytest.approx([50.0], abs=0.01)


def test_a_high_box_has_several_sheets_each_with_its_bar() -> None:
    build = boxed(
        job(
            f"{FIELD}box: {{wall: 10 mm, height: 600 mm, inside: 200 mm x 150 mm, "
            "splines: {heights: [20 mm, 300 mm, 580 mm]}}\n"
        )
    )
    sheet = corner_sheet(build, Space(190.0, 277.0), Lengths("metric"))
    assert sheet is not None
    assert len(sheet.tiles) == 3
    assert all(tile.svg.count('height="1.2"') == 1 for tile in sheet.tiles)
    assert all(tile.height_mm <= 277.0 for tile in sheet.tiles)
    assert [">20.0\xa0mm<" in tile.svg for tile in sheet.tiles] == [True, False, False]


def test_leaning_walls_are_sawn_at_compound_angles() -> None:
    """15 degrees from upright is a pitch of 75: the printed chart has M 14.51 and B 43.08."""
    text = f"{FIELD}box: {{wall: 10 mm, height: 60 mm, board: loose, walls lean: 15 deg}}\n"
    view = box_view(begun(job(text)), Lengths("metric"))
    assert view is not None
    assert "gauge 14.51\N{DEGREE SIGN} off square, blade tilted 43.08\N{DEGREE SIGN}" in " ".join(
        view.cuts
    )
    assert "both edges at 15.0\N{DEGREE SIGN}" in view.cuts[0]


def test_the_box_as_understood_reads_back(tmp_path: Path) -> None:
    for more in (BOX, BOX.replace("  trim", "  inside: 80 mm x 60 mm\n  trim")):
        path = written(tmp_path, PLAIN + more)
        first = read_job(path)
        path.write_text(resolved_text(first), "utf-8")
        again = read_job(path)
        assert first.box is not None
        assert again.box is not None
        assert (again.box.inside_x_mm, again.box.splines, again.box.lid, again.box.hinges) == (
            first.box.inside_x_mm, first.box.splines, first.box.lid, first.box.hinges,
        )  # fmt: skip
        assert again.box.board is not None
        assert first.box.board is not None
        assert again.box.board.depth_mm == first.box.board.depth_mm


def test_box_and_board_are_drawn_together(view: BookView) -> None:
    """The board's inlay, two pairs of splines on each wall that is seen, the band and the lid."""
    assert view.box is not None
    (picture,) = view.box.together
    assert picture.svg.count("<circle") == 6
    assert picture.svg.count('fill="#35618a"') == 2
    assert picture.svg.count('fill="#ffffff"') == 2
    assert 40.0 < picture.width_mm <= 86.0
    assert 30.0 < picture.height_mm <= 62.0
    assert picture.svg in html_text(view)


def test_the_travelling_set_goes_into_its_box() -> None:
    """Slots and grooves are clear of each other and of what is inlaid around the walls."""
    read = read_job(Path(__file__).parents[2] / "examples" / "kingfisher" / "job.yaml")
    assert read.box is not None
    build = drawn(read)
    boxes = box_of_build(build)
    assert boxes is not None
    assert not list(box_findings(boxes))
    assert boxes.board is not None
    assert boxes.board.size_mm == pytest.approx((284.0, 184.0))
    assert min(art.from_corner_mm for art in read.box.art) - boxes.shows_mm >= 1.0
    assert read.box.board is not None
    assert boxes.board.thick_mm < read.box.height_mm - read.box.board.from_base_mm


def test_a_job_without_a_box_says_nothing_of_one(tmp_path: Path) -> None:
    build = begun(job(FIELD))
    assert box_of_build(build) is None
    assert box_view(build, Lengths("metric")) is None
