"""The script that proves a rebuilding changed nothing must tell what did change."""

from __future__ import annotations

import copy
import importlib.util
import json
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

SCRIPT = Path(__file__).parents[1] / "design" / "same_as_before.py"
GCODE = "(one: 3 mm)\nN10 G0 Z5.000\nN20 G1 X1.000 Y-2.500 Z-2.000 F300 ; down\n"


@pytest.fixture(scope="module")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("same_as_before", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def snapshot(script: ModuleType) -> dict[str, Any]:
    finding = {
        "code": "bright-lids-odd",
        "severity": "heavy",
        "subject": "plate",
        "place": {"face": "front", "x_mm": 3.0, "y_mm": 4.0},
        "measure": {"name": "depth", "value": 2.2, "limit": 2.0, "unit": "mm"},
    }
    return {
        "lid": {
            "exit": 0,
            "gcode": [script.gcode_of("one.abc", GCODE)],
            "setups": [{"setting": 1, "face": "front"}],
            "days": {"steps": [{"stage": 1, "pieces": ["piece 1"], "begin_min": 480}]},
            "findings": [finding],
            "figures": [{"code": "bright-lids-odd", "figures": ["2.2"]}],
            "pours": [{"mix": "dark", "batch_g": 8.02, "stage": 6}],
            "prices": {"total": "12.50"},
            "cpu_s": 1.0,
        }
    }


def told(
    script: ModuleType, old: dict[str, Any], new: dict[str, Any], folder: Path, *more: str
) -> tuple[int, str]:
    for name, value in (("old", old), ("new", new)):
        (folder / name).write_text(json.dumps(value), "utf-8")
    lines = script.compare(old, new, script.renamed_words() if "--words" in more else (), ())
    code = script.main(["compare", str(folder / "old"), str(folder / "new"), *more])
    return code, "\n".join(lines)


def deeper(lid: dict[str, Any], script: ModuleType) -> None:
    lid["gcode"] = [script.gcode_of(lid["gcode"][0]["name"], GCODE.replace("Z-2", "Z-3"))]


def later(lid: dict[str, Any], script: ModuleType) -> None:
    lid["days"]["steps"][0]["begin_min"] += 1440


def more_resin(lid: dict[str, Any], script: ModuleType) -> None:
    lid["pours"][0]["batch_g"] = 8.03


def elsewhere(lid: dict[str, Any], script: ModuleType) -> None:
    lid["findings"][0]["place"]["x_mm"] = 3.5


def unsaid(lid: dict[str, Any], script: ModuleType) -> None:
    lid["findings"] = []


def dearer(lid: dict[str, Any], script: ModuleType) -> None:
    lid["prices"]["total"] = "12.51"


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (deeper, "lid: gcode  1 extremes Z 1: -2.0 -> -3.0"),
        (deeper, "lid: gcode  1 program 2: 'G1 X1.000 Y-2.500 Z-2.000 F300' -> 'G1 X1.000"),
        (later, "lid: days  steps 1 begin_min: 480 -> 1920"),
        (more_resin, "lid: pours  1 batch_g: 8.02 -> 8.03"),
        (elsewhere, "lid: findings bright-lids-odd plate place x_mm: 3.0 -> 3.5"),
        (unsaid, "lid: findings gone: "),
        (dearer, "lid: prices  total: '12.50' -> '12.51'"),
    ],
)
def test_one_change_is_told_with_its_place_and_figure(
    script: ModuleType,
    snapshot: dict[str, Any],
    tmp_path: Path,
    change: Callable[[dict[str, Any], ModuleType], None],
    line: str,
) -> None:
    new = copy.deepcopy(snapshot)
    change(new["lid"], script)
    for words in ([], ["--words"]):
        code, _ = told(script, snapshot, new, tmp_path, *words)
        assert code == 1
    assert line in told(script, snapshot, new, tmp_path)[1]


def test_the_same_is_the_same_and_comments_and_line_numbers_do_not_count(
    script: ModuleType, snapshot: dict[str, Any], tmp_path: Path
) -> None:
    new = copy.deepcopy(snapshot)
    bare = "(two: 3 mm)\n(another line)\nG0 Z5.000\nN30 G1 X1.000 Y-2.500 Z-2.000 F300\n"
    new["lid"]["gcode"] = [script.gcode_of("one.abc", bare)]
    new["lid"]["findings"][0]["new key"] = "more is known"
    new["lid"]["cpu_s"] = 2.0
    assert told(script, snapshot, new, tmp_path) == (0, "")


def test_renamed_words_are_no_difference(
    script: ModuleType,
    snapshot: dict[str, Any],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    table = tmp_path / "words.csv"
    table.write_text("old,new\nbright lid,shade\nsetting,standing\n/\\.abc\\b/,.xy\n", "utf-8")
    monkeypatch.setattr(script, "WORDS", table)
    new = json.loads(json.dumps(snapshot).replace("setting", "standing").replace(".abc", ".xy"))
    new["lid"]["findings"][0]["code"] = new["lid"]["figures"][0]["code"] = "shades-odd"
    assert told(script, snapshot, new, tmp_path)[0] == 1
    assert told(script, snapshot, new, tmp_path, "--words") == (0, "")


def test_a_job_that_is_gone_or_new_is_told(
    script: ModuleType, snapshot: dict[str, Any], tmp_path: Path
) -> None:
    code, lines = told(script, snapshot, {"box": snapshot["lid"]}, tmp_path)
    assert code == 1
    assert lines == "lid: no longer there\nbox: only in the newer file"
