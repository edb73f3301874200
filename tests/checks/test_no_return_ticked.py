"""Every look and every condition of a point of no return can be done.

On random jobs, with marks and without.
"""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.stock_views import stock_views
from flushwork.checks.no_return_conditions import BY_QUANTITY, CHECKS, Check, check_for, conditions
from flushwork.checks.odds.odds import QuantityOdds
from flushwork.pipeline import build
from flushwork.process.stages import StageKind
from flushwork.shelf.working import StockKind
from tests.checks.hearing import undated as heard
from tests.checks.hearing import written
from tests.many import examples
from tests.random_jobs import Asked, jobs, made
from tests.small_jobs import PLAIN

WORDS = {"one": 1, "two": 2, "three": 3, "five": 5, "ten": 10}


@st.composite
def marked(draw: st.DrawFn) -> Asked:
    """Return a random job, its marks cut in some, with a second pass in some."""
    return draw(jobs(more=draw(st.sampled_from(["", "cut registration marks: yes\n"]))))


def weak(name: str, subject: str) -> QuantityOdds:
    return QuantityOdds(
        name=name, subject=subject, face="front", unit="mm", nominal=0.1, limit=0.0, odds=0.5,
        closed=True, dominant="the holding", share=1.0, tighten="", halved=0.9, at_mm=(0.0, 0.0),
    )  # fmt: skip


@settings(max_examples=examples(5), deadline=None)
@given(marked())
def test_a_mark_is_read_only_where_one_was_cut(asked: Asked) -> None:
    with tempfile.TemporaryDirectory() as folder:
        case = made(Path(folder), asked)
    setups = {each.number: each for each in case.plan.setups}
    for stage in case.plan.stages:
        if stage.kind not in CHECKS:
            continue
        told = [*conditions(case, stage, None)]
        told += [check_for(case, stage, weak(name, "x")).what for name in BY_QUANTITY]
        told += [check_for(case, stage, None).what]
        for text in told:
            for number in re.findall(r"registration marks? of setup (\d+)", text):
                assert setups[int(number)].marks
                assert setups[stage.setup].reads == int(number)
            if "registration mark" in text:
                assert "of setup" in text, text


@pytest.mark.parametrize("check", [*CHECKS.values(), *BY_QUANTITY.values()], ids=lambda c: c.what)
def test_a_look_takes_no_longer_than_it_says(check: Check) -> None:
    for count in re.findall(r"(\w+) minutes", check.what):
        assert check.minutes >= WORDS[count]
    assert "let it dry" not in check.what
    assert "test strip first" not in check.what


MARKED = """\
flushwork: 2
cell: 0.3 mm
title: Two passes
{marks}blank: {{wood: sugar maple, length: 140 mm, width: 100 mm, thickness: 16 mm}}
trim line: {{rectangle: 96 mm x 66 mm, round: 4 mm}}
mixes:
  dark: {{resin: coating epoxy, pigments: [black powder]}}
  clear: {{resin: coating epoxy}}
front:
  inlays:
    - {{name: body, rectangle: 50 mm x 30 mm, round: 6 mm, depth: 2.6 mm, fill: dark}}
    - {{name: wing, circle: 16 mm, second pass of: [body], depth: 1.2 mm, fill: clear}}
"""


@pytest.mark.parametrize("marks", ["", "cut registration marks: yes\n"])
def test_a_second_cut_is_measured_at_what_is_there(tmp_path: Path, marks: str) -> None:
    case = heard(written(tmp_path, MARKED.format(marks=marks)))
    again = next(each for each in case.plan.stages if each.kind is StageKind.CUT and each.round > 1)
    (back,) = [text for text in conditions(case, again, None) if "comes back" in text]
    look = check_for(case, again, weak("edge of the first pass", "wing")).what
    assert ("registration mark" in back, "registration mark" in look) == (bool(marks), bool(marks))
    assert marks or ("edge" in back and "edge" in look)


@pytest.mark.parametrize("sand", [0.1, 0.35])
def test_a_no_return_tells_the_thickness_of_its_moment_and_the_bits_of_its_step(
    tmp_path: Path, sand: float
) -> None:
    allowed = f"allowances: {{sand: {sand} mm, surface: 0.4 mm}}\nblank:"
    text = MARKED.format(marks="").replace("\nblank:", f"\n{allowed}", 1)
    built = build(written(tmp_path, text))
    case = built
    cuts = [stage for stage in case.plan.stages if stage.kind is StageKind.CUT]
    for stage, stands in zip(cuts, (16.0 - 2 * 0.4, 16.0 - 2 * 0.4 - sand), strict=True):
        told = conditions(case, stage, None)
        (blank,) = [text for text in told if "the blank measures" in text]
        assert f"the blank measures {stands:.2f} mm" in blank
        (bits,) = [text for text in told if "the bits are" in text]
        own = {file.order.bit.name for file in built.staged_files[stage.number]}
        assert set(bits.split("measured: ")[1].split(", ")) == own


@settings(max_examples=examples(4), deadline=None)
@given(life=st.floats(0.02, 40.0), there=st.integers(1, 4))
@example(life=1.0, there=1)
def test_what_is_left_of_a_bit_is_what_it_is_not_worn(life: float, there: int) -> None:
    shop = (
        "prices: {currency: crowns, hour of work: 30, wanted per hour: 45, hour of machine: 6,\n"
        "  sundries: 4, wood: {sugar maple: 12}, resin: {coating epoxy: 30},\n"
        f"  bits: {{3.175 mm flat: {{price: 20, life: {life:.4f} h}}}}}}\n"
        f"on hand: {{bits: {{3.175 mm flat: {there}}}}}\n"
    )
    with tempfile.TemporaryDirectory() as folder:
        build = made(Path(folder), Asked(PLAIN.replace("title:", "shop: shop.yaml\ntitle:", 1),
                                         "flushwork shop: 2\nname: small\n" + shop))  # fmt: skip
    view = stock_views(build)[StockKind.BIT, "3.175 mm flat"]
    hours = (
        sum(file.cut_s for file in build.gcode_files if file.order.bit.name == "3.175 mm flat")
        / 3600.0
    )
    worn = hours / round(life, 4)
    words = view.words.replace("\u00a0", " ")
    if worn <= there:
        assert f"{there - int(worn)} left" in words
        assert not view.short
    else:
        assert "short" in words
        assert view.short
    if worn < 1.0:
        told = re.search(r"takes ([0-9.]+) % of one's life", words)
        assert told is not None
        assert float(told[1]) == pytest.approx(100.0 * worn, abs=0.11)
