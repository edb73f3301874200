"""From the keys of mixes to their records, the implied clear one among them."""

from __future__ import annotations

from typing import Final

from flushwork.findings import Source
from flushwork.job.job_keys import MixKeys
from flushwork.job.located import Path_
from flushwork.job.reading import Reading
from flushwork.job.records import Mix, MixPigment, MixSwatch
from flushwork.job.tint import mixed_colour, mixed_opacity
from flushwork.shelf.items import Pigment, Resin, Shop

CLEAR: Final = "clear"


def _pigments(
    keys: MixKeys, reading: Reading, shop: Shop, path: Path_
) -> tuple[tuple[Pigment, float], ...]:
    found = []
    for index, each in enumerate(keys.pigments):
        where = (*path, "pigments", index, "name")
        pigment = reading.find(shop.pigments, each.name, "pigment", where)
        middle = round((pigment.share_low + pigment.share_high) / 2, 6)
        found.append((pigment, middle if each.share is None else each.share))
    return tuple(found)


def mix(name: str, keys: MixKeys, reading: Reading, shop: Shop) -> Mix:
    """Return one mix with its names resolved."""
    path: Path_ = ("mixes", name)
    resin = reading.find(shop.resins, keys.resin, "resin", (*path, "resin"))
    thinner = None
    if keys.thinner is not None:
        where = (*path, "thinner", "name")
        thinner = reading.find(shop.thinners, keys.thinner.name, "thinner", where)
    pigments = _pigments(keys, reading, shop, path)
    by_weight = resin.by_weight
    if keys.ratio is not None and keys.ratio.basis:
        by_weight = keys.ratio.basis == "weight"
    return Mix(
        name=name,
        resin=resin,
        ratio_resin=keys.ratio.first if keys.ratio else resin.ratio_resin,
        ratio_hardener=keys.ratio.second if keys.ratio else resin.ratio_hardener,
        by_weight=by_weight,
        thinner=thinner,
        thinner_share=keys.thinner.share if keys.thinner else 0.0,
        pigments=tuple(MixPigment(pigment, share) for pigment, share in pigments),
        colour=keys.colour or mixed_colour(pigments),
        opacity=mixed_opacity(pigments) if keys.opacity is None else keys.opacity,
        bubbles=keys.bubbles,
        source=reading.source(path),
        swatch=MixSwatch(
            keys.swatch.over_black,
            keys.swatch.over_white,
            keys.swatch.thickness,
            keys.swatch.surface == "glossy",
        )
        if keys.swatch is not None
        else None,
        pinning=keys.pinning,
        heated_by=keys.heated_by,
    )


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
