"""Pieces of a box as parts of its job: sizes, recesses as cut, lids, dividers, what meets what."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.checks.expected_box import box_of_build
from flushwork.checks.fixes.fix import applied
from flushwork.checks.fixes.propose import fixes_for, question
from flushwork.checks.rules.board.box_recess_rules import divider_findings
from flushwork.checks.rules.board.box_rules import box_findings
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.job.read import read_job
from flushwork.job.records import BoxPiece
from flushwork.job.text.dump import resolved_text
from flushwork.pipeline import build, part_drawn
from flushwork.process.stages import StageKind
from flushwork.views.box.box_views import box_view
from flushwork.views.figures import Lengths
from flushwork.wood.box_dividers import divided_mm, dividers_mm, headroom_mm
from flushwork.wood.box_stock import box_parts
from flushwork.wood.dyeing import dye_recipes
from tests.checks.hearing import written
from tests.checks.test_remedies_obeyed import mm
from tests.gcode import second_reader
from tests.many import examples
from tests.scenarios.texts import job
from tests.truth.test_compound_mitre import FOUR
from tests.wood.test_box import begun, boxed

Draw = Callable[[st.SearchStrategy[Any]], Any]
PEGS = "front: {holes: [{name: peg, points: [[0 mm, 0 mm]], diameter: 3.175 mm, depth: 4 mm}]}\n"
FIELD = "front: {inlays: [{name: field, rectangle: 20 mm x 10 mm, depth: 2 mm, fill: navy}]}\n"
PARTS = (
    "parts:\n  back: {of the box: wall A}\n  side: {of the box: wall C}\n"
    "  foot: {of the box: lower edge A}\n"
)


def box_text(more: str, inside: str = "160 mm x 120 mm", wall: str = "12 mm") -> str:
    return f"box:\n  wall: {wall}\n  height: 70 mm\n  inside: {inside}\n{more}"


LET_IN = (
    "  bottom: {from base: 6 mm, depth: 5 mm}\n  lid: {from base: 40 mm}\n"
    "  hinges: {from corner: 25 mm, length: 30 mm, leaf: 6 mm, recess: 2 mm}\n"
    "  catch: {length: 20 mm}\n  feet: {diameter: 8 mm, from corner: 25 mm}\n"
)


def part(made: Build, name: str) -> Build:
    return next(each for each in made.each if each.job.part == name)


# ---- Recesses as they are cut


@st.composite
def let_in(draw: Draw) -> tuple[str, dict[str, Any]]:
    """Return a box with hinges, catch and feet, sizes metric or in inches, and its figures."""
    inch = draw(st.booleans())

    def say(value_mm: float) -> str:
        return f"{value_mm / 25.4:.6f} in" if inch else f"{value_mm:.2f} mm"

    wall = draw(mm(9.0, 20.0))
    figures = {
        "wall": wall,
        "trim": draw(mm(0.0, 1.0)),
        "lid": (draw(mm(32.0, 45.0)), draw(mm(1.0, 4.0)), draw(mm(0.0, 0.8))),
        "hinge": (draw(mm(25.0, 30.0)), draw(mm(20.0, 40.0)), draw(mm(3.0, wall - 3.0)),
                  draw(mm(1.0, 3.0))),
        "catch": (draw(mm(12.0, 30.0)), draw(mm(3.0, wall - 3.0)), draw(mm(1.0, 3.0))),
        "foot": (draw(mm(4.0, wall - 3.0)), draw(mm(26.0, 40.0)), draw(mm(1.0, 4.0))),
    }  # fmt: skip
    at, kerf, clean = map(say, figures["lid"])
    corner, long, leaf, deep = map(say, figures["hinge"])
    catch, catch_leaf, catch_deep = map(say, figures["catch"])
    foot, foot_at, foot_deep = map(say, figures["foot"])
    text = box_text(
        f"  trim: {say(figures['trim'])}\n"
        f"  lid: {{from base: {at}, kerf: {kerf}, clean up: {clean}}}\n"
        f"  hinges: {{from corner: {corner}, length: {long}, leaf: {leaf}, recess: {deep}}}\n"
        f"  catch: {{length: {catch}, leaf: {catch_leaf}, recess: {catch_deep}}}\n"
        f"  feet: {{diameter: {foot}, from corner: {foot_at}, recess: {foot_deep}}}\n",
        wall=say(wall),
    )
    return job(PEGS + text + PARTS), figures


@given(drawn=let_in())
@settings(max_examples=examples(2), deadline=None)
def test_recesses_are_cut_as_their_closed_forms_say(
    tmp_path_factory: pytest.TempPathFactory, drawn: tuple[str, dict[str, Any]]
) -> None:
    """A rectangle less what the bit leaves in its corners, (4 - pi) r^2; a disc pi d^2 / 4."""
    text, figures = drawn
    path = written(tmp_path_factory.mktemp("pieces"), text)
    made = build(path, check=False, cell_mm=0.1)
    at, kerf, clean = figures["lid"]
    lost = kerf + 2.0 * clean
    _, long, leaf, deep = figures["hinge"]
    catch, catch_leaf, catch_deep = figures["catch"]
    foot, _, foot_deep = figures["foot"]
    wanted = {
        "back": (2, long * (lost + 2.0 * deep), leaf, False),
        "side": (1, catch * (lost + 2.0 * catch_deep), catch_leaf, False),
        "foot": (2, math.pi * foot**2 / 4.0, figures["trim"] + foot_deep, True),
    }
    for name, (count, area, depth, disc) in wanted.items():
        own = part(made, name)
        assert [each.kind for each in own.plan.stages] == [StageKind.SHAPE]
        radius = min(file.order.bit.diameter_mm for file in own.gcode_files) / 2.0
        kept = 0.0 if disc else (4.0 - math.pi) * radius**2
        removed = float(sum(cut.removed_mm3.sum() for cut in own.replay.cuts))
        assert removed == pytest.approx(count * (area - kept) * depth, rel=0.01), name
        lowest = min(
            z
            for file in own.gcode_files
            for kind, _, _, z in second_reader.read(file.text)
            if kind != "rapid"
        )
        assert lowest == pytest.approx(-depth, abs=0.002)
    back = part(made, "back").job
    middles = [art.placement.y_mm for pocket in back.pockets for art in pocket.artwork]
    assert middles == pytest.approx([at - 35.0] * 2, abs=1e-4)
    assert back.blank.thickness_mm == pytest.approx(figures["wall"], abs=1e-4)
    foot_job = part(made, "foot").job
    assert foot_job.blank.width_mm == pytest.approx(figures["wall"], abs=1e-4)
    assert foot_job.blank.thickness_mm == pytest.approx(70.0)


def test_a_wall_with_inlay_is_thicker_as_sawn_and_its_wood_is_the_boxs(tmp_path: Path) -> None:
    inlaid = (
        "parts:\n  back:\n    of the box: wall A\n    front: {inlays: [{name: vine, "
        "rectangle: 40 mm x 6 mm, at: [0 mm, -20 mm], depth: 1.5 mm, fill: navy}]}\n"
    )
    made = build(written(tmp_path, job(FIELD + box_text(LET_IN) + inlaid)), check=False)
    own = part(made, "back")
    blank = own.job.blank
    assert blank.thickness_mm + sum(each.finished_mm for each in own.plan.planes) == pytest.approx(
        12.0
    )
    assert blank.thickness_mm > 12.5
    assert (blank.length_mm, blank.width_mm) == pytest.approx((184.0, 70.0))
    boxes = box_of_build(made)
    assert boxes is not None
    assert blank.length_mm == boxes.longest_mm[0]
    assert own.job.sawn_for_box
    assert StageKind.FINISH not in [each.kind for each in own.plan.stages]


def test_the_book_tells_which_recesses_are_cut_on_the_machine() -> None:
    view = box_view(begun(job(FIELD + box_text(LET_IN) + PARTS)), Lengths("metric"))
    assert view is not None
    said = " ".join(view.cuts)
    assert "wall A (part back) lies outer face up, base near" in said
    assert "lower edge A (part foot) stands in a fence or vice" in said
    assert "Hinges on A: the recesses are there, cut as part back." in said
    assert "Catch on C: the recesses are there, cut as part side." in said
    assert "Feet under C: holes" in said
    alone = box_view(begun(job(FIELD + box_text(LET_IN))), Lengths("metric"))
    assert alone is not None
    assert "Hinges on A: recess 2.0" in " ".join(alone.cuts).replace("\N{NO-BREAK SPACE}", " ")


# ---- What recesses may not meet, and the fix that takes it away


def told(made: Build) -> tuple[Finding, ...]:
    return run_checks(made)


def codes(text: str, folder: Path, name: str) -> list[str]:
    made = build(written(folder, text), check=False)
    return [each.code for each in told(part(made, name))]


def test_a_leaf_as_wide_as_the_wall_asks_for_a_narrower_one(tmp_path: Path) -> None:
    text = job(PEGS + box_text(LET_IN.replace("leaf: 6 mm", "leaf: 11.6 mm")) + PARTS)
    text = text.replace("bottom: {from base: 6 mm, depth: 5 mm}", "trim: 0 mm")
    made = build(written(tmp_path, text), check=False)
    own = part(made, "back")
    found = [each for each in told(own) if each.code == "floor-through"]
    assert [each.subject for each in found] == ["hinges"]
    fix = fixes_for(question(found[0], own.job, own.faces, ()))[0]
    assert [edit.path for edit in fix.edits] == [("box", "hinges", "leaf")]
    assert "floor-through" not in codes(applied(text, fix), tmp_path / "after", "back")


def test_a_recess_through_an_inlay_of_its_wall_must_be_fixed(tmp_path: Path) -> None:
    vine = (
        "parts:\n  back:\n    of the box: wall A\n    front: {inlays: [{name: vine, "
        "rectangle: 160 mm x 6 mm, at: [0 mm, %s mm], depth: 1.5 mm, fill: navy}]}\n"
    )
    text = PEGS + box_text(LET_IN)
    assert "pocket-cuts-inlay" in codes(job(text + vine % "5"), tmp_path / "on", "back")
    assert "pocket-cuts-inlay" not in codes(job(text + vine % "20"), tmp_path / "away", "back")


@st.composite
def meeting(draw: Draw) -> str:
    """Return a box whose recesses may meet a groove or the art outside."""
    wall, lid = draw(mm(9.0, 16.0)), draw(mm(25.0, 45.0))
    groove, low = draw(mm(1.0, wall - 2.5)), draw(mm(4.0, 22.0))
    art, leaf = draw(mm(10.0, 55.0)), draw(mm(1.0, wall - 1.0))
    recess = draw(mm(0.5, 4.0))
    return job(
        FIELD
        + box_text(
            f"  bottom: {{from base: {low} mm, depth: {groove} mm}}\n"
            f"  lid: {{from base: {lid} mm, kerf: 2 mm}}\n"
            f"  hinges: {{from corner: 25 mm, length: 30 mm, leaf: {leaf} mm, "
            f"recess: {recess} mm, screws: 2 mm}}\n"
            f"  catch: {{length: 20 mm, leaf: {leaf} mm, recess: {recess} mm}}\n"
            f"  art outside: [{{name: vine, from base: {art} mm, to: {art + 8:.2f} mm, "
            "from corner: 20 mm, opened: 3 mm}]\n",
            wall=f"{wall} mm",
        )
    )


def after(text: str, finding: Finding) -> str:
    """Return the text with a finding's first fix written in, where it has any."""
    made = begun(text)
    fixes = fixes_for(question(finding, made.job, made.faces, ()))
    return applied(text, fixes[0]) if fixes else text


