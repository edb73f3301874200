"""The cheapest change that turns a finding green, tried for findings of many kinds."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from flushwork.cli.main import app
from flushwork.errors import JobRefusedError
from flushwork.findings import Finding
from flushwork.job.read import read_job
from flushwork.proof.case import Case
from flushwork.proof.mending import figure_after, propose
from flushwork.proof.quantities import quantities
from flushwork.proof.registry import prove
from flushwork.proof.vary import changed, loud
from tests.proof.hearing import case_of, written
from tests.scenarios.texts import job

FIELD = "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: %s, fill: %s}]}\n"
BACKED = FIELD.rstrip() + "\nback: {inlays: [{name: hill, circle: 18 mm, depth: %s, fill: navy}]}\n"
NESTED = (
    "front:\n  inlays:\n"
    "    - {name: body, rectangle: 40 mm x 20 mm, depth: 3 mm, fill: navy}\n"
    "    - {name: wing, circle: 10 mm, second pass of: [body], depth: %s, fill: gold line}\n"
)
LINE = (
    "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], width: %s, "
    "depth: 2 mm, fill: %s, how: scraped and capped, cap: %s}]}\n"
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
PEGS = (
    "front: {holes: [{name: pegs, grid: {columns: 3, rows: 2, pitch: %s}, diameter: %s, "
    "depth: 6 mm%s, cutter: 1 mm flat}]}\n"
)
THINNED = (
    "mixes:\n  thin: {resin: coating epoxy, thinner: {name: ethanol, share: 8 %}, "
    "pigments: [teal flake], bubbles: flame}\n"
)
CASES = {
    "web-too-thin": (job(BACKED % ("6 mm", "navy", "6 mm")), "depth"),
    "web-broken": (job(BACKED % ("8 mm", "navy", "7.5 mm")), "depth"),
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
    "fill-before-seal": (
        job("sealer: none\n" + FIELD % ("2 mm", "dyed")).replace(
            "mixes:\n", "mixes:\n  dyed: {resin: coating epoxy, pigments: [blue dye]}\n"
        ),
        "sealer",
    ),
    "flame-near-solvent": (
        job(FIELD % ("2 mm", "thin")).replace("mixes:\n", THINNED, 1),
        "bubbles",
    ),
    "casting-in-thin-slot": (job(LINE % ("1 mm", "navy", "clear")), "resin"),
}


class Ear:
    """Hears texts and keeps their cases, so that no text is heard twice."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.cases: dict[str, Case] = {}

    def __call__(self, text: str) -> tuple[Finding, ...]:
        try:
            self.cases[text] = case_of(written(self.folder, text))
        except JobRefusedError as refused:
            return refused.findings
        return prove(self.cases[text])


@pytest.mark.parametrize("code", CASES)
def test_a_change_is_found_that_mends_it(tmp_path: Path, code: str) -> None:
    text, key = CASES[code]
    ear = Ear(tmp_path)
    before = ear(text)
    finding = next(item for item in before if item.code == code)
    (mend,) = propose(text, read_job(tmp_path / "job.yaml"), before, ear, code)[:1]
    assert mend.change is not None, f"{mend.tried} tried"
    assert key in mend.change.key
    after = ear(changed(text, mend.change.key, mend.change.value))
    assert code not in {item.code for item in after if item.subject == finding.subject}
    assert loud(after) <= loud(before)


def test_the_new_figure_is_told(tmp_path: Path) -> None:
    text = CASES["web-too-thin"][0]
    ear = Ear(tmp_path)
    before = ear(text)
    finding = next(item for item in before if item.code == "web-too-thin")
    (mend,) = propose(text, read_job(tmp_path / "job.yaml"), before, ear, "web-too-thin")
    assert mend.change is not None
    made = ear.cases[changed(text, mend.change.key, mend.change.value)]
    figure = figure_after(finding, quantities(made))
    assert figure is not None
    # 16 - 1.0 - 2 x 0.2 = 14.6 finished, 6 and 6 sunk: 2.6 of 3.0 wanted; 0.4 and rounding less
    assert figure[0] == "web"
    assert figure[1] == pytest.approx(3.0, abs=0.05)


def test_the_command_tells_the_change_and_the_figure(tmp_path: Path) -> None:
    path = written(tmp_path, CASES["web-too-thin"][0])
    said = CliRunner().invoke(app, ["vary", str(path), "--json"])
    assert said.exit_code == 0, said.output
    mends = json.loads(said.stdout)["mends"]
    web = next(item for item in mends if item["finding"]["code"] == "web-too-thin")
    assert "depth" in web["change"]["key"]
    assert web["figure"]["value"] == pytest.approx(3.0, abs=0.05)
    assert "is then 3.0" in CliRunner().invoke(app, ["vary", str(path)]).output
