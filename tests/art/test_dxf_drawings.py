"""DXF drawings: outlines as they were drawn, lines joined, layers picked, traps refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import ezdxf.math
import numpy as np
import pytest
import shapely
from ezdxf.lldxf.const import DXFError
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline
from shapely import MultiPolygon, Polygon, STRtree

from flushwork.art.drawn import Shapes
from flushwork.art.dxf import dxf_file
from flushwork.art.dxf.draw_dxf import draw_dxf
from flushwork.core.findings import JobRefusedError
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.job.records import DxfArt
from tests.art.face_jobs import HERE, artwork, inlay, job, refused
from tests.many import examples

VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")
BOUND_MM = 0.005
Points = np.ndarray[Any, Any]
INCH, MM = 1, 4


def art(*layers: str, **keys: Any) -> DxfArt:
    return DxfArt(**({"file": "art.dxf", "layers": layers, "width_mm": None} | keys))


def written(document: Any) -> bytes:
    out = StringIO()
    document.write(out)
    return out.getvalue().encode(document.output_encoding)


def read(folder: Path, document: Any, *layers: str, **keys: Any) -> Shapes:
    (folder / "art.dxf").write_bytes(written(document))
    return draw_dxf(art(*layers, **keys), folder, HERE, FLATTENING_MM)


def faults(folder: Path, document: Any, *layers: str, **keys: Any) -> list[str]:
    with pytest.raises(JobRefusedError) as caught:
        read(folder, document, *layers, **keys)
    assert all(each.message and each.remedy for each in caught.value.findings)
    return [each.code for each in caught.value.findings]


def empty(version: str = "R2018", units: int = MM) -> tuple[Any, Any]:
    document = ezdxf.filemanagement.new(version, units=units)
    return document, document.modelspace()


def bulged(start: complex, end: complex, bulge: float, count: int = 400) -> list[complex]:
    """Sample an arc through its ends and its highest point, which a bulge is the height of."""
    if bulge == 0.0:
        return [start + (end - start) * step for step in np.linspace(0.0, 1.0, count)]
    middle, half = (start + end) / 2.0, abs(end - start) / 2.0
    outward = (end - start) / abs(end - start) * -1j
    top = middle + outward * bulge * half
    # the centre is as far from the start as from the top, on the line through both middles
    radius = (half**2 + (bulge * half) ** 2) / (2.0 * bulge * half)
    centre = top - outward * radius
    turn = 4.0 * math.atan(bulge)
    return [centre + (start - centre) * np.exp(1j * turn * s) for s in np.linspace(0.0, 1.0, count)]


def edges(rings: list[Points]) -> STRtree:
    pairs = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
    return STRtree(np.array(shapely.linestrings(pairs), dtype=object))


def furthest(points: Points, rings: list[Points]) -> float:
    _, far = edges(rings).query_nearest(
        shapely.points(points), return_distance=True, all_matches=False
    )
    return float(far.max())


def close_to(made: MultiPolygon, rings: list[Points]) -> None:
    """Hold the outlines of a region to sampled ones, both ways."""
    assert not made.is_empty
    outlines = [
        shapely.get_coordinates(ring)
        for part in made.geoms
        for ring in (part.exterior, *part.interiors)
    ]
    closed = [np.concatenate([ring, ring[:1]]) for ring in rings]
    assert furthest(np.concatenate(rings), outlines) <= BOUND_MM
    assert furthest(np.concatenate(outlines), closed) <= BOUND_MM


def complex_points(ring: list[complex]) -> Points:
    return np.array([(each.real, each.imag) for each in ring])


@st.composite
def shapes(draw: st.DrawFn) -> tuple[Callable[[Any], None], list[Points]]:
    """Return how one shape is drawn into a layout about its zero, and samples of its outline."""
    size = draw(st.floats(1.0, 60.0))
    kind = draw(st.sampled_from(["circle", "ellipse", "bulges", "old bulges", "spline", "parts",
                                 "hatch"]))  # fmt: skip
    if kind == "circle":
        around = np.linspace(0.0, 2.0 * math.pi, 2000)
        ring = size * np.stack([np.cos(around), np.sin(around)], axis=1)
        return lambda to: to.add_circle((0, 0), size), [ring]
    if kind == "ellipse":
        ratio, turn = draw(st.floats(0.2, 1.0)), draw(st.floats(0.0, 3.0))
        axis = (size * math.cos(turn), size * math.sin(turn))
        around = np.exp(1j * np.linspace(0.0, 2.0 * math.pi, 4000))
        flat = (around.real + 1j * ratio * around.imag) * size * np.exp(1j * turn)
        return lambda to: to.add_ellipse((0, 0), axis, ratio), [complex_points(list(flat))]
    if kind == "spline":
        radii = draw(st.lists(st.floats(0.7, 1.0), min_size=6, max_size=9))
        turns = np.arange(len(radii)) * 2.0 * math.pi / len(radii)
        corners = [size * r * np.exp(1j * t) for r, t in zip(radii, turns, strict=True)]
        controls = [(each.real, each.imag) for each in [*corners, corners[0]]]
        count = len(controls)
        knots = np.concatenate([np.zeros(3), np.linspace(0, 1, count - 2), np.ones(3)])
        along = BSpline(knots, np.array(controls), 3)(np.linspace(0, 1, 6000))
        return lambda to: to.add_open_spline(controls, degree=3), [along]
    count = draw(st.integers(3, 6))
    bulges = draw(st.lists(st.sampled_from([0.0, 0.2, 0.414, -0.15, 1.0]), min_size=count,
                           max_size=count))  # fmt: skip
    corners = [size * np.exp(2j * math.pi * index / count) for index in range(count)]
    runs = [
        bulged(corners[index], corners[(index + 1) % count], bulges[index])
        for index in range(count)
    ]
    ring = complex_points([each for run in runs for each in run])
    rows = [(c.real, c.imag, b) for c, b in zip(corners, bulges, strict=True)]

    def put(to: Any) -> None:
        if kind == "bulges":
            to.add_lwpolyline(rows, format="xyb", close=True)
        elif kind == "old bulges":
            to.add_polyline2d(rows, format="xyb", close=True)
        elif kind == "hatch":
            hatch = to.add_hatch()
            hatch.paths.add_polyline_path(rows, is_closed=True)
        else:
            for index, run in enumerate(runs):
                start, end, bulge = corners[index], corners[(index + 1) % count], bulges[index]
                if bulge == 0.0:
                    to.add_line((start.real, start.imag), (end.real, end.imag))
                    continue
                centre, begin, finish, radius = ezdxf.math.bulge_to_arc(
                    (start.real, start.imag), (end.real, end.imag), bulge
                )
                to.add_arc(centre, radius, math.degrees(begin), math.degrees(finish))
                del run

    return put, [ring]


@given(
    shapes(),
    st.sampled_from(VERSIONS),
    st.floats(-179.0, 179.0),
    st.sampled_from([(1.0, 1.0), (-1.0, 1.0), (0.7, 1.3), (2.0, 2.0)]),
)
@settings(max_examples=examples(25), deadline=None)
def test_outlines_lie_where_they_were_drawn(
    tmp_path_factory: pytest.TempPathFactory,
    shape: tuple[Callable[[Any], None], list[Points]],
    version: str,
    turn: float,
    stretch: tuple[float, float],
) -> None:
    """Whatever draws an outline, in a block that is turned, stretched and mirrored, or plain."""
    put, rings = shape
    document, model = empty(version)
    block = document.blocks.new("MOTIF")
    probe, _ = empty(version)
    try:
        put(block)
        put(probe.modelspace())
    except DXFError:  # what this version does not have
        return
    where = {"xscale": stretch[0], "yscale": stretch[1], "zscale": 1.0, "rotation": turn}
    model.add_blockref("MOTIF", (11.0, -7.0), dxfattribs=where | {"layer": "gold"})
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    matrix = np.array([[c, -s], [s, c]]) @ np.diag(stretch)
    moved = [ring @ matrix.T + np.array([11.0, -7.0]) for ring in rings]
    folder = tmp_path_factory.mktemp("dxf")
    close_to(read(folder, document, "Gold", units="metric").region, moved)
    close_to(read(folder, probe, units="metric").region, rings)


def test_every_version_gives_the_same_board(tmp_path: Path) -> None:
    areas = []
    for version in VERSIONS:
        document, model = empty(version)
        model.add_circle((10, 10), 10)
        model.add_circle((10, 10), 4)
        model.add_circle((10, 10), 1)
        model.add_line((60, 0), (80, 0))
        model.add_arc((80, 10), 10, -90, 90)
        model.add_line((80, 20), (60, 20))
        model.add_line((60, 20), (60, 0.005))
        areas.append(read(tmp_path, document, units="metric").region.area)
    right = math.pi * (100 - 16 + 1) + 400 + math.pi * 50
    assert areas == pytest.approx([right] * len(VERSIONS), abs=0.3)


def test_units_are_those_of_the_header_else_of_the_job(tmp_path: Path) -> None:
    document, model = empty(units=INCH)
    model.add_lwpolyline([(0, 0), (2, 0), (2, 1), (0, 1)], close=True)
    assert read(tmp_path, document).region.bounds == pytest.approx((0, 0, 50.8, 25.4))
    # what the header says is what was drawn
    assert read(tmp_path, document, units="metric").region.bounds[2] == pytest.approx(50.8)
    bare, model = empty("R12", units=0)
    model.add_polyline2d([(0, 0), (2, 0), (2, 1), (0, 1)], close=True)
    assert faults(tmp_path, bare) == ["dxf-without-size"]
    assert read(tmp_path, bare, units="inch").region.bounds[2] == pytest.approx(50.8)
    assert read(tmp_path, bare, width_mm=30.0).region.bounds == pytest.approx((0, 0, 30, 15))


def test_layers_of_one_drawing_keep_their_places(tmp_path: Path) -> None:
    document, model = empty()
    model.add_circle((0, 0), 5, dxfattribs={"layer": "sun"})
    model.add_circle((40, 0), 5, dxfattribs={"layer": "moon"})
    model.add_circle((80, 0), 5, dxfattribs={"layer": "off"})
    document.layers.add("off").off()
    (tmp_path / "art.dxf").write_bytes(written(document))
    sun, moon = art("sun", width_mm=100.0), art("moon", width_mm=100.0)
    made = draw_dxf(moon, tmp_path, HERE, FLATTENING_MM, (sun, moon))
    assert made.extent == pytest.approx((-10, -10, 90, 10))
    assert made.region.bounds == pytest.approx((70, -10, 90, 10))
    assert faults(tmp_path, document, "off") == ["dxf-without-shapes"]
    assert faults(tmp_path, document, "stars") == ["dxf-layer-unknown"]


def test_lines_are_joined_drawn_wide_or_left_bare(tmp_path: Path) -> None:
    document, model = empty()
    model.add_line((0, 0), (30, 0))
    model.add_line((30, 0), (30, 20))
    model.add_line((30, 0), (30, 20))
    model.add_line((30.06, 20), (0, 0))
    bare = read(tmp_path, document)
    assert bare.region.is_empty
    assert len(bare.strokes.geoms) == 1
    assert [each.code for each in bare.warnings] == ["dxf-shape-twice"]
    assert read(tmp_path, document, join_mm=0.1).region.area == pytest.approx(300, abs=1)
    wide = read(tmp_path, document, join_mm=0.1, line_mm=2.0).region
    whole = Polygon([(0, 0), (30, 0), (30, 20)]).boundary.buffer(1.0, quad_segs=64)
    assert wide.symmetric_difference(whole).area < 0.3
    model.add_circle((100, 0), 5)
    assert faults(tmp_path, document) == ["dxf-outline-open"]


def test_outlines_that_share_an_edge_are_filled_together(tmp_path: Path) -> None:
    document, model = empty()
    for x in (0, 10, 20):
        model.add_line((x, 0), (x, 10))
    for y in (0, 10):
        for x in (0, 10):
            model.add_line((x, y), (x + 10, y))
    assert read(tmp_path, document).region.area == pytest.approx(200)


def test_a_hatch_says_what_is_filled_and_its_drawn_edge_only_repeats_it(tmp_path: Path) -> None:
    document, model = empty()
    model.add_circle((0, 0), 20)
    model.add_circle((0, 0), 10)
    hatch = model.add_hatch()
    for radius in (20, 10):
        hatch.paths.add_edge_path().add_arc((0, 0), radius, 0, 360)
    assert read(tmp_path, document).region.area == pytest.approx(300 * math.pi, abs=0.5)


def test_a_wide_polyline_covers_its_width(tmp_path: Path) -> None:
    document, model = empty()
    model.add_lwpolyline([(0, 0), (30, 0)], dxfattribs={"const_width": 3})
    model.add_lwpolyline([(0, 50, 2, 6), (30, 50, 0, 0)], format="xyse")
    model.add_solid([(50, 0), (60, 0), (50, 10), (60, 10)])
    assert read(tmp_path, document).region.area == pytest.approx(90 + 120 + 100, abs=0.1)


def test_what_only_explains_is_left_out_and_told(tmp_path: Path) -> None:
    document, model = empty()
    model.add_circle((0, 0), 20)
    model.add_point((0, 0))
    assert [each.code for each in read(tmp_path, document).warnings] == ["dxf-left-out"]


def test_what_has_no_flat_outline_is_refused(tmp_path: Path) -> None:
    document, model = empty()
    model.add_text("Mum")
    model.add_3dface([(0, 0), (1, 0), (1, 1)])
    model.add_circle((float("inf"), 0), 1)
    assert set(faults(tmp_path, document)) == {"dxf-uncuttable"}
    document, model = empty()
    model.add_lwpolyline([(0, 0), (10, 10), (10, 0), (0, 10)], close=True)
    assert faults(tmp_path, document) == ["dxf-path-crosses-itself"]
    document, model = empty()
    model.add_circle((0, 0), 5)
    model.add_circle((2e5, 0), 5)
    assert faults(tmp_path, document) == ["dxf-coordinates-absurd"]


def test_traps_are_refused_without_following_them(tmp_path: Path) -> None:
    document, model = empty()
    for level in range(12):
        block = document.blocks.new(f"B{level}")
        for copy in range(10):
            if level:
                block.add_blockref(f"B{level - 1}", (copy, 0))
    model.add_blockref("B11", (0, 0))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(dxf_file, "MOST_SHAPES", 1_000)
        assert faults(tmp_path, document) == ["dxf-too-large"]
    document, model = empty()
    block = document.blocks.new("SELF")
    block.add_blockref("SELF", (1, 1))
    model.add_blockref("SELF", (0, 0))
    assert faults(tmp_path, document) == ["dxf-too-large"]
    grid = {"row_count": 30_000, "column_count": 30_000, "row_spacing": 1, "column_spacing": 1}
    model.delete_all_entities()
    model.add_blockref("SELF", (0, 0), dxfattribs=grid)
    assert faults(tmp_path, document) == ["dxf-too-large"]


def drawing_with_spline() -> bytes:
    document, model = empty("R2000")
    model.add_circle((5, 0), 3)
    model.add_lwpolyline([(20, 0, 0.5), (30, 0, 0), (30, 9, 0)], format="xyb", close=True)
    return written(document)


SOUND = drawing_with_spline()


@given(st.data())
@example(None)
@settings(max_examples=examples(25), deadline=None)
def test_a_damaged_file_is_read_or_refused_and_never_breaks(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject | None
) -> None:
    held = bytearray(SOUND)
    if data is not None:
        for _ in range(data.draw(st.integers(1, 30))):
            held[data.draw(st.integers(0, len(held) - 1))] = data.draw(st.integers(0, 255))
        held = held[: data.draw(st.integers(len(held) // 2, len(held)))]
    folder = tmp_path_factory.mktemp("dxf")
    (folder / "art.dxf").write_bytes(bytes(held))
    try:
        made = draw_dxf(art(), folder, HERE, FLATTENING_MM)
    except JobRefusedError as refusal:
        codes = {each.code for each in refusal.findings}
        assert codes <= {
            "dxf-unreadable", "dxf-without-shapes", "dxf-without-size", "dxf-uncuttable",
            "dxf-coordinates-absurd", "dxf-outline-open", "dxf-path-crosses-itself",
        }  # fmt: skip
    else:
        assert made.region.is_valid


def test_a_damaged_number_is_told(tmp_path: Path) -> None:
    document, model = empty("R12")
    model.add_circle((12.625, 0), 3)
    (tmp_path / "art.dxf").write_bytes(written(document).replace(b"12.625", b"12p625"))
    made = draw_dxf(art(units="metric"), tmp_path, HERE, FLATTENING_MM)
    assert [each.code for each in made.warnings] == ["dxf-mended"]


def test_a_job_is_refused_by_name(tmp_path: Path) -> None:
    for data, code in ((b"", "dxf-unreadable"), (b"\x89PNG", "dxf-unreadable")):
        (tmp_path / "art.dxf").write_bytes(data)
        assert [each.code for each in refused(job(inlay(artwork(art())), folder=tmp_path))] == [
            code
        ]
    missing = refused(job(inlay(artwork(art(file="no.dxf"))), folder=tmp_path))
    assert [each.code for each in missing] == ["dxf-not-found"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(dxf_file, "MOST_BYTES", 2)
        assert refused(job(inlay(artwork(art())), folder=tmp_path))[0].code == "dxf-too-large"
