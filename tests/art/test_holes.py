"""Hole patterns: their places, their order, their files."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.art.hole_patterns import reading_order
from flushwork.job.keys.holes import HolePattern
from flushwork.job.records import (
    ArcHoles,
    FaceName,
    GridHoles,
    LineHoles,
    Placement,
    PointHoles,
    RectangleArt,
)
from tests.art.face_jobs import artwork, codes, face, hole_pattern, job, refused

GRID = GridHoles(7, 7, 12.0, 12.0, tuple((c, r) for c in (1, 2, 6, 7) for r in (1, 2, 6, 7)))


def places(
    pattern: HolePattern,
    placement: Placement | None = None,
    name: FaceName = "front",
    folder: Path = Path(),
) -> list[tuple[float, float]]:
    made = face(job(holes=(hole_pattern(pattern, placement, name),), folder=folder), name)
    (holes,) = made.holes
    assert [each.number for each in holes.places] == list(range(1, len(holes.places) + 1))
    return [(round(each.x_mm, 6), round(each.y_mm, 6)) for each in holes.places]


def test_a_grid_with_skips_is_centred_and_read_from_the_top() -> None:
    got = places(GRID)
    assert len(got) == 33
    assert got[0] == (100.0 - 12.0, 50.0 + 36.0)
    assert got[16] == (100.0, 50.0)
    assert got[-1] == (100.0 + 12.0, 50.0 - 36.0)
    # the empty corners do not move the rest
    lopsided = GridHoles(3, 1, 10.0, 10.0, ((1, 1),))
    assert places(lopsided) == [(100.0, 50.0), (110.0, 50.0)]


def test_skips_count_from_the_lower_left() -> None:
    assert places(GridHoles(2, 2, 10.0, 10.0, ((1, 1),))) == [
        (95.0, 55.0),
        (105.0, 55.0),
        (105.0, 45.0),
    ]


def test_a_pattern_stands_on_the_trim_lines_anchor() -> None:
    placement = Placement(anchor="lower left", x_mm=10.0, y_mm=5.0)
    assert places(PointHoles(((0.0, 0.0), (3.0, 0.0)), ""), placement) == [(10.0, 5.0), (13.0, 5.0)]
    trim = artwork(RectangleArt(100.0, 60.0, 0.0, 0.0))
    made = face(job(holes=(hole_pattern(GRID, placement),), trim=trim))
    assert made.holes[0].places[16].x_mm == pytest.approx(60.0)


def test_a_line_in_groups_ends_where_it_should() -> None:
    line = LineHoles((-60.0, 0.0), (60.0, 0.0), 10, 5, 12.0)
    got = [x - 100.0 for x, _ in places(line)]
    assert (got[0], got[-1]) == (-60.0, 60.0)
    steps = [round(b - a, 6) for a, b in itertools.pairwise(got)]
    assert steps == [12.0] * 4 + [24.0] + [12.0] * 4
    even = LineHoles((0.0, 0.0), (0.0, 30.0), 4, 0, 0.0)
    assert [y - 50.0 for _, y in places(even)] == [30.0, 20.0, 10.0, 0.0]


def test_arcs_and_whole_turns() -> None:
    half = ArcHoles(40.0, 3, 0.0, math.pi)
    assert places(half) == [(100.0, 70.0), (80.0, 50.0), (120.0, 50.0)]
    whole = places(ArcHoles(40.0, 4, 0.0, 2.0 * math.pi))
    assert len(set(whole)) == 4
    assert places(ArcHoles(40.0, 1, 0.0, 1.0)) == [(120.0, 50.0)]


def test_repeats_turns_and_mirrors() -> None:
    pair = PointHoles(((0.0, 0.0), (10.0, 0.0)), "")
    assert places(pair, Placement(turn_rad=math.pi / 2.0)) == [(100.0, 60.0), (100.0, 50.0)]
    assert places(pair, Placement(mirror="left-right")) == [(90.0, 50.0), (100.0, 50.0)]
    assert len(places(pair, Placement(columns=2, rows=3, pitch_x_mm=20.0, pitch_y_mm=9.0))) == 12
    assert len(places(pair, Placement(x_mm=20.0, around=5))) == 10


def test_holes_of_the_back_are_in_the_backs_frame() -> None:
    trim = artwork(RectangleArt(100.0, 60.0, 0.0, 0.0), Placement(anchor="lower left"))
    holes = hole_pattern(PointHoles(((3.0, 4.0),), ""), Placement(anchor="lower left"), "back")
    (made,) = face(job(holes=(holes,), trim=trim), "back").holes
    # the board lies along the blank's far edge once flipped
    assert (made.places[0].x_mm, made.places[0].y_mm) == pytest.approx((3.0, 44.0))


TINY_MM = 1e-9
"""Below this a difference of two floats is lost in their sum."""


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(-99, 99), st.floats(-99, 99)), max_size=30))
@example([(0.0, 9.771246381033988e-40), (0.0, -1.5)])
def test_reading_order_loses_nothing_and_goes_down(points: list[tuple[float, float]]) -> None:
    ordered = reading_order(points, 1.5)
    assert sorted(ordered) == sorted(points)
    for (x1, y1), (x2, y2) in itertools.pairwise(ordered):
        assert y2 <= y1 + 1.5 + TINY_MM
        assert x1 <= x2 or y2 < y1 + 1.5 + TINY_MM


def test_slightly_uneven_rows_still_read_as_rows() -> None:
    assert reading_order([(10, 0.1), (0, 0), (5, 0.05), (0, -9)], 1.5) == [
        (0, 0),
        (5, 0.05),
        (10, 0.1),
        (0, -9),
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0, 0\n10, 5\n", [(0.0, 0.0), (10.0, 5.0)]),
        ("x, y\n0,0\n10,5", [(0.0, 0.0), (10.0, 5.0)]),
        ("x y in\n0 0\n1 0.5", [(0.0, 0.0), (25.4, 12.7)]),
        ("unit: in\n0 0\n1 0.5", [(0.0, 0.0), (25.4, 12.7)]),
        ("x [cm]; y [cm]\n", None),
        ("X;Y;cm\n0;0\n1;0.5", [(0.0, 0.0), (10.0, 5.0)]),
        ("# pegs\n\nmm\n0\t0  # first\n1e1\t5", [(0.0, 0.0), (10.0, 5.0)]),
        ("\ufeffx,y\r\n0,0\r\n10,5\r\n", [(0.0, 0.0), (10.0, 5.0)]),
    ],
)
def test_files_of_points(
    tmp_path: Path, text: str, expected: list[tuple[float, float]] | None
) -> None:
    (tmp_path / "pegs.csv").write_text(text, "utf-8")
    pattern = PointHoles((), "pegs.csv")
    if expected is None:
        assert codes(job(holes=(hole_pattern(pattern),), folder=tmp_path)) == [
            "points-file-line-unreadable"
        ]
        return
    got = places(pattern, Placement(anchor="lower left"), folder=tmp_path)
    assert sorted(got) == sorted(expected)


def test_each_faulty_line_of_a_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "pegs.csv").write_text("x,y\n0,0\n1,two\n3\n4,nan\n1e9,0\n5,5,5\n", "utf-8")
    made = job(holes=(hole_pattern(PointHoles((), "pegs.csv")),), folder=tmp_path)
    findings = refused(made)
    assert [each.source.line for each in findings if each.source] == [3, 4, 5, 6, 7]
    assert {each.code for each in findings} == {"points-file-line-unreadable"}
    assert "line 3 of pegs.csv is '1,two'" in findings[0].message


@pytest.mark.parametrize(
    ("pattern", "code"),
    [
        (PointHoles((), "absent.csv"), "points-file-not-found"),
        (PointHoles((), "empty.csv"), "points-file-empty"),
        (PointHoles((), "bytes.csv"), "points-file-not-found"),
        (PointHoles((), ""), "holes-without-places"),
        (GridHoles(1, 1, 5.0, 5.0, ((1, 1),)), "holes-without-places"),
        (GridHoles(2, 1, 0.0, 0.0, ()), "holes-in-one-place"),
        (PointHoles(((1.0, 1.0), (5.0, 5.0), (1.0, 1.004)), ""), "holes-in-one-place"),
        (LineHoles((0.0, 0.0), (0.0, 0.0), 3, 0, 0.0), "hole-line-too-short"),
        (LineHoles((0.0, 0.0), (20.0, 0.0), 10, 5, 30.0), "hole-line-too-short"),
        (ArcHoles(0.0, 4, 0.0, 6.3), "holes-in-one-place"),
    ],
)
def test_patterns_that_make_no_sense(tmp_path: Path, pattern: HolePattern, code: str) -> None:
    (tmp_path / "empty.csv").write_text("# nothing\n", "utf-8")
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00\x01")
    assert codes(job(holes=(hole_pattern(pattern),), folder=tmp_path)) == [code]


def test_a_file_of_points_has_a_greatest_length(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At a limit of three: the file of four is refused, the file of three is drilled."""
    monkeypatch.setattr("flushwork.art.hole_patterns.MOST_POINTS", 3)
    rows = ["0, 0", "10, 0", "20, 0", "30, 0"]
    (tmp_path / "p.csv").write_text("\n".join(rows), "utf-8")
    pattern = PointHoles((), "p.csv")
    (found,) = refused(job(holes=(hole_pattern(pattern),), folder=tmp_path))
    assert found.code == "points-file-too-long"
    assert "p.csv holds 4 points" in found.message
    assert "at most 3" in found.remedy
    (tmp_path / "p.csv").write_text("\n".join(rows[:3]), "utf-8")
    assert len(places(pattern, folder=tmp_path)) == 3
