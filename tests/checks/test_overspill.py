"""Colour that runs over an edge onto wood whose seal has been taken off is told of."""

from __future__ import annotations

from math import pi
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.findings import Severity
from flushwork.process.stages import StageKind
from flushwork.views.stage_views import card_of
from tests.many import examples
from tests.small_jobs import found, made

JOB = """\
flushwork: 2
title: Two rounds
cell: 0.4 mm
blank: {wood: sugar maple, length: 100 mm, width: 80 mm, thickness: 15 mm}
trim line: {rectangle: 80 mm x 60 mm}
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: disc, circle: 24 mm, at: [-15 mm, 0 mm], depth: 2.5 mm, fill: dark}
    - {name: late, circle: 12 mm, at: [15 mm, 0 mm], depth: 1.5 mm, fill: dark, sealed: no,
       after: [disc]}
"""
LATE = "fill: dark, sealed"


def test_a_later_fill_on_a_sanded_face_is_told(tmp_path: Path) -> None:
    (told,) = found(made(tmp_path, JOB), "overspill-on-bare-wood")
    assert (told.severity, told.subject) == (Severity.WARNING, "late")
    assert f"{pi * (7**2 - 6**2):.0f} mm2" in told.message
    assert told.measure is not None
    assert told.measure.limit is not None
    assert told.measure.limit == pytest.approx(0.05)
    assert told.measure.value > told.measure.limit


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (",\n       after: [disc]", ""),
        (LATE, "how: scraped flush, " + LATE),
        (LATE, "fill: clear, sealed"),
        ("sealed: no", "sealed: yes"),
        ("title: Two rounds", "title: Two rounds\nallowances: {light sand: 0.3 mm}"),
        ("title: Two rounds", "title: Two rounds\nallowances: {overspill: 0 mm}"),
        ("title: Two rounds", "title: Two rounds\nsealer: none"),
    ],
    ids=[
        "same round",
        "scraped",
        "clear",
        "sealed again",
        "sanded off",
        "no overspill",
        "told as unsealed",
    ],
)
def test_where_nothing_stays_nothing_is_told(tmp_path: Path, old: str, new: str) -> None:
    assert JOB.count(old) == 1
    assert not found(made(tmp_path, JOB.replace(old, new)), "overspill-on-bare-wood")


def test_the_card_of_a_later_seal_has_the_wood_beside_it_sealed_too(tmp_path: Path) -> None:
    build = made(tmp_path, JOB.replace("sealed: no", "sealed: yes"))
    cards = {
        stage.round: card_of(build.plan, stage, build.job.allowances)
        for stage in build.plan.stages
        if stage.kind is StageKind.SEAL and stage.subjects
    }
    assert ["{beside}" in cards[number].differs for number in (1, 2)] == [False, True]


@settings(max_examples=examples(6), deadline=None)
@given(away=st.integers(-3, 30), over=st.floats(0.5, 3.0))
def test_only_wood_that_no_earlier_fill_covers_counts(away: int, over: float) -> None:
    text = JOB.replace("at: [15 mm, 0 mm]", f"at: [{away - 15} mm, 0 mm]").replace(
        "title: Two rounds", f"title: Two rounds\nallowances: {{overspill: {over:.3f} mm}}"
    )
    disc = shapely.Point(-15, 0).buffer(12, quad_segs=200)
    late = shapely.Point(away - 15, 0).buffer(6, quad_segs=200)
    if late.intersects(disc):
        text = text.replace("after: [disc]", "second pass of: disc")
    with TemporaryDirectory() as folder:
        told = found(made(Path(folder), text), "overspill-on-bare-wood")
    spill = shapely.Point(away - 15, 0).buffer(6 + round(over, 3), quad_segs=200)
    bare_mm2 = spill.difference(shapely.union(disc, late)).area
    if bare_mm2 < 0.04:
        assert not told
    elif bare_mm2 > 1.0:
        (finding,) = told
        assert abs(float(finding.message.split(" mm2")[0].split()[-1]) - bare_mm2) < 0.7
