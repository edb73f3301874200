"""Layouts: the counts of the published rules, and at every allowed measure nothing overlaps."""

from __future__ import annotations

import itertools
import math
import tempfile
from collections import Counter
from pathlib import Path

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML
from shapely import LineString

from flushwork.art.draw import draw_faces
from flushwork.art.layouts.draw_layout import lay
from flushwork.art.layouts.laid import Laid, nearest_mm
from flushwork.core.findings import JobRefusedError
from flushwork.job.read import read_job
from flushwork.job.records import (
    BorderRun,
    CompassRose,
    CornerFans,
    Job,
    MancalaRows,
    MarkedScale,
    Morris,
    PegTrack,
    PointedBoard,
    Solitaire,
    Squares,
    StarHalma,
)
from flushwork.job.text.dump import resolved_text
from tests.job.test_odd_values import ODD, paths_in, put, read_in_words, written
from tests.many import examples

HEAD = """\
flushwork: 2
title: A board
blank: {wood: sugar maple, length: 600 mm, width: 600 mm, thickness: 20 mm}
mixes: {dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}}
"""
HOLE = "front: {holes: [{points: [[0 mm, 0 mm]], diameter: 3 mm, depth: 4 mm}]}\n"
INLAY = "front: {inlays: [{name: a, layout: it, part: %s, depth: 2 mm, fill: dark}]}\n"
EVERY = {
    "squares": "{square: 50 mm}",
    "pointed board": "{point: [40 mm, 200 mm], bar: 40 mm, between: 60 mm, apart: 1 mm}",
    "morris": "{men: 9, size: 180 mm}",
    "solitaire": "{pitch: 12 mm}",
    "mancala": "{pit: 48 mm, pitch: 56 mm, store: 40 mm}",
    "star halma": "{pitch: 20 mm}",
    "peg track": "{streets: 11, streets in a turn: 2, pitch: 6 mm, gap: 3 mm, lane pitch: 8 mm}",
    "compass rose": "{diameter: 90 mm}",
    "border run": "{around: 280 mm x 160 mm, size: [8 mm, 4 mm], gap: 2 mm}",
    "corner fans": "{corners of: 280 mm x 160 mm, rays: 7, radius: 40 mm, inside: 6 mm}",
    "scale": "{length: 300 mm, steps: 60, mark: 3 mm}",
}


def job_of(text: str) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(text, "utf-8")
        return read_job(path)


def layout_job(kind: str, keys: str, faces: str = HOLE) -> Job:
    return job_of(f"{HEAD}layouts: {{it: {{{kind}: {keys}}}}}\n{faces}")


def read_or_refused(kind: str, keys: str) -> tuple[Job | None, list[str]]:
    try:
        return layout_job(kind, keys), []
    except JobRefusedError as refused:
        return None, [each.code for each in refused.findings]


def codes(kind: str, keys: str, faces: str = HOLE) -> list[str]:
    try:
        draw_faces(layout_job(kind, keys, faces))
    except JobRefusedError as refused:
        return [each.code for each in refused.findings]
    return []


def test_chess_and_draughts_have_the_squares_of_their_rules() -> None:
    """FIDE Laws of Chess (2023), article 2.1: 64 squares by turns, the near right one light."""
    board = lay(Squares(square_mm=(50.0,)))
    assert shapely.area(board.areas["dark"]) == shapely.area(board.areas["light"]) == 32 * 2500
    corner = shapely.Point(4 * 50.0 - 25.0, -4 * 50.0 + 25.0)
    assert board.areas["light"].contains(corner)
    assert len(board.lines["lines"]) == 9 + 9
    assert [each.words for each in board.words["numbers"]] == [*"abcdefgh", *"12345678"]


