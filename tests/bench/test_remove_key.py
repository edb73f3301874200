"""A value taken out again: its key goes, its default holds, comments and layout stay."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from flushwork.bench.pages.form_views import OTHERWISE, form_of
from flushwork.job.text.edit import EditError, remove_key
from flushwork.job.text.located import read_tree

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*/job.yaml"))
TEXT = """\
# first
title: A lid
pieces: 2   # for two
test pieces: 1
front:
  inlays:
    - turn: 10 deg
      name: ring   # round
      how: scraped flush   # drawn off
      at: [4 mm, -2 mm]
    - {name: plate, how: scraped flush, bits: [1 mm flat], at: [0 mm, 3 mm]}   # in one line
back:
  inlays:
    - name: alone
"""


@pytest.mark.parametrize(
    ("path", "old", "new"),
    [
        (("pieces",), "pieces: 2   # for two\n", "# for two\n"),
        (("test pieces",), "test pieces: 1\n", ""),
        (("front", "inlays", 0, "turn"), "turn: 10 deg\n      name", "name"),
        (("front", "inlays", 0, "how"), "how: scraped flush   # drawn off", "# drawn off"),
        (("front", "inlays", 0, "at", 0), "[4 mm, -2 mm]", "[0 mm, -2 mm]"),
        (("front", "inlays", 1, "how"), "how: scraped flush, bits", "bits"),
        (("front", "inlays", 1, "bits", 0), "bits: [1 mm flat], ", ""),
        (("front", "inlays", 1, "at", 1), ", at: [0 mm, 3 mm]", ""),
    ],
)
def test_only_the_value_goes(path: tuple[str | int, ...], old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert remove_key(TEXT, path) == TEXT.replace(old, new)


@pytest.mark.parametrize(
    ("text", "path"),
    [
        (TEXT, ("back", "inlays", 0, "name")),
        (TEXT, ("front", "inlays", 7, "how")),
        (TEXT, ("nothing",)),
        (TEXT, ("front", "inlays", 1, "at", 0)),
        (TEXT, ()),
        ("a: [", ("a",)),
        ("a: &one 1\nb: *one\n", ("a",)),
        ("a:\n  - how: x\n    # about the name\n    name: y\n", ("a", 0, "how")),
    ],
)
def test_what_cannot_be_taken_out_alone_is_refused(text: str, path: tuple[str | int, ...]) -> None:
    with pytest.raises(EditError):
        remove_key(text, path)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_every_field_that_has_a_default_can_go(path: Path) -> None:
    text = path.read_text("utf-8")
    fields = [field for group in form_of(text) for field in group.fields]
    going = [
        field for field in fields if field.otherwise and field.value not in ("", field.otherwise)
    ]
    assert going
    for field in going[:: max(1, len(going) // 6)]:
        changed = remove_key(text, field.path)
        assert re.findall(r"#[^\n]*", changed) == re.findall(r"#[^\n]*", text) or '"#' in text
        assert len(text) > len(changed) > len(text) - 80
        assert read_tree(changed, "job").root != read_tree(text, "job").root
    kept = {field.label for field in fields if not field.otherwise}
    assert {"depth", "fill"} <= kept


def test_what_holds_otherwise_is_what_the_docs_tell() -> None:
    told = (ROOT / "docs" / "job-file.md").read_text("utf-8")
    for key in ("pieces", "test pieces", "how", "from", "turn"):
        assert f"| `{key}` | `{OTHERWISE[key]}` |" in told, key
