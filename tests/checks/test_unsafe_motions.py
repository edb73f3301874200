"""Files of other programs with one unsafe motion each: all are noticed, and told by their line.

The files are our own text for one job, given back as another program's, so that all of it is right
but the one fault.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Finding, Severity
from flushwork.toolpaths.orders import Work
from tests.checks.hearing import replayed, undated, written
from tests.checks.test_exact_paths import JOB, SHOP, imported, moved

Change = Callable[[str], str]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Build:
    """Return the case of the job with every file given back as another program's."""
    case = undated(written(tmp_path_factory.mktemp("motions"), JOB.format(cell="0.25"), SHOP))
    files = {
        file.file_name: replace(imported(file, file.text), file_name=file.file_name)
        for file in case.gcode_files
    }
    return replayed(case, files)


@pytest.fixture(scope="module")
def known(sound: Build) -> set[tuple[str, str]]:
    """Return what is told of the sound files: nothing of weight but the small batches."""
    told = loud(run_checks(sound))
    assert {code for code, _ in told} <= {"batch-below-tools"}
    return told


def loud(findings: tuple[Finding, ...]) -> set[tuple[str, str]]:
    return {(item.code, item.subject) for item in findings if item.severity is not Severity.NOTE}


def swap(old: str, new: str, count: int = -1) -> Change:
    def change(text: str) -> str:
        assert re.search(old, text, re.MULTILINE), f"{old!r} is not there"
        return re.sub(old, new, text, count=max(count, 0), flags=re.MULTILINE)

    return change


def before_line(pattern: str, new: str, number: int = 0) -> Change:
    """Put a line before the one that matches."""

    def change(text: str) -> str:
        lines = text.splitlines()
        hits = [k for k, line in enumerate(lines) if re.search(pattern, line)]
        at = hits[number]
        return "\n".join([*lines[:at], new, *lines[at:]]) + "\n"

    return change


def without_line(pattern: str, number: int = 0) -> Change:
    def change(text: str) -> str:
        lines = text.splitlines()
        hits = [k for k, line in enumerate(lines) if re.search(pattern, line)]
        del lines[hits[number]]
        return "\n".join(lines) + "\n"

    return change


def in_the_cut(new: str) -> Change:
    """Put a line where the bit stands in the wood, somewhere in the middle of a pass."""

    def change(text: str) -> str:
        lines = text.splitlines()
        down = next(k for k, line in enumerate(lines) if re.search(r"Z-", line))
        deep = next(k for k in range(down + 3, len(lines)) if re.match(r"(G[123] )?X", lines[k]))
        return "\n".join([*lines[: deep + 1], new, *lines[deep + 1 :]]) + "\n"

    return change


