"""Findings shown where they are: the face or a section, with the figure drawn that is measured."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from shapely import LineString

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Finding, Measure, Place, Severity
from flushwork.strata.section import section
from flushwork.views.drawing.face_art import FaceArt, face_art, mix_letters
from flushwork.views.drawing.finding_pictures import (
    Places,
    finding_picture,
    stands_upright,
    stretch_of,
    upright_of,
)
from flushwork.views.drawing.section_drawing import SectionLook
from flushwork.views.figures import Lengths
from tests.checks.hearing import one, undated, written

JOB = """\
flushwork: 2
title: Tight places
cell: 0.15 mm
blank: {wood: black walnut, length: 120 mm, width: 80 mm, thickness: 14 mm}
trim line: {rectangle: 100 mm x 60 mm}
mixes:
  navy: {resin: coating epoxy, pigments: [{name: ultramarine powder, share: 4 %}]}
  teal: {resin: coating epoxy, pigments: [teal flake]}
front:
  inlays:
    - {name: lake, rectangle: 30 mm x 30 mm, round: 4 mm, at: [-25 mm, 5 mm], depth: 5 mm,
       fill: navy}
    - {name: bar, rectangle: 8 mm x 20 mm, at: [-5.2 mm, 5 mm], depth: 2 mm, fill: navy}
    - {name: pond, circle: 16 mm, at: [15 mm, 10 mm], depth: 2.4 mm, fill: navy}
    - {name: eye, circle: 8 mm, second pass of: [pond], at: [15 mm, 10 mm], depth: 2.1 mm,
       fill: teal}
    - {name: other, circle: 12 mm, at: [30.5 mm, 10 mm], depth: 2 mm, fill: teal}
  holes:
    - {name: edge, grid: {columns: 1, rows: 2, pitch: 12 mm}, at: [47.5 mm, 0 mm],
       diameter: 3 mm, depth: 5 mm, bit: 1 mm flat}
back: {inlays: [{name: hill, circle: 20 mm, at: [-25 mm, -5 mm], depth: 5.5 mm, fill: navy}]}
"""


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return undated(written(tmp_path_factory.mktemp("pictures"), JOB))


@pytest.fixture(scope="module")
def findings(build: Build) -> tuple[Finding, ...]:
    return run_checks(build)


@pytest.fixture(scope="module")
def places(build: Build) -> Places:
    letters = mix_letters(build.job)
    colours = build.palette.hex_by_mix()
    arts: dict[str, FaceArt] = {
        face.name: face_art(build.job, face, build.fits, colours, letters) for face in build.faces
    }
    look = SectionLook("#a08070", colours, letters)
    return Places(arts, build.replay, look, Lengths("metric"))


@pytest.mark.parametrize(
    ("code", "length"),
    [
        # the outlines of lake and bar stand 25 - 15 - 5.2 - 4 = 0.8 mm apart
        ("wood-sliver-thin", 0.8),
        # pond and other: 15.5 - 8 - 6
        ("proud-fills-meet", 1.5),
        # 50 - 47.5 - 1.5
        ("hole-meets-edge", 1.0),
    ],
)
def test_a_length_on_the_face_is_drawn_where_it_is(
    code: str, length: float, findings: tuple[Finding, ...], places: Places
) -> None:
    finding = one(findings, code)
    assert finding.place is not None
    found = stretch_of(finding, places.arts[finding.place.face])
    assert found is not None
    assert found.length_mm == pytest.approx(length, abs=0.03)
    seen = LineString([found.begin, found.end])
    spot = LineString([(finding.place.x_mm, finding.place.y_mm)] * 2)
    assert seen.distance(spot) < 1.6  # a hole's place is its middle
    picture = finding_picture(finding, places)
    assert picture is not None
    assert f"{length:.2f}\u202fmm" in picture.svg.replace("\u00a0", "\u202f")


@pytest.mark.parametrize(
    ("code", "height"),
    [
        # 14 - 2 x 0.5 - 0.2 (back) - 0.25 (front) - 5 - 5.5
        ("wood-between-too-thin", 2.05),
        ("second-pass-floor-thin", 0.3),
    ],
)
def test_a_height_is_drawn_in_a_section(
    code: str, height: float, findings: tuple[Finding, ...], places: Places, build: Build
) -> None:
    finding = one(findings, code)
    assert stands_upright(finding)
    assert finding.place is not None
    x, y = finding.place.x_mm, finding.place.y_mm
    face = build.face("front").name
    cut = section(build.replay.final, build.replay.spec, face, (x - 5.0, y), (x + 5.0, y))
    found = upright_of(finding, cut, 5.0)
    assert found is not None
    assert found.high_mm - found.low_mm == pytest.approx(height, abs=0.06)
    picture = finding_picture(finding, places)
    assert picture is not None
    assert f"{height:.2f}" in picture.svg
    assert "Section" in picture.caption


def test_nothing_is_drawn_as_measured_that_is_not_there(
    findings: tuple[Finding, ...], places: Places
) -> None:
    sliver = one(findings, "wood-sliver-thin")
    told = replace(sliver, measure=Measure("wood between", 3.3, 4.0, "mm"))
    assert stretch_of(told, places.arts["front"]) is None
    picture = finding_picture(told, places)
    assert picture is not None
    assert "3.30" not in picture.svg
    shares = replace(sliver, measure=Measure("share", 12.0, 5.0, "%"))
    assert stretch_of(shares, places.arts["front"]) is None


def test_without_a_place_there_is_no_picture(places: Places) -> None:
    assert (
        finding_picture(Finding("wood-between-gone", Severity.MUST_FIX, "Gone.", "Mend."), places)
        is None
    )
    off = Finding(
        "wood-between-gone", Severity.MUST_FIX, "Gone.", "Mend.", place=Place("front", -9.0, 900.0)
    )
    assert finding_picture(off, places) is not None


def test_pictures_are_small_and_stand_alone(findings: tuple[Finding, ...], places: Places) -> None:
    shown = [picture for item in findings if (picture := finding_picture(item, places))]
    assert len(shown) >= 5
    for picture in shown:
        assert len(picture.svg) < 30_000
        assert "id=" not in picture.svg
        assert not re.search(r"nan|inf\b", picture.svg)
        assert picture.width_mm <= 75.0
        assert picture.height_mm <= 40.0
