"""The cheapest change that turns a finding green, tried for findings of many kinds."""

from __future__ import annotations

import json
import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from flushwork import checks
from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.checks.catalogue import catalogue
from flushwork.checks.fixes.fix import Question, applied, figure_after
from flushwork.checks.fixes.propose import BY_HAND, IDEAS, ProposedFix, fixes_for, propose, weights
from flushwork.checks.odds.quantities import quantities
from flushwork.cli.main import app
from flushwork.core.findings import Finding, JobRefusedError
from tests.checks.hearing import undated, written
from tests.many import examples
from tests.scenarios.texts import job
from tests.small_jobs import changed

FIELD = "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: %s, fill: %s}]}\n"
BACKED = FIELD.rstrip() + "\nback: {inlays: [{name: hill, circle: 18 mm, depth: %s, fill: navy}]}\n"
NESTED = (
    "front:\n  inlays:\n"
    "    - {name: body, rectangle: 40 mm x 20 mm, depth: 3 mm, fill: navy}\n"
    "    - {name: wing, circle: 10 mm, second pass of: [body], depth: %s, fill: gold line}\n"
)
LINE = (
    "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], width: %s, "
    "depth: 2 mm, fill: %s, how: scraped flush and capped, cap: %s}]}\n"
)
APART = (
    "front:\n  inlays:\n"
    "    - {name: left, rectangle: 20 mm x 20 mm, at: [-10.4 mm, 0 mm], depth: 2 mm, fill: navy}\n"
    "    - {name: right, rectangle: 20 mm x 20 mm, at: [10.5 mm, 0 mm], depth: 2 mm, "
    "fill: navy}\n"
)
MEET = APART.replace("-10.4", "-10.8").replace("10.5 mm", "10.8 mm").replace(
    "2 mm, fill: navy}\n    - {name: right", "2 mm, fill: gold line}\n    - {name: right"
)  # fmt: skip
LATER = APART.replace("10.5 mm, 0 mm]", "20 mm, 0 mm], after: [left], sealed: no")
PEGS = (
    "front: {holes: [{name: pegs, grid: {columns: 3, rows: 2, pitch: %s}, diameter: %s, "
    "depth: 6 mm%s, bit: 1 mm flat}]}\n"
)
THINNED = (
    "mixes:\n  thin: {resin: coating epoxy, thinner: {name: ethanol, share: 8 %}, "
    "pigments: [teal flake], bubbles: flame}\n"
)
MEN = (
    "layouts: {mill: {morris: {men: 3, size: 40 mm}}}\n"
    "front: {holes: [{name: places, layout: mill, diameter: 4 mm, depth: 6 mm}]}\n"
    "loose parts:\n"
    "  - {name: men, wood: sugar maple, count: 3, plays on: mill, %s}\n"
    "  - {name: others, wood: black walnut, count: 3, plays on: mill}\n"
)
BOXED = (
    "front: {inlays: [{name: field, circle: 12 mm, depth: 2 mm, fill: navy}]}\n"
    "box:\n  wall: 10 mm\n  height: 80 mm\n  inside: 200 mm x 150 mm\n"
    "  splines: {heights: [16 mm, %s], thickness: 3 mm, depth: %s}\n"
    "  lid: {from base: 45 mm}\n  %s\n"
)
CASES = {
    "box-spline-in-inlay": (
        job(
            BOXED
            % (
                "30 mm",
                "9 mm",
                "art outside: [{name: vine, from base: 10 mm, to: 30 mm, from corner: 9 mm}]",
            )
        ),
        "splines.depth",
    ),
    "box-spline-breaks-through": (job(BOXED % ("30 mm", "15 mm", "trim: 0 mm")), "splines.depth"),
    "box-spline-in-cut": (job(BOXED % ("44 mm", "9 mm", "trim: 0 mm")), "heights"),
    "box-lid-cut-in-groove": (
        job(BOXED % ("30 mm", "9 mm", "bottom: {from base: 42 mm, width: 3 mm}")),
        "lid.from base",
    ),
    "box-art-erased": (
        job(
            BOXED
            % (
                "30 mm",
                "9 mm",
                "trim: 3 mm\n  art outside: [{name: vine, from base: 2 mm, "
                "to: 9 mm, from corner: 20 mm}]",
            )
        ),
        "vine.from base",
    ),
    "box-hinge-over-joint": (
        job(BOXED % ("30 mm", "9 mm", "hinges: {from corner: 6 mm, length: 30 mm}")),
        "hinges.from corner",
    ),
    "box-board-too-large": (
        job(
            "front: {inlays: [{name: field, circle: 12 mm, depth: 2 mm, fill: navy}]}\n"
            "box: {wall: 10 mm, height: 60 mm, inside: 85 mm x 66 mm, board: loose}\n"
        ),
        "inside",
    ),
    "joint-in-fine-inlay": (
        job(
            "front: {inlays: [{name: hair, lines: [[[-30 mm, 0 mm], [30 mm, 0 mm]]], "
            "width: 1.2 mm, depth: 1 mm, fill: navy}]}\n"
        ).replace("16 mm}", "16 mm, glue up: {strips: [35 mm, 35 mm]}}"),
        "strips",
    ),
    "board-cups": (
        job(
            "front: {inlays: [{name: spot, circle: 12 mm, depth: 2 mm, fill: navy}]}\n", width=300
        ).replace(
            "16 mm}",
            "16 mm, ring radius: 60 mm, glue up: {strips: [75 mm, 75 mm, 75 mm, 75 mm], "
            "rings: alike}}",
        ),
        "rings",
    ),
    "frame-shows-edge": (
        job(
            "trim line: {rectangle: 76 mm x 56 mm, hidden border: 0.4 mm}\n"
            "front: {inlays: [{name: field, circle: 20 mm, depth: 2 mm, fill: navy}]}\n"
        ),
        "hidden border",
    ),
    "wood-between-too-thin": (job(BACKED % ("6 mm", "navy", "6 mm")), "depth"),
    "wood-between-gone": (job(BACKED % ("8 mm", "navy", "7.5 mm")), "depth"),
    "second-pass-floor-thin": (job(NESTED % "2.8 mm"), "wing.depth"),
    "second-pass-through": (job(NESTED % "3.4 mm"), "wing.depth"),
    "pour-too-deep": (
        job("sealer: shellac\n" + FIELD % ("8 mm", "dark")).replace(
            "mixes:\n", "mixes:\n  dark: {resin: coating epoxy, pigments: [black powder]}\n"
        ),
        "field",
    ),
    "wood-sliver-thin": (job(APART), "after"),
    "proud-fills-meet": (job(MEET), ""),
    "holes-too-close": (job(PEGS % ("4.5 mm", "3.175 mm", "")), "pitch"),
    "peg-tight": (job(PEGS % ("12 mm", "3.05 mm", ", peg: 3.05 mm")), "diameter"),
    "peg-loose": (job(PEGS % ("12 mm", "3.5 mm", ", peg: 3 mm")), "diameter"),
    "peg-sinks": (job(MEN % "goes in: places, length: 5 mm"), "length"),
    "loose-parts-crowd": (job(MEN % "across: 22 mm"), "across"),
    "loose-parts-too-few": (job((MEN % "across: 4 mm").replace("count: 3", "count: 1")), "count"),
    "fill-before-seal": (
        job("sealer: none\n" + FIELD % ("2 mm", "dyed")).replace(
            "mixes:\n", "mixes:\n  dyed: {resin: coating epoxy, pigments: [blue dye]}\n"
        ),
        "sealer",
    ),
    "overspill-on-bare-wood": (
        job(LATER),
        "sealed",
    ),
    "flame-near-solvent": (
        job(FIELD % ("2 mm", "thin")).replace("mixes:\n", THINNED, 1),
        "bubbles",
    ),
    "casting-in-thin-slot": (job(LINE % ("1 mm", "navy", "clear")), "resin"),
}


