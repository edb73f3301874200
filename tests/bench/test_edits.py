"""One value changed in a text: its letters go, all others stay."""

from __future__ import annotations

from itertools import takewhile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.bench.desk.fix_search import words_of, written
from flushwork.bench.pages.form_views import form_of
from flushwork.core.keys.tree import Scalar
from flushwork.job.records import Manner
from flushwork.job.text.change import in_place
from flushwork.job.text.edit import EditError, with_key, with_path, with_value
from flushwork.job.text.located import read_tree
from tests.bench.conftest import JOB
from tests.many import examples

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.yaml"))
WORDS = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), min_size=1)


def value_at(text: str, path: tuple[str | int, ...]) -> str:
    here = read_tree(text, "job").root
    for part in path:
        here = here[part]  # type: ignore[index]
    assert isinstance(here, Scalar)
    return here.text


def alike(one: str, other: str) -> int:
    """Return how many letters two texts begin with alike."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_every_field_of_the_form_changes_its_own_value_and_nothing_else(path: Path) -> None:
    text = path.read_text("utf-8")
    fields = [field for group in form_of(text) for field in group.fields]
    assert fields
    written = [field for field in fields if field.value]
    for field in written[:: max(1, len(written) // 5)]:
        assert value_at(text, field.path) == field.value
        changed = with_path(text, field.path, "7 mm")
        assert value_at(changed, field.path) == "7 mm"
        gone = text[alike(text, changed) : len(text) - alike(text[::-1], changed[::-1])]
        assert len(gone) <= len(field.value) + 2, "more than the value and its quotes has gone"
        assert "#" in field.value or "#" not in gone
    for field in [field for field in fields if not field.value][:12:2]:
        changed = with_path(text, field.path, "7 mm")
        assert value_at(changed, field.path) == "7 mm"
        same = alike(text, changed)
        assert text[same:] == changed[len(changed) - len(text) + same :], "nothing has gone"


def test_the_form_places_cuts_and_orders_an_inlay_and_colours_a_mix() -> None:
    text = """\
mixes:
  teal: {resin: coating epoxy, pigments: [{name: teal flake, share: 3 %}]}
front:
  inlays:
    - {name: plate, rectangle: 30 mm x 20 mm, depth: 2 mm, fill: teal,
       how: scraped flush, bits: [1 mm flat]}
    - name: ring   # round the plate
      circle: 8 mm
      at: [4 mm, -2 mm]
      depth: 1 mm
      fill: teal
      after: plate
    - {name: edge, seam line: {along: [plate], width: 1 mm}, depth: 1 mm, fill: teal}
