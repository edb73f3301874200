"""What a drawing shows is what is inlaid: paint over paint, colours, layers kept together."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon

from flushwork.art.draw import begin
from flushwork.art.drawn import DrawnFace
from flushwork.core.findings import JobRefusedError
from tests.art.face_jobs import svg_text
from tests.many import examples

HEAD = """\
flushwork: 2
title: Paint
blank: {wood: sugar maple, length: 200 mm, width: 160 mm, thickness: 15 mm}
mixes: {dark: {resin: coating epoxy, pigments: [{name: black powder, share: 3 %}]}}
front:
  inlays:
"""
WHITE, BLACK, RED, TEAL = "#ffffff", "#000000", "#c01818", "#0b6a72"
SPELT = {
    WHITE: ["white", "#FFF", "rgb(255, 255, 255)", "#ffffff"],
    BLACK: ["black", "#000", "rgb(0,0,0)"],
    RED: ["#C01818", "rgb(192, 24, 24)"],
    TEAL: ["#0b6a72"],
}
Rect = tuple[int, int, int, int, str]
rects = st.tuples(
    st.integers(0, 80), st.integers(0, 35), st.integers(4, 60), st.integers(4, 40),
    st.sampled_from([WHITE, BLACK, RED, TEAL]),
)  # fmt: skip


def faces(folder: Path, svg: str, *inlays: str) -> DrawnFace:
    """Draw a job whose inlays take something of one drawing."""
    (folder / "art.svg").write_text(svg, "utf-8")
    lines = [
        f"    - {{name: part {number}, {keys}, depth: 2 mm, fill: dark}}\n"
        for number, keys in enumerate(inlays)
    ]
    return begin(folder / "job.yaml", HEAD + "".join(lines))[1][0]


def drawing(stack: list[Rect]) -> str:
    shapes = []
    for number, (x, y, wide, high, colour) in enumerate(stack):
        spelt = SPELT[colour][number % len(SPELT[colour])]
        box = f'x="{x}" y="{y}" width="{wide}" height="{high}"'
        shapes.append(
            f'<rect {box} fill="{spelt}"/>'
            if number % 2
            else f'<rect {box} style="fill:{spelt};stroke:none"/>'
        )
    return svg_text("".join(shapes))


def on_top(stack: list[Rect]) -> np.ndarray[tuple[int, int], np.dtype[np.str_]]:
    """Return the colour of every square mm of the page, rows from below, "" for bare paper."""
    shown = np.full((80, 150), "", dtype="<U7")
    for x, y, wide, high, colour in stack:
        shown[y : y + high, x : x + wide] = colour
    return shown


def covered(region: MultiPolygon) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Return which square mm of the page a region takes, its page in the middle of the blank."""
    x, y = np.meshgrid(np.arange(150) + 0.5 + 50.0, 55.0 + 50.0 - (np.arange(80) + 0.5))
    return np.asarray(shapely.contains_xy(region, x, y))


@settings(max_examples=examples(12), deadline=None)
@given(st.lists(rects, min_size=1, max_size=7))
@example([(10, 10, 40, 30, BLACK), (20, 15, 10, 10, WHITE)])
def test_what_is_seen_is_inlaid_and_nothing_else(
    tmp_path_factory: pytest.TempPathFactory, stack: list[Rect]
) -> None:
    folder, svg, shown = tmp_path_factory.getbasetemp(), drawing(stack), on_top(stack)
    inks = [colour for colour in (BLACK, RED, TEAL) if (shown == colour).any()]
    painted = {rect[4] for rect in stack}
    if painted == {WHITE}:
        alone = faces(folder, svg, "svg: art.svg, as drawn: yes")
        np.testing.assert_array_equal(covered(alone.inlays[0].region), shown == WHITE)
        return
    if not inks:
        with pytest.raises(JobRefusedError) as refused:
            faces(folder, svg, "svg: art.svg, as drawn: yes")
        assert [each.code for each in refused.value.findings] == ["svg-without-shapes"]
        return
    picks = [f'svg: art.svg, as drawn: yes, colours: ["{colour}"]' for colour in inks]
    face = faces(folder, svg, "svg: art.svg, as drawn: yes", *picks)
    whole, *parts = [covered(inlay.region) for inlay in face.inlays]
    np.testing.assert_array_equal(whole, (shown != "") & (shown != WHITE))
    for colour, part in zip(inks, parts, strict=True):
        np.testing.assert_array_equal(part, shown == colour)
    told = [each.code for each in face.warnings]
    assert ("svg-white-left-out" in told) == (WHITE in painted)


Layer = tuple[int, int, int, int]
layers = st.tuples(st.integers(0, 60), st.integers(0, 30), st.integers(5, 40), st.integers(5, 20))


@settings(max_examples=examples(10), deadline=None)
@given(layers, layers, st.integers(20, 120), st.sampled_from(["centre", "lower left", "top"]))
@example((0, 0, 40, 20), (30, 5, 5, 5), 60, "centre")
def test_layers_of_one_width_keep_their_places_to_each_other(
    tmp_path_factory: pytest.TempPathFactory, one: Layer, two: Layer, width: int, anchor: str
) -> None:
    body = "".join(
        f'<rect id="{name}" x="{x}" y="{y}" width="{wide}" height="{high}"/>'
        for name, (x, y, wide, high) in (("one", one), ("two", two))
    )
    keys = f"width: {width} mm, from: {anchor}"
    face = faces(
        tmp_path_factory.getbasetemp(),
        svg_text(body),
        f"svg: art.svg, layers: [one], {keys}",
        f"svg: art.svg, layers: [two], {keys}",
        f"svg: art.svg, layers: [one, two], {keys}",
        f"svg: art.svg, layers: [two], width: {width} mm, at: [1 mm, 0 mm], from: {anchor}",
    )
    first, second, both, alone = (inlay.region for inlay in face.inlays)
    assert both.bounds[2] - both.bounds[0] == pytest.approx(width, abs=0.001)
    together = shapely.union(first, second)
    assert shapely.hausdorff_distance(together, both) < 0.002
    # put somewhere else, it is another motif with a width of its own
    assert alone.bounds[2] - alone.bounds[0] == pytest.approx(width, abs=0.001)