def test_a_pointed_board_has_24_points_in_four_sixes_by_turns() -> None:
    """The published rules of backgammon: 24 points by turns, in four sixes, a bar between."""
    board = lay(PointedBoard(point_mm=(40.0, 200.0), bar_mm=40.0, between_mm=60.0))
    parts = {name: list(board.areas[name].geoms) for name in ("dark", "light")}
    assert {name: len(found) for name, found in parts.items()} == {"dark": 12, "light": 12}
    for name, found in parts.items():
        quarters = Counter((each.centroid.x > 0, each.centroid.y > 0) for each in found)
        assert set(quarters.values()) == {3}, name
    # facing points differ in colour
    for each in parts["dark"]:
        facing = shapely.affinity.scale(each, 1.0, -1.0, origin=(0.0, 0.0))
        assert board.areas["light"].intersection(facing).area == pytest.approx(each.area)
    assert [each.words for each in board.words["numbers"]] == [str(at) for at in range(1, 25)]
    right = board.words["numbers"][0].at
    assert right[0] > 0 > right[1]


@pytest.mark.parametrize(
    ("men", "places", "mills"), [(3, 9, 8), (6, 16, 8), (9, 24, 16), (12, 24, 20)]
)
def test_morris_has_the_places_and_the_mills_of_its_rules(
    men: int, places: int, mills: int
) -> None:
    """R. C. Bell, *Board and Table Games*, 1969, chapter 3 (from memory).

    A mill is three places in a row on one line.  On the boards of six men the lines that join the
    two squares hold two places only.
    """
    board = lay(Morris(men=men, size_mm=180.0, diagonals=men == 3))
    holes = board.holes["holes"]
    assert len(holes) == len(set(holes)) == places
    threes = set()
    for line in board.lines["lines"]:
        for start, end in itertools.pairwise(line):
            on = LineString([start, end])
            threes.add(frozenset(each for each in holes if on.distance(shapely.Point(each)) < 1e-9))
    assert sum(len(each) == 3 for each in threes) == mills
    for each in holes:  # every place lies on a line
        assert (
            min(LineString(one).distance(shapely.Point(each)) for one in board.lines["lines"]) == 0
        )


def test_solitaire_has_its_two_forms() -> None:
    """J. D. Beasley, *The Ins and Outs of Peg Solitaire*, 1985, chapter 1 (from memory)."""
    for count, rows in ((33, [3, 3, 7, 7, 7, 3, 3]), (37, [3, 5, 7, 7, 7, 5, 3])):
        holes = lay(Solitaire(holes=count, pitch_mm=10.0)).holes["holes"]
        found = Counter(y for _, y in holes)
        assert len(holes) == count
        assert [found[y] for y in sorted(found)] == rows


def test_star_halma_has_121_places_ten_in_each_point() -> None:
    """E. W. Weisstein, MathWorld, *Chinese Checkers*: S5 = 121; a hexagon of side 5 has 61."""
    board = lay(StarHalma(pitch_mm=20.0))
    holes = shapely.points(board.holes["holes"])
    assert len(holes) == 121
    on_middle = shapely.dwithin(board.areas["middle"], holes, 1e-6)
    assert int(on_middle.sum()) == 61
    for number in range(1, 7):
        on_point = shapely.dwithin(board.areas[f"point {number}"], holes, 1e-6)
        assert int((on_point & ~on_middle).sum()) == 10
    # 17 rows each way; every place of a row is joined to the next
    assert sum(LineString(line).length for line in board.lines["lines"]) == pytest.approx(
        20.0 * 3 * (121 - 17)
    )


def test_mancala_has_two_rows_of_six_and_two_stores() -> None:
    """The rules of kalah: six pits on each side, a store at each end."""
    board = lay(MancalaRows(pit_mm=48.0, pitch_mm=56.0, store_mm=40.0))
    assert len(board.areas["pits"].geoms) == len(board.holes["holes"]) == 12
    assert len(board.areas["stores"].geoms) == 2
    # wood beside the stores as between pits
    assert board.areas["pits"].distance(board.areas["stores"]) == pytest.approx(8.0, abs=0.02)


def test_a_track_of_120_has_24_streets_and_a_finish() -> None:
    track = PegTrack(lanes=3, streets=11, turn_streets=2, pitch_mm=6.0, gap_mm=3.0, lane_mm=8.0)
    laid = lay(track)
    assert track.holes == 120
    assert {name: len(found) for name, found in laid.holes.items()} == {
        "track": 360, "start": 6, "finish": 1,
    }  # fmt: skip
    assert [each.words for each in laid.words["numbers"]] == [str(5 * at) for at in range(1, 25)]
    assert len(laid.lines["lines"]) == 23


