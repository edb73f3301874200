"""The shelf as tables of words: what the shop has, with swatches, and where each figure is from."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from flushwork.bench.pages.stock_views import StockView, stock_views
from flushwork.built import Build
from flushwork.shelf.hazards import Basis
from flushwork.shelf.items import Bit, BitKind, MeasuringTool
from flushwork.shelf.working import StockKind
from flushwork.usecases.bits_and_stock import Item, hazards_of
from flushwork.views.figures import (
    NO_BREAK,
    Lengths,
    clean,
    duration,
    mark_text,
    number,
    percent,
    short,
)


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing: its colour (or none), name, figures, their source, whether this job uses it.

    ``stock`` is what is on hand of it, as far as the shop file tells.
    """

    colour: str
    name: str
    figures: tuple[str, ...]
    source: str
    used: bool
    stock: tuple[StockView, ...] = ()


@dataclass(frozen=True, slots=True)
class BoardOnShelf:
    """One board of the shelf."""

    heading: str
    head: tuple[str, ...]
    things: tuple[Thing, ...]

    @property
    def stocked(self) -> bool:
        """Whether the shop file tells what is on hand of anything here."""
        return any(thing.stock for thing in self.things)


HARM: Final = "what can harm"
_KINDS: Final = {
    "Bits": (StockKind.BIT,),
    "Resins": (StockKind.RESIN, StockKind.HARDENER),
    "Thinners": (StockKind.THINNER,),
    "Pigments": (StockKind.PIGMENT,),
    "Sealers": (StockKind.SEALER,),
    "Finishes": (StockKind.FINISH,),
    "Wood": (StockKind.WOOD,),
}


def shelf_view(made: Build, lengths: Lengths) -> tuple[BoardOnShelf, ...]:
    """Return the boards of the shop's shelf; what this job uses is marked."""
    stock = stock_views(made)
    return tuple(
        replace(
            board,
            things=tuple(
                replace(
                    thing,
                    stock=tuple(
                        stock[kind, thing.name]
                        for kind in _KINDS.get(board.heading, ())
                        if (kind, thing.name) in stock
                    ),
                )
                for thing in board.things
            ),
        )
        for board in _boards(made, lengths)
    )


