"""How colours, flakes and bright lines come out: two tilts of each face, tables, and dyed parts."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import numpy as np

from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.built import Build
from flushwork.colour.kubelka_munk import NEVER_HIDES_MM, ThinLayer, showing_through
from flushwork.colour.spaces import contrast_ratio, difference, format_hex
from flushwork.job.records import LoosePart, Manner, Mix
from flushwork.process.bright_lines import BrightLine
from flushwork.strata.measure import thickness_map
from flushwork.strata.palette import ShownColour
from flushwork.strata.planes import shares
from flushwork.strata.steps import BoardSpec
from flushwork.strata.tiles import Window
from flushwork.views.book_records import (
    DyeCard,
    DyeView,
    Fact,
    LightView,
    Picture,
    TableView,
    TiltView,
)
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.pictures import tilted_name
from flushwork.views.figures import MINUS, NO_BREAK, Lengths, clean, joined, number, percent, short
from flushwork.views.warning_lines import DYE, PEGS
from flushwork.wood.dyeing import DyeRecipe, dye_recipes
from flushwork.wood.loose_stock import made_count

# ---- The card of loose parts that are dyed to match a fill


BATH_G: Final = 100.0
STOCK: Final = 0.01
FAINT_G: Final = 0.2
"""Less dye than this in ``BATH_G`` is weighed out of a stock of ``STOCK`` (common practice, no
source)."""

STEPS: Final = (
    "Wet them, dry them, sand them and try their fit before: dye swells wood and raises the grain.",
    "Dye a test part of the same wood first, let it dry, lay it on the cured swatch.",
    "Dye them, all of a colour out of one bath.",
    "Dry them through; damp wood holds neither barrier nor glue.",
    "Close the dye with a barrier of dewaxed shellac, but keep glue faces bare.",
    "Glue last, and sand nothing after: the dye is only tenths of a millimetre deep.",
)
"""The order of work (common practice, no source)."""


def dye_card(made: Build) -> DyeCard | None:
    """Return the card of a job's loose parts, None where it has none."""
    found = dye_recipes(made.job, made.palette)
    if not found:
        return None
    return DyeCard(
        kinds=tuple(
            _kind(part, mix, recipe, made.palette.mixes[mix.name].hex, made.job.pieces)
            for part, mix, recipe in found
        ),
        note=(
            f"Grams of dye in {BATH_G:.0f}{NO_BREAK}g of bath, calculated by Kubelka and Munk from "
            f"the dyes' own colours; the stock is {BATH_G * STOCK:.0f}{NO_BREAK}g of dye in "
            f"{BATH_G:.0f}{NO_BREAK}g, and its water counts as bath. How strongly this wood takes "
            "them up is assumed, within a factor of three, until strips dyed at three strengths "
            "tell: start weak, a second dip darkens. Differences are CIEDE2000; the colours of "
            "wood are those of finished wood."
        ),
        steps=STEPS,
        warnings=(DYE, PEGS),
    )


def _kind(part: LoosePart, match: Mix, recipe: DyeRecipe, wanted: str, pieces: int) -> DyeView:
    wood, mix = clean(part.wood.name), clean(match.name)
    many = f"{made_count(part, pieces)} of {wood}"
    if pieces > 1:
        many += f", {part.count} to each piece"
    if part.spares:
        many += f", {part.spares * pieces} of them spare"
    return DyeView(
        heading=f"{clean(part.name)}: {many}, to match {mix}",
        colours=(
            Fact("bare", part.wood.colour),
            Fact("dyed", format_hex(recipe.rgb)),
            Fact("wanted", wanted),
        ),
        bath=_bath(recipe),
        remains=_remains(recipe, wood),
    )


def _bath(recipe: DyeRecipe) -> tuple[Fact, ...]:
    if not recipe.shares:
        return (Fact("no dye", "leave them bare"),)
    return tuple(Fact(clean(each.dye.name), _grams(each.share)) for each in recipe.shares)