@given(text=meeting())
@settings(max_examples=examples(25), deadline=None)
def test_recesses_that_meet_grooves_or_art_are_told_once_and_mended(text: str) -> None:
    """By boxes in the wall's own section: heights up, depths in from outside."""
    made = boxed(text)
    box = made.box
    assert box.lid is not None
    assert box.bottom is not None
    assert box.hinges is not None
    found = list(box_findings(made))
    low = box.lid.low_mm - box.hinges.recess_mm
    high = box.lid.high_mm + box.hinges.recess_mm
    top = box.bottom.from_base_mm + box.bottom.width_mm
    near = low < top + 1.0
    thin = box.hinges.leaf_mm + box.bottom.depth_mm > box.wall_mm - 1.0 + 1e-6
    cut = box.lid.low_mm < top + 1.0
    in_groove = [each for each in found if each.code == "box-recess-in-groove"]
    assert {each.subject for each in in_groove} == (
        {"hinges", "catch"} if near and thin and not cut else set()
    )
    art = box.art[0]
    over = min(high, art.to_mm) - max(low, art.from_base_mm)
    in_art = [each for each in found if each.code == "box-recess-in-art"]
    if abs(over - 0.05) > 1e-3:
        assert len(in_art) == (2 if over > 0.05 else 0)
    for finding in (*in_groove[:1], *in_art[:1]):
        new = after(text, finding)
        left = [each for each in box_findings(boxed(new)) if each.code == finding.code]
        assert finding.subject not in {each.subject for each in left} or new == text


