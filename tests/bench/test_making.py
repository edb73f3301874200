"""A job made on the page, act by act: files taken in, things put on the board, moved and filled."""

from __future__ import annotations

import io
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

import flushwork
from flushwork.art.hole_patterns import is_points, points_in
from flushwork.bench.desk.desk import Desk
from flushwork.core.findings import Source
from flushwork.usecases import trace
from flushwork.usecases.jobs import blank_job_text, preread
from flushwork.usecases.making.add import add_drawing, add_part, add_points, add_words
from flushwork.usecases.making.place import (
    centred,
    mates_of,
    mirrored,
    moved,
    repeated,
    set_together,
    sized,
    turned,
)
from flushwork.usecases.making.ready_made import add_ready_made, measures_for, ready_made
from flushwork.usecases.making.take_in import TakenError, files_beside, plain_name, take_in
from tests.bench.conftest import HOST, ask
from tests.many import examples

LEAF: Final = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm"
  viewBox="0 0 40 40">
<g id="outer"><circle cx="20" cy="20" r="18" fill="#0b6a72"/></g>
<g id="inner"><path d="M20 8 L28 28 L12 28 Z" fill="#c02030"/></g></svg>"""
"""A disc with a triangle in it: two colours, two layers."""
BLANK: Final = blank_job_text(
    "Coaster",
    "black walnut",
    "125 mm",
    "125 mm",
    "12 mm",
    pieces="6",
    trim_line={"circle": "100 mm"},
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "leaf.svg").write_bytes(LEAF)
    return tmp_path / "job.yaml"


@pytest.fixture(scope="module")
def leafy(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    path = tmp_path_factory.mktemp("leafy") / "job.yaml"
    path.with_name("leaf.svg").write_bytes(LEAF)
    return path, add_drawing(path, BLANK, "leaf.svg").text


def boxes(path: Path, text: str) -> dict[str, tuple[float, ...]]:
    _, faces = preread(path, text)
    return {drawn.inlay.name: drawn.region.bounds for face in faces for drawn in face.inlays}


# ---- Files


def test_what_is_written_over_nothing_and_named_plainly(tmp_path: Path) -> None:
    job = tmp_path / "shop" / "job.yaml"
    first = take_in(job, "../../etc/le af\x07.SVG", LEAF)
    assert first.file == "le af.svg"
    assert first.layers == ("outer", "inner")
    assert [colour for colour, _ in first.colours] == ["#0b6a72", "#c02030"]
    assert take_in(job, "le af.svg", LEAF).file == "le af.svg", "the same is there already"
    assert take_in(job, "le af.svg", LEAF + b"\n").file == "le af 2.svg"
    assert job.with_name("le af.svg").read_bytes() == LEAF
    elsewhere = tmp_path / "elsewhere.svg"
    os.symlink(elsewhere, job.with_name("linked.svg"))
    assert take_in(job, "linked.svg", LEAF).file == "linked 2.svg"
    assert not elsewhere.exists(), "a link is not written through"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["shop"]


@settings(max_examples=examples(40), deadline=None)
@given(st.text(max_size=90), st.sampled_from(["svg", "dxf", "picture", "font"]))
def test_any_name_becomes_a_plain_one_of_the_folder(name: str, kind: str) -> None:
    plain = plain_name(name, kind)
    assert plain == Path(plain).name
    assert not set('/\\:*?"<>|\0') & set(plain)
    assert plain.isprintable()
    assert 4 < len(plain) < 75
    assert plain[0] not in ". "
    assert plain.partition(".")[0].lower() not in {"con", "nul", "aux"}
    assert plain_name(plain, kind) == plain


POINTS: Final = b"# feet\nx, y, in\n0, 0\n1, 0\n1.5; 1\n0 1\n"


def test_a_list_of_points_becomes_holes_or_an_outline(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    held = take_in(job, "feet of it.csv", POINTS)
    assert (held.file, held.kind) == ("feet of it.csv", "points")
    (tmp_path / "guests.csv").write_text("ANNA, 2\nBEN, 3\n")
    assert files_beside(job) == (("feet of it.csv", "points"),), "a table of names is none"
    drilled = add_points(job, BLANK, held.file)
    assert drilled.things == ("holes/front/feet of it",)
    _, faces = preread(job, drilled.text)
    places = [(hole.x_mm, hole.y_mm) for hole in faces[0].holes[0].places]
    spread = np.subtract(places, np.min(places, axis=0)) / 25.4
    corners = {(round(x, 6), round(y, 6)) for x, y in spread.tolist()}
    assert corners == {(0.0, 0.0), (1.0, 0.0), (1.5, 1.0), (0.0, 1.0)}
    assert add_points(job, drilled.text, held.file).things == ("holes/front/feet of it 2",)
    outline = add_points(job, BLANK, held.file, by="outline", inch=True)
    assert "polygon: {points: [[0 in, 0 in], [1 in, 0 in], [1.5 in, 1 in], [0 in, 1 in]]}" in (
        outline.text
    )
    _, faces = preread(job, outline.text)
    assert faces[0].inlays[0].region.area == pytest.approx(1.25 * 25.4**2, rel=1e-6)


@settings(max_examples=examples(20), deadline=None)
@given(
    st.lists(
        st.tuples(*[st.floats(-9000, 9000).map(lambda v: round(v, 3))] * 2), min_size=1, max_size=9
    ),
    st.sampled_from([", ", ";", "\t", " "]),
    st.sampled_from([("", 1.0), ("x, y\n", 1.0), ("unit: cm\n", 10.0)]),
)
def test_any_points_are_read_as_they_are_written(
    points: list[tuple[float, float]], between: str, head: tuple[str, float]
) -> None:
    first, times = head
    points = [(x / times, y / times) for x, y in points]
    text = first + "\n".join(f"{x:.6f}{between}{y:.6f}" for x, y in points)
    assert is_points(text)
    read = points_in(text, "a.csv", Source("a.csv", 1, 1, ""))
    assert np.array(read) == pytest.approx(np.array(points) * times, abs=2e-5)


def bombs() -> Iterator[tuple[str, bytes]]:
    yield "nothing.svg", b""
    yield "words.svg", b"just some words"
    yield "page.svg", b"<!doctype html><html><script>alert(1)</script></html>"
    lol = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 9))
    head = f'<!DOCTYPE svg [<!ENTITY a0 "ha">{lol}]>'
    yield (
        "bomb.svg",
        f'{head}<svg xmlns="http://www.w3.org/2000/svg"><text>&a8;</text></svg>'.encode(),
    )
    outside = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    yield "outside.svg", f'{outside}<svg xmlns="http://www.w3.org/2000/svg">&x;</svg>'.encode()
    yield "empty.svg", b'<svg xmlns="http://www.w3.org/2000/svg"/>'
    yield "half.png", b"\x89PNG\r\n\x1a\n" + bytes(40)
    huge = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(huge, "PNG")
    yield "huge.png", huge.getvalue()
    yield "broken.csv", b"1, 2\n3, 4, 5\n"
    yield "far.csv", b"x, y\n1e9, nan\n"
    yield "empty.txt", b"# nothing\n---\n"
    yield "cut.ttf", b"\x00\x01\x00\x00" + bytes(30)
    yield "broken.dxf", b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nnothing"
    yield "long.svg", b"<svg xmlns='http://www.w3.org/2000/svg'>" + b" " * 8_000_001


@pytest.mark.parametrize(("name", "data"), list(bombs()), ids=lambda each: str(each)[:20])
def test_a_hostile_file_is_one_message_and_nothing_is_kept(
    tmp_path: Path, name: str, data: bytes
) -> None:
    with pytest.raises(TakenError) as told:
        take_in(tmp_path / "job.yaml", name, data)
    assert str(told.value)
    assert list(tmp_path.iterdir()) == []


def test_the_door_takes_files_as_bytes_of_a_page_of_its_own_only(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "new" / "job.yaml")
    raw = {"content-type": "application/octet-stream"}
    taken = ask(desk, "POST", "/making/file?name=leaf.svg", content=LEAF, headers=raw)
    assert taken.json()["file"] == "leaf.svg"
    for headers, status in (
        ({"content-type": "text/plain"}, 415),
        ({**raw, "origin": "http://elsewhere"}, 403),
        ({**raw, "host": "elsewhere"}, 421),
    ):
        refused = ask(desk, "POST", "/making/file?name=a.svg", content=LEAF, headers=headers)
        assert refused.status_code == status
    wrong = ask(desk, "POST", "/making/file?name=a.svg", content=b"words", headers=raw)
    assert wrong.status_code == 400
    assert wrong.json()["error"].startswith("It is no SVG or DXF drawing")
    assert [each.name for each in (tmp_path / "new").iterdir()] == ["leaf.svg"]
    assert HOST


# ---- What is put on the board


def test_a_drawing_comes_with_its_colours_a_size_and_a_mix_each(job: Path) -> None:
    added = add_drawing(job, BLANK, "leaf.svg")
    assert added.things == ("inlay/front/leaf teal", "inlay/front/leaf red")
    made = flushwork.load(job, added.text)
    assert [(each.name, each.mix.name) for each in made.inlays] == [
        ("leaf teal", "teal"),
        ("leaf red", "red"),
    ]
    x0, y0, x1, y1 = boxes(job, added.text)["leaf teal"]
    assert (x1 - x0, (x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx((60.0, 62.5, 62.5), abs=0.01)
    by_layer = add_drawing(job, BLANK, "leaf.svg", by="layers")
    assert by_layer.things == ("inlay/front/leaf outer", "inlay/front/leaf inner")
    again = add_drawing(job, added.text, "leaf.svg", by="whole")
    assert again.things == ("inlay/front/leaf",)


def test_what_comes_next_lies_where_nothing_is(job: Path) -> None:
    text = add_drawing(job, BLANK, "leaf.svg").text
    added = add_words(job, text, "ANNA")
    _, faces = preread(job, added.text)
    regions = {each.inlay.name: each.region for each in faces[0].inlays}
    assert regions["ANNA"].distance(regions["leaf teal"]) >= 3.0
    assert faces[0].visible.buffer(-3.99).contains(regions["ANNA"])
    assert add_words(job, text, "ONE\n TWO ").text.count('text: "ONE\\nTWO"') == 1
    ring = add_part(job, text, {"ring": {"outside": "80 mm", "inside": "76 mm"}})
    assert "at:" not in ring.text, "around what is there, with room on both sides"
    crowded = add_part(job, text, {"circle": "70 mm"})
    assert crowded.said.startswith("There is no free place")


@pytest.mark.parametrize("kind", [part.kind for part in ready_made()])
def test_every_ready_made_part_fits_the_board_at_first(tmp_path: Path, kind: str) -> None:
    job = tmp_path / "job.yaml"
    text = blank_job_text("Board", "sugar maple", "400 mm", "300 mm", "19 mm")
    measures = {each.key: each.value for each in measures_for(job, text, kind, "front")}
    added = add_ready_made(job, text, kind, measures)
    assert added.said == "It lies in the middle of the board.", added.text
    inch = measures_for(job, text, kind, "front", inch=True)
    assert not any(" mm" in each.value for each in inch)


def test_a_text_that_cannot_be_read_is_told_and_stays(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "job.yaml")
    sent: dict[str, Any] = {"text": "flushwork: 2\nblank: {wood: cheese}\n", "what": "words"}
    sent |= {"words": "A", "size": "", "font": "sans", "face": "front", "more": {}}
    told = ask(desk, "POST", "/making/put", json=sent)
    assert told.status_code == 400
    assert "cannot be read" in told.json()["error"]
    unknown = ask(
        desk,
        "POST",
        "/making/lie",
        json={"text": BLANK, "thing": "inlay/front/x", "how": "turn", "by": 5},
    )
    assert unknown.status_code == 400
    assert "no x on the front" in unknown.json()["error"]


# ---- Where it lies


@settings(max_examples=examples(12), deadline=None)
@given(
    st.floats(-30, 30).map(lambda mm: round(mm, 2)), st.floats(-30, 30).map(lambda mm: round(mm, 2))
)
def test_what_is_moved_lies_just_so_much_further_and_together(
    leafy: tuple[Path, str], right: float, up: float
) -> None:
    path, text = leafy
    was, now = boxes(path, text), boxes(path, moved(text, "inlay/front/leaf red", (right, up)))
    for name, box in was.items():
        by = np.subtract(now[name], box)
        assert by == pytest.approx([right, up, right, up], abs=0.006), name
    back = moved(
        moved(text, "inlay/front/leaf red", (right, up)), "inlay/front/leaf red", (-right, -up)
    )
    for name, box in boxes(path, back).items():
        assert box == pytest.approx(was[name], abs=1e-9)


def test_in_the_middle_whatever_lies_elsewhere(leafy: tuple[Path, str]) -> None:
    path, text = leafy
    thing = "inlay/front/leaf red"
    off = moved(text, thing, (7.0, -3.0))
    assert boxes(path, centred(path, off, thing))["leaf teal"] == pytest.approx(
        boxes(path, text)["leaf teal"], abs=0.01
    )
    along = boxes(path, centred(path, off, thing, "along"))["leaf teal"]
    assert (along[0] + along[2], along[1] + along[3]) == pytest.approx((125.0, 119.0), abs=0.02)
    row = add_part(path, text, {"grid": {"columns": "4", "rows": "1", "pitch": "9 mm"}}).text
    assert "at:" not in centred(path, row, "holes/front/grid").rpartition("holes:")[2]


def test_turned_mirrored_sized_and_repeated_as_one_drawing(leafy: tuple[Path, str]) -> None:
    path, text = leafy
    thing = "inlay/front/leaf teal"
    assert len(mates_of(text, thing)) == 2
    assert turned(turned(text, thing, 30.0), thing, -30.0) == text
    half = boxes(path, turned(text, thing, 180.0))["leaf red"]
    assert half[1] == pytest.approx(125.0 - boxes(path, text)["leaf red"][3], abs=0.01)
    assert mirrored(mirrored(text, thing, "left-right"), thing, "left-right") == text
    both = mirrored(mirrored(text, thing, "left-right"), thing, "top-bottom")
    assert boxes(path, both)["leaf red"] == pytest.approx(half, abs=0.01)
    smaller = boxes(path, sized(text, thing, 0.5))
    assert smaller["leaf teal"][2] - smaller["leaf teal"][0] == pytest.approx(30.0, abs=0.01)
    rows = repeated(text, thing, {"columns": "2", "rows": "1", "pitch": "30 mm"})
    assert rows.count("repeat: {columns: 2, rows: 1, pitch: 30 mm}") == 2
    around = repeated(rows, thing, {"around": "4"})
    assert around.count("repeat: {around: 4}") == 2
    assert repeated(around, thing, {}) == text
    apart = set_together(text, ("front", "inlays", 0, "at", 1), "7 mm")
    assert apart is not None
    assert apart.count("at: [0 mm, 7 mm]") == 2
    assert set_together(text, ("front", "inlays", 0, "depth"), "3 mm") is None


# ---- A picture, and what its sliders do


def photo(path: Path) -> None:
    """Draw a square in a disc, three colours with the paper."""
    high, wide = 150, 200
    y, x = np.mgrid[:high, :wide]
    dots = np.full((high, wide, 3), (244, 240, 232), np.uint8)
    dots[(x - 100) ** 2 + (y - 75) ** 2 < 60**2] = (11, 106, 114)
    dots[(abs(x - 100) < 20) & (abs(y - 75) < 20)] = (192, 32, 48)
    dots[10:13, 10:13] = (192, 32, 48)
    Image.fromarray(dots).save(path)


def test_a_picture_is_traced_anew_in_all_its_colours(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    photo(tmp_path / "photo.png")
    text = add_drawing(job, BLANK, "photo.png", more={"number of colours": "3"}).text
    thing = "inlay/front/photo red"
    assert trace.picture_of(job, text, thing) == {
        "file": "photo.png",
        "colours": 3,
        "speck_mm": 0.4,
        "smooth_mm": 0.2,
        "even_light": False,
    }
    same = trace.with_picture(job, text, thing, trace.Settings(3, 2.0, 0.5))
    assert same.text.count("least speck: 2 mm, smoothing: 0.5 mm") == 2
    assert [name.rsplit("/", 1)[1] for name in same.things] == ["photo red", "photo teal"]
    shown = trace.retraced(job, text, thing, trace.Settings(2, 0.4, 0.2))
    assert len(shown.colours) == 2
    fewer = trace.with_picture(job, text, thing, trace.Settings(2, 0.4, 0.2))
    assert len(fewer.things) == 1
    _, faces = preread(job, fewer.text)
    left = shown.regions[1 - shown.colours.index(shown.paper)]
    assert faces[0].inlays[0].region.area == pytest.approx(left.area, rel=1e-6)
    assert flushwork.load(job, fewer.text).inlays[0].mix.name == "teal"


def test_the_light_on_a_photo_is_evened_out_and_may_be_left(tmp_path: Path) -> None:
    job, shaded = tmp_path / "job.yaml", tmp_path / "shaded.png"
    photo(shaded)
    dots = np.asarray(Image.open(shaded), dtype=np.float64)
    light = np.linspace(0.72, 1.0, dots.shape[1])[None, :, None]
    Image.fromarray((dots * light).astype(np.uint8)).save(shaded)
    added = add_drawing(job, BLANK, "shaded.png", more={"number of colours": "3"})
    assert added.text.count("even light: yes") == len(added.things) == 2
    told = trace.picture_of(job, added.text, added.things[0])
    assert told is not None
    assert told["even_light"] is True
    left = trace.with_picture(job, added.text, added.things[0], trace.Settings(3, 0.4, 0.2))
    assert "even light" not in left.text
    again = trace.with_picture(job, left.text, left.things[0], trace.Settings(3, 0.4, 0.2, True))
    assert again.text.count("even light: yes") == len(again.things) == 2
    photo(shaded)
    assert "even light" not in add_drawing(job, BLANK, "shaded.png").text


# ---- The page adds no power of its own


BY_HAND: Final = """\
# the same, by hand
flushwork: 2
title: "Coaster"
pieces: 6
trim line:
  circle: 100 mm
