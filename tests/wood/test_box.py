"""The mitred box: worked scenarios, random boxes cut up in plan, remedies obeyed."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from flushwork.art.draw import draw_faces
from flushwork.built import Build
from flushwork.checks.expected_box import box_of_build
from flushwork.checks.rules.board.box_rules import box_findings
from flushwork.checks.rules.work.cut_list_rules import boards_too_few
from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.job.read import read_job
from flushwork.job.records import Job
from flushwork.job.text.change import changed
from flushwork.process.infer_stages import infer_plan
from flushwork.strata.palette import palette_of
from flushwork.wood.box_sizes import MadeBox
from flushwork.wood.box_stock import box_parts
from tests.checks.hearing import written
from tests.checks.test_remedies_obeyed import mm, number
from tests.many import examples
from tests.scenarios.texts import job

FIELD = "front: {inlays: [{name: field, rectangle: 20 mm x 10 mm, depth: 2 mm, fill: navy}]}\n"
Draw = Callable[[st.SearchStrategy[Any]], Any]


def begun(text: str) -> Build:
    """Return a job read, drawn and planned, but not replayed."""
    with tempfile.TemporaryDirectory() as folder:
        return drawn(read_job(written(Path(folder), text)))


def drawn(read: Job) -> Build:
    """Return a job that is read, drawn and planned, but not replayed."""
    faces = draw_faces(read)
    plan = infer_plan(read, faces)
    none = cast("Any", None)
    return Build(read, faces, (), plan, (), none, palette_of(read))


def boxed(text: str) -> MadeBox:
    made = box_of_build(begun(text))
    assert made is not None
    return made


def told(text: str) -> list[Finding]:
    return list(box_findings(boxed(text)))


def codes(text: str) -> list[str]:
    return sorted(each.code for each in told(text))


def only(found: list[Finding], code: str) -> Finding:
    (one,) = [each for each in found if each.code == code]
    return one


@dataclass(frozen=True)
class Splined:
    """A box whose slots meet inlay, and what comes of it by hand."""

    wall: float
    depth: float
    thick: float
    heights: tuple[float, float, float]
    inlay: float
    bottom: tuple[float, float, float]
    lid: tuple[float, float, float]
    shows: str
    cuts: str
    deepest: str
    beyond: str
    to_kerf: str
    cleaned: str
    breaks: float
    spare: float
    groove: float


SPLINED = (
    Splined(10, 11, 3.2, (15, 40, 65), 12, (6, 3, 5), (45, 3.0, 0.5),
            "15.6", "3.6", "7.8", "16.6", "1.9", "1.4", 14.1, 3.1, 4.4),
    Splined(12, 9, 3.0, (14, 45, 66), 10, (5, 3, 5), (50, 2.4, 0.4),
            "12.7", "2.7", "6.4", "13.8", "2.3", "1.9", 17.0, 8.0, 4.5),
    Splined(8, 8, 2.0, (12, 36, 70), 9, (6, 3, 3), (40, 3.2, 0.3),
            "11.3", "2.3", "5.7", "12.4", "1.4", "1.1", 11.3, 3.3, 2.0),
    Splined(15, 14, 5.0, (20, 54, 70), 18, (8, 4, 6), (60, 3.0, 0.5),
            "19.8", "1.8", "12", "20.8", "2.0", "1.5", 21.2, 7.2, 5.5),
)  # fmt: skip


@pytest.mark.parametrize("case", SPLINED)
def test_a_slot_through_the_inlay(case: Splined) -> None:
    low, high, deep = case.bottom
    at, kerf, clean = case.lid
    body = (
        f"box:\n  wall: {case.wall} mm\n  height: 85 mm\n  inside: 200 mm x 150 mm\n"
        f"  bottom: {{from base: {low} mm, width: {high} mm, depth: {deep} mm}}\n"
        f"  splines: {{heights: [{', '.join(f'{each} mm' for each in case.heights)}], "
        f"thickness: {case.thick} mm, depth: {case.depth} mm}}\n"
        f"  lid: {{from base: {at} mm, kerf: {kerf} mm, clean up: {clean} mm}}\n"
        f"  art outside: [{{name: vine, from base: 8 mm, to: 80 mm, "
        f"from corner: {case.inlay} mm, opened: {kerf + 2 * clean:g} mm}}]\n"
    )
    made = boxed(job(FIELD + body))
    found = list(box_findings(made))
    inlay = only(found, "box-spline-in-inlay")
    assert inlay.severity is Severity.MUST_FIX
    assert f"shows to {case.shows} mm on both outer faces" in inlay.message
    assert f"cuts {case.cuts} mm into the inlay" in inlay.message
    assert f"`depth: {case.deepest} mm` for the splines at most" in inlay.remedy
    assert f"`from corner: {case.beyond} mm`" in inlay.remedy
    near = only(found, "box-spline-near-cut")
    assert near.severity is Severity.WARNING
    assert f"{case.thick:g} mm spline at {case.heights[1]:g} mm" in near.message
    assert f"leaves {case.to_kerf} mm to the kerf" in near.message
    assert f"{case.cleaned} mm after clean-up" in near.message
    assert made.breaks_at_mm == pytest.approx(case.breaks, abs=0.05)
    assert made.breaks_at_mm - case.depth == pytest.approx(case.spare, abs=0.05)
    lowest = min(case.heights) - case.thick / 2.0
    assert lowest - made.grooves()[0].high_mm == pytest.approx(case.groove)
    assert len(found) == 2


@pytest.mark.parametrize(
    ("kerf", "clean", "leans", "border", "trim", "lost", "step", "erased"),
    [
        (3.0, 0.5, 45, 2.0, 3.0, "4.0", "4.0", "1.0"),
        (2.2, 0.4, 30, 1.0, 2.5, "3.0", "1.7", "1.5"),
        (1.6, 0.2, 60, 0.5, 1.0, "2.0", "3.5", "0.5"),
        (3.2, 0.0, 0, 3.5, 4.0, "3.2", "0.0", "0.5"),
    ],
)
def test_a_lid_cut_eats_the_pattern(
    kerf: float, clean: float, leans: float, border: float, trim: float, lost: str, step: str,
    erased: str,
) -> None:  # fmt: skip
    body = (
        f"box:\n  wall: 10 mm\n  height: 90 mm\n  inside: 200 mm x 150 mm\n  trim: {trim} mm\n"
        f"  lid: {{from base: 45 mm, kerf: {kerf} mm, clean up: {clean} mm}}\n  art outside:\n"
        f"    - {{name: vine, from base: 40 mm, to: 52 mm, leans: {leans} deg}}\n"
        f"    - {{name: border, from base: {border} mm, to: {border + 8} mm}}\n"
    )
    found = told(job(FIELD + body))
    border_ = only(found, "box-art-erased")
    assert border_.severity is Severity.MUST_FIX
    assert f"{erased} mm of it are erased" in border_.message
    assert f"`from base: {trim + 1.5:g} mm`" in border_.remedy
    vine = only(found, "box-lid-cut-through-art")
    assert vine.severity is Severity.WARNING
    assert f"takes {lost} mm of vine" in vine.message
    assert "cross it square still meet" in vine.message
    assert f"lean {leans} degrees step sideways by {step} mm, flatter ones by more" in vine.message
    assert f"`opened: {float(lost):g} mm`" in vine.remedy
    moved = number(vine.remedy, r"`from base: ([\d.]+) mm`")
    assert not 40 < moved + kerf / 2 + clean <= 52 + kerf + 2 * clean - 1e-6


# ---- Random boxes, cut up in plan and in height


@st.composite
def splined(draw: Draw) -> tuple[str, dict[str, Any]]:
    """Return a box with slots, grooves, a lid, hinges and art anywhere, and its figures."""
    wall = draw(mm(8, 18))
    bottom = draw(mm(2.5, wall - 2.5))
    thick = draw(mm(1, 5))
    first = draw(mm(5, 30))
    heights = [first, first + thick + draw(mm(2.1, 30))]
    lid = draw(mm(35, 70))
    figures = {
        "wall": wall,
        "bottom": (draw(mm(4, 9)), 3.0, bottom),
        "thick": thick,
        "depth": draw(mm(3, 26)),
        "heights": heights,
        "lid": (lid - 2.0, lid + 2.0),
        "hinge": (draw(mm(0, 60)), draw(mm(3, 40)), draw(mm(1, 7))),
        "art": (draw(mm(0, 40)), draw(mm(15, 50)), draw(mm(4, 30))),
    }
    low, wide, deep = figures["bottom"]
    begin, long, leaf = figures["hinge"]
    corner, art, high = figures["art"]
    body = (
        f"box:\n  wall: {wall} mm\n  height: 90 mm\n  inside: 240 mm x 150 mm\n"
        f"  bottom: {{from base: {low} mm, width: {wide} mm, depth: {deep} mm}}\n"
        f"  splines: {{heights: [{heights[0]:.2f} mm, {heights[1]:.2f} mm], "
        f"thickness: {thick} mm, depth: {figures['depth']} mm}}\n"
        f"  lid: {{from base: {lid} mm}}\n"
        f"  hinges: {{from corner: {begin} mm, length: {long} mm, leaf: {leaf} mm}}\n"
        f"  art outside: [{{name: vine, from base: {art} mm, to: {art + high:.2f} mm, "
        f"from corner: {corner} mm}}]\n"
    )
    return job(FIELD + body), figures


def meets(
    slot: BaseGeometry, plan: BaseGeometry, band: tuple[float, float], figures: dict[str, Any]
) -> bool:
    """Whether a slot meets something in plan and in height; cases too close to tell are left."""
    area = slot.intersection(plan).area
    assume(area == 0.0 or area > 1e-4)
    if area == 0.0:
        return False
    for at in figures["heights"]:
        over = min(at + figures["thick"] / 2, band[1]) - max(at - figures["thick"] / 2, band[0])
        assume(abs(over) > 1e-6)
        if over > 0.0:
            return True
    return False


@given(drawn=splined())
@settings(max_examples=examples(60), deadline=None)
def test_random_boxes_cut_up_in_plan(drawn: tuple[str, dict[str, Any]]) -> None:
    text, figures = drawn
    wall, depth = figures["wall"], figures["depth"]
    room = box(0.0, 0.0, 300.0, 300.0)
    slot = rotate(box(0.0, -500.0, depth, 500.0), 45.0, origin=(0.0, 0.0)).intersection(room)
    cavity = box(wall, wall, 300.0, 300.0)
    low, wide, deep = figures["bottom"]
    groove = box(wall - deep, wall - deep, 300.0, 300.0)
    begin, long, leaf = figures["hinge"]
    corner, art, high = figures["art"]
    lid = figures["lid"]
    cut = (
        meets(slot, groove, (low, low + wide), figures)
        or meets(slot, box(begin, 0.0, begin + long, leaf), (lid[0] - 8, lid[1] + 8), figures)
        or meets(slot, room, lid, figures)
        or meets(slot, room, (89.999, 200.0), figures)
        or meets(slot, room, (-99.0, 0.001), figures)
    )
    through = slot.intersection(cavity).area > 0.0
    inlaid = meets(slot, box(corner, 0.0, 300.0, 0.01), (art, art + high), figures)
    joint = begin < wall + 3.0 or begin + long > (240.0 + 2.0 * wall) / 2.0 - 2.5
    lost = min(lid[1], art + high) - max(lid[0], art)
    gone = lid[0] <= art and art + high <= lid[1]
    # what is lost of a drawing is told from half a tenth of a millimetre on
    assume(abs(lost) > 0.1)
    found = codes(text)
    assert ("box-spline-breaks-through" in found) == through
    assert ("box-spline-in-cut" in found) == cut
    assert ("box-spline-in-inlay" in found) == inlaid
    assert ("box-hinge-over-joint" in found) == joint
    assert ("box-lid-cut-through-art" in found) == (lost > 0.0 and not gone)
    assert ("box-art-erased" in found) == gone
    assert ("box-lid-cut-in-groove" in found) == (lid[0] < low + wide + 1.0)


# ---- Impossible boxes, and what their remedies come to


def weights(text: str) -> dict[tuple[str, str], int]:
    heavy = {Severity.NOTE: 0, Severity.WARNING: 1, Severity.MUST_FIX: 2}
    return {(each.code, each.subject): heavy[each.severity] for each in told(text)}


def keys_in(said: str) -> dict[str, str]:
    """Return the keys a remedy writes out, with their values."""
    return dict(re.findall(r"`([a-z ]+): ([\d.]+ mm(?: x [\d.]+ mm)?)`", said))


def without_inside(text: str) -> str:
    return re.sub(r"  inside: .*\n", "", text)


def fits(text: str, finding: Finding) -> list[str]:
    return [changed(text, "box.inside", keys_in(finding.remedy)["inside"]), without_inside(text)]


def stays(text: str, finding: Finding) -> list[str]:
    keys = keys_in(finding.remedy)
    if "inside" in keys:
        return fits(text, finding)
    if "wall" in keys:
        text = changed(text, "box.wall", keys["wall"])
    text = changed(text, "box.board.depth", keys["depth"])
    return [without_inside(text) if "leave `inside` out" in finding.remedy else text]


def thinner(text: str, finding: Finding) -> list[str]:
    size, deep = re.findall(r"size: ([\d.]+ mm), depth: ([\d.]+ mm)", finding.remedy)[0]
    edge = f"front: {{edges: [{{shape: rebate, size: {size}, depth: {deep}}}], "
    ways = [text.replace("front: {", edge)]
    keys = keys_in(finding.remedy)
    return [*ways, changed(text, "box.board.width", keys["width"])] if "width" in keys else ways


def shallower(text: str, finding: Finding) -> list[str]:
    ways = []
    keys = keys_in(finding.remedy)
    if "from corner" in keys:
        ways.append(changed(text, "box.art outside.vine.from corner", keys["from corner"]))
    if "depth" in keys:
        ways.append(changed(text, "box.splines.depth", keys["depth"]))
    return ways


def elsewhere(text: str, finding: Finding) -> list[str]:
    at = number(finding.message, r"spline at ([\d.]+) mm")
    place = keys_in(finding.remedy).get("heights")
    heights = re.findall(r"heights: \[([^\]]*)\]", text)[0].split(", ")
    kept = [each for each in heights if float(each.split()[0]) != at]
    kept += [place] if place else []
    return [text.replace(", ".join(heights), ", ".join(kept))] if kept else []


def cut_elsewhere(text: str, finding: Finding) -> list[str]:
    keys = keys_in(finding.remedy)
    ways = []
    if "opened" in keys:
        ways.append(changed(text, "box.art outside.vine.opened", keys["opened"]))
    if "from base" in keys:
        ways.append(changed(text, "box.lid.from base", keys["from base"]))
    return ways


def written_in(group: str) -> Callable[[str, Finding], list[str]]:
    """Return how a remedy is obeyed that writes keys of one group, all at once."""

    def obey(text: str, finding: Finding) -> list[str]:
        keys = keys_in(finding.remedy)
        for key, value in keys.items():
            text = changed(text, f"{group}.{key}", value)
        return [text] if keys else []

    return obey


def recessed(text: str, finding: Finding) -> list[str]:
    leaf = keys_in(finding.remedy).get("leaf")
    if leaf is None:
        return cut_elsewhere(text, finding)
    return [changed(text, f"box.{finding.subject}.leaf", leaf)]


OBEYED: dict[str, Callable[[str, Finding], list[str]]] = {
    "box-board-too-large": fits,
    "box-board-falls-out": stays,
    "box-board-too-thick": thinner,
    "box-spline-in-inlay": shallower,
    "box-spline-near-inlay": shallower,
    "box-spline-breaks-through": shallower,
    "box-spline-in-cut": elsewhere,
    "box-spline-near-cut": elsewhere,
    "box-lid-cut-in-groove": cut_elsewhere,
    "box-lid-cut-through-art": cut_elsewhere,
    "box-art-erased": written_in("box.art outside.vine"),
    "box-art-near-edge": written_in("box.art outside.vine"),
    "box-hinge-over-joint": written_in("box.hinges"),
    "box-recess-in-art": written_in("box.art outside.vine"),
    "box-recess-in-groove": recessed,
}
"""For each finding its remedy taken, one text for each way it names."""


def hold_remedies(text: str, seen: set[str]) -> None:
    """Hold that what is done as told ends what it is told for, and brings nothing as grave.

    A slot that ran into a cut and now only comes near it is the same trouble, made less.
    """
    before = weights(text)
    gravest: dict[str, int] = {}
    for (_, subject), weight in before.items():
        gravest[subject] = max(weight, gravest.get(subject, 0))
    for finding in told(text):
        for new in OBEYED[finding.code](text, finding):
            after = weights(new)
            key = (finding.code, finding.subject)
            assert after.get(key, 0) == 0, (finding, new)
            mine = before[key]
            raised = {
                each
                for each, weight in after.items()
                if weight >= mine and each not in before and weight >= gravest.get(each[1], 0)
            }
            assert not raised, (finding, raised, new)
            seen.add(finding.code)


SHOWING_LESS = """\
box:
  wall: 8.0 mm
  height: 90 mm
  inside: 240 mm x 150 mm
  bottom: {from base: 4.0 mm, width: 3.0 mm, depth: 2.5 mm}
  splines: {heights: [7.00 mm, 25.39 mm], thickness: 1.9 mm, depth: 18.96 mm}
  lid: {from base: 35.0 mm}
  hinges: {from corner: 0.0 mm, length: 3.0 mm, leaf: 1.0 mm}
  art outside: [{name: vine, from base: 27.26 mm, to: 31.26 mm, from corner: 3.62 mm}]
