"""CIEDE2000 against the 34 pairs of Sharma, Wu and Dalal, Color Res. Appl. 30(1), 2005, table 1."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from flushwork.colour.spaces import ciede2000

PAIRS = Path(__file__).parent / "data" / "ciede2000_pairs.csv"


def rows() -> list[dict[str, str]]:
    lines = [line for line in PAIRS.read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def test_all_pairs_are_there() -> None:
    assert [row["pair"] for row in rows()] == [str(number) for number in range(1, 35)]


@pytest.mark.parametrize("row", rows(), ids=lambda row: str(row["pair"]))
def test_four_printed_places(row: dict[str, str]) -> None:
    first = (float(row["L1"]), float(row["a1"]), float(row["b1"]))
    second = (float(row["L2"]), float(row["a2"]), float(row["b2"]))
    printed = float(row["dE00"])
    assert round(ciede2000(first, second), 4) == pytest.approx(printed, abs=1e-9)
    assert round(ciede2000(second, first), 4) == pytest.approx(printed, abs=1e-9)