blank:
  wood: black walnut
  length: 12.5 cm
  width: 12.5 cm
  thickness: 12 mm
front:
  inlays:
    - name: leaf teal
      svg: leaf.svg
      colours: "#0b6a72"
      width: 60 mm
      depth: 2 mm
      fill: teal
    - name: leaf red
      svg: leaf.svg
      colours: ["#c02030"]     # the triangle
      width: 60 mm
      depth: 2 mm
      fill: red
mixes:
  teal:
    resin: coating epoxy
    pigments: teal flake
  red:
    resin: coating epoxy
    pigments: [{name: red powder}]
"""


def test_the_job_of_the_page_is_the_one_written_by_hand(job: Path) -> None:
    job.write_text(BY_HAND.replace("pieces: 6", "pieces: 6\ncell: 0.4 mm"), "utf-8")
    page = add_drawing(job, BLANK, "leaf.svg").text.replace("pieces: 6", "pieces: 6\ncell: 0.4 mm")
    hand, made = flushwork.build(job, check=False), flushwork.build(job, text=page, check=False)
    assert [(each.file_name, each.data) for each in made.gcode_files] == [
        (each.file_name, each.data) for each in hand.gcode_files
    ]
    assert len(made.gcode_files) > 3
    told = [
        [
            (each.number, each.mix.name, each.stage, each.batch_g, each.needed_cm3)
            for each in of.pours
        ]
        for of in (made, hand)
    ]
    assert told[0] == told[1]
    assert made.replay.thickness_table == hand.replay.thickness_table
    for one, other in zip(made.replay.states, hand.replay.states, strict=True):
        assert one.front.tiles.keys() == other.front.tiles.keys()
        for key, tile in one.front.tiles.items():
            assert tile.materials == other.front.tiles[key].materials
            assert np.array_equal(tile.heights, other.front.tiles[key].heights)
