"""The rules that the scenarios leave out, each on a job that trips it; its sound twin is silent."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.checks.rules.board.moisture_rules import imbalance, widest_chord
from flushwork.checks.rules.board.sliver_rules import slivers
from flushwork.checks.rules.machine.feed_rules import other_bit_called
from flushwork.checks.rules.work.clock_rules import pot_life_over
from flushwork.checks.rules.work.mix_rules import end_grain_mm
from flushwork.core.units import Quantity, read_quantity
from tests.checks.good_jobs import GOOD_JOBS
from tests.checks.hearing import heard, one, undated, written
from tests.scenarios.expected import Scene, Told, hold
from tests.scenarios.texts import job

ONE = "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: 2 mm, fill: navy}]}\n"
PEGS = (
    "front: {holes: [{name: pegs, grid: {columns: %d, rows: %d, pitch: %s mm}, "
    "diameter: 3.175 mm, depth: 6 mm%s}]}\n"
)


def blank(more: str, text: str) -> str:
    return text.replace("16 mm}", f"16 mm, {more}}}", 1)


def mixed(name: str, mix: str, text: str) -> str:
    return text.replace("mixes:\n", f"mixes:\n  {name}: {{{mix}}}\n", 1)


MEETING = (
    "holding: %s\nfront:\n  inlays:\n"
    "    - {name: left, rectangle: 20 mm x 20 mm, at: [-10 mm, 0 mm], depth: 2 mm, fill: navy}\n"
    "    - {name: right, rectangle: 20 mm x 20 mm, at: [10 mm, 0 mm], after: [left], depth: 2 mm,\n"
    "       fill: gold line}\n"
)
SPRAY = (
    "front: {inlays: [{name: sun, polygon: {sides: 5, diameter: 30 mm}, depth: 2 mm, "
    "fill: navy}]}\n"
    "back: {inlays: [{name: star, polygon: {sides: 5, diameter: 30 mm}, depth: 2 mm, fill: %s}]}\n"
)
BIRD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<path fill="#000" d="M5 5h20v10h-20z"/></svg>'
)
PAIRS = [
    (
        Scene(
            "a joint in the open",
            job(MEETING % "corner stop"),
            (Told("joint-without-line", "warning", "right", 0.2),),
        ),
        job(MEETING % "dowels"),
    ),
    (
        Scene(
            "a run in one cup",
            mixed(
                "sea",
                "resin: casting epoxy, pigments: [teal flake]",
                job("pieces: 120\n" + ONE.replace("navy", "sea")),
            ),
            (Told("cup-splits-run", "note", "sea"),),
        ),
        mixed(
            "sea", "resin: coating epoxy, pigments: [teal flake]", job(ONE.replace("navy", "sea"))
        ),
    ),
    (
        Scene(
            "a deep pour of thick resin",
            mixed(
                "thick",
                "resin: five to one epoxy, pigments: [teal flake]",
                job(ONE.replace("2 mm, fill: navy", "6.5 mm, fill: thick")),
            ),
            (Told("bubbles-stay", "warning", "field"),),
        ),
        mixed(
            "thick",
            "resin: five to one epoxy, pigments: [teal flake], bubbles: vacuum",
            job(ONE.replace("2 mm, fill: navy", "6.5 mm, fill: thick")),
        ),
    ),
    (
        Scene(
            "holes under the frame",
            job(
                "trim line: {rectangle: 80 mm x 60 mm, hidden border: 14 mm}\n"
                + PEGS % (6, 4, "10", "")
            ),
            (Told("hole-in-hidden-border", "warning", "pegs"),),
        ),
        job(
            "trim line: {rectangle: 80 mm x 60 mm, hidden border: 3 mm}\n" + PEGS % (6, 4, "10", "")
        ),
    ),
    # 3.175 mm holes 5 mm apart leave 1.825 mm; 0.7 x 3.175 = 2.22 along, 3.18 across
    (
        Scene(
            "holes too close",
            job(PEGS % (4, 4, "5", "")),
            (Told("holes-too-close", "warning", "pegs", 1.825),),
        ),
        job(PEGS % (4, 4, "7", "")),
    ),
    (
        Scene(
            "holes in each other",
            job(PEGS % (4, 4, "3", "")),
            (Told("holes-too-close", "must fix", "pegs", -0.175),),
        ),
        job(PEGS % (4, 4, "7", "")),
    ),
    (
        Scene(
            "many holes",
            job("pieces: 100\n" + PEGS % (6, 4, "8", "")),
            (Told("drilling-wears", "note", "", 2400.0),),
        ),
        job("pieces: 20\n" + PEGS % (6, 4, "8", "")),
    ),
    (
        Scene(
            "deep on one side",
            job(ONE.replace("40 mm x 20 mm, depth: 2 mm", "80 mm x 50 mm, depth: 5 mm")),
            (Told("one-sided-cutting", "warning", "blank"),),
        ),
        job(ONE),
    ),
    (
        Scene(
            "a drawing mirrored for the back",
            job(
                "back: {inlays: [{name: a, svg: a.svg, mirror: left-right, depth: 2 mm, "
                "fill: navy}]}\n"
            ),
            (Told("art-mirrored-on-back", "note", "a"),),
            drawings={"a_svg": BIRD},
        ),
        job("back: {inlays: [{name: a, circle: 9 mm, depth: 2 mm, fill: navy}]}\n"),
    ),
    (
        Scene(
            "colours swapped",
            job(ONE.replace("name: field", "name: gold line field")),
            (Told("fill-named-otherwise", "warning", "gold line field"),),
        ),
        job(ONE.replace("name: field", "name: navy field")),
    ),
    (
        Scene(
            "the same star in another colour",
            job(SPRAY % "gold line"),
            (Told("same-art-other-fill", "warning", "star"),),
        ),
        job(SPRAY % "navy"),
    ),
    (
        Scene(
            "no waste for clamps",
            job("holding: corner stop\ntrim line: {rectangle: 84 mm x 64 mm}\n" + ONE),
            (Told("no-room-to-hold", "warning", "blank", 3.0),),
        ),
        job(
            "holding: corner stop\ntrim line: {rectangle: 56 mm x 40 mm}\n"
            + ONE.replace("40 mm x 20 mm", "30 mm x 20 mm")
        ),
    ),
    (
        Scene(
            "no tabs",
            job(
                "holding: corner stop\ntrim line: {rectangle: 56 mm x 40 mm, tabs: 0}\n"
                + ONE.replace("40 mm x 20 mm", "30 mm x 20 mm")
            ),
            (Told("trim-without-tabs", "must fix", "trim line"),),
        ),
        job(
            "holding: corner stop\ntrim line: {rectangle: 56 mm x 40 mm}\n"
            + ONE.replace("40 mm x 20 mm", "30 mm x 20 mm")
        ),
    ),
    (
        Scene(
            "flipped across its pins",
            blank("flipped: side to side", job(SPRAY % "navy")),
            (Told("flipped-off-its-pins", "warning", "blank"),),
            shop="holding: [{name: bushings, how: double-sided tape, locates by: two dowels in "
            "bushings on the centre line, repeatability: 0.05 mm}]\n",
        ),
        job(SPRAY % "navy"),
    ),
    (
        Scene(
            "far too much pigment",
            mixed(
                "sea",
                "resin: coating epoxy, pigments: [{name: teal flake, share: 20 %}]",
                job(ONE.replace("navy", "sea")),
            ),
            (Told("pigment-too-much", "warning", "sea", 20.0),),
        ),
        mixed(
            "sea",
            "resin: coating epoxy, pigments: [{name: teal flake, share: 5 %}]",
            job(ONE.replace("navy", "sea")),
        ),
    ),
    (
        Scene(
            "coarse flakes in a fine line",
            mixed(
                "sea",
                "resin: coating epoxy, pigments: [coarse pearl flake]",
                job(
                    "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], "
                    "width: 0.8 mm, depth: 1.5 mm, fill: sea}]}\n"
                ),
            ),
            (Told("flakes-too-coarse", "warning", "line", 0.15),),
        ),
        mixed(
            "sea",
            "resin: coating epoxy, pigments: [fine gold]",
            job(
                "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], "
                "width: 0.8 mm, depth: 1.5 mm, fill: sea}]}\n"
            ),
        ),
    ),
    (
        Scene(
            "wet wood",
            blank("moisture: 14 %", job(ONE)),
            (Told("wood-too-wet", "warning", "blank", 14.0),),
        ),
        blank("moisture: 8 %", job(ONE)),
    ),
    (
        Scene(
            "wood not settled",
            blank("moisture: 5 %", job(ONE)),
            (Told("wood-not-settled", "warning", "blank", 3.5, 0.1),),
        ),
        blank("moisture: 8 %", job(ONE)),
    ),
    # 60 mm x 0.00353 x (10.9 - 8) points / 2 = 0.307 mm, in a heated room in July
    # 56 mm x 0.00353 x (10.9 - 5.4) points / 2 = 0.55 mm
    (
        Scene(
            "a narrow frame",
            job("trim line: {rectangle: 76 mm x 56 mm, hidden border: 0.4 mm}\n" + ONE),
            (Told("frame-shows-edge", "warning", "trim line", 0.55, 0.005),),
        ),
        job("trim line: {rectangle: 76 mm x 56 mm, hidden border: 1 mm}\n" + ONE),
    ),
    # 300^2 x (0.00353 - 0.00165) x 2.9 points / (4 x 60) = 2.05 mm
    (
        Scene(
            "a wide board from near the heart",
            blank("ring radius: 60 mm", job(ONE, width=300)),
            (Told("board-cups", "warning", "blank", 2.045),),
        ),
        blank("ring radius: 60 mm, sawn: quarter", job(ONE, width=300)),
    ),
    (
        Scene(
            "a broad solid fill",
            job(ONE.replace("40 mm x 20 mm", "40 mm x 60 mm")),
            (Told("rigid-inlay-moves", "warning", "field", 0.307),),
        ),
        job(ONE.replace("40 mm x 20 mm", "40 mm x 40 mm")),
    ),
    (
        Scene(
            "two wet colours on a narrow strip of wood",
            job(
                "front:\n  inlays:\n"
                "    - {name: left, circle: 20 mm, at: [-11 mm, 0 mm], depth: 2 mm, fill: navy}\n"
                "    - {name: right, circle: 20 mm, at: [10.8 mm, 0 mm], depth: 2 mm, "
                "fill: gold line}\n"
            ),
            (Told("proud-fills-meet", "warning", "right", 1.8),),
        ),
        job(
            "front:\n  inlays:\n"
            "    - {name: left, circle: 20 mm, at: [-11 mm, 0 mm], depth: 2 mm, fill: navy}\n"
            "    - {name: right, circle: 20 mm, at: [12 mm, 0 mm], depth: 2 mm, fill: gold line}\n"
        ),
    ),
    # 0.60 deep, hides at 0.56: sqrt(0.05^2 + 0.05^2) = 0.07
    (
        Scene(
            "hardly deeper than it hides",
            mixed(
                "pale",
                "resin: coating epoxy, opacity: 99.5 %, pigments: [ivory powder]",
                job(ONE.replace("2 mm, fill: navy", "0.8 mm, fill: pale")),
            ),
            (Told("odds-poor", "warning", "field"),),
        ),
        mixed(
            "pale",
            "resin: coating epoxy, opacity: 99.5 %, pigments: [ivory powder]",
            job(ONE.replace("2 mm, fill: navy", "1.5 mm, fill: pale")),
        ),
    ),
    (
        Scene(
            "a coloured cap",
            job(
                "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], "
                "width: 1.6 mm, depth: 2 mm, fill: gold line, how: scraped flush and capped, "
                "cap: navy}]}\n"
            ),
            (Told("cap-not-clear", "must fix", "line"),),
        ),
        job(
            "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], "
            "width: 1.6 mm, depth: 2 mm, fill: gold line, how: scraped flush and capped, cap: "
            "clear}]}\n"
        ),
    ),
]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: pair[0].name)
def test_it_is_told_and_its_twin_is_silent(tmp_path: Path, pair: tuple[Scene, str]) -> None:
    scene, sound = pair
    hold(tmp_path / "wrong", scene)
    code = scene.told[0].code
    twin = [item for item in heard(tmp_path / "sound", sound, scene.shop) if item.code == code]
    assert not twin, twin


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Build:
    folder = tmp_path_factory.mktemp("sound")
    return undated(written(folder, GOOD_JOBS["second pass"]))


def test_a_batch_that_sets_before_it_is_poured_is_a_stop(sound: Build) -> None:
    slow = tuple(replace(pour, working_s=pour.pot_life_s + 60.0) for pour in sound.pours)
    told = list(pot_life_over(replace(sound, pours=slow)))
    assert {item.code for item in told} == {"pot-life-over"}
    assert not list(pot_life_over(sound))


def test_a_gcode_file_for_its_own_bit_is_silent(sound: Build) -> None:
    assert not list(other_bit_called(sound))


def test_a_fast_drill_burns(tmp_path: Path) -> None:
    shop = (
        "bits: [1 mm flat, 3.175 mm flat, 25 mm facing bit, "
        "{name: drill, like: 3.175 mm drill, spindle: 18000 rpm}]\n"
    )
    text = job(PEGS % (2, 2, "10", ", bit: drill"))
    assert one(heard(tmp_path / "a", text, shop), "drill-burns").severity.value == "warning"
    slow = heard(tmp_path / "b", text, shop.replace("18000", "9000"))
    assert "drill-burns" not in {item.code for item in slow}


def test_measures_of_a_rectangle(sound: Build) -> None:
    body = sound.face("front").inlays[0].region  # 50 x 30 mm, corners of 8 mm
    assert widest_chord(body, across_y=True)[0] == pytest.approx(30.0, abs=0.01)
    assert widest_chord(body, across_y=False)[0] == pytest.approx(50.0, abs=0.01)
    # two walls of 14 mm and half of each rounded corner's length
    assert end_grain_mm(body, grain_along_x=True) == pytest.approx(28.0 + 4 * 6.28, abs=2.0)


def test_the_imbalance_is_the_volume_cut_over_the_boards(sound: Build) -> None:
    share, face = imbalance(sound)
    body = sound.face("front").inlays[0].region
    thickness = 16.0 - 1.0 - 0.2 - 0.05
    assert face == "front"
    assert share == pytest.approx(body.area * 2.6 / (120.0 * 70.0 * thickness), rel=0.02)


def test_slivers_of_touching_and_far_neighbours_are_none(sound: Build) -> None:
    assert slivers(sound, "front") == ()
    assert slivers(sound, "back") == ()


def test_the_same_case_is_heard_alike_twice(sound: Build) -> None:
    assert run_checks(sound) == run_checks(sound)


def test_times_are_read_as_they_are_written() -> None:
    assert read_quantity("48 h", Quantity.TIME) == 172_800.0