TRACKS = st.builds(
    PegTrack,
    lanes=st.integers(1, 6), runs=st.integers(1, 5), streets=st.integers(1, 8),
    turn_streets=st.integers(1, 6), street=st.integers(1, 8), pitch_mm=st.floats(2.0, 20.0),
    gap_mm=st.floats(0.0, 20.0), lane_mm=st.floats(2.0, 20.0), start=st.integers(0, 5),
)  # fmt: skip


@settings(max_examples=examples(20), deadline=None)
@given(TRACKS)
def test_holes_of_a_track_stand_at_their_pitch_along_every_lane(track: PegTrack) -> None:
    laid = lay(track)
    holes = laid.holes["track"]
    assert len(holes) == track.lanes * track.holes
    lanes = [holes[at * track.holes : (at + 1) * track.holes] for at in range(track.lanes)]
    wide = track.pitch_mm + track.gap_mm
    steps = [[math.dist(one, other) for one, other in itertools.pairwise(lane)] for lane in lanes]
    for at, inner in enumerate(zip(*steps, strict=True), start=1):
        wanted = wide if at % track.street == 0 else track.pitch_mm
        # on straight runs all lanes keep it; in a turn the inner lane does, the others are wider;
        # from a run into its turn the gap bends, and is longer by the square root of 5/4 at most
        assert wanted - 1e-6 <= min(inner) <= 1.12 * wanted
    for one, other in itertools.pairwise(lanes):
        for first, second in zip(one, other, strict=True):
            assert math.dist(first, second) == pytest.approx(track.lane_mm)
    for along in (0, 1):  # its zero is the middle of all its holes
        ways = [place[along] for place in laid.places]
        assert min(ways) + max(ways) == pytest.approx(0.0, abs=1e-6)
    least = min(track.pitch_mm, track.lane_mm if track.lanes > 1 else math.inf)
    assert nearest_mm(laid.places) >= 0.98 * least
    assert laid.room_mm["track"] == nearest_mm(laid.places)
    drawn = [LineString(line) for line in laid.lines["lines"]]
    for left, right in itertools.combinations(drawn, 2):
        assert left.distance(right) >= laid.room_mm["lines"] - 1e-6
    assert laid.room_mm["lines"] > 0.0


def text_of(**keys: object) -> str:
    return "{" + ", ".join(f"{key.replace('_', ' ')}: {value}" for key, value in keys.items()) + "}"


def mm(least: float, most: float) -> st.SearchStrategy[str]:
    return st.floats(least, most).map(lambda value: f"{value:.3f} mm")


def record(kind: str, **keys: st.SearchStrategy[object]) -> st.SearchStrategy[tuple[str, str]]:
    return st.builds(text_of, **keys).map(lambda text: (kind, text))


