"""Room in the waste, clamps and the spoilboard: what the check tells, and when it is silent."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.checks.rules.machine.clamp_rules import RULES as CLAMP_RULES
from flushwork.checks.rules.machine.clamp_rules import clamp_hit
from flushwork.checks.rules.machine.file_rules import below_spoilboard, outside_machine
from flushwork.checks.rules.machine.waste_rules import RULES as WASTE_RULES
from flushwork.core.findings import Finding, Severity
from tests.checks.hearing import read_back, replayed, undated, written
from tests.imported_files import MIDDLE, PLATE, job_with, plate_rings
from tests.process.test_waste import BOARD
from tests.small_jobs import changed

COARSE = changed("\ntitle:", "\ncell: 0.25 mm\ntitle:")


def told(build: Build) -> list[Finding]:
    return [finding for rule in (*WASTE_RULES, *CLAMP_RULES) for finding in rule(build)]


def codes(build: Build) -> list[str]:
    return [finding.code for finding in told(build)]


def test_a_board_with_room_for_all_of_it_is_sound(tmp_path: Path) -> None:
    build = undated(written(tmp_path, BOARD))
    assert codes(build) == []
    assert [item.code for item in run_checks(build) if item.severity is Severity.MUST_FIX] == []


def test_no_waste_no_dowels(tmp_path: Path) -> None:
    build = undated(written(tmp_path, BOARD.replace("length: 140 mm", "length: 112 mm")))
    found = {item.code: item for item in told(build)}
    assert "no-room-to-locate" in found
    finding = found["no-room-to-locate"]
    assert finding.severity is Severity.MUST_FIX
    assert finding.measure is not None
    assert finding.measure.value == pytest.approx(8.0 - 3.675, abs=0.05)
    assert finding.measure.limit == pytest.approx(6.05 + 4.0)


def test_an_untrimmed_blank_has_no_waste(tmp_path: Path) -> None:
    text = BOARD.replace("trim line: {rectangle: 96 mm x 66 mm, round: 4 mm}\n", "")
    assert sorted(codes(undated(written(tmp_path, text)))) == [
        "no-room-for-marks",
        "no-room-to-locate",
    ]


def test_a_clamp_may_take_the_dowel_s_place(tmp_path: Path) -> None:
    clamp = "keep clear of: [{name: stop, size: [60 mm, 20 mm], from: left, height: 2 mm}]\nmixes:"
    build = undated(written(tmp_path, BOARD.replace("mixes:", clamp)))
    assert "no-room-to-locate" in codes(build)


def test_no_room_for_uneven_dowels_is_a_warning(tmp_path: Path) -> None:
    build = undated(written(tmp_path, BOARD.replace("length: 140 mm", "length: 124.6 mm")))
    assert "located-either-way" in codes(build)


def test_dowels_longer_than_any_flute(tmp_path: Path) -> None:
    text = BOARD.replace("into blank: through", "into blank: through, into spoilboard: 60 mm")
    assert "no-bit-for-it" in codes(undated(written(tmp_path, text)))


def test_marks_want_a_fine_bit(tmp_path: Path) -> None:
    shop = "bits: [3.175 mm flat, 6.35 mm flat, 25 mm facing bit]\n"
    assert "no-bit-for-it" in codes(undated(written(tmp_path, BOARD, shop)))


CLAMP = "keep clear of: [{{name: near clamp, size: [20 mm, 8 mm], at: [{at}], from: bottom, \
height: 18 mm{more}}}]\nfront:"


def clamped(folder: Path, at: str, more: str = "", text: str = COARSE) -> Build:
    return undated(written(folder, text.replace("front:", CLAMP.format(at=at, more=more), 1)))


def test_our_own_files_cross_above_a_clamp_beside_the_kerf(tmp_path: Path) -> None:
    clamp = CLAMP.format(at="0 mm, -4 mm", more="")
    narrow = "machine: {holder width: 6 mm}\n"
    build = undated(written(tmp_path, COARSE.replace("front:", clamp, 1), narrow))
    assert list(clamp_hit(build)) == []
    wide = clamped(tmp_path / "wide", "0 mm, -4 mm")
    assert ["holder" in item.message for item in clamp_hit(wide)] == [True]
    assert all(max(m.z_mm for m in file.program.moves) == 20.0 for file in build.gcode_files)


def test_a_clamp_in_the_way_of_the_trim_is_hit(tmp_path: Path) -> None:
    """The kerf reaches from y 0.65 to 7 mm: a clamp over the edge is in its way."""
    build = clamped(tmp_path, "0 mm, 0 mm")
    hits = list(clamp_hit(build))
    assert {hit.severity for hit in hits} == {Severity.MUST_FIX}
    (trim,) = [hit for hit in hits if "m2-front-3-flat-6.35.nc, line" in hit.message]
    assert trim.subject == "near clamp"
    assert trim.place is not None
    assert 35.0 - 3.7 < trim.place.x_mm < 55.0 + 3.7


@pytest.mark.parametrize(
    ("more", "hit"),
    [(", setups: 1", False), (", setups: [1, 2]", True), (", face: back", False)],
)
def test_a_clamp_that_is_not_there_is_not_hit(tmp_path: Path, more: str, hit: bool) -> None:
    assert bool(list(clamp_hit(clamped(tmp_path, "0 mm, 0 mm", more)))) is hit


def test_a_clamp_on_an_inlay_is_told(tmp_path: Path) -> None:
    build = clamped(tmp_path, "-18 mm, 35 mm")
    assert "clamp-over-work" in codes(build)
    assert "clamp-hit" in codes(build)


def imported(folder: Path, plate: str, more: str = "") -> Build:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plate.NC").write_bytes(plate.encode())
    text = job_with("cut plate", PLATE, MIDDLE, COARSE)
    if more:
        text = text.replace("front:\n", f"{more}front:\n", 1)
    return undated(written(folder, text))


POST = "keep clear of: [{name: post, size: [4 mm, 4 mm], at: [-9 mm, 0 mm], from: centre, \
height: 10 mm, setups: 1}]\n"


def test_a_file_imported_that_crosses_a_clamp_is_named_with_its_line(
    tmp_path: Path,
) -> None:
    """It goes from the blank's middle to the plate's at Z 5.08 mm, below the post's top."""
    assert list(clamp_hit(imported(tmp_path / "free", plate_rings()))) == []
    low = plate_rings().replace("g0 z.2 ; up", "g0 z.2 ; up\r\ng0 x0 y0.1\r\ng0 x0 y0")
    hits = list(clamp_hit(imported(tmp_path, low, POST)))
    assert len(hits) == 1
    assert hits[0].source is not None
    line = low.splitlines()[hits[0].source.line - 1]
    assert line.startswith("g0 x-0.70866")
    high = low.replace("g0 z.2 ; up", "g0 z.6 ; up", 1)
    found = list(clamp_hit(imported(tmp_path / "high", high, POST)))
    lines = [high.splitlines()[hit.source.line - 1] for hit in found if hit.source]
    assert not [line for line in lines if line.startswith("g0 x-")]