# ---- A lid sized by its box


@given(
    inside=st.tuples(mm(80.0, 400.0), mm(60.0, 300.0)),
    deep=mm(2.0, 6.0),
    play=mm(0.2, 1.5),
    overhang=mm(0.0, 6.0),
    rebate=st.booleans(),
    wood=st.sampled_from(["sugar maple", "black cherry"]),
)
@settings(max_examples=examples(12), deadline=None)
def test_a_lid_has_the_size_that_its_box_asks_for(
    inside: tuple[float, float], deep: float, play: float, overhang: float, rebate: bool, wood: str
) -> None:
    lies = (
        f"{{lies: in a rebate, from base: 60 mm, depth: {deep} mm, play: {play} mm}}"
        if rebate
        else f"{{lies: on top, overhang: {overhang} mm}}"
    )
    size = f"{inside[0]} mm x {inside[1]} mm"
    lid = (
        f"parts:\n  top: {{of the box: {{piece: lid, thickness: 9 mm, waste: 10 mm, wood: {wood}}},"
        " front: {holes: [{name: hole, points: [[0 mm, 0 mm]], diameter: 3.175 mm, "
        "depth: 3 mm}]}}\n"
    )
    made = begun(job(PEGS + box_text(f"  lid panel: {lies}\n", inside=size) + lid))
    boxes = box_of_build(made)
    assert boxes is not None
    sized, faces = part_drawn(made, made.job.parts[0])
    west, south, east, north = faces[0].trim.bounds
    for lid_mm, clear, out, free in zip(
        (east - west, north - south), inside, boxes.outside_mm, boxes.lid_free_mm, strict=True
    ):
        if rebate:
            assert lid_mm + 2.0 * free == pytest.approx(clear + 2.0 * deep)
            assert free >= play - 1e-9
            grown = lid_mm * (1.0 + boxes.lid_grows) if free > play + 1e-9 else lid_mm
            assert grown <= clear + 2.0 * deep + 1e-6
        else:
            assert lid_mm == pytest.approx(out + 2.0 * overhang)
    assert sized.blank.length_mm == pytest.approx(east - west + 20.0)
    assert sized.blank.wood.name == wood
    assert sized.blank.thickness_mm == 9.0
    assert sized.blank.grain_along_x == (inside[0] >= inside[1])


