"""G-code files of other programs: read, replayed, held against the artwork, timed like our own."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.gcode.corrected import Correction, corrected
from flushwork.process.stages import StageKind
from flushwork.toolpaths.moves import MoveKind
from tests.checks.hearing import undated, written
from tests.imported_files import MIDDLE, PLATE, holes_in_cycles, job_with, plate_rings
from tests.small_jobs import changed

COARSE = changed("\ntitle:", "\ncell: 0.2 mm\ntitle:")


def case_with(
    folder: Path, plate: str, more: str = MIDDLE, step: str = "cut plate", shop: str = ""
) -> Build:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plate.NC").write_bytes(plate.encode("utf-8"))
    return undated(written(folder, job_with(step, PLATE, more, COARSE), shop))


def told(findings: tuple[Finding, ...], severity: Severity) -> list[str]:
    return sorted({item.code for item in findings if item.severity is severity})


def one(build: Build, code: str) -> Finding:
    found = [item for item in run_checks(build) if item.code == code]
    assert found, told(run_checks(build), Severity.MUST_FIX)
    return found[0]


def test_a_pocket_by_hand_is_proven_like_our_own(tmp_path: Path) -> None:
    build = case_with(tmp_path, plate_rings())
    findings = run_checks(build)
    assert told(findings, Severity.MUST_FIX) == []
    assert "gcode-file-leaves-open" not in told(findings, Severity.WARNING)
    note = next(item for item in findings if item.code == "gcode-file-taken-in")
    assert note.subject == "plate.NC"
    assert "3.175 mm flat" in note.message
    (file,) = [item for item in build.gcode_files if item.order.imported is not None]
    assert file.file_name == "m1-front-1-imported-plate.nc"
    assert file.data == plate_rings().encode()
    assert 45.0 < file.cut_s < 80.0  # 838 mm of rings at 40 in/min are 49 s
    ours = undated(written(tmp_path / "ours", COARSE))
    volumes = [
        sum(
            float(report.removed_mm3.sum())
            for report in each.replay.cuts
            if report.file_name.startswith("m1-")
        )
        for each in (build, ours)
    ]
    assert volumes[0] == pytest.approx(volumes[1], rel=0.01)


def test_a_whole_setup_may_be_named(tmp_path: Path) -> None:
    build = case_with(tmp_path, plate_rings(), step="setup 1")
    assert told(run_checks(build), Severity.MUST_FIX) == []


def test_holes_by_cycles_in_place_of_ours(tmp_path: Path) -> None:
    tmp_path.joinpath("holes.nc").write_text(holes_in_cycles())
    text = job_with("drill pegs", "{file: holes.nc, bit: 3.175 mm flat}", "", COARSE)
    build = undated(written(tmp_path, text))
    assert told(run_checks(build), Severity.MUST_FIX) == []
    drilled = [item for item in build.gcode_files if item.order.imported is not None]
    assert [item.file_name for item in drilled] == ["m2-front-2-imported-holes.nc"]
    stage = next(item for item in build.plan.stages if item.kind is StageKind.DRILL)
    assert {report.stage for report in build.replay.cuts if "holes" in report.file_name} == {
        stage.number
    }


def test_zero_on_the_underside(tmp_path: Path) -> None:
    """The blank stands 15 mm thick in setup 1, so its face is at Z15."""
    text = plate_rings()
    raised = "\r\n".join(
        f"g10 l2 p1 z{15.0 / 25.4:.5f}\r\n{line}" if line.startswith("g0 z.2 ;") else line
        for line in text.split("\r\n")
    )
    build = case_with(tmp_path, raised, MIDDLE + "    height zero: underside\n")
    assert told(run_checks(build), Severity.MUST_FIX) == []


Change = Callable[[str], str]

FAULTS: list[tuple[str, Change, str, str]] = [
    ("deeper", lambda _: plate_rings(4.0), "cut-depth-off", "1.80 mm deeper"),
    ("shallower", lambda _: plate_rings(1.2), "cut-depth-off", "less deep"),
    ("through", lambda _: plate_rings(18.0, passes=20), "below-spoilboard", "plate.NC goes"),
    ("too wide", lambda _: plate_rings(radius_mm=0.2), "cut-beyond-artwork", "plate"),
    ("too narrow", lambda _: plate_rings(radius_mm=2.9), "cut-misses-artwork", "plate"),
    ("no spindle", lambda text: text.replace("s18000 m3", "s18000"), "feed-without-spindle",
     "spindle stands still"),
    (
        "rapid through wood",
        lambda text: text.replace("g1 x-0.70866 y0", "g0 x-0.70866 y.9", 1),
        "rapid-through-material",
        "plate.NC, line",
    ),
    ("far away", lambda text: text.replace("g0 z.2\r\nm5", "g0 z9\r\nm5"), "outside-machine", "Z"),
    ("all too fast", lambda text: text.replace("f40", "f4000"), "feed-too-fast", "plate.NC, line"),
    ("unknown word", lambda text: text.replace("t7 m6", "t7 m6\r\nm66 "
                                                        "p1"), "gcode-file-line-unread",
     "line 7"),
    ("a letter of another tongue", lambda text: text.replace("t7 m6", "t7 m6\r\ng1 u2"),
     "gcode-file-line-unread", "line 7"),
    ("two bits", lambda text: text.replace("g0 z.2\r\nm5", "g0 z.2\r\nt8 m6\r\nm5"),
     "gcode-file-several-bits", "bit 8"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "change", "code", "words"), FAULTS, ids=[f[0] for f in FAULTS])
def test_faults_are_named(tmp_path: Path, name: str, change: Change, code: str, words: str) -> None:
    text = change(plate_rings())
    assert text != plate_rings()
    finding = one(case_with(tmp_path, text), code)
    assert finding.severity is Severity.MUST_FIX
    assert words in finding.message
    if "line" in words:
        assert finding.source is not None
        assert finding.source.file == "plate.NC"
        assert f"line {finding.source.line}" in finding.message


def test_what_a_file_leaves_open_is_told_with_its_line(tmp_path: Path) -> None:
    text = plate_rings().replace("g20 g90", "g90").replace("m30\r\n%\r\n", "")
    build = case_with(tmp_path, text, MIDDLE + "    units: inch\n")
    findings = run_checks(build)
    assert told(findings, Severity.MUST_FIX) == []
    open_ = [item for item in findings if item.code == "gcode-file-leaves-open"]
    assert len(open_) == 1
    assert "without M2 or M30" in open_[0].message
    assert open_[0].source is not None
    assert open_[0].source.line == len(text.rstrip().splitlines())


def test_units_unsaid_are_read_as_mm_and_told(tmp_path: Path) -> None:
    build = case_with(tmp_path, plate_rings().replace("g20 g90", "g90"))
    findings = run_checks(build)
    assert any("G20" in item.message for item in findings if item.code == "gcode-file-leaves-open")
    assert "cut-depth-off" in told(findings, Severity.MUST_FIX)


def test_a_zero_beside_the_blank_cuts_nothing(tmp_path: Path) -> None:
    build = case_with(tmp_path, plate_rings(), "    zero: [200 mm, 200 mm]\n")
    assert "touches nothing" not in one(build, "gcode-file-cuts-nothing").message
    assert "171.6" in one(build, "gcode-file-cuts-nothing").message


def test_a_machine_without_arcs_refuses_them(tmp_path: Path) -> None:
    shop = "machine: {gcode files: {arcs: no}}\n"
    finding = one(case_with(tmp_path, plate_rings(), shop=shop), "gcode-file-other-dialect")
    assert "g3" in plate_rings().splitlines()[(finding.source.line if finding.source else 0) - 1]


def test_cycles_need_a_machine_with_cycles(tmp_path: Path) -> None:
    tmp_path.joinpath("holes.nc").write_text(holes_in_cycles())
    text = job_with("drill pegs", "{file: holes.nc, bit: 3.175 mm flat}", "", COARSE)
    shop = "machine: {gcode files: {drilling cycles: no}}\n"
    finding = one(undated(written(tmp_path, text, shop)), "gcode-file-other-dialect")
    assert finding.source is not None
    assert finding.source.line == 5


def test_flutes_are_held_against_the_file_itself(tmp_path: Path) -> None:
    shop = "bits: [{name: 3.175 mm flat, flute length: 1.5 mm}, 6.35 mm flat, 25 mm facing bit]\n"
    assert (
        "plate.NC goes 2.20 mm deep"
        in one(case_with(tmp_path, plate_rings(), shop=shop), "flutes-too-short").message
    )


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ("cut plat", "Did you mean `cut plate`"),
        ("setup 2", "mill flush plate"),
        ("setup 9", "cut plate"),
    ],
)
def test_steps_that_mean_none_or_several(tmp_path: Path, step: str, words: str) -> None:
    finding = one(case_with(tmp_path, plate_rings(), step=step), "gcode-file-step-unclear")
    assert words in finding.remedy
    assert finding.source is not None
    assert finding.source.key == "imported files[1].step"


def test_files_that_are_not_there_or_no_text(tmp_path: Path) -> None:
    text = job_with("cut plate", f"{PLATE}, {{file: other.nc, bit: 1 mm flat}}", "", COARSE)
    tmp_path.joinpath("other.nc").write_bytes(b"G0\0")
    with pytest.raises(JobRefusedError) as refused:
        undated(written(tmp_path, text))
    assert [item.code for item in refused.value.findings] == [
        "gcode-file-not-found",
        "gcode-file-no-text",
    ]


def test_letters_outside_ascii_in_a_comment_are_kept(tmp_path: Path) -> None:
    raw = plate_rings().replace("by hand", "\xe0 la main").encode("latin-1")
    tmp_path.joinpath("plate.NC").write_bytes(raw)
    build = undated(written(tmp_path, job_with("cut plate", PLATE, MIDDLE, COARSE)))
    (file,) = [item for item in build.gcode_files if item.order.imported is not None]
    assert file.data == raw


def test_a_sound_job_without_such_files_is_silent(tmp_path: Path) -> None:
    build = undated(written(tmp_path, COARSE))
    assert not [item for item in run_checks(build) if item.code.startswith("gcode-file-")]
    assert replace(build.job, imported=()) == build.job


@pytest.mark.parametrize("height", ["", "    height zero: finished face\n"])
def test_such_a_file_can_be_corrected_for_a_moved_board(tmp_path: Path, height: str) -> None:
    """It then has our own zero: the blank's corner, and the wood of the face."""
    build = case_with(tmp_path, plate_rings(), MIDDLE + height)
    (file,) = [item for item in build.gcode_files if item.order.imported is not None]
    by = Correction((0.12, 0.05), (0.0, 0.0), -0.3e-3, 0.0, 1e-3)
    after = corrected(file, by, ("for this piece alone",))
    assert after.problems == ()
    assert after.file_name == "m1-front-1-imported-plate-corrected.nc"
    assert "G21" in after.text
    assert after.order.origin_mm == (0.0, 0.0)
    assert after.order.imported is None
    before = [move for move in file.program.moves if move.kind is not MoveKind.DWELL]
    ends = {
        (round(move.x_mm, 2), round(move.y_mm, 2), round(move.z_mm, 2))
        for move in after.program.moves
    }
    raised = file.order.face_above_mm
    for move in before[3:]:
        x, y = by.place(move.x_mm + 45.0, move.y_mm + 35.0)
        near = [end for end in ends if math.dist(end, (x, y, move.z_mm - raised)) < 0.011]
        assert near or move.kind is MoveKind.ARC, move