ALIKE = job(
    "".join(
        f"{face}:\n  inlays:\n"
        + "".join(
            f"    - {{name: {name} {at}, circle: 8 mm, at: [{at} mm, 0 mm], depth: 6 mm, "
            "fill: navy}\n"
            for at in (-20, 0, 20)
        )
        for face, name in (("front", "disc"), ("back", "hill"))
    )
)
"""Three discs, each over one of its own that is too near it, which is told once."""


class Ear:
    """Hears texts and keeps their cases, so that no text is checked twice."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.cases: dict[str, Build] = {}

    def __call__(self, text: str) -> tuple[Finding, ...]:
        try:
            self.cases[text] = undated(written(self.folder, text))
        except JobRefusedError as refused:
            return refused.findings
        return run_checks(self.cases[text])


def proposed(folder: Path, text: str, ear: Ear, code: str) -> tuple[ProposedFix, ...]:
    """Return what is proposed for the findings of one code, its job having been heard."""
    build = ear.cases[text]
    return propose(text, build.job, build.faces, run_checks(build), ear, code)


@pytest.mark.parametrize("code", CASES)
def test_a_fix_is_found_that_holds(tmp_path: Path, code: str) -> None:
    text, key = CASES[code]
    ear = Ear(tmp_path)
    before = ear(text)
    finding = next(item for item in before if item.code == code)
    found = proposed(tmp_path, text, ear, code)[0]
    assert found.fix is not None, f"{found.tried} tried"
    assert key in str(found.fix)
    after = ear(applied(text, found.fix))
    assert code not in {item.code for item in after if item.subject == finding.subject}
    assert weights(after).items() <= weights(before).items()


@settings(max_examples=examples(1), deadline=None)
@given(
    st.sampled_from([13.9, 14.4, 15.0, 15.6, 16.5]),
    st.sampled_from(["overfilled", "scraped flush"]),
    st.integers(9, 16),
)
@example(15.0, "overfilled", 16)
def test_what_is_sunk_through_is_mended_within_the_deepest_pour(
    depth_mm: float, how: str, thick_mm: int
) -> None:
    """What cuts through is not filled, so how deep its pour would be is told by nobody before."""
    text = changed("depth: 2 mm", f"how: {how}, depth: {depth_mm - 16 + thick_mm:g} mm")
    text = text.replace("thickness: 16 mm", f"thickness: {thick_mm} mm").replace("8 mm}", "3 mm}")
    with tempfile.TemporaryDirectory() as folder:
        ear = Ear(Path(folder))
        before = ear(text)
        was = {item.code for item in before}
        assert "sanded-away" not in was
        for found in proposed(Path(folder), text, ear, "floor-through"):
            assert found.fix is not None, f"{found.tried} tried"
            after = {item.code for item in ear(applied(text, found.fix))}
            assert not after & {"floor-through", "below-spoilboard"}
            assert "pour-too-deep" not in after - was


def test_what_is_told_once_of_many_places_is_fixed_at_all_of_them(tmp_path: Path) -> None:
    ear = Ear(tmp_path)
    before = ear(ALIKE)
    finding = next(item for item in before if item.code == "wood-between-too-thin")
    assert len(finding.each) == 3
    found = proposed(tmp_path, ALIKE, ear, "wood-between-too-thin")[0]
    assert found.fix is not None, f"{found.tried} tried"
    assert len(found.fix.edits) == 3, "each of them shallower, no thicker blank"
    after = ear(applied(ALIKE, found.fix))
    assert "wood-between-too-thin" not in {item.code for item in after}
    assert weights(after).items() <= weights(before).items()


def test_the_new_figure_is_told(tmp_path: Path) -> None:
    text = CASES["wood-between-too-thin"][0]
    ear = Ear(tmp_path)
    finding = next(item for item in ear(text) if item.code == "wood-between-too-thin")
    found = proposed(tmp_path, text, ear, "wood-between-too-thin")[0]
    assert found.fix is not None
    figure = figure_after(finding, quantities(ear.cases[applied(text, found.fix)]))
    assert figure is not None
    # 16 - 1.0 - 2 x 0.2 = 14.6 finished, 6 and 6 sunk: 2.6 of 3.0 wanted; 0.4 less
    assert figure[0] == "wood between faces"
    assert figure[1] == pytest.approx(3.0, abs=0.02)


def test_a_thing_whose_name_is_a_word_of_the_message_is_left_alone(tmp_path: Path) -> None:
    words = BACKED % ("6 mm", "navy", "6 mm")
    disc = "front: {inlays: [{name: wood, circle: 8 mm, at: [30 mm, 20 mm], depth: 2 mm, "
    text = job(words.replace("front: {inlays: [", disc + "fill: navy}, ", 1))
    ear = Ear(tmp_path)
    ear(text)
    build = ear.cases[text]
    finding = next(item for item in run_checks(build) if item.code == "wood-between-too-thin")
    assert " wood " in finding.message
    for each in fixes_for(Question(finding, build.job, build.faces)):
        assert "inlays.wood." not in str(each)


def test_the_command_tells_the_fix_and_the_figure(tmp_path: Path) -> None:
    path = written(tmp_path, CASES["wood-between-too-thin"][0])
    said = CliRunner().invoke(app, ["vary", str(path), "--json"])
    assert said.exit_code == 0, said.output
    wood_between = next(
        item
        for item in json.loads(said.stdout)["fixes"]
        if item["finding"]["code"] == "wood-between-too-thin"
    )
    assert "depth" in wood_between["fix"][0]["key"]
    assert wood_between["figure"]["value"] == pytest.approx(3.0, abs=0.02)
    assert "is then 3.0" in CliRunner().invoke(app, ["vary", str(path)]).output


def test_each_code_has_ideas_or_a_reason_why_none_helps() -> None:
    told = {
        code
        for path in Path(checks.__file__).parent.rglob("*.py")
        for code in re.findall(r'"([a-z]+(?:-[a-z]+)+)"', path.read_text("utf-8"))
        if code in catalogue() and catalogue()[code].severity.split(",")[0] != "note"
    }
    assert len(told) > 100
    assert sorted(told - set(IDEAS) - set(BY_HAND)) == []
    assert not set(IDEAS) & set(BY_HAND)
    assert set(IDEAS) | set(BY_HAND) <= set(catalogue())


@pytest.mark.parametrize("across", ["3.95 mm", "3.4 mm"])
def test_loose_parts_are_given_back_to_their_holes(tmp_path: Path, across: str) -> None:
    text, ear = job(MEN % f"goes in: places, across: {across}"), Ear(tmp_path)
    code = "peg-tight" if across == "3.95 mm" else "peg-loose"
    assert code in {item.code for item in ear(text)}
    found = proposed(tmp_path, text, ear, code)[0]
    assert found.fix is not None
    assert "loose parts" in str(found.fix)
    assert code not in {item.code for item in ear(applied(text, found.fix))}
