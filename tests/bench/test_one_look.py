"""One look: a layer over wood shows the same in the page's tiles as in the book's pictures."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

import flushwork.bench
from flushwork.bench.film.screen_tiles import Past, screen_tile
from flushwork.colour.spaces import encode, format_hex, parse_hex
from flushwork.job.keys.mixes import MixSwatch, mixed_colour, mixed_opacity
from flushwork.job.records import MixPigment
from flushwork.shelf import tables
from flushwork.shelf.items import Wood
from flushwork.strata.look import WET_LIGHT, WET_POWER, WoodLook, looks
from flushwork.strata.palette import Palette, ShownColour, mix_colour
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import TILE_CELLS, BoardState, FaceStack, TileStack
from tests.many import examples
from tests.resin.shelf_samples import make_mix

CELL_MM = 0.1
SPEC = BoardSpec(
    length_mm=TILE_CELLS * CELL_MM,
    width_mm=TILE_CELLS * CELL_MM,
    thickness_mm=12.0,
    cell_mm=CELL_MM,
    turn_about_x=True,
)
MEAN_STEPS, MOST_STEPS = 2.5, 20.0
"""Of 255 in sRGB, on the mean of a piece of board and at its worst pixel: both pictures round, the
book's lamp falls off across the board, and the page lays one share over all colours of the grain.
"""

colours = st.tuples(*[st.integers(0, 255)] * 3).map(lambda c: "#{:02x}{:02x}{:02x}".format(*c))
pigments = st.lists(
    st.tuples(st.sampled_from(tables.starter_shop().pigments), st.floats(0.003, 0.06)),
    min_size=1,
    max_size=2,
)
layers = st.lists(
    st.tuples(
        st.one_of(pigments, st.tuples(colours, st.floats(0.1, 0.95), st.booleans()), st.none()),
        st.floats(0.02, 3.0),
    ),
    min_size=1,
    max_size=3,
)


def darker_by(colour: str, share: float) -> str:
    red, green, blue = parse_hex(colour)
    return format_hex((red * share, green * share, blue * share))


def palette(species: Wood, fills: list[object]) -> Palette:
    """Return a species and mixes of pigments, of swatches, or of nothing."""
    mixes = {}
    for place, fill in enumerate(fills):
        name = f"mix {place}"
        mix = replace(make_mix(name), colour="#f3ead6")
        if isinstance(fill, list):
            parts = [(pigment, share) for pigment, share in fill]
            mix = replace(
                make_mix(name, pigments=tuple(MixPigment(*part) for part in parts)),
                colour=mixed_colour(parts),
                opacity=mixed_opacity(parts),
            )
        elif isinstance(fill, tuple):
            white, darker, glossy = fill
            mix = replace(mix, swatch=MixSwatch(darker_by(white, darker), white, 0.5, glossy))
        mixes[name] = mix_colour(mix)
    wood = ShownColour(parse_hex(species.colour), 0.0, flake=False, clear=False)
    return Palette(wood=wood, grain=parse_hex(species.grain_colour), mixes=mixes)


def flat(height: float) -> NDArray[np.float32]:
    return np.full((TILE_CELLS, TILE_CELLS), height, np.float32)


def linear(srgb: NDArray[np.uint8]) -> NDArray[np.float64]:
    value = srgb / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def encoded(light: NDArray[np.float64]) -> NDArray[np.float64]:
    light = np.clip(light, 1e-9, 1.0)
    return 255.0 * np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


@given(st.sampled_from(tables.starter_shop().woods), layers)
@example(tables.starter_shop().woods[0], [([(tables.starter_shop().pigments[2], 0.03)], 0.15)])
@settings(max_examples=examples(30), deadline=None)
def test_page_and_book_show_one_layer_alike(
    species: Wood, fills: list[tuple[object, float]]
) -> None:
    swatches = {
        name: replace(swatch, flake=False)  # flakes glitter under the page's own lamp
        for name, swatch in palette(species, [fill for fill, _ in fills]).materials.items()
    }
    tops = np.cumsum([-4.0, *(thick for _, thick in fills)])
    tops -= tops[-1]  # flush with the face, as after sanding
    tile = TileStack(
        ("wood", *(f"mix {place}" for place in range(len(fills)))),
        tuple(flat(float(top)) for top in tops),
    )
    wood = WoodLook(species.colour, species.grain_colour)
    bare, book = (
        looks(BoardState(0, face, FaceStack(0.0, {})), SPEC, "front", wood, swatches,
             mm_per_px=CELL_MM)[0][::-1, :, :3]
        for face in (FaceStack(0.0, {}), FaceStack(0.0, {(0, 0): tile}))
    )  # fmt: skip
    page = screen_tile(tile, Past(), swatches, 1, None).colour / 255.0
    snapshot = encoded(page[..., :3] ** 2 + (1.0 - page[..., 3:]) * linear(bare))
    off = np.abs(book - snapshot)
    assert off.mean() <= MEAN_STEPS
    assert off.max() <= MOST_STEPS


def test_the_lamp_of_the_page_knows_the_same_curve_and_the_same_wet_wood() -> None:
    """The graphics card has a language of its own; its figures are those of the still pictures."""
    text = (Path(flushwork.bench.__file__).parent / "static" / "shaders.js").read_text("utf-8")
    assert f"pow(bare, vec3({WET_POWER})) * {WET_LIGHT};" in text
    number = r"([\d.]+)"
    shown = r"shown\.rgb"
    powered = rf"{number} \* pow\(max\({shown}, 1e-5\), vec3\(1.0 / {number}\)\) - {number}"
    curve = re.search(rf"mix\({number} \* {shown}, {powered}, step\({number}, {shown}\)\)", text)
    assert curve is not None
    slope, scale, power, off, knee = map(float, curve.groups())
    for light in (0.0, 0.001, 0.003, 0.0032, 0.01, 0.2, 0.7, 1.0):
        theirs = slope * light if light < knee else scale * light ** (1.0 / power) - off
        assert theirs == pytest.approx(encode(light), abs=1e-6)
