"""The shop's own file as a form: what each field says, and that a change changes its key alone."""

from __future__ import annotations

import contextlib
import re
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.units import System
from flushwork.job.read import read_shop
from flushwork.usecases.jobs import StartError, first_choices, first_shop, starter_shop_text
from flushwork.usecases.shop_file import (
    ShopField,
    ShopForm,
    ShopValueError,
    shop_form,
    with_shop_value,
    with_thing,
    without_thing,
)
from tests.many import examples

LAKESIDE = (Path(__file__).parents[2] / "examples" / "kingfisher" / "shop.yaml").read_text("utf-8")
TEXTS: Final = (LAKESIDE, starter_shop_text(), starter_shop_text(System.INCH))
SHORT = "# mine\nflushwork shop: 2\nbits: 1 mm flat  # the only one\nair: {humidity: 40 %} # damp\n"
RUBBISH: Final = ("", "x", "7 kg mm", "[", "{a: b}", "# no", "a: b", "'", '"', "-1 mm", "é", "\n")


@cache
def formed(text: str) -> ShopForm:
    return shop_form(text)


def every_field(form: ShopForm) -> list[ShopField]:
    things = [field for part in form.parts for thing in part.things for field in thing.fields]
    return [*(field for part in form.parts for field in part.fields), *things]


def start_of(field: ShopField) -> str:
    """Return what a field shows to begin with, as the page sends it."""
    told = field.holds or field.example
    return f"[{told}]" if field.several else told


def comments(text: str) -> Counter[str]:
    return Counter(re.findall(r"(?:^|\s)(#[^\n\"]*)", text))


@pytest.mark.parametrize("text", [TEXTS[1], SHORT], ids=["starter", "short"])
def test_every_field_says_what_it_is_for_how_to_begin_and_what_comes_of_it(text: str) -> None:
    fields = every_field(shop_form(text))
    assert len(fields) > 1000
    assert [each.steps for each in fields if not each.what] == []
    assert [each.steps for each in fields if not each.if_wrong] == []
    assert [each.steps for each in fields if not start_of(each)] == []


WHICH: Final = st.integers(0, 10**6)