def _grams(share: float) -> str:
    mass_g = share * BATH_G
    if mass_g >= FAINT_G:
        return f"{number(mass_g, 2)}{NO_BREAK}g"
    return (
        f"{number(mass_g, 3)}{NO_BREAK}g, out of the stock: {number(mass_g / STOCK, 2)}{NO_BREAK}g"
    )


def _remains(recipe: DyeRecipe, wood: str) -> str:
    text = f"A difference of {_apart(recipe.apart)} remains, of {_apart(recipe.bare_apart)} undyed."
    if recipe.lighter_in:
        text += (
            f" The mix reflects more {joined(recipe.lighter_in)} than bare {wood}, and wood "
            "cannot be dyed lighter than itself: that part of it stays."
        )
    return text


def _apart(value: float) -> str:
    return "under 0.1" if value < 0.05 else number(value, 1)


# ---- How colours, flakes and bright lines come out: two tilts of each face, tables, and dyed
# parts


TILTED_MM: Final = 78.0
"""Greatest height on paper of a face held at a tilt."""

WHOLE_CELL: Final = 0.99
MOST_WAYS: Final = 3

COLOUR_HEAD: Final = ("mix", "inlays", "thick", "covers at", "wood seen", "from the wood")


def light_view(
    made: Build,
    lines: tuple[BrightLine, ...],
    pictures: Collection[str],
    space: Space,
    lengths: Lengths,
) -> LightView:
    """Return the chapter on light; ``pictures`` are the names of those drawn."""
    return LightView(
        tilts=tuple(
            tilt for face in made.faces if (tilt := _tilt(face, pictures, space)) is not None
        ),
        tilt_note=(
            "Whole flakes flash where the board mirrors the light and lie dark away from there; "
            "flakes that were sanded do little of either. How much is assumed until two "
            "photographs of one swatch tell."
        ),
        colours=TableView(COLOUR_HEAD, tuple(_colour_rows(made)), wide=(1,)),
        colour_note=(
            "Thick: the middle of what the replay leaves, its rim left out. Wood seen: the share "
            "of the contrast beneath that still shows at that thickness, by Kubelka and Munk, from "
            "the mix's swatch or from its hiding depth. From the wood: CIEDE2000, and the ratio of "
            "luminances."
        ),
        lines=_lines(lines, lengths),
        ways=_ways(lines, lengths),
        line_note=_line_note(made),
        dyed=dye_card(made),
    )


def _tilt(face: DrawnFace, pictures: Collection[str], space: Space) -> TiltView | None:
    names = [tilted_name(face.name, tilt) for tilt in ("mirror", "away")]
    if not all(name in pictures for name in names):
        return None
    left, low, right, top = face.trim.bounds if not face.trim.is_empty else face.blank.bounds
    length_mm, width_mm = right - left, top - low
    half_mm = (space.width_mm - 4.0) / 2.0
    scale = min(half_mm / length_mm, TILTED_MM / width_mm)
    words = ("held so that it mirrors the light", "turned away from the light")
    bright, dark = (
        Picture(
            f"The {face.name} face {word}",
            word,
            length_mm * scale,
            width_mm * scale,
            png=name,
        )
        for name, word in zip(names, words, strict=True)
    )
    return TiltView(f"{face.name.capitalize()} face", bright, dark, beside=True)


def _colour_rows(made: Build) -> list[tuple[str, ...]]:
    """Return a row for each mix and thickness, with the inlays that end so."""
    names: dict[tuple[str, str], list[str]] = {}
    thickest: dict[tuple[str, str], float] = {}
    for face in made.faces:
        for drawn in face.inlays:
            mix, thick_mm = drawn.inlay.mix.name, middle_thickness_mm(made, drawn)
            if made.palette.mixes[mix].clear or thick_mm <= 0.0:
                continue
            key = (mix, number(thick_mm, 2))
            names.setdefault(key, []).append(clean(drawn.inlay.name))
            thickest[key] = thick_mm
    wood = made.palette.wood.rgb
    rows: list[tuple[str, ...]] = []
    for (mix, thick), inlays in names.items():
        colour = made.palette.mixes[mix]
        apart = f"{short(difference(colour.rgb, wood), 0)}; "
        ratio = f"{short(contrast_ratio(colour.rgb, wood), 1)}:1"
        seen = _seen(colour, thickest[mix, thick])
        rows.append(
            (
                clean(mix),
                joined(inlays),
                f"{thick}{NO_BREAK}mm",
                _covers(colour),
                seen,
                apart + ratio,
            )
        )
    return rows


