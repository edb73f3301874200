"""Loose parts in a job file: what is read, what is refused, and that it reads back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.core.findings import JobRefusedError
from flushwork.job.read import read_job
from flushwork.job.text.dump import resolved_text
from tests.small_jobs import PLAIN

PEGS = "loose parts: [{name: pins, wood: sugar maple, match: dark, count: 33}]\n"


def written(folder: Path, text: str) -> Path:
    path = folder / "job.yaml"
    path.write_text(text, "utf-8")
    return path


def test_they_are_read_with_their_wood_and_their_mix(tmp_path: Path) -> None:
    job = read_job(written(tmp_path, PLAIN + PEGS))
    (part,) = job.loose_parts
    assert (part.name, part.count) == ("pins", 33)
    assert part.wood.name == "sugar maple"
    assert part.match is job.mixes[0]
    assert read_job(written(tmp_path, PLAIN)).loose_parts == ()


def test_they_read_back(tmp_path: Path) -> None:
    first = read_job(written(tmp_path, PLAIN + PEGS))
    again = read_job(written(tmp_path, resolved_text(first)))
    (one,), (two,) = first.loose_parts, again.loose_parts
    assert one.match is not None
    assert two.match is not None
    assert (one.name, one.wood, one.match.name, one.count) == (
        two.name,
        two.wood,
        two.match.name,
        two.count,
    )


FULL = (
    "loose parts: [{name: men, wood: sugar maple, count: 9, spares: 1, shape: man, across: 12 mm,"
    " length: 20 mm, coats: 1, plays on: mill, side: near}, {name: pins, wood: sugar maple,"
    " match: dark, count: 6, shape: peg, across: 4 mm, tip: 2 mm, goes in: pegs}]\n"
)
LAID = PLAIN.replace("front:", "layouts: {mill: {morris: {men: 9, size: 60 mm}}}\nfront:")


def test_what_they_are_and_where_they_go_reads_back(tmp_path: Path) -> None:
    first = read_job(written(tmp_path, LAID + FULL))
    again = read_job(written(tmp_path, resolved_text(first)))
    for one, two in zip(first.loose_parts, again.loose_parts, strict=True):
        assert replace(one, source=two.source, match=None, plays_on=None) == replace(
            two, match=None, plays_on=None
        )
    assert first.loose_parts[0].match is None
    assert again.loose_parts[0].plays_on is not None
    assert again.loose_parts[0].plays_on.name == "mill"


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("goes in: pegs", "goes in: pigs", "name-unknown"),
        ("plays on: mill", "plays on: mall", "name-unknown"),
        ("tip: 2 mm", "tip: 4 mm", "value-out-of-range"),
        ("across: 4 mm, ", "", "value-out-of-range"),
        ("shape: man", "shape: woman", "word-unknown"),
    ],
)
def test_a_slip_in_what_they_are(tmp_path: Path, old: str, new: str, code: str) -> None:
    with pytest.raises(JobRefusedError) as refused:
        read_job(written(tmp_path, LAID + FULL.replace(old, new)))
    assert [each.code for each in refused.value.findings] == [code]


@pytest.mark.parametrize(
    ("old", "new", "code", "key", "told"),
    [
        ("match: dark", "match: drak", "name-unknown", "match", "`dark`"),
        ("match: dark", "match: clear", "name-unknown", "match", "coloured mix"),
        ("sugar maple", "suger maple", "name-unknown", "wood", "`sugar maple`"),
        ("count: 33", "count: -2", "value-out-of-range", "count", "1"),
        ("count: 33", "count: 0", "value-out-of-range", "count", "1"),
        (", count: 33", "", "key-missing", "loose parts", "count"),
        (
            "count: 33}",
            "count: 33}, {name: pins, wood: red oak, match: dark, count: 2}",
            "name-twice",
            "name",
            "name of its own",
        ),
    ],
)
def test_one_slip_one_finding(
    tmp_path: Path, old: str, new: str, code: str, key: str, told: str
) -> None:
    with pytest.raises(JobRefusedError) as refused:
        read_job(written(tmp_path, PLAIN + PEGS.replace(old, new)))
    (finding,) = refused.value.findings
    assert finding.code == code
    assert finding.source is not None
    assert finding.source.line == PLAIN.count("\n") + 1
    assert key in finding.source.key
    assert told in f"{finding.message} {finding.remedy}"


def test_a_job_without_a_coloured_mix_has_nothing_to_match(tmp_path: Path) -> None:
    bare = (
        "flushwork: 2\ntitle: Bare\n"
        "blank: {wood: sugar maple, length: 90 mm, width: 70 mm, thickness: 16 mm}\n"
        "front: {holes: [{points: [[0 mm, 0 mm]], diameter: 3 mm, depth: 4 mm}]}\n"
    )
    with pytest.raises(JobRefusedError) as refused:
        read_job(written(tmp_path, bare + PEGS))
    assert [each.code for each in refused.value.findings] == ["name-unknown"]
