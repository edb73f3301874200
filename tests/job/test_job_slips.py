"""Every slip gives one clear finding: file, line, key, remedy, and never a traceback."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.job.read import read_job

GOOD = """\
flushwork: 2
title: Test
blank:
  wood: black cherry
  length: 340 mm
  width: 190 mm
  thickness: 19 mm
trim line:
  rectangle: 320 mm x 170 mm
  round: 8 mm
mixes:
  deep teal:
    resin: coating epoxy
    thinner: {name: ethanol, share: 8 %}
    pigments: [{name: teal flake, share: 3 %}]
front:
  inlays:
    - name: disc
      circle: 40 mm
      depth: 2.5 mm
      fill: deep teal
    - name: edge
      seam line: {along: disc, width: 0.8 mm}
      depth: 1.2 mm
      fill: deep teal
      how: scraped flush and capped
  holes:
    - grid: {columns: 7, rows: 7, pitch: 12 mm}
      diameter: 1/8 in
      depth: 8 mm
"""


def slips(tmp_path: Path, text: str | bytes) -> tuple[Finding, ...]:
    path = tmp_path / "job.yaml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    try:
        read_job(path)
    except JobRefusedError as refused:
        return refused.findings
    return ()


def test_the_good_job_has_none(tmp_path: Path) -> None:
    assert slips(tmp_path, GOOD) == ()


CASES = [
    ("missing key", "  thickness: 19 mm\n", "", "key-missing", 3, "blank", "thickness: 19 mm"),
    ("unknown key", "length:", "lenght:", "key-unknown", 5, "blank.lenght", "mean `length`"),
    ("bad unit", "2.5 mm", "2.5 mmm", "unit-unknown", 20, "depth", "did you mean mm"),
    ("missing unit", "2.5 mm", "2.5", "unit-missing", 20, "depth", "2.5 mm or 2.5 in"),
    ("tab", "  round", "\tround", "yaml-tab", 10, "", "spaces"),
    ("broken", "title: Test", "title: Test: x", "yaml-broken", 2, "", "quotes"),
    ("open quote", "title: Test", 'title: "Test', "yaml-broken", 31, "", "close it"),
    ("open bracket", "share: 3 %}]", "share: 3 %}", "yaml-broken", 16, "", "close every ["),
    ("sign", "title: Test", "title: %Test", "yaml-broken", 2, "", "quotes"),
    ("key twice", "title: Test", "title: Test\ntitle: x", "key-twice", 3, "title", "one of"),
    ("huge blank", "340 mm", "1000000 mm", "value-out-of-range", 5, "blank.length", "3000 mm"),
    ("comma", "340 mm", "1,000,000 mm", "decimal-comma", 5, "blank.length", "point"),
    ("no depth", "2.5 mm", "0 mm", "value-out-of-range", 20, "depth", "more than 0 mm"),
    ("below nothing", "2.5 mm", "-2 mm", "value-out-of-range", 20, "depth", "more than 0 mm"),
    ("nan", "2.5 mm", ".nan", "number-not-finite", 20, "depth", "10 mm"),
    ("infinite", "2.5 mm", ".inf", "number-not-finite", 20, "depth", "10 mm"),
    ("through", "2.5 mm", "through", "depth-through", 20, "depth", "for holes"),
    ("no value", "2.5 mm", "", "key-empty", 20, "depth", "write a length"),
    ("wood", "black cherry", "black chery", "name-unknown", 4, "wood", "`black cherry`"),
    ("mix", "fill: deep teal", "fill: dep teal", "name-unknown", 21, "fill", "`deep teal`"),
    ("resin", "coating epoxy", "coatng epoxy", "name-unknown", 13, "resin", "`coating epoxy`"),
    ("thinner", "ethanol", "etanol", "name-unknown", 14, "thinner.name", "`ethanol`"),
    ("pigment", "teal flake", "teel flake", "name-unknown", 15, "pigments[", "`teal flake`"),
    (
        "bit",
        "2.5 mm",
        "2.5 mm\n      bits: [1mm flat]",
        "name-unknown",
        21,
        "bits",
        "1 mm",
    ),
    ("along", "along: disc", "along: disk", "name-unknown", 23, "along", "`disc`"),
    ("second", "2.5 mm", "2.5 mm\n      second pass of: wing", "name-unknown", 21, "pass", "edge"),
    ("after", "2.5 mm", "2.5 mm\n      after: [wing]", "name-unknown", 21, "after", "edge"),
    ("circle", "2.5 mm", "2.5 mm\n      after: edge", "order-goes-round", 18, "disc", "take one"),
    ("itself", "2.5 mm", "2.5 mm\n      after: disc", "order-goes-round", 18, "disc", "take one"),
    ("name twice", "name: edge", "name: disc", "name-twice", 22, "name", "of its own"),
    ("hole name", "- grid", "- name: disc\n      grid", "name-twice", 28, "name", "of its own"),
    ("two shapes", "circle", "svg: a.svg\n      circle", "keys-clash", 20, "circle", "exactly one"),
    ("no shape", "      circle: 40 mm\n", "", "key-missing", 18, "disc", "exactly one"),
    (
        "stray",
        "circle: 40 mm",
        "circle: 40 mm\n      size: 3 mm",
        "key-out-of-place",
        20,
        "size",
        "",
    ),
    (
        "cap",
        "2.5 mm",
        "2.5 mm\n      cap: clear",
        "key-out-of-place",
        21,
        "cap",
        "scraped flush and",
    ),
    ("seam at", "1.2 mm", "1.2 mm\n      turn: 3 deg", "key-out-of-place", 25, "turn", "leave it"),
    ("one number", "2.5 mm", "2.5 mm\n      at: [0 mm]", "wrong-shape", 21, "at", "at least 2"),
    ("colour", "    resin", "    colour: #0b6a72\n    resin", "key-empty", 13, "colour", "quotes"),
    ("word", "scraped flush and capped", "scrapped", "word-unknown", 26, "how", "`scraped flush`"),
    ("list", "title: Test", "title: [a]", "wrong-shape", 2, "title", "write words"),
    ("version", "flushwork: 2", "flushwork: 1", "version-unknown", 1, "flushwork", "write 2"),
    ("no shop", "title: Test", "title: Test\nshop: no.yaml", "file-absent", 3, "shop", "spelling"),
    ("shop folder", "title: Test", "title: Test\nshop: .", "file-is-a-folder", 3, "shop", "in it"),
    ("pieces", "title: Test", "title: Test\npieces: -3", "value-out-of-range", 3, "pieces", "1 to"),
    (
        "many",
        "title: Test",
        "title: Test\npieces: 100000",
        "value-out-of-range",
        3,
        "pieces",
        "500",
    ),
    ("half", "title: Test", "title: Test\npieces: 1.5", "number-unreadable", 3, "pieces", "round"),
    (
        "tests",
        "title: Test",
        "title: Test\ntest pieces: -1",
        "value-out-of-range",
        3,
        "test",
        "0 to",
    ),
    ("skip", "pitch: 12 mm", "pitch: 12 mm, skip: [[8, 1]]", "value-out-of-range", 28, "skip", "7"),
    ("holes", "columns: 7", "columns: 100000", "value-out-of-range", 28, "columns", "300"),
    (
        "holding",
        "title: Test",
        "title: T\nholding: dowls",
        "name-unknown",
        3,
        "holding",
        "`dowels`",
    ),
]


@pytest.mark.parametrize(
    ("old", "new", "code", "line", "key", "remedy"),
    [pytest.param(*case[1:], id=case[0]) for case in CASES],
)
def test_one_slip_one_finding(
    tmp_path: Path, old: str, new: str, code: str, line: int, key: str, remedy: str
) -> None:
    assert old in GOOD
    found = slips(tmp_path, GOOD.replace(old, new, 1))
    assert [(finding.code, finding.severity) for finding in found] == [(code, Severity.MUST_FIX)]
    source = found[0].source
    assert source is not None
    assert (source.file, source.line) in (("job.yaml", line), ("no.yaml", line))
    assert key in source.key
    assert remedy in found[0].remedy
    assert found[0].message


@pytest.mark.parametrize(
    ("wrong", "right", "code", "line", "key", "message"),
    [
        ("title: " + "x" * 121, "title: " + "x" * 120, "words-unfit", 2, "title", "too long"),
        ('title: "a\\tb"', 'title: "a b"', "words-unfit", 2, "title", "cannot be printed"),
        (
            "rectangle: 40 mm x",
            "rectangle: 40 mm x 20 mm",
            "size-unreadable",
            19,
            "front.inlays[disc].rectangle",
            "'40 mm x'",
        ),
        (
            "polygon: {sides: 5, across: 40 mm}",
            "polygon: {sides: 6, across: 40 mm}",
            "polygon-has-no-flats",
            19,
            "front.inlays[disc].polygon.across",
            "5 sides has no two flats",
        ),
    ],
)
def test_a_slip_and_its_silent_twin(
    tmp_path: Path, wrong: str, right: str, code: str, line: int, key: str, message: str
) -> None:
    old = "title: Test" if wrong.startswith("title") else "circle: 40 mm"
    (found,) = slips(tmp_path, GOOD.replace(old, wrong, 1))
    assert (found.code, found.severity) == (code, Severity.MUST_FIX)
    assert found.source is not None
    assert (found.source.line, found.source.key) == (line, key)
    assert message in found.message
    assert slips(tmp_path, GOOD.replace(old, right, 1)) == ()


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "file-empty"),
        ("# a comment\n", "file-empty"),
        ("- 1\n- 2\n", "not-keys-and-values"),
        ("hello\n", "not-keys-and-values"),
        (b"flushwork: 2\ntitle: caf\xe9\n", "file-not-text"),
        (GOOD + "---\nflushwork: 2\n", "yaml-several-documents"),
        (GOOD + "# " + "x" * 600_000, "file-too-long"),
        ("flushwork: &a {x: *a}\n", "yaml-too-deep"),
        ("a: " + "[" * 4000, "yaml-too-deep"),
        ("? [1, 2]\n: 3\n", "key-not-a-word"),
        ("flushwork: !!python/object:os.system 1\n", "yaml-tag"),
        ("flushwork: *nothing\n", "yaml-broken"),
        ("flushwork: 2\x00\n", "yaml-broken"),
    ],
)
def test_a_file_that_is_no_job(tmp_path: Path, text: str | bytes, code: str) -> None:
    found = slips(tmp_path, text)
    assert [finding.code for finding in found] == [code]
    assert found[0].source is not None
    assert found[0].source.line >= 1
    assert found[0].remedy


def test_aliases_cannot_grow_without_bound(tmp_path: Path) -> None:
    rows = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    rows += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    assert [each.code for each in slips(tmp_path, "\n".join(rows))] == ["yaml-too-many-values"]


def test_a_few_aliases_are_welcome(tmp_path: Path) -> None:
    text = GOOD.replace("depth: 2.5 mm", "depth: &d 2.5 mm").replace("depth: 1.2 mm", "depth: *d")
    assert slips(tmp_path, text) == ()


def test_a_long_row_of_points_is_no_tower_of_brackets(tmp_path: Path) -> None:
    points = ", ".join(f"[{n} mm, {n % 7} mm]" for n in range(400))
    assert slips(tmp_path, GOOD.replace("circle: 40 mm", f"lines: [[{points}]]")) == ()


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    for name, code in (("none.yaml", "file-absent"), (".", "file-is-a-folder")):
        with pytest.raises(JobRefusedError) as refused:
            read_job(tmp_path / name)
        assert [finding.code for finding in refused.value.findings] == [code]
    with pytest.raises(JobRefusedError) as refused:
        read_job(tmp_path / ("x" * 300))
    assert [finding.code for finding in refused.value.findings] == ["file-unreadable"]


def test_windows_line_ends_and_a_byte_order_mark_are_fine(tmp_path: Path) -> None:
    assert slips(tmp_path, b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode()) == ()


def test_every_slip_is_told_at_once(tmp_path: Path) -> None:
    text = GOOD.replace(" mm", "").replace("wood", "wod")
    found = slips(tmp_path, text)
    assert len(found) == 12
    assert {finding.code for finding in found} == {"unit-missing", "key-unknown"}
    lines = [finding.source.line for finding in found if finding.source]
    assert lines == sorted(lines)


def test_slips_of_names_are_told_at_once(tmp_path: Path) -> None:
    text = GOOD.replace("black cherry", "chery").replace("ethanol", "etanol")
    text = text.replace("along: disc", "along: dusc")
    assert [finding.code for finding in slips(tmp_path, text)] == ["name-unknown"] * 3


@pytest.mark.parametrize("wrong", ["[1, 2]", "{a: b}", ""])
def test_a_slip_within_a_mix_brings_no_slip_of_the_inlays_it_fills(
    tmp_path: Path, wrong: str
) -> None:
    text = GOOD.replace("deep teal", "dark sea").replace("resin: coating epoxy", f"resin: {wrong}")
    (found,) = slips(tmp_path, text)
    assert found.source is not None
    assert found.source.key == "mixes.dark sea.resin"


def test_what_stands_in_for_a_wrong_fill_is_not_told_as_a_slip(tmp_path: Path) -> None:
    text = GOOD.replace("deep teal", "dark sea").replace("fill: dark sea", "fil: dark sea", 1)
    (found,) = slips(tmp_path, text)
    assert found.code == "key-unknown"


def test_an_inlay_of_the_other_face_is_named_as_such(tmp_path: Path) -> None:
    text = GOOD + (
        "back:\n  inlays:\n"
        "    - {name: wing, circle: 9 mm, second pass of: disc, depth: 1 mm, fill: deep teal}\n"
    )
    (found,) = slips(tmp_path, text)
    assert found.code == "name-unknown"
    assert "other face" in found.remedy


def test_two_separate_circles_are_both_told(tmp_path: Path) -> None:
    inlays = "".join(
        f"    - {{name: {name}, circle: 3 mm, depth: 1 mm, fill: deep teal, after: {other}}}\n"
        for name, other in (("a", "b"), ("b", "a"), ("c", "d"), ("d", "c"))
    )
    found = slips(tmp_path, GOOD + "back:\n  inlays:\n" + inlays)
    assert [finding.code for finding in found] == ["order-goes-round"] * 2
    assert "a after b after a" in found[0].message


def test_a_job_without_work_is_refused(tmp_path: Path) -> None:
    assert [each.code for each in slips(tmp_path, GOOD.split("front:", maxsplit=1)[0])] == [
        "key-missing"
    ]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_no_damage_to_the_text_escapes_as_another_error(data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(GOOD)))
    cut = data.draw(st.integers(0, 12))
    put = data.draw(st.text(max_size=4))
    with tempfile.TemporaryDirectory() as folder:
        found = slips(Path(folder), (GOOD[:at] + put + GOOD[at + cut :]).encode("utf-8", "replace"))
    assert all(finding.code and finding.message and finding.remedy for finding in found)
