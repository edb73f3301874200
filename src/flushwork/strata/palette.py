"""From a job's wood and mixes to the colours that pictures show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from flushwork.colour.kubelka_munk import (
    NEVER_HIDES_MM,
    ThinLayer,
    from_hiding,
    from_swatch,
    hides_from_opacity,
)
from flushwork.colour.spaces import Triple, format_hex, from_linear, parse_hex, to_linear
from flushwork.job.records import Job, Mix
from flushwork.kernels.thin_layers import INNER
from flushwork.shelf.items import PigmentKind
from flushwork.strata.tiles import WOOD

MEAN_GRAIN: Final = 0.1
"""Share of the late wood's colour in a whole face, as ``board_figure`` draws it."""


@dataclass(frozen=True, slots=True)
class ShownColour:
    """How one material shows: sRGB from 0 to 1, the thickness at which it covers, its manner.

    ``flake`` says it glitters near its free surface and goes dull where it is cut; ``clear`` that
    what is below shows through.  ``scatter_per_mm`` is Kubelka and Munk's S in the bands of linear
    light, all 0 where the material is never thin; ``inner`` the share of light that its surface
    throws back inside, 0 where colours stand as they were given.
    """

    rgb: Triple
    hides_mm: float
    flake: bool
    clear: bool
    scatter_per_mm: Triple = (0.0, 0.0, 0.0)
    inner: float = 0.0

    @property
    def hex(self) -> str:
        """The colour as ``#rrggbb``."""
        return format_hex(self.rgb)


@dataclass(frozen=True, slots=True)
class Palette:
    """The colours of a job: its wood, the dark of its grain, and each mix by name."""

    wood: ShownColour
    grain: Triple
    mixes: Mapping[str, ShownColour]

    @property
    def materials(self) -> dict[str, ShownColour]:
        """The wood, its figure evened out, and each mix, as layers of the replay name them."""
        bright, dark = to_linear(self.wood.rgb), to_linear(self.grain)
        red, green, blue = (
            light + MEAN_GRAIN * (deep - light) for light, deep in zip(bright, dark, strict=True)
        )
        return {WOOD: replace(self.wood, rgb=from_linear((red, green, blue)))} | dict(self.mixes)

    def hex_by_mix(self) -> dict[str, str]:
        """Return each mix's colour as ``#rrggbb``."""
        return {name: colour.hex for name, colour in self.mixes.items()}


def mix_colour(mix: Mix) -> ShownColour:
    """Return how a mix shows: by its swatch where it has one, by its colour and opacity else."""
    clear = mix.clear and mix.opacity <= 0.0 and mix.swatch is None
    layer = ThinLayer(parse_hex(mix.colour), (0.0, 0.0, 0.0), NEVER_HIDES_MM)
    if mix.swatch is not None:
        swatch = mix.swatch
        black, white = parse_hex(swatch.over_black), parse_hex(swatch.over_white)
        inner = INNER if swatch.glossy else 0.0
        layer = from_swatch(black, white, swatch.thickness_mm, inner)
    elif mix.opacity > 0.0:
        layer = from_hiding(layer.rgb, hides_from_opacity(mix.opacity))
    return ShownColour(
        rgb=layer.rgb,
        hides_mm=layer.hides_mm,
        flake=any(each.pigment.kind is PigmentKind.FLAKE for each in mix.pigments),
        clear=clear,
        scatter_per_mm=layer.scatter_per_mm,
        inner=layer.inner,
    )


def palette_of(job: Job) -> Palette:
    """Return the colours of a job's wood and of every mix that it names, fills or caps with."""
    wood = job.blank.wood
    caps = [inlay.cap for inlay in job.inlays if inlay.cap is not None]
    mixes = [*job.mixes, *(inlay.mix for inlay in job.inlays), *caps]
    return Palette(
        wood=ShownColour(parse_hex(wood.colour), 0.0, flake=False, clear=False),
        grain=parse_hex(wood.grain_colour),
        mixes={mix.name: mix_colour(mix) for mix in mixes},
    )