def _covers(colour: ShownColour) -> str:
    return "never" if colour.hides_mm >= NEVER_HIDES_MM else number(colour.hides_mm, 2)


def _seen(colour: ShownColour, thick_mm: float) -> str:
    layer = ThinLayer(colour.rgb, colour.scatter_per_mm, colour.hides_mm, colour.inner)
    share = showing_through(layer, thick_mm)
    return f"under 0.1{NO_BREAK}%" if share < 0.001 else percent(share)


def middle_thickness_mm(made: Build, drawn: DrawnInlay) -> float:
    """Return the median thickness of an inlay's own mix in the finished board, 0 where none is."""
    stack, spec = made.replay.final.face(drawn.inlay.face), made.replay.spec
    if drawn.region.is_empty:
        return 0.0
    mapped = thickness_map(stack, spec, drawn.inlay.mix.name, drawn.region)
    window = _window(spec, mapped.left_mm, mapped.bottom_mm, mapped.values.shape)
    inside = shares(spec, drawn.region, window) > WHOLE_CELL
    held = mapped.values[inside & (mapped.values > 0.0)]
    return float(np.median(held)) if held.size else 0.0


def _window(spec: BoardSpec, left_mm: float, bottom_mm: float, shape: tuple[int, ...]) -> Window:
    column, row = round(left_mm / spec.cell_mm), round(bottom_mm / spec.cell_mm)
    return Window(column, row, shape[1], shape[0])


def _lines(lines: tuple[BrightLine, ...], lengths: Lengths) -> TableView:
    head = (
        "line", "how", f"slot, {lengths.head}", "thinner", "sinks", "sanded", "clear left",
        "bright", "odds", "overfilled",
    )  # fmt: skip
    return TableView(head, tuple(_line_row(line, lengths) for line in lines), wide=(0, 1))


def _line_row(line: BrightLine, lengths: Lengths) -> tuple[str, ...]:
    inlay = line.inlay
    return (
        f"{clean(inlay.name)}, {inlay.face}",
        inlay.manner.value,
        f"{lengths.cell(line.width_mm)} \N{MULTIPLICATION SIGN} {lengths.cell(line.depth_mm)}",
        percent(inlay.mix.thinner_share) if inlay.mix.thinner is not None else "none",
        lengths.cell(line.centre_mm, 3),
        f"{lengths.cell(line.sanding.mean_mm)} \N{PLUS-MINUS SIGN} "
        f"{lengths.cell(line.sanding.variation_mm)}",
        lengths.cell(line.cap_mm, 3) if line.cap_mm is not None else MINUS,
        percent(line.bright),
        percent(line.odds),
        percent(line.overfilled),
    )


def _ways(lines: tuple[BrightLine, ...], lengths: Lengths) -> TableView:
    head = ("line", "would do as well", f"depth, {lengths.head}", "thinner", "clear left", "odds")
    rows = [
        (
            clean(line.inlay.name),
            Manner.CAPPED.value,
            lengths.cell(way.depth_mm - line.sanding.mean_mm),
            percent(way.thinner_share) if way.thinner_share > 0.0 else "none",
            lengths.cell(way.cap_mm, 3),
            percent(way.odds),
        )
        for line in lines
        for way in line.proposals[:MOST_WAYS]
    ]
    return TableView(head, tuple(rows), wide=(0, 1))


def _line_note(made: Build) -> str:
    job = made.job
    return (
        "Sinks: the middle of a straight slot below its edges once cured. Bright: the share of the "
        "width that mean sanding does not reach. Odds: how surely "
        f"{percent(job.bright_share)} of the width stays bright. Overfilled: what is left of it "
        "where the same mix is poured proud and sanded flush. Depths below count from the finished "
        "face. Where lines meet in a wider place the surface sinks more there and less along the "
        "lines; the replay shows it."
    )