def _boards(made: Build, lengths: Lengths) -> tuple[BoardOnShelf, ...]:
    job, shop = made.job, made.job.shop
    mixes = job.mixes
    resins = {mix.resin.name for mix in mixes}
    pigments = {part.pigment.name for mix in mixes for part in mix.pigments}
    named = {file.order.bit.name for file in made.gcode_files}
    return (
        BoardOnShelf(
            "Bits",
            ("shape", "diameter", "cutting length", "stands out", "one pass", "turns at most"),
            tuple(
                Thing("", clean(c.name), _bit(c, lengths), clean(c.source), c.name in named)
                for c in shop.bits
            ),
        ),
        BoardOnShelf(
            "Resins",
            ("ratio", "may be off by", "pot life", "sandable after", "bears in one layer", HARM),
            tuple(
                Thing(
                    "",
                    clean(resin.name),
                    (
                        f"{short(resin.ratio_resin, 2)}:{short(resin.ratio_hardener, 2)} by "
                        + ("weight" if resin.by_weight else "volume"),
                        percent(resin.tolerance),
                        f"{duration(resin.pot_life_s)} at {short(resin.at_c, 0)}"
                        f"{NO_BREAK}\N{DEGREE SIGN}C",
                        duration(resin.sandable_s),
                        lengths.say(resin.layer_mm, 0),
                        harm(resin),
                    ),
                    clean(resin.source),
                    resin.name in resins,
                )
                for resin in shop.resins
            ),
        ),
        BoardOnShelf(
            "Thinners",
            ("density", "leaves before the gel", "flash point", HARM),
            tuple(
                Thing(
                    "",
                    clean(thinner.name),
                    (
                        f"{number(thinner.density_g_cm3, 2)}{NO_BREAK}g/cm\N{SUPERSCRIPT THREE}",
                        percent(thinner.evaporates),
                        f"{short(thinner.flash_point_c, 0)}{NO_BREAK}\N{DEGREE SIGN}C"
                        if thinner.flammable
                        else "does not burn",
                        harm(thinner),
                    ),
                    clean(thinner.source),
                    thinner.name in {mix.thinner.name for mix in mixes if mix.thinner},
                )
                for thinner in shop.thinners
            ),
        ),
        BoardOnShelf(
            "Pigments",
            ("kind", "share of the mix", "one flake or grain", "hides in", HARM),
            tuple(
                Thing(
                    pigment.colour,
                    clean(pigment.name),
                    (
                        str(pigment.kind),
                        f"{percent(pigment.share_low)} to {percent(pigment.share_high)}",
                        f"{number(pigment.flake_mm * 1000.0, 0)}{NO_BREAK}\N{MICRO SIGN}m",
                        lengths.say(pigment.hides_mm),
                        harm(pigment),
                    ),
                    clean(pigment.source),
                    pigment.name in pigments,
                )
                for pigment in shop.pigments
            ),
        ),
        BoardOnShelf(
            "Sealers",
            ("one coat", "dry after", HARM),
            tuple(
                Thing(
                    "",
                    clean(sealer.name),
                    (lengths.say(sealer.film_mm, 3), duration(sealer.dry_s), harm(sealer)),
                    clean(sealer.source),
                    job.sealer is not None and sealer.name == job.sealer.name,
                )
                for sealer in shop.sealers
            ),
        ),
        BoardOnShelf(
            "Finishes",
            ("one coat", "next coat after", HARM),
            tuple(
                Thing(
                    "",
                    clean(finish.name),
                    (lengths.say(finish.film_mm, 3), duration(finish.recoat_s), harm(finish)),
                    clean(finish.source),
                    job.finish is not None and finish.name == job.finish.finish.name,
                )
                for finish in shop.finishes
            ),
        ),
        BoardOnShelf(
            "Wood",
            ("pores", "density", "side hardness", "moves across, flat-sawn", "quarter-sawn", HARM),
            tuple(
                Thing(
                    wood.colour,
                    clean(wood.name),
                    (
                        wood.pores,
                        f"{number(wood.gravity, 2)}{NO_BREAK}g/cm\N{SUPERSCRIPT THREE}",
                        f"{number(wood.hardness_n, 0)}{NO_BREAK}N",
                        f"{number(wood.tangential_per_pct * 100.0, 3)}{NO_BREAK}% per % moisture",
                        f"{number(wood.radial_per_pct * 100.0, 3)}{NO_BREAK}% per % moisture",
                        harm(wood),
                    ),
                    clean(wood.source),
                    wood.name == job.blank.wood.name,
                )
                for wood in shop.woods
            ),
        ),
        BoardOnShelf(
            "Measuring tools",
            ("kind", "marks", "holds"),
            tuple(Thing("", clean(t.name), _tool(t), clean(t.source), False) for t in shop.tools),
        ),
    )


def _bit(bit: Bit, lengths: Lengths) -> tuple[str, ...]:
    shape = str(bit.kind)
    if bit.kind is BitKind.V_BIT:
        shape += f", {short(math.degrees(bit.angle_rad), 0)}\N{DEGREE SIGN}"
    if bit.kind is BitKind.ROUND_OVER:
        shape += f", radius {lengths.say(bit.round_mm, 3)}"
    if bit.kind is BitKind.KEYHOLE:
        shape += f", neck {lengths.say(bit.neck_mm)}, head {lengths.say(bit.head_mm)} high"
    return (
        shape,
        lengths.say(bit.diameter_mm, 3),
        lengths.say(bit.flute_mm, 1),
        lengths.say(bit.reach_mm, 1),
        lengths.say(bit.pass_mm, 2),
        f"{short(bit.greatest_rpm, 0)}{NO_BREAK}rpm"
        + ("" if bit.marked_rpm > 0.0 else ", unmarked"),
    )


def harm(item: Item) -> str:
    """Return what can harm in a thing of the shelf, and how that is known where nobody says it."""
    known = hazards_of(item)
    words = ", ".join(known.classes) or "nothing known"
    return words if known.basis in (Basis.LISTED, Basis.STATED) else f"{words} ({known.basis})"


def _tool(tool: MeasuringTool) -> tuple[str, ...]:
    return str(tool.kind), mark_text(tool.step, tool), mark_text(tool.capacity, tool)