def one_of(fields: list[ShopField], which: int) -> ShopField:
    """Return a field, each part of the file as likely as any other."""
    parts = sorted({each.steps[0] for each in fields})
    within = [each for each in fields if each.steps[0] == parts[which % len(parts)]]
    return within[which // len(parts) % len(within)]


@given(st.sampled_from(TEXTS), WHICH)
@settings(max_examples=examples(12), deadline=None)
def test_what_a_field_shows_can_be_written_there_and_nothing_else_changes(
    text: str, which: int
) -> None:
    field = one_of(every_field(formed(text)), which)
    wanted = start_of(field)
    after = with_shop_value(text, field.steps, wanted)
    shown = {each.steps: each.value for each in every_field(formed(after))}
    before = {each.steps: each.value for each in every_field(formed(text))}
    assert shown[field.steps].strip('"') == wanted.strip('[]"')
    assert not comments(text) - comments(after)
    # a group that is written for the first time holds what else it has to have
    others = {steps for steps in shown if before.get(steps, "") != shown[steps]} - {field.steps}
    assert {steps[0] for steps in others} <= {field.steps[0]}
    assert all(before.get(steps, "") == "" for steps in others)
    kept = after.splitlines()
    lost = [line for line in text.splitlines() if line not in kept]
    assert len(lost) <= 1, "one line holds the key"


def change_of(text: str, act: str, which: int, word: str) -> str:
    """Return a text with one change that somebody might ask for."""
    form = formed(text)
    fields = every_field(form)
    if act in ("set", "rubbish"):
        field = one_of(fields, which)
        return with_shop_value(text, field.steps, start_of(field) if act == "set" else word)
    if act == "clear":
        written = [each for each in fields if each.value]
        return with_shop_value(text, one_of(written, which).steps, None) if written else text
    parts = [each for each in form.parts if each.spare or (act != "add" and each.things)]
    part = parts[which % len(parts)]
    if act == "add":
        return with_thing(text, part.key, part.spare[which % len(part.spare)])
    name = part.things[which % len(part.things)].name
    return (
        without_thing(text, part.key, name)
        if act == "out"
        else with_thing(text, part.key, word, name)
    )


ACTS: Final = st.sampled_from(("set", "rubbish", "clear", "add", "own", "out"))


@given(
    st.sampled_from((*TEXTS, SHORT)),
    st.lists(st.tuples(ACTS, WHICH, st.sampled_from(RUBBISH) | st.text(max_size=9)), max_size=3),
)
@settings(max_examples=examples(12), deadline=None)
def test_after_any_row_of_changes_the_file_reads_and_keeps_its_comments(
    text: str, acts: list[tuple[str, int, str]]
) -> None:
    out = False
    for act, which, word in acts:
        before = text
        with contextlib.suppress(ShopValueError):
            text = change_of(text, act, which, word)
            out = out or act == "out"
        assert formed(text).slips == ()
        # a thing that is taken out takes the comment on its line with it
        assert out or not comments(before) - comments(text)


@pytest.mark.parametrize(
    ("steps", "value", "says"),
    [
        (("machine", "feed"), "fast", "not a feed"),
        (("bits", "1 mm flat", "diameter"), "0 mm", "out of range"),
        (("days",), "[Monday, Monday]", "Monday stands twice"),
        (("hours", "opens"), "19:00", "not later"),
        (("resins", "coating epoxy", "ratio"), "100", "ratio"),
        (("nothing", "of that"), "1", "nothing"),
        (("on hand", "resin", "glue"), "3 g", "glue"),
    ],
)
def test_a_value_that_cannot_be_is_refused_in_words(
    steps: tuple[str, ...], value: str, says: str
) -> None:
    with pytest.raises(ShopValueError, match=says):
        with_shop_value(starter_shop_text(), steps, value)


def test_a_list_that_the_file_leaves_out_names_the_packaged_things_once_one_is_changed() -> None:
    text = starter_shop_text()
    assert "resins" not in text
    after = without_thing(text, "resins", "casting epoxy")
    names = ["coating epoxy", "five to one epoxy", "one to one epoxy"]
    form = next(each for each in shop_form(after).parts if each.key == "resins")
    assert [thing.name for thing in form.things] == names
    assert form.spare == ("casting epoxy",)
    assert after.startswith(text)


def test_days_on_lines_of_their_own_become_days_on_one_line() -> None:
    text = (
        "flushwork shop: 2\ndays:   # mine\n  - Monday\n  - Friday\n# air\nair: {humidity: 40 %}\n"
    )
    after = with_shop_value(text, ("days",), "[Tuesday]")
    assert after == text.replace("  - Monday\n  - Friday\n", "  [Tuesday]\n")
    with pytest.raises(ShopValueError):
        with_shop_value(text.replace("- Monday", "- Monday  # long"), ("days",), "[Tuesday]")


def test_the_last_of_a_list_stays() -> None:
    with pytest.raises(ShopValueError, match="has to stay"):
        without_thing(SHORT, "bits", "1 mm flat")


def test_a_slip_that_was_there_keeps_no_other_field_from_being_changed() -> None:
    broken = starter_shop_text().replace("3000 mm/min", "fast")
    assert len(shop_form(broken).slips) == 1
    after = with_shop_value(broken, ("air", "humidity"), "50 %")
    assert with_shop_value(after, ("machine", "feed"), "2000 mm/min").count("50 %") == 1


CHOICES: Final = first_choices()


@given(
    st.sampled_from(("metric", "inch")),
    st.lists(st.sampled_from(CHOICES.bits), min_size=1, max_size=8),
    st.sampled_from(CHOICES.resins),
    st.lists(st.sampled_from(CHOICES.scales), min_size=1),
)
@settings(max_examples=examples(6), deadline=None)
def test_a_first_shop_has_what_was_chosen(
    tmp_path_factory: pytest.TempPathFactory,
    units: str,
    bits: list[str],
    resin: str,
    scales: list[str],
) -> None:
    path = tmp_path_factory.mktemp("first") / "shop.yaml"
    travel = ("12 in", "300 mm", "80 mm")
    first_shop(path, units=units, travel=travel, bits=bits, resin=resin, scales=scales)
    shop = read_shop(path)
    assert shop.units == units
    assert [bit.name for bit in shop.bits] == list(dict.fromkeys(bits))
    assert [each.name for each in shop.resins] == [resin]
    assert {each.name for each in shop.tools if each.kind == "scale"} == set(scales)
    assert shop.machine.travel_x_mm == pytest.approx(304.8)


@pytest.mark.parametrize(
    "wrong",
    [
        {"units": "yards"},
        {"travel": ("1 mm", "x", "y")},
        {"travel": ("1 mm",)},
        {"bits": ()},
        {"resin": "glue"},
        {"scales": ("bathroom scale",)},
    ],
)
def test_a_first_shop_that_cannot_be_is_refused_and_not_written(
    tmp_path: Path, wrong: dict[str, object]
) -> None:
    right = {"units": "metric", "travel": CHOICES.travel["metric"], "bits": CHOICES.usual_bits}
    right |= {"resin": CHOICES.resins[0], "scales": CHOICES.scales[:1]}
    with pytest.raises(StartError):
        first_shop(tmp_path / "shop.yaml", **{**right, **wrong})  # type: ignore[arg-type]
    assert not list(tmp_path.iterdir())
