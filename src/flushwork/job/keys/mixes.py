"""Mixes: resin, hardener, thinner and pigments, the implied clear one among them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any, Final

from pydantic_core import PydanticCustomError

from flushwork.colour.kubelka_munk import SEEN_THROUGH, opaque_reflectance
from flushwork.colour.spaces import format_hex, from_linear, parse_hex, to_linear
from flushwork.core.findings import Source
from flushwork.core.keys.declare import OMIT, Group, Items, Key, Keyed
from flushwork.core.keys.quantities import length, share, slip
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import COLOUR, Either, OneOf, Proportion
from flushwork.core.units import Ratio
from flushwork.kernels.thin_layers import above, absorption_ratio, beneath
from flushwork.shelf.items import Pigment, Resin, Thinner

# ---- A mix's colour and opacity, guessed from its pigments until a swatch says better
#
# Single-constant Kubelka-Munk per channel of linear sRGB, each pigment weighing by its share over
# the depth at which it hides. Pigments are read from glossy swatches away from the mirror of the
# lamp, so their light is followed beneath the surface and back.


CLEAR_COLOUR: Final = "#f3ead6"
"""Cured clear resin over white: assumed, replace with a photographed swatch."""

Strong = tuple[Pigment, float]


def strength_per_mm(pigment: Pigment, share: float) -> float:
    """Return how many hiding depths of this pigment one mm of fill holds, at a share by weight."""
    middle = (pigment.share_low + pigment.share_high) / 2
    return share / middle / pigment.hides_mm


def mixed_colour(pigments: Sequence[Strong]) -> str:
    """Return the colour of a mix as ``#rrggbb``; a clear one gets ``CLEAR_COLOUR``."""
    weights = [strength_per_mm(pigment, share) for pigment, share in pigments]
    total = sum(weights)
    if not total:
        return CLEAR_COLOUR
    ratios = [0.0, 0.0, 0.0]
    for (pigment, _), weight in zip(pigments, weights, strict=True):
        for band, light in enumerate(to_linear(parse_hex(pigment.colour))):
            ratios[band] += weight / total * absorption_ratio(beneath(light))
    red, green, blue = (above(opaque_reflectance(ratio)) for ratio in ratios)
    return format_hex(from_linear((red, green, blue)))


def mixed_opacity(pigments: Sequence[Strong]) -> float:
    """Return the share of the contrast beneath that 1 mm of fill takes away (0 for a clear mix)."""
    depth = sum(strength_per_mm(pigment, share) for pigment, share in pigments)
    return 1.0 - SEEN_THROUGH**depth


# ---- Mixes: resin, hardener, thinner and pigments, the implied clear one among them


CLEAR: Final = "clear"


@dataclass(frozen=True, slots=True, kw_only=True)
class Thinned(Keyed):
    """A thinner and its share of the whole liquid by volume."""

    thinner: Annotated[Thinner, On("thinners", "thinner"), Key("ethanol", name="name")]
    """A thinner of the shelf."""
    share: Annotated[float, share(0.0, 0.5, above=True), Key("8 %")]
    """Of the whole liquid by volume."""


def _advised(at: At) -> float:
    pigment: Pigment = at.own["pigment"]
    return round((pigment.share_low + pigment.share_high) / 2, 6)


@dataclass(frozen=True, slots=True)
class MixPigment(Keyed):
    """A pigment and its share of the mixed resin by weight."""

    pigment: Annotated[Pigment, On("pigments", "pigment"), Key("teal flake", name="name")]
    """A pigment of the shelf."""
    share: Annotated[float, share(0.0, 0.9, above=True), Key("3 %", otherwise=_advised)]
    """Of the mixed resin by weight; the middle of what is advised where left out."""


@dataclass(frozen=True, slots=True)
class MixSwatch(Keyed):
    """A cured swatch of a mix, seen over black and over white (sRGB).

    ``glossy`` says that its surface is as it cured, read away from the mirror of the lamp.
    """

    over_black: Annotated[str, COLOUR, Key('"#12343a"')]
    """The swatch's colour over a black card."""
    over_white: Annotated[str, COLOUR, Key('"#3f8f96"')]
    """The same swatch's colour over a white card."""
    thickness_mm: Annotated[float, length(0.0, 20.0, above=True), Key("1 mm", default=1.0)]
    """How thick the swatch is."""
    glossy: Annotated[bool, Either("glossy", "sanded"), Key(name="surface")] = True
    """As it cured, looked at away from the mirror of the lamp; or sanded dull."""


def _strong(at: At) -> Sequence[Strong]:
    return tuple((each.pigment, each.share) for each in at.own["pigments"])


