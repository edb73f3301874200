"""Labels: words that fit, codes that hold what they shall."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import segno

from flushwork.pipeline import Build
from flushwork.views.labels import (
    HEIGHT_MM,
    MARGIN_MM,
    QUIET,
    WIDTH_MM,
    Label,
    label_svg,
    labels_of,
)
from tests.small_jobs import PLAIN, made

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
    side = HEIGHT_MM - 2.0 * MARGIN_MM
    cell = side / (len(matrix) + 2 * QUIET)
    drawn = {
        (
            round((float(y) - MARGIN_MM) / cell) - QUIET,
            round((float(x) - (WIDTH_MM - MARGIN_MM - side)) / cell) - QUIET,
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
        assert MARGIN_MM + width <= WIDTH_MM - HEIGHT_MM + 0.1
