"""Days, orders, hand times, prices and the day log, as they are read."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from flushwork.core.findings import Finding, JobRefusedError
from flushwork.job.day_log import LoggedStage, read_day_log
from flushwork.job.read import read_job
from flushwork.job.records import Job, Lead
from flushwork.job.text.dump import resolved_text

JOB = """\
flushwork: 2
title: Days
shop: shop.yaml
blank: {wood: black cherry, length: 90 mm, width: 90 mm, thickness: 16 mm}
mixes:
  dark: {resin: coating epoxy, pigments: [black powder]}
front:
  inlays: [{name: disc, circle: 40 mm, depth: 2 mm, fill: dark}]
"""
SHOP = "flushwork shop: 2\n"
PRICES = "prices: {currency: crowns, hour of work: 25"


def job(folder: Path, more: str = "", shop: str = "") -> Job:
    (folder / "shop.yaml").write_text(SHOP + shop, "utf-8")
    (folder / "job.yaml").write_text(JOB + more, "utf-8")
    return read_job(folder / "job.yaml")


def slips(folder: Path, more: str = "", shop: str = "") -> tuple[Finding, ...]:
    with pytest.raises(JobRefusedError) as caught:
        job(folder, more, shop)
    return caught.value.findings


DAYS = """\
begin: 2027-03-01
days off: [2027-03-26, 2027-03-05]
wanted by: 2027-04-30
test piece ahead: until the last sanding
order:
  - {do: fill disc, before: seal disc}
  - {do: finish, after: drill pegs}
"""


def test_days_and_orders(tmp_path: Path) -> None:
    read = job(tmp_path, DAYS)
    assert read.begin == dt.date(2027, 3, 1)
    assert read.days_off == (dt.date(2027, 3, 5), dt.date(2027, 3, 26))
    assert read.wanted_by == dt.date(2027, 4, 30)
    assert read.test_ahead is Lead.LAST_SANDING
    assert [(each.first, each.then) for each in read.order_constraints] == [
        ("fill disc", "seal disc"),
        ("drill pegs", "finish"),
    ]
    assert read.order_constraints[0].source.line == 14


def test_the_resolved_job_keeps_them(tmp_path: Path) -> None:
    first = resolved_text(job(tmp_path, DAYS))
    (tmp_path / "job.yaml").write_text(first, "utf-8")
    again = read_job(tmp_path / "job.yaml")
    assert resolved_text(again).splitlines()[1:] == [
        line.removesuffix("  # default") for line in first.splitlines()[1:]
    ]
    assert again.begin == dt.date(2027, 3, 1)
    assert len(again.order_constraints) == 2


@pytest.mark.parametrize(
    ("more", "code", "line"),
    [
        ("begin: 1.3.2027\n", "date-unreadable", 9),
        ("begin: 2027-02-30\n", "date-unreadable", 9),
        ("days off: [2027-13-01]\n", "date-unreadable", 9),
        ("test piece ahead: yes\n", "word-unknown", 9),
        ("order: [{do: cut disc}]\n", "key-missing", 9),
        ("order: [{do: cut disc, before: trim, after: trim}]\n", "keys-clash", 9),
    ],
)
def test_slips_of_days_and_orders(tmp_path: Path, more: str, code: str, line: int) -> None:
    (found,) = slips(tmp_path, more)
    assert found.code == code
    assert found.source is not None
    assert found.source.line == line


def test_hand_times_and_places(tmp_path: Path) -> None:
    shop = job(tmp_path, shop="hand times: {sand: 0.5 h, light sand: 4 min}\ncure places: 3\n").shop
    assert (shop.hands.sand_min, shop.hands.light_sand_min, shop.hands.seal_min) == (30, 4, 6)
    assert shop.cure_places == 3
    assert shop.prices is None


def test_prices_keep_every_digit(tmp_path: Path) -> None:
    shop = PRICES + ".10, wood: {black cherry: 12.5}, bits: {1 mm flat: {price: 9, life: 4 h}}}"
    prices = job(tmp_path, shop=shop + "\n").shop.prices
    assert prices is not None
    assert prices.hands_h == prices.wanted_h == Decimal("25.10")
    assert prices.wood_dm3 == (("black cherry", Decimal("12.5")),)
    assert prices.bits[0].life_h == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("shop", "code"),
    [
        (PRICES + ",50}\n", "key-unknown"),
        ("prices: {currency: crowns, hour of work: 25 kr}\n", "money-unreadable"),
        (PRICES + ", wood: {black chery: 4}}\n", "name-unknown"),
        (PRICES + ", bits: {1 mm flat: {price: 4}}}\n", "key-missing"),
    ],
)
def test_slips_of_prices(tmp_path: Path, shop: str, code: str) -> None:
    assert code in {found.code for found in slips(tmp_path, shop=shop)}


def test_a_day_log(tmp_path: Path) -> None:
    log = read_day_log(
        "# first day\n2027-03-01 16:10 stage 6\n2027-03-02T9:05 stage 7 test piece 2\n"
        "2027-03-02 03:00  9 degC  # cold\n2027-03-02 10:00 now\n",
        "day.log",
    )
    assert log.now == dt.datetime(2027, 3, 2, 10)
    assert log.stages == (
        LoggedStage(dt.datetime(2027, 3, 1, 16, 10), 6),
        LoggedStage(dt.datetime(2027, 3, 2, 9, 5), 7, True, 2),
    )
    assert log.readings == ((dt.datetime(2027, 3, 2, 3), 9.0),)


@pytest.mark.parametrize(
    ("text", "code", "lines"),
    [
        ("yesterday stage 6\n2027-03-01 16:10 stage six\n2027-03-01 16:10 9\n",
         "day-log-unreadable", [1, 2, 3]),
        ("# nothing\n\n", "day-log-empty", [1]),
        ("2027-03-01 25:10 now\n", "day-log-unreadable", [1]),
    ],
)  # fmt: skip
def test_slips_of_a_day_log(text: str, code: str, lines: list[int]) -> None:
    with pytest.raises(JobRefusedError) as caught:
        read_day_log(text, "day.log")
    assert {found.code for found in caught.value.findings} == {code}
    assert [found.source.line for found in caught.value.findings if found.source] == lines


@pytest.mark.parametrize(
    ("job_text", "shop_text", "code"),
    [
        ("begin: 0001-01-01\n", "", "value-out-of-range"),
        ("wanted by: 9999-12-31\n", "", "value-out-of-range"),
        ("days off: [2027-03-04, 2027-03-26, 2027-03-04]\n", "", "day-twice"),
        ("", "days: [Monday, Tuesday, Monday]\n", "day-twice"),
        ("", "air: {day temperature: -60 degC}\n", "value-out-of-range"),
        ("", "air: {night temperature: 80 degC}\n", "value-out-of-range"),
        ("", "hand times: {mount: 0 min}\n", "value-out-of-range"),
        ("", "hand times: {sand: 0 s, surface: 10 min}\n", "value-out-of-range"),
    ],
)
def test_absurd_days_air_and_hands_are_refused_where_they_stand(
    tmp_path: Path, job_text: str, shop_text: str, code: str
) -> None:
    (finding,) = slips(tmp_path, job_text, shop_text)
    assert finding.code == code
    assert finding.source is not None
    assert finding.source.file == ("shop.yaml" if shop_text else "job.yaml")
