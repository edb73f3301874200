"""Pictures: reduced, traced, held to the drawing they were made of; traps refused."""

from __future__ import annotations

import math
import struct
import zlib
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFilter
from shapely import MultiPolygon, Polygon, box

import flushwork
from flushwork.art.draw import draw_faces
from flushwork.art.pictures import picture_file
from flushwork.art.pictures.draw_picture import TracedPicture, trace_picture
from flushwork.art.pictures.tracing import cuttable
from flushwork.art.regions import many
from flushwork.colour.spaces import difference, parse_hex
from flushwork.core.findings import JobRefusedError
from flushwork.job.read import read_job
from flushwork.job.records import PictureArt
from tests.art.face_jobs import HERE, artwork, drawn, inlay, job, refused
from tests.many import examples

PAPER, RED, BLUE, GOLD, BLACK = "#f4f0e8", "#c81e28", "#145aa0", "#f0b41e", "#1e1e1e"
BOUND_MM = 0.15
FINE = 0.8


def data_of(picture: Image.Image, kind: str = "PNG") -> bytes:
    out = BytesIO()
    picture.save(out, kind, quality=88)
    return out.getvalue()


def art(**keys: Any) -> PictureArt:
    given: dict[str, Any] = {"file": "a.png", "width_mm": 100.0, "narrowest_mm": FINE}
    return PictureArt(**(given | keys))


def traced(picture: Image.Image, kind: str = "PNG", **keys: Any) -> TracedPicture:
    return trace_picture(art(**keys), data_of(picture, kind), "a.png", HERE)


def like(made: TracedPicture, colour: str) -> MultiPolygon:
    """Return the region of the colour nearest to one."""
    tone = parse_hex(colour)
    return made.region(min(made.colours, key=lambda each: difference(parse_hex(each), tone)))


def photo(shapes: list[tuple[str, Polygon]], dots: tuple[int, int], width_mm: float) -> Image.Image:
    """Paint shapes (mm, y up), each over the last, as a lens and a sensor would show them."""
    picture = Image.new("RGB", dots, PAPER)
    pen = ImageDraw.Draw(picture)
    per_mm = dots[0] / width_mm
    for colour, shape in shapes:
        corners = shapely.get_coordinates(shape.exterior) * per_mm
        pen.polygon([(x, dots[1] - y) for x, y in corners], fill=colour)
    seen = np.asarray(picture.filter(ImageFilter.GaussianBlur(2)), dtype=np.float32)
    noise = np.random.default_rng(7).normal(0.0, 5.0, seen.shape).astype(np.float32)
    return Image.fromarray(np.clip(seen + noise, 0, 255).astype(np.uint8))


def apart_mm(one: MultiPolygon, other: Polygon) -> float:
    """Return how far the outlines of two regions lie from each other, either way."""
    first, second = shapely.segmentize([one.boundary, other.boundary], 0.2)
    return float(max(first.hausdorff_distance(second), second.hausdorff_distance(first)))


def star(x: float, y: float, outer: float, points: int) -> Polygon:
    turns = [math.pi * k / points for k in range(2 * points)]
    reach = [outer if k % 2 == 0 else 0.6 * outer for k in range(2 * points)]
    places = zip(reach, turns, strict=True)
    return Polygon([(x + r * math.cos(t), y + r * math.sin(t)) for r, t in places])


def test_a_large_photo_of_four_colours_comes_out_as_it_was_drawn() -> None:
    shapes = [
        (RED, shapely.Point(30, 60).buffer(18, quad_segs=200)),
        (BLUE, box(70, 12, 108, 40)),
        (GOLD, star(85, 66, 18, 5)),
    ]
    picture = photo(shapes, (4000, 3000), 120.0)
    data = data_of(picture, "JPEG")
    made = trace_picture(art(width_mm=120.0), data, "a.jpg", HERE)
    assert made.size_mm == pytest.approx((120, 90), abs=0.1)
    assert len(made.colours) == 4
    for colour, shape in shapes:
        region = like(made, colour)
        assert region.is_valid
        assert apart_mm(region, shape) <= BOUND_MM
        assert region.area == pytest.approx(shape.area, rel=0.01)