@dataclass(frozen=True, slots=True)
class Mix(Keyed):
    """One mix: resin, hardener, thinner, pigments.

    ``ratio_resin`` : ``ratio_hardener`` is what the job says will be measured (``by_weight`` or
    by volume); the resin's own ratio is on its record.  ``thinner_share`` is of the whole liquid
    by volume.  ``opacity`` is the share of the contrast beneath that 1 mm of the cured fill takes
    away, so a fill t mm thick shows ``(1 - opacity) ** t`` of it.  ``pinning`` is the share by
    which a scraped surface stays pinned to its edges.
    """

    name: str
    resin: Annotated[Resin, On("resins", "resin"), Key("coating epoxy")]
    """A resin of the shelf."""
    ratio_resin: Annotated[
        float, Proportion(), Key("100:45 by weight", name="ratio", otherwise=lambda _: None)
    ]
    """Resin to hardener as you will measure it; the resin's own where left out."""
    ratio_hardener: float
    by_weight: bool
    thinner: Annotated[Thinner | None, Group(Thinned), Key(optional=True)]
    """A thinner, if any."""
    thinner_share: float
    pigments: Annotated[
        tuple[MixPigment, ...],
        Items(Group(MixPigment, "name"), most=20, or_one=True),
        Key(default=()),
    ]
    """Pigments; none makes a clear mix."""
    colour: Annotated[str, COLOUR, Key('"#0b6a72"', otherwise=lambda at: mixed_colour(_strong(at)))]
    """The cured colour; from the pigments where left out."""
    opacity: Annotated[float, share(), Key("90 %", otherwise=lambda at: mixed_opacity(_strong(at)))]
    """How much of what lies beneath 1 mm of the fill hides; from the pigments where left out."""
    swatch: Annotated[MixSwatch | None, Key()] = field(default=None, kw_only=True)
    """A cured swatch; with it colour, hiding and what shows through are calculated."""
    bubbles: Annotated[
        str, OneOf(("left", "flame", "hot air", "vacuum", "pick")), Key(default="left")
    ]
    """What is done about bubbles."""
    heated_by: Annotated[str, OneOf(("nothing", "heat lamp", "warm box", "hot wood")), Key()] = (
        field(default="nothing", kw_only=True)
    )
    """What keeps it warm: a lamp or a box while it cures, or wood warmed before it is filled."""
    pinning: Annotated[float, share(), Key("80 %")] = field(default=1.0, kw_only=True)
    """How firmly a scraped surface hangs on its edges: 0 % drops flat, 100 % stays pinned; assumed
    until a scraped-slot test strip tells."""
    source: Source

    @property
    def clear(self) -> bool:
        """Whether nothing colours this mix."""
        return not self.pigments

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Hold a swatch and what is reckoned from it apart."""
        for key in ("colour", "opacity"):
            if key in given and "swatch" in given:
                yield (
                    key,
                    slip(
                        "keys-clash",
                        f"`{key}` is calculated from the `swatch`",
                        f"leave out `{key}`, or the swatch",
                    ),
                )

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Fill in the resin's own ratio; take the thinner's share out of its group."""
        resin, ratio, thinned = own["resin"], own["ratio_resin"], own["thinner"]
        own["by_weight"] = resin.by_weight
        if ratio is not None and ratio.basis:
            own["by_weight"] = ratio.basis == "weight"
        own["ratio_resin"] = ratio.first if ratio else resin.ratio_resin
        own["ratio_hardener"] = ratio.second if ratio else resin.ratio_hardener
        own["thinner"] = thinned and thinned.thinner
        own["thinner_share"] = thinned.share if thinned else 0.0

    @classmethod
    def shown(cls, record: Mix) -> Mapping[str, Any]:
        """Put ratio and thinner together; a swatch stands for colour and opacity."""
        parts = record.ratio_resin, record.ratio_hardener
        told: dict[str, Any] = {
            "ratio": Ratio(*parts, "weight" if record.by_weight else "volume"),
        }
        if record.thinner is not None:
            told["thinner"] = Thinned(thinner=record.thinner, share=record.thinner_share)
        if record.swatch is not None:
            told |= {"colour": OMIT, "opacity": OMIT}
        return told


def clear_mix(resin: Resin, source: Source) -> Mix:
    """Return the clear mix of a resin, for caps and fills that name none of the job's own."""
    return Mix(
        name=CLEAR,
        resin=resin,
        ratio_resin=resin.ratio_resin,
        ratio_hardener=resin.ratio_hardener,
        by_weight=resin.by_weight,
        thinner=None,
        thinner_share=0.0,
        pigments=(),
        colour=mixed_colour(()),
        opacity=0.0,
        bubbles="left",
        source=source,
    )


def implied_clear(at: At) -> Mix:
    """Return the mix that caps are poured with: the job's own clear one, or the plain resin's."""
    mixes: tuple[Mix, ...] = at.job["mixes"]
    own = sorted((each for each in mixes if each.clear), key=lambda each: each.name != CLEAR)
    if own:
        return own[0]
    resin = mixes[0].resin if mixes else at.shop.resins[0]
    return clear_mix(resin, at.reading.source(("mixes",)))


@dataclass(frozen=True)
class OfMix(On):
    """The name of one of the job's mixes; the clear one need not be written."""

    shelf: str = "mixes"
    what: str = "mix"

    def resolve(self, value: Any, at: At) -> Any:
        """Return the mix."""
        clear = implied_clear(at)
        if value == clear.name and value not in {each.name for each in at.job["mixes"]}:
            return clear
        return super().resolve(value, at)

    def items(self, at: At) -> Sequence[Any]:
        """Return the job's mixes."""
        return at.job["mixes"] or (implied_clear(at),)


@dataclass(frozen=True)
class OfColour(OfMix):
    """The name of a mix that has a colour."""

    what: str = "coloured mix"

    def resolve(self, value: Any, at: At) -> Any:
        """Return the mix; None where the job has none."""
        if not self.items(at):
            at.slip(
                "name-unknown",
                f"the job has no coloured mix, so there is none called '{value}' to match",
                "add it under `mixes`, with its pigments",
            )
            return None
        return On.resolve(self, value, at)

    def items(self, at: At) -> Sequence[Any]:
        """Return the coloured mixes."""
        return tuple(mix for mix in at.job["mixes"] if not (mix.clear and mix.swatch is None))
