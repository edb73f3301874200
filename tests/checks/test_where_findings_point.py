"""A finding about a thing of the shop, or about a key of the job, points at its own line."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import pytest

from flushwork.pipeline import build

JOB = """\
flushwork: 2
title: Plate
shop: shop.yaml
cell: 0.3 mm
blank: {wood: black cherry, length: 100 mm, width: 90 mm, thickness: 14 mm}
trim line: {rectangle: 60 mm x 50 mm}
mixes:
  ivory: {resin: coating epoxy, pigments: [{name: ivory powder, share: 4 %}]}
  grey: {resin: coating epoxy, pigments: [GREY]}
front:
  inlays:
    - {name: disc, circle: 24 mm, depth: 2 mm, fill: ivory}
"""
SHOP = {
    "name": "Attic shop",
    "bits": "[1 mm flat, 3.175 mm flat, 6.35 mm flat, 25 mm facing bit]",
    "holding": "[dowels]",
    "resins": "[coating epoxy]",
    "sealers": "[shellac]",
    "machine": "{travel: [400 mm, 300 mm, 90 mm]}",
    "air": "{day temperature: 20 degC, night temperature: 16 degC}",
}
WEAK = (
    "\n  - dowels"
    "\n  - {name: t, how: double-sided tape, locates by: pencil lines, repeatability: 0.3 mm, "
    "tape: 2 %}"
)


@dataclass(frozen=True)
class Told:
    """A finding, what brings it about, and what the line it points at holds."""

    code: str
    at: str
    shop: tuple[tuple[str, str], ...] = ()
    job: str = ""


def _told(code: str, at: str, job: str = "", **shop: str) -> Told:
    return Told(code, at, tuple(shop.items()), job)


TOLD = (
    _told("held-too-weakly", "name: t,", "holding: t", holding=WEAK),
    _told(
        "grip-unsaid",
        "name: v,",
        holding=WEAK.replace(
            "- dowels", "- {name: v, how: vacuum table, locates by: dowels, repeatability: 0.05 mm}"
        ),
    ),
    _told(
        "shop-too-cold",
        "night temperature",
        air="\n  day temperature: 20 degC\n  night temperature: 4 degC",
    ),
    _told("shop-too-cold", "air:", air="{day temperature: 8 degC, night temperature: 4 degC}"),
    _told(
        "bit-size-slip",
        "name: wrong,",
        bits="\n  - 1 mm flat\n  - 3.175 mm flat"
        "\n  - 25 mm facing bit\n  - {name: wrong, like: 3.175 mm flat, diameter: 0.125 mm}",
    ),
    _told(
        "hazards-guessed",
        "name: fine alu,",
        pigments="\n  - ivory powder\n  - {name: fine alu, like: silver flake, density: 2.7 g/cm3}",
    ),
    _told(
        "clamp-hit",
        "name: bar,",
        "keep clear of:\n  - {name: bar, size: [20 mm, 20 mm], at: [50 mm, 45 mm], height: 15 mm}",
    ),
    _told("cure-cut-short", "cure wait:", "cure wait: 10 h"),
    _told("cure-longer-than-job", "wanted by:", "begin: 2026-03-02\nwanted by: 2026-03-05"),
    _told(
        "bit-over-speed",
        "name: broad,",
        bits="\n  - 1 mm flat\n  - 3.175 mm flat"
        "\n  - {name: broad, like: 25 mm facing bit, greatest speed: 7000 rpm, spindle: 9000 rpm}",
    ),
)


@pytest.mark.parametrize("told", TOLD, ids=lambda told: f"{told.code}: {told.at}")
def test_a_finding_points_at_the_line_it_is_about(tmp_path: Path, told: Told) -> None:
    keys = sorted(
        (SHOP | dict(told.shop)).items(),
        key=lambda each: sha256(each[0].encode() + told.at.encode()).digest(),
    )
    shop = "flushwork shop: 2\n# what is in the attic\n" + "".join(
        f"{key}: {value}\n".replace(": \n ", ":\n ") for key, value in keys
    )
    grey = "fine alu" if "fine alu" in shop else "ivory powder"
    job = JOB.replace("GREY", grey).replace("cell:", f"{told.job}\ncell:" if told.job else "cell:")
    (tmp_path / "shop.yaml").write_text(shop, "utf-8")
    (tmp_path / "job.yaml").write_text(job, "utf-8")
    findings = build(tmp_path / "job.yaml").findings
    sources = [each.source for each in findings if each.code == told.code]
    assert sources, [each.code for each in findings]
    for source in sources:
        assert source is not None
        text = {"shop.yaml": shop, "job.yaml": job}[source.file]
        assert told.at in text.splitlines()[source.line - 1]
