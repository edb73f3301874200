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
from flushwork.pipeline import build
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
COMMANDS = ("check", "stages", "plan", "bits", "odds", "no-return")


def words_of(page: str) -> str:
    """Return what is read of a page or a drawing: its words, none of its code."""
    page = re.sub(r"<(style|script|textarea)\b.*?</\1>", "", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]*>", "\n", page))


def book_of(made: Build) -> dict[str, str]:
    risk = no_return(made)
    view = book_view(made, {}, TODAY, costs=cost(made), risk=risk)
    pdf = PdfReader(io.BytesIO(pdf_bytes(view, "full")))
    box = pdf.pages[0].mediabox
    return {
        "book": words_of(html_text(view)),
        "printed book": "\n".join(page.extract_text() for page in pdf.pages),
        "paper": f"{float(box.width) / 72:.2f} by {float(box.height) / 72:.2f}",
    }


def files_of(made: Build) -> dict[str, str]:
    dated = replace(made, schedule=made.schedule)
    found: dict[str, str] = {}
    for name, data in plan_files(dated, TODAY).items():
        if name.endswith(".pdf"):
            pages = PdfReader(io.BytesIO(data)).pages
            found[name] = "\n".join(page.extract_text() for page in pages)
        elif not name.endswith(".json"):
            found[name] = data.decode()
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
    for command in COMMANDS:
        patch.setattr(sys, "argv", ["flushwork", command, str(path)])
        with pytest.raises(SystemExit):
            run()
        told = capsys.readouterr()
        assert "Usage" not in told.err, told.err
        assert told.out, command
        found[command] = told.out.replace(str(path), "")
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
