"""A file with anything odd in it is read, or refused in words: never a traceback."""

from __future__ import annotations

import io
import shutil
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from flushwork.art.draw import draw_faces
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.job.read import read_job
from tests.many import examples

EXAMPLES = Path(__file__).parents[2] / "examples"
FILES = [
    *sorted(EXAMPLES.glob("*/job.yaml")),
    *sorted(EXAMPLES.glob("*/shop.yaml")),
]
SHOP = """\
flushwork shop: 2
name: full shop
bits: [1 mm flat, 3.175 mm flat, {like: 60 deg V-bit, name: sharp}]
resins: [coating epoxy, casting epoxy]
pigments: [black powder, silver flake]
thinners: [ethanol]
sealers: [shellac]
finishes: [wiping varnish]
holding: [dowels, corner stop]
measuring tools: [fine scale, bench scale]
"""
PRICED = {
    "prices": {
        "currency": "crowns",
        "hour of work": 25,
        "resin": {"coating epoxy": 20},
        "pigment": {"black powder": 30},
        "thinner": {"ethanol": 4},
        "bits": {"1 mm flat": {"price": 10, "life": "5 h"}},
    },
    "on hand": {"thinner": {"ethanol": "1 l"}, "resin": {"coating epoxy": "1 kg"}},
}
ODD: st.SearchStrategy[Any] = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**30), 10**30),
    st.floats(),
    st.text(max_size=8),
    st.sampled_from(
        ["0", "-1 mm", "0 mm", "1e400 mm", "nan", "inf mm", "5", "5 kg", "= 3", "{}", "[]", "\x00"]
    ),
    st.lists(st.sampled_from(["0", "", None, 1, "1 mm", {}]), max_size=3),
    st.dictionaries(st.sampled_from(["name", "like", "0", "depth"]), st.just("0"), max_size=2),
)


def paths_in(tree: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the path of every node below a tree."""
    items = tree.items() if isinstance(tree, dict) else enumerate(tree)
    found = []
    for key, value in items:
        found.append((*path, key))
        if isinstance(value, dict | list):
            found += paths_in(value, (*path, key))
    return found


def put(tree: Any, path: tuple[Any, ...], value: Any) -> None:
    """Set the node at a path."""
    for step in path[:-1]:
        tree = tree[step]
    tree[path[-1]] = value


def read_in_words(folder: Path) -> None:
    """Read the job in a folder: it may be refused, in words; all else is a fault of ours."""
    told: tuple[Finding, ...] | None = None
    try:
        draw_faces(read_job(folder / "job.yaml"))
    except JobRefusedError as error:
        told = error.findings
    assert told is None or told
    for finding in told or ():
        assert all((finding.message, finding.remedy, finding.source)), finding


def written(text: Any) -> str:
    out = io.StringIO()
    YAML(typ="safe", pure=True).dump(text, out)
    return out.getvalue()


@settings(max_examples=examples(60), deadline=None)
@given(data=st.data())
def test_one_odd_value_in_an_example(data: st.DataObject) -> None:
    path = data.draw(st.sampled_from(FILES))
    tree = YAML(typ="safe", pure=True).load(path.read_text("utf-8"))
    places = paths_in(tree)
    for _ in range(data.draw(st.integers(1, 2))):
        place = data.draw(st.sampled_from(places))
        try:
            put(tree, place, data.draw(ODD))
        except (KeyError, TypeError, IndexError):
            continue  # the first odd value has taken this place away
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "copy"
        shutil.copytree(path.parent, folder, ignore=shutil.ignore_patterns("job built"))
        try:
            text = written(tree)
        except Exception:  # noqa: BLE001  (not every odd value can be written as YAML)
            return
        (folder / path.name).write_text(text, "utf-8", errors="replace")
        read_in_words(folder)


@settings(max_examples=examples(40), deadline=None)
@given(
    key=st.sampled_from(
        [
            "bits",
            "resins",
            "pigments",
            "thinners",
            "sealers",
            "finishes",
            "holding",
            "measuring tools",
            "dyes",
            "prices",
            "on hand",
            "woods",
            "machine",
            "air",
            "hours",
        ]
    ),
    value=ODD,
    prices=st.booleans(),
)
@example(key="thinners", value=["0"], prices=True)
def test_one_odd_list_in_a_shop(key: str, value: Any, prices: bool) -> None:
    tree = YAML(typ="safe", pure=True).load(SHOP)
    tree[key] = value
    if prices:
        tree |= PRICED
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        try:
            text = written(tree)
        except Exception:  # noqa: BLE001  (not every odd value can be written as YAML)
            return
        (folder / "shop.yaml").write_text(text, "utf-8", errors="replace")
        (folder / "job.yaml").write_text(
            "flushwork: 2\ntitle: Disc\nshop: shop.yaml\nblank: {wood: sugar maple, "
            "length: 120 mm, width: 70 mm, thickness: 16 mm}\nmixes:\n  dark: {resin: coating "
            "epoxy, thinner: {name: ethanol, share: 5 %}, pigments: [black powder]}\n"
            "front: {inlays: [{name: sun, circle: 30 mm, depth: 2 mm, fill: dark}]}\n",
            "utf-8",
        )
        read_in_words(folder)
