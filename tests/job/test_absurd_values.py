"""Values that nobody means are refused at their line; odd ones are told at theirs."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.job.odd_values import ALLOWANCES
from flushwork.job.read import read_job
from flushwork.pipeline import build
from tests.many import examples
from tests.small_jobs import PLAIN

SHOP = """\
flushwork shop: 2
name: small shop
machine:
  feed: 2500 mm/min
  plunge: {plunge} mm/min
bits:
  - {{like: 1 mm flat, pass depth: {deep} mm}}
  - like: 3.175 mm flat
    step over: {over} %
"""
HARD_MM = {"surface": 10, "mill flush": 5, "left proud": 3, "sand": 5, "light sand": 3,
"overfill": 5,
           "overspill": 10, "sanding variation": 1}  # fmt: skip


def told(job: str, shop: str = "") -> tuple[tuple[Finding, ...], bool]:
    """Return what is told of a job's values, and whether it is refused."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        if shop:
            (folder / "shop.yaml").write_text(shop, "utf-8")
            job = job.replace("title:", "shop: shop.yaml\ntitle:", 1)
        (folder / "job.yaml").write_text(job, "utf-8")
        try:
            read = read_job(folder / "job.yaml")
        except JobRefusedError as refused:
            return refused.findings, True
        return (*read.warnings, *read.shop.warnings), False


@pytest.mark.parametrize("usual", ALLOWANCES, ids=lambda usual: usual.key)
@settings(max_examples=examples(8), deadline=None)
@given(value=st.integers(0, 2500).map(lambda hundredths: hundredths / 100.0))
def test_an_allowance_is_usual_odd_or_refused(usual: object, value: float) -> None:
    key, low, high = usual.key, usual.least_mm, usual.most_mm  # type: ignore[attr-defined]
    line = f"allowances:\n  {key}: {value} mm\n"
    found, refused = told(PLAIN.replace("mixes:", line + "mixes:", 1))
    mine = [item for item in found if item.source and item.source.key.endswith(key)]
    assert refused == (value > HARD_MM[key])
    assert bool(mine) == (not low <= value <= high or mine_against_others(key, value))
    assert all(item.source and item.source.line == 6 for item in mine)


def mine_against_others(key: str, value: float) -> bool:
    """Return whether a value is odd beside the others: a light sanding above the first one."""
    return key == "light sand" and value > 0.2


@settings(max_examples=examples(10), deadline=None)
@given(value=st.integers(0, 4000).map(lambda hundredths: hundredths / 100.0))
def test_least_wood_between_faces_against_the_blank(value: float) -> None:
    line = f"allowances: {{least wood between faces: {value} mm}}\n"
    found, refused = told(PLAIN.replace("mixes:", line + "mixes:", 1))
    assert refused == (value >= 16.0)
    assert bool(found) == (value > 8.0)


@settings(max_examples=examples(15), deadline=None)
@given(
    plunge=st.integers(100, 4000),
    deep=st.integers(1, 120).map(lambda tenths: tenths / 10.0),
    over=st.integers(2, 90),
)
def test_a_shop_whose_feeds_and_passes_cannot_be_meant(plunge: int, deep: float, over: int) -> None:
    found, refused = told(PLAIN, SHOP.format(plunge=plunge, deep=deep, over=over))
    flutes_mm = 4.0
    assert refused == (plunge > 2500 or deep > flutes_mm)
    keys = {item.source.key for item in found if item.source}
    if not refused:
        assert any(key.endswith("step over") for key in keys) == (over < 8)
        assert any(key.endswith("pass depth") for key in keys) == (deep > 3.0)
    lines = {item.source.line for item in found if item.source}
    assert not refused or lines <= {5, 7}


def test_an_empty_face_is_told_and_the_rest_is_built(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(PLAIN + "back: {inlays: []}\n", "utf-8")
    made = build(path)
    (odd,) = (item for item in made.findings if item.code == "value-odd")
    assert odd.severity is Severity.WARNING
    assert odd.source is not None
    assert odd.source.line == PLAIN.count("\n") + 1
    assert made.ok_to_cut


def test_a_sound_job_holds_nothing_odd() -> None:
    assert told(PLAIN) == ((), False)
