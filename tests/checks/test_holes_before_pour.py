"""Holes drilled before a pour: told where an order insists on it, and not otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.core.findings import Severity
from tests.checks.hearing import heard, one
from tests.small_jobs import PLAIN, changed

ORDER = "order:\n  - {do: drill pegs, before: fill plate}\n"


@pytest.mark.parametrize(
    ("at", "severity"), [("[20 mm, 0 mm]", Severity.WARNING), ("[-4 mm, 0 mm]", Severity.MUST_FIX)]
)
def test_holes_drilled_before_a_pour_are_told(tmp_path: Path, at: str, severity: Severity) -> None:
    """From 22 mm away they only catch drops; 2 mm from the pocket its overspill runs into them."""
    text = changed("at: [20 mm, 0 mm]", f"at: {at}") + ORDER
    told = one(heard(tmp_path, text), "holes-before-pour", "pegs")
    assert told.severity is severity
    assert told.place is not None


def test_holes_drilled_after_the_last_levelling_are_no_matter(tmp_path: Path) -> None:
    assert "holes-before-pour" not in {item.code for item in heard(tmp_path, PLAIN)}
