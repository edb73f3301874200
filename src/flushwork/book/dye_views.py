"""The card of loose parts that are dyed to match a fill."""

from __future__ import annotations

from typing import Final

from flushwork.built import Build
from flushwork.colour.spaces import format_hex
from flushwork.job.records import LoosePart
from flushwork.views.book_records import DyeCard, DyeView, Fact
from flushwork.views.figures import NO_BREAK, clean, joined, number
from flushwork.views.warning_lines import DYE, PEGS
from flushwork.wood.dyeing import DyeRecipe, dye_recipes

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
            _kind(part, recipe, made.palette.mixes[part.match.name].hex, made.job.pieces)
            for part, recipe in found
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


def _kind(part: LoosePart, recipe: DyeRecipe, wanted: str, pieces: int) -> DyeView:
    wood, mix = clean(part.wood.name), clean(part.match.name)
    many = f"{part.count * pieces} of {wood}"
    if pieces > 1:
        many += f", {part.count} to each piece"
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
