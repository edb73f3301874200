"""The command about bits."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from flushwork.cli.main import run
from tests.small_jobs import PLAIN


def typed(words: list[str], monkeypatch: pytest.MonkeyPatch) -> int:
    monkeypatch.setattr(sys, "argv", ["flushwork", *words])
    with pytest.raises(SystemExit) as ended:
        run()
    return int(ended.value.code or 0)


def test_bits_tells_feeds_and_what_binds_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(PLAIN, "utf-8")
    assert typed(["bits", str(path)], monkeypatch) == 0
    told = capsys.readouterr().out
    assert "chip load" in told
    assert "min for the pockets, changes counted" in told
    assert "melting resin" in told
    assert typed(["bits", str(path), "--json"], monkeypatch) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["sets"][0]["inlays"] == ["plate"]
    assert data["sets"][0]["total_s"] <= data["sets"][0]["single_s"]
    rows = data["feeds"]
    assert all(float(row["feed"]) > 0.0 and row["binds"] for row in rows)
