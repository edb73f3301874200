"""How commands end: one line for lost output, a fault of ours told apart from the user's."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from flushwork.cli.main import app
from flushwork.cli.output import BROKEN, DONE, ended
from flushwork.core.findings import FlushworkError, JobRefusedError
from tests.small_jobs import PLAIN

WORDS = ["explain", "wood-between-gone"]


def told(error: bytes) -> list[str]:
    """Return what stands on standard error besides progress."""
    return [line for line in error.decode().splitlines() if line and not line.startswith("  ")]


@pytest.mark.parametrize("more", [[], ["--json"]])
def test_a_closed_pipe_ends_with_one_line(more: list[str]) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "flushwork", *WORDS, *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as run:
        assert run.stdout is not None
        assert run.stderr is not None
        run.stdout.close()
        error = run.stderr.read()
    assert run.returncode == BROKEN
    assert told(error) == ["The output could not be written or read to its end: it was closed."]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
@pytest.mark.parametrize("command", [WORDS, [*WORDS, "--json"], ["check", "JOB"]])
def test_a_full_device_ends_with_one_line(tmp_path: Path, command: list[str]) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(PLAIN, "utf-8")
    words = [str(job) if word == "JOB" else word for word in command]
    with open("/dev/full", "wb") as full:
        run = subprocess.run(
            [sys.executable, "-m", "flushwork", *words],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert run.returncode == BROKEN
    assert len(told(run.stderr)) == 1, run.stderr
    assert "No space left" in told(run.stderr)[0]


def raising(error: BaseException) -> int:
    def command() -> None:
        raise error

    return ended(command, as_json=False)


def test_a_fault_of_ours_is_never_taken_for_a_stop(capsys: pytest.CaptureFixture[str]) -> None:
    for error in (RuntimeError("a fault"), IndexError(), AssertionError(), RecursionError()):
        assert raising(error) == BROKEN
        assert "fault in Flushwork" in capsys.readouterr().err
    assert raising(FlushworkError("No such folder.")) == BROKEN
    assert "fault in Flushwork" not in capsys.readouterr().err
    assert raising(JobRefusedError([])) == 2
    assert raising(SystemExit(130)) == BROKEN
    assert "Stopped." in capsys.readouterr().err
    assert raising(SystemExit(0)) == DONE
    assert raising(SystemExit(1)) == 1


def test_every_command_is_in_the_page_of_commands() -> None:
    page = (Path(__file__).parents[2] / "docs" / "commands.md").read_text("utf-8")
    told = set(re.findall(r"^\| `flushwork ([a-z-]+)", page, re.MULTILINE))
    commands = {
        each.name or getattr(each.callback, "__name__", "").replace("_", "-")
        for each in app.registered_commands
    }
    assert told == commands
