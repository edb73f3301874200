"""Chamfers, rounds and coves: as large as their closed forms, and nothing beside them lost."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import box

from flushwork.art.drawn import DrawnFace
from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.checks.fixes.fix import Question, applied
from flushwork.checks.fixes.propose import fixes_for
from flushwork.job.records import FaceName
from flushwork.process.stages import StageKind
from flushwork.strata.planes import shares
from flushwork.strata.tiles import bounds_window, surface
from flushwork.toolpaths.orders import EdgeCut, GcodeFile
from tests.checks.hearing import codes, heard, one, read_back, replayed, undated, written
from tests.gcode import second_reader
from tests.many import examples
from tests.scenarios.texts import job

FINE = 0.1
LONG, WIDE = 60.0, 40.0
TRIM = f"trim line: {{rectangle: {LONG:g} mm x {WIDE:g} mm, tabs: 4, tab height: %s mm}}\n"
SHOP = (
    "bits: [3.175 mm flat, 6.35 mm flat, 25 mm facing bit, 60 deg V-bit, 90 deg V-bit,\n"
    "  3.175 mm round-over, {name: 6 mm ball, kind: ball, diameter: 6 mm}]\n"
)


def edged(edges: str, *, face: str = "front", more: str = "", tab: str = "4") -> str:
    text = job(TRIM % tab + f"{face}:\n{more}  edges:\n    - {edges}\n")
    return text.replace("cell: 0.2 mm", f"cell: {FINE} mm", 1)


def taken_mm3(made: Build, face: DrawnFace) -> float:
    """Return what the stage that shapes edges takes of the wood inside the trim line."""
    stage = next(each for each in made.plan.stages if each.kind is StageKind.SHAPE)
    spec = made.replay.spec
    window = bounds_window(spec, face.trim.bounds)
    before, after = (
        surface(made.replay.after(number).face(face.name), window, 0)
        for number in (stage.number - 1, stage.number)
    )
    inside = shares(spec, face.trim, window)
    return float(((before - after) * inside).sum(dtype=np.float64)) * spec.cell_mm**2


def edge_file(made: Build) -> GcodeFile:
    """Return the one file that shapes edges."""
    (file,) = [
        each
        for each in made.gcode_files
        if any(isinstance(cut, EdgeCut) for cut in each.order.operations)
    ]
    return file


def closed_form_mm3(shape: str, size: float, steep: float) -> float:
    """Integrate A(0) - A(c(z)) over the depth: A(c) = (l - 2 c)(w - 2 c) in plan, c the inset.

    Chamfer: c falls evenly from w over the depth w steep: steep ((l + b) w^2 - 4 w^3 / 3).
    Round of radius r, c = r - sqrt(r^2 - (r - z)^2): 2 (l + b) r^2 (1 - pi/4) - 4 r^3 (5/3 - pi/2).
    Cove of radius r, c = sqrt(r^2 - z^2): 2 (l + b) pi r^2 / 4 - 4 r^3 2/3.
    """
    around = LONG + WIDE
    if shape == "chamfer":
        return steep * (around * size**2 - 4.0 / 3.0 * size**3)
    if shape == "round":
        return 2.0 * around * size**2 * (1.0 - math.pi / 4.0) - 4.0 * size**3 * (
            5.0 / 3.0 - math.pi / 2.0
        )
    return 2.0 * around * math.pi * size**2 / 4.0 - 4.0 * size**3 * 2.0 / 3.0


@settings(max_examples=examples(3), deadline=None)
@given(
    width=st.integers(60, 260),
    bit=st.sampled_from([("60 deg V-bit", 60.0), ("90 deg V-bit", 90.0)]),
    face=st.sampled_from(["front", "back"]),
)
def test_a_chamfer_takes_its_closed_form(
    tmp_path_factory: pytest.TempPathFactory, width: int, bit: tuple[str, float], face: str
) -> None:
    size = width / 100.0
    text = edged(f"{{name: rim, size: {size} mm, bit: {bit[0]}}}", face=face)
    made = undated(written(tmp_path_factory.mktemp("chamfer"), text, SHOP))
    steep = 1.0 / math.tan(math.radians(bit[1] / 2.0))
    whole = closed_form_mm3("chamfer", size, steep)
    assert taken_mm3(made, made.face("front" if face == "front" else "back")) == pytest.approx(
        whole, rel=0.01
    )


@pytest.mark.parametrize(("shape", "size"), [("round", 3.175), ("cove", 3.0)])
def test_a_round_and_a_cove_take_theirs(tmp_path: Path, shape: str, size: float) -> None:
    text = edged(f"{{name: rim, shape: {shape}, size: {size} mm}}")
    made = undated(written(tmp_path, text, SHOP))
    whole = closed_form_mm3(shape, size, 0.0)
    assert taken_mm3(made, made.face("front")) == pytest.approx(whole, rel=0.01)
    assert not {"edge-not-as-asked", "cut-outside-artwork"} & set(codes(run_checks(made)))


@settings(max_examples=examples(2), deadline=None)
@given(radius=st.integers(15, 60), back=st.booleans())
def test_a_ball_makes_a_round_in_steps(
    tmp_path_factory: pytest.TempPathFactory, radius: int, back: bool
) -> None:
    """As much as the round itself within a hundredth, and its lowest tip a ball's radius deeper."""
    r = radius / 10.0
    face: FaceName = "back" if back else "front"
    bit = "6 mm ball" if radius >= 30 else "3 mm ball"
    balls = "{name: 3 mm ball, kind: ball, diameter: 3 mm}"
    shop = SHOP.replace("]", f", {balls}]")
    text = edged(f"{{name: rim, shape: round, size: {r} mm, bit: {bit}}}", face=face)
    made = undated(written(tmp_path_factory.mktemp("ball"), text, shop))
    whole = closed_form_mm3("round", r, 0.0)
    assert taken_mm3(made, made.face(face)) == pytest.approx(whole, rel=0.01)
    lowest = min(z for _, _, _, z in second_reader.read(edge_file(made).text))
    assert lowest == pytest.approx(-(r + float(bit[0]) / 2.0), abs=0.002)
    told = set(codes(run_checks(made)))
    assert not {"edge-not-as-asked", "cut-outside-artwork", "pass-too-deep", "edge-at-tabs"} & told


