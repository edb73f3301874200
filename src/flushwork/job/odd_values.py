"""Values that hardly anybody means, and things of the shelf that contradict themselves.

The ranges are common practice, no source: what a shop that works this way would call strange.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Final

from flushwork.core.findings import Finding, Subject
from flushwork.core.keys.settle import Named, Reading
from flushwork.core.units import Quantity, number_text, quantity_text
from flushwork.job.records import Allowances, Face, Job
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

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Usual:
    """The range a length usually lies in, and what comes of more, or of less."""

    key: str
    field: str
    least_mm: float
    most_mm: float
    why: str


ALLOWANCES: Final = (
    Usual("surface", "surface_mm", 0.0, 3.0, "it thins the blank on both sides"),
    Usual("mill flush", "mill_flush_mm", 0.0, 1.0, "every flush milling thins each inlay by it"),
    Usual("left proud", "left_proud_mm", 0.0, 0.6, "all of it is left for the hand to sand"),
    Usual("sand", "sand_mm", 0.02, 1.0, "sanding takes out the bit marks and no more"),
    Usual("light sand", "light_sand_mm", 0.01, 0.3, "a light sanding takes hundredths"),
    Usual("overfill", "overfill_mm", 0.0, 1.5, "it is poured, paid for and milled away again"),
    Usual(
        "overspill", "overspill_mm", 0.0, 4.0, "resin that wide stains the wood around its pocket"
    ),
    Usual(
        "sanding variation", "sand_variation_mm", 0.0, 0.1, "nothing fine outlasts such a sanding"
    ),
)
LEAST_STEP: Final = 0.08
"""A bit that goes over by less takes a dozen passes and more for its own width."""
SAME_PLACE_MM: Final = 2.0
"""Two marks nearer than they are wide are one mark."""
MOST_HARDENER: Final = 1.1
"""No more parts of hardener than of resin are usual, by weight or by volume."""
DENSITY: Final = (0.85, 1.8)
"""Of resins and hardeners, g/cm3."""
MOST_TOLERANCE: Final = 0.1
"""A ratio further off leaves resin soft, whatever its label says."""
LEAST_DRY_S: Final = 120.0
"""Nothing brushed on wood is dry sooner."""


def odd_in_job(job: Job, reading: Reading) -> tuple[Finding, ...]:
    """Return a warning for every odd value of a job file."""
    found = [*_allowances(job, reading), *_faces(job.faces, reading), *_marks(job, reading)]
    return tuple(found)


def _marks(job: Job, reading: Reading) -> Iterator[Finding]:
    blank = job.blank
    for index, mark in enumerate(job.registration_marks):
        path = ("registration marks", index)
        inside = 0.0 <= mark.x_mm <= blank.length_mm and 0.0 <= mark.y_mm <= blank.width_mm
        if not inside:
            yield _odd(
                reading,
                path,
                f"registration mark {index + 1} stands at {_mm(mark.x_mm)}, {_mm(mark.y_mm)}, off "
                f"the blank of {_mm(blank.length_mm)} x {_mm(blank.width_mm)}",
                "`at` counts from the lower left corner of the blank",
            )
        for number, other in enumerate(job.registration_marks[:index], start=1):
            if hypot(mark.x_mm - other.x_mm, mark.y_mm - other.y_mm) < SAME_PLACE_MM:
                yield _odd(
                    reading,
                    path,
                    f"registration marks {number} and {index + 1} stand in one place: together "
                    "they say no more than one",
                    "four near the corners of the blank are usual",
                )
                break


def _allowances(job: Job, reading: Reading) -> Iterator[Finding]:
    given: Allowances = job.allowances
    for usual in ALLOWANCES:
        value_mm: float = getattr(given, usual.field)
        path = ("allowances", usual.key)
        if reading.tree.has(path) and not usual.least_mm <= value_mm <= usual.most_mm:
            usually = f"{_mm(usual.least_mm)} to {_mm(usual.most_mm)} are usual"
            yield _odd(reading, path, f"{usual.key} is {_mm(value_mm)}: {usual.why}", usually)
    thickness_mm = job.blank.thickness_mm
    if (
        reading.tree.has(("allowances", "least wood between faces"))
        and given.wood_between_mm > thickness_mm / 2.0
    ):
        yield _odd(
            reading,
            ("allowances", "least wood between faces"),
            f"least wood between faces is {_mm(given.wood_between_mm)} in a blank of "
            f"{_mm(thickness_mm)}: two faces can "
            "hardly be worked over one another",
            "a fifth of the thickness is usual, and 3 mm at least",
        )
    if given.light_sand_mm > max(given.sand_mm, 0.05):
        yield _odd(
            reading,
            ("allowances", "light sand"),
            f"a light sanding takes {_mm(given.light_sand_mm)}, more than the first one "
            f"({_mm(given.sand_mm)})",
            "a light sanding takes less than the first",
        )


def _faces(faces: tuple[Face, ...], reading: Reading) -> Iterator[Finding]:
    worked = {face.name for face in faces}
    for name in ("front", "back"):
        if reading.tree.has((name,)) and name not in worked:
            yield _odd(
                reading,
                (name,),
                f"the {name} is named but has nothing to be worked",
                "take the line out, or write what goes on it",
            )


def odd_in_shop(shop: Shop, reading: Reading) -> tuple[Finding, ...]:
    """Return a warning for every odd value of a shop file."""
    found: list[Finding] = []
    for index, bit in enumerate(shop.bits):
        found += _bit(bit, ("bits", index), reading)
    for index, resin in enumerate(shop.resins):
        found += _resin(resin, ("resins", index), reading)
    for index, sealer in enumerate(shop.sealers):
        found += _sealer(sealer, ("sealers", index), reading)
    return tuple(found)


def _resin(resin: Resin, path: Path, reading: Reading) -> Iterator[Finding]:
    hardener = resin.ratio_hardener / resin.ratio_resin
    ratio, tolerance = (*path, "ratio"), (*path, "ratio tolerance")
    if reading.tree.has(ratio) and hardener > MOST_HARDENER:
        yield _odd(
            reading,
            ratio,
            f"{resin.name} takes {number_text(hardener, 2)} times as much hardener as resin: the "
            "ratio may stand upside down",
            "a ratio is written resin first, as in 100:44, with no more hardener than resin",
        )
    for key, density in (
        ("resin density", resin.density_resin_g_cm3),
        ("hardener density", resin.density_hardener_g_cm3),
    ):
        if reading.tree.has((*path, key)) and not DENSITY[0] <= density <= DENSITY[1]:
            yield _odd(
                reading,
                (*path, key),
                f"{key} of {resin.name} is {number_text(density, 2)} g/cm3: volumes are weighed "
                "and cups filled by it",
                "0.9 to 1.3 g/cm3 are usual, up to 1.8 where it is filled",
            )
    if reading.tree.has(tolerance) and resin.tolerance > MOST_TOLERANCE:
        yield _odd(
            reading,
            tolerance,
            f"{resin.name} is said to bear a ratio that is {number_text(100 * resin.tolerance, 1)} "
            "% off: it would stay soft long before",
            "3 to 5 % are usual",
        )


def _sealer(sealer: Sealer, path: Path, reading: Reading) -> Iterator[Finding]:
    if reading.tree.has((*path, "dry after")) and sealer.dry_s < LEAST_DRY_S:
        yield _odd(
            reading,
            (*path, "dry after"),
            f"{sealer.name} is said to be dry at once: resin poured onto a wet sealer does not "
            "hold, and what it gives off burns",
            "half an hour and more are usual",
        )


def _bit(bit: Bit, path: Path, reading: Reading) -> Iterator[Finding]:
    if bit.step < LEAST_STEP and reading.tree.has((*path, "step over")):
        share = number_text(100.0 * bit.step, 1)
        yield _odd(
            reading,
            (*path, "step over"),
            f"{bit.name} goes over by {share} % of its diameter: a pocket takes many times as long",
            "40 % is usual for clearing, 10 % for a fine floor",
        )
    if (
        bit.kind is BitKind.FLAT
        and bit.pass_mm > 3.0 * bit.diameter_mm
        and reading.tree.has((*path, "pass depth"))
    ):
        yield _odd(
            reading,
            (*path, "pass depth"),
            f"{bit.name} goes {_mm(bit.pass_mm)} deep in one pass, more than three times its "
            "diameter",
            "up to its diameter is usual in wood, a quarter to a half for bits under 1.6 mm",
        )


def _odd(reading: Reading, path: Path, what: str, usually: str) -> Finding:
    return Finding.warning(
        "value-odd",
        message=f"{what[0].upper()}{what[1:]}.",
        remedy=f"{usually[0].upper()}{usually[1:]}; leave it if you mean it.",
        subjects=(Subject("key", str(path[-1])),),
        source=reading.source(path),
    )


def _mm(value_mm: float) -> str:
    return quantity_text(value_mm, Quantity.LENGTH, decimals=3)


# ---- What cannot be told from one key alone: figures of one thing on the shelf that contradict


PAGE_WIDE_MM, PAGE_HIGH_MM = 215.9, 297.0
"""The larger side of A4 and US Letter each way (ISO 216; ANSI/ASME Y14.1)."""

Slip = tuple[str, str, str]
"""The key at fault, what is wrong, what would be right."""


def _bit_slips(bit: Bit) -> Iterator[Slip]:
    if bit.kind is BitKind.V_BIT and bit.angle_rad <= 0:
        yield "angle", "a V-bit has an angle", "add `angle: 60 deg`"
    if bit.kind is BitKind.ROUND_OVER and not 0.0 < 2.0 * bit.round_mm < bit.diameter_mm:
        yield (
            "radius",
            "a round-over has a radius, less than half its width",
            "add `radius: 3 mm`, or measure its width where it is widest",
        )
    if bit.kind is BitKind.KEYHOLE and not 0.0 < bit.neck_mm < bit.diameter_mm:
        yield "neck", "a keyhole bit has a neck thinner than its head", "add `neck: 4.8 mm`"
    if bit.kind is BitKind.KEYHOLE and not 0.0 < bit.head_mm <= bit.flute_mm:
        yield (
            "head height",
            "a keyhole bit's head is no higher than its flutes",
            "add `head height: 4.5 mm`, or measure its `flute length`",
        )
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


def _resin_slips(resin: Resin) -> Iterator[Slip]:
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


def _pigment_slips(pigment: Pigment) -> Iterator[Slip]:
    if pigment.share_low > pigment.share_high:
        yield "most share", "the most is less than the least", "write at least the least share"
    if pigment.bulk_g_cm3 > pigment.density_g_cm3:
        yield (
            "bulk density",
            "a powder with air in it cannot be heavier than the solid",
            "write at most the `density`",
        )


def _sealer_slips(sealer: Sealer, shop: Shop) -> Iterator[Slip]:
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


def _tool_slips(tool: MeasuringTool) -> Iterator[Slip]:
    if tool.step > tool.capacity:
        yield "step", "one step is more than it holds", "write at most the `capacity`"


def _machine_slips(machine: Machine) -> Iterator[Slip]:
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


def _label_slips(sheet: LabelSheet) -> Iterator[Slip]:
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
    _note("bits", shop.bits, [list(_bit_slips(each)) for each in shop.bits], reading)
    _note("resins", shop.resins, [list(_resin_slips(each)) for each in shop.resins], reading)
    _note(
        "pigments", shop.pigments, [list(_pigment_slips(each)) for each in shop.pigments], reading
    )
    _note(
        "sealers", shop.sealers, [list(_sealer_slips(each, shop)) for each in shop.sealers], reading
    )
    _note("measuring tools", shop.tools, [list(_tool_slips(each)) for each in shop.tools], reading)
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
    for key, wrong, right in _machine_slips(shop.machine):
        reading.slip("value-out-of-range", f"{key}: {wrong}", right, ("machine", key))
    for key, wrong, right in _label_slips(shop.labels):
        reading.slip("value-out-of-range", f"{key} of the labels: {wrong}", right, ("labels", key))


def _note(
    what: str, things: Sequence[Named], slips: Sequence[Sequence[Slip]], reading: Reading
) -> None:
    for index, (thing, each) in enumerate(zip(things, slips, strict=True)):
        for key, wrong, right in each:
            reading.slip(
                "value-out-of-range", f"{key} of '{thing.name}': {wrong}", right, (what, index, key)
            )