def test_a_bit_that_cannot_plunge_may_not_be_driven_down(tmp_path: Path) -> None:
    shop = "bits: [{name: 3.175 mm flat, plunges: no}, 6.35 mm flat, 25 mm facing bit]\n"
    finding = one(case_with(tmp_path, plate_rings(), shop=shop), "bit-cannot-plunge")
    assert "plate.NC, line" in finding.message
    assert finding.source is not None
    assert plate_rings().splitlines()[finding.source.line - 1].startswith("g1 z")
    plunging = run_checks(
        case_with(tmp_path / "b", plate_rings(), shop=shop.replace("no}", "yes}"))
    )
    assert "bit-cannot-plunge" not in {item.code for item in plunging}


def test_a_pass_deeper_than_its_bit_stands_is_a_stop(tmp_path: Path) -> None:
    """In one pass 2.2 mm, in three 0.73 mm; of 0.5 mm a bit stands 1.3 times and 0.15 mm."""
    shop = "bits: [{like: 3.175 mm flat, pass depth: 0.5 mm}, 6.35 mm flat, 25 mm facing bit]\n"
    at_once = plate_rings(passes=1)
    finding = one(case_with(tmp_path / "a", at_once, shop=shop), "pass-too-deep")
    assert finding.severity is Severity.MUST_FIX
    assert "which takes at most 0.5 mm a pass" in finding.message
    assert finding.measure is not None
    assert finding.measure.limit == pytest.approx(0.8)
    assert 1.5 < finding.measure.value < 2.3
    assert finding.place is not None
    assert finding.place.face == "front"
    # the plate lies from 15 to 39 mm along the blank and from 27 to 43 mm across it
    assert 15.0 <= finding.place.x_mm <= 39.0
    assert 27.0 <= finding.place.y_mm <= 43.0
    assert finding.source is not None
    assert finding.source.file == "plate.NC"
    in_passes = run_checks(case_with(tmp_path / "b", plate_rings(), shop=shop))
    assert "pass-too-deep" not in {item.code for item in in_passes}


def test_a_byte_order_mark_is_read_over_and_told(tmp_path: Path) -> None:
    raw = b"\xef\xbb\xbf" + plate_rings().encode("utf-8")
    tmp_path.joinpath("plate.NC").write_bytes(raw)
    build = undated(written(tmp_path, job_with("cut plate", PLATE, MIDDLE, COARSE)))
    findings = run_checks(build)
    assert told(findings, Severity.MUST_FIX) == []
    (file,) = [item for item in build.gcode_files if item.order.imported is not None]
    assert file.data == raw
    assert file.problems == ()
    assert "byte-order mark" in next(
        item.message for item in findings if item.code == "gcode-file-leaves-open"
    )
