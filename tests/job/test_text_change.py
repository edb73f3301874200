"""A key is set in the text of a job: in place, every other letter kept, wherever that can be."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.keys.tree import Scalar
from flushwork.job.text.change import VaryError, changed, changed_together, plain
from flushwork.job.text.edit import tree_of
from tests.many import examples

TEXTS = [
    path.read_text("utf-8")
    for path in sorted((Path(__file__).parents[2] / "examples").glob("*/job.yaml"))
]
BLOCK = """\
front:   # what is seen
  inlays:
    - name: one
      bits:
        - 1 mm flat
        - 2 mm flat
      after: &others [two]   # the first
    - {name: two, depth: 2 mm}
allowances:
  overspill: 1 mm
"""


def scalars(tree: Any, steps: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    if isinstance(tree, Scalar):
        yield steps
    for key, each in tree.items() if isinstance(tree, dict) else ():
        yield from scalars(each, (*steps, key))
    for at, each in enumerate(tree if isinstance(tree, list) else ()):
        yield from scalars(each, (*steps, str(at + 1)))


@given(st.data())
@settings(max_examples=examples(20), deadline=None)
def test_one_value_is_another_and_no_other_letter_changes(data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(TEXTS))
    steps = data.draw(st.sampled_from(sorted(scalars(tree_of(text)))))
    value = data.draw(st.sampled_from(["3.25 mm", "yes", "two words", "#12ab34"]))
    after = changed_together(text, [(steps, value)])
    before, now = text.splitlines(), after.splitlines()
    assert len(before) == len(now)
    assert sum(one != other for one, other in zip(before, now, strict=True)) <= 1
    here = plain(tree_of(after))
    for step in steps:
        here = here[int(step) - 1] if isinstance(here, list) else here[step]
    assert here == value


@pytest.mark.parametrize(
    ("key", "value", "found"),
    [
        ("front.inlays.one.bits", "[6 mm flat]", ["6 mm flat"]),
        ("front.inlays.two.at", "[[1 mm, 2 mm]]", [["1 mm", "2 mm"]]),
        ("front.inlays.one.after", "[]", []),
        (
            "front.inlays.2.seam line",
            "{along: one, width: 1 mm}",
            {"along": "one", "width": "1 mm"},
        ),
        ("mixes.clear.colour", '"#12ab34"', "#12ab34"),
    ],
)
def test_what_cannot_be_put_in_place_is_laid_out_anew(key: str, value: str, found: Any) -> None:
    after = changed(BLOCK, key, value)
    here = plain(tree_of(after))
    for step in key.split("."):
        names = [each["name"] for each in here] if isinstance(here, list) else []
        here = here[names.index(step) if step in names else int(step) - 1] if names else here[step]
    assert here == found
    assert "# what is seen" in after


def test_the_last_key_of_a_group_can_go() -> None:
    after = changed_together(
        BLOCK, [(("allowances", "overspill"), None), (("allowances", "no"), None)]
    )
    assert plain(tree_of(after))["allowances"] == {}


@pytest.mark.parametrize("key", ["front.inlays.three.depth", "front.inlays.two.name.x", " . "])
def test_a_key_that_leads_nowhere_is_told(key: str) -> None:
    with pytest.raises(VaryError):
        changed(BLOCK, key, "1 mm")
