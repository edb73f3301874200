"""A word of the first version is met with the word that is written now, at its line."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flushwork.checks.catalogue import catalogue, nearest
from flushwork.cli.main import run
from flushwork.cli.output import REFUSED
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.core.keys import renamed
from flushwork.job.read import read_job, read_shop
from flushwork.job.text.change import changed
from tests.many import examples

JOB = """\
flushwork: 2
title: Test
blank:
  wood: black cherry
  length: 200 mm
  width: 120 mm
  thickness: 19 mm
  flipped: top to bottom
allowances:
  surface: 0.5 mm
  mill flush: 0 mm
  left proud: 0.15 mm
  overspill: 1 mm
  least wood between faces: 3 mm
  sanding variation: 0.02 mm
cut registration marks: no
registration marks: [{at: [5 mm, 5 mm], read: [0 mm, 0 mm]}]
keep clear of: [{name: clamp, size: [9 mm, 9 mm], height: 9 mm, at: [-90 mm, -50 mm], setups: [1]}]
loose parts: [{name: pegs, wood: sugar maple, match: blue, count: 2}]
mixes: {blue: {resin: coating epoxy, pigments: [{name: navy flake, share: 3 %}]}}
front:
  inlays:
    - {name: disc, circle: 40 mm, depth: 2 mm, fill: blue, how: overfilled, bits: [1 mm flat]}
    - {name: dot, circle: 20 mm, at: [50 mm, 0 mm], depth: 2 mm, fill: blue, how: scraped flush}
  holes: [{points: [[70 mm, 40 mm]], diameter: 3.175 mm, depth: 8 mm, bit: 1 mm flat}]
"""
SHOP = """\
flushwork shop: 2
bits:
  - 1 mm flat
  - {name: 60 deg V-bit, kind: V-bit, diameter: 6 mm, angle: 60 deg}
  - 25 mm facing bit
woods: [{name: plum, like: black cherry}]
machine: {spoilboard depth: 1 mm, gcode files: {units: metric}}
hand times: {scuff sand: 10 min, surface: 9 min}
prices:
  currency: crowns
  hour of work: 24
  wood: {black cherry: 9}
  bits: {1 mm flat: {price: 14, life: 2 h}}
