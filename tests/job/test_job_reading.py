"""What a job file becomes: records in mm, names resolved, every record with its line."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from flushwork.job.keys.mixes import CLEAR_COLOUR, mixed_colour, mixed_opacity
from flushwork.job.read import read_job
from flushwork.job.records import (
    ArcHoles,
    CircleArt,
    GridHoles,
    Job,
    LineHoles,
    Manner,
    MeasuredFrom,
    Placement,
    PointHoles,
    PolygonArt,
    RectangleArt,
    StrokeArt,
    SvgArt,
    TextArt,
)
from flushwork.shelf import tables
from flushwork.shelf.items import Pigment

HEAD = """\
flushwork: 2
title: Test
blank: {wood: black cherry, length: 12 in, width: 150 mm, thickness: 3/4 in}
mixes:
  teal: {resin: coating epoxy, pigments: teal flake}
front:
"""


def job_of(tmp_path: Path, text: str) -> Job:
    path = tmp_path / "job.yaml"
    path.write_text(text, "utf-8")
    return read_job(path)


def inlays(tmp_path: Path, *rows: str) -> Job:
    listed = "".join(f"    - {{{row}}}\n" for row in rows)
    return job_of(tmp_path, f"{HEAD}  inlays:\n{listed}")


def test_ten_lines_get_sensible_defaults(tmp_path: Path) -> None:
    job = inlays(tmp_path, "circle: 40 mm, depth: 2 mm, fill: teal")
    (inlay,) = job.inlays
    assert inlay.name == "front inlay 1"
    assert (inlay.manner, inlay.measured_from) == (Manner.OVERFILLED, MeasuredFrom.FINISHED)
    assert inlay.sealed
    assert not inlay.bits
    assert (inlay.cap, inlay.cap_mm) == (None, 0.0)
    assert (job.pieces, job.test_pieces, job.cell_mm) == (1, 0, None)
    assert job.sealer is job.shop.sealers[0]
    assert job.finish is not None
    assert job.finish.holes_first
    assert job.outline.artwork is None
    assert job.holding == job.shop.holdings[0]
    assert job.blank.length_mm == pytest.approx(304.8)
    assert job.blank.thickness_mm == pytest.approx(19.05)
    assert job.blank.grain_along_x
    assert job.allowances.wood_between_mm == 3.0
    assert job.face("back").inlays == ()


def test_everything_knows_its_line(tmp_path: Path) -> None:
    job = job_of(
        tmp_path,
        HEAD
        + "  inlays:\n    - name: a\n      circle: 4 mm\n      depth: 2 mm\n      fill: teal\n",
    )
    (inlay,) = job.inlays
    assert (inlay.source.line, inlay.source.column) == (8, 7)
    assert (inlay.depth_source.line, inlay.depth_source.key) == (10, "front.inlays[a].depth")
    assert inlay.artwork[0].source.line == 9
    assert job.blank.thickness_source.key == "blank.thickness"
    assert job.mixes[0].source.line == 5
    assert str(inlay.depth_source) == "job.yaml:10: front.inlays[a].depth"
    assert "front.inlays.0.depth" in job.given
    assert "pieces" not in job.given


def test_every_kind_of_artwork(tmp_path: Path) -> None:
    end = "depth: 2 mm, fill: teal"
    job = inlays(
        tmp_path,
        f"svg: a/b.svg, layers: dark, width: 60 mm, {end}",
        f"text: 007, size: 9 mm, font: sans bold, spacing: 5 %, {end}",
        f"lines: [[[0 mm, 0 mm], [1 in, 0 mm]]], width: 1.6 mm, ends: flat, {end}",
        f"curve: [[0 mm, 0 mm], [9 mm, 4 mm], [20 mm, 0 mm]], closed: yes, {end}",
        f"circle: 40 mm, {end}",
        f"ring: {{outside: 40 mm, inside: 36 mm}}, {end}",
        f"polygon: {{sides: 6, across: 60 mm}}, {end}",
        f"polygon: {{sides: 5, diameter: 60 mm, inner: 20 mm}}, {end}",
        f"polygon: {{points: [[0 mm, 0 mm], [9 mm, 0 mm], [0 mm, 9 mm]]}}, {end}",
        f"rectangle: 60 x 40 mm, round: 8 mm, line: 1 mm, {end}",
    )
    arts = [inlay.artwork[0].art for inlay in job.inlays]
    assert arts == [
        SvgArt(file="a/b.svg", layers=("dark",), width_mm=60.0),
        TextArt(words="007", font="sans bold", size_mm=9.0, spacing=0.05),
        StrokeArt((((0.0, 0.0), (25.4, 0.0)),), 1.6, smooth=False, closed=False, ends="flat"),
        StrokeArt(
            (((0.0, 0.0), (9.0, 4.0), (20.0, 0.0)),), 0.0, smooth=True, closed=True, ends="round"
        ),
        CircleArt(40.0, 0.0),
        CircleArt(40.0, 36.0),
        PolygonArt(6, 60.0 / math.cos(math.pi / 6), 0.0, ()),
        PolygonArt(5, 60.0, 20.0, ()),
        PolygonArt(0, 0.0, 0.0, ((0.0, 0.0), (9.0, 0.0), (0.0, 9.0))),
        RectangleArt(60.0, 40.0, 8.0, 1.0),
    ]
    drawn = [inlay.artwork[0].placement.as_drawn for inlay in job.inlays]
    assert drawn == [False, False, True, True, False, False, False, False, True, False]


def test_a_place_and_its_copies(tmp_path: Path) -> None:
    job = inlays(
        tmp_path,
        "circle: 4 mm, at: [10 mm, -1/2 in], from: lower left, turn: 30 deg, mirror: top-bottom,"
        " scale: 150 %, as drawn: yes, repeat: {columns: 3, rows: 2, pitch: [12 mm, 9 mm],"
        " around: 4}, depth: 2 mm, fill: teal",
    )
    assert job.inlays[0].artwork[0].placement == Placement(
        anchor="lower left",
        x_mm=10.0,
        y_mm=-12.7,
        turn_rad=math.radians(30),
        mirror="top-bottom",
        scale=1.5,
        as_drawn=True,
        columns=3,
        rows=2,
        pitch_x_mm=12.0,
        pitch_y_mm=9.0,
        around=4,
    )


def test_several_artworks_each_in_its_place(tmp_path: Path) -> None:
    job = inlays(
        tmp_path,
        "art: [{circle: 4 mm, at: [9 mm, 0 mm]}, {svg: a.svg, turn: 90 deg}], depth: 2 mm,"
        " fill: teal",
    )
    first, second = job.inlays[0].artwork
    assert (first.art, first.placement.x_mm) == (CircleArt(4.0, 0.0), 9.0)
    assert second.placement.turn_rad == pytest.approx(math.pi / 2)


def test_a_cap_is_clear_unless_named(tmp_path: Path) -> None:
    seam = "seam line: {along: a, width: 0.8 mm}, how: scraped flush and capped"
    job = inlays(
        tmp_path,
        "name: a, circle: 40 mm, depth: 2 mm, fill: teal",
        f"name: line, {seam}, depth: 1 mm, fill: teal",
        f"name: other, {seam}, depth: 1 mm, fill: teal, cap: teal, cap height: 0.2 mm",
    )
    _, line, other = job.inlays
    assert line.cap is not None
    assert line.cap.clear
    assert line.cap.resin == line.mix.resin
    assert line.cap_mm == job.allowances.overfill_mm
    assert line.seam is not None
    assert line.artwork == ()
    assert not line.seam.shared_only
    assert (other.cap, other.cap_mm) == (other.mix, 0.2)
    assert [mix.name for mix in job.mixes] == ["teal", "clear"]


def test_mixes_take_what_they_leave_out_from_the_shelf(tmp_path: Path) -> None:
    text = HEAD.replace(
        "pigments: teal flake}",
        "ratio: 100:45, thinner: {name: ethanol, share: 8 %}, pigments: [teal flake, {name:"
        ' white powder, share: 1 %}]}\n  own: {resin: five to one epoxy, colour: "#0B6A72",'
        " opacity: 70 %}",
    )
    job = job_of(tmp_path, f"{text}  inlays: [{{circle: 4 mm, depth: 2 mm, fill: own}}]\n")
    teal, own = job.mixes
    assert (teal.ratio_resin, teal.ratio_hardener, teal.by_weight) == (100.0, 45.0, True)
    assert teal.thinner is not None
    assert teal.thinner_share == pytest.approx(0.08)
    assert [each.share for each in teal.pigments] == [0.03, 0.01]
    assert not teal.clear
    assert (own.ratio_resin, own.ratio_hardener, own.by_weight) == (5.0, 1.0, False)
    assert (own.colour, own.opacity) == ("#0b6a72", 0.7)


def test_holes(tmp_path: Path) -> None:
    rows = [
        "grid: {columns: 7, rows: 5, pitch: [12 mm, 9 mm], skip: [[1, 1]]}, depth: 8 mm",
        "line: {start: [0 mm, 0 mm], end: [90 mm, 0 mm], count: 30, group: 5, gap: 3 mm},"
        " depth: through",
        "arc: {diameter: 80 mm, count: 12, start: 90 deg}, depth: 8 mm, flat bottom: no",
        "points: [[1 mm, 2 mm]], depth: 8 mm, bit: 3.175 mm drill, at: [1 mm, 0 mm]",
        "points file: holes.csv, depth: 8 mm, name: pegs",
    ]
    listed = "".join(f"    - {{{row}, diameter: 1/8 in}}\n" for row in rows)
    holes = job_of(tmp_path, f"{HEAD}  holes:\n{listed}").face("front").holes
    assert [each.pattern for each in holes] == [
        GridHoles(7, 5, 12.0, 9.0, ((1, 1),)),
        LineHoles((0.0, 0.0), (90.0, 0.0), 30, 5, 3.0),
        ArcHoles(80.0, 12, math.pi / 2, 2 * math.pi),
        PointHoles(((1.0, 2.0),), ""),
        PointHoles((), "holes.csv"),
    ]
    assert [each.through for each in holes] == [False, True, False, False, False]
    assert holes[1].depth_mm == pytest.approx(19.05)
    assert [each.flat_bottom for each in holes] == [True, True, False, True, True]
    assert all(each.diameter_mm == pytest.approx(3.175) for each in holes)
    assert holes[3].bit is not None
    assert holes[3].bit.name == "3.175 mm drill"
    assert holes[4].name == "pegs"


def test_the_rest_of_the_job(tmp_path: Path) -> None:
    text = HEAD.replace("mixes:", "sealer: none\nfinish: none\ncell: 0.05 mm\nmixes:")
    text = text.replace(
        "thickness: 3/4 in",
        "thickness: 3/4 in, grain: along the width, sawn: quarter, moisture: 9.5 %,"
        " flipped: side to side",
    )
    job = job_of(
        tmp_path,
        f"{text}  inlays: [{{circle: 4 mm, depth: 2 mm, measured from: face as it stands, engrave:"
        " yes, bits: [60 deg V-bit], fill: teal}]\naccept:\n  - {finding: wood-between-too-thin, "
        "because: tried it}\n",
    )
    assert (job.sealer, job.finish, job.cell_mm) == (None, None, 0.05)
    assert (job.blank.grain_along_x, job.blank.flat_sawn, job.blank.turn_about_x) == (False,) * 3
    assert job.blank.moisture == pytest.approx(0.095)
    (inlay,) = job.inlays
    assert inlay.measured_from is MeasuredFrom.STANDING
    assert inlay.v_bit
    assert not inlay.sealed
    assert [bit.name for bit in inlay.bits] == ["60 deg V-bit"]
    (accepted,) = job.accepted
    assert (accepted.code, accepted.subject, accepted.because) == (
        "wood-between-too-thin",
        "",
        "tried it",
    )


def test_the_trim_line(tmp_path: Path) -> None:
    trim = "trim line: {svg: out.svg, width: 200 mm, hidden border: 6 mm, tabs: 3}\nmixes:"
    job = job_of(
        tmp_path,
        HEAD.replace("mixes:", trim) + "  inlays: [{circle: 4 mm, depth: 2 mm, fill: teal}]\n",
    )
    assert job.outline.artwork is not None
    assert job.outline.artwork.art == SvgArt("out.svg", (), 200.0)
    assert (job.outline.hidden_mm, job.outline.tabs, job.outline.tab_mm) == (6.0, 3, 4.0)


def _pigment(name: str) -> Pigment:
    return next(each for each in tables.starter_shop().pigments if each.name == name)


def test_one_pigment_keeps_its_own_colour_and_hides_at_its_depth() -> None:
    teal = _pigment("teal flake")
    middle = (teal.share_low + teal.share_high) / 2
    assert mixed_colour([(teal, middle)]) == teal.colour
    assert (1 - mixed_opacity([(teal, middle)])) ** teal.hides_mm == pytest.approx(0.02)
    assert (mixed_colour([]), mixed_opacity([])) == (CLEAR_COLOUR, 0.0)


def test_a_little_black_darkens_white_and_the_order_does_not_matter() -> None:
    white, black = _pigment("white powder"), _pigment("black powder")
    grey = mixed_colour([(white, 0.03), (black, 0.0005)])
    assert int(black.colour[1:3], 16) < int(grey[1:3], 16) < int(white.colour[1:3], 16)
    assert grey == mixed_colour([(black, 0.0005), (white, 0.03)])


@pytest.mark.parametrize(
    ("called", "is_"), [("hard maple", "sugar maple"), ("cherry", "black cherry")]
)
def test_a_wood_goes_by_the_trades_other_names(tmp_path: Path, called: str, is_: str) -> None:
    (tmp_path / "job.yaml").write_text(
        HEAD.replace("wood: black cherry", f"wood: {called}") + "  inlays: []\n", "utf-8"
    )
    assert read_job(tmp_path / "job.yaml").blank.wood.name == is_
