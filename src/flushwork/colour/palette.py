"""From a job's timber and mixes to the colours that pictures show."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from flushwork.colour.spaces import Triple, format_hex, parse_hex
from flushwork.job.records import Job, Mix
from flushwork.shelf.items import PigmentKind

SEEN_THROUGH: Final = 0.02
"""The contrast still seen at a hiding depth: a layer covers when 98 % of what is below is gone, the
contrast ratio of complete hiding in paint testing (ISO 6504-3, from memory)."""

NEVER_HIDES_MM: Final = 1.0e6
"""The hiding depth of a clear: deeper than any pocket."""


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


def hides_mm(opacity: float) -> float:
    """Return the thickness at which a fill covers, from the share 1 mm of it takes away.

    (1 - opacity)^t falls to ``SEEN_THROUGH`` at t = ln 0.02 / ln (1 - opacity).
    """
    if opacity <= 0.0:
        return NEVER_HIDES_MM
    if opacity >= 1.0:
        return 0.0
    return min(NEVER_HIDES_MM, math.log(SEEN_THROUGH) / math.log1p(-opacity))


def mix_colour(mix: Mix) -> Colour:
    """Return how a mix shows."""
    return Colour(
        rgb=parse_hex(mix.colour),
        hides_mm=hides_mm(mix.opacity),
        flake=any(each.pigment.kind is PigmentKind.FLAKE for each in mix.pigments),
        clear=mix.clear and mix.opacity <= 0.0,
    )


def palette_of(job: Job) -> Palette:
    """Return the colours of a job's timber and of every mix that it names, fills or caps with."""
    timber = job.blank.timber
    caps = [inlay.cap for inlay in job.inlays if inlay.cap is not None]
    mixes = [*job.mixes, *(inlay.mix for inlay in job.inlays), *caps]
    return Palette(
        timber=Colour(parse_hex(timber.colour), 0.0, flake=False, clear=False),
        grain=parse_hex(timber.grain_colour),
        mixes={mix.name: mix_colour(mix) for mix in mixes},
    )