"""
"""Shallower slots clear the inlay, and only come near the groove that they ran into before."""


@given(drawn=splined(), trim=mm(0.0, 2.0))
@example(drawn=(job(FIELD + SHOWING_LESS), {}), trim=1.13)
@settings(max_examples=examples(25), deadline=None)
def test_a_remedy_obeyed_takes_its_finding_away(
    drawn: tuple[str, dict[str, Any]], trim: float
) -> None:
    text = drawn[0].replace("  height:", f"  trim: {trim} mm\n  height:")
    hold_remedies(text, set())


@st.composite
def holding(draw: Draw) -> str:
    """Return a box made around a board of any wood, cut to any size."""
    wide, across = draw(mm(60, 300)), draw(mm(50, 260))
    inside = ""
    if draw(st.booleans()):
        off = draw(mm(-12, 6))
        inside = f"  inside: {wide + off:.1f} mm x {across + off:.1f} mm\n"
    wood = draw(st.sampled_from(["sugar maple", "black cherry"]))
    how = draw(st.sampled_from(["in a groove", "in a rebate", "loose"]))
    grain = draw(st.sampled_from(["along the length", "along the width"]))
    wall = draw(mm(9, 14))
    body = (
        f"trim line: {{rectangle: {wide} mm x {across} mm, tabs: 4}}\n{FIELD}"
        f"box:\n  wall: {wall} mm\n  height: 60 mm\n{inside}"
        f"  board: {{held: {how}, from base: 30 mm, width: {draw(mm(4, 18))} mm, "
        f"depth: {draw(mm(1, 6.9))} mm}}\n"
    )
    text = job(body, wood=wood, length=round(wide + 40, 2), width=round(across + 40, 2))
    return text.replace("thickness: 16 mm}", f"thickness: 16 mm, grain: {grain}}}")


@given(text=holding())
@settings(max_examples=examples(20), deadline=None)
def test_a_board_that_fits_its_box_can_go_in_and_stays(text: str) -> None:
    """Sizes added up the other way round: from the outside of the box inwards."""
    made = boxed(text)
    board, held = made.board, made.box.board
    assert board is not None
    assert held is not None
    hold_remedies(text, set())
    if {"box-board-too-large", "box-board-falls-out"} & set(codes(text)):
        return
    into = 0.0 if held.how == "loose" else held.depth_mm
    for out, size, grows, shrinks in zip(
        made.outside_mm, board.size_mm, board.grows_mm, board.shrinks_mm, strict=True
    ):
        room = out - 2.0 * made.box.wall_mm + 2.0 * into
        assert size + grows <= room + 0.11
        if into:
            other_side = out / 2 - made.box.wall_mm - (size - shrinks - room / 2)
            assert other_side <= -1.0 + 1e-6


def test_each_impossible_box_was_met_and_mended() -> None:
    faulty = {
        "box-board-too-large": holds(120, 90, "depth: 4 mm", "inside: 100 mm x 80 mm"),
        "box-board-falls-out": holds(250, 240, "depth: 1 mm"),
        "box-board-too-thick": holds(120, 90, "depth: 4 mm, width: 5 mm"),
        "box-hinge-over-joint": sides("hinges: {from corner: 6 mm, length: 30 mm}"),
        "box-spline-in-inlay": sides("art outside: [{name: vine, from base: 20 mm, to: 60 mm, "
                                     "from corner: 9 mm, opened: 4 mm}]"),
        "box-spline-near-inlay": sides("art outside: [{name: vine, from base: 20 mm, to: 60 mm, "
                                       "from corner: 13 mm, opened: 4 mm}]"),
        "box-spline-breaks-through": sides("trim: 0 mm").replace("depth: 9 mm", "depth: 15 mm"),
        "box-spline-in-cut": sides("trim: 0 mm").replace("30 mm]", "44 mm]"),
        "box-spline-near-cut": sides("trim: 0 mm").replace("30 mm]", "40 mm]"),
        "box-lid-cut-in-groove": sides("trim: 0 mm").replace("from base: 6", "from base: 42"),
        "box-lid-cut-through-art": sides("art outside: [{name: vine, from base: 40 mm, "
                                         "to: 52 mm, from corner: 20 mm}]"),
        "box-art-erased": sides("trim: 3 mm\n  art outside: [{name: vine, from base: 2 mm, "
                                "to: 9 mm, from corner: 20 mm}]"),
        "box-art-near-edge": sides("trim: 3 mm\n  art outside: [{name: vine, from base: 4 mm, "
                                   "to: 9 mm, from corner: 20 mm}]"),
    }  # fmt: skip
    beside = sides("art outside: [{name: vine, from base: 15 mm, to: 28 mm, from corner: 6 mm}]")
    beside = beside.replace("from base: 6 mm", "from base: 9 mm")
    faulty["box-spline-in-cut beside inlay"] = beside.replace("[16 mm, 30 mm]", "[12.8 mm]")
    for code, text in faulty.items():
        met: set[str] = set()
        assert code.split()[0] in codes(text), (code, codes(text))
        hold_remedies(text, met)
        assert code.split()[0] in met


def holds(wide: float, across: float, how: str, more: str = "trim: 0 mm") -> str:
    body = (
        f"trim line: {{rectangle: {wide} mm x {across} mm, tabs: 4}}\n{FIELD}"
        "box:\n  wall: 10 mm\n  height: 60 mm\n"
        f"  board: {{from base: 30 mm, {how}}}\n  {more}\n"
    )
    return job(body, length=wide + 40, width=across + 40)


def sides(more: str) -> str:
    body = (
        f"{FIELD}box:\n  wall: 10 mm\n  height: 80 mm\n  inside: 200 mm x 150 mm\n"
        "  bottom: {from base: 6 mm, width: 3 mm, depth: 5 mm}\n"
        "  splines: {heights: [16 mm, 30 mm], thickness: 3 mm, depth: 9 mm}\n"
        f"  lid: {{from base: 45 mm}}\n  {more}\n"
    )
    return job(body)


# ---- What is refused while it is read, and parts


@pytest.mark.parametrize(
    ("lines", "slip"),
    [
        ("wall: 10 mm\n  height: 60 mm", "key-missing"),
        ("wall: 10 mm\n  height: 60 mm\n  board: {held: in a groove}", "key-missing"),
        ("wall: 6 mm\n  height: 60 mm\n  board: {from base: 40 mm}", "value-out-of-range"),
        ("wall: 10 mm\n  height: 60 mm\n  board: {from base: 56 mm}", "value-out-of-range"),
        ("wall: 10 mm\n  height: 60 mm\n  board: loose\n  hinges: {from corner: 30 mm, "
         "length: 30 mm}", "key-out-of-place"),
        ("wall: 10 mm\n  height: 60 mm\n  board: loose\n  walls lean: 10 deg\n  "
         "lid: {from base: 30 mm}", "key-out-of-place"),
        ("wall: 10 mm\n  height: 60 mm\n  board: loose\n  lid: {from base: 59 mm}",
         "value-out-of-range"),
        ("wall: 10 mm\n  height: 60 mm\n  board: loose\n  splines: {heights: [20 mm, 22 mm]}",
         "value-out-of-range"),
        ("wall: 10 mm\n  height: 60 mm\n  board: loose\n  feet: {diameter: 9 mm, "
         "from corner: 20 mm}", "value-out-of-range"),
    ],
)  # fmt: skip
def test_slips_are_told_where_they_stand(lines: str, slip: str) -> None:
    with pytest.raises(JobRefusedError) as refused:
        boxed(job(f"{FIELD}box:\n  {lines}\n"))
    assert [each.code for each in refused.value.findings] == [slip]
    assert "box" in str(refused.value.findings[0].source)


def test_what_just_fits_by_its_decimals_is_no_slip() -> None:
    """14.09 - 9.8 is a little less than 4.29 in binary, and 8.9 - 2 a little off 6.9."""
    lines = (
        "wall: 8.9 mm\n  height: 60 mm\n  board: {held: in a rebate, from base: 40 mm, "
        "depth: 6.9 mm}\n  splines: {heights: [9.8 mm, 14.09 mm], thickness: 2.29 mm}"
    )
    assert boxed(job(f"{FIELD}box:\n  {lines}\n")).box.wall_mm == 8.9


def test_walls_come_out_of_one_length_or_each_by_itself() -> None:
    text = job(f"{FIELD}box: {{wall: 10 mm, height: 60 mm, inside: 200 mm x 150 mm}}\n")
    build = begun(text)
    (run,) = box_parts(build.job, box_of_build(build))
    # by hand: 2 (220 + 170), 2 mm over for each, three cuts of 3 mm; 30 and 6 mm more as rough
    assert run.finished_mm == pytest.approx((797.0, 60.0, 10.0))
    assert (run.part.along_mm, run.part.across_mm) == pytest.approx((827.0, 66.0))
    each = begun(text.replace("150 mm}", "150 mm, grain: each wall by itself}"))
    parts = box_parts(each.job, box_of_build(each))
    assert [part.finished_mm[0] for part in parts] == pytest.approx([222.0, 172.0])


def test_walls_longer_than_every_board() -> None:
    """One finding; a board as long as it says holds them, and so do walls sawn each by itself."""
    text = job(
        f"{FIELD}box: {{wall: 10 mm, height: 60 mm, inside: 200 mm x 150 mm}}\ncut list: "
        "{boards: [{name: A, length: 600 mm, width: 90 mm, thickness: 18 mm, count: 4}, "
        "{name: B, length: 300 mm, width: 90 mm, thickness: 24 mm}]}\n"
    )
    (finding,) = boards_too_few(begun(text))
    assert finding.code == "boards-too-few"
    assert "1 of box walls in one length (827 mm x 66 mm sawn)" in finding.message
    long = number(finding.remedy, r"at least ([\d.]+) mm long")
    assert "`grain: each wall by itself`" in finding.remedy
    assert not [*boards_too_few(begun(text.replace("600 mm", f"{long} mm")))]
    apart = text.replace("150 mm}", "150 mm, grain: each wall by itself}")
    assert not [*boards_too_few(begun(apart))]
    (wall,) = boards_too_few(begun(apart.replace("600 mm", "240 mm")))
    assert "at least 252 mm long" in wall.remedy
    assert not [*boards_too_few(begun(apart.replace("600 mm", "252 mm")))]


def test_leaning_walls() -> None:
    made = boxed(
        job(f"{FIELD}box: {{wall: 10 mm, height: 60 mm, board: loose, walls lean: 15 deg}}\n")
    )
    # pitch 75 from flat; the walls are 10 / cos 15 thick along the table, 60 tan 15 wider on top
    assert made.outside_mm[0] == pytest.approx(made.inside_mm[0] + 20.706, abs=1e-3)
    assert made.longest_mm[0] == pytest.approx(made.outside_mm[0] + 32.154, abs=1e-3)
