"""A shape gets the same bits wherever it lies, and loses what a disc cannot cover."""

from __future__ import annotations

import math
import tempfile
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from flushwork.art.draw import begin
from flushwork.fit.reach import TIGHT_MM, Fit
from flushwork.pipeline import build
from flushwork.process.infer_stages import infer_plan
from flushwork.process.plan_bits import cut_groups, cut_terms, fit_rounds
from tests.checks.hearing import written
from tests.fit.disc_opening import lost_by_steiner, lost_by_sweeping
from tests.many import examples
from tests.scenarios.texts import job

JOB = """\
flushwork: 2
title: One shape
blank: {{wood: sugar maple, length: {length} mm, width: {width} mm, thickness: 15 mm}}
trim line: {{rectangle: {inner_length} mm x {inner_width} mm}}
mixes: {{dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}}}
front:
  inlays:
    - {{name: shape, {art}, at: [{x} mm, {y} mm], turn: {turn} deg, {mirror}depth: 2 mm,
       fill: dark}}
"""

microns = st.integers(0, 40_000).map(lambda count: count / 1000.0)
Place = tuple[int, int, float, float, float, str]
"""Length and width of the blank, right, up, turn and mirror."""


@st.composite
def polygons(draw: st.DrawFn) -> str:
    """Corners around a place, in any way out of it."""
    ways = sorted(draw(st.sets(st.integers(0, 719), min_size=3, max_size=9)))
    corners = []
    for way in ways:
        far = draw(st.floats(3.0, 40.0))
        angle = math.radians(way / 2.0)
        corners.append((round(far * math.cos(angle), 3), round(far * math.sin(angle), 3)))
    shape = shapely.Polygon(corners)
    assume(shape.is_valid and shape.area > 10.0)
    told = ", ".join(f"[{x} mm, {y} mm]" for x, y in corners)
    return f"polygon: {{points: [{told}]}}"


stars = st.builds(
    lambda sides, wide, inner: (
        f"polygon: {{sides: {sides}, diameter: {wide} mm, inner: {round(wide * inner, 2)} mm}}"
    ),
    st.integers(3, 12),
    st.integers(12, 80),
    st.floats(0.2, 0.95),
)
letters = st.builds(
    lambda sign, font, size: f"text: '{sign}', font: {font}, size: {size} mm",
    st.sampled_from("ABCDEFGHJKLMNOPQRSTUVWXYZabdeghkmnopqrstuwxyz0234568&"),
    st.sampled_from(["serif", "serif bold", "sans", "sans bold"]),
    st.integers(20, 90),
)
places = st.builds(
    lambda length, width, x, y, turn, mirror: (length, width, x, y, turn, mirror),
    st.integers(200, 400),
    st.integers(200, 400),
    microns,
    microns,
    st.integers(0, 3599).map(lambda tenths: tenths / 10.0),
    st.sampled_from(["", "mirror: left-right, ", "mirror: top-bottom, "]),
)
MICRON_MM = 0.001
"""In a slot that hardly tapers a micron of the radius decides about over 1 % of what is lost."""
SLOT_DEGREES = 5.4
"""A corner this blunt is none that a slot's tolerance may open."""
AS_TYPED: Place = (200, 100, 0.0, 0.0, 0.0, "")


def fitted(folder: Path, art: str, place: Place) -> Fit:
    """Read a job with one shape, draw it, and choose its bits."""
    length, width, x, y, turn, mirror = place
    text = JOB.format(
        length=length, width=width, inner_length=length - 10, inner_width=width - 10,
        art=art, x=x, y=y, turn=turn, mirror=mirror,
    )  # fmt: skip
    job, faces = begin(folder / "job.yaml", text)
    plan = infer_plan(job, faces)
    fits, _ = fit_rounds(faces, job.shop.bits, cut_groups(plan), cut_terms(job))
    return fits["shape"]


def sharpest(corners: np.ndarray) -> float:
    """Return the least angle (deg) of a convex outline (n, 2)."""
    ways = np.roll(corners, -1, axis=0) - corners
    angles = np.arctan2(ways[:, 1], ways[:, 0])
    return 180.0 - float(np.degrees(np.max((angles - np.roll(angles, 1)) % (2.0 * np.pi))))


def triangle(*corners: tuple[float, float]) -> str:
    return f"polygon: {{points: [{', '.join(f'[{x} mm, {y} mm]' for x, y in corners)}]}}"


