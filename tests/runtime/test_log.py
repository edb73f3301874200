"""The log is silent until it is asked for, and then tells each line's time."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import flushwork
from tests.small_jobs import PLAIN

LINE = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d,\d{3} \d+ INFO ")


def ran(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "flushwork", *words], capture_output=True, text=True, check=True
    )


@pytest.mark.parametrize("verbose", [True, False])
def test_verbose_shows_the_log_with_times(tmp_path: Path, *, verbose: bool) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(PLAIN, "utf-8")
    said = ran(*["--verbose"] * verbose, "check", str(job))
    timed = [line for line in said.stderr.splitlines() if LINE.match(line)]
    assert any("fit the bits" in line for line in timed) == bool(timed) == verbose
    assert not any(LINE.match(line) for line in said.stdout.splitlines())


def test_a_warning_nobody_asked_for_is_not_shown() -> None:
    program = "from flushwork.runtime.log import LOG; LOG.warning('a copy failed')"
    said = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert said.stderr == ""


def test_the_version_told_is_the_packages() -> None:
    package = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))
    assert flushwork.__version__ == package["project"]["version"]
    assert ran("--version").stdout == f"flushwork {flushwork.__version__}\n"