"""
    groups = {group.name: group for group in form_of(text, ("1 mm flat", "2 mm flat"))}
    mix = {field.label: field for field in groups["mix teal"].fields}
    assert (mix["colour"].value, mix["teal flake"].value) == ("", "3 %")
    ring = {field.label: field for field in groups["ring, front"].fields}
    assert (ring["to the right"].value, ring["up"].value, ring["after"].value) == (
        "4 mm",
        "-2 mm",
        "plate",
    )
    assert ring["after"].choices == ("plate", "edge")
    assert "up" not in {field.label for field in groups["edge, front"].fields}
    plate = {field.label: field for field in groups["plate, front"].fields}
    assert plate["bit"].value == "1 mm flat"
    assert plate["bit"].choices == ("1 mm flat", "2 mm flat")
    assert plate["how"].choices == tuple(each.value for each in Manner)
    text = with_path(text, plate["bit"].path, "2 mm flat")
    text = with_path(text, plate["up"].path, "5 mm")
    text = with_path(text, ring["up"].path, "6 mm")
    text = with_path(text, ring["bit"].path, "2 mm flat")
    text = with_path(text, mix["colour"].path, "#0b6a72")
    text = with_path(text, mix["teal flake"].path, "4 %")
    tree = read_tree(text, "job").root
    (first, second, _), coloured = tree["front"]["inlays"], tree["mixes"]["teal"]
    assert [each.text for each in first["bits"]] == ["2 mm flat"]
    assert [each.text for each in first["at"]] == ["0 mm", "5 mm"]
    assert [each.text for each in second["at"]] == ["4 mm", "6 mm"]
    assert second["bits"].text == "2 mm flat"
    assert "# round the plate" in text
    assert coloured["colour"].text == "#0b6a72"
    assert coloured["pigments"][0]["share"].text == "4 %"
    with pytest.raises(EditError):
        with_path(text, ("front", "inlays", 9, "depth"), "1 mm")
    with pytest.raises(EditError):
        with_path(text, ("front", "none", "depth"), "1 mm")


@given(WORDS)
@settings(max_examples=60, deadline=None)
def test_any_words_come_back_as_they_were_put_in(words: str) -> None:
    if not words.strip() or not words.isprintable() or len(words) > 200:
        return
    changed = with_value(JOB, ("title",), words)
    assert value_at(changed, ("title",)) == words.strip()
    before, after = JOB.splitlines(), changed.splitlines()
    assert [line for line in before if "title" not in line] == [
        line for place, line in enumerate(after) if place != before.index("title: Trial <b>lid</b>")
    ]


def test_what_is_no_single_value_is_refused_in_words() -> None:
    for path, value in (
        (("blank",), "x"),
        (("nothing",), "x"),
        (("front", "inlays", 9, "depth"), "x"),
        (("front", "inlays", "plate"), "x"),
        (("title",), " "),
        (("title",), "two\nlines"),
        (("title",), "x" * 300),
    ):
        with pytest.raises(EditError):
            with_value(JOB, path, value)
    with pytest.raises(EditError, match="readable"):
        with_value("a: [", ("a",), "x")


def test_a_shared_value_is_left_alone() -> None:
    text = "a: &depth 2 mm\nb: *depth\n"
    with pytest.raises(EditError):
        with_value(text, ("b",), "3 mm")


def test_the_form_of_a_broken_text_is_empty() -> None:
    assert form_of("a: [") == ()
    assert form_of("front: 3\nblank: x\nmixes: []\n") == ()


BLOCK = """\
# kept
pieces: 2   # and this
front:
  inlays:
    - name: plate
      depth: 2 mm   # how deep
    - {name: rim, depth: 1 mm}   # in one line
back: {}
"""


@pytest.mark.parametrize(
    ("key", "value", "path"),
    [
        ("front.inlays.plate.depth", "3 mm", ("front", "inlays", 0, "depth")),
        ("front.inlays.2.depth", "3 mm", ("front", "inlays", 1, "depth")),
        ("front.inlays.plate.how", "scraped flush", ("front", "inlays", 0, "how")),
        ("front.inlays.rim.how", "scraped flush", ("front", "inlays", 1, "how")),
        ("allowances.sand", "0.1 mm", ("allowances", "sand")),
        ("back.thinner.share", "4 %", ("back", "thinner", "share")),
    ],
)
def test_a_dotted_key_is_set_or_added_and_all_else_stays(
    key: str, value: str, path: tuple[str | int, ...]
) -> None:
    changed = with_key(BLOCK, key.split("."), value)
    assert value_at(changed, path) == value
    for comment in ("# kept", "# and this", "# how deep", "# in one line"):
        assert comment in changed
    kept = [line for line in BLOCK.splitlines() if line in changed.splitlines()]
    assert len(kept) >= len(BLOCK.splitlines()) - 1, "more than one line has changed"


@pytest.mark.parametrize("key", ["front.inlays.none.depth", "pieces.x", "front.inlays.9.depth"])
def test_a_key_that_leads_nowhere_is_refused_in_words(key: str) -> None:
    with pytest.raises(EditError):
        with_key(BLOCK, key.split("."), "1 mm")


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("front.inlays.river.depth", "depth of river (front)"),
        ("back.inlays.beak and branch.how", "filling of beak and branch (back)"),
        ("allowances.overspill", "overspill (allowances)"),
        ("mixes.red.resin", "resin of red"),
        ("pieces", "pieces"),
    ],
)
def test_a_key_is_told_in_words(key: str, words: str) -> None:
    assert words_of(key.split(".")) == words


LAID = """\
mixes:
  teal: {resin: coating epoxy, pigments: [teal flake]}   # bought in spring
