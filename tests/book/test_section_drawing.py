"""Sections: layers as they lie, the exaggeration told, the places worth one."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import Polygon

from flushwork.strata.section import BoardSection
from flushwork.views.context import ViewContext
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.section_drawing import SectionLook, section_drawing, section_layers
from flushwork.views.drawing.tricky_places import tricky_places

LOOK = SectionLook("#d9b08c", {"teal": "#0b6a72", "red": "#a5382e"}, {"teal": "A", "red": "D"})
SPACE = Space(170.0, 66.0)
Floats = NDArray[np.float32]


def level(
    height: float, along: NDArray[np.float64], *pockets: tuple[float, float, float]
) -> Floats:
    heights = np.full(len(along), height, np.float32)
    for start, end, to in pockets:
        heights[(along > start) & (along < end)] = to
    return heights


def one_pocket(*, other: bool = False, hole: bool = False) -> BoardSection:
    """Return a pocket from 5 to 15 mm, 2.5 mm deep, 0.1 mm columns, wood 17.5 mm thick."""
    along = np.linspace(0.0, 24.0, 241)
    wood = level(-0.5, along, (5.0, 15.0, -3.0))
    fill = level(-0.5, along)
    far = level(-18.0, along, (18.0, 20.0, -6.0) if other else (0.0, 0.0, 0.0))
    below = (("red", level(-18.0, along)),) if other else ()
    return BoardSection(
        along, np.zeros((241, 2)), (("wood", wood), ("teal", fill)),
        (("wood", far), *below), (along > 20.0) & (along < 22.0) & hole, (0.0, 0.0),
    )  # fmt: skip


def areas(svg: str, fill: str) -> list[float]:
    """Return the areas of the closed shapes of that fill."""
    found = re.findall(rf'<path d="([^"]*)" fill="{fill}"', svg)
    shapes = [part for data in found for part in data.split("z") if part]
    return [
        Polygon([tuple(map(float, p.split())) for p in part.removeprefix("M").split("L")]).area
        for part in shapes
    ]


def told_scale(svg: str) -> tuple[float, float]:
    """Return mm on paper along and up, from the bar and the words under the drawing."""
    (bar,) = re.findall(r"v2m0-1h([\d.]+)m0-1v2", svg)
    (long,) = re.findall(r">(\d+)\N{NO-BREAK SPACE}mm along the line", svg)
    along = float(bar) / float(long)
    times = re.findall(r"depth drawn ([\d.]+)\N{MULTIPLICATION SIGN}", svg)
    return along, along * (float(times[0]) if times else 1.0)


def test_the_fill_has_the_area_its_scale_promises() -> None:
    svg = section_drawing(one_pocket(), LOOK, SPACE, "a section").svg
    along, up = told_scale(svg)
    (area,) = areas(svg, "#0b6a72")
    assert area == pytest.approx(9.9 * along * 2.5 * up, rel=0.01)


def test_the_other_face_is_shown_once_it_comes_near() -> None:
    shallow = section_drawing(one_pocket(), LOOK, SPACE, "a section")
    deep = section_drawing(one_pocket(other=True), LOOK, SPACE, "a section")
    assert "#a5382e" not in shallow.svg
    along, up = told_scale(deep.svg)
    (area,) = areas(deep.svg, "#a5382e")
    assert area == pytest.approx(1.9 * along * 12.0 * up, rel=0.02)
    assert deep.height_mm <= SPACE.height_mm + 1e-6


def test_nothing_is_drawn_in_a_hole() -> None:
    whole = section_drawing(one_pocket(), LOOK, SPACE, "a section").svg
    holed = section_drawing(one_pocket(hole=True), LOOK, SPACE, "a section").svg
    along, up = told_scale(holed)
    (all_of_it,) = areas(whole, "#d9b08c")
    parts = areas(holed, "#d9b08c")
    assert len(parts) == 2
    assert all_of_it - sum(parts) == pytest.approx(2.0 * along * 3.7 * up, rel=0.06)


def test_layers_are_named_once_with_their_greatest_thickness() -> None:
    words = [layer.words for layer in section_layers(one_pocket(other=True), LOOK)]
    assert words == [
        "wood",
        "A teal, up to 2.50\N{NO-BREAK SPACE}mm",
        "D red, up to 12.00\N{NO-BREAK SPACE}mm",
    ]


def test_what_lies_outside_the_drawing_is_not_named() -> None:
    cut = one_pocket(other=True)
    far = cut.far[0][1].copy()
    far[far > -10.0] = -10.0
    deep = replace(cut, far=(("wood", far), cut.far[1]))
    words = [layer.words for layer in section_layers(deep, LOOK)]
    assert [each[:6] for each in words] == ["wood", "A teal"]


def test_a_section_all_hole_draws_without_layers() -> None:
    cut = one_pocket()
    empty = BoardSection(
        cut.positions_mm, cut.places_mm, cut.near, cut.far,
        np.ones(len(cut.hole), np.bool_), (0.0, 0.0),
    )  # fmt: skip
    assert section_layers(empty, LOOK) == ()
    assert section_drawing(empty, LOOK, SPACE, "nothing").svg.startswith("<svg")


def test_tricky_places_are_findings_seams_passes_and_engravings(context: ViewContext) -> None:
    places = tricky_places(context.build.faces, context.build.findings)
    assert [place.heading for place in places] == [
        "At the finding wood-between-too-thin, body",
        "Across the seam line bright edge",
        "Engraving words",
        "Second pass wing in body",
    ]


def test_a_seam_is_cut_across_square_to_its_line(context: ViewContext) -> None:
    place = tricky_places(context.build.faces, ())[0]
    seam = context.build.faces[0].inlays[2]
    (x0, y0), (x1, y1) = place.start, place.end
    assert seam.strokes.distance(Polygon([place.start, place.end, place.start]).centroid) < 0.1
    nearest = min(
        (
            abs((b[0] - a[0]) * (x1 - x0) + (b[1] - a[1]) * (y1 - y0))
            for line in seam.strokes.geoms
            for a, b in zip(line.coords, line.coords[1:], strict=False)
        ),
    )
    assert nearest < 1e-6
