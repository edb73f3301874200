"""A run of three pieces and one test piece, priced by hand to the hundredth.

Wood: 340 x 190 x 20 mm is 1.292 dm3; four are 5.168 dm3, at 14.50: 74.936, so 74.94.
Resin: 40 g and 18 g hardener are 0.058 kg, at 42.00: 2.436, so 2.44.  Pigment: 1.5 g at 190 a kg:
0.285, so 0.29 (half up).  Thinner: 4 cm3 at 9.00 a litre: 0.036, so 0.04.
Wear: 54 min in each of four pieces are 3.6 h of a life of 5 h, 0.72 of a bit at 18.00: 12.96.
Sundries: four times 3.50: 14.00.  Machine: four times 75 min are 5 h at 4.00: 20.00.
Work: the same 5 h, and one batch of 21 min, 5.35 h at 25.00: 133.75.
Together 258.42; each of three 86.14.  At 40.00 for the hour: 258.42 - 133.75 = 124.67 without
work, and 214.00 for 5.35 h: 338.67, each of three 112.89.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from flushwork.job.read import read_job
from flushwork.job.records import Job
from flushwork.process.stages import Stage, StageKind
from flushwork.resin.composition import HARDENER, PIGMENT, RESIN, THINNER
from flushwork.resin.pours import Part as PourPart
from flushwork.resin.pours import Pour
from flushwork.schedule.cost import RunCost, run_cost
from flushwork.schedule.run import StagePart

SHOP = """\
flushwork shop: 2
prices:
  currency: crowns
  hour of work: 25.00
  wanted per hour: 40
  hour of machine: 4
  sundries: 3.50
  wood: {black cherry: 14.50}
  resin: {coating epoxy: 42}
  pigment: {teal flake: 190}
  thinner: {ethanol: 9}
  bits: {0.794 mm flat: {price: 18.00, life: 5 h}}
"""
JOB = """\
flushwork: 2
title: Priced
shop: shop.yaml
pieces: 3
test pieces: 1
blank: {wood: black cherry, length: 340 mm, width: 190 mm, thickness: 20 mm}
mixes:
  teal: {resin: coating epoxy, pigments: [{name: teal flake, share: 3 %}]}
front:
  inlays: [{name: disc, circle: 40 mm, depth: 2 mm, fill: teal}]
"""


def job_in(folder: Path) -> Job:
    (folder / "shop.yaml").write_text(SHOP, "utf-8")
    (folder / "job.yaml").write_text(JOB, "utf-8")
    return read_job(folder / "job.yaml")


def part(name: str, kind: str, volume_cm3: float, mass_g: float) -> PourPart:
    return PourPart(name, kind, volume_cm3, mass_g, None, mass_g, mass_g, mass_g)


def pour(job: Job) -> Pour:
    return Pour(
        number=1,
        stage=2,
        mix=job.mixes[0],
        pieces=4,
        serves=(),
        needed_cm3=28.0,
        allowance_cm3=2.0,
        batch_cm3=35.0,
        batch_g=62.7,
        parts=(
            part("resin", RESIN, 34.8, 40.0),
            part("hardener", HARDENER, 18.6, 18.0),
            part("teal flake", PIGMENT, 0.5, 1.5),
            part("ethanol", THINNER, 4.0, 3.2),
        ),
        ratio_error=0.0,
        smallest_g=5.0,
        surplus_g=0.0,
    )


def parts() -> tuple[StagePart, ...]:
    cut = Stage(1, StageKind.CUT, "front", 1, "Cut disc", "", ("disc",), setup=1)
    fill = Stage(2, StageKind.FILL, "front", 1, "Fill disc", "", ("disc",), "teal")
    cuts = tuple(StagePart(f"1:{piece}", cut, (piece,), 75, mounts=True) for piece in range(4))
    return (*cuts, StagePart("2:pour 1", fill, (0, 1, 2, 3), 21, pour=1))


def cost(job: Job) -> RunCost:
    prices = job.shop.prices
    assert prices is not None
    return run_cost(job, parts(), (pour(job),), {"0.794 mm flat": 4 * 54 * 60.0}, prices)


def test_every_line_and_the_sum_to_the_hundredth(tmp_path: Path) -> None:
    run = cost(job_in(tmp_path))
    assert {line.what: line.total for line in run.lines} == {
        "black cherry": Decimal("74.94"),
        "coating epoxy": Decimal("2.44"),
        "teal flake": Decimal("0.29"),
        "ethanol": Decimal("0.04"),
        "0.794 mm flat": Decimal("12.96"),
        "sealer, finish, abrasives, cups": Decimal("14.00"),
        "machine": Decimal("20.00"),
        "work": Decimal("133.75"),
    }
    assert run.total == Decimal("258.42")
    assert run.each == Decimal("86.14")
    assert run.price == Decimal("112.89")
    assert run.unpriced == ()


def test_the_share_lost_is_what_the_batch_holds_beyond_the_pieces(tmp_path: Path) -> None:
    resin = next(line for line in cost(job_in(tmp_path)).lines if line.what == "coating epoxy")
    assert resin.waste == pytest.approx(1.0 - 28.0 / 35.0)


def test_what_has_no_price_is_told_and_costs_nothing(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    assert job.shop.prices is not None
    bare = replace(job.shop.prices, resin_kg=(), bits=())
    run = run_cost(job, parts(), (pour(job),), {"0.794 mm flat": 60.0}, bare)
    assert run.unpriced == ("coating epoxy", "0.794 mm flat")
    assert sum(line.total for line in run.lines if not line.priced) == 0


def test_a_common_clear_batch_is_paid_once(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    first = pour(job)
    common = (part("resin", RESIN, 40.0, 46.0), part("hardener", HARDENER, 12.0, 12.0))
    own = (part("mixed", "clear", 20.0, 29.0),)
    one = replace(first, parts=own, clear_parts=common, shares_clear_with=(2,))
    two = replace(first, number=2, parts=own, clear_parts=common, shares_clear_with=(1,))
    assert job.shop.prices is not None
    run = run_cost(job, parts(), (one, two), {}, job.shop.prices)
    resin = next(line for line in run.lines if line.what == "coating epoxy")
    assert resin.amount == pytest.approx(0.058)
