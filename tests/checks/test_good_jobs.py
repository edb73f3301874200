"""No crying wolf: sound jobs carry no must fix, and hardly a warning."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Severity
from tests.checks.good_jobs import GOOD_JOBS
from tests.checks.hearing import undated, written

EXAMPLES = Path(__file__).parents[2] / "examples"
SMALL = {"batch-below-tools"}
"""Single small pieces cannot be measured without a surplus, and are told so."""
ALLOWED = {
    "coaster": set[str](),
    "tray": {"pot-life-splits-run"},
    "house-sign": SMALL,
    "kingfisher": {"batch-below-tools", "proud-fills-meet", "cap-too-thin"},
}
"""What the examples are told, each of it of use to their maker."""


@pytest.mark.parametrize("name", GOOD_JOBS)
def test_a_sound_job_is_told_nothing_that_forbids_cutting(tmp_path: Path, name: str) -> None:
    findings = run_checks(undated(written(tmp_path, GOOD_JOBS[name])))
    loud = [item for item in findings if item.severity is not Severity.NOTE]
    assert {item.code for item in loud} <= SMALL, loud
    assert not [item for item in loud if item.severity is Severity.MUST_FIX], loud
    assert len(findings) <= 4


@pytest.mark.parametrize("name", ["coaster", "tray"])
def test_an_example_is_told_only_what_is_of_use(name: str) -> None:
    findings = run_checks(undated(EXAMPLES / name / "job.yaml"))
    loud = {item.code for item in findings if item.severity is not Severity.NOTE}
    assert loud <= ALLOWED[name]
    assert not [item for item in findings if item.stands]
