"""A year in the places a board lives: what it does, and that its figures hold together."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.checks.fixes.fix import Question, applied
from flushwork.checks.fixes.propose import fixes_for
from flushwork.core.findings import JobRefusedError
from flushwork.shelf.rooms import MONTHS, MonthAir, Room, packaged_rooms
from flushwork.shelf.tables import starter_shop
from flushwork.views.figures import Lengths
from flushwork.views.year_views import year_view
from flushwork.wood.movement import (
    OPENS_MM,
    MovingBoard,
    cup_mm,
    moments_of,
    one_sided_cup_mm,
    year_of,
)
from tests.checks.hearing import codes, heard, one, undated, written
from tests.many import examples
from tests.scenarios.texts import job
from tests.small_jobs import changed, found, made

WOODS = {wood.name: wood for wood in starter_shop().woods}
ROOMS = st.lists(
    st.builds(
        Room,
        name=st.sampled_from(["hall", "study", "shed"]),
        months=st.lists(
            st.builds(MonthAir, st.sampled_from(MONTHS), st.floats(0.0, 30.0), st.floats(0.2, 0.9)),
            min_size=1,
            max_size=5,
            unique_by=lambda each: each.month,
        ).map(tuple),
    ),
    min_size=1,
    max_size=3,
).map(tuple)


@given(
    rooms=ROOMS,
    wood=st.sampled_from(sorted(WOODS)),
    width=st.floats(20.0, 600.0),
    moisture=st.floats(0.05, 0.14),
    flat=st.booleans(),
)
@settings(max_examples=examples(40), deadline=None)
def test_frame_and_inlay_bear_every_month(
    rooms: tuple[Room, ...], wood: str, width: float, moisture: float, flat: bool
) -> None:
    board = MovingBoard(WOODS[wood], width, moisture, flat, 120.0)
    year = year_of(board, rooms)
    per_pct = board.wood.tangential_per_pct if flat else board.wood.radial_per_pct
    for each in moments_of(rooms):
        grown = width * per_pct * 100.0 * (each.moisture - moisture)
        free = year.clearance_mm - grown / 2.0
        assert -1e-9 <= free <= year.gap_mm + 1e-9, "it neither bursts the frame nor opens it more"
        if math.isfinite(year.inlay_mm):
            assert abs(grown / width) * year.inlay_mm / 2.0 <= OPENS_MM + 1e-9
    assert year.driest.at.moisture <= year.dampest.at.moisture


def test_a_year_is_a_ring() -> None:
    room = Room("hall", (MonthAir("November", 6.0, 0.4), MonthAir("February", 12.0, 0.7)))
    temperatures = [at_c for at_c, _ in room.year]
    assert temperatures[10:] + temperatures[:2] == pytest.approx([6.0, 8.0, 10.0, 12.0])
    assert temperatures[5] == pytest.approx(12.0 - 6.0 * 4 / 9)
    assert len(set(Room("cellar", (MonthAir("May", 9.0, 0.8),)).year)) == 1


def bent_mm(width: float, radius: float, along: float, across: float) -> float:
    """Return the sagitta of a board whose rings changed, by moving each point of its lower edge.

    A point at ring radius r and angle a moves to r (1 + across) and a (1 + along) / (1 + across):
    every ring keeps its own new length, and rings stay round about one heart.
    """
    x = np.linspace(-width / 2.0, width / 2.0, 201)
    r, a = np.hypot(x, radius), np.arctan2(x, radius)
    r, a = r * (1.0 + across), a * (1.0 + along) / (1.0 + across)
    y = r * np.cos(a)
    return float(y[0] - y[100])


@given(
    width=st.floats(40.0, 120.0),
    radius=st.floats(150.0, 600.0),
    change=st.floats(-5.0, 5.0),
    wood=st.sampled_from(sorted(WOODS)),
)
@settings(max_examples=examples(40), deadline=None)
def test_cup_is_that_of_rings_that_change(
    width: float, radius: float, change: float, wood: str
) -> None:
    board = MovingBoard(WOODS[wood], width, 0.08, True, radius)
    along, across = (
        change * each for each in (board.wood.tangential_per_pct, board.wood.radial_per_pct)
    )
    # edges that rise over the middle are hollow on the bark side; near the heart the parabola is a
    # little off, by about (w / 2R)^2
    wanted = bent_mm(width, radius, along, across)
    assert cup_mm(board, change) == pytest.approx(wanted, rel=0.2, abs=2e-3)


def test_a_quarter_sawn_board_does_not_cup() -> None:
    assert cup_mm(MovingBoard(WOODS["red oak"], 300.0, 0.08, False, 60.0), 4.0) == 0.0


def test_the_places_of_a_job_reach_check_book_and_page(tmp_path: Path) -> None:
    places = (
        "places: [heated room, {name: shed, months: [{month: July, temperature: 20 degC, "
        "humidity: 85 %}]}]\nfront:"
    )
    text = changed("round: 4 mm}", "round: 4 mm, hidden border: 0.5 mm}", changed("front:", places))
    build = made(tmp_path, text)
    (told,) = found(build, "frame-shows-edge")
    view = year_view(build, 180.0, Lengths("metric"))
    # sugar maple, 56 mm across the grain: half of 0.00353 x (18.0 - 8.0) x 56 is left free
    shed = moments_of(build.job.rooms)[-1]
    free = 0.00353 * 100.0 * (shed.moisture - 0.08) * 56.0 / 2.0
    driest = min(each.moisture for each in moments_of(packaged_rooms()[:1]))
    open_mm = free + 0.00353 * 100.0 * (0.08 - driest) * 56.0 / 2.0
    assert told.measure is not None
    assert told.measure.value == pytest.approx(open_mm, abs=1e-6)
    assert "shed in" in told.message
    said = {fact.label: fact.value for fact in view.facts}
    assert said["Free in a frame"] == f"{free:.2f}\N{NO-BREAK SPACE}mm each side"
    assert [row[0] for row in view.places.rows] == ["heated room", "shed"]
    assert "shed" in view.chart.svg
    assert view.asked


def test_an_unknown_room_is_a_slip_that_names_those_known(tmp_path: Path) -> None:
    with pytest.raises(JobRefusedError) as refused:
        made(tmp_path, changed("front:", "places: [heeted room]\nfront:"))
    (slip,) = refused.value.findings
    assert slip.code == "name-unknown"
    assert "did you mean `heated room`" in slip.remedy


@settings(max_examples=examples(30), deadline=None)
@given(
    width=st.floats(40.0, 500.0),
    thick=st.floats(6.0, 40.0),
    strain=st.floats(1e-4, 0.02),
)
def test_a_board_bent_by_one_face_is_an_arc_of_it(
    width: float, thick: float, strain: float
) -> None:
    """One face of the arc is w (1 + e) long and the other w: radius t / e, sagitta R (1 - cos)."""
    board = MovingBoard(WOODS["black cherry"], width, 0.08, True, 150.0)
    radius = thick / strain
    arc = radius * (1.0 - math.cos(width / 2.0 / radius))
    assert one_sided_cup_mm(board, strain, thick) == pytest.approx(arc, rel=0.09)
    assert one_sided_cup_mm(board, -strain, thick) == one_sided_cup_mm(board, strain, thick)


def test_a_back_left_bare_is_told_with_its_cup_and_a_finish_mends_it(tmp_path: Path) -> None:
    plate = "front: {inlays: [{name: a, circle: 20 mm, depth: 2 mm, fill: navy}]}\n"
    bare = job("sealer: shellac\nfinish: none\n" + plate, width=180, length=200)
    path = written(tmp_path / "bare", bare)
    told = one(heard(tmp_path / "bare", bare), "one-face-sealed", "blank")
    made_ = undated(path)
    worst = max(
        abs(100.0 * (each.moisture - 0.08) * WOODS["sugar maple"].tangential_per_pct)
        for each in moments_of(made_.job.rooms)
    )
    assert told.measure is not None
    # 16 mm less two faces surfaced and sanded
    assert told.measure.value == pytest.approx(worst * 180.0**2 / (8.0 * 14.6), rel=0.01)
    first = fixes_for(Question(told, made_.job, made_.faces))[0]
    mended = heard(tmp_path / "after", applied(path.read_text("utf-8"), first))
    assert "one-face-sealed" not in codes(mended)
    both = job(
        "sealer: shellac\nfinish: none\n" + plate + plate.replace("front", "back"), width=180
    )
    assert "one-face-sealed" not in codes(heard(tmp_path / "both", both))