front:
  inlays:
    - {name: left, circle: 9 mm, at: [-10 mm, 0 mm], after: rim,   # round
       depth: 2 mm,   # how deep
      }   # the last of it
    - name: rim
      at:   # from the middle
        - 4 mm   # to the right
        - 0 mm
      bits: [1 mm flat, 2 mm flat]   # either
      depth: 1 mm
      allow:
        overspill: 1 mm   # the least

# what is taken off
allowances:
  sand: 0.2 mm
"""
COMMENTS = [line.partition("#")[2] for line in LAID.splitlines() if "#" in line]


@pytest.mark.parametrize(
    ("steps", "value", "old", "new"),
    [
        (("left", "at"), "[-10.5 mm, 3 mm]", "[-10 mm, 0 mm]", "[-10.5 mm, 3 mm]"),
        (("left", "after"), "[rim]", "after: rim", "after: [rim]"),
        (("left", "how"), "scraped flush", "depth: 2 mm,", "depth: 2 mm, how: scraped flush,"),
        (("left", "bits"), "[1 mm flat]", "h: 2 mm,", "h: 2 mm, bits: [1 mm flat],"),
        (("rim", "at"), "[-1 mm, 2 mm]", "4 mm   # to the right\n        - 0 mm",
         "-1 mm   # to the right\n        - 2 mm"),
        (("rim", "bits"), "[3 mm flat]", "[1 mm flat, 2 mm flat]", "[3 mm flat]"),
        (("rim", "how"), "scraped flush", "the least\n", "the least\n      how: scraped flush\n"),
        (("rim", "second pass of"), "[left]", "least\n", "least\n      second pass of: [left]\n"),
    ],
)  # fmt: skip
def test_a_short_list_or_a_key_is_written_and_no_other_letter(
    steps: tuple[str, ...], value: str, old: str, new: str
) -> None:
    assert LAID.count(old) == 1
    changed = in_place(LAID, [(("front", "inlays", *steps), value)])
    assert changed == LAID.replace(old, new)


def test_nested_keys_are_added_under_a_group_that_is_not_there() -> None:
    thinner = ("mixes", "teal", "thinner")
    changed = in_place(LAID, [((*thinner, "name"), "ethanol"), ((*thinner, "share"), "4 %")])
    added = "pigments: [teal flake], thinner: {name: ethanol, share: 4 %}}   # bought"
    assert changed == LAID.replace("pigments: [teal flake]}   # bought", added)
    assert written(changed, thinner) == "name ethanol, share 4 %"
    ledge = ("front", "inlays", "rim", "ledge")
    changed = in_place(LAID, [((*ledge, "deep"), "1 mm"), ((*ledge, "wide"), "2 mm")])
    added = "the least\n      ledge:\n        deep: 1 mm\n        wide: 2 mm\n"
    assert changed == LAID.replace("the least\n", added)
    changed = in_place(changed, [(ledge, None), (("allowances",), None)])
    assert changed == LAID[: LAID.index("allowances")]
    assert in_place(changed, [(ledge, None)]) == changed, "what is not there is no change"


@pytest.mark.parametrize(
    ("steps", "value"),
    [
        (("front", "inlays", "rim", "at"), "[1 mm]"),
        (("front", "inlays", "rim", "at"), "1 mm"),
        (("front", "inlays", "rim", "at"), None),
        (("front", "inlays", "rim", "after"), "[[left]]"),
        (("front", "inlays"), "[left]"),
        (("mixes", "teal", "pigments", "share"), "2 %"),
    ],
)
def test_what_would_lay_the_text_out_anew_is_refused(
    steps: tuple[str, ...], value: str | None
) -> None:
    with pytest.raises(EditError):
        in_place(LAID, [(steps, value)])


@given(st.lists(st.sampled_from([
    (("front", "inlays", "left", "depth"), "1 mm"),
    (("front", "inlays", "left", "at"), "[-1 mm, 5 mm]"),
    (("front", "inlays", "1", "how"), "scraped flush"), (("front", "inlays", "left", "after"),
    "[rim]"),
    (("front", "inlays", "rim", "depth"), "1.5 mm"), (("front", "inlays", "2", "after"), "[left]"),
    (("front", "inlays", "rim", "bits"), "[3 mm flat]"), (("allowances", "left proud"), "0.1 mm"),
    (("trim line", "hidden border"), "1 mm"), (("mixes", "teal", "thinner", "name"), "ethanol"),
    (("mixes", "teal", "resin"), "casting epoxy"), (("sealer",), "shellac"),
    (("front", "inlays", "left", "after"), None), (("front", "inlays", "rim", "bits"), None),
]), unique_by=lambda each: each[0], min_size=1))  # fmt: skip
@settings(max_examples=examples(40), deadline=None)
def test_changes_together_keep_every_comment_and_every_other_value(
    changes: list[tuple[tuple[str, ...], str | None]],
) -> None:
    changed = in_place(LAID, changes)
    kept = [line.partition("#")[2] for line in changed.splitlines() if "#" in line]
    assert sorted(kept) == sorted(COMMENTS)
    for steps, value in changes:
        assert written(changed, steps) == (value or "").strip("[]")
    untouched = {("front", "inlays", "left", "circle"), ("allowances", "sand")}
    assert {written(changed, steps) for steps in untouched} == {"9 mm", "0.2 mm"}


def test_the_form_has_the_measures_of_every_layout() -> None:
    text = """\
