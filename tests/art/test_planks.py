"""Pieces on one plank: artwork on each, each with its name, on both faces."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import affine_transform

from flushwork.art.board_frame import back_map
from flushwork.art.draw import begin
from flushwork.art.drawn import DrawnFace
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.job.records import Job
from tests.many import examples

SIGNS = """\
flushwork: 2
title: Signs
blank: {{wood: sugar maple, length: 300 mm, width: 200 mm, thickness: 12 mm{flipped}}}
trim line: {{rectangle: 80 mm x 40 mm, round: 4 mm}}
from one plank: {{{plank}}}
mixes:
  dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
front:
  inlays:
    - {{name: words, text: <name>, font: {font}, size: 16 mm, depth: 1 mm, fill: dark{fit}}}
{more}"""


def signs(
    plank: str, *, fit: str = "", more: str = "", flipped: str = "", font: str = "sans bold"
) -> str:
    return SIGNS.format(plank=plank, fit=fit, more=more, flipped=flipped, font=font)


def drawn(folder: Path, text: str) -> tuple[Job, tuple[DrawnFace, ...]]:
    return begin(folder / "job.yaml", text)


def refused(folder: Path, text: str) -> tuple[Finding, ...]:
    with pytest.raises(JobRefusedError) as caught:
        drawn(folder, text)
    return caught.value.findings


def test_each_piece_holds_its_own_name_and_is_called_by_it(tmp_path: Path) -> None:
    _, (front, _) = drawn(tmp_path, signs("names: [ANNA, BEN, I]"))
    assert front.laid is not None
    assert [piece.called for piece in front.laid.pieces] == ["ANNA", "BEN", "I"]
    words = front.inlays[0].region
    areas = [words.intersection(piece).area for piece in front.trim.geoms]
    assert sum(areas) == pytest.approx(words.area)
    alone = [
        drawn(tmp_path, signs(f"names: [{name}]"))[1][0].inlays[0].region.area
        for name in ("ANNA", "BEN", "I")
    ]
    assert areas == pytest.approx(alone, rel=1e-6)


@pytest.mark.parametrize(
    ("file", "keys", "names"),
    [
        ("ANNA\n BEN \n\n", "names file: a.csv", ["ANNA", "BEN"]),
        ('table,name\n1,ANNA\n2,"BEN, JR"\n', "names file: a.csv, column: name",
         ["ANNA", "BEN, JR"]),
        ("ANNA,x\nBEN,y\n", "names file: a.csv", ["ANNA", "BEN"]),
    ],
)  # fmt: skip
def test_names_come_from_a_file_beside_the_job(
    tmp_path: Path, file: str, keys: str, names: list[str]
) -> None:
    (tmp_path / "a.csv").write_text(file, "utf-8")
    _, (front, _) = drawn(tmp_path, signs(keys))
    assert front.laid is not None
    assert [piece.name for piece in front.laid.pieces] == names


@pytest.mark.parametrize(
    ("file", "keys", "code", "told"),
    [
        (None, "", "names-file-not-found", "a.csv"),
        ("ANNA\n\nBEN\n", "", "names-file-line-unreadable", "line 2"),
        ("ANNA\n" + 81 * "B" + "\n", "", "names-file-line-unreadable", "line 2"),
        ("\n", "", "names-file-unfit", "no names"),
        ("table,name\n1,ANNA\n", ", column: nmae", "names-file-unfit", "'nmae'"),
    ],
)
def test_what_is_wrong_with_a_file_of_names_is_told(
    tmp_path: Path, file: str | None, keys: str, code: str, told: str
) -> None:
    if file is not None:
        (tmp_path / "a.csv").write_text(file, "utf-8")
    (found,) = refused(tmp_path, signs(f"names file: a.csv{keys}"))
    assert found.code == code
    assert told in found.message


def test_a_letter_that_the_font_lacks_is_told_with_its_name_once(tmp_path: Path) -> None:
    found = refused(tmp_path, signs("names: [ANNA, \N{SNOWMAN}\N{UMBRELLA}X, \N{SNOWMAN}]"))
    assert [each.code for each in found] == ["glyph-missing", "glyph-missing"]
    assert "\N{SNOWMAN}\N{UMBRELLA}X" in found[0].message
    assert "'\N{SNOWMAN}'" in found[1].message


def test_two_of_one_name_are_told_and_numbered(tmp_path: Path) -> None:
    _, (front, _) = drawn(tmp_path, signs("names: [ANNA, BEN, ANNA]"))
    assert front.laid is not None
    assert [each.code for each in front.warnings] == ["name-for-two-pieces"]
    assert "'ANNA'" in front.warnings[0].message
    called = [piece.called for piece in front.laid.pieces]
    assert called == ["ANNA, 1 of 2", "BEN", "ANNA, 2 of 2"]


@given(
    st.text(alphabet="ABEILMNOSW", min_size=1, max_size=14),
    st.floats(20.0, 75.0),
    st.floats(3.0, 16.0),
    st.sampled_from(["sans bold", "single line"]),
)
@settings(max_examples=examples(12), deadline=None)
def test_words_are_as_wide_as_they_may_be_or_refused_by_name(
    tmp_path_factory: pytest.TempPathFactory, name: str, most: float, least: float, font: str
) -> None:
    folder = tmp_path_factory.getbasetemp()

    def width(keys: str) -> float:
        _, (front, _) = drawn(folder, signs(f"names: [{name}]", fit=keys, font=font))
        shapes = front.inlays[0]
        west, _, east, _ = (shapes.region if shapes.strokes.is_empty else shapes.strokes).bounds
        return float(east - west)

    keys = f", most width: {most:.3f} mm, least size: {least:.3f} mm"
    whole = width("")
    if whole <= most:
        assert width(keys) == pytest.approx(whole)
    elif whole * least / 16.0 <= 0.998 * most:
        assert 0.95 * most <= width(keys) <= most + 1e-3
    elif whole * least / 16.0 > 1.002 * most:
        (found,) = refused(folder, signs(f"names: [{name}]", fit=keys, font=font))
        assert found.code == "text-too-wide"
        assert f"'{name}'" in found.message


@given(
    st.sampled_from(["top to bottom", "side to side"]),
    st.sampled_from(["no", "half", "quarter"]),
    st.integers(1, 5),
)
@settings(max_examples=examples(6), deadline=None)
def test_a_piece_lies_behind_itself_on_the_back(
    tmp_path_factory: pytest.TempPathFactory, flipped: str, turned: str, count: int
) -> None:
    # a mark near the upper right corner of each piece, as seen on either face
    mark = (
        "polygon: {sides: 3, diameter: 8 mm}, at: [-4 mm, -3 mm], from: upper right, depth: 1 mm,"
        " fill: dark}\n"
    )
    more = f"    - {{name: mark, {mark}back:\n  inlays:\n    - {{name: behind, {mark}"
    text = signs(
        f"names: [{', '.join('ABCDE'[:count])}], turned: {turned}",
        more=more,
        flipped=f", flipped: {flipped}",
    )
    job, (front, back) = drawn(tmp_path_factory.getbasetemp(), text)
    onto = back_map(job.blank).numbers
    for one, other in zip(front.trim.geoms, back.trim.geoms, strict=True):
        assert affine_transform(one, onto).symmetric_difference(other).area < 1e-6
    # what both faces hold, seen with its piece, is the same drawing
    marks = front.inlays[1].region, back.inlays[0].region
    for piece, behind in zip(front.trim.geoms, back.trim.geoms, strict=True):
        seen = [
            # a ring closes on its first corner, whichever that is: each distance once
            sorted({round(float(shapely.distance(shapely.Point(p), shape.exterior)), 2)
                    for p in shapely.get_coordinates(mark.intersection(shape))})
            for mark, shape in zip(marks, (piece, behind), strict=True)
        ]  # fmt: skip
        assert seen[0] == pytest.approx(seen[1], abs=2e-3)


def test_other_pieces_carry_what_is_put_on_them(tmp_path: Path) -> None:
    more = (
        "    - {name: dot, circle: 10 mm, depth: 1 mm, fill: dark, on: small}\n"
        "  holes:\n"
        "    - {name: hang, points: [[0 mm, 12 mm]], diameter: 3 mm, depth: through, on: all}\n"
    )
    plank = "names: [ANNA, BEN], other pieces: [{name: small, circle: 36 mm, count: 3}]"
    _, (front, _) = drawn(tmp_path, signs(plank, more=more))
    assert front.laid is not None
    small = [at for at, piece in enumerate(front.laid.pieces) if piece.name == "small"]
    assert len(small) == 3
    dots = front.inlays[1].region
    for at, piece in enumerate(front.trim.geoms):
        assert dots.intersects(piece) == (at in small)
        inside = [hole for hole in front.holes[0].places
                  if piece.contains(shapely.Point(hole.x_mm, hole.y_mm))]  # fmt: skip
        assert len(inside) == 1


@pytest.mark.parametrize(
    ("plank", "more", "code", "told"),
    [
        ("pieces: 40", "", "names-missing", "<name>"),
        ("names: [A], pieces: 2", "", "keys-clash", "pieces"),
        ("names: [A, '']", "", "key-empty", "nothing"),
        ("names: [A], gap: 1 mm", "", "value-out-of-range", "gap"),
        ("names: [A], column: b", "", "key-out-of-place", "column"),
        ("names: [A], defects: [{lines: [[[0 mm, 0 mm], [9 mm, 0 mm]]]}]", "",
         "defect-without-area", "defect"),
        ("names: [A], other pieces: [{name: all, circle: 9 mm}]", "", "name-twice", "all"),
        ("names: [A], other pieces: [{name: two, circle: 9 mm, at: [0 mm, 0 mm], repeat: {columns: "
         "2, pitch: 12 mm}}]", "", "piece-in-parts", "two"),
        ("names: [A]", "    - {name: dot, circle: 4 mm, depth: 1 mm, fill: dark, on: smal}\n",
         "name-unknown", "smal"),
        ("names: [A], margin: 95 mm", "", "plank-too-small", "1 piece finds no room"),
    ],
)  # fmt: skip
def test_what_does_not_go_together_is_told(
    tmp_path: Path, plank: str, more: str, code: str, told: str
) -> None:
    found = refused(tmp_path, signs(plank, more=more))
    assert code in [each.code for each in found]
    assert any(told in each.message for each in found if each.code == code)
