"""The command ``marks`` as a person types it, from the list of marks to the corrected files."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from flushwork.cli.main import BROKEN, DONE, STOPPED, run
from flushwork.store import changed_by_hand, write_folder

Command = Callable[..., tuple[int, str, str]]

PLATE = """\
flushwork: 2
title: A board with four marks
cell: 0.2 mm
blank: {wood: black walnut, length: 300 mm, width: 200 mm, thickness: 12 mm}
trim line: {rectangle: 240 mm x 150 mm, round: 4 mm}
cut registration marks: yes
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}
front:
  inlays:
    - {name: plate, circle: 40 mm, depth: 2 mm, fill: dark}
"""
READ = """\
registration marks:
  - {at: [0 mm, 0 mm], read: [0.12 mm, 0.05 mm]}
  - {at: [300 mm, 0 mm], read: [0.12 mm, -0.04 mm]}
  - {at: [300 mm, 200 mm], read: [0.18 mm, 0.16 mm]}
  - {at: [0 mm, 200 mm], read: [0.18 mm, 0.25 mm]}
"""
"""Marks of a 300 x 200 mm board of walnut, grain along X."""


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    def typed(*words: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["flushwork", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        return int(ended.value.code or 0), " ".join(told.out.split()), " ".join(told.err.split())

    return typed


def standing(folder: Path, text: str) -> Path:
    """Write a job, and a build of it as if it had been built."""
    path = folder / "board.yaml"
    path.write_text(text, "utf-8")
    write_folder(folder / "board built", {"gcode/a.nc": b"M2\n"}, (path,))
    return path


def test_the_marks_to_read_are_listed(command: Command, tmp_path: Path) -> None:
    code, out, err = command("marks", standing(tmp_path, PLATE), "--setup", "2")
    assert code == DONE, err
    assert "the marks of 1" in out
    assert "1: go to X 2.800 Y 2.800" in out
    assert "3: go to X 297.200 Y 197.200" in out


def test_readings_of_the_job_file_are_told_and_written_once_confirmed(
    command: Command, tmp_path: Path
) -> None:
    path = standing(tmp_path, PLATE + READ)
    built = tmp_path / "board built"
    code, out, err = command("marks", path, "--setup", "2")
    assert code == DONE, err
    assert "shift +0.12, +0.05 mm, turn -0.30 mrad, stretch across the grain +0.10 %" in out
    assert "Nothing was written." in out
    assert not (built / "corrected-gcode").exists()
    code, out, err = command("marks", path, "--setup", "2", "--yes")
    assert code == DONE, err
    folder = built / "corrected-gcode" / "setup 2"
    names = sorted(each.name for each in folder.iterdir())
    assert names[-1] == "reading.txt"
    assert len(names) == 4
    assert all(name.startswith("m2-front-") for name in names[:-1])
    assert (built / "gcode" / "a.nc").read_bytes() == b"M2\n"
    assert changed_by_hand(built) == ()
    assert "-0.300 mrad" in (folder / "reading.txt").read_text()
    assert "CORRECTED" in (folder / names[0]).read_text()


def test_a_sign_slip_is_named_and_nothing_is_written(command: Command, tmp_path: Path) -> None:
    twin = PLATE + READ.replace("read: [0.18 mm, 0.16 mm]", "read: [-0.18 mm, 0.16 mm]")
    code, out, _ = command("marks", standing(tmp_path, twin), "--setup", "2", "--yes")
    assert code == STOPPED
    assert "Mark 3 disagrees" in out
    assert "Read mark 3 again." in out
    assert not (tmp_path / "board built" / "corrected-gcode").exists()


def test_three_marks_are_too_few(command: Command, tmp_path: Path) -> None:
    few = PLATE + READ.rpartition("  - ")[0]
    code, out, _ = command("marks", standing(tmp_path, few), "--setup", "2", "--yes")
    assert code == STOPPED
    assert "too little over" in out


def test_readings_from_a_file_and_in_json(command: Command, tmp_path: Path) -> None:
    path = standing(tmp_path, PLATE)
    notes = tmp_path / "read.txt"
    notes.write_text(
        "# read with the loupe\n1: 0.1, 0\n2: 0.1 mm, 0\n3: .1, 0.2\n\n4: 0.1, 0.2 mm\n", "utf-8"
    )
    code, _, err = command("marks", path, "--setup", "2", "--readings", notes, "--yes", "--json")
    assert code == DONE, err
    code, out, _ = command("marks", path, "--setup", "2", "--readings", notes, "--json")
    told = json.loads(out)
    assert told["stretch_percent"] == pytest.approx(100.0 * 0.2 / 194.4, abs=1e-6)
    assert told["written"] is None
    assert max(told["residuals_mm"]) < 1e-6


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--setup", "9"), "there is no setup 9"),
        (("--setup", "1", "--read", "1: 0, 0"), "setup 1 reads no marks"),
        (("--setup", "2", "--read", "1 0.1"), "is no reading"),
        (("--setup", "2", "--read", "5: 0, 0"), "there is no mark 5"),
        (("--setup", "2", "--read", "1: 0, 0", "--read", "1: 0, 0"), "mark 1 is read twice"),
        (("--setup", "2", "--read", "1: 0.1 kg, 0"), "reading 1"),
        (("--setup", "2", "--readings", "nowhere.txt"), "no text file"),
    ],
)
def test_what_cannot_be_used_is_said(
    command: Command, tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    code, _, err = command("marks", standing(tmp_path, PLATE), *words)
    assert code == BROKEN
    assert told in err


def test_a_build_older_than_the_job_is_refused(command: Command, tmp_path: Path) -> None:
    path = standing(tmp_path, PLATE)
    path.write_text(PLATE + READ, "utf-8")
    code, _, err = command("marks", path, "--setup", "2", "--yes")
    assert code == BROKEN
    assert "run `flushwork build` first" in err