def test_a_piece_that_the_box_does_not_have_is_a_slip(tmp_path: Path) -> None:
    lid = "parts: {top: {of the box: {piece: lid, thickness: 9 mm}}}\n"
    for text, code in (
        (PEGS + lid, "name-unknown"),
        (PEGS + box_text("") + lid, "name-unknown"),
        (PEGS + box_text("") + "parts: {top: {of the box: lid}}\n", "key-missing"),
        (PEGS + box_text("") + "of the box: wall A\n", "keys-clash"),
        (PEGS + box_text("") + "parts: {a: {of the box: {piece: wall A, wood: ash}}}\n",
         "key-out-of-place"),
    ):  # fmt: skip
        with pytest.raises(JobRefusedError) as refused:
            read_job(written(tmp_path, job(text)))
        assert code in {each.code for each in refused.value.findings}


def test_pieces_lid_and_dividers_as_understood_read_back(tmp_path: Path) -> None:
    body = box_text(
        LET_IN + "  splines: {heights: [20 mm], depth: 6 mm, match: navy}\n"
        "  lid panel: {lies: in a rebate, from base: 62 mm}\n"
        "  dividers: {along: 1, across: 2, height: 20 mm, groove: 2 mm}\n"
    )
    path = written(tmp_path, job(FIELD + body + PARTS))
    first = read_job(path)
    path.write_text(resolved_text(first), "utf-8")
    again = read_job(path)
    assert first.box is not None
    assert again.box is not None
    assert again.box.dividers == first.box.dividers
    assert again.box.lid_panel is not None
    assert again.box.splines is not None
    assert again.box.splines.match == again.mixes[0]
    assert [each.of_box and each.of_box.piece for each in again.parts] == [
        BoxPiece.WALL_A, BoxPiece.WALL_C, BoxPiece.EDGE_A,
    ]  # fmt: skip


# ---- Dividers


