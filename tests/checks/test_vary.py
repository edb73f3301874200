"""What if: keys changed in the text, sweeps, and the cheapest change that fixes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from flushwork.checks.all_rules import run_checks
from flushwork.checks.fixes.fix import applied, sweep
from flushwork.checks.fixes.propose import propose
from flushwork.checks.odds.odds import odds_of
from flushwork.cli.main import app
from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.job.read import read_job
from flushwork.job.text.change import VaryError, changed
from tests.checks.hearing import undated, written

JOB = """\
flushwork: 2
title: Two sides
cell: 0.3 mm
blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 14 mm}
mixes:
  dark: {resin: coating epoxy, pigments: [black powder]}   # our own
front:
  inlays:
    - {name: lake, rectangle: 40 mm x 30 mm, round: 4 mm, depth: 5 mm, fill: dark}
back: {inlays: [{name: hill, circle: 20 mm, depth: 5 mm, fill: dark}]}
"""


def reading(folder: Path, text: str) -> tuple[Finding, ...]:
    try:
        return run_checks(undated(written(folder, text)))
    except JobRefusedError as refused:
        return refused.findings


def test_one_key_is_changed_and_the_rest_stays(tmp_path: Path) -> None:
    text = changed(JOB, "front.inlays.lake.depth", "3 mm")
    assert "# our own" in text
    before, after = (read_job(written(tmp_path, item)) for item in (JOB, text))
    assert after.inlays[0].depth_mm == 3.0
    assert after.inlays[1] == before.inlays[1]
    assert after.blank == before.blank


def test_a_key_that_was_not_there_is_added(tmp_path: Path) -> None:
    text = changed(JOB, "allowances.light sand", "0.1 mm")
    assert read_job(written(tmp_path, text)).allowances.light_sand_mm == 0.1
    by_number = changed(JOB, "back.inlays.1.depth", "2 mm")
    assert read_job(written(tmp_path, by_number)).inlays[1].depth_mm == 2.0


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("front.inlays.lak.depth", "there are lake"),
        ("front.inlays.3.depth", "no item called 3"),
        ("title.words", "plain value"),
        ("", "Write a key"),
    ],
)
def test_a_key_that_leads_nowhere_is_told(key: str, words: str) -> None:
    with pytest.raises(VaryError, match=words):
        changed(JOB, key, "1 mm")


def test_a_sweep_tells_where_the_check_turns(tmp_path: Path) -> None:
    # 14 - 1.0 - 0.4 - 5 = 7.6 mm are left for the front, 3 of them wood between the faces
    values = ["4 mm", "5.5 mm", "9 mm"]
    outcomes = sweep(JOB, "front.inlays.lake.depth", values, lambda text: reading(tmp_path, text))
    told = [{item.code: item for item in outcome.findings} for outcome in outcomes]
    assert "wood-between-too-thin" not in told[0]
    assert told[1]["wood-between-too-thin"].measure is not None
    assert told[1]["wood-between-too-thin"].measure.value == pytest.approx(2.1, abs=0.01)
    assert told[2]["wood-between-gone"].severity is Severity.MUST_FIX
    assert outcomes[2].of(Severity.MUST_FIX)


def test_the_cheapest_fix_is_one_that_works(tmp_path: Path) -> None:
    case = undated(written(tmp_path, JOB))
    told = run_checks(case)
    found = propose(JOB, case.job, case.faces, told, lambda text: reading(tmp_path, text))
    wood_between = next(item for item in found if item.finding.code == "wood-between-too-thin")
    assert wood_between.fix is not None
    assert wood_between.fix.cost == 0
    fixed = reading(tmp_path, applied(JOB, wood_between.fix))
    assert "wood-between-too-thin" not in {item.code for item in fixed}


def test_nothing_is_proposed_for_a_sound_job(tmp_path: Path) -> None:
    sound = JOB.replace("depth: 5 mm", "depth: 2 mm")
    case = undated(written(tmp_path, sound))
    told = tuple(item for item in run_checks(case) if item.code != "batch-below-tools")
    assert propose(sound, case.job, case.faces, told, lambda text: reading(tmp_path, text)) == ()


def test_the_odds_of_a_whole_job_stand_together(tmp_path: Path) -> None:
    run = odds_of(undated(written(tmp_path, JOB.replace("title:", "pieces: 3\ntitle:"))))
    assert run.pieces == 3
    assert run.all_good <= run.piece <= min(item.odds for item in run.quantities) + 0.01
    assert run.expected_good == pytest.approx(3.0 * run.piece, abs=0.05)
    assert {"wood between faces", "fill left", "ratio"} <= {item.name for item in run.quantities}


def test_the_commands_speak(tmp_path: Path) -> None:
    path = written(tmp_path, JOB)
    runner = CliRunner()
    key = "front.inlays.lake.depth"
    said = runner.invoke(app, ["vary", str(path), key, "2 mm", "5.5 mm", "--json"])
    assert said.exit_code == 0, said.output
    outcomes = json.loads(said.stdout)["outcomes"]
    assert [item["value"] for item in outcomes] == ["2 mm", "5.5 mm"]
    assert outcomes[0]["warning"] < outcomes[1]["warning"]
    said = runner.invoke(app, ["odds", str(path), "--json"])
    assert json.loads(said.stdout)["pieces"] == 1
    assert runner.invoke(app, ["vary", str(path), key]).exit_code == 2
