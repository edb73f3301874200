"""Readings of registration marks: the unit a number is taken in; what is printed reads back."""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.checks import registration
from flushwork.cli.building import place_words
from flushwork.cli.main import DONE, run
from flushwork.gcode.corrected import Correction
from flushwork.store import write_folder
from flushwork.usecases.marks import marks_read, reading_text
from tests.cli.test_marks_command import PLATE
from tests.many import examples

INCH_MM = 25.4
PLACES = ((2.8, 2.8), (297.2, 2.8), (297.2, 197.2), (2.8, 197.2))
UNITS = {"": None, " mm": 1.0, " in": INCH_MM, '"': INCH_MM, " cm": 10.0}
OFFS = st.tuples(
    st.integers(-4000, 4000).map(lambda steps: steps / 10_000),
    st.sampled_from(sorted(UNITS)),
)
SHOP = "machine: {gcode files: {units: inch}}\n"


@given(st.lists(st.tuples(OFFS, OFFS), min_size=4, max_size=4), st.booleans())
@example([((0.005, ""), (0.0, ""))] * 4, True)
@settings(max_examples=examples(40), deadline=None)
def test_a_number_is_taken_in_its_unit_or_in_the_machines(
    offs: list[tuple[tuple[float, str], tuple[float, str]]], inch: bool
) -> None:
    typed = [
        f"{number}: {right:.4f}{one}, {away:.4f}{two}"
        for number, ((right, one), (away, two)) in enumerate(offs, start=1)
    ]
    own = INCH_MM if inch else 1.0
    marks = marks_read(PLACES, typed, None, inch=inch)
    for mark, ((right, one), (away, two)) in zip(marks, offs, strict=True):
        assert mark.off_x_mm == pytest.approx(right * (UNITS[one] or own), abs=1e-9)
        assert mark.off_y_mm == pytest.approx(away * (UNITS[two] or own), abs=1e-9)


@given(
    st.lists(st.tuples(st.floats(-3, 3), st.floats(-3, 3)), min_size=4, max_size=4), st.booleans()
)
@settings(max_examples=examples(20), deadline=None)
def test_the_readings_kept_beside_the_files_read_back_in_any_shop(
    offs: list[tuple[float, float]], inch: bool
) -> None:
    typed = [f"{n}: {x:.6f} mm, {y:.6f} mm" for n, (x, y) in enumerate(offs, start=1)]
    marks = marks_read(PLACES, typed, None, inch=inch)
    moved = registration.fit(marks, (0.0, 0.0), grain_along_x=True)
    by = Correction(moved.shift_mm, (0.0, 0.0), moved.turn_rad, 0.0, moved.stretch)
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "reading.txt"
        kept.write_text(reading_text(marks, moved, by), "utf-8")
        again = marks_read(PLACES, (), kept, inch=inch)
    for mark, same in zip(marks, again, strict=True):
        assert same.off_x_mm == pytest.approx(mark.off_x_mm, abs=0.00051)
        assert same.off_y_mm == pytest.approx(mark.off_y_mm, abs=0.00051)


@given(st.floats(-900, 900), st.floats(-900, 900), st.booleans())
@settings(max_examples=examples(40), deadline=None)
def test_a_place_is_told_in_the_units_the_machine_shows(x: float, y: float, inch: bool) -> None:
    told = place_words(x, y, inch=inch)
    match = re.match(r"X (-?[\d.]+) Y (-?[\d.]+) (mm|in)", told)
    assert match is not None
    assert match[3] == ("in" if inch else "mm")
    factor = INCH_MM if inch else 1.0
    assert float(match[1]) * factor == pytest.approx(x, abs=0.0014)
    assert float(match[2]) * factor == pytest.approx(y, abs=0.0014)


def test_an_inch_shop_reads_and_is_told_inches(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "board.yaml"
    (tmp_path / "shop.yaml").write_text(f"flushwork shop: 2\n{SHOP}", "utf-8")
    path.write_text(PLATE.replace("title:", "shop: shop.yaml\ntitle:"), "utf-8")
    write_folder(tmp_path / "board built", {"gcode/a.nc": b"M2\n"}, (path,))

    def typed(*words: str) -> str:
        monkeypatch.setattr(sys, "argv", ["flushwork", "marks", str(path), *words])
        with pytest.raises(SystemExit) as ended:
            run()
        told = capsys.readouterr()
        assert int(ended.value.code or 0) == DONE, told.err
        return " ".join(told.out.split())

    asked = typed("--setup", "2")
    assert "1: go to X 0.1102 Y 0.1102 in;" in asked
    assert "A reading without a unit is taken as inches" in asked
    such = re.search(r'--read "1: ([^"]+)"', asked)
    assert such is not None
    assert such[1].count(" in") == 2, "what is shown as typed has its unit"
    readings = [part for n in range(1, 5) for part in ("--read", f"{n}: 0.005, 0.002")]
    told = typed("--setup", "2", *readings)
    assert "shift +0.0051, +0.0020 in" in told
