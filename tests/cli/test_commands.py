"""The commands as a person types them: what is said, what is written, which code is returned."""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

import flushwork
from flushwork.cli.main import BROKEN, DONE, REFUSED, STOPPED, run
from tests.small_jobs import PLAIN, changed


@dataclass(frozen=True)
class Said:
    code: int
    out: str
    err: str


Command = Callable[..., Said]


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    def typed(*words: str | Path) -> Said:
        monkeypatch.setattr(sys, "argv", ["flushwork", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        return Said(int(ended.value.code or 0), told.out, told.err)

    return typed


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "lid.yaml"
    path.write_text(PLAIN, encoding="utf-8")
    return path


def files_in(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_build_writes_everything_a_job_yields(command: Command, job: Path) -> None:
    said = command("build", job, "--timings")
    assert said.code == DONE, said.err
    names = set(files_in(job.parent / "lid built"))
    assert {"shop-book.pdf", "shop-book.html", "check.json", "resolved-job.yaml"} <= names
    assert sum(name.startswith("gcode/") for name in names) >= 3
    assert "pictures/front-finished.png" in names
    assert "replay the process" in said.out


def test_the_same_job_gives_the_same_bytes_from_a_command_or_from_python(
    command: Command, job: Path
) -> None:
    today = dt.datetime.now(tz=dt.UTC).astimezone().date()
    assert command("build", job, "--out", job.parent / "one").code == DONE
    written = flushwork.write(flushwork.build(job), job, today=today, out=job.parent / "two")
    assert files_in(job.parent / "one") == files_in(written.folder)


def test_a_job_that_cannot_be_read_leaves_the_last_build_alone(command: Command, job: Path) -> None:
    assert command("build", job).code == DONE
    before = files_in(job.parent / "lid built")
    job.write_text(changed("depth: 2 mm", "depth: two"), encoding="utf-8")
    said = command("build", job)
    assert said.code == REFUSED
    assert "lid.yaml:11" in said.err
    assert "Traceback" not in said.err
    assert files_in(job.parent / "lid built") == before


def test_a_stop_writes_the_check_beside_the_last_good_build_and_no_gcode_files(
    command: Command, job: Path
) -> None:
    assert command("build", job).code == DONE
    before = files_in(job.parent / "lid built")
    job.write_text(changed("at: [-18 mm, 0 mm]", "at: [-30 mm, 0 mm]"), encoding="utf-8")
    said = command("build", job)
    assert said.code == STOPPED
    assert "outside-trim-line" in said.out
    assert files_in(job.parent / "lid built") == before
    stopped = files_in(job.parent / "lid built (stopped)")
    assert "shop-book.pdf" in stopped
    assert not any(name.startswith("gcode/") for name in stopped)


def test_check_writes_nothing(command: Command, job: Path) -> None:
    said = command("check", job)
    assert said.code == DONE
    assert [path.name for path in job.parent.iterdir()] == ["lid.yaml"]


def test_machines_get_one_json_document(command: Command, job: Path) -> None:
    job.write_text(changed("at: [-18 mm, 0 mm]", "at: [-30 mm, 0 mm]"), encoding="utf-8")
    said = command("check", job, "--json")
    data = json.loads(said.out)
    assert said.code == STOPPED
    assert data["ok_to_cut"] is False
    (stop,) = [item for item in data["findings"] if item["severity"] == "must fix"]
    assert stop["code"] == "outside-trim-line"
    assert stop["source"]["line"] == 10
    assert stop["place"]["face"] == "front"


def test_an_unreadable_job_is_json_too(command: Command, tmp_path: Path) -> None:
    said = command("check", tmp_path / "none.yaml", "--json")
    assert said.code == REFUSED
    assert json.loads(said.out)["readable"] is False


def test_new_makes_a_job_that_builds_and_never_overwrites(command: Command, tmp_path: Path) -> None:
    folder = tmp_path / "lid"
    assert command("new", folder).code == DONE
    assert command("check", folder / "job.yaml").code == DONE
    mine = (folder / "job.yaml").read_text("utf-8") + "# mine\n"
    (folder / "job.yaml").write_text(mine, encoding="utf-8")
    said = command("new", folder)
    assert said.code == BROKEN
    assert "exists already" in said.err
    assert (folder / "job.yaml").read_text("utf-8") == mine


def test_explain_tells_cause_sum_and_remedy(command: Command) -> None:
    said = command("explain", "bit-cannot-pass")
    assert said.code == DONE
    assert all(word in said.out for word in ("Cause:", "Sum:", "Remedy:"))


def test_explain_offers_the_nearest_code(command: Command) -> None:
    said = command("explain", "bit-canot-pass")
    assert said.code == REFUSED
    assert "Did you mean bit-cannot-pass?" in said.err


@pytest.mark.parametrize("which", ["job", "shop"])
def test_schemas_are_the_ones_kept_for_editors(command: Command, which: str) -> None:
    said = command("schema", which)
    kept = Path(__file__).parents[2] / "schema" / f"{which}.schema.json"
    assert said.code == DONE
    assert said.out == kept.read_text("utf-8")


def test_a_stop_that_no_reason_lifts_is_not_offered_for_acceptance(
    command: Command, job: Path
) -> None:
    mixed = changed(
        "dark: {resin: coating epoxy, ",
        "dark: {resin: coating epoxy, thinner: {name: ethanol, share: 8 %}, bubbles: flame, ",
    )
    job.write_text(mixed, encoding="utf-8")
    said = command("build", job)
    assert said.code == STOPPED
    assert "flame-near-solvent" in said.out
    assert "because: your reason" not in said.out
    assert "no reason in the job lifts it" in said.out


def test_a_folder_is_served_as_a_shop_and_a_file_as_a_bench(
    command: Command, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    served: list[tuple[str, Path]] = []
    monkeypatch.setattr("webbrowser.open", lambda address: served.append((address, Path())))
    monkeypatch.setattr(
        "flushwork.bench.shop.serve_shop.serve_shop",
        lambda folder, port, ready, clock: served.append(("shop", folder.resolve())),
    )
    monkeypatch.setattr(
        "flushwork.bench.server.serve.serve",
        lambda path, port, ready, clock: served.append(("bench", path)),
    )
    monkeypatch.chdir(job.parent)
    for words in ([], ["bench", job.parent], ["bench", job]):
        assert command(*words).code == DONE
    assert served == [("shop", job.parent), ("shop", job.parent), ("bench", job)]


def test_new_in_inches_writes_inches(command: Command, tmp_path: Path) -> None:
    assert command("new", tmp_path / "a", "--units", "inch").code == DONE
    assert " mm" not in (tmp_path / "a" / "job.yaml").read_text("utf-8")
    assert flushwork.load(tmp_path / "a" / "job.yaml").shop.units == "inch"
