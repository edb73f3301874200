"""Words on arcs and lines: letters keep their shape, and the room they have on a straight line."""

from __future__ import annotations

import math
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon
from shapely.affinity import rotate, translate

from flushwork.art.draw import draw_faces
from flushwork.art.fonts import open_font
from flushwork.art.glyph_outlines import draw_text, shape_line
from flushwork.core.findings import JobRefusedError
from flushwork.job.keys.placing import TextArc, TextLine
from flushwork.job.read import read_job
from flushwork.job.records import Job, TextArt
from flushwork.job.text.dump import resolved_text
from tests.art.face_jobs import HERE
from tests.many import examples

JOB = """\
flushwork: 2
title: Words
blank: {wood: sugar maple, length: 300 mm, width: 300 mm, thickness: 20 mm}
mixes: {dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %%}]}}
front: {inlays: [{name: a, text: %s, depth: 2 mm, fill: dark}]}
"""
ONE_PIECE = "ABDEFHKLMNOPRSTUVXZ"
"""Letters of the sans that are one region each, and that no rule of the font joins."""


def job_of(keys: str) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(JOB % keys, "utf-8")
        return read_job(path)


def drawn(keys: str) -> MultiPolygon:
    return draw_faces(job_of(keys))[0].inlays[0].region


def codes(keys: str) -> list[str]:
    try:
        drawn(keys)
    except JobRefusedError as refused:
        return [each.code for each in refused.findings]
    return []


def region(art: TextArt) -> MultiPolygon:
    return draw_text(art, Path(), HERE, 0.005).region


@settings(max_examples=examples(25), deadline=None)
@given(
    words=st.text(ONE_PIECE, min_size=1, max_size=8),
    size_mm=st.floats(3.0, 25.0),
    spacing=st.floats(0.2, 0.6),
    align=st.sampled_from(["left", "centre", "right"]),
    diameter_mm=st.floats(120.0, 400.0),
    angle_rad=st.floats(-3.0, 3.0),
    inward=st.booleans(),
)
def test_on_an_arc_letters_keep_their_shape_and_their_advance(
    words: str,
    size_mm: float,
    spacing: float,
    align: str,
    diameter_mm: float,
    angle_rad: float,
    inward: bool,
) -> None:
    arc = TextArc(diameter_mm=diameter_mm, angle_rad=angle_rad, inward=inward)
    straight = TextArt(words, "sans", size_mm, spacing, align=align)
    on_arc, before = region(replace(straight, on_arc=arc)), region(straight)
    opened = open_font("sans", Path(), HERE)
    line = shape_line(words, opened, spacing)
    scale, radius = size_mm / opened.em, diameter_mm / 2.0
    shift = {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * line.advance
    way = 1.0 if inward else -1.0
    assert len(before.geoms) == len(on_arc.geoms) == len(words)
    left = sorted(before.geoms, key=lambda each: each.bounds[0])
    for glyph, letter in zip(line.glyphs, left, strict=True):
        along_mm = (glyph.middle - shift) * scale
        angle = angle_rad + way * along_mm / radius
        # stand it back upright on the straight line: it is the same letter, in the same place
        back = [
            translate(
                rotate(each, -math.degrees(angle + way * math.pi / 2.0), origin=(0.0, 0.0)),
                along_mm,
                way * -radius * -1.0,
            )
            for each in on_arc.geoms
        ]
        nearest = min(back, key=lambda each: each.hausdorff_distance(letter))
        assert nearest.hausdorff_distance(letter) < 1e-6
        assert nearest.area == pytest.approx(letter.area, rel=1e-9)


@settings(max_examples=examples(15), deadline=None)
@given(
    align=st.sampled_from(["left", "centre", "right"]),
    start=st.tuples(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0)),
    angle=st.floats(-math.pi, math.pi),
    font=st.sampled_from(["sans", "single line"]),
)
def test_on_a_line_words_are_turned_and_moved_as_one(
    align: str, start: tuple[float, float], angle: float, font: str
) -> None:
    long_mm = 70.0
    end = (start[0] + long_mm * math.cos(angle), start[1] + long_mm * math.sin(angle))
    line = TextLine(start_x_mm=start[0], start_y_mm=start[1], end_x_mm=end[0], end_y_mm=end[1])
    straight = TextArt("RIBBON", font, 8.0, 0.0, 1.0 if font == "single line" else 0.0, align=align)
    share = {"left": 0.0, "centre": 0.5, "right": 1.0}[align]
    wanted = translate(
        rotate(region(straight), math.degrees(angle), origin=(0.0, 0.0)),
        start[0] + share * (end[0] - start[0]),
        start[1] + share * (end[1] - start[1]),
    )
    found = region(replace(straight, on_line=line))
    # a bent line is widened anew, its round corners flattened to 0.005 mm
    assert found.hausdorff_distance(wanted) < (1e-6 if font == "sans" else 0.01)