@st.composite
def divided(draw: Draw) -> str:
    """Return a box with dividers of any number, sizes metric or in inches, that may not go in."""
    inch = draw(st.booleans())

    def say(value_mm: float) -> str:
        return f"{value_mm / 25.4:.6f} in" if inch else f"{value_mm:.2f} mm"

    wall = draw(mm(4.0, 25.0))
    along = draw(st.integers(0, 4))
    across = draw(st.integers(0 if along else 1, 6))
    groove = draw(st.sampled_from([0.0, round(wall / 3.0, 2)]))
    groove = min(groove, wall - 2.1)
    body = (
        f"  bottom: {{from base: {say(6.0)}, depth: {say(min(3.0, wall - 2.1))}}}\n"
        f"  dividers: {{along: {along}, across: {across}, thickness: {say(draw(mm(2.0, 8.0)))}, "
        f"height: {say(draw(mm(5.0, 80.0)))}, groove: {say(groove)}}}\n"
    )
    inside = f"{say(draw(mm(60.0, 300.0)))} x {say(draw(mm(40.0, 200.0)))}"
    loose = (
        f"loose parts: [{{name: pegs, wood: sugar maple, count: 3, across: {say(4.0)}, "
        f"length: {say(draw(mm(15.0, 60.0)))}}}]\n"
    )
    return job(PEGS + box_text(body, inside=inside, wall=say(wall)) + loose)


@given(text=divided())
@settings(max_examples=examples(25), deadline=None)
def test_dividers_fill_the_inside_and_their_fixes_mend(text: str) -> None:
    made = begun(text)
    boxes = box_of_build(made)
    assert boxes is not None
    dividers = boxes.box.dividers
    assert dividers is not None
    found = list(divider_findings(boxes, made.job))
    rooms = divided_mm(boxes)
    counts = (dividers.across, dividers.along)
    for inside, room, count in zip(boxes.inside_mm, rooms, counts, strict=True):
        assert room * (count + 1) + count * dividers.thickness_mm == pytest.approx(inside)
    for (_, long, _), inside in zip(dividers_mm(boxes), boxes.inside_mm, strict=True):
        ends = long + 2.0 * dividers.play_mm - 2.0 * dividers.groove_mm
        assert ends == pytest.approx(inside)
    wanted = [each for each in box_parts(made.job, boxes) if each.part.name.startswith("divider")]
    assert sum(each.part.count for each in wanted) == sum(counts)
    for each in wanted:
        assert min(each.finished_mm) > 0.0
        assert each.finished_mm[1:] == (dividers.height_mm, dividers.thickness_mm)
    peg = max(made.job.loose_parts[0].long_mm or 0.0, 15.0)
    codes = {each.code for each in found}
    assert ("box-dividers-too-high" in codes) == (dividers.height_mm > headroom_mm(boxes) + 1e-6)
    small = max(rooms) < peg - 1e-6 or min(rooms) < 15.0 - 1e-6
    assert ("box-rooms-too-small" in codes) == small
    view = box_view(made, Lengths("metric"))
    assert view is not None
    for finding in found:
        new = after(text, finding)
        if new == text:
            assert "Leave the dividers out" in finding.remedy
            continue
        again = begun(new)
        held = box_of_build(again)
        assert held is not None
        left = {each.code for each in divider_findings(held, again.job)}
        assert finding.code not in left
        assert left <= codes


def test_dividers_by_hand_are_in_the_cuts_and_the_pictures() -> None:
    """160 by 120 inside: across two of 4 mm leave rooms of 50.67, along one leaves 58."""
    dividers = "  dividers: {along: 1, across: 2, height: 20 mm, groove: 2 mm}\n"
    made = begun(job(FIELD + box_text(f"  board: loose\n{LET_IN}{dividers}", "160 mm x 120 mm")))
    view = box_view(made, Lengths("metric"))
    assert view is not None
    said = " ".join(view.cuts)
    for words in (
        "Dividers along: 1 of 163.4 \N{MULTIPLICATION SIGN} 20.0 \N{MULTIPLICATION SIGN} 4.0 mm",
        "their middles 60.0 mm from the inner corner",
        "Dividers across: 2 of 123.4",
        "their middles 52.7 and 107.3 mm",
        "deep, from above in those along, their middles 54.4 and 109.0 mm from the end",
        "from below in those across, 61.7 mm from the end",
    ):
        assert words in said.replace("\N{NO-BREAK SPACE}", " "), words
    rows = {row[0]: row for row in view.parts.rows}
    assert rows["divider along"][1] == "1"
    assert rows["divider across"][1] == "2"
    assert rows["divider across"][5] == "along it"
    bare = box_view(begun(job(FIELD + box_text(LET_IN))), Lengths("metric"))
    assert bare is not None
    assert view.drawings[0].svg.count("<rect") == bare.drawings[0].svg.count("<rect") + 3 + 1