def cut_short(text: str) -> str:
    """End where the bit is deep in the wood."""
    lines = text.splitlines()
    deep = [k for k, line in enumerate(lines) if re.match(r"(G[123] )?X", line)]
    return "\n".join([*lines[: deep[len(deep) // 2] + 1], "M5", "M2"]) + "\n"


def fed_across(text: str) -> str:
    """Leave out the lift before the second thing that is cut, and feed there."""
    lines = text.splitlines()
    lifts = [k for k, line in enumerate(lines) if re.match(r"G0 Z5\.", line)]
    lines[lifts[1]] = "G1 F1260"
    return "\n".join(lines) + "\n"


def no_tabs(text: str) -> str:
    """Let the outline's last laps run over the tabs at the floor."""
    floor = min(float(each) for each in re.findall(r"Z(-\d+\.\d+)", text))
    return re.sub(
        r"Z(-\d+\.\d+)",
        lambda hit: f"Z{floor:.3f}" if floor < float(hit[1]) < floor + 3.9 else hit[0],
        text,
    )


PLATE, LETTERS, PEGS, EYES, TRIM = "plate", "letters", "pegs", "eyes", "trim line"
FAULTS: list[tuple[str, str, Change, str]] = [
    ("0.05 mm sideways", PLATE, lambda text: moved(text, 0.04, 0.03), "path-off-outline"),
    ("0.05 mm the other way", PLATE, lambda text: moved(text, 0.0, -0.05), "path-off-outline"),
    ("letters 0.05 mm sideways", LETTERS, lambda text: moved(text, -0.05, 0.0), "path-off-outline"),
    ("outline 0.05 mm sideways", TRIM, lambda text: moved(text, 0.05, 0.0), "path-off-outline"),
    ("holes 0.1 mm off", PEGS, lambda text: moved(text, 0.1, 0.0), "hole-off-place"),
    ("bored holes 0.1 mm off", EYES, lambda text: moved(text, 0.0, 0.1), "hole-off-place"),
    ("another zero from the middle on", PLATE, in_the_cut("G92 X0.000"), "path-off-outline"),
    ("rapid in place of feed", PLATE, swap("^G1 ", "G0 ", 4), "rapid-through-material"),
    ("a travel fed through the wood", PLATE, fed_across, "path-off-outline"),
    ("a travel at depth", PLATE, swap(r"^G0 Z5\.0*$", "G0 Z-1.000"), "rapid-through-material"),
    ("travels hardly above the wood", PLATE, swap(r"Z5\.0*$", "Z0.100"), "travels-low"),
    ("no feed", PLATE, lambda text: re.sub(r" F[\d.]+", "", text), "gcode-file-line-unread"),
    ("feed a hundredth", PLATE, swap(r"F(\d+)\d\d(\.\d+)?\b", r"F\1"), "feed-too-slow"),
    ("feed ten times", PLATE, swap(r"F(\d+)\b", r"F\g<1>0"), "feed-too-fast"),
    ("plunge at the cutting feed", PEGS, swap(r"F\d+(\.\d+)?", "F2400"), "plunge-too-fast"),
    ("a helix like a plunge", EYES, swap(r"F\d+(\.\d+)?", "F9000"), "plunge-too-fast"),
    ("spindle never started", PLATE, swap(r"^M3 S\d+", "(none)"), "feed-without-spindle"),
    ("spindle stopped in a cut", PLATE, in_the_cut("M5"), "pause-in-wood"),
    ("spindle stopped for the rest", PLATE, in_the_cut("M5"), "feed-without-spindle"),
    ("spindle backwards", PLATE, swap("^M3 ", "M4 "), "spindle-backwards"),
    ("spindle too fast", PLATE, swap(r"^M3 S\d+", "M3 S60000"), "spindle-out-of-range"),
    ("a pause in the wood", PLATE, in_the_cut("M0"), "pause-in-wood"),
    ("a pause if wanted in the wood", TRIM, in_the_cut("M1"), "pause-in-wood"),
    ("a change of bits in the wood", PLATE, in_the_cut("M6"), "pause-in-wood"),
    ("a long dwell in a cut", PLATE, in_the_cut("G4 P30"), "dwell-in-cut"),
    ("milliseconds for seconds", PEGS, swap(r"G4 P0?\.(\d+)", r"G4 P\1"), "dwell-in-cut"),
    ("the end in the wood", PLATE, cut_short, "ends-in-wood"),
    ("the end of the outline in the wood", TRIM, cut_short, "ends-in-wood"),
    ("no tabs", TRIM, no_tabs, "tabs-missing"),
    ("arcs in another plane", PLATE, before_line("^G3 ", "G18"), "gcode-file-line-unread"),
    ("another plane and its letters", PLATE,
     lambda text: before_line("^G3 ", "G18")(text).replace(" J", " K"), ""),
    ("inches from the middle on", PLATE, in_the_cut("G20"), ""),
    ("inches from the start", PEGS, swap("G21", "G20"), ""),
    ("steps from where it stands", PLATE, in_the_cut("G91"), ""),
    ("another zero of the machine", PLATE, in_the_cut("G55"), "gcode-file-leaves-open"),
    ("home through the wood", PLATE, in_the_cut("G28"), "gcode-file-leaves-open"),
    ("a tool's length nobody said", PLATE, swap("G49", "G43 H1"), "gcode-file-leaves-open"),
    ("beside the path by a radius", PLATE, swap("G40", "G41 D1"), "gcode-file-line-unread"),
    ("into the spoilboard", TRIM, swap(r"Z-1(\d)\.", r"Z-2\1."), "below-spoilboard"),
    ("feed by time", PLATE, swap("G94", "G93"), ""),
    ("across before it says how high", PLATE, swap(r"^G0 Z5\.0*$", "(none)", 1),
     "gcode-file-leaves-open"),
    ("a hundredth of a mm a line", PLATE,
     before_line("^G1 X", "\n".join(["G91 G1 F1260", *["X0.01", "X-0.01"] * 20, "G90"])),
     "too-many-lines"),
    ("coolant on the wood", PLATE, before_line("^M3 ", "M08"), "gcode-file-leaves-open"),
    ("mist in the middle of a cut", TRIM, in_the_cut("M7"), "gcode-file-leaves-open"),
    ("corners rounded on the way", PLATE, before_line("^M3 ", "G64 P0.5"),
     "gcode-file-line-unread"),
    ("0.5 mm deeper", PLATE, swap(r"Z-2\.", "Z-2.5"), ""),
]  # fmt: skip


@pytest.mark.parametrize(("name", "subject", "change", "code"), FAULTS, ids=[f[0] for f in FAULTS])
def test_it_is_noticed(
    sound: Build,
    known: set[tuple[str, str]],
    name: str,
    subject: str,
    change: Change,
    code: str,
) -> None:
    file = next(
        each
        for each in sound.gcode_files
        if subject in {item.subject for item in each.order.operations}
    )
    text = change(file.text)
    assert text != file.text, f"{name} changes nothing"
    other = replace(imported(file, text), file_name=file.file_name)
    found = run_checks(replayed(sound, {file.file_name: other}))
    told = {each for each, _ in loud(found) - known}
    assert told, f"{name} is missed"
    assert not code or code in told, f"{name}: {sorted(told)}"


def test_the_kinds_of_work_are_all_there(sound: Build) -> None:
    works = {each.work for file in sound.gcode_files for each in file.order.operations}
    assert works == {Work.POCKET, Work.ENGRAVE, Work.MILL_FLUSH, Work.DRILL, Work.TRIM}
    assert len({name for name, *_ in FAULTS}) == len(FAULTS)