@st.composite
def scenes(draw: st.DrawFn) -> list[tuple[str, Polygon]]:
    found = []
    for colour in (RED, BLUE, GOLD):
        for _ in range(draw(st.integers(1, 3))):
            x, y = draw(st.floats(8, 92)), draw(st.floats(8, 67))
            wide, high = draw(st.floats(0.3, 25)), draw(st.floats(0.3, 25))
            shape = box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
            found.append((colour, shapely.affinity.rotate(shape, draw(st.floats(0, 90)))))
    return found


FIN_BESIDE_ANOTHER_PART = [
    (RED, box(-3.389, 0.488, 19.389, 15.512)),
    (BLUE, box(5.535, 3.202, 10.465, 12.798)),
    (BLUE, box(-4.5, 7.25, 20.5, 8.75)),
    (BLUE, box(-3.183, 7.525, 19.183, 8.475)),
    (GOLD, shapely.affinity.rotate(box(91.8, -3.9, 92.2, 20.1), 30.0)),
]


def aslant(
    drawing: Image.Image, corners: list[tuple[float, float]], dots: tuple[int, int]
) -> Image.Image:
    """Return a sheet as a photo shows it that was taken aslant, on a dark table."""
    ends = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    rows, known = [], []
    for (x, y), (u, v) in zip(corners, ends, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        known += [u, v]
    a, b, c, d, e, f, g, h = np.linalg.solve(np.array(rows), np.array(known)).tolist()
    held = np.asarray(drawing)
    row, column = np.mgrid[: dots[1], : dots[0]]
    x, y = (column + 0.5) / dots[0], (row + 0.5) / dots[1]
    below = g * x + h * y + 1.0
    across, down = (a * x + b * y + c) / below, (d * x + e * y + f) / below
    at = np.clip((across * drawing.width).astype(int), 0, drawing.width - 1)
    under = np.clip((down * drawing.height).astype(int), 0, drawing.height - 1)
    seen = held[under, at]
    seen[(across < 0) | (across > 1) | (down < 0) | (down > 1)] = (60, 45, 35)
    return Image.fromarray(seen)


@given(st.lists(st.tuples(st.floats(0.03, 0.12), st.floats(0.03, 0.12)), min_size=4, max_size=4))
@settings(max_examples=examples(2), deadline=None)
def test_a_photo_taken_aslant_comes_out_as_drawn_where_its_corners_are_told(
    inset: list[tuple[float, float]],
) -> None:
    turns = [math.pi * at / 3.0 for at in range(6)]
    hexagon = Polygon([(63 + 10 * math.cos(t), 45 + 10 * math.sin(t)) for t in turns])
    shapes = [
        (RED, shapely.Point(21, 37).buffer(12, quad_segs=200)),
        (BLUE, box(42, 9, 71, 27)),
        (BLACK, hexagon),
    ]
    sheet = photo(shapes, (2700, 1800), 90.0)
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = inset
    corners = [(ax, ay), (1 - bx, by), (1 - cx, 1 - cy), (dx, 1 - dy)]
    made = traced(
        aslant(sheet, corners, (2400, 1800)),
        "JPEG",
        width_mm=90.0 * 0.98,
        corners=tuple(corners),
        sheet_mm=90.0,
        sheet_up_mm=60.0,
        crop=(0.01, 0.01, 0.01, 0.01),
    )
    assert made.size_mm == pytest.approx((90.0 * 0.98, 60.0 * 0.98), rel=0.002)
    for colour, shape in shapes:
        # a hundredth of the sheet is cropped all round
        own = shapely.affinity.translate(shape, -0.9, -0.6)
        assert apart_mm(like(made, colour), own) <= BOUND_MM


@pytest.mark.parametrize(
    ("keys", "code"),
    [
        ("corners: [[1 %, 1 %], [9 %, 1 %], [9 %, 9 %], [1 %, 9 %]]", "key-out-of-place"),
        ("sheet: 90 mm x 60 mm", "key-out-of-place"),
        (
            "sheet: 90 mm x 60 mm, corners: [[9 %, 1 %], [1 %, 1 %], [1 %, 9 %], [9 %, 9 %]]",
            "value-out-of-range",
        ),
        ("even light: yes", "key-missing"),
    ],
)
def test_what_does_not_tell_a_sheet_is_told(tmp_path: Path, keys: str, code: str) -> None:
    text = (
        "flushwork: 2\ntitle: A\n"
        "blank: {wood: sugar maple, length: 90 mm, width: 60 mm, thickness: 9 mm}\n"
        "mixes: {dark: {resin: coating epoxy}}\n"
        f"front: {{inlays: [{{picture: a.png, {keys}, depth: 1 mm, fill: dark}}]}}\n"
    )
    with pytest.raises(JobRefusedError) as caught:
        read_job(tmp_path / "job.yaml", text)
    assert code in [each.code for each in caught.value.findings]


def test_a_sheet_is_drawn_at_its_size_where_no_width_is_given(tmp_path: Path) -> None:
    text = (
        "flushwork: 2\ntitle: A\n"
        "blank: {wood: sugar maple, length: 90 mm, width: 60 mm, thickness: 9 mm}\n"
        "mixes: {dark: {resin: coating epoxy}}\n"
        "front: {inlays: [{picture: a.png, sheet: 80 mm x 60 mm, depth: 1 mm, fill: dark, crop: "
        "[10 %, 0 %, 15 %, 0 %], corners: [[1 %, 1 %], [9 %, 1 %], [9 %, 9 %], [1 %, 9 %]]}]}\n"
    )
    (inlay_read,) = read_job(tmp_path / "job.yaml", text).inlays
    held = inlay_read.artwork[0].art
    assert isinstance(held, PictureArt)
    assert held.width_mm == pytest.approx(60.0)


def test_a_fin_is_no_corner_of_another_part_that_lies_near_it() -> None:
    own, other = box(0, 0, 10, 10), box(11, 5.3, 20, 12)
    fin = box(10, 5, 15, 5.2)
    region = many(shapely.union_all([own, fin, other]))
    (kept,) = cuttable([region], frozenset(), FINE, 0.4, grow=False)
    assert kept.intersection(fin).area < 0.1 * fin.area
    assert kept.intersection(own).area == pytest.approx(own.area, abs=0.05)
    assert kept.intersection(other).area == pytest.approx(other.area, abs=0.05)


@given(scenes(), st.sampled_from(["dropped", "grown"]))
@example(FIN_BESIDE_ANOTHER_PART, "dropped")
@settings(max_examples=examples(4), deadline=None)
def test_regions_are_valid_apart_and_wide_enough_for_the_bit(
    scene: list[tuple[str, Polygon]], thin: str
) -> None:
    made = traced(photo(scene, (800, 600), 100.0), thin_parts=thin)
    inked = [
        region
        for colour, region in zip(made.colours, made.regions, strict=True)
        if colour != made.paper
    ]
    for index, region in enumerate(inked):
        assert region.is_valid
        for other in inked[:index]:
            assert region.intersection(other).area < 1e-3
        for part in region.geoms:
            core = part.buffer(-0.45 * FINE)
            assert not core.is_empty, (part.bounds, part.area)
            reached = core.buffer(0.45 * FINE + 0.01)
            lost = part.difference(reached)
            for piece in getattr(lost, "geoms", [lost]):
                if not piece.is_empty:
                    corners = shapely.points(shapely.get_coordinates(piece))
                    assert shapely.distance(corners, reached).max() < 1.1 * FINE


def test_neighbours_share_their_edge() -> None:
    scene = [(RED, box(20, 20, 50, 50)), (BLUE, box(50, 20, 80, 50))]
    made = traced(photo(scene, (1000, 750), 100.0), number_of_colours=3)
    red, blue = like(made, RED), like(made, BLUE)
    shared = red.boundary.intersection(blue.boundary)
    assert shared.length == pytest.approx(30, abs=0.6)
    assert red.union(blue).area == pytest.approx(red.area + blue.area)


def test_thin_lines_are_dropped_or_grown_and_dirt_goes() -> None:
    scene = [
        (BLACK, box(20, 30, 80, 30.4)),
        (BLACK, box(20, 50, 80, 52)),
        (BLACK, box(10, 10, 10.25, 10.25)),
    ]
    picture = photo(scene, (1200, 900), 100.0)
    dropped = like(traced(picture, number_of_colours=2), BLACK)
    assert dropped.area == pytest.approx(120, rel=0.06)
    grown = like(traced(picture, number_of_colours=2, thin_parts="grown"), BLACK)
    assert len(grown.geoms) == 2
    line = min(grown.geoms, key=lambda part: part.area)
    assert line.area / 60 == pytest.approx(FINE, abs=0.2)
    assert not line.buffer(-0.49 * FINE).is_empty
    finer = like(traced(picture, number_of_colours=2, narrowest_mm=0.3), BLACK)
    assert finer.area == pytest.approx(144, rel=0.1)


def test_shadows_on_the_paper_are_evened_out() -> None:
    scene = [(BLACK, box(20, 30, 80, 34))]
    plain = np.asarray(photo(scene, (800, 600), 100.0), dtype=np.float32)
    shade = np.linspace(1.0, 0.35, 800)[None, :, None]
    shaded = Image.fromarray((plain * shade).astype(np.uint8))
    even = like(traced(shaded, number_of_colours=2, even_light=True), BLACK)
    assert apart_mm(even, box(20, 30, 80, 34)) < 0.3
    assert like(traced(shaded, number_of_colours=2), BLACK).area > 2 * even.area


@settings(max_examples=examples(25), deadline=None)
@given(
    st.floats(0.72, 1.0),
    st.floats(0.0, 2.0 * math.pi),
    st.tuples(st.floats(0.2, 0.8), st.floats(0.2, 0.8), st.floats(0.1, 0.45)),
)
def test_paper_that_grows_darker_is_told_from_what_is_drawn(
    darkest: float, way: float, disc: tuple[float, float, float]
) -> None:
    up, right = np.mgrid[:90, :120] / 90.0
    along = right * math.cos(way) + up * math.sin(way)
    light = 1.0 - (1.0 - darkest) * (along - along.min()) / (along.max() - along.min())
    drawn = (right - disc[0] * 4.0 / 3.0) ** 2 + (up - disc[1]) ** 2 < (disc[2] / 2.0) ** 2
    paper = np.where(drawn, 60.0, 240.0)
    for shade, told in ((light, darkest < 0.85), (np.ones_like(light), False)):
        if 0.85 <= darkest <= 0.93 and shade is light:
            continue
        dots = np.repeat((paper * shade)[..., None], 3, axis=2).astype(np.uint8)
        assert picture_file.unevenly_lit(dots) == told


def test_it_goes_by_the_picture_upright_cropped_and_on_white() -> None:
    clear = Image.new("RGBA", (400, 300), (0, 0, 0, 0))
    ImageDraw.Draw(clear).rectangle((200, 150, 299, 249), fill=(200, 30, 40, 255))
    made = traced(clear, number_of_colours=2)
    assert like(made, RED).bounds == pytest.approx((50, 12.5, 75, 37.5), abs=0.2)
    cut = traced(clear, number_of_colours=2, crop=(0.25, 0.0, 0.0, 0.0))
    assert like(cut, RED).bounds[0] == pytest.approx(100 / 3, abs=0.3)
    turned = Image.Exif()
    turned[0x0112] = 6  # lies on its right side
    out = BytesIO()
    clear.convert("RGB").save(out, "JPEG", exif=turned)
    upright = trace_picture(art(), out.getvalue(), "a.jpg", HERE)
    assert upright.size_mm == pytest.approx((100, 400 / 3), abs=0.1)


def test_the_same_picture_gives_the_same_regions_and_one_trace_serves_all(tmp_path: Path) -> None:
    picture = photo([(RED, box(20, 20, 50, 50)), (BLUE, box(60, 20, 80, 50))], (800, 600), 100.0)
    (tmp_path / "a.png").write_bytes(data_of(picture))
    made = job(
        inlay(artwork(art(colours=(RED,))), name="red"),
        inlay(artwork(art(colours=(BLUE,))), name="blue"),
        folder=tmp_path,
    )
    red, blue = drawn(made, "red").region, drawn(made, "blue").region
    # the whole picture goes to the middle of the blank, whatever is taken of it
    assert red.centroid.x == pytest.approx(100 - 50 + 35, abs=0.1)
    assert blue.centroid.x == pytest.approx(100 - 50 + 70, abs=0.1)
    assert drawn(made, "red").region.equals_exact(red)
    wanted = job(inlay(artwork(art(colours=("#00ff00",)))), folder=tmp_path)
    assert [each.code for each in refused(wanted)] == ["picture-colour-unknown"]
    pale = job(inlay(artwork(art(narrowest_mm=20.0, width_mm=20.0))), folder=tmp_path)
    assert [each.code for each in refused(pale)] == ["picture-without-shapes"]
    thin = photo([(RED, box(10, 10, 90, 10.5)), (RED, box(10, 30, 30, 34))], (1600, 1200), 100.0)
    (tmp_path / "a.png").write_bytes(data_of(thin))
    told = drawn(job(inlay(artwork(art(number_of_colours=2))), folder=tmp_path))
    assert not told.region.is_empty
    face = draw_faces(job(inlay(artwork(art(number_of_colours=2))), folder=tmp_path))[0]
    assert [each.code for each in face.warnings] == ["picture-parts-thin"]


def test_a_job_takes_parts_by_its_mixes_and_its_finest_bit(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(
        """\
flushwork: 2
title: Badge
blank: {wood: black cherry, length: 130 mm, width: 110 mm, thickness: 12 mm}
mixes:
  red: {resin: coating epoxy, colour: "#c81e28"}
  blue: {resin: coating epoxy, colour: "#145aa0"}
front:
  inlays:
    - {name: sun, picture: a.png, width: 100 mm, by fill: yes, depth: 2 mm, fill: red}
    - {name: sea, picture: a.png, width: 100 mm, by fill: yes, depth: 2 mm, fill: blue}
""",
        encoding="utf-8",
    )
    picture = photo([("#d03030", box(20, 20, 50, 50)), ("#2060b0", box(60, 20, 80, 50))],
                    (800, 600), 100.0)  # fmt: skip
    picture.save(tmp_path / "a.png")
    read = read_job(path)
    assert isinstance(read.inlays[0].artwork[0].art, PictureArt)
    finest = min(bit.diameter_mm for bit in read.shop.bits if bit.kind == "flat")
    assert read.inlays[0].artwork[0].art.narrowest_mm == finest
    assert drawn(read, "sun").region.area == pytest.approx(900, rel=0.02)
    assert drawn(read, "sea").region.area == pytest.approx(600, rel=0.02)


def bomb(across: int, up: int) -> bytes:
    """Return the head of a picture that asks for endless dots in a few bytes."""

    def chunk(kind: bytes, held: bytes) -> bytes:
        check = zlib.crc32(kind + held).to_bytes(4, "big")
        return len(held).to_bytes(4, "big") + kind + held + check

    head = struct.pack(">IIBBBBB", across, up, 8, 2, 0, 0, 0)
    dots = zlib.compress(b"\0" * 100_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", dots) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("held", "code"),
    [
        (bomb(60_000, 60_000), "picture-too-large"),
        (bomb(4_000, 4_000), "picture-unreadable"),
        (b"", "picture-unreadable"),
        (b"<svg/>", "picture-unreadable"),
        (b"GIF89a" + bytes(100), "picture-unreadable"),
        (data_of(Image.new("RGB", (90, 90), RED))[:120], "picture-unreadable"),
    ],
)
def test_what_is_no_picture_is_refused_in_one_line(held: bytes, code: str) -> None:
    with pytest.raises(JobRefusedError) as caught:
        trace_picture(art(), held, "a.png", HERE)
    assert [each.code for each in caught.value.findings] == [code]


def test_a_picture_that_is_not_there_or_too_heavy_is_told(tmp_path: Path) -> None:
    made = job(inlay(artwork(art())), folder=tmp_path)
    assert [each.code for each in refused(made)] == ["picture-not-found"]
    (tmp_path / "a.png").write_bytes(b"12345")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(picture_file, "MOST_BYTES", 2)
        assert [each.code for each in refused(made)] == ["picture-too-large"]


def test_a_picture_of_one_colour_or_a_few_dots_is_no_fault(tmp_path: Path) -> None:
    plain = traced(Image.new("RGB", (60, 40), RED))
    assert plain.colours == (plain.paper,)
    Image.new("RGB", (3, 2), BLUE).save(tmp_path / "b.png")
    assert flushwork.trace(tmp_path / "b.png", 10.0).size_mm[0] == 10.0