# ---- Splines dyed to match a mix


def test_dyed_splines_are_bought_dyed_and_drawn_in_their_colour() -> None:
    splines = "  splines: {heights: [18 mm, 55 mm], depth: 8 mm, wood: sugar maple%s}\n"
    made = begun(job(FIELD + box_text(splines % ", match: navy")))
    ((spline, mix, recipe),) = dye_recipes(made.job, made.palette)
    assert (spline.name, spline.count, mix.name) == ("box splines", 8, "navy")
    boxes = box_of_build(made)
    assert boxes is not None
    bare = boxed(job(FIELD + box_text(splines % "")))
    assert boxes.spline_colour != bare.spline_colour
    view = box_view(made, Lengths("metric"))
    assert view is not None
    assert view.drawings[1].svg.count(boxes.spline_colour) == 4
    assert "sugar maple, dyed to navy, grain across the joint" in " ".join(view.cuts)
    assert recipe.shares


# ---- Any box: its lengths by closed form, its angles by the printed chart


@st.composite
def whole(draw: Draw) -> tuple[str, dict[str, Any]]:
    """Return a box of any size and wall, upright or leaning, metric or in inches."""
    inch = draw(st.booleans())

    def say(value_mm: float) -> str:
        return f"{value_mm / 25.4:.6f} in" if inch else f"{value_mm:.2f} mm"

    wall, inside = draw(mm(4.0, 25.0)), (draw(mm(40.0, 500.0)), draw(mm(40.0, 400.0)))
    pitch = draw(st.sampled_from([90, *FOUR]))
    groove = round(wall * 0.45, 2)
    held = (
        draw(st.sampled_from(["in a groove", "in a rebate", "loose"])) if pitch == 90 else "loose"
    )
    at = "" if held == "loose" else f", from base: {say(40.0)}, depth: {say(groove)}"
    around = draw(st.sampled_from(["around the corners", "each wall by itself"]))
    body = f"  board: {{held: {held}{at}}}\n  grain: {around}\n"
    if pitch == 90:
        body += f"  bottom: {{from base: {say(6.0)}, depth: {say(groove)}}}\n"
    else:
        body += f"  walls lean: {90 - pitch} deg\n"
    size = f"{say(inside[0])} x {say(inside[1])}"
    figures = {"wall": wall, "inside": inside, "pitch": pitch, "around": around, "groove": groove}
    return job(PEGS + box_text(body, inside=size, wall=say(wall))), figures


@given(drawn=whole())
@settings(max_examples=examples(20), deadline=None)
def test_any_box_has_the_lengths_and_angles_of_its_closed_forms(
    drawn: tuple[str, dict[str, Any]],
) -> None:
    text, figures = drawn
    made = begun(text)
    boxes = box_of_build(made)
    assert boxes is not None
    lean = math.radians(90 - figures["pitch"])
    outside = [each + 2.0 * figures["wall"] / math.cos(lean) for each in figures["inside"]]
    longest = [each + 140.0 * math.tan(lean) for each in outside]
    assert boxes.outside_mm == pytest.approx(outside, abs=1e-3)
    assert boxes.longest_mm == pytest.approx(longest, abs=1e-3)
    angles = [math.degrees(each) for each in boxes.angles_rad]
    assert angles == pytest.approx(FOUR.get(figures["pitch"], (0.0, 45.0)), abs=0.0101)
    parts = {each.part.name: each for each in box_parts(made.job, boxes)}
    assert all(min(each.finished_mm) > 0.0 for each in parts.values())
    walls = [each for name, each in parts.items() if name.startswith("box wall")]
    if figures["around"] == "around the corners":
        (run,) = walls
        # four walls, 2 mm over on each, three saw cuts of 3 mm
        assert run.finished_mm[0] == pytest.approx(2.0 * sum(longest) + 8.0 + 9.0, abs=1e-2)
    if "box bottom" in parts:
        size = sorted(parts["box bottom"].finished_mm[:2])
        most = sorted(each + 2.0 * figures["groove"] for each in figures["inside"])
        assert all(a < b for a, b in zip(size, most, strict=True))
        assert all(a > b - 2.0 * figures["groove"] for a, b in zip(size, most, strict=True))
    view = box_view(made, Lengths("inch"))
    assert view is not None
    assert not any(sign in fact.value for fact in view.facts for sign in ("-", "\N{MINUS SIGN}"))
