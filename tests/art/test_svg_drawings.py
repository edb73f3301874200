"""Drawings as people have them: units, transforms, copies, rules, styles, strokes."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point

from flushwork.art.contours import Bezier
from flushwork.art.svg.shape_contours import read_path
from flushwork.core.tolerances import FLATTENING_MM
from tests.art.face_jobs import drawn, face, svg_job, svg_text


def bounds(folder: Path, text: str, *layers: str, width_mm: float | None = None) -> list[float]:
    region = drawn(svg_job(folder, text, *layers, width_mm=width_mm)).region
    return [round(number, 4) + 0.0 for number in region.bounds]


def area(folder: Path, text: str, *layers: str) -> float:
    made = drawn(svg_job(folder, text, *layers)).region
    assert made.is_valid
    return float(made.area)


@pytest.mark.parametrize(
    ("head", "wide_mm"),
    [
        ('width="100mm" height="50mm" viewBox="0 0 100 50"', 10.0),
        ('width="10cm" height="5cm" viewBox="0 0 100 50"', 10.0),
        ('width="2in" height="1in" viewBox="0 0 100 50"', 5.08),
        ('width="96px" height="48px" viewBox="0 0 100 50"', 2.54),
        ('width="72pt" height="36pt" viewBox="0 0 100 50"', 2.54),
        ('width="6pc" height="3pc" viewBox="0 0 100 50"', 2.54),
        ('width="400q" height="200Q" viewBox="0 0 100 50"', 10.0),
        ('width="100mm" height="50mm"', 10.0 * 25.4 / 96.0),
        ('width="100mm" viewBox="0 0 100 50"', 10.0),
        ('height="50mm" viewBox="0 0 100 50"', 10.0),
        ('width="100%" height="50mm" viewBox="0 0 100 50"', 10.0),
    ],
)
def test_physical_units_are_followed(tmp_path: Path, head: str, wide_mm: float) -> None:
    left, _, right, _ = bounds(tmp_path, svg_text('<rect width="10" height="10"/>', head))
    assert right - left == pytest.approx(wide_mm, abs=1e-3)


def test_lengths_inside_may_have_units_of_their_own(tmp_path: Path) -> None:
    text = svg_text('<rect x="10mm" width="1in" height="1cm"/>', 'width="100mm" height="50mm"')
    assert bounds(tmp_path, text) == [10.0, 40.0, 35.4, 50.0]


def test_y_points_up_on_the_face_and_the_page_stands_on_its_corner(tmp_path: Path) -> None:
    assert bounds(tmp_path, svg_text('<rect x="1" y="2" width="10" height="20"/>')) == [
        1.0,
        28.0,
        11.0,
        48.0,
    ]


def test_a_view_box_may_begin_anywhere(tmp_path: Path) -> None:
    head = 'width="60mm" height="60mm" viewBox="-30 -30 60 60"'
    text = svg_text('<rect x="-5" y="-5" width="10" height="10"/>', head)
    assert bounds(tmp_path, text) == [25.0, 25.0, 35.0, 35.0]


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        ("", [25.0, 0.0, 75.0, 50.0]),
        ("xMinYMin", [0.0, 0.0, 50.0, 50.0]),
        ("xMaxYMid meet", [50.0, 0.0, 100.0, 50.0]),
        ("none", [0.0, 0.0, 100.0, 50.0]),
        ("xMidYMin slice", [0.0, -50.0, 100.0, 50.0]),
        ("xMidYMax slice", [0.0, 0.0, 100.0, 100.0]),
    ],
)
def test_preserve_aspect_ratio(tmp_path: Path, rule: str, expected: list[float]) -> None:
    head = f'width="100mm" height="50mm" viewBox="0 0 10 10" preserveAspectRatio="{rule}"'
    assert bounds(tmp_path, svg_text('<rect width="10" height="10"/>', head)) == expected


def test_nested_transforms_multiply_from_the_outside_in(tmp_path: Path) -> None:
    body = """<g transform="translate(50 25)"><g transform="rotate(90) scale(2,1)">
      <rect x="0" y="0" width="10" height="5" transform="skewX(0) translate(1)"/></g></g>"""
    # turned clockwise as seen (y down): x goes down the page, y goes left
    assert bounds(tmp_path, svg_text(body)) == [45.0, 3.0, 50.0, 23.0]


def test_a_turn_about_a_point_and_a_matrix(tmp_path: Path) -> None:
    body = '<rect x="10" y="10" width="10" height="10" transform="rotate(180,15 15)"/>'
    assert bounds(tmp_path, svg_text(body)) == [10.0, 30.0, 20.0, 40.0]
    body = '<rect width="10" height="10" transform="matrix(1 0 0 -1 5 20)"/>'
    assert bounds(tmp_path, svg_text(body)) == [5.0, 30.0, 15.0, 40.0]


def test_copies_by_use_take_place_transform_and_style(tmp_path: Path) -> None:
    body = """<defs><g id="leaf"><rect width="4" height="4"/></g></defs>
      <use href="#leaf" x="10" y="10"/>
      <use xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="#leaf"
           transform="translate(30 10) scale(2)"/>
      <use href="#leaf" x="80" fill="none"/>"""
    made = drawn(svg_job(tmp_path, svg_text(body))).region
    assert made.area == pytest.approx(16.0 + 64.0)
    assert len(made.geoms) == 2


def test_fill_rules(tmp_path: Path) -> None:
    square = "M0 0h20v20h-20z M5 5h10v10h-10z"
    assert area(tmp_path, svg_text(f'<path d="{square}"/>')) == pytest.approx(400.0)
    ring = f'<path fill-rule="evenodd" d="{square}"/>'
    assert area(tmp_path, svg_text(ring)) == pytest.approx(300.0)
    other_way = '<path d="M0 0h20v20h-20z M5 5v10h10v-10z"/>'
    assert area(tmp_path, svg_text(other_way)) == pytest.approx(300.0)
    inherited = f'<g style="fill-rule: evenodd"><path d="{square}"/></g>'
    assert area(tmp_path, svg_text(inherited)) == pytest.approx(300.0)


def test_holes_and_islands_in_them(tmp_path: Path) -> None:
    rings = "M0 0h40v40h-40z M5 5h30v30h-30z M10 10h20v20h-20z M15 15h10v10h-10z"
    made = drawn(svg_job(tmp_path, svg_text(f'<path fill-rule="evenodd" d="{rings}"/>'))).region
    assert len(made.geoms) == 2
    assert made.area == pytest.approx(1600.0 - 900.0 + 400.0 - 100.0)
    assert all(part.exterior.is_ccw for part in made.geoms)
    assert not any(hole.is_ccw for part in made.geoms for hole in part.interiors)


def test_an_outline_that_runs_along_itself_keeps_its_area(tmp_path: Path) -> None:
    keyhole = '<path d="M0 0h30v30h-30z M30 30 h-30 v-30 h30z"/>'
    assert area(tmp_path, svg_text(f'<g fill-rule="nonzero">{keyhole}</g>')) == pytest.approx(900)
    bridged = '<path d="M0 0H30V30H0V15H10V20H20V10H10V15H0z"/>'
    assert area(tmp_path, svg_text(bridged)) == pytest.approx(900.0 - 100.0)


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("M10,10l10,0 0,10 -10,0z", 100.0),
        ("m10 10 10 0 0 10-10 0z", 100.0),
        ("M10 10H20V20H10Z", 100.0),
        ("M10 10h1e1v.1e2h-10.z", 100.0),
        ("M10-10l.5.5-.5.5z", 0.25),
        ("M0 0 C0 10 10 10 10 0z", 60.0),
        ("M0 0 c0 10 10 10 10 0 s10-10 10 0v20h-20z", 400.0),
        ("M0 0 Q5 10 10 0z", 100.0 / 3.0),
        ("M0 0 q5 10 10 0 t10 0v20h-20z", 400.0),
        ("M0 0a10 10 0 0110 10L0 10z", math.pi * 25.0),
        ("M10 0a10 10 0 1020 0a10 10 0 10-20 0", math.pi * 100.0),
        ("M10 10a1 1 0 01 1 1l-1 0z", math.pi / 4.0),
        ("M0 0A20 10 0 0 1 40 0z", math.pi * 100.0),
        ("M0 0A1 1 0 0 1 20 0z", math.pi * 50.0),
        ("M0 0A0 5 0 0 1 10 0L10 10z", 50.0),
        ("M0 0h10v10h-10z m20 0h10v10h-10z", 200.0),
        ("M0 0h10v10h-10zl0 -10 10 0z", 150.0),
        ("", None),
    ],
)
def test_all_path_commands(tmp_path: Path, path: str, expected: float | None) -> None:
    body = f'<path d="{path}"/><rect x="90" y="40" width="1" height="1"/>'
    got = area(tmp_path, svg_text(body)) - 1.0
    length = 2.0 * math.pi * 20.0
    assert got == pytest.approx(expected or 0.0, abs=FLATTENING_MM * length)


def test_basic_shapes(tmp_path: Path) -> None:
    expected = {
        '<rect width="20" height="10" rx="5"/>': 200.0 - (4.0 - math.pi) * 25.0,
        '<rect width="20" height="10" rx="50" ry="2"/>': 200.0 - (4.0 - math.pi) * 20.0,
        '<circle cx="20" cy="20" r="10"/>': math.pi * 100.0,
        '<ellipse cx="20" cy="20" rx="20" ry="10"/>': math.pi * 200.0,
        '<ellipse cx="20" cy="20" rx="10"/>': math.pi * 100.0,
        '<polygon points="0,0 10,0 10 10"/>': 50.0,
        '<polygon points="0 0, 10 0, 10 10, 0 0"/>': 50.0,
        '<polyline points="0,0 10,0 10,10 0,0"/>': 50.0,
    }
    for body, sum_mm2 in expected.items():
        assert area(tmp_path, svg_text(body)) == pytest.approx(sum_mm2, abs=0.005 * 100)


def test_layers_by_id_and_by_any_label(tmp_path: Path) -> None:
    body = """<g id="g1" xmlns:d="http://example.org/d" d:label="dark"><rect width="5" height="5"/>
      <g id="inner"><rect x="20" width="6" height="6"/></g></g>
      <g aria-label="light"><rect x="50" width="7" height="7"/></g><rect id="lone" width="1"
      height="1" x="90"/>"""
    text = svg_text(body)
    assert area(tmp_path, text) == pytest.approx(25.0 + 36.0 + 49.0 + 1.0)
    assert area(tmp_path, text, "dark") == pytest.approx(25.0 + 36.0)
    assert area(tmp_path, text, "g1") == pytest.approx(25.0 + 36.0)
    assert area(tmp_path, text, "inner") == pytest.approx(36.0)
    assert area(tmp_path, text, "light", "lone") == pytest.approx(50.0)


def test_what_cannot_be_seen_is_left_out(tmp_path: Path) -> None:
    body = """<rect width="5" height="5"/>
      <rect x="10" width="5" height="5" display="none"/>
      <g style="display:none"><rect x="20" width="5" height="5"/></g>
      <rect x="30" width="5" height="5" fill="none"/>
      <g visibility="hidden"><rect x="40" width="5" height="5"/>
        <rect x="50" width="5" height="5" visibility="visible"/></g>
      <g opacity="0"><rect x="60" width="5" height="5"/></g>
      <rect x="70" width="5" height="5" fill-opacity="0"/>
      <defs><rect x="80" width="5" height="5"/></defs>
      <symbol id="s"><rect x="90" width="5" height="5"/></symbol>
      <clipPath id="c"><rect width="9" height="9"/></clipPath>"""
    assert area(tmp_path, svg_text(body)) == pytest.approx(50.0)


def test_style_sheets(tmp_path: Path) -> None:
    body = """<style>/* cut */ .cut, #two { fill: black } rect { fill: none }
      .off { display: none !important } @media print { rect { fill: red } }</style>
      <rect class="cut" width="5" height="5"/><rect id="two" x="10" width="5" height="5"/>
      <rect x="20" width="5" height="5"/><rect class="cut off" x="30" width="5" height="5"/>
      <rect x="40" width="5" height="5" style="fill:#abc"/>"""
    assert area(tmp_path, svg_text(body)) == pytest.approx(75.0)


def test_strokes_become_regions_with_their_ends_and_corners(tmp_path: Path) -> None:
    line = '<line x1="10" y1="10" x2="30" y2="10" stroke="red" stroke-width="2" {}/>'
    flat = area(tmp_path, svg_text(line.format("")))
    assert flat == pytest.approx(40.0)
    round_ = area(tmp_path, svg_text(line.format('stroke-linecap="round"')))
    assert round_ == pytest.approx(40.0 + math.pi, abs=0.02)
    square = area(tmp_path, svg_text(line.format('stroke-linecap="square"')))
    assert square == pytest.approx(44.0)
    box = '<rect x="10" y="10" width="20" height="10" fill="none" stroke="red" {}/>'
    mitred = area(tmp_path, svg_text(box.format('stroke-width="2"')))
    assert mitred == pytest.approx(22.0 * 12.0 - 18.0 * 8.0)
    bevelled = area(tmp_path, svg_text(box.format('stroke-width="2" stroke-linejoin="bevel"')))
    assert bevelled == pytest.approx(22.0 * 12.0 - 18.0 * 8.0 - 2.0)
    rounded = area(tmp_path, svg_text(box.format('stroke-width="2" stroke-linejoin="round"')))
    assert rounded == pytest.approx(22.0 * 12.0 - 18.0 * 8.0 - (4.0 - math.pi), abs=0.04)


def test_a_stroke_widens_its_fill_and_stretches_with_the_drawing(tmp_path: Path) -> None:
    body = '<circle cx="50" cy="25" r="10" stroke="black" stroke-width="2"/>'
    assert area(tmp_path, svg_text(body)) == pytest.approx(math.pi * 121.0, abs=0.7)
    stretched = """<line x1="5" y1="0" x2="5" y2="10" stroke="black" stroke-width="1"
      transform="scale(4,1)"/>"""
    assert area(tmp_path, svg_text(stretched)) == pytest.approx(40.0)


def test_stroked_lines_keep_their_centre_lines(tmp_path: Path) -> None:
    body = '<path d="M10 10h20v20" fill="none" stroke="black" stroke-width="1.5"/>'
    made = drawn(svg_job(tmp_path, svg_text(body)))
    assert made.strokes.length == pytest.approx(40.0)
    filled_too = body + '<rect width="5" height="5"/>'
    assert drawn(svg_job(tmp_path, svg_text(filled_too))).strokes.is_empty


def test_width_scales_the_picked_shapes_even_without_a_size(tmp_path: Path) -> None:
    body = '<g id="a"><rect x="5" y="5" width="30" height="10"/></g><rect width="99" height="1"/>'
    for head in ('viewBox="0 0 100 50"', 'width="100mm" height="50mm" viewBox="0 0 100 50"', ""):
        left, low, right, high = bounds(tmp_path, svg_text(body, head), "a", width_mm=60.0)
        assert (right - left, high - low) == pytest.approx((60.0, 20.0), abs=1e-3)


@pytest.mark.parametrize("size", [1e-5, 1.0, 1e6])
def test_tiny_and_huge_units_flatten_to_the_same_bound(tmp_path: Path, size: float) -> None:
    body = f'<circle cx="{50 * size}" cy="{50 * size}" r="{50 * size}"/>'
    text = svg_text(body, f'viewBox="0 0 {100 * size} {100 * size}"')
    made = drawn(svg_job(tmp_path, text, width_mm=80.0)).region
    assert abs(made.area - math.pi * 1600.0) <= FLATTENING_MM * 2.0 * math.pi * 40.0
    corners = np.array(made.geoms[0].exterior.coords)
    centre = corners[:-1].mean(axis=0)
    assert np.hypot(*(corners - centre).T) == pytest.approx(40.0, abs=2e-3)


def test_a_gap_of_a_hundredth_closes(tmp_path: Path) -> None:
    text = svg_text('<path d="M10 10h10v10h-10v-9.995"/>')
    assert area(tmp_path, text) == pytest.approx(100.0, abs=0.1)


def test_a_shape_drawn_twice_is_told_and_counts_once(tmp_path: Path) -> None:
    body = '<rect id="a" width="5" height="5"/><rect id="b" width="5" height="5"/>'
    made = face(svg_job(tmp_path, svg_text(body)))
    assert made.inlays[0].region.area == pytest.approx(25.0)
    assert [(each.code, each.stands) for each in made.warnings] == [("svg-shape-twice", False)]
    assert "'b' on rect 'a'" in made.warnings[0].message
    line = '<path d="M0 0h9" stroke="red"/>'
    assert drawn(svg_job(tmp_path, svg_text(line + line))).strokes.length == pytest.approx(9.0)


def test_a_nested_drawing_and_a_doctype(tmp_path: Path) -> None:
    body = """<svg x="10" y="10" width="20" height="20" viewBox="0 0 10 10">
      <rect width="10" height="10"/></svg>"""
    assert bounds(tmp_path, svg_text(body)) == [10.0, 20.0, 30.0, 40.0]
    head = '<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd">'
    text = head + svg_text('<rect width="2" height="2"/>')
    assert area(tmp_path, text) == pytest.approx(4.0)


numbers = st.floats(-50, 50).map(lambda value: round(value, 3))
pairs = st.tuples(numbers, numbers).map(lambda pair: f"{pair[0]},{pair[1]}")
arcs = st.tuples(
    st.floats(1, 30), st.floats(1, 30), st.integers(-90, 90), st.booleans(), st.booleans(), pairs
).map(lambda a: f"A{a[0]:.2f} {a[1]:.2f} {a[2]} {int(a[3])}{int(a[4])}{a[5]}")
straight = st.one_of(
    st.tuples(st.sampled_from("LlMm"), pairs).map("".join),
    st.tuples(st.sampled_from("HhVv"), numbers).map(lambda t: f"{t[0]}{t[1]}"),
    arcs,
)
quadratic = st.one_of(
    straight,
    st.tuples(st.sampled_from("Tt"), pairs).map("".join),
    st.tuples(st.sampled_from("Qq"), pairs, pairs).map(lambda t: f"{t[0]}{t[1]} {t[2]}"),
)
cubic = st.one_of(
    straight,
    st.tuples(st.sampled_from("Ss"), pairs, pairs).map(lambda t: f"{t[0]}{t[1]} {t[2]}"),
    st.tuples(st.sampled_from("Cc"), pairs, pairs, pairs).map(lambda t: t[0] + " ".join(t[1:])),
)


@settings(max_examples=40, deadline=None)
@given(st.lists(quadratic, min_size=1, max_size=6) | st.lists(cubic, min_size=1, max_size=6))
def test_paths_run_where_another_reader_sees_them(path: list[str]) -> None:
    """Compare piece by piece with a general-purpose reader of SVG paths.

    Curves of degree 2 and 3 are not mixed: after a T the other reader lets an S reflect, which SVG
    2, section 9.3.6, gives to C and S alone.
    """
    data = "M1 2 " + " ".join(path)
    ours = [
        (np.concatenate([contour.start[None, :]] + [p.end[None, :] for p in done]), piece)
        for contour in read_path(data)
        for done, piece in (
            (contour.pieces[:index], contour.pieces[index]) for index in range(len(contour.pieces))
        )
    ]
    theirs = [
        each
        for each in svgelements.Path(data)
        if not isinstance(each, (svgelements.Move, svgelements.Close))
        and not (isinstance(each, svgelements.Arc) and each.start == each.end)
    ]
    assert len(ours) == len(theirs)
    for (before, piece), each in zip(ours, theirs, strict=True):
        chords = LineString(np.concatenate([before[-1:], piece.points(1e-3)]))
        for share in (0.0, 0.25, 0.61, 1.0):
            place = each.point(share)
            assert chords.distance(Point(place.x, place.y)) < 2e-3


def test_a_smooth_cubic_reflects_only_a_cubic() -> None:
    after_quadratic = read_path("M0 0 Q5 5 10 0 S 20 5 20 0")[0].pieces[1]
    assert isinstance(after_quadratic, Bezier)
    assert after_quadratic.controls[1].tolist() == [10.0, 0.0]
    after_cubic = read_path("M0 0 C0 0 5 5 10 0 S 20 5 20 0")[0].pieces[1]
    assert isinstance(after_cubic, Bezier)
    assert after_cubic.controls[1].tolist() == [15.0, -5.0]