def test_a_round_is_made_by_its_own_bit_where_it_is_owned(tmp_path: Path) -> None:
    text = edged("{name: rim, shape: round, size: 3.175 mm}")
    made = undated(written(tmp_path / "own", text, SHOP))
    assert edge_file(made).order.bit.name == "3.175 mm round-over"


@settings(max_examples=examples(2), deadline=None)
@given(
    width=st.integers(15, 90),
    depth=st.integers(5, 40),
    bit=st.sampled_from(["", ", bit: 3.175 mm flat"]),
)
@example(width=62, depth=5, bit=", bit: 3.175 mm flat")
@example(width=90, depth=10, bit=", bit: 3.175 mm flat")
def test_a_rebate_takes_its_closed_form(
    tmp_path_factory: pytest.TempPathFactory, width: int, depth: int, bit: str
) -> None:
    """A frame w wide and d deep: d (2 (l + b) w - 4 w^2), in one way around or in several."""
    w, d = width / 10.0, depth / 10.0
    text = edged(f"{{name: step, shape: rebate, size: {w} mm, depth: {d} mm{bit}}}")
    made = undated(written(tmp_path_factory.mktemp("rebate"), text, SHOP))
    whole = d * (2.0 * (LONG + WIDE) * w - 4.0 * w**2)
    assert taken_mm3(made, made.face("front")) == pytest.approx(whole, rel=0.01)


@pytest.mark.parametrize("ball", [True, False])
def test_a_drip_groove_takes_its_closed_form(tmp_path: Path, ball: bool) -> None:
    """Section times way, and at each square corner (pi/2 - 2) times the integral of u z(u)."""
    r, d, inset = (3.0, 2.0, 7.0) if ball else (1.5875, 2.0, 7.0)
    text = edged(
        f"{{name: drip, shape: groove, size: {2 * r} mm, depth: {d} mm, inset: {inset} mm}}",
        face="back",
    )
    made = undated(written(tmp_path, text, SHOP))
    around = 2.0 * (LONG + WIDE - 4.0 * inset)
    if ball:
        rise = r - d
        half = math.sqrt(r**2 - rise**2)
        section = r**2 * math.acos(rise / r) - rise * half
        moment = (r**3 - rise**3) / 3.0 - rise * half**2 / 2.0
    else:
        section, moment = 2.0 * r * d, d * r**2 / 2.0
    whole = section * around + 4.0 * (math.pi / 2.0 - 2.0) * moment
    assert taken_mm3(made, made.face("back")) == pytest.approx(whole, rel=0.01)
    assert not {"edge-not-as-asked", "cut-outside-artwork"} & set(codes(run_checks(made)))


def test_rebate_and_groove_ask_for_their_depth_and_may_not_go_through(tmp_path: Path) -> None:
    bare = heard(tmp_path / "bare", edged("{name: step, shape: rebate, size: 3 mm}"), SHOP)
    assert "key-missing" in codes(bare)
    stray = heard(tmp_path / "stray", edged("{name: rim, size: 3 mm, depth: 1 mm}"), SHOP)
    assert "key-out-of-place" in codes(stray)
    deep = edged("{name: step, shape: rebate, size: 4 mm, depth: 14.6 mm}")
    told = one(heard(tmp_path / "deep", deep, SHOP), "floor-through", "step")
    assert told.subjects[0].kind == "edge"


