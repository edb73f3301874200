"""From a job's timber and mixes to the colours that pictures show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flushwork.colour.kubelka_munk import absorption_ratio, mix_ratio, opaque_reflectance
from flushwork.colour.spaces import Triple, format_hex, from_linear, parse_hex, to_linear
from flushwork.job.records import Job, Mix, MixPigment
from flushwork.shelf.items import Pigment, PigmentKind

CLEAR_RGB: Triple = (0.93, 0.90, 0.82)
"""A thick clear resin, faintly amber (assumed; a cured swatch replaces it)."""

CLEAR_HIDES_MM = 1.0e6
"""A clear never hides what is below it."""


@dataclass(frozen=True, slots=True)
class Colour:
    """How one material shows: sRGB from 0 to 1, the thickness at which it covers, its manner.

    ``flake`` says it glitters near its free surface and goes dull where it is cut; ``clear`` that
    what is below shows through.
    """

    rgb: Triple
    hides_mm: float
    flake: bool
    clear: bool

    @property
    def hex(self) -> str:
        """The colour as ``#rrggbb``."""
        return format_hex(self.rgb)


@dataclass(frozen=True, slots=True)
class Palette:
    """The colours of a job: its timber, the dark of its grain, and each mix by name."""

    timber: Colour
    grain: Triple
    mixes: Mapping[str, Colour]

    def hex_by_mix(self) -> dict[str, str]:
        """Return each mix's colour as ``#rrggbb``."""
        return {name: colour.hex for name, colour in self.mixes.items()}


def advised_share(pigment: Pigment) -> float:
    """Return the middle of a pigment's advised shares: the one its hiding depth holds at."""
    return (pigment.share_low + pigment.share_high) / 2.0


def mixed_colour(pigments: Sequence[MixPigment]) -> Triple:
    """Return the sRGB of pigments mixed, by Kubelka-Munk with one constant in three bands.

    Each pigment weighs by its share over its advised share, so that a strong one used in little
    counts as it colours, not as it weighs.
    """
    weights = [each.share / advised_share(each.pigment) for each in pigments]
    colours = [to_linear(parse_hex(each.pigment.colour)) for each in pigments]

    def band(index: int) -> float:
        parts = zip(weights, colours, strict=True)
        return opaque_reflectance(
            mix_ratio((weight, absorption_ratio(colour[index])) for weight, colour in parts)
        )

    return from_linear((band(0), band(1), band(2)))


def hiding_mm(pigments: Sequence[MixPigment]) -> float:
    """Return the thickness at which a mix covers wood, from the pigments' own hiding depths.

    Hiding power goes with the pigment in the way, so 1 / h = sum (share / advised share) / h_i.
    """
    power = sum(
        each.share / advised_share(each.pigment) / each.pigment.hides_mm for each in pigments
    )
    return 1.0 / power if power > 0.0 else CLEAR_HIDES_MM


def mix_colour(mix: Mix) -> Colour:
    """Return how a mix shows: the job's own colour for it where it has one."""
    if mix.clear:
        rgb = parse_hex(mix.colour) if mix.colour else CLEAR_RGB
        return Colour(rgb, CLEAR_HIDES_MM, flake=False, clear=True)
    rgb = parse_hex(mix.colour) if mix.colour else mixed_colour(mix.pigments)
    flake = any(each.pigment.kind is PigmentKind.FLAKE for each in mix.pigments)
    return Colour(rgb, hiding_mm(mix.pigments), flake=flake, clear=False)


def palette_of(job: Job) -> Palette:
    """Return the colours of a job's timber and of every mix that it names or caps with."""
    timber = job.blank.timber
    caps = [inlay.cap for inlay in job.inlays if inlay.cap is not None]
    mixes = [*job.mixes, *(inlay.mix for inlay in job.inlays), *caps]
    return Palette(
        timber=Colour(parse_hex(timber.colour), 0.0, flake=False, clear=False),
        grain=parse_hex(timber.grain_colour),
        mixes={mix.name: mix_colour(mix) for mix in mixes},
    )
