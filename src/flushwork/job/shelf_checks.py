"""What cannot be told from one key alone: figures of one thing on the shelf that contradict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from flushwork.core.keys.settle import Named, Reading
from flushwork.shelf.hazards import Basis
from flushwork.shelf.items import (
    AS_THE_FILL,
    Bit,
    BitKind,
    Machine,
    MeasuringTool,
    Pigment,
    Resin,
    Sealer,
    Shop,
)
from flushwork.shelf.working import LabelSheet

PAGE_WIDE_MM, PAGE_HIGH_MM = 215.9, 297.0
"""The larger side of A4 and US Letter each way (ISO 216; ANSI/ASME Y14.1)."""

Slip = tuple[str, str, str]
"""The key at fault, what is wrong, what would be right."""


def _bit(bit: Bit) -> Iterator[Slip]:
    if bit.kind is BitKind.V_BIT and bit.angle_rad <= 0:
        yield "angle", "a V-bit has an angle", "add `angle: 60 deg`"
    if bit.tip_mm >= bit.diameter_mm:
        yield "tip", "the tip is as wide as the bit", "write less than the diameter"
    if bit.flute_mm > bit.reach_mm:
        yield (
            "reach",
            f"it cuts {bit.flute_mm:g} mm deep but stands out only {bit.reach_mm:g} mm",
            "write a longer `reach` or a shorter `flute length`",
        )


NEVER_NONE: Final = (
    "resin and hardener that are not set yet are never harmless",
    "write the classes of its safety sheets: `[sensitiser, corrosive]` for most",
)
"""What is told of an uncured resin whose hazards are said to be none (from the safety sheets of
epoxy systems, from memory: the resin sensitises the skin, the amine hardener burns it)."""


def _resin(resin: Resin) -> Iterator[Slip]:
    if not resin.hazards.classes and resin.hazards.basis is Basis.STATED:
        yield ("hazards", *NEVER_NONE)
    if resin.pot_life_s < resin.sandable_s < resin.recoat_from_s < resin.recoat_until_s:
        yield (
            "sandable after",
            "it is hard before the next layer may be poured on it",
            "write a longer time, or a shorter `recoat from`",
        )
    if resin.recoat_from_s >= resin.recoat_until_s:
        yield "recoat until", "the window closes before it opens", "write a longer time"
    if resin.pot_life_s >= resin.sandable_s:
        yield "sandable after", "it is hard before its pot life ends", "write a longer time"
    if resin.sandable_s > resin.cure_s:
        yield "cured after", "it is cured before it can be sanded", "write a longer time"


def _pigment(pigment: Pigment) -> Iterator[Slip]:
    if pigment.share_low > pigment.share_high:
        yield "most share", "the most is less than the least", "write at least the least share"
    if pigment.bulk_g_cm3 > pigment.density_g_cm3:
        yield (
            "bulk density",
            "a powder with air in it cannot be heavier than the solid",
            "write at most the `density`",
        )


def _sealer(sealer: Sealer, shop: Shop) -> Iterator[Slip]:
    known = tuple(resin.name for resin in shop.resins)
    if sealer.resin and sealer.resin not in (AS_THE_FILL, *known):
        yield (
            "resin",
            f"the shelf has no resin called '{sealer.resin}'",
            f"write `{AS_THE_FILL}`, or one of: {', '.join(known)}",
        )
    elif sealer.resin and 0.0 < sealer.fill_within_s < sealer.dry_s:
        yield "fill within", "the window closes before it opens", "write a longer time"
    if sealer.resin and not sealer.hazards.classes and sealer.hazards.basis is Basis.STATED:
        yield ("hazards", *NEVER_NONE)


def _tool(tool: MeasuringTool) -> Iterator[Slip]:
    if tool.step > tool.capacity:
        yield "step", "one step is more than it holds", "write at most the `capacity`"


def _machine(machine: Machine) -> Iterator[Slip]:
    if machine.spindle_min_rpm > machine.spindle_max_rpm:
        yield (
            "slowest spindle",
            "it is faster than the fastest",
            f"write at most {machine.spindle_max_rpm:g} rpm",
        )
    if machine.plunge_mm_min > machine.feed_mm_min:
        yield (
            "plunge",
            "the feed straight down is faster than the fastest feed",
            f"write at most {machine.feed_mm_min:g} mm/min; a third of the feed is usual",
        )


def _labels(sheet: LabelSheet) -> Iterator[Slip]:
    if sheet.columns == sheet.rows == 1:
        return
    if sheet.across_mm > PAGE_WIDE_MM:
        yield (
            "columns",
            f"together they are {sheet.across_mm:g} mm wide, a page is {PAGE_WIDE_MM:g} mm",
            "write fewer `columns`, or what the packet says of `width` and `gap across`",
        )
    if sheet.down_mm > PAGE_HIGH_MM:
        yield (
            "rows",
            f"together they are {sheet.down_mm:g} mm high, a page is {PAGE_HIGH_MM:g} mm",
            "write fewer `rows`, or what the packet says of `height` and `gap down`",
        )


def check_shelf(shop: Shop, reading: Reading) -> None:
    """Note every contradiction on a shop's shelf."""
    _note("bits", shop.bits, [list(_bit(each)) for each in shop.bits], reading)
    _note("resins", shop.resins, [list(_resin(each)) for each in shop.resins], reading)
    _note("pigments", shop.pigments, [list(_pigment(each)) for each in shop.pigments], reading)
    _note("sealers", shop.sealers, [list(_sealer(each, shop)) for each in shop.sealers], reading)
    _note("measuring tools", shop.tools, [list(_tool(each)) for each in shop.tools], reading)
    for index, bit in enumerate(shop.bits):
        path = ("bits", index, "pass depth")
        if bit.pass_mm > bit.flute_mm and reading.tree.has(path):
            reading.slip(
                "value-out-of-range",
                f"pass depth of '{bit.name}': a pass of {bit.pass_mm:g} mm is deeper than "
                f"its cutting edges are long ({bit.flute_mm:g} mm)",
                f"write at most {bit.flute_mm:g} mm; up to its diameter is usual",
                path,
            )
    for key, wrong, right in _machine(shop.machine):
        reading.slip("value-out-of-range", f"{key}: {wrong}", right, ("machine", key))
    for key, wrong, right in _labels(shop.labels):
        reading.slip("value-out-of-range", f"{key} of the labels: {wrong}", right, ("labels", key))


def _note(
    what: str, things: Sequence[Named], slips: Sequence[Sequence[Slip]], reading: Reading
) -> None:
    for index, (thing, each) in enumerate(zip(things, slips, strict=True)):
        for key, wrong, right in each:
            reading.slip(
                "value-out-of-range", f"{key} of '{thing.name}': {wrong}", right, (what, index, key)
            )
