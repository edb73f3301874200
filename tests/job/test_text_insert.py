"""Whole items put into a job's text and taken out again: nothing else of it changes."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.job.text.change import plain
from flushwork.job.text.edit import EditError, tree_of
from flushwork.job.text.insert import Value, with_item, with_named, with_told, without_item
from tests.many import examples

NAMES = st.text(st.sampled_from("abcXYZ 019,:#{}[]'\"-&*!|>%@`é"), min_size=1, max_size=12).filter(
    lambda name: bool(name.strip())
)
HEADS = (
    "flushwork: 2\n",
    "# mine\nflushwork: 2   # the language\n\ntitle: Lid\n",
    "{flushwork: 2, title: Lid}\n",
)
FACES = (
    "",
    "front:\n",
    "front: {}\n",
    "front:\n  inlays: []   # none yet\n",
    "front:\n  holes: []\n",
    "front: {inlays: [{name: a}, {name: b}]}\n",
    "front:\n  inlays:\n    # the first\n    - {name: a}   # round\n    - name: b\n"
    "      depth: 2 mm\n      # about its depth\n# the end\npieces: 2\n",
    "front:\n  inlays:\n  - {name: a, polygon: {sides: 5}}\nback: {inlays: []}\n",
)


def items() -> st.SearchStrategy[dict[str, Value]]:
    lengths = st.integers(-99, 99).map(lambda n: f"{n / 4:g} mm")
    values: st.SearchStrategy[Value] = st.one_of(
        NAMES.map(str.strip),
        lengths,
        st.lists(lengths, min_size=2, max_size=2),
        st.fixed_dictionaries({"sides": st.integers(3, 9).map(str), "diameter": lengths}),
    )
    keys = st.sampled_from(["svg", "text", "at", "polygon", "depth", "fill", "on arc", "colours"])
    return st.dictionaries(keys, values, min_size=1, max_size=6).flatmap(
        lambda more: NAMES.map(lambda name: {"name": name.strip(), **more})
    )


@settings(max_examples=examples(60), deadline=None)
@given(st.sampled_from(HEADS), st.sampled_from(FACES), items(), st.sampled_from(["front", "back"]))
def test_an_item_is_put_in_and_taken_out(
    head: str, face: str, item: dict[str, Value], side: str
) -> None:
    text = head if head.startswith("{") else head + face
    before = plain(tree_of(text))
    after = with_item(text, (side, "inlays"), item)
    inlays = plain(tree_of(after))[side]["inlays"]
    assert inlays[-1] == item
    assert inlays[:-1] == (before.get(side) or {}).get("inlays", [])
    rest = iter(after)
    kept = text.replace("[]", "").replace("{}", "").rstrip("}\n]")
    assert all(letter in rest for letter in kept.replace(" ", "")), "every letter that was there"
    assert (
        max(map(len, after.splitlines())) <= 100
        or "{inlays" in after
        or "{flush" in after
        or (any(len(f"{key}: {value}") > 60 for key, value in item.items()))
    )
    again = plain(tree_of(without_item(after, (side, "inlays", len(inlays) - 1))))
    assert again[side].pop("inlays") == inlays[:-1]


def test_a_mix_stands_among_its_like_and_only_once() -> None:
    text = "flushwork: 2\nmixes: {}   # jars\nfront:\n  inlays: []\n"
    one = with_named(
        text, ("mixes", "teal"), {"resin": "coating epoxy", "pigments": ["teal flake"]}
    )
    two = with_named(one, ("mixes", "red"), {"resin": "coating epoxy", "pigments": ["red powder"]})
    assert two == (
        "flushwork: 2\nmixes:   # jars\n"
        "  teal: {resin: coating epoxy, pigments: [teal flake]}\n"
        "  red: {resin: coating epoxy, pigments: [red powder]}\n"
        "front:\n  inlays: []\n"
    )
    with pytest.raises(EditError, match="already"):
        with_named(two, ("mixes", "teal"), {"resin": "coating epoxy"})


def test_what_is_in_the_way_is_told_and_stays() -> None:
    with pytest.raises(EditError):
        with_item("flushwork: 2\nfront: {inlays: many}\n", ("front", "inlays"), {"name": "a"})
    commented = "front:\n  inlays:\n    - name: a\n      # why\n      depth: 2 mm\n"
    with pytest.raises(EditError, match="comment"):
        without_item(commented, ("front", "inlays", 0))
    coloured = 'front:\n  inlays:\n    - {name: a, colours: ["#0b6a72"]}\n'
    assert without_item(coloured, ("front", "inlays", 0)) == "front:\n  inlays: []\n"


HOLDS = (
    "",
    "from one plank:\n",
    "from one plank: {}   # twelve\n",
    "from one plank: {names: [A, B], margin: 4 mm}   # all of them\n",
    "from one plank:   # all\n  names:\n    - A\n    - B\n  margin: 4 mm   # its edges\n",
    "from one plank:\n  margin: 4 mm\n  names: []\n\n# the end\n",
)


@settings(max_examples=examples(60), deadline=None)
@given(st.sampled_from(HEADS), st.sampled_from(HOLDS), st.lists(NAMES.map(str.strip), max_size=40))
def test_a_list_is_written_anew_and_nothing_else(head: str, held: str, names: list[str]) -> None:
    text = head if head.startswith("{") else head + held
    wanted = plain(tree_of(text))
    group = wanted.get("from one plank") or {}
    wanted["from one plank"] = {**group, "names": names}
    after = with_told(text, ("from one plank", "names"), names)
    assert plain(tree_of(after)) == wanted
    for line in text.splitlines():
        assert line[line.find("#") :] in after if "#" in line else True
    told = with_told(after, ("from one plank", "margin"), "9 mm")
    assert plain(tree_of(told))["from one plank"]["margin"] == "9 mm"


def test_a_comment_in_a_list_is_never_lost() -> None:
    text = "flushwork: 2\nfrom one plank:\n  names:\n    - A   # my aunt\n    - B\n"
    with pytest.raises(EditError, match="comment"):
        with_told(text, ("from one plank", "names"), ["C"])