@given(r=st.floats(8.0, 14.0), w=st.floats(0.8, 2.0), cell=st.sampled_from([FINE, None]))
@example(r=12.0, w=1.2, cell=None)
@settings(max_examples=examples(2), deadline=None)
def test_the_rim_of_an_empty_pocket(
    tmp_path_factory: pytest.TempPathFactory, r: float, w: float, cell: float | None
) -> None:
    """A cone's frustum less its cylinder: pi h (R^2 + R r + r^2) / 3 - pi r^2 h, 45 degrees.

    The rim alone is what is taken with it less what is taken without: what a pocket of arcs lacks
    of its cylinder is a small share of the pocket, but a large one of the rim.
    """
    rest = f"  pockets: [{{name: rest, circle: {2.0 * r:.4f} mm, depth: 3 mm}}]\n"
    text = edged(f"{{name: rim, along: rest, size: {w:.4f} mm}}", more=rest)
    if cell is None:
        text = text.replace(f"cell: {FINE} mm\n", "")
    folder = tmp_path_factory.mktemp("rim")
    made = undated(written(folder / "with", text, SHOP))
    without = undated(written(folder / "without", text[: text.index("  edges:")], SHOP))
    rim = math.pi * w * ((r + w) ** 2 + (r + w) * r + r**2) / 3.0 - math.pi * r**2 * w
    pocket = math.pi * r**2 * 3.0
    taken, alone = (taken_mm3(each, each.face("front")) for each in (made, without))
    assert alone == pytest.approx(pocket, rel=0.002)
    assert taken - alone == pytest.approx(rim, rel=0.01)
    assert not {"edge-not-as-asked", "cut-outside-artwork"} & set(codes(run_checks(made)))


def test_the_second_reader_finds_the_tip_beside_the_outline(tmp_path: Path) -> None:
    """A V of 90 degrees with a tip 0.2 mm wide: 0.1 + 0.3 mm out, 1.5 + 0.3 mm deep."""
    made = undated(written(tmp_path, edged("{name: rim, size: 1.5 mm}"), SHOP))
    file = edge_file(made)
    floor = [(x, y) for kind, x, y, z in second_reader.read(file.text) if abs(z + 1.8) < 0.002]
    trim = box(*made.face("front").trim.bounds)
    x0, y0 = file.order.origin_mm
    away = [
        max(trim.bounds[0] - x, x - trim.bounds[2], trim.bounds[1] - y, y - trim.bounds[3])
        for x, y in ((x + x0, y + y0) for x, y in floor)
    ]
    assert len(floor) > 4
    assert max(away) == pytest.approx(0.4, abs=0.003)
    assert min(z for _, _, _, z in second_reader.read(file.text)) == pytest.approx(-1.8, abs=0.002)


def test_edges_are_shaped_before_the_piece_is_trimmed(tmp_path: Path) -> None:
    plan = undated(written(tmp_path, edged("{name: rim, size: 1 mm}"), SHOP)).plan
    kinds = [each.kind for each in plan.stages]
    assert kinds.index(StageKind.SHAPE) < kinds.index(StageKind.TRIM)
    shape, trim = (plan.stages[kinds.index(each)] for each in (StageKind.SHAPE, StageKind.TRIM))
    assert shape.setup == trim.setup
    assert shape.title == "Shape rim"


NEAR = "  inlays: [{name: border, rectangle: 57 mm x 37 mm, line: 2 mm, depth: 2 mm, fill: navy}]\n"


def test_one_that_runs_into_an_inlay_says_what_it_takes(tmp_path: Path) -> None:
    """The frame's outer millimetre lies 1.5 to 2.5 mm inside; a chamfer 2 mm wide takes 0.5 mm."""
    path = written(tmp_path / "into", edged("{name: rim, size: 2 mm}", more=NEAR), SHOP)
    made = undated(path)
    told = one(run_checks(made), "edge-cuts-inlay", "rim")
    assert told.stands
    assert told.measure is not None
    # the band 0.5 mm wide, its outer side 57 by 37 mm
    assert told.measure.value == pytest.approx(2.0 * (57.0 + 37.0) * 0.5 - 1.0, rel=0.12)
    for each in fixes_for(Question(told, made.job, made.faces)):
        mended = heard(tmp_path / "after", applied(path.read_text("utf-8"), each), SHOP)
        if "edge-cuts-inlay" not in codes(mended):
            break
    else:
        pytest.fail("no fix mends it")
    clear = heard(tmp_path / "clear", edged("{name: rim, size: 1 mm}", more=NEAR), SHOP)
    assert "edge-cuts-inlay" not in codes(clear)