"""
"""Each key of the table stands in one of the two, but for that of imported files."""


def job_slips(folder: Path, text: str) -> tuple[Finding, ...]:
    (folder / "job.yaml").write_text(text, "utf-8")
    try:
        read_job(folder / "job.yaml")
    except JobRefusedError as refused:
        return refused.findings
    return ()


def shop_slips(folder: Path, text: str) -> tuple[Finding, ...]:
    (folder / "shop.yaml").write_text(text, "utf-8")
    try:
        read_shop(folder / "shop.yaml")
    except JobRefusedError as refused:
        return refused.findings
    return ()


def test_new_words_are_read(tmp_path: Path) -> None:
    assert job_slips(tmp_path, JOB) == ()
    assert shop_slips(tmp_path, SHOP) == ()


def in_old_words(text: str, now: str, old: str) -> list[str]:
    """Return the text with one key in its old word, once for each place where it stands."""
    stands = re.finditer(
        rf"(?m)(?<=[{{ ]){re.escape(now)}(?=:)(?<!cut {re.escape(now)})|^{re.escape(now)}(?=:)",
        text,
    )
    return [text[: match.start()] + old + text[match.end() :] for match in stands]


@pytest.mark.parametrize("old", [key for key in renamed.KEYS if key != "cut files from elsewhere"])
def test_an_old_key_is_told_with_its_new_name_and_line(tmp_path: Path, old: str) -> None:
    now = renamed.KEYS[old]
    slips = [
        (text, [slip for slip in heard(tmp_path, text) if slip.code == "word-renamed"])
        for whole, heard in ((JOB, job_slips), (SHOP, shop_slips))
        for text in in_old_words(whole, now, old)
    ]
    assert slips
    for text, told in slips:
        assert [(slip.message, slip.remedy) for slip in told] == [
            (f"`{old}` is called `{now}` now", f"write `{now}`")
        ]
        (slip,) = told
        assert slip.source is not None
        assert re.search(rf"(?<![\w-]){old}:", text.splitlines()[slip.source.line - 1])


def test_imported_files_had_another_key(tmp_path: Path) -> None:
    (slip,) = job_slips(tmp_path, JOB + "cut files from elsewhere: []\n")
    assert (slip.code, slip.remedy) == ("word-renamed", "write `imported files`")


@pytest.mark.parametrize(
    ("now", "old"),
    [("top to bottom", "its length"), ("top to bottom", "its width"), ("overfilled", "flooded"),
     ("scraped flush", "scraped"), ("scraped flush", "scraped and capped")],
)  # fmt: skip
def test_an_old_value_is_told(tmp_path: Path, now: str, old: str) -> None:
    (slip, *_) = job_slips(tmp_path, JOB.replace(now, old))
    assert slip.code == "word-renamed"
    assert slip.remedy == f"write `{renamed.VALUES[old]}`"


@pytest.mark.parametrize(
    ("now", "old", "word"),
    [("kind: V-bit", "kind: vee", "V-bit"),
     ("25 mm facing bit", "25 mm facing", "25 mm facing bit"),
     ("1 mm flat\n", "60 deg vee\n", "60 deg V-bit")],
)  # fmt: skip
def test_an_old_name_of_a_bit_is_told(tmp_path: Path, now: str, old: str, word: str) -> None:
    slips = shop_slips(tmp_path, SHOP.replace(now, old, 1))
    assert ("word-renamed", f"write `{word}`") in {(slip.code, slip.remedy) for slip in slips}


@given(st.sampled_from(sorted(renamed.CODES)))
@settings(
    max_examples=examples(20),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_an_old_code_is_told_where_it_is_accepted(tmp_path: Path, old: str) -> None:
    now = renamed.CODES[old]
    (slip,) = job_slips(tmp_path, f"{JOB}accept: [{{finding: {old}, because: tried}}]\n")
    assert (slip.code, slip.remedy) == ("word-renamed", f"write `{now}`")
    assert now in catalogue()
    assert old not in catalogue()
    assert nearest(old) == now


@pytest.mark.parametrize("key", ["do", "before"])
@pytest.mark.parametrize(
    ("old", "now"), [("level disc", "mill flush disc"), ("flatten front", "surface front")]
)
def test_an_old_step_is_told(tmp_path: Path, key: str, old: str, now: str) -> None:
    order = {"do": "cut disc", "before": "sand front"} | {key: old}
    text = f"{JOB}order: [{{do: {order['do']}, before: {order['before']}}}]\n"
    (slip,) = job_slips(tmp_path, text)
    assert (slip.code, slip.remedy) == ("word-renamed", f"write `{now}`")


def test_a_file_of_the_first_version_is_told_once(tmp_path: Path) -> None:
    (slip,) = job_slips(tmp_path, JOB.replace("flushwork: 2", "flushwork: 1"))
    assert (slip.code, slip.source and slip.source.line) == ("version-unknown", 1)
    assert "write 2" in slip.remedy


def test_colour_is_read_in_american_spelling(tmp_path: Path) -> None:
    mix = 'color: "#112233"'
    text = JOB.replace("share: 3 %}]}", f"share: 3 %}}], {mix}}}")
    assert job_slips(tmp_path, text) == ()
    (tmp_path / "job.yaml").write_text(text, "utf-8")
    assert read_job(tmp_path / "job.yaml").mixes[0].colour == "#112233"
    after = changed(text, "mixes.blue.colour", '"#445566"')
    assert 'color: "#445566"' in after
    assert "colour" not in after


@pytest.mark.parametrize("old", sorted(renamed.COMMANDS))
def test_an_old_command_is_told(
    old: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    line = ["marks", "job.yaml", old, "1"] if old.startswith("--") else [old, "job.yaml"]
    monkeypatch.setattr(sys, "argv", ["flushwork", *line])
    with pytest.raises(SystemExit) as left:
        run()
    assert left.value.code == REFUSED
    assert renamed.COMMANDS[old] in capsys.readouterr().err