@settings(max_examples=examples(12), deadline=None)
@given(polygons() | stars | letters, places, places)
@example(triangle((-6, 0), (6, 0), (0, 42)), (300, 100, 0, 0, 0, ""), AS_TYPED)
@example(
    triangle((-22, -18), (31.7, -9.3), (8.1, 24.9)),
    (141, 111, 0.0, 0.0, 0.0, ""),
    (161, 131, 0.0, 0.0, 0.0, ""),
)
@example("text: 'A', font: serif, size: 20 mm", (200, 200, 0, 0, 0, ""), AS_TYPED)
def test_a_shape_moved_turned_or_mirrored_gets_the_same_bits(
    tmp_path_factory: pytest.TempPathFactory, art: str, one: Place, other: Place
) -> None:
    folder = tmp_path_factory.getbasetemp()
    fits = [fitted(folder, art, place) for place in (AS_TYPED, one, other)]
    # a needle that no bit passes is one wherever it lies
    for fit in fits[1:]:
        assert fit.bits == fits[0].bits
        assert fit.narrowest_needed == fits[0].narrowest_needed
        for here, there in zip(fit.reaches, fits[0].reaches, strict=True):
            assert here.lost_mm2 == pytest.approx(there.lost_mm2, rel=0.002, abs=0.01)
            assert here.deepest_mm == pytest.approx(there.deepest_mm, rel=0.002, abs=0.02)


@settings(max_examples=examples(6), deadline=None)
@given(polygons() | stars | letters, places)
@example(triangle((-22, -18), (31.7, -9.3), (8.1, 24.9)), (161, 131, 0.0, 0.0, 0.0, ""))
@example("text: 'h', font: serif, size: 20 mm", (200, 200, 0.0, 0.0, 0.0, ""))
@example("text: '0', font: sans, size: 20 mm", (200, 200, 0.0, 0.0, 0.0, ""))
def test_what_is_lost_is_what_a_disc_cannot_cover(
    tmp_path_factory: pytest.TempPathFactory, art: str, place: Place
) -> None:
    fit = fitted(tmp_path_factory.getbasetemp(), art, place)
    region = fit.drawn.region
    for item in fit.reaches:
        radius = item.bit.radius_mm
        truth = lost_by_sweeping(region, radius)
        if item.lost_mm2 < 0.99 * truth - 0.02:
            # a slot narrower than the bit by no more than the tolerance counts as reached
            truth = lost_by_sweeping(region, radius - TIGHT_MM / 2.0 - MICRON_MM)
            assert item.lost_mm2 >= 0.99 * truth - 0.02
        else:
            assert item.lost_mm2 <= 1.01 * truth + 0.02


@settings(max_examples=examples(8), deadline=None)
@given(st.sets(st.integers(0, 719), min_size=3, max_size=9), st.integers(4, 40), places)
@example({0, 21, 93}, 29, (200, 200, 0.0, 0.0, 0.1, ""))
@example({0, 16, 81, 245, 327, 399, 516, 632}, 8, (200, 200, 0.0, 0.0, 0.0, ""))
def test_what_a_convex_shape_loses_is_steiners_form(
    tmp_path_factory: pytest.TempPathFactory, ways: set[int], radius: int, place: Place
) -> None:
    """Corners on a circle make a convex outline; two reckonings of it agree."""
    angles = np.radians(np.array(sorted(ways)) / 2.0)
    corners = np.round(radius * np.column_stack((np.cos(angles), np.sin(angles))), 3)
    assume(shapely.Polygon(corners).area > 10.0)
    fit = fitted(tmp_path_factory.getbasetemp(), triangle(*corners.tolist()), place)
    for item in fit.reaches:
        truth = lost_by_steiner(corners, item.bit.radius_mm)
        if item.passes:
            # a corner of under about 5.3 degrees is a slot, which may be narrower by the tolerance
            slot = lost_by_steiner(corners, item.bit.radius_mm - TIGHT_MM / 2.0 - MICRON_MM)
            assert 0.99 * slot - 0.02 <= item.lost_mm2 <= 1.01 * truth + 0.02
            if sharpest(corners) > SLOT_DEGREES:
                assert item.lost_mm2 == pytest.approx(truth, rel=0.01, abs=0.02)
            swept = lost_by_sweeping(fit.drawn.region, item.bit.radius_mm)
            assert swept == pytest.approx(truth, rel=0.01, abs=0.02)


@settings(max_examples=examples(6), deadline=None)
@given(st.floats(0.02, 0.3), st.sampled_from(["1 mm flat", "3.175 mm flat", "6.35 mm flat"]))
def test_a_bit_too_weak_for_the_wood_is_never_waited_for(width: float, like: str) -> None:
    """A diameter in the wrong unit, 0.125 mm for 1/8 in, is told and nothing is cut with it."""
    shop = (
        "flushwork shop: 2\nbits: [1 mm flat, 3.175 mm flat, 25 mm facing bit, "
        f"{{name: slip, like: {like}, diameter: {width:.3f} mm}}]\n"
    )
    body = (
        "front: {inlays: [{name: star, polygon: {sides: 5, diameter: 30 mm, inner: 18 mm}, "
        "depth: 2 mm, fill: navy}]}\n"
    )
    with tempfile.TemporaryDirectory() as folder:
        made = build(written(Path(folder), job(body), shop.split("\n", 1)[1]))
    assert "bit-size-slip" in {item.code for item in made.findings} or width >= 0.2
    assert sum(len(file.text) for file in made.gcode_files) < 2_000_000
