"""One key rules the units of all that a shop reads: book, page, phone, commands, files."""

from __future__ import annotations

import datetime as dt
import html
import importlib
import io
import re
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from pypdf import PdfReader

from flushwork.bench.desk.snapshot import DeskStatus, Snapshot
from flushwork.bench.server.app import bench_app
from flushwork.book.compose import book_view
from flushwork.book.html import html_text
from flushwork.book.pdf import pdf_bytes
from flushwork.built import Build
from flushwork.cli.main import run
from flushwork.core.findings import Finding, Severity
from flushwork.core.units import System
from flushwork.core.units.shown import Units, shown
from flushwork.job.text.dump import resolved_text
from flushwork.pipeline import build
from flushwork.usecases.explain import catalogue, finding_data
from flushwork.usecases.odds import no_return
from flushwork.usecases.plan import cost, plan_files
from tests.bench.conftest import HOST, ask_app, noon
from tests.small_jobs import PLAIN

EXAMPLE = Path(__file__).parents[2] / "examples" / "house-sign" / "job.yaml"
TODAY = dt.date(2026, 5, 4)
FIGURE = r"(?<![\w/.])\d[\d.]*[ \u00a0]"
METRIC = re.compile(
    rf"{FIGURE}(?:mm|cm|m|µm|g|kg|N|ml|cm³|cm3|dm3|dm³|l)(?![\w/])|\bmm\b|°C|\bdegC\b|kg/m3|\bA4\b"
)
INCH = re.compile(
    rf"{FIGURE}(?:in|oz|lbf|psi|ft|lb)(?![\w-]|\s(?:\d|a\b|all\b|each\b|the\b))|°F|\bdegF\b|fl oz"
)
COMMANDS: dict[str, tuple[str, ...]] = {
    "check": (), "stages": (), "plan": (), "bits": (), "odds": (), "no-return": (),
    "build": (),
    "vary": ("allowances.overfill", "1/64 in"),
}  # fmt: skip
EXPLAINED = ("batch-below-tools", "wood-between-too-thin")
OF_UNITS = ("svg-", "dxf-", "day-log-air-odd")
"""Findings about the units of a drawing or a reading: they name all there are."""
READ = re.compile(r"(?<= )(?:alt|title|aria-label|placeholder)=\"([^\"]*)\"")


def words_of(page: str) -> str:
    """Return what is read or heard of a page or a drawing: its words, none of its code."""
    page = re.sub(r"<(style|script|textarea)\b.*?</\1>", "", page, flags=re.DOTALL)
    heard = "\n".join(READ.findall(page))
    return html.unescape(re.sub(r"<[^>]*>", "\n", page) + heard)


def book_of(made: Build) -> dict[str, str]:
    risk = no_return(made)
    view = book_view(made, {}, TODAY, costs=cost(made), risk=risk)
    pdf, short = (PdfReader(io.BytesIO(pdf_bytes(view, length))) for length in ("full", "short"))
    box = pdf.pages[0].mediabox
    return {
        "book": words_of(html_text(view)),
        "printed book": "\n".join(page.extract_text() for page in pdf.pages),
        "short book": "\n".join(page.extract_text() for page in short.pages),
        "paper": f"{float(box.width) / 72:.2f} by {float(box.height) / 72:.2f}",
    }


def dated_of(made: Build) -> Build:
    """Return a build whose days have dates, so that they make a calendar."""
    plan = made.schedule
    assert plan is not None
    return replace(made, schedule=replace(plan, days=replace(plan.days, first=TODAY, dated=True)))


def files_of(made: Build) -> dict[str, str]:
    found: dict[str, str] = {}
    plans = plan_files(dated_of(made), TODAY)
    assert any(name.endswith(".ics") for name in plans)
    for name, data in plans.items():
        if name.endswith(".pdf"):
            pages = PdfReader(io.BytesIO(data)).pages
            found[name] = "\n".join(page.extract_text() for page in pages)
        elif not name.endswith(".json"):
            found[name] = data.decode()
    for finding in made.findings:
        told = finding_data(finding, made.job.shop.reads)
        found[f"check.json, {finding.code}"] = f"{told['message']} {told['remedy']}"
    text = resolved_text(made.job)
    # what a value is by default may be a round figure in one unit only
    found["resolved-job.yaml"] = "\n".join(
        line for line in text.splitlines() if not line.endswith("# default")
    )
    for file in made.gcode_files:
        found[file.file_name] = "\n".join(re.findall(r"\(.*\)", file.text))
    return found


