"""More is wanted than is on hand: told with the pour that comes short, where it is known."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.checks.rules.work.stock_rules import needs, not_enough_on_hand
from flushwork.core.findings import Severity
from flushwork.job.read import read_job
from flushwork.job.text.dump import resolved_text
from flushwork.shelf.working import OnHand, StockKind
from tests.checks.hearing import codes, heard, one, undated, written
from tests.scenarios.texts import job

TWO = job(
    "pieces: 3\n"
    "front: {inlays: [\n"
    "  {name: field, rectangle: 40 mm x 20 mm, at: [0 mm, 15 mm], depth: 2 mm, fill: navy},\n"
    "  {name: disc, circle: 12 mm, at: [0 mm, -18 mm], depth: 2 mm, fill: gold line}]}\n"
)
POURED = (StockKind.RESIN, StockKind.HARDENER, StockKind.PIGMENT)
ENOUGH = """\
on hand:
  resin: {casting epoxy: 1 kg, coating epoxy: 1 l}
  hardener: {casting epoxy: 1 lb}
  pigment: {ultramarine powder: 20 g}
  sealer: {shellac: 100 ml}
  wood: {sugar maple: 3}
"""


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return undated(written(tmp_path_factory.mktemp("two"), TWO, ENOUGH))


def with_only(build: Build, kind: StockKind, name: str, amount: float, unit: str) -> Build:
    left = OnHand(kind, name, amount, unit, build.job.source)
    return replace(build, job=replace(build.job, shop=replace(build.job.shop, on_hand=(left,))))


def test_what_a_run_takes_is_the_sum_of_its_cards(build: Build) -> None:
    wanted = needs(build)
    poured = sum(need.amount("g") for need in wanted.values() if need.kind in POURED)
    assert poured == pytest.approx(sum(pour.batch_g for pour in build.pours))
    assert wanted[StockKind.WOOD, "sugar maple"].number == 3
    # 4 % of the whole mix is the pigment's share of the job file, as far as a scale shows it
    navy = sum(pour.batch_g for pour in build.pours if pour.mix.name == "navy")
    assert wanted[StockKind.PIGMENT, "ultramarine powder"].amount("g") == pytest.approx(
        0.04 * navy, rel=0.06
    )


def test_enough_or_untold_is_silent(build: Build) -> None:
    assert len(build.job.shop.on_hand) == 6
    assert not list(not_enough_on_hand(build))
    untold = replace(build, job=replace(build.job, shop=replace(build.job.shop, on_hand=())))
    assert not list(not_enough_on_hand(untold))
    # what the job takes nothing of is not missed
    assert not list(not_enough_on_hand(with_only(build, StockKind.PIGMENT, "red powder", 0, "g")))


@pytest.mark.parametrize(
    ("kind", "name", "unit"),
    [
        (StockKind.RESIN, "casting epoxy", "g"),
        (StockKind.HARDENER, "casting epoxy", "cm3"),
        (StockKind.PIGMENT, "fine gold", "g"),
        (StockKind.FINISH, "wiping varnish", "cm3"),
        (StockKind.WOOD, "sugar maple", ""),
    ],
)
def test_a_little_less_than_it_takes_is_told(
    build: Build, kind: StockKind, name: str, unit: str
) -> None:
    takes = needs(build)[kind, name].amount(unit)
    less = takes - (1.0 if unit == "" else 0.01)
    (found,) = not_enough_on_hand(with_only(build, kind, name, less, unit))
    assert found.severity is Severity.WARNING
    assert found.measure is not None
    assert found.measure.value == pytest.approx(takes)
    assert found.measure.limit == less
    assert ("comes short" in found.message) is (kind in POURED)
    assert not list(not_enough_on_hand(with_only(build, kind, name, takes, unit)))


def test_the_first_pour_that_comes_short_is_named(build: Build) -> None:
    doubled = (*build.pours, *(replace(pour, number=pour.number + 10) for pour in build.pours))
    need = needs(build)[StockKind.PIGMENT, "fine gold"]
    left = with_only(build, StockKind.PIGMENT, "fine gold", 1.5 * need.amount("g"), "g")
    (found,) = not_enough_on_hand(replace(left, pours=doubled))
    assert f"pour {need.pours[0][0] + 10} is the first that comes short" in found.message


def test_bits_that_are_dull_in_turn_are_counted(build: Build) -> None:
    name = next(
        file.order.bit.name
        for file in build.gcode_files
        if file.order.bit.name != "25 mm facing bit"
    )
    one_there = with_only(build, StockKind.BIT, name, 1, "")
    assert not list(not_enough_on_hand(one_there))
    long = tuple(replace(file, cut_s=7.0 * 3600.0) for file in build.gcode_files)
    (found,) = not_enough_on_hand(replace(one_there, gcode_files=long))
    assert found.measure is not None
    assert found.measure.value >= 4  # 21 h of cutting, dull after 6 h or 2 h
    assert found.subject == name


def test_it_is_told_with_the_shop_files_line_and_in_the_resolved_job(tmp_path: Path) -> None:
    found = heard(tmp_path, TWO, "on hand: {pigment: {fine gold: 0 g}, bits: {1 mm flat: 9}}\n")
    told = one(found, "not-enough-on-hand", "fine gold")
    assert told.source is not None
    assert (told.source.file, told.source.key) == ("shop.yaml", "on hand.pigment.fine gold")
    text = resolved_text(read_job(tmp_path / "job.yaml"))
    assert "# pigment fine gold: 0 g" in text
    assert "# bits 1 mm flat: 9" in text


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("pigment: {fools gold: 3 g}", "name-unknown"),
        ("pigment: {fine gold: 3}", "unit-missing"),
        ("pigment: {fine gold: 3 mm}", "unit-of-another-kind"),
        ("pigment: {fine gold: -3 g}", "value-out-of-range"),
        ("bits: {1 mm flat: 1.5}", "number-unreadable"),
    ],
)
def test_slips_of_the_shop_file(tmp_path: Path, line: str, code: str) -> None:
    assert codes(heard(tmp_path, TWO, f"on hand: {{{line}}}\n")) == [code]
