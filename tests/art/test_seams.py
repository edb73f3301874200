"""Seam lines: each edge once, shared edges, borders left out, joined up."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, MultiLineString, box, unary_union

from flushwork.art.regions import many
from flushwork.art.seams import each_once, shared_edges
from flushwork.job.records import (
    CircleArt,
    Inlay,
    Placement,
    PolygonArt,
    RectangleArt,
    Seam,
    StrokeArt,
    SvgArt,
)
from tests.art.face_jobs import artwork, codes, drawn, face, inlay, job, svg_job, svg_text

OWN_ZERO = Placement(anchor="lower left", as_drawn=True)


def square(name: str, x_mm: float, y_mm: float, side_mm: float = 20.0) -> Inlay:
    corners = ((0, 0), (side_mm, 0), (side_mm, side_mm), (0, side_mm))
    points = tuple((x + x_mm, y + y_mm) for x, y in corners)
    return inlay(artwork(PolygonArt(0, 0.0, 0.0, points), OWN_ZERO), name=name)


def seam(*along: str, width_mm: float = 0.8, shared: bool = False, name: str = "edge") -> Inlay:
    return inlay(name=name, seam=Seam(along, width_mm, shared))


PAIR = (square("a", 20.0, 20.0), square("b", 40.0, 20.0))


def test_an_edge_that_two_inlays_share_is_taken_once() -> None:
    made = drawn(job(*PAIR, seam("a", "b")), "edge")
    assert made.strokes.length == pytest.approx(80.0 + 60.0, abs=0.05)
    widened = unary_union([line.buffer(0.4, quad_segs=64) for line in made.strokes.geoms])
    assert made.region.symmetric_difference(widened).area < 0.3


def test_only_the_shared_edge() -> None:
    made = drawn(job(*PAIR, seam("a", "b", shared=True)), "edge")
    assert made.strokes.length == pytest.approx(20.0, abs=0.05)
    assert made.strokes.bounds == pytest.approx((40.0, 20.0, 40.0, 40.0), abs=0.03)
    assert made.region.area == pytest.approx(0.8 * 20.0 + math.pi * 0.16, abs=0.06)


def test_inlays_meeting_at_a_corner_share_nothing() -> None:
    made = job(square("a", 20, 20), square("b", 40, 40), seam("a", "b", shared=True))
    assert codes(made) == ["seam-without-edge"]
    apart = job(square("a", 20, 20), square("b", 70, 40), seam("a", "b", shared=True))
    assert codes(apart) == ["seam-without-edge"]


@pytest.mark.parametrize("gap_mm", [-0.012, 0.0, 0.012])
def test_edges_that_miss_each_other_by_a_rounding_are_one(gap_mm: float) -> None:
    pair = (square("a", 20.0, 20.0), square("b", 40.0 + gap_mm, 20.0))
    every = drawn(job(*pair, seam("a", "b")), "edge")
    assert every.strokes.length == pytest.approx(140.0, abs=0.2)
    assert len(every.strokes.geoms) <= 3
    shared = drawn(job(*pair, seam("a", "b", shared=True)), "edge")
    assert shared.strokes.length == pytest.approx(20.0, abs=0.1)


def test_edges_further_apart_stay_two() -> None:
    pair = (square("a", 20.0, 20.0), square("b", 40.1, 20.0))
    assert drawn(job(*pair, seam("a", "b")), "edge").strokes.length == pytest.approx(160.0, abs=0.1)


def test_a_curve_flattened_twice_is_one_edge() -> None:
    """A disc and its surround drawn with other corners on the same circle."""
    disc = inlay(artwork(CircleArt(60.0, 0.0)), name="disc")
    angles = 0.01 + 2.0 * np.pi * np.arange(500) / 500
    rim = PolygonArt(0, 0.0, 0.0, tuple((30 * math.cos(t), 30 * math.sin(t)) for t in angles))
    other = inlay(artwork(rim, Placement(as_drawn=True)), name="rim")
    made = drawn(job(disc, other, seam("disc", "rim")), "edge")
    assert made.strokes.length == pytest.approx(60.0 * math.pi, abs=0.5)
    shared = drawn(job(disc, other, seam("disc", "rim", shared=True)), "edge")
    assert shared.strokes.length == pytest.approx(60.0 * math.pi, abs=0.5)


def test_a_t_joint_stays_connected() -> None:
    made = drawn(job(square("a", 20, 20, 40), square("b", 60, 30, 20), seam("a", "b")), "edge")
    assert made.strokes.buffer(1e-4).geom_type == "Polygon"
    assert made.strokes.length == pytest.approx(160.0 + 60.0, abs=0.1)


def test_crossing_outlines_keep_all_their_edges() -> None:
    made = drawn(job(square("a", 20, 20), square("b", 30, 30), seam("a", "b")), "edge")
    assert made.strokes.length == pytest.approx(160.0, abs=0.3)
    assert made.strokes.buffer(1e-4).geom_type == "Polygon"


def test_a_ring_has_two_edges() -> None:
    ring = inlay(artwork(CircleArt(60.0, 40.0)), name="ring")
    made = drawn(job(ring, seam("ring")), "edge")
    assert made.strokes.length == pytest.approx(100.0 * math.pi, abs=0.2)
    assert all(line.is_closed for line in made.strokes.geoms)


def test_what_lies_under_the_border_or_beyond_the_trim_line_is_left_out() -> None:
    trim = artwork(RectangleArt(100.0, 60.0, 0.0, 0.0))
    # the board reaches from 50 to 150 and 20 to 80; 5 mm of it are hidden
    reaching = square("a", 80.0, 20.0, 40.0)
    made = drawn(job(reaching, seam("a"), trim=trim, hidden_mm=5.0), "edge")
    assert made.strokes.bounds == pytest.approx((130.0, 40.0, 145.0, 75.0), abs=1e-6)
    assert made.strokes.length == pytest.approx(15.0 + 35.0, abs=0.01)
    assert made.region.bounds[2:] == pytest.approx((145.0, 75.0), abs=1e-6)
    assert made.region.bounds[:2] == pytest.approx((129.6, 39.6), abs=0.01)


def test_an_edge_along_the_trim_line_is_left_out() -> None:
    trim = artwork(RectangleArt(100.0, 60.0, 0.0, 0.0))
    flush = square("a", 0.0, 0.0)
    made = drawn(job(flush, seam("a"), trim=trim), "edge")
    assert made.strokes.length == pytest.approx(40.0, abs=0.01)
    assert made.strokes.bounds == pytest.approx((50.0, 20.0, 70.0, 40.0), abs=0.01)
    hidden = job(square("a", -40.0, -15.0, 10.0), seam("a"), trim=trim)
    assert codes(hidden) == ["seam-without-edge"]


def test_a_seam_along_a_seam_and_in_any_order() -> None:
    made = job(seam("edge", width_mm=0.4, name="fine"), seam("a", name="edge"), square("a", 20, 20))
    fine = drawn(made, "fine")
    # both edges of the line along a square: one a circle's arc at each corner, one square
    assert fine.strokes.length == pytest.approx(4 * 20.0 + 2.0 * math.pi * 0.4 + 4 * 19.2, abs=0.1)
    assert [each.inlay.name for each in face(made).inlays] == ["fine", "edge", "a"]


def test_seams_that_cannot_be_drawn() -> None:
    assert codes(job(*PAIR, seam("a", "c"))) == ["seam-along-unknown"]
    circle = job(seam("y", name="x"), seam("x", name="y"))
    assert codes(circle) == ["seam-runs-along-itself", "seam-runs-along-itself"]
    bare = inlay(artwork(StrokeArt((((0, 0), (9, 0)),), 0.0, False, False, "round")), name="bare")
    assert codes(job(bare, seam("bare"))) == ["seam-along-bare-line"]
    # what the seam runs along was refused: that is told once, and nothing more
    broken = inlay(artwork(CircleArt(0.0, 0.0)), name="a")
    assert codes(job(broken, seam("a"))) == ["circle-without-size"]


def test_a_compass_rose_has_each_of_its_edges_once() -> None:
    """Eight points in two colours about a centre: 16 triangles, 16 shared radii, 16 outer edges."""
    long_mm, short_mm = 40.0, 12.0
    tips = [
        ((long_mm if k % 2 == 0 else short_mm) * math.cos(k * math.pi / 8.0),
         (long_mm if k % 2 == 0 else short_mm) * math.sin(k * math.pi / 8.0))
        for k in range(16)
    ]  # fmt: skip
    colours = tuple(
        inlay(
            *(
                artwork(
                    PolygonArt(0, 0.0, 0.0, ((0.0, 0.0), tips[k], tips[(k + 1) % 16])),
                    Placement(as_drawn=True),
                )
                for k in range(start, 16, 2)
            ),
            name=name,
        )
        for start, name in ((0, "dark"), (1, "light"))
    )
    outer = math.dist(tips[0], tips[1])
    made = drawn(job(*colours, seam("dark", "light")), "edge")
    assert made.strokes.length == pytest.approx(16 * outer + 8 * (long_mm + short_mm), abs=0.01)
    shared = drawn(job(*colours, seam("dark", "light", shared=True)), "edge")
    assert shared.strokes.length == pytest.approx(8 * (long_mm + short_mm), abs=0.01)
    assert shared.strokes.buffer(0.01).geom_type == "Polygon"


def test_shared_edges_of_a_drawing_with_rounded_numbers(tmp_path: Path) -> None:
    body = """<g id="l"><path d="M10 10 C20 5 30 15 40 10 V30 H10z"/></g>
      <g id="u"><path d="M40.002 10.001 C30.002 15.003 19.998 4.998 10.001 9.999 V0 H40z"/></g>"""
    svg_job(tmp_path, svg_text(body))
    inlays = [
        inlay(artwork(SvgArt("art.svg", (layer,), None), OWN_ZERO), name=layer) for layer in "lu"
    ]
    made = drawn(job(*inlays, seam("l", "u", shared=True), folder=tmp_path), "edge")
    curve = LineString([(10, 40), (17, 41), (25, 40), (33, 39), (40, 40)])
    assert len(made.strokes.geoms) == 1
    assert made.strokes.length == pytest.approx(30.9, abs=0.5)
    assert made.strokes.hausdorff_distance(curve) < 1.5


def test_shared_edges_follow_the_first_region() -> None:
    first, second = many(box(0, 0, 10, 10)), many(box(10.01, -5, 20, 15))
    edges = shared_edges(first, second)
    assert edges.length == pytest.approx(10.0, abs=0.1)
    assert edges.bounds[0] >= 9.98
    assert shared_edges(first, many(box(11, 0, 20, 10))).is_empty


def test_each_once_keeps_what_only_one_has() -> None:
    first = MultiLineString([((0, 0), (10, 0))])
    second = MultiLineString([((2, 0.001), (8, 0.001)), ((5, 0), (5, 10))])
    assert each_once([first, second]).length == pytest.approx(20.0, abs=0.01)
    assert each_once([]).is_empty
