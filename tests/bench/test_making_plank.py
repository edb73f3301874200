"""Several pieces from one plank, made act by act: how many, their names, where nothing may lie."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

import flushwork
from flushwork.bench.desk.desk import Desk
from flushwork.usecases.jobs import blank_job_text, preread
from flushwork.usecases.making.add import add_part, add_words
from flushwork.usecases.making.fills import AddError
from flushwork.usecases.making.on_plank import (
    moved_defect,
    on_plank,
    plank_of,
    with_defect,
    without_defect,
)
from flushwork.usecases.making.place import centred
from tests.bench.conftest import ask
from tests.many import examples

BOARD: Final = blank_job_text(
    "Coasters", "sugar maple", "420 mm", "310 mm", "12 mm", trim_line={"circle": "90 mm"}
)
KNOT: Final = {"circle": "20 mm", "at": ["60 mm", "150 mm"], "from": "lower left"}
NAMES: Final = st.text(
    st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZaeßéøñ019 &-.,:#'\"[]{}!?"), min_size=1, max_size=12
).filter(lambda name: bool(name.strip()))


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("plank") / "job.yaml"


def test_twelve_coasters_are_laid_with_what_goes_on_them(job: Path) -> None:
    text = on_plank(job, BOARD, {"pieces": "12", "gap": "5 mm"})
    assert text.endswith("from one plank:\n  pieces: 12\n  gap: 5 mm\n")
    text = add_part(job, text, {"ring": {"outside": "80 mm", "inside": "76 mm"}}).text
    named = add_words(job, text, "TEA", size="12 mm")
    assert named.said == "It lies in the middle of the board."
    assert centred(job, named.text, "inlay/front/TEA") == named.text
    laid = plank_of(job, named.text)
    ring = next(region for _, region in laid.inlays)
    assert [piece.number for piece in laid.pieces] == list(range(1, 13))
    assert all(len(shapely.get_parts(ring.intersection(p.outline))) == 1 for p in laid.pieces)
    apart = shapely.STRtree([piece.outline for piece in laid.pieces])
    for piece in laid.pieces:
        assert len(apart.query(piece.outline, predicate="dwithin", distance=4.9)) == 1
    with pytest.raises(AddError, match=r"28 pieces find no room .* 12 find room"):
        on_plank(job, named.text, {"pieces": "40"})
    with pytest.raises(AddError, match="11 find room"):
        with_defect(job, text, KNOT)
    eleven = with_defect(job, text, KNOT, fewer=True)
    assert "pieces: 11\n" in eleven
    assert len(plank_of(job, eleven).pieces) == 11
    assert on_plank(job, text, {"gap": ""}) == text.removesuffix("  gap: 5 mm\n")


@settings(max_examples=examples(8), deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 380), st.integers(0, 280), st.integers(5, 60), st.integers(5, 60)),
        min_size=1,
        max_size=3,
    ),
    st.data(),
)
def test_nothing_is_laid_where_a_defect_was_drawn(
    job: Path, marks: list[tuple[int, int, int, int]], data: st.DataObject
) -> None:
    bare = text = on_plank(job, BOARD, {"gap": "5 mm"})
    for x, y, wide, high in marks:
        at = [f"{x} mm", f"{y} mm"]
        told = {"rectangle": f"{wide} mm x {high} mm", "at": at, "from": "lower left"}
        text = with_defect(job, text, told)
    laid = plank_of(job, text)
    for (x, y, wide, high), defect in zip(marks, laid.defects, strict=True):
        assert defect.bounds == pytest.approx((x, y, x + wide, y + high), abs=1e-6)
    for piece in laid.pieces:
        assert all(piece.outline.intersection(each).area < 1e-6 for each in laid.defects)
    number = data.draw(st.integers(1, len(marks)))
    moved = moved_defect(job, text, number, (2.5, -1.0))
    was, now = laid.defects[number - 1].bounds, plank_of(job, moved).defects[number - 1].bounds
    assert now == pytest.approx([was[0] + 2.5, was[1] - 1.0, was[2] + 2.5, was[3] - 1.0], abs=1e-6)
    assert moved_defect(job, moved, number, (-2.5, 1.0)) == text
    for _ in marks:
        text = without_defect(job, text, 1)
    assert text == bare


@settings(max_examples=examples(8), deadline=None)
@given(st.lists(NAMES, min_size=1, max_size=4))
@example(["NULL"])
def test_any_names_fill_a_text_one_a_piece(job: Path, names: list[str]) -> None:
    signs = BOARD.replace("{circle: 90 mm}", "{rectangle: 110 mm x 50 mm}")
    signs = signs.replace("pieces: 1", "pieces: 1   # planks")
    text = on_plank(job, signs, {"pieces": "2"}, names=names)
    laid = plank_of(job, text)
    plain = [" ".join(name.split()) for name in names]
    assert list(laid.names) == [piece.name for piece in laid.pieces] == plain
    assert laid.texts == (("inlay/front/names", "<name>"),)
    assert "pieces: 1   # planks\n" in text
    again = on_plank(job, text, {}, names=[*plain, "ZOE"])
    assert len(plank_of(job, again).pieces) == len(plain) + 1


def test_names_take_the_place_of_words_that_are_there(job: Path) -> None:
    signs = BOARD.replace("{circle: 90 mm}", "{rectangle: 110 mm x 50 mm}")
    text = add_words(job, on_plank(job, signs, {"pieces": "2"}), "ANNA", size="20 mm").text
    named = on_plank(job, text, {}, names=["ANNA", "BEN", "CLEOPATRA"], thing="inlay/front/ANNA")
    assert 'name: ANNA, text: "<name>", font: sans bold, size: 20 mm' in named
    assert named.endswith("from one plank:\n  names: [ANNA, BEN, CLEOPATRA]\n")
    _, faces = preread(job, named)
    widths = [
        faces[0].inlays[0].region.intersection(piece.outline).bounds
        for piece in plank_of(job, named).pieces
    ]
    assert max(x1 - x0 for x0, _, x1, _ in widths) <= 92.5
    with pytest.raises(AddError, match="names"):
        on_plank(job, named, {"pieces": "2"}, names=[])


def test_a_job_begun_on_a_plank_is_the_one_written_by_hand(job: Path) -> None:
    begun = blank_job_text(
        "Coasters",
        "sugar maple",
        "420 mm",
        "310 mm",
        "12 mm",
        trim_line={"circle": "90 mm"},
        plank={"pieces": "12"},
    )
    assert "trim line: {circle: 90 mm}\nfrom one plank:\n  pieces: 12\nmixes" in begun
    later = on_plank(job, BOARD, {"pieces": "12", "margin": ""})
    one, other = flushwork.load(job, begun), flushwork.load(job, later)
    assert one.plank is not None
    assert other.plank is not None
    assert (one.plank.pieces, one.plank.gap_mm) == (other.plank.pieces, other.plank.gap_mm)


def test_the_door_lays_marks_and_says_why_not(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "job.yaml")

    def told(**sent: Any) -> Any:
        return ask(desk, "POST", "/making/plank", json={"text": BOARD, **sent})

    laid = told(act="lay", keys={"pieces": "3"}, names=None, thing="").json()
    assert len(laid["plank"]["pieces"]) == 3
    assert laid["plank"]["said"].startswith("3 pieces lie on it, at least 4.17 mm apart and 6 mm")
    inch = told(act="look", text=laid["text"], units="inch").json()
    assert " mm" not in inch["plank"]["said"]
    marked = told(act="defect", text=laid["text"], defect=KNOT).json()
    assert marked["plank"]["defects"][0]["told"].startswith("60 mm from the left end, 150 mm")
    gone = told(act="out", text=marked["text"], number=1).json()
    assert gone["text"] == laid["text"]
    for wrong in (
        {"act": "lay", "keys": {"pieces": "none"}, "names": None, "thing": ""},
        {"act": "out", "number": 7},
        {"act": "move", "number": 1, "right": "far", "up": 0},
        {"act": "defect", "defect": {"circle": "no size"}},
        {"act": "burn"},
    ):
        refused = told(**wrong)
        assert refused.status_code == 400
        assert refused.json()["error"]
