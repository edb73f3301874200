"""Names sort as the files are run, and a pause tells which wood zero is taken from."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.process.stages import StageKind
from tests.many import examples
from tests.random_jobs import Asked, jobs, made

SHOP = "flushwork shop: 2\nname: small shop\nmeasuring tools: [fine scale, bench scale]\n"


def many_rounds(count: int) -> Asked:
    """Return a board cut in ``count`` rounds, each after the one before."""
    head = (
        "flushwork: 2\nshop: shop.yaml\ncell: 1 mm\ntitle: Rounds\n"
        "blank: {wood: sugar maple, length: 200 mm, width: 60 mm, thickness: 16 mm}\n"
        "mixes: {dark: {resin: coating epoxy, pigments: [black powder]}}\nfront:\n  inlays:\n"
    )
    rows = [
        f"    - {{name: r{k}, circle: 10 mm, at: [{-80 + 15 * k} mm, 0 mm], depth: 2 mm, "
        f"fill: dark{f', after: [r{k - 1}]' if k else ''}}}\n"
        for k in range(count)
    ]
    return Asked(head + "".join(rows), SHOP)


def check(build: Build) -> None:
    names = [file.file_name for file in build.gcode_files]
    assert sorted(names) == names
    for stage, file in zip(build.cut_stages, build.gcode_files, strict=True):
        sanded = any(
            each.kind is StageKind.SAND and each.face == file.order.face and each.number < stage
            for each in build.plan.stages
        )
        pause = " ".join(line[1:-1] for line in file.text.splitlines() if line.startswith("("))
        assert ("Z zero set on the sanded wood?" in pause) is sanded
        assert ("as it stands now, sanded." in pause) is (sanded and not file.order.bare)


@settings(max_examples=examples(4), deadline=None)
@given(jobs())
def test_names_sort_as_the_files_of_random_jobs_are_run(asked: Asked) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check(made(Path(folder), asked))


@settings(max_examples=examples(2), deadline=None)
@given(st.integers(1, 11))
@example(6)
def test_names_sort_however_many_setups_there_are(rounds: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        build = made(Path(folder), many_rounds(rounds))
        assert len(build.plan.setups) >= rounds
        check(build)