layouts:
  mill: {morris: {men: 9, size: 150 mm}}
  edge: {border run: {around: 90 mm x 80 mm, ornament: discs, size: [4 mm, 2 mm], gap: 1 mm}}
front:
  inlays:
    - {name: lines, layout: mill, part: lines, width: 1 mm, at: [2 mm, 3 mm], depth: 1 mm}
"""
    groups = {group.name: group for group in form_of(text)}
    mill = {field.label: field for field in groups["layout mill"].fields}
    assert {label: field.value for label, field in mill.items()} == {"men": "9", "size": "150 mm"}
    edge = {field.label: field for field in groups["layout edge"].fields}
    assert edge["ornament"].choices == ("diamonds", "discs", "bars", "triangles")
    lines = {field.label: field for field in groups["lines, front"].fields}
    assert (lines["up"].value, lines["width"].value) == ("3 mm", "1 mm")
    text = with_path(text, mill["size"].path, "120 mm")
    assert value_at(text, ("layouts", "mill", "morris", "size")) == "120 mm"


def test_a_board_without_a_trim_line_gets_one_in_the_form() -> None:
    blank = "blank: {wood: teak, length: 80 mm, width: 60 mm, thickness: 12 mm}\n"
    groups = {group.name: group.fields for group in form_of(blank)}
    assert [field.label for field in groups["blank"]] == ["wood", "length", "width", "thickness"]
    circle, rectangle = groups["trim line"]
    assert (circle.value, circle.otherwise) == ("", "the blank as it is")
    text = with_path(blank, rectangle.path, "70 mm x 50 mm")
    assert text == f"{blank}trim line:\n  rectangle: 70 mm x 50 mm\n"
    (field,) = {group.name: group.fields for group in form_of(text)}["trim line"]
    assert (field.label, field.value) == ("rectangle", "70 mm x 50 mm")
