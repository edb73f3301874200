"""What the closing lines tell of a run."""

from __future__ import annotations

from typing import Any

import pytest


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Tell why each test that was tried again had failed: a race is found by where it waited."""
    again: list[Any] = terminalreporter.stats.get("rerun", [])
    for report in again:
        place = getattr(report.longrepr, "reprcrash", None)
        entries = getattr(getattr(report.longrepr, "reprtraceback", None), "reprentries", [])
        lines = [entry.reprfileloc.lineno for entry in entries if entry.reprfileloc is not None]
        terminalreporter.write_line(f"TRIED AGAIN {report.nodeid}, by lines {lines}: {place}")
