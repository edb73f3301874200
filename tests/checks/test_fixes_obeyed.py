"""Every fix that `vary` names, written into the job as it says, holds when the job is checked.

The jobs are sound ones with a slip in them, and small jobs with one fault; the commands read, prove
and change them, as a user would.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from flushwork.checks.fixes.fix import Edit, Fix, applied
from flushwork.cli.main import app
from flushwork.core.findings import JobRefusedError
from tests.checks.hearing import written
from tests.checks.test_fixes import CASES
from tests.checks.test_seeded_faults import JOB, SHOP, SLIPS
from tests.many import examples

WEIGHT = {"note": 0, "warning": 1, "must fix": 2}
JOBS = {
    **{f"slip: {slip.name}": (slip.change(JOB), slip.shop(SHOP)) for slip in SLIPS},
    **{f"fault: {code}": (text, "") for code, (text, _) in CASES.items()},
}


def asked(folder: Path, *command: str) -> Any:
    """Return what a command says of the job in a folder, as data."""
    said = CliRunner().invoke(app, [command[0], str(folder / "job.yaml"), *command[1:], "--json"])
    if isinstance(said.exception, JobRefusedError):
        raise said.exception
    assert said.exception is None or isinstance(said.exception, SystemExit), said.exception
    return json.loads(said.stdout)


def weights(findings: list[dict[str, Any]]) -> dict[tuple[str, str], int]:
    """Return how much each finding that stands weighs, by code and subject."""
    told: dict[tuple[str, str], int] = {}
    for item in findings:
        if item["accepted"] is None:
            for subject in (item["subject"], *item["also"]):
                key = (item["code"], subject)
                told[key] = max(told.get(key, 0), WEIGHT[item["severity"]])
    return told


def one_job(folder: Path, text: str, shop: str) -> tuple[int, int]:
    """Hold every fix of a job; return how many findings it has, and how many got a fix."""
    try:
        written(folder, text, shop)
        proposals = asked(folder, "vary")["fixes"]
    except JobRefusedError:
        return 0, 0  # the slip keeps the job from being read: there is nothing to vary
    text = (folder / "job.yaml").read_text("utf-8")
    before = weights(asked(folder, "check")["findings"])
    for item in proposals:
        assert bool(item["fix"]) != bool(item["why not"])
        if not item["fix"]:
            continue
        edits = tuple(Edit(tuple(each["key"].split(".")), each["value"]) for each in item["fix"])
        (folder / "job.yaml").write_text(applied(text, Fix(edits)), "utf-8")
        answer = asked(folder, "check")
        assert answer["readable"], (item, answer)
        after = weights(answer["findings"])
        code, subject = item["finding"]["code"], item["finding"]["subject"]
        assert after.get((code, subject), 0) == 0, (item["fix"], answer["findings"])
        mine = WEIGHT[item["finding"]["severity"]]
        raised = {
            key: weight
            for key, weight in after.items()
            if weight >= mine and weight > before.get(key, 0)
        }
        assert not raised, (item["fix"], raised)
        (folder / "job.yaml").write_text(text, "utf-8")
    return len(proposals), sum(bool(item["fix"]) for item in proposals)


@settings(max_examples=examples(4), deadline=None)
@given(name=st.sampled_from(sorted(JOBS)))
def test_every_fix_that_is_told_holds(name: str) -> None:
    text, shop = JOBS[name]
    with tempfile.TemporaryDirectory() as folder:
        one_job(Path(folder), text, shop)