def pair(*each: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.tuples(*each).map(lambda values: f"[{', '.join(values)}]")


def size(least: float, most: float) -> st.SearchStrategy[str]:
    return st.tuples(mm(least, most), mm(least, most)).map(" x ".join)


ANY = st.one_of(
    record("squares", columns=st.integers(1, 12), rows=st.integers(1, 12),
           square=pair(mm(5, 60), mm(5, 60))),
    record("pointed board", point=pair(mm(10, 50), mm(30, 200)), points=st.integers(1, 8),
           bar=mm(1, 60), between=mm(1, 90), apart=mm(0, 12)),
    record("morris", men=st.integers(3, 12), size=mm(30, 300),
           diagonals=st.sampled_from(["yes", "no"])),
    record("solitaire", holes=st.integers(33, 37), pitch=mm(4, 30)),
    record("mancala", pits=st.integers(2, 8), rows=st.integers(2, 4), pit=mm(10, 60),
           pitch=mm(10, 80), store=mm(0, 60)),
    record("star halma", pitch=mm(4, 30)),
    record("compass rose", points=st.sampled_from([4, 6, 8, 16, 32]), diameter=mm(20, 300),
           waist=mm(1, 80)),
    record("border run", around=size(20, 300), size=pair(mm(2, 20), mm(2, 20)), gap=mm(0.5, 9),
           ornament=st.sampled_from(["diamonds", "discs", "bars", "triangles"])),
    record("corner fans", corners_of=size(30, 300), rays=st.integers(1, 25),
           radius=mm(5, 80), inside=mm(1, 20)),
    record("scale", length=mm(20, 300), steps=st.integers(1, 60), long_every=st.integers(1, 12),
           mark=mm(1, 10)),
    record("scale", diameter=mm(20, 300), steps=st.integers(1, 60), mark=mm(1, 30),
           long_every=st.integers(1, 12), sweep=st.integers(-360, 360).map("{} deg".format)),
)  # fmt: skip
SYMMETRIC = (
    Squares,
    PointedBoard,
    Morris,
    Solitaire,
    MancalaRows,
    StarHalma,
    BorderRun,
    CornerFans,
)


@settings(max_examples=examples(60), deadline=None)
@given(ANY)
@example(("scale", "{diameter: 25 mm, steps: 2, mark: 6 mm, long every: 2, sweep: 1 deg}"))
def test_at_every_measure_nothing_overlaps_or_it_is_refused(given_: tuple[str, str]) -> None:
    job, refused = read_or_refused(*given_)
    if job is None:
        assert set(refused) == {"value-out-of-range"}
        return
    (layout,) = job.layouts
    laid = lay(layout.by)
    assert set(laid.areas) | set(laid.lines) | set(laid.holes) | set(laid.words) == set(
        layout.by.parts
    )
    for one, other in itertools.combinations(laid.areas.values(), 2):
        assert one.intersection(other).area < 1e-6 * max(1.0, one.area)
    if len(laid.places) > 1:
        assert nearest_mm(laid.places) >= laid.room_mm["holes"] - 1e-6
    for lines in laid.lines.values():
        drawn = [LineString(line) for line in lines]
        for first, second in itertools.combinations(drawn, 2):
            apart = first.distance(second)
            assert apart < 1e-9 or apart >= laid.room_mm["lines"] - 1e-6
    if isinstance(layout.by, SYMMETRIC):
        _same_mirrored(laid)
    if isinstance(layout.by, CompassRose):
        whole = shapely.union_all(list(laid.areas.values()))
        turned = shapely.affinity.rotate(laid.areas["dark"], 90.0, origin=(0.0, 0.0))
        assert turned.symmetric_difference(laid.areas["dark"]).area < 1e-6 * whole.area
        assert laid.areas["dark"].area == pytest.approx(laid.areas["light"].area)
    if isinstance(layout.by, BorderRun):
        _evenly_spaced(layout.by, laid)


def _same_mirrored(laid: Laid) -> None:
    """Mirrored left to right, and near to far, all its areas and all its holes lie as before."""
    whole = shapely.union_all(list(laid.areas.values()), grid_size=1e-6)
    for across, up in ((-1.0, 1.0), (1.0, -1.0)):
        mirrored = shapely.affinity.scale(whole, across, up, origin=(0.0, 0.0))
        # curves are flattened to 0.005 mm, not alike on both sides
        assert mirrored.symmetric_difference(whole).area <= 1e-3 + 0.01 * whole.length
        if laid.places:
            places = shapely.multipoints(laid.places)
            other = shapely.affinity.scale(places, across, up, origin=(0.0, 0.0))
            assert other.hausdorff_distance(places) < 1e-6


def _evenly_spaced(border: BorderRun, laid: Laid) -> None:
    """Ornaments are as many as they were meant to be, evenly along each side, and gapped."""
    parts = list(laid.areas["ornaments"].geoms)
    half_x, half_y = border.around_mm[0] / 2.0, border.around_mm[1] / 2.0
    for side in ("near", "left"):
        if side == "near":
            middles = sorted(
                (each.bounds[0] + each.bounds[2]) / 2.0
                for each in parts
                if each.bounds[1] < -half_y + 1e-6 < each.bounds[3]
            )
            length = 2.0 * half_x
        else:
            middles = sorted(
                (each.bounds[1] + each.bounds[3]) / 2.0
                for each in parts
                if each.bounds[0] < -half_x + 1e-6 < each.bounds[2]
            )
            length = 2.0 * half_y
        count = len(middles) - 1
        assert count >= 2
        for at, middle in enumerate(middles):
            assert middle == pytest.approx(length * (at / count - 0.5), abs=0.01)
    boxes = [shapely.box(*each.bounds) for each in parts]
    tree = shapely.STRtree(boxes)
    for at, each in enumerate(boxes):
        near = tree.query(each.buffer(border.gap_mm - 0.01), predicate="intersects")
        assert list(near) == [at]


@pytest.mark.parametrize("kind", EVERY)
def test_every_part_of_every_layout_can_be_used(kind: str) -> None:
    parts = next(iter(layout_job(kind, EVERY[kind]).layouts)).by.parts
    for part, made_of in parts.items():
        more = {"words": ", size: 3 mm", "holes": ", disc: 2 mm", "lines": ", width: 1 mm"}
        face = INLAY.replace("part: %s", f"part: {part}{more.get(made_of, '')}")
        (front, _) = draw_faces(layout_job(kind, EVERY[kind], face))
        (inlay,) = front.inlays
        assert inlay.region.is_valid
        assert inlay.region.area > 1.0
    holes = [part for part, made_of in parts.items() if made_of == "holes"]
    face = "front: {holes: [{layout: it, diameter: 2 mm, depth: 4 mm}]}\n"
    if holes:
        (front, _) = draw_faces(layout_job(kind, EVERY[kind], face))
        laid = lay(next(iter(layout_job(kind, EVERY[kind]).layouts)).by)
        assert len(front.holes[0].places) == len(laid.places)
    else:
        assert codes(kind, EVERY[kind], face) == ["name-unknown"]


def test_pits_are_pockets_left_empty() -> None:
    face = "front: {pockets: [{layout: it, part: pits, depth: 8 mm}]}\n"
    (front, _) = draw_faces(layout_job("mancala", EVERY["mancala"], face))
    assert len(front.pockets[0].region.geoms) == 12


def test_parts_of_one_layout_keep_their_places_on_the_board() -> None:
    face = (
        "front:\n"
        "  inlays: [{layout: it, part: lines, width: 1 mm, at: [30 mm, -20 mm], turn: 45 deg,"
        " depth: 2 mm, fill: dark}]\n"
        "  holes: [{layout: it, at: [30 mm, -20 mm], turn: 45 deg, diameter: 3 mm, depth: 4 mm}]\n"
    )
    (front, _) = draw_faces(layout_job("morris", EVERY["morris"], face))
    for hole in front.holes[0].places:
        assert front.inlays[0].strokes.distance(shapely.Point(hole.x_mm, hole.y_mm)) < 1e-5


def test_layouts_read_back() -> None:
    layouts = "".join(
        f"  l{at}: {{{kind}: {keys}}}\n" for at, (kind, keys) in enumerate(EVERY.items())
    )
    face = (
        "front:\n"
        "  inlays:\n"
        "    - {layout: l2, part: lines, width: 1 mm, depth: 2 mm, fill: dark}\n"
        "    - {layout: l6, part: numbers, size: 3 mm, font: sans, depth: 2 mm, fill: dark}\n"
        "    - {layout: l3, part: holes, disc: 4 mm, depth: 2 mm, fill: dark}\n"
        "  holes: [{layout: l6, part: start, diameter: 3 mm, depth: 4 mm}]\n"
    )
    first = job_of(f"{HEAD}layouts:\n{layouts}{face}")
    again = job_of(resolved_text(first))
    assert [each.by for each in again.layouts] == [each.by for each in first.layouts]
    assert again.faces[0].holes[0].pattern.part == "start"  # type: ignore[union-attr]
    for one, other in zip(first.inlays, again.inlays, strict=True):
        assert one.artwork[0].art.part == other.artwork[0].art.part  # type: ignore[union-attr]
    assert draw_faces(again)[0].inlays[0].region.equals(draw_faces(first)[0].inlays[0].region)


@pytest.mark.parametrize(
    ("kind", "keys", "told"),
    [
        ("pointed board", "{point: [9 mm, 90 mm], bar: 9 mm, between: 9 mm, apart: 9 mm}", "width"),
        ("morris", "{men: 7, size: 90 mm}", "3, 6, 9 or 12"),
        ("morris", "{men: 9, size: 90 mm, diagonals: yes}", "men: 12"),
        ("solitaire", "{holes: 35, pitch: 9 mm}", "33 or 37"),
        ("mancala", "{pit: 50 mm, pitch: 50 mm}", "more than `pit`"),
        ("compass rose", "{points: 12, diameter: 90 mm}", "one of these"),
        ("compass rose", "{points: 32, diameter: 90 mm, waist: 40 mm}", "less than that"),
        ("border run", "{around: 20 mm x 90 mm, size: 9 mm, gap: 2 mm}", "larger"),
        ("corner fans", "{corners of: 90 mm x 90 mm, rays: 4, radius: 9 mm, inside: 2 mm}", "5"),
        ("corner fans", "{corners of: 90 mm x 90 mm, rays: 5, radius: 9 mm, inside: 9 mm}", "less"),
        ("corner fans", "{corners of: 90 mm x 90 mm, rays: 5, radius: 46 mm, inside: 9 mm}", "45"),
        ("scale", "{diameter: 40 mm, steps: 6, mark: 10 mm}", "10 mm"),
        ("scale", "{diameter: 40 mm, steps: 6, mark: 2 mm, sweep: 0 deg}", "360 deg"),
    ],
)
def test_measures_that_cannot_work_are_refused_in_words(kind: str, keys: str, told: str) -> None:
    with pytest.raises(JobRefusedError) as refused:
        layout_job(kind, keys)
    (finding,) = refused.value.findings
    assert finding.code == "value-out-of-range"
    assert told in finding.remedy
    assert finding.source is not None
    assert "layouts" in finding.source.key


@pytest.mark.parametrize(
    ("kind", "face", "code"),
    [
        ("morris", INLAY % "lines, width: 30 mm", "layout-too-tight"),
        ("morris", INLAY % "holes, disc: 40 mm", "layout-too-tight"),
        ("morris", "front: {holes: [{layout: it, diameter: 31 mm, depth: 3 mm}]}\n",
         "layout-too-tight"),
        ("peg track", INLAY % "numbers, size: 40 mm", "layout-numbers-meet"),
        ("squares", INLAY % "numbers, size: 90 mm", "layout-numbers-meet"),
        ("morris", INLAY % "line", "name-unknown"),
        ("morris", INLAY % "holes", "key-missing"),
        ("squares", INLAY % "numbers", "key-missing"),
        ("squares", INLAY % "dark, width: 2 mm", "key-out-of-place"),
        ("squares", INLAY.replace("layout: it", "layout: at") % "dark", "name-unknown"),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_of_a_layout_is_refused(kind: str, face: str, code: str) -> None:
    assert codes(kind, EVERY[kind], face) == [code]


def test_a_part_with_nothing_in_it_is_refused() -> None:
    assert codes("mancala", "{pit: 48 mm, pitch: 56 mm}", INLAY % "stores") == ["layout-part-empty"]


def test_a_job_without_layouts_says_how_to_add_one() -> None:
    with pytest.raises(JobRefusedError) as refused:
        job_of(HEAD + INLAY % "lines")
    (finding,) = refused.value.findings
    assert finding.code == "name-unknown"
    assert "`layouts:" in finding.remedy


def test_a_layout_may_have_any_name() -> None:
    face = INLAY.replace("layout: it", "layout: color") % "lines, width: 1 mm"
    made = job_of(f"{HEAD}layouts: {{color: {{morris: {EVERY['morris']}}}}}\n{face}")
    assert made.layouts[0].name == "color"
    assert draw_faces(made)[0].inlays[0].region.area > 1.0


def test_a_dial_of_a_whole_turn_has_no_mark_twice_and_counts_right_about() -> None:
    dial = lay(MarkedScale(diameter_mm=100.0, steps=60, long_every=5, mark_mm=3.0))
    assert len(dial.lines["lines"]) == 60
    assert [each.words for each in dial.words["numbers"]] == [str(at) for at in range(12)]
    top, next_ = dial.words["numbers"][0].at, dial.words["numbers"][1].at
    assert top[0] == pytest.approx(0.0, abs=1e-9)
    assert next_[0] > 0.0 < top[1]


def test_a_ruler_of_six_inches_has_97_marks_an_inch_between_numbers() -> None:
    ruler = lay(MarkedScale(length_mm=152.4, steps=96, long_every=16, mark_mm=3.0))
    assert len(ruler.lines["lines"]) == 97
    numbers = ruler.words["numbers"]
    assert [each.words for each in numbers] == list("0123456")
    for one, other in itertools.pairwise(numbers):
        assert other.at[0] - one.at[0] == pytest.approx(25.4)


def test_a_fan_is_dark_at_both_edges_and_its_rays_are_even() -> None:
    fans = lay(CornerFans(corners_of_mm=(200.0, 120.0), rays=7, radius_mm=40.0, inside_mm=6.0))
    assert [len(fans.areas[name].geoms) for name in ("dark", "light")] == [16, 12]
    wedge = math.pi / 4.0 / 7.0 * (40.0**2 - 6.0**2)
    for each in (*fans.areas["dark"].geoms, *fans.areas["light"].geoms):
        assert each.area == pytest.approx(wedge, rel=1e-3)


def test_a_rose_has_its_points_up_and_the_waist_asked_for() -> None:
    rose = lay(CompassRose(points=4, diameter_mm=100.0, waist_mm=20.0))
    whole = shapely.union_all(list(rose.areas.values()), grid_size=1e-6)
    # four kites of two triangles: 8 x (50 x 10 x sin 45) / 2
    assert whole.area == pytest.approx(4.0 * 50.0 * 10.0 * math.sin(math.pi / 4.0), rel=1e-5)
    assert [each.words for each in rose.words["letters"]] == ["N", "E", "S", "W"]


BOARDS = f"""\
{HEAD}layouts:
  wide: {{squares: {{columns: 3, rows: 3, square: [20 mm, 30 mm]}}}}
  tables: {{pointed board: {EVERY["pointed board"]}}}
  mill: {{morris: {{men: 3, size: 60 mm, diagonals: yes}}}}
  pits: {{mancala: {EVERY["mancala"]}}}
  track: {{peg track: {{lanes: 2, runs: 2, streets: 2, pitch: 6 mm, lane pitch: 8 mm, start: 1}}}}
  rose: {{compass rose: {{points: 8, diameter: 90 mm, waist: 18 mm}}}}
  run: {{border run: {{around: 90 mm x 80 mm, ornament: bars, size: 4 mm, gap: 2 mm}}}}
  fans: {{corner fans: {EVERY["corner fans"]}}}
  dial: {{scale: {{diameter: 90 mm, steps: 12, long every: 3, mark: 3 mm, sweep: 90 deg}}}}
front:
  inlays:
    - {{name: lines, layout: mill, part: lines, width: 1 mm, ends: flat, depth: 2 mm, fill: dark}}
    - {{name: marks, layout: track, part: numbers, size: 3 mm, font: sans, depth: 1 mm, fill: dark}}
    - {{name: words, text: AB, size: 9 mm, align: left, line spacing: 90 %, depth: 1 mm,
       fill: dark, on arc: {{diameter: 90 mm, angle: 10 deg, tops: inward}}}}
  holes: [{{name: pegs, layout: track, part: track, diameter: 3 mm, depth: 4 mm}}]
loose parts:
  - {{name: men, wood: sugar maple, match: dark, count: 3, spares: 1, shape: peg, across: 4 mm,
     length: 20 mm, tip: 2 mm, coats: 1, goes in: pegs, plays on: mill, side: near}}
"""


@settings(max_examples=examples(25), deadline=None)
@given(data=st.data())
def test_one_odd_value_in_a_layout_is_refused_in_words_or_drawn(data: st.DataObject) -> None:
    tree = YAML(typ="safe", pure=True).load(BOARDS)
    mine = ("layouts", "front", "loose parts")
    place = data.draw(st.sampled_from([each for each in paths_in(tree) if each[0] in mine]))
    put(tree, place, data.draw(ODD))
    try:
        text = written(tree)
    except Exception:  # noqa: BLE001  (not every odd value can be written as YAML)
        return
    with tempfile.TemporaryDirectory() as made:
        (Path(made) / "job.yaml").write_text(text, "utf-8", errors="replace")
        read_in_words(Path(made))