@settings(max_examples=examples(20), deadline=None)
@given(
    st.lists(st.sampled_from(["", "width: 40 mm, ", "width: 60 mm, "]), min_size=2, max_size=5),
    st.data(),
)
def test_a_wrong_layer_is_told_once_where_it_is_named(
    tmp_path_factory: pytest.TempPathFactory, keys: list[str], data: st.DataObject
) -> None:
    wrong = data.draw(st.integers(0, len(keys) - 1))
    kind = data.draw(st.sampled_from(["missing", "hidden"]))
    body = "".join(
        f'<g id="l{number}"><rect x="{9 * number}" y="3" width="7" height="8"/></g>'
        for number in range(len(keys))
    )
    body += '<g id="hidden" style="display:none"><rect width="4" height="4"/></g>'
    names = [kind if number == wrong else f"l{number}" for number in range(len(keys))]
    inlays = [
        f"svg: art.svg, {width}layers: [{name}]" for width, name in zip(keys, names, strict=True)
    ]
    with pytest.raises(JobRefusedError) as refused:
        faces(tmp_path_factory.getbasetemp(), svg_text(body), *inlays)
    (finding,) = refused.value.findings
    assert finding.code == {"missing": "svg-layer-unknown", "hidden": "svg-without-shapes"}[kind]
    assert finding.source is not None
    assert finding.source.line == len(HEAD.splitlines()) + 1 + wrong


@settings(max_examples=examples(25), deadline=None)
@given(
    st.lists(st.sampled_from(["", ", width: 40 mm", ", scale: 1.5", ", width: 40 mm, scale: 1.5"]),
             min_size=2, max_size=2),
    st.sampled_from(["", ", at: [20 mm, 0 mm]"]),
    st.booleans(),
)  # fmt: skip
def test_layers_for_one_place_at_two_sizes_are_told(
    tmp_path_factory: pytest.TempPathFactory, keys: list[str], moved: str, twice: bool
) -> None:
    body = '<g id="l0"><rect x="9" y="3" width="7" height="8"/></g>'
    body += '<g id="l1"><rect x="20" y="3" width="14" height="8"/></g>'
    layers = ("l0", "l0" if twice else "l1")
    face = faces(
        tmp_path_factory.getbasetemp(),
        svg_text(body),
        f"svg: art.svg, layers: [{layers[0]}]{keys[0]}",
        f"svg: art.svg, layers: [{layers[1]}]{keys[1]}{moved}",
    )
    first, second = (inlay.region.bounds for inlay in face.inlays)
    size = [(box[3] - box[1]) / 8.0 for box in (first, second)]
    told = [each for each in face.warnings if each.code == "svg-layers-apart"]
    apart = abs(size[1] / size[0] - 1.0) > 0.001
    assert bool(told) == (apart and not moved and not twice)
    for finding in told:
        assert [each.name for each in finding.subjects] == ["part 1", "part 0"]
        times = float(re.search(r"at ([0-9.]+) times", finding.message)[1])  # type: ignore[index]
        assert times == pytest.approx(size[1] / size[0], abs=0.00051)


def test_lines_of_words_are_all_set(tmp_path: Path) -> None:
    block = 'text: "Halcyon\\n\\nest. 1987", size: 9 mm'
    singles = [f"text: '{words}', size: 9 mm" for words in ("Halcyon", "est. 1987")]
    face = faces(tmp_path, svg_text(""), block, *singles)
    together, first, second = (inlay.region for inlay in face.inlays)
    assert together.area == pytest.approx(first.area + second.area, rel=1e-6)
    assert len(together.geoms) == len(first.geoms) + len(second.geoms)
    assert together.bounds[3] - together.bounds[1] > 2 * 9.0


def test_words_in_a_block_of_lines(tmp_path: Path) -> None:
    text = (
        HEAD + "    - name: sign\n      text: |\n        Halcyon\n        est. 1987\n"
        "      font: single line\n      size: 9 mm\n      depth: 1 mm\n      fill: dark\n"
    )
    job, _ = begin(tmp_path / "job.yaml", text)
    art = job.faces[0].inlays[0].artwork[0].art
    assert getattr(art, "words", "") == "Halcyon\nest. 1987"


@pytest.mark.parametrize(
    ("fill", "colour", "code"),
    [("#c01818", TEAL, "svg-colour-unknown"), ("url(#sky)", BLACK, "svg-colour-mixed")],
)
def test_colours_that_cannot_be_picked(tmp_path: Path, fill: str, colour: str, code: str) -> None:
    svg = svg_text(f'<rect width="9" height="9"/><rect width="20" height="20" fill="{fill}"/>')
    with pytest.raises(JobRefusedError) as refused:
        faces(tmp_path, svg, f'svg: art.svg, colours: "{colour}"')
    assert code in [each.code for each in refused.value.findings]
