"""The commands about days and money."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

import icalendar
import pytest

from flushwork.cli.main import BROKEN, DONE, REFUSED, run
from tests.small_jobs import PLAIN

Typed = Callable[..., tuple[int, str]]


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    def command(*words: str | Path) -> tuple[int, str]:
        monkeypatch.setattr(sys, "argv", ["flushwork", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        return int(ended.value.code or 0), told.out + told.err

    return command


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "job.yaml").write_text(PLAIN + "pieces: 2\nbegin: 2027-03-01\n", "utf-8")
    return tmp_path / "job.yaml"


def test_stages_tell_why(typed: Typed, job: Path) -> None:
    code, told = typed("stages", job)
    assert code == DONE
    assert "Seal the cut walls of plate" in told
    assert "because walls just cut into wood drink resin" in told
    code, told = typed("stages", job, "--json")
    assert [stage["number"] for stage in json.loads(told)][:3] == [1, 2, 3]


def test_a_plan_is_shown_and_written(typed: Typed, job: Path, tmp_path: Path) -> None:
    out = tmp_path / "days"
    code, told = typed("plan", job, "--out", out, "--zone", "Europe/Berlin")
    assert code == DONE
    assert "Monday 2027-03-01" in told
    assert "no plan can finish sooner" in told
    calendar = icalendar.Calendar.from_ical((out / "days.ics").read_bytes())
    assert len(list(calendar.walk("VALARM"))) > 0
    assert (out / "labels.pdf").read_bytes().startswith(b"%PDF")
    data = json.loads((out / "days.json").read_text("utf-8"))
    assert data["proven"] is True
    assert len(data["pieces"]) == 2


def test_the_rest_is_planned_after_a_day_log(typed: Typed, job: Path, tmp_path: Path) -> None:
    log = tmp_path / "day.log"
    log.write_text("2027-03-02 09:00 stage 1\n2027-03-02 09:30 stage 2\n2027-03-02 10:00 now\n")
    code, told = typed("plan", job, "--log", log, "--json")
    assert code == DONE
    steps = json.loads(told)["steps"]
    assert {step["stage"] for step in steps if step["done"]} == {1, 2}
    assert min(step["begin_min"] for step in steps if not step["done"]) == 24 * 60 + 600
    log.write_text("2027-03-02 09:00 stage 99\n")
    code, told = typed("plan", job, "--log", log)
    assert code == REFUSED
    assert "stage 99" in told


def test_what_the_log_tells_of_soft_resin_is_shown(typed: Typed, job: Path, tmp_path: Path) -> None:
    _, told = typed("stages", job, "--json")
    number = {stage["kind"]: stage["number"] for stage in json.loads(told)}
    log = tmp_path / "day.log"
    log.write_text(
        f"2027-03-01 12:00 stage {number['fill']}\n2027-03-01 15:00 stage {number['mill flush']}\n"
    )
    code, told = typed("plan", job, "--log", log)
    assert code == DONE
    assert "log-worked-soft" in told
    code, told = typed("plan", job, "--log", log, "--json")
    (item,) = json.loads(told)["log_findings"]
    assert item["code"] == "log-worked-soft"


def test_what_hinders_the_days_is_told(typed: Typed, job: Path, tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text("flushwork shop: 2\ncure places: 1\n", "utf-8")
    job.write_text(job.read_text("utf-8") + "shop: shop.yaml\ngroups: 1\n", "utf-8")
    _, told = typed("plan", job)
    assert "fills 2 pieces" in told
    assert "batch-below-tools" not in told


def test_costs_need_prices(typed: Typed, job: Path, tmp_path: Path) -> None:
    code, told = typed("cost", job)
    assert code == BROKEN
    assert "prices" in told
    (tmp_path / "shop.yaml").write_text(
        "flushwork shop: 2\nprices: {currency: crowns, hour of work: 30, sundries: 2}\n", "utf-8"
    )
    job.write_text(job.read_text("utf-8") + "shop: shop.yaml\ntest pieces: 1\n", "utf-8")
    code, told = typed("cost", job)
    assert code == DONE
    assert "2 pieces and 1 for testing, in crowns" in told
    assert "one more piece adds" in told
    assert "Without a price in the shop file" in told
