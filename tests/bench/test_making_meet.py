"""Where two inlays meet: their edge made a seam line, one within the other cut into it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import flushwork
from flushwork.bench.desk.desk import Desk
from flushwork.usecases.jobs import blank_job_text
from flushwork.usecases.making.fills import AddError
from flushwork.usecases.making.meet import cut_into, meetings, seam_around, seam_between
from tests.bench.conftest import ask
from tests.many import examples

BOARD: Final = """\
# halves of a lid
flushwork: 2
title: Lid
blank: {wood: sugar maple, length: 120 mm, width: 90 mm, thickness: 12 mm}
trim line: {rectangle: 100 mm x 70 mm}
cell: 0.4 mm
mixes:
  teal: {resin: coating epoxy, pigments: [teal flake]}
  red: {resin: coating epoxy, pigments: [red powder]}
front:
  inlays:
    - {name: left, rectangle: 20 mm x 30 mm, at: [-20 mm, 0 mm], depth: 2 mm, fill: teal}
    - {name: "right, upper", rectangle: 20 mm x 15 mm, at: [0 mm, 7.5 mm], depth: 2 mm, fill: red}
    - name: right lower   # the last
      rectangle: 20 mm x 15 mm
      at: [0 mm, -7.5 mm]
      depth: 3 mm
      fill: teal
    - {name: dot, circle: 6 mm, at: [-20 mm, 5 mm], depth: 2 mm, fill: red}
    - {name: apart, circle: 8 mm, at: [35 mm, 0 mm], depth: 2 mm, fill: red}
"""
LEFT, UPPER, LOWER = "inlay/front/left", "inlay/front/right, upper", "inlay/front/right lower"
DOT, APART = "inlay/front/dot", "inlay/front/apart"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("meet") / "job.yaml"


def test_every_shared_edge_and_what_lies_within(job: Path) -> None:
    found = {each.things: each for each in meetings(job, BOARD)}
    assert set(found) == {(LEFT, UPPER), (LEFT, LOWER), (UPPER, LOWER), (DOT, LEFT)}
    assert found[LEFT, UPPER].lines.length == pytest.approx(15.0, abs=0.01)
    assert found[UPPER, LOWER].lines.length == pytest.approx(20.0, abs=0.01)
    within = found[DOT, LEFT]
    assert (within.kind, within.within) == ("overlap", True)
    assert within.region.area == pytest.approx(3.14159 * 9.0, rel=0.01)
    assert not any(each.done for each in found.values())
    assert meetings(job, BOARD, "back") == ()


def test_a_seam_line_takes_in_the_edge_it_would_run_into(job: Path) -> None:
    one = seam_between(job, BOARD, LEFT, UPPER)
    assert one.text.startswith(BOARD[: BOARD.index("mixes:")])
    assert '{along: [left, "right, upper"], width: 0.8 mm, edges: shared}' in one.text
    made = flushwork.load(job, one.text).inlays[-1]
    assert made.mix.name not in ("teal", "red"), "it stands out from both"
    assert (made.depth_mm, made.seam is not None and made.seam.shared_only) == (1.2, True)
    assert next(each.done for each in meetings(job, one.text) if each.things == (LEFT, UPPER))
    two = seam_between(job, one.text, UPPER, LOWER)
    assert 'along: [left, "right, upper", right lower]' in two.text
    assert two.things == one.things
    assert "the last" in two.text
    with pytest.raises(AddError, match="already"):
        seam_between(job, two.text, LEFT, LOWER)
    for none in ((LEFT, APART), (DOT, LEFT), (LEFT, LEFT), (LEFT, "inlay/front/none")):
        with pytest.raises(AddError):
            seam_between(job, BOARD, *none)


def test_what_lies_within_is_cut_into_it_and_leaves_its_colour(job: Path) -> None:
    cut = cut_into(job, BOARD, DOT, LEFT)
    assert "depth: 1.5 mm, fill: red, second pass of: [left]}" in cut.text
    assert cut.text.replace("1.5 mm", "2 mm").replace(", second pass of: [left]", "") == BOARD
    with pytest.raises(AddError, match="already"):
        cut_into(job, cut.text, DOT, LEFT)
    with pytest.raises(AddError, match="does not lie in"):
        cut_into(job, BOARD, APART, LEFT)
    before, after = (flushwork.build(job, text=text) for text in (BOARD, cut.text))
    about = {"inlays-overlap", "second-pass-through", "second-pass-floor-thin"}
    assert "inlays-overlap" in {each.code for each in before.findings}
    assert not about & {each.code for each in after.findings}


def test_a_line_goes_along_all_edges_of_one(job: Path) -> None:
    lined = seam_around(job, BOARD, APART, width="1.2 mm")
    assert lined.things == ("inlay/front/apart edges",)
    made = flushwork.load(job, lined.text).inlays[-1]
    assert made.seam is not None
    assert (made.seam.along, made.seam.width_mm, made.seam.shared_only) == (("apart",), 1.2, False)
    assert made.mix.name not in ("red", ""), "it shows beside what it goes along"
    assert made.depth_mm == pytest.approx(1.2)
    with pytest.raises(AddError, match="has no edges"):
        seam_around(job, lined.text, lined.things[0])
    with pytest.raises(AddError, match="no moon on the front"):
        seam_around(job, BOARD, "inlay/front/moon")


@settings(max_examples=examples(10), deadline=None)
@given(
    st.integers(20, 40),
    st.integers(20, 60),
    st.floats(0.6, 5.0).map(lambda mm: round(mm, 2)),
    st.floats(0.6, 5.0).map(lambda mm: round(mm, 2)),
)
def test_any_two_that_share_an_edge_get_a_line_along_all_of_it(
    job: Path, wide: int, high: int, one_mm: float, other_mm: float
) -> None:
    text = blank_job_text("Lid", "sugar maple", "150 mm", "110 mm", "12 mm")
    items = [
        f"    - {{name: a, rectangle: {wide} mm x {high} mm, at: [-{wide / 2:g} mm, 0 mm], "
        f"depth: {one_mm} mm, fill: clear}}",
        f"    - {{name: b, rectangle: {wide} mm x 20 mm, at: [{wide / 2:g} mm, 0 mm], "
        f"depth: {other_mm} mm, fill: clear}}",
    ]
    text = text.replace("inlays: []", "inlays:\n" + "\n".join(items))
    text = text.replace("mixes: {}", "mixes: {clear: {resin: coating epoxy}}")
    (met,) = meetings(job, text)
    assert met.lines.length == pytest.approx(20.0, abs=0.05)
    seam = seam_between(job, text, *met.things)
    line = flushwork.load(job, seam.text).inlays[-1]
    assert 0.5 <= line.depth_mm <= max(0.5, min(one_mm, other_mm) - 0.5) + 1e-9
    assert [each.done for each in meetings(job, seam.text)] == [True]


def test_the_door_tells_where_they_meet_and_joins_them(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "job.yaml")
    told = ask(desk, "POST", "/making/meetings", json={"text": BOARD, "face": "front"}).json()
    words = [each["words"] for each in told["meetings"]]
    assert "the edge of left and right, upper: make it a seam line" in words
    assert "dot, which lies in left: cut it into it as a second pass" in words
    sent = {"text": BOARD, "how": "overlap", "thing": DOT, "other": LEFT}
    assert "second pass of: [left]" in ask(desk, "POST", "/making/join", json=sent).json()["text"]
    for wrong in ({"how": "glue"}, {"how": "edge"}):
        assert ask(desk, "POST", "/making/join", json={**sent, **wrong}).status_code == 400
