"""Bits that end or do not reach, dust under clear, fills without colour, causes told once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.checks.all_rules import told_once
from flushwork.checks.fixes.propose import weights
from flushwork.checks.rules.machine.feed_rules import bit_wears, holder_touches
from flushwork.checks.rules.work.order_rules import dust_before_cap
from flushwork.core.findings import Finding, Severity, Subject
from flushwork.process.stages import StageKind
from tests.checks.hearing import heard, one, undated, written
from tests.scenarios.expected import Scene, Told, hold
from tests.scenarios.texts import job

LINE = (
    "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], width: %s, "
    "depth: 2 mm, fill: %s, how: scraped flush and capped, cap: clear}]}\n"
)
FIELD = "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: 2 mm, fill: %s}]}\n"
CAPPED = (
    "front:\n  inlays:\n"
    "    - {name: field, rectangle: 40 mm x 20 mm, depth: 2 mm, fill: %s}\n"
    "    - {name: line, lines: [[[-20 mm, 25 mm], [20 mm, 25 mm]]], width: 1.6 mm, depth: 2 mm,\n"
    "       fill: gold line, how: scraped flush and capped, cap: clear}\n"
)
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="120%s" viewBox="0 0 120 120">'
    '<path fill="#000" d="M20 20h60v60h-60z"/></svg>'
)
ART = "front: {inlays: [{name: art, svg: a.svg%s, depth: 2 mm, fill: navy}]}\n"


def told(scene: Scene, sound: str, folder: Path, sound_drawing: str = "") -> None:
    """Hear a scene, and hear its sound twin say nothing of the first code."""
    hold(folder / "wrong", scene)
    drawings = {"a_svg": sound_drawing} if sound_drawing else scene.drawings
    twin = heard(folder / "sound", sound, scene.shop, **drawings)
    assert scene.told[0].code not in {item.code for item in twin}


def test_a_casting_resin_in_a_thin_slot(tmp_path: Path) -> None:
    # 2 x 41.7 mm2 / 82.5 mm of outline, ends and all
    thin = Scene(
        "thin",
        job(LINE % ("1 mm", "navy")),
        (Told("casting-in-thin-slot", "warning", "line", 1.0, 0.05, words=("coating resin",)),),
    )
    told(thin, job(LINE % ("1.6 mm", "navy")), tmp_path)


def test_a_clear_that_fills(tmp_path: Path) -> None:
    slip = Scene(
        "the clear of the caps as a fill",
        job(CAPPED % "clear"),
        (Told("fill-without-colour", "warning", "field", words=("caps line",)),),
    )
    told(slip, job(CAPPED % "navy"), tmp_path)
    window = heard(tmp_path / "window", job(FIELD % "clear"))
    assert one(window, "fill-without-colour").severity is Severity.NOTE


@pytest.mark.parametrize(
    ("unit", "here", "other"), [("px", "31.8 mm at 96", "42.3 mm"), ("pt", "42.3 mm", "31.8 mm")]
)
def test_a_drawing_measured_in_dots(tmp_path: Path, unit: str, here: str, other: str) -> None:
    # 120 / 96 x 25.4 = 31.75; 120 / 72 x 25.4 = 42.33
    text = job(ART % "")
    scene = Scene(
        "in dots",
        text,
        (Told("svg-scale-unsure", "warning", "", words=(here, other)),),
        drawings={"a_svg": DRAWING % (f"120{unit}", unit)},
    )
    told(scene, text, tmp_path, DRAWING % ("40mm", "mm"))
    sized = heard(tmp_path / "sized", job(ART % ", width: 30 mm"), "", **scene.drawings)
    assert "svg-scale-unsure" not in {item.code for item in sized}


def test_a_holder_that_comes_down_on_the_face(tmp_path: Path) -> None:
    shop = (
        "bits: [25 mm facing bit, {name: bit, like: 3.175 mm flat, flute length: 8.4 mm, "
        "reach: %s}]\n"
    )
    text = job((FIELD % "navy").replace("depth: 2 mm", "depth: 8 mm"))
    # 8 mm deep from the finished face, 0.2 mm sanded off later: 8.2 against 8.5 - 1
    short = Scene(
        "short",
        text,
        (Told("holder-touches", "must fix", "field", 8.2, 0.02, words=("9.2 mm",)),),
        shop=shop % "8.5 mm",
    )
    hold(tmp_path / "short", short)
    fits = undated(written(tmp_path / "fits", text, shop % "20 mm"))
    assert not list(holder_touches(fits))


def test_a_bit_that_is_dull_before_the_run_is_done(tmp_path: Path) -> None:
    build = undated(written(tmp_path, job(FIELD % "navy")))
    assert not list(bit_wears(build))
    long = tuple(replace(file, cut_s=7.0 * 3600.0) for file in build.gcode_files)
    found = list(bit_wears(replace(build, gcode_files=long)))
    assert found
    assert all(item.severity is Severity.NOTE for item in found)
    assert found[0].measure is not None
    assert found[0].measure.value == pytest.approx(7.0 * len(
        [file for file in long if file.order.bit.name == found[0].subject]
    ))  # fmt: skip
    many = replace(build, job=replace(build.job, pieces=9), gcode_files=long)
    assert one(tuple(bit_wears(many)), "bit-wears").measure is not None


@pytest.fixture(scope="module")
def capped(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return undated(written(tmp_path_factory.mktemp("capped"), job(LINE % ("1.6 mm", "gold line"))))


def test_dust_between_a_fill_and_its_cap(capped: Build) -> None:
    assert not list(dust_before_cap(capped))
    stages = list(capped.plan.stages)
    fill = next(at for at, stage in enumerate(stages) if stage.kind is StageKind.FILL)
    sand = next(stage for stage in stages if stage.kind is StageKind.SAND)
    dusty = [*stages[: fill + 1], replace(sand, setup=0), *stages[fill + 1 :]]
    stages = [replace(stage, number=at) for at, stage in enumerate(dusty, start=1)]
    plan = replace(capped.plan, stages=tuple(stages))
    found = one(tuple(dust_before_cap(replace(capped, plan=plan))), "dust-before-cap")
    assert found.severity is Severity.MUST_FIX
    assert found.subject == "line"


def _of(name: str) -> tuple[Subject, ...]:
    return (Subject("inlay", name),)


def slip(subject: str, remedy: str = "Seal it.", code: str = "bleed-risk") -> Finding:
    return Finding(code, Severity.WARNING, f"{subject} bleeds.", remedy, _of(subject))


def test_one_cause_is_told_once_with_a_count() -> None:
    alike = [slip(name) for name in ("a", "b", "c", "d")]
    found = told_once([*alike, slip("e", "Sand it."), slip("f", code="wood-between-gone")])
    assert [item.subject for item in found] == ["a", "e", "f"]
    assert "3 more places: b, c, d." in found[0].message
    assert found[0].also == ("b", "c", "d")
    assert {told.name for _, _, told in weights(found) if told is not None} == set("abcdef")


def test_two_of_one_cause_stay_two_and_accepted_ones_apart() -> None:
    two = [slip("a"), slip("b")]
    assert told_once(two) == two
    stop = replace(slip("a"), severity=Severity.MUST_FIX)
    third = replace(stop, subjects=_of("c"), accepted="yes")
    told = told_once([stop, replace(stop, subjects=_of("b")), third])
    assert len(told) == 3


def test_holes_of_one_pattern_are_told_by_one_rule(tmp_path: Path) -> None:
    text = job(
        "front: {holes: [{name: pegs, grid: {columns: 4, rows: 3, pitch: 4 mm}, "
        "diameter: 3.175 mm, depth: 6 mm}]}\n"
    )
    codes = [item.code for item in heard(tmp_path, text)]
    assert codes.count("holes-too-close") == 1
    assert "wood-sliver-thin" not in codes
