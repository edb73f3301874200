"""Every number on the shelf within a bound: a published one, or a stated plausible one.

``data/shelf_bounds.csv`` says which, and on what each bound rests; figures of woods are those of
the Wood Handbook (GTR-190, 2010; GTR-282, 2021), of thinners IEC 60079-20-1 (2010) and handbooks.
"""

from __future__ import annotations

import csv
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

from flushwork.colour.spaces import parse_hex, to_lab
from flushwork.shelf import tables

BOUNDS = Path(__file__).parent / "data" / "shelf_bounds.csv"
TABLES = (
    *("bits", "finishes", "holdings", "machine", "pigments", "resins", "sealers", "thinners"),
    *("woods", "tools"),
)
OPEN = {
    *("red oak", "white oak", "white ash", "black ash", "Oregon ash", "American chestnut"),
    *("American elm", "hackberry", "sassafras", "mahogany", "African mahogany", "teak"),
    *("padauk", "wenge"),
}
SEMI = {"black walnut", "butternut", "pecan", "hickory", "persimmon"}
"""Ring-porous woods, and tropical ones with wide scattered vessels; walnuts, hickories and
persimmon lie between (from memory: any wood anatomy)."""

LIGHTNESS = {
    "sugar maple": (75, 82),
    "black cherry": (53, 60),
    "black walnut": (30, 38),
}
"""CIELAB lightness of the oiled wood (assumed; a photographed swatch of the shop's own)."""


def bounds() -> list[dict[str, str]]:
    lines = [line for line in BOUNDS.read_text("utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.mark.parametrize("table", TABLES)
def test_every_number_stays_within_its_bound(table: str) -> None:
    held = [bound for bound in bounds() if bound["table"] == table]
    for row in tables.rows(table):
        for column, value in row.items():
            if isinstance(value, bool) or not isinstance(value, float) or column == "number":
                continue
            mine = [
                bound
                for bound in held
                if bound["column"] == column and fnmatchcase(row["name"], bound["row"])
            ]
            assert mine, f"{row['name']}: nothing bounds {column}"
            for bound in mine:
                least, most = float(bound["least"]), float(bound["most"])
                assert least - 1e-9 <= value <= most + 1e-9, (row["name"], column, bound["basis"])


def test_every_bound_says_what_it_rests_on_and_holds_something() -> None:
    for bound in bounds():
        assert bound["basis"]
        names = [
            row["name"] for row in tables.rows(bound["table"]) if row[bound["column"]] is not None
        ]
        assert any(fnmatchcase(name, bound["row"]) for name in names), bound


def test_pores_are_as_the_wood_grows_them() -> None:
    for row in tables.rows("woods"):
        grows = "open" if row["name"] in OPEN else "semi" if row["name"] in SEMI else "closed"
        assert row["pores"] == grows, row["name"]


def test_woods_are_as_light_as_they_are_known_to_be() -> None:
    for row in tables.rows("woods"):
        light, late = (to_lab(parse_hex(row[key]))[0] for key in ("colour", "grain_colour"))
        assert late < light, row["name"]
        low, high = LIGHTNESS.get(row["name"], (24, 86))
        assert low <= light <= high, row["name"]


def test_hiding_depths_lie_in_the_order_that_pigments_hide() -> None:
    """Carbon black, iron oxides, organic red, ultramarine, dyes (from memory)."""
    depth = {row["name"]: row["hides_mm"] for row in tables.rows("pigments")}
    order = ("black powder", "red oxide powder", "red powder", "ultramarine powder", "blue dye")
    assert [depth[name] for name in order] == sorted(depth[name] for name in order)
    assert depth["pearl flake"] > depth["gold flake"] > depth["fine gold"]
