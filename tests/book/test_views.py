"""The view records: what the book says, without rendering it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from flushwork.book.compose import view_of
from flushwork.core.findings import Finding, Severity
from flushwork.process.stages import StageKind
from flushwork.toolpaths.moves import Move, MoveKind, Program
from flushwork.views import warning_lines
from flushwork.views.check_views import verdict
from flushwork.views.context import ViewContext
from flushwork.views.figures import Lengths, counted, duration, number, percent, raised, volume
from flushwork.views.setup_details import first_motion
from flushwork.views.setup_views import asked
from tests.book.rebuilt import rebuilt
from tests.book.shared_views import pours, setups, stages

NB = "\N{NO-BREAK SPACE}"


def finding(severity: Severity, accepted: str | None = None) -> Finding:
    return Finding("wood-between-too-thin", severity, "thin", "thicker", accepted=accepted)


def test_one_standing_stop_forbids_cutting() -> None:
    told = verdict((finding(Severity.MUST_FIX), finding(Severity.WARNING)))
    assert (told.mark, told.words) == ("must-fix", "Do not cut")
    assert "One thing must be fixed" in told.detail


def test_an_accepted_stop_lets_it_be_cut_and_says_so() -> None:
    told = verdict((finding(Severity.MUST_FIX, "tried on a test strip"),))
    assert told.mark == "warning"
    assert "one finding was accepted by name" in told.detail


def test_without_stops_it_ok_to_cut() -> None:
    told = verdict((finding(Severity.WARNING), finding(Severity.NOTE)))
    assert (told.mark, told.words) == ("good", "OK to cut")
    assert f"1{NB}warning, 1{NB}note" in told.detail


def test_findings_are_grouped_by_weight_with_where_why_and_how_much(context: ViewContext) -> None:
    groups = view_of(context).check.groups
    assert [group.mark for group in groups] == ["must-fix", "warning", "note"]
    first = groups[0].findings[0]
    assert first.where == f"body, back face at X{NB}200.0{NB}mm, Y{NB}90.0{NB}mm"
    assert first.measure == f"wood between faces 1.80{NB}mm, limit 3.00{NB}mm"
    assert first.why == "Pockets of both faces leave little wood between them."
    assert first.source == "kingfisher.yaml:41: front.inlays[0].depth"
    assert first.accepted == "tried on a test strip"
    assert [each.number for group in groups for each in group.findings] == [1, 2, 0]


def test_the_run_sheet_tells_the_run_and_what_is_made(context: ViewContext) -> None:
    run = view_of(context).run
    facts = {fact.label: fact.value for fact in run.facts}
    assert facts["Run"] == f"3{NB}pieces and 1{NB}test piece"
    assert facts["Printed"] == "25 November 2026"
    assert "trimmed to 320 \N{MULTIPLICATION SIGN} 170" in run.summary
    assert [bool(picture.png) for picture in run.pictures] == [True, True]
    assert any("wood-between-too-thin" in line for line in run.warnings)
    assert any("rounds the tips" in line for line in run.warnings)


def test_the_run_sheet_names_every_file_and_pour_once(context: ViewContext) -> None:
    days = view_of(context).run.days
    files = [file.label for day in days for file in day.files]
    assert sorted(files) == sorted(file.file_name for file in context.build.gcode_files)
    assert [pour.split()[0] for day in days for pour in day.pours] == ["1", "2", "3"]
    assert days[0].leave == ""
    assert any(f"36{NB}h" in day.leave for day in days)


def test_every_stage_stands_on_exactly_one_card(context: ViewContext) -> None:
    told: list[int] = []
    for card in view_of(context).cards:
        if card.setup is not None:
            lines = (*card.setup.before, *card.setup.own, *card.setup.after)
            told += [line.number for line in lines]
        if card.pours is not None:
            told += [line.number for line in (*card.pours.before, *card.pours.after)]
            told += [pour.step.number for pour in card.pours.pours]
    assert sorted(told) == list(range(1, 16))


def test_what_to_buy_counts_the_whole_run(context: ViewContext) -> None:
    groups = {group.heading: group.rows for group in view_of(context).buy}
    assert groups["Wood"][0][:2] == ("black cherry", f"4{NB}blanks")
    resin = dict(row[:2] for row in groups["Resin"])["coating epoxy"]
    mass = sum(
        part.mass_g for pour in context.build.pours for part in pour.parts if part.kind == "resin"
    )
    assert resin.startswith(f"{mass:.1f}{NB}g")
    assert {row[0] for row in groups["Bits"]} == {
        "1/8 inch flat end mill", "0.8 mm flat end mill", "30 degree engraver",
    }  # fmt: skip
    (varnish,) = (row for row in groups["Sealer and finish"] if row[0] == "wiping varnish")
    # four pieces of 0.127 m2 with their edges, three coats, a quarter more, 15 m2 a litre
    assert varnish[1:] == (f"130{NB}ml", f"3{NB}coats, 15{NB}m\N{SUPERSCRIPT TWO}/l")
    assert any(row[0] == "nitrile gloves" for row in groups["At the bench"])


def test_without_a_replayed_picture_the_run_sheet_shows_the_drawing(context: ViewContext) -> None:
    view = view_of(replace(context, pictures={}))
    assert all(picture.svg for picture in view.run.pictures)
    assert all(seen.seen is None for seen in view.seen)


def test_every_stage_has_a_box_for_every_piece(context: ViewContext) -> None:
    told = stages(context)
    assert [stage.number for stage in told] == list(range(1, 16))
    assert {stage.ticks for stage in told} == {("1", "2", "3", "T")}
    assert told[6].wait == f"then wait 36{NB}h at least"
    assert "pour 1" in told[4].details
    assert f"73{NB}holes each piece" in told[12].details


def test_several_test_pieces_are_numbered(context: ViewContext) -> None:
    job = replace(context.build.job, pieces=1, test_pieces=2)
    assert stages(rebuilt(context, job=job))[0].ticks == ("1", "T1", "T2")


def test_warnings_stand_only_where_they_apply(context: ViewContext) -> None:
    by_kind = {
        (stage.kind, stage.number): view.warnings
        for stage, view in zip(context.build.plan.stages, stages(context), strict=True)
    }
    assert warning_lines.SOLVENT in by_kind[StageKind.SEAL, 4]
    assert f"{warning_lines.NO_FLAME} That is for shellac." in by_kind[StageKind.FILL, 5]
    assert warning_lines.FLAME_BRIEF not in by_kind[StageKind.FILL, 5]
    (burns,) = (
        line for line in by_kind[StageKind.FILL, 11] if line.startswith(warning_lines.NO_FLAME)
    )
    assert "ethanol" in burns
    assert warning_lines.FLAME_BRIEF not in by_kind[StageKind.FILL, 11]
    assert warning_lines.METAL_DUST in by_kind[StageKind.FILL, 11]
    assert warning_lines.POWDER not in by_kind[StageKind.CAP, 12]
    assert warning_lines.SMALL in by_kind[StageKind.CUT, 10]
    assert warning_lines.SMALL not in by_kind[StageKind.CUT, 3]
    assert warning_lines.CURED_ONLY in by_kind[StageKind.SAND, 9]
    assert warning_lines.CURED_ONLY not in by_kind[StageKind.CUT, 3]
    assert by_kind[StageKind.CURE, 7] == (warning_lines.CURE,)
    assert warning_lines.RAGS in by_kind[StageKind.FINISH, 15]


def test_every_card_says_that_no_cup_is_left_standing(context: ViewContext) -> None:
    for pour in context.build.pours:
        assert warning_lines.HOT_CUP in warning_lines.pour_warnings(
            context.build.job, context.build.plan, pour
        )


def test_the_safety_sheet_comes_first_in_words(context: ViewContext) -> None:
    assert "safety sheet, local rules and trained practice" in view_of(context).safety


def test_a_setup_card_says_how_it_lies_and_what_runs(context: ViewContext) -> None:
    first, second, third = setups(context)
    facts = {fact.label: fact.value for fact in first.facts}
    assert facts["X0 Y0"] == "lower left corner of the blank"
    assert facts["Thickness now"] == f"18.00{NB}mm"
    assert facts["Comes back to"].startswith(f"\N{PLUS-MINUS SIGN}0.05{NB}mm")
    assert (first.turned, second.turned) == ("", "")
    assert "top to bottom" in third.turned
    assert [file.file_name for file in first.files] == [
        "front-1-1-clear.nc", "front-1-2-engrave.nc",
    ]  # fmt: skip
    figures = {fact.label: fact.value for fact in first.files[0].figures}
    assert figures["deepest Z"] == f"\N{MINUS SIGN}2.50{NB}mm"
    assert figures["runs"] == f"13{NB}min"
    assert "clears rose dark and rose light" in first.files[0].does
    within = first.files[0].within
    assert within.startswith(f"X 40.91 to 291.59, Y 58.41 to 161.59{NB}mm below Z{NB}5.00{NB}mm")


def test_turning_about_the_width_is_told_as_such(make_context: Callable[..., ViewContext]) -> None:
    assert "side to side" in setups(make_context(turn_about_x=False))[2].turned


def test_a_moved_zero_is_measured_from_the_corner(context: ViewContext) -> None:
    setup = replace(context.build.plan.setups[0], origin_mm=(170.0, 95.0))
    plan = replace(context.build.plan, setups=(setup,))
    facts = {f.label: f.value for f in setups(rebuilt(context, plan=plan))[0].facts}
    assert facts["X0 Y0"].startswith(f"170.00{NB}mm right of and 95.00{NB}mm beyond")


def test_first_motion_is_told_until_the_third_step() -> None:
    moves = (
        Move(MoveKind.RAPID, 0, 0, 20),
        Move(MoveKind.RAPID, 0, 0, 5),
        Move(MoveKind.RAPID, 42.5, 60, 5),
        Move(MoveKind.DWELL, 42.5, 60, 5, dwell_s=1.0),
        Move(MoveKind.FEED, 42.5, 60, -0.5),
        Move(MoveKind.FEED, 50, 60, -0.5),
    )
    told = first_motion(Program((0, 0, 20), moves)).replace(NB, " ")
    over = "rapid to X 42.5 Y 60.0"
    assert told == f"rapid down to Z 5.00, then {over}, then feed down to Z \u22120.50 mm"


def test_feeds_along_and_down_are_kept_apart() -> None:
    moves = (
        Move(MoveKind.RAPID, 10, 20, 5, spindle_rpm=18000),
        Move(MoveKind.FEED, 10, 20, -1, feed_mm_min=300),
        Move(MoveKind.FEED, 90, -5, -3, feed_mm_min=900),
    )
    reach = asked(Program((0, 0, 5), moves))
    assert (reach.feed_mm_min, reach.plunge_mm_min) == (900, 300)
    assert reach.spindle_rpm == 18000


def test_a_pour_card_measures_in_order_with_its_limits(context: ViewContext) -> None:
    pour = pours(context)[0]
    assert [step.what for step in pour.steps] == [
        "coating epoxy (resin)", "teal mica (pigment)", "coating epoxy hardener",
    ]  # fmt: skip
    assert pour.steps[0].add == f"31.0{NB}g"
    assert pour.steps[0].stop_between == f"30.8 and 31.2{NB}g"
    assert pour.steps[2].reads == f"14.0{NB}g"
    assert "1 cm3 spoon, level" in pour.steps[1].also
    assert pour.serves.rows[-1][0] == "one piece"
    facts = {fact.label: fact.value for fact in pour.facts}
    assert facts["Smallest batch"].startswith(f"15.7{NB}g")
    assert "1.2" in facts["Ratio"]
    assert any("18\N{NO-BREAK SPACE}\N{DEGREE SIGN}C" in note for note in pour.notes)


def test_a_batch_no_tool_can_measure_is_told_without_figures(context: ViewContext) -> None:
    parts = tuple(replace(part, tool=None) for part in context.build.pours[0].parts)
    endless = float("inf")
    pour = replace(context.build.pours[0], parts=parts, ratio_error=endless, smallest_g=endless)
    view = pours(rebuilt(context, pours=(pour,)))[0]
    assert view.steps[0].tool == ""
    assert "see the check" in view.steps[0].also
    assert view.steps[0].stop_between == ""
    assert "inf" not in " ".join(fact.value for fact in view.facts)


def test_the_hole_table_lists_every_hole(context: ViewContext) -> None:
    groups = view_of(context).holes
    assert [len(group.rows) for group in groups] == [9, 49, 24]
    assert groups[0].heading == "men's corners, front face"
    assert groups[0].rows[0] == ("1", "228.00", "98.00")
    assert "flat bottom" in groups[0].detail
    assert "through" in groups[2].detail


def test_the_thickness_table_keeps_its_stages(context: ViewContext) -> None:
    rows = view_of(context).thickness_table.rows
    assert rows[2] == (
        "9",
        "Sand the front flush",
        "front",
        "sanded",
        "\N{MINUS SIGN}0.700",
        "17.800",
    )


def test_inches_stand_alone_when_asked_for(context: ViewContext) -> None:
    view = view_of(replace(context, units="inch"))
    facts = {fact.label: fact.value for fact in setups(replace(context, units="inch"))[0].facts}
    assert facts["Thickness now"] == f"0.709{NB}in"
    assert view.holes[0].rows[0][1] == "8.976"


def bare_of(context: ViewContext, **more: object) -> ViewContext:
    """Return a context without any work on its board."""
    plan = replace(context.build.plan, stages=(), setups=())
    return rebuilt(context, **{"faces": (), "pours": (), "gcode_files": (), "plan": plan, **more})


def test_the_care_card_names_what_was_used_and_certifies_nothing(context: ViewContext) -> None:
    text = " ".join(view_of(context).care.lines)
    assert "black cherry" in text
    assert "coating epoxy" in text
    assert "wiping varnish" in text
    assert "not a certificate" in text
    bare = replace(context.build.job, faces=(), finish=None)
    plain = " ".join(view_of(bare_of(context, job=bare)).care.lines)
    assert "epoxy" not in plain
    assert "without a finish" in plain


def test_the_legend_names_depth_manner_and_bits(context: ViewContext) -> None:
    legend = view_of(context).maps[0].legend
    assert [row.letter for row in legend] == ["A", "B", "C", "D"]
    gold = legend[2].inlays[0]
    assert gold.depth == f"1.20{NB}mm below the finished face"
    assert gold.manner == f"scraped, capped 0.50{NB}mm with E clear"
    assert gold.bits == "0.8 mm flat end mill"
    assert f"ethanol 8{NB}% by volume" in legend[2].recipe


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(12, "12 s"), (754, "13 min"), (5400, "1 h 30 min"), (129600, "36 h"), (604800, "7 days")],
)
def test_times_are_said_as_in_the_shop(seconds: float, text: str) -> None:
    assert duration(seconds).replace(NB, " ") == text


def test_figures_have_a_true_minus_and_no_negative_zero() -> None:
    assert number(-0.001, 2) == "0.00"
    assert number(-2.5, 1) == "\N{MINUS SIGN}2.5"
    assert percent(0.0123) == f"1.2{NB}%"
    assert volume(42.0) == f"42.0{NB}cm\N{SUPERSCRIPT THREE}"
    assert counted(1, "hole") == f"1{NB}hole"
    assert Lengths("metric").size(340, 190, 19).replace(NB, " ") == "340 \u00d7 190 \u00d7 19 mm"


def test_powers_of_units_are_raised_and_names_left_alone() -> None:
    told = raised("overlaps by 0.03 mm2; 12.5\N{NO-BREAK SPACE}cm3 of mm2 and 2cm3")
    assert told == "overlaps by 0.03 mm²; 12.5\N{NO-BREAK SPACE}cm³ of mm2 and 2cm3"
