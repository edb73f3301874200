"""Where clamps may not stand, as printed: against the second reading of the same files."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings

from flushwork.built import Build
from flushwork.checks.rules.machine.clamp_rules import clamp_hit
from flushwork.gcode.swept import CLAMP_GAP_MM
from flushwork.pipeline import build
from flushwork.shelf.items import KeepOut
from flushwork.toolpaths.orders import GcodeFile
from tests.gcode import second_reader
from tests.many import examples
from tests.random_jobs import Asked, cards, jobs, made

Bounds = tuple[float, float, float, float]
NUMBER = r"([-\u2212]?[0-9]+(?:[.][0-9]+)?)"
BOX = re.compile(rf"X {NUMBER} to {NUMBER}, Y {NUMBER} to {NUMBER}")
EXAMPLES = Path(__file__).parents[2] / "examples"


def boxes(text: str) -> list[Bounds]:
    """Return the stretches of X and Y a text tells, in the order it tells them."""
    plain = text.replace("\u2212", "-").replace("\u00a0", " ")
    return [tuple(map(float, found.groups())) for found in BOX.finditer(plain)]  # type: ignore[misc]


def swept(file: GcodeFile) -> tuple[Bounds, Bounds, float]:
    """Return what the second reader sees swept low and in all, and the height between them.

    The first visit of a file is the lift over a place nobody knows; the next ends the way there.
    """
    read = second_reader.read(file.text, outermost=True)
    visits = [each for each in read if each[0] != "dwell"][1:]
    over = max(z for _, _, _, z in visits)
    low: set[int] = set()
    for index, (_, _, _, z) in enumerate(visits):
        if z < over - 1e-6:
            low |= {index, index - 1} if index else {index}
        elif index and visits[index - 1][3] < over - 1e-6:
            low.add(index)
    radius = max(file.order.bit.diameter_mm, file.order.bit.shank_mm) / 2.0

    def around(which: list[int]) -> Bounds:
        x, y = [visits[each][1] for each in which], [visits[each][2] for each in which]
        return min(x) - radius, max(x) + radius, min(y) - radius, max(y) + radius

    return around(sorted(low)), around(list(range(len(visits)))), over


def check(made: Build) -> None:
    """Hold header, file row, card and page to the second reader, to 0.01 mm."""
    for card in cards(made):
        files = [file for file in made.gcode_files if file.order.setup == card.number]
        seen = [swept(file) for file in files]
        held = [one for file, one in zip(files, seen, strict=True) if not file.order.bare]
        rows = {row.file_name: row for row in card.files}
        for file, (low, whole, _over) in zip(files, seen, strict=True):
            unit = 25.4 if file.order.machine.dialect.inch else 1.0
            head = " ".join(line for line in file.text.splitlines() if line.startswith("("))
            in_head = [tuple(unit * each for each in box) for box in boxes(head)]
            assert in_head[0] == pytest.approx(low, abs=0.01)
            assert in_head[1] == pytest.approx(whole, abs=0.01)
            in_row = boxes(rows[file.file_name].within)
            assert in_row[0] == pytest.approx(low, abs=0.011)
            assert in_row[1] == pytest.approx(whole, abs=0.011)
        facts = {fact.label: fact.value for fact in card.facts}
        for label, kind in (("Keep out", 0), ("Crosses", 1)):
            (printed,) = boxes(facts[label])
            each = [one[:2][kind] for one in held]
            low_x, low_y = min(one[0] for one in each), min(one[2] for one in each)
            high_x, high_y = max(one[1] for one in each), max(one[3] for one in each)
            assert printed == pytest.approx((low_x, high_x, low_y, high_y), abs=0.011)
        assert drawn(card.picture.svg, made) == pytest.approx(boxes(facts["Keep out"])[0], abs=0.1)
        assert_whole(card.picture.svg)
        above = [
            one[2] - file.order.face_above_mm
            for file, one in zip(files, seen, strict=True)
            if not file.order.bare
        ]
        assert height(facts["Keep out"]) == pytest.approx(max(above), abs=0.011)
        assert height(facts["Crosses"]) == pytest.approx(min(above), abs=0.011)


def height(text: str) -> float:
    """Return the height above the wood that a line of a card tells."""
    return float(re.findall(NUMBER + "\u00a0mm above the wood", text)[0])


def assert_whole(svg: str) -> None:
    """Hold that nothing of the region or the blank is cut off by the picture's edge."""
    seen = re.search(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"', svg)
    assert seen is not None
    for tag in re.findall("<rect[^>]*>", svg):
        rect = dict(re.findall(r'([a-z-]+)="([^"]*)"', tag))
        x, y = float(rect["x"]), float(rect["y"])
        assert min(x, y) >= 0.0
        assert x + float(rect["width"]) <= float(seen[1])
        assert y + float(rect["height"]) <= float(seen[2])


def drawn(svg: str, made: Build) -> Bounds:
    """Return the region within the broken line of a card's drawing, by its board's corner."""
    rects = [
        dict(re.findall(r'([a-z-]+)="([^"]*)"', tag)) for tag in re.findall("<rect[^>]*>", svg)
    ]
    board = rects[0]
    (region,) = [rect for rect in rects if rect.get("stroke-dasharray") == "2 1.2"]
    scale = float(board["width"]) / made.job.blank.length_mm
    left = (float(region["x"]) - float(board["x"])) / scale
    far = made.job.blank.width_mm - (float(region["y"]) - float(board["y"])) / scale
    wide, deep = float(region["width"]) / scale, float(region["height"]) / scale
    return left, left + wide, far - deep, far


@pytest.mark.parametrize("name", sorted(each.parent.name for each in EXAMPLES.glob("*/job.yaml")))
def test_the_printed_region_of_the_examples_is_the_second_readers(name: str) -> None:
    if name in {"kingfisher", "house-sign"} and examples(1) == 1:
        pytest.skip("takes long: run where many cases are asked for")
    check(build(EXAMPLES / name / "job.yaml", check=False, cell_mm=0.5))


def strips(box: Bounds, away_mm: float, height_mm: float) -> list[KeepOut]:
    """Return four clamps as long as a board, each so far outside one side of a box."""
    left, right, near, far = box
    places = (
        (left - away_mm - 1.0, 0.0, 2.0, 4000.0),
        (right + away_mm + 1.0, 0.0, 2.0, 4000.0),
        (0.0, near - away_mm - 1.0, 4000.0, 2.0),
        (0.0, far + away_mm + 1.0, 4000.0, 2.0),
    )
    return [
        KeepOut("strip", wide, deep, x, y, "lower left", height_mm) for x, y, wide, deep in places
    ]


def check_clamps(made: Build) -> None:
    """Hold that a clamp beside the printed region is free, and one that reaches in is hit."""
    for card, setup in zip(cards(made), made.plan.setups, strict=True):
        facts = {fact.label: fact.value for fact in card.facts}
        (low,) = boxes(facts["Keep out"])
        check_holder(made, card.number, facts["Holder"])
        within = height(facts["Keep out"])
        beside = min(height(facts["Crosses"]), height(facts["Holder"]))
        for away, over, hit in (
            (CLAMP_GAP_MM + 0.02, beside, False),
            (CLAMP_GAP_MM - 0.03, within, True),
        ):
            for keep in strips(low, away, over - 0.02):
                there = replace(keep, face=setup.face, setups=(setup.number,))
                files = tuple(file for file in made.gcode_files if not file.order.bare)
                job = replace(made.job, keep_outs=(there,))
                case = replace(made, job=job, gcode_files=files)
                assert bool(list(clamp_hit(case))) is hit, (there, low)


def check_holder(made: Build, number: int, told: str) -> None:
    """Hold the holder's height to the second reader; outside its region the tallest is free."""
    files = tuple(
        file for file in made.gcode_files if file.order.setup == number and not file.order.bare
    )
    lowest = min(
        min(each[3] for each in second_reader.read(file.text) if each[0] != "dwell")
        + file.order.bit.reach_mm
        for file in files
    )
    assert height(told) == pytest.approx(lowest, abs=0.011)
    (box,) = boxes(told)
    for keep in strips(box, CLAMP_GAP_MM + 0.02, 400.0):
        there = replace(keep, face=files[0].order.face, setups=(number,))
        case = replace(made, job=replace(made.job, keep_outs=(there,)), gcode_files=files)
        assert not list(clamp_hit(case)), (there, told)


@settings(max_examples=examples(3), deadline=None)
@given(jobs())
def test_clamps_are_hit_exactly_where_the_card_keeps_them_out(asked: Asked) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check_clamps(made(Path(folder), asked))


@settings(max_examples=examples(5), deadline=None)
@given(jobs())
def test_the_printed_region_of_random_jobs_is_the_second_readers(asked: Asked) -> None:
    with tempfile.TemporaryDirectory() as folder:
        check(made(Path(folder), asked))