def test_single_lines_go_round_an_arc_without_being_bent() -> None:
    arc = TextArc(diameter_mm=160.0)
    words = TextArt("HILT", "single line", 8.0, 0.0)
    straight = draw_text(words, Path(), HERE, 0.005).strokes
    turned = draw_text(replace(words, on_arc=arc), Path(), HERE, 0.005).strokes
    assert [each.length for each in turned.geoms] == pytest.approx(
        [each.length for each in straight.geoms], abs=1e-5
    )
    assert turned.bounds[3] > 80.0 > turned.bounds[1]


def test_lines_meet_where_they_are_aligned() -> None:
    for align, edge in (("left", 0), ("right", 2)):
        whole = drawn(f'"H\\nHHHH", font: sans, size: 9 mm, align: {align}')
        low = shapely.box(0.0, 0.0, 300.0, shapely.centroid(whole).y)
        short, long = whole.difference(low), whole.intersection(low)
        assert short.area < long.area
        assert short.bounds[edge] == pytest.approx(long.bounds[edge], abs=1e-6)


def test_lines_stand_as_far_apart_as_is_said() -> None:
    single, double = (
        drawn(f'"H\\nH", font: sans, size: 9 mm, line spacing: {share} %') for share in (100, 150)
    )
    high = drawn("H, font: sans, size: 9 mm").bounds
    cap = high[3] - high[1]
    steps = [each.bounds[3] - each.bounds[1] - cap for each in (single, double)]
    assert steps[1] == pytest.approx(1.5 * steps[0], abs=1e-5)
    # Lato's hhea table asks for 1974 + 426 + 0 units of 2000 from line to line
    assert steps[0] == pytest.approx(9.0 * 2400 / 2000, abs=1e-5)


def test_the_zero_of_an_arc_is_its_middle_and_inches_are_read() -> None:
    made = drawn("HOOP, font: sans, size: 1/2 in, at: [10 mm, 0 mm], on arc: {diameter: 4 in}")
    for letter in made.geoms:
        feet = math.hypot(letter.bounds[0] - 160.0, letter.bounds[1] - 150.0)
        assert 50.8 - 8.0 < feet < 50.8 + 13.0
    assert made.bounds[3] > 150.0 + 50.8


def test_a_second_line_lies_on_the_side_of_the_feet() -> None:
    outward, inward = (
        drawn(f'"HH\\nH", font: sans, size: 9 mm, on arc: {{diameter: 120 mm, tops: {tops}}}')
        for tops in ("outward", "inward")
    )
    middle = shapely.Point(150.0, 150.0)
    for made, near in ((outward, 60.0 - 10.8), (inward, 60.0 - 6.5)):
        assert min(each.distance(middle) for each in made.geoms) == pytest.approx(near, abs=0.3)


def test_they_read_back() -> None:
    for keys in (
        '"A\\nB", size: 9 mm, align: left, line spacing: 120 %, '
        "on arc: {diameter: 90 mm, angle: 30 deg, tops: inward}",
        "AB, size: 9 mm, on line: {start: [-20 mm, 3 mm], end: [20 mm, 9 mm]}",
    ):
        first = job_of(keys)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "job.yaml"
            path.write_text(resolved_text(first), "utf-8")
            again = read_job(path)
        assert again.inlays[0].artwork[0].art == first.inlays[0].artwork[0].art
        assert again.inlays[0].artwork[0].placement.as_drawn


@pytest.mark.parametrize(
    ("keys", "code"),
    [
        ("ROUNDABOUT, size: 20 mm, on arc: {diameter: 30 mm}", "text-too-long"),
        ("LONG, size: 20 mm, on line: {start: [0 mm, 0 mm], end: [9 mm, 0 mm]}", "text-too-long"),
        ("LONG, font: single line, size: 20 mm, on arc: {diameter: 9 mm}", "text-too-long"),
        ("TOOT, size: 20 mm, on arc: {diameter: 34 mm, tops: inward}", "letters-run-together"),
        (
            "HHH, font: single line, width: 1 mm, size: 9 mm, "
            "on arc: {diameter: 28 mm, tops: inward}",
            "letters-run-together",
        ),
        ("A, size: 9 mm, on line: {start: [0 mm, 0 mm], end: [0 mm, 0 mm]}", "value-out-of-range"),
        (
            "A, size: 9 mm, on arc: {diameter: 9 mm}, "
            "on line: {start: [0 mm, 0 mm], end: [9 mm, 0 mm]}",
            "keys-clash",
        ),
    ],
)
def test_words_that_do_not_fit_are_refused(keys: str, code: str) -> None:
    assert code in codes(keys)


def test_letters_that_the_font_joins_may_touch_on_an_arc() -> None:
    script = "fjord Aufl, font: single line script, width: 0.8 mm"
    assert codes(f"{script}, size: 12 mm, on arc: {{diameter: 160 mm}}") == []
    assert codes("fjord Aufl, font: serif italic, size: 9 mm, on arc: {diameter: 120 mm}") == []
