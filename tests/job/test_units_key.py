"""The one key for the units of a shop, and prices by the units it buys in."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from flushwork.core.findings import JobRefusedError
from flushwork.core.units import System
from flushwork.job.read import read_job
from flushwork.job.records import Job
from tests.small_jobs import PLAIN, changed

INCH_FILES = "machine: {gcode files: {units: inch}}\n"


def job_of(folder: Path, shop: str, job: str = PLAIN) -> Job:
    (folder / "shop.yaml").write_text(f"flushwork shop: 2\n{shop}", "utf-8")
    text = changed("title: Plain lid\n", "title: Plain lid\nshop: shop.yaml\n", job)
    (folder / "job.yaml").write_text(text, "utf-8")
    return read_job(folder / "job.yaml")


@pytest.mark.parametrize(
    ("shop", "units", "machine"),
    [
        ("", System.METRIC, System.METRIC),
        (INCH_FILES, System.INCH, System.INCH),
        ("units: inch\n", System.INCH, System.METRIC),
        (f"units: metric\n{INCH_FILES}", System.METRIC, System.INCH),
    ],
)
def test_the_key_rules_and_follows_the_files_where_it_is_left_out(
    tmp_path: Path, shop: str, units: System, machine: System
) -> None:
    found = job_of(tmp_path, shop).shop
    assert found.units is units
    assert found.reads.system is units
    assert found.machine_reads.system is machine


def test_a_job_may_not_overrule_its_shop(tmp_path: Path) -> None:
    with pytest.raises(JobRefusedError) as refused:
        job_of(
            tmp_path, "units: inch\n", changed("flushwork: 2\n", "flushwork: 2\nunits: metric\n")
        )
    assert {each.code for each in refused.value.findings} == {"key-unknown"}
    assert refused.value.units.system is System.INCH, "refusals too are told in the shop's units"


@pytest.mark.parametrize(
    ("written", "price"),
    [
        ("12.5", "12.5"),
        ("12.50 per dm3", "12.50"),
        ("12500 per m3", "12.5"),
        ("7.20 per board foot", "3.05118755"),
        ("86.40 per cubic foot", "3.05118755"),
    ],
)
def test_wood_is_priced_by_the_unit_it_is_bought_in(
    tmp_path: Path, written: str, price: str
) -> None:
    shop = f"prices: {{currency: crowns, hour of work: 25, wood: {{sugar maple: {written}}}}}\n"
    prices = job_of(tmp_path, shop).shop.prices
    assert prices is not None
    assert abs(dict(prices.wood_dm3)["sugar maple"] - Decimal(price)) < Decimal("1e-6")


def test_a_price_by_a_unit_of_something_else_is_refused(tmp_path: Path) -> None:
    shop = "prices: {currency: crowns, hour of work: 25, wood: {sugar maple: 7 per lb}}\n"
    with pytest.raises(JobRefusedError) as refused:
        job_of(tmp_path, shop)
    assert {each.code for each in refused.value.findings} == {"money-unreadable"}
