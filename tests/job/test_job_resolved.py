"""The resolved job reads back to itself and shows every default."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from flushwork.job.read import read_job
from flushwork.job.text.dump import resolved_text
from flushwork.usecases.jobs import starter_job_text, starter_shop_text

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.yaml"))

WORK = """\
flushwork: 2
title: "Odd: 'names' # here"
blank: {wood: black cherry, length: 12 in, width: 150 mm, thickness: 19 mm}
trim line: {rectangle: 200 mm x 100 mm}
sealer: none
finish: {name: hard-wax oil, holes: after}
mixes:
  "1: odd": {resin: five to one epoxy, pigments: [red dye, {name: white powder, share: 1 %}]}
front:
  inlays:
    - {name: "a, b", circle: 1/3 in, turn: 33.3 deg, depth: 2 mm, fill: "1: odd"}
    - {art: [{polygon: {sides: 5, diameter: 9 mm, inner: 4 mm}}, {text: "- x", size: 9 mm}],
       after: "a, b", depth: 2 mm, fill: "1: odd"}
    - {name: seam, seam line: {along: "a, b", width: 0.8 mm, edges: shared}, depth: 1 mm,
       fill: clear, how: scraped flush and capped, bits: 1 mm flat}
    - {name: waves, curve: [[0 mm, 0 mm], [9 mm, 1 mm], [12 mm, 0 mm]], width: 1 mm,
       repeat: {rows: 3, pitch: 2 mm}, depth: 1 mm, fill: "1: odd", sealed: no}
  holes:
    - {arc: {diameter: 80 mm, count: 12, sweep: 180 deg}, diameter: 3 mm, depth: through}
    - {points: [[0 mm, 0 mm]], diameter: 3 mm, depth: 4 mm, bit: 1 mm flat}
accept: [{finding: wood-between-too-thin, subject: "a, b", because: "it's fine"}]
"""


def body(text: str) -> list[str]:
    return [re.sub(r"  # default$", "", line) for line in text.splitlines()[1:]]


def rewritten(text: str, tmp_path: Path) -> tuple[str, str]:
    """Return the resolved text of a job, and the resolved text of that."""
    path = tmp_path / "job.yaml"
    path.write_text(text, "utf-8")
    first = resolved_text(read_job(path))
    path.write_text(first, "utf-8")
    return first, resolved_text(read_job(path))


def test_it_reads_back_to_itself(tmp_path: Path) -> None:
    first, second = rewritten(WORK, tmp_path)
    assert body(first) == body(second)
    assert "  # default" not in second


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_examples_read_and_read_back(path: Path, tmp_path: Path) -> None:
    job = read_job(path)
    if job.shop_file:
        (tmp_path / job.shop_file).write_bytes((path.parent / job.shop_file).read_bytes())
    first, second = rewritten(path.read_text("utf-8"), tmp_path)
    assert body(first) == body(second)


@pytest.mark.parametrize(
    "keys",
    [
        'width: 60 mm, colours: ["#0b6a72"], even light: yes',
        "width: 60 mm, number of colours: 3",
        'width: 60 mm, reduced to: ["#0b6a72", "#c81e28"]',
        "width: 60 mm, by fill: yes",
        "sheet: 90 mm x 60 mm, corners: [[1 %, 1 %], [9 %, 1 %], [9 %, 9 %], [1 %, 9 %]]",
    ],
)
def test_a_picture_reads_back_to_itself_however_it_is_reduced(tmp_path: Path, keys: str) -> None:
    work = f"""\
flushwork: 2
title: A rose
blank: {{wood: sugar maple, length: 120 mm, width: 90 mm, thickness: 12 mm}}
mixes:
  teal: {{resin: coating epoxy, pigments: [teal flake]}}
front:
  inlays:
    - {{name: rose, picture: rose.png, {keys}, depth: 2 mm, fill: teal}}
"""
    first, second = rewritten(work, tmp_path)
    assert body(first) == body(second)


def test_defaults_are_marked_and_only_they(tmp_path: Path) -> None:
    first, _ = rewritten(WORK, tmp_path)
    lines = first.splitlines()
    assert "pieces: 1  # default" in lines
    assert "  wood: black cherry" in lines
    assert "  coats: 3  # default" in lines
    assert "  holes: after" in lines
    assert "      depth: 2 mm" in lines
    assert "      how: overfilled  # default" in lines
    assert "      - name: red dye" in lines
    assert "        share: 0.85 %  # default" in lines
    assert "        share: 1 %" in lines
    assert "    - name: front inlay 2  # default" in lines


def test_the_shelf_behind_it_is_named_with_its_sources(tmp_path: Path) -> None:
    first, _ = rewritten(WORK, tmp_path)
    for thing in (
        "wood black cherry",
        "resin five to one epoxy",
        "pigment red dye",
        "bit 1 mm",
    ):
        assert f"# {thing}" in first


@pytest.mark.parametrize("title", ["My board", 'A: "b" #c', "  ", "{}", "Größe 3", "007", "a\nb"])
def test_a_new_job_reads_without_a_slip(title: str, tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(starter_job_text(title), "utf-8")
    (tmp_path / "shop.yaml").write_text(starter_shop_text(), "utf-8")
    job = read_job(tmp_path / "job.yaml")
    assert job.title == (" ".join(title.split()) or "My first board")
    assert job.shop.name == "My shop"
    assert len(starter_job_text(title).splitlines()) <= 20


def test_waste_bed_and_files_imported_read_back(tmp_path: Path) -> None:
    (tmp_path / "disc one.nc").write_text("G1 X1 F100\n", "utf-8")
    more = """\
locating: {by: discs, diameter: 12 mm, into blank: 3 mm, bit: 6.35 mm flat}
keep clear of:
  - {name: "left: clamp", size: [20 mm, 1 in], at: [-4 mm, 0 mm], from: left, height: 20 mm,
     face: front, setups: [1, 3]}
  - {name: stop, size: [5 mm, 5 mm], height: 9 mm}
cut registration marks: yes
on the bed: {pieces: 2, step: [0 mm, 170 mm]}
imported files:
  - {step: "cut a, b", files: [{file: disc one.nc, bit: 1 mm flat}], zero: [1 mm, 2 mm],
     zero from: middle, height zero: underside, units: inch}
"""
    first, second = rewritten(WORK + more, tmp_path)
    assert body(first) == body(second)
    assert "  # default" not in second
    (imported,) = read_job(tmp_path / "job.yaml").imported
    assert imported.zero_mm == pytest.approx((12 * 25.4 / 2.0 + 1.0, 77.0))
    assert imported.files[0].inch
    assert "zero: [153.4 mm, 77 mm]\n" in first