def test_tabs_hold_what_the_edge_of_the_lower_face_leaves_them(tmp_path: Path) -> None:
    both = (
        TRIM % "1.2"
        + "front: {edges: [{name: over, size: 1.5 mm}]}\n"
        + "back: {pockets: [{name: felt, circle: 20 mm, depth: 1 mm}]}\n"
    )
    path = written(tmp_path / "both", job(both), SHOP)
    made = undated(path)
    told = one(run_checks(made), "edge-at-tabs", "over")
    assert told.stands
    first = fixes_for(Question(told, made.job, made.faces))[0]
    assert str(first) == "trim line.tab height: 2 mm"
    mended = heard(tmp_path / "after", applied(path.read_text("utf-8"), first), SHOP)
    assert "edge-at-tabs" not in codes(mended)
    alone = heard(tmp_path / "alone", edged("{name: over, size: 1.5 mm}", tab="1.2"), SHOP)
    assert "edge-at-tabs" not in codes(alone)


def test_edges_of_both_faces_leave_the_board_an_edge(tmp_path: Path) -> None:
    both = job(
        TRIM % "3" + "front: {edges: [{name: over, size: 3 mm}]}\n"
        "back: {edges: [{name: under, size: 3 mm}]}\n",
        thickness=8,
    )
    told = one(heard(tmp_path, both, SHOP), "edges-meet")
    assert told.severity.value == "must fix" if told.measure and told.measure.value < 0 else True
    assert told.measure is not None
    assert told.measure.value == pytest.approx(8.0 - 1.0 - 6.0, abs=0.01)


def test_a_bit_that_cannot_and_a_floor_in_its_way(tmp_path: Path) -> None:
    wrong = "{name: rim, shape: round, size: 2 mm, bit: 3.175 mm round-over}"
    assert one(heard(tmp_path / "wrong", edged(wrong), SHOP), "edge-bit-unfit", "rim").stands
    none, bare = "{name: rim, shape: round, size: 2 mm}", SHOP.replace("kind: ball", "kind: flat")
    assert one(heard(tmp_path / "none", edged(none), bare), "no-bit-for-it", "rim").stands
    rest = "  pockets: [{name: rest, circle: 24 mm, depth: 1 mm}]\n"
    shallow = edged("{name: rim, along: rest, size: 1.2 mm}", more=rest)
    told = one(heard(tmp_path / "shallow", shallow, SHOP), "edge-under-floor", "rim")
    assert told.measure is not None
    assert told.measure.value == pytest.approx(0.5, abs=0.01)


def test_a_file_that_runs_too_high_or_too_deep_is_told(tmp_path: Path) -> None:
    made = undated(written(tmp_path, edged("{name: rim, size: 1.5 mm}"), SHOP))
    file = edge_file(made)
    for wrong, word in (("Z-1.4", "proud"), ("Z-2.4", "too deep")):
        altered = read_back(file, file.text.replace("Z-1.8", wrong))
        again = replayed(made, {file.file_name: replace(file, program=altered.program)})
        told = one(run_checks(again), "edge-not-as-asked", "rim")
        assert word in told.message
        assert told.stands
    assert "edge-not-as-asked" not in codes(run_checks(made))


def test_a_clamp_where_the_bit_runs_is_told(tmp_path: Path) -> None:
    text = edged("{name: rim, size: 1.5 mm}").replace(
        "front:\n",
        "keep clear of: [{name: clamp, from: left, at: [14 mm, 0 mm], size: [12 mm, 10 mm],\n"
        "  height: 12 mm}]\n"
        "front:\n",
        1,
    )
    assert "clamp-hit" in codes(heard(tmp_path, text, SHOP))


def test_what_an_edge_runs_along_is_there(tmp_path: Path) -> None:
    bare = job("front: {edges: [{name: rim, size: 1 mm}]}\n")
    assert "edge-without-line" in codes(heard(tmp_path / "bare", bare, SHOP))
    unknown = edged("{name: rim, along: rset, size: 1 mm}")
    assert "name-unknown" in codes(heard(tmp_path / "unknown", unknown, SHOP))


def test_a_loosely_held_blank_makes_the_edge_vary(tmp_path: Path) -> None:
    both = (
        "holding: corner stop\n" + TRIM % "2" + "front: {edges: [{name: over, size: 0.4 mm}]}\n"
        "back: {pockets: [{name: felt, circle: 20 mm, depth: 1 mm}]}\n"
    )
    assert one(heard(tmp_path / "loose", job(both), SHOP), "edge-width-varies", "over")
    firm = both.replace("corner stop", "dowels").replace("0.4 mm", "1 mm")
    assert "edge-width-varies" not in codes(heard(tmp_path / "firm", job(firm), SHOP))