def pages_of(made: Build, path: Path) -> dict[str, str]:
    text = path.read_text("utf-8")
    snapshot = Snapshot(2, text, lambda: made, cast("Any", None), coarse=False)
    slip = Finding("value-out-of-range", Severity.MUST_FIX, "400 mm is too long", "write 25.4 mm")
    status = DeskStatus(2, snapshot, "", (slip,), "", text, "", False, False, 0)
    desk: Any = SimpleNamespace(
        status=lambda _page="": status,
        path=path,
        born="",
        taken=lambda _generation: None,
        wait_newer=lambda *_asked: None,
        cached_page=None,
        snapshot=lambda _generation: snapshot,
        at_work=lambda: False,
    )
    app = bench_app(desk, frozenset({HOST}), noon)
    found = {}
    for address in ("/", "/machine", "/shelf"):
        answer = ask_app(app, "GET", address)
        assert answer.status_code == 200, answer.text
        found[address] = words_of(answer.text)
    found["/standing"] = ask_app(app, "GET", "/standing").text
    form = ask_app(app, "POST", "/form", json={"text": text}).json()
    found["/form"] = "\n".join(
        each["otherwise"] for group in form["groups"] for each in group["fields"]
    )
    assert len(found["/form"]) > 9
    return found


def commands_of(made: Build, path: Path, patch: pytest.MonkeyPatch, capsys: Any) -> dict[str, str]:
    for name in ("building", "asking"):
        importlib.import_module(f"flushwork.cli.{name}")
    for name in ("check", "plan"):
        importlib.import_module(f"flushwork.usecases.{name}")
    for name, module in list(sys.modules.items()):
        if name.startswith("flushwork.") and getattr(module, "build", None) is build:
            patch.setattr(module, "build", lambda *_args, **_named: made)
    found = {}
    patch.setattr("flushwork.usecases.write.write_folder", lambda *_args, **_named: None)
    asked = {name: (name, str(path), *more) for name, more in COMMANDS.items()}
    asked |= {f"explain {code}": ("explain", code, str(path)) for code in EXPLAINED}
    for name, words in asked.items():
        patch.setattr(sys, "argv", ["flushwork", *words])
        with pytest.raises(SystemExit):
            run()
        told = capsys.readouterr()
        assert "Usage" not in told.err, told.err
        assert "no finding called" not in told.err, told.err
        assert told.out, name
        found[name] = f"{told.out}\n{told.err}".replace(str(path), "").replace(str(path.parent), "")
    return found


def left(found: dict[str, str], wrong: re.Pattern[str]) -> list[str]:
    return [
        f"{name}: {text[max(0, hit.start() - 50) : hit.end() + 20]!r}"
        for name, text in found.items()
        for hit in wrong.finditer(text)
    ]


def all_of(made: Build, path: Path, patch: pytest.MonkeyPatch, capsys: Any) -> dict[str, str]:
    return (
        book_of(made)
        | files_of(made)
        | pages_of(made, path)
        | commands_of(made, path, patch, capsys)
    )


def test_an_inch_shop_reads_nothing_metric(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found = all_of(build(EXAMPLE), EXAMPLE, monkeypatch, capsys)
    assert found.pop("paper") == "8.50 by 11.00"
    assert not left(found, METRIC), "\n".join(left(found, METRIC))
    for name in ("book", "printed book", "/", "/machine", "/standing", "bits"):
        assert INCH.search(found[name]), name


def test_every_entry_is_explained_in_the_units_of_the_shop() -> None:
    units = Units(System.INCH, ounces=True, fluid_ounces=True)
    told = {
        code: shown(f"{entry.cause} {entry.sum} {entry.remedy} {entry.source}", units)
        for code, entry in catalogue().items()
        if not code.startswith(OF_UNITS)
    }
    assert len(told) > 100
    assert not left(told, METRIC), "\n".join(left(told, METRIC))


def test_a_metric_shop_reads_no_inches(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(PLAIN, "utf-8")
    found = all_of(build(path), path, monkeypatch, capsys)
    assert found.pop("paper") == "8.27 by 11.69"
    assert not left(found, INCH), "\n".join(left(found, INCH))
    for name in ("book", "printed book", "/", "/machine", "/standing", "bits"):
        assert METRIC.search(found[name]), name