def trimmed(build: Build, cuts: str = "Z-15.100") -> Build:
    """Return the case with its trimming file altered to another depth."""
    trim = next(item for item in build.gcode_files if item.file_name == "m2-front-3-flat-6.35.nc")
    assert "Z-15.100" in trim.text
    return replayed(build, {trim.file_name: read_back(trim, trim.text.replace("Z-15.100", cuts))})


def test_the_depth_into_the_spoilboard_is_the_shop_s(tmp_path: Path) -> None:
    build = undated(written(tmp_path, COARSE))
    assert list(below_spoilboard(trimmed(build))) == []
    (found,) = below_spoilboard(trimmed(build, "Z-16.200"))
    assert found.measure is not None
    assert found.measure.value == pytest.approx(1.4)
    thick = undated(written(tmp_path / "thick", COARSE, "machine: {spoilboard depth: 2 mm}\n"))
    assert list(below_spoilboard(trimmed(thick, "Z-16.200"))) == []
    thin = undated(written(tmp_path / "thin", COARSE, "machine: {spoilboard depth: 0.1 mm}\n"))
    assert [item.subject for item in below_spoilboard(thin)] == ["m2-front-3-flat-6.35.nc"]


def test_an_arc_may_leave_the_machine_though_its_ends_do_not(tmp_path: Path) -> None:
    build = undated(written(tmp_path, COARSE))
    file = build.gcode_files[0]
    bulging = read_back(file, "G21 G90 G17\nG0 Z5\nG0 X0 Y0\nG2 X10 Y0 I5 J900 F500\nM2\n")
    found = outside_machine(replayed(build, {file.file_name: bulging}))
    assert [item.measure.name for item in found if item.measure] == ["X travel", "Y travel"]


def test_the_plain_lid_has_no_clamps(tmp_path: Path) -> None:
    assert codes(undated(written(tmp_path, COARSE))) == []
