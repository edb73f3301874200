"""From the keys about how the shop works to its records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from flushwork.job.reading import Named, Reading
from flushwork.job.working_keys import HandTimesKeys, PricesKeys
from flushwork.shelf.items import Shop
from flushwork.shelf.working import CutterPrice, HandTimes, Prices

MINUTE_S, HOUR_S, MM2_PER_DM2 = 60.0, 3600.0, 10_000.0


def hand_times(keys: HandTimesKeys | None) -> HandTimes:
    """Return the shop's own hand times over the assumed ones."""
    if keys is None:
        return HandTimes()
    stated: dict[str, Any] = {
        f"{name}_min": round(seconds / MINUTE_S)
        for name, seconds in keys
        if seconds is not None and name != "timed_on"
    }
    if keys.timed_on is not None:
        stated["timed_dm2"] = keys.timed_on[0] * keys.timed_on[1] / MM2_PER_DM2
    return replace(HandTimes(), **stated)


def prices(keys: PricesKeys | None, shop: Shop, reading: Reading) -> Prices | None:
    """Return the prices; a name that is not on the shop's shelf is a slip."""
    if keys is None:
        return None
    for what, given, shelf in (
        ("timber", keys.timber, shop.timbers),
        ("resin", keys.resin, shop.resins),
        ("pigment", keys.pigment, shop.pigments),
        ("thinner", keys.thinner, shop.thinners),
        ("cutters", keys.cutters, shop.cutters),
    ):
        _known(what, given, shelf, reading)
    wanted = keys.hour_of_work if keys.wanted_per_hour is None else keys.wanted_per_hour
    return Prices(
        currency=keys.currency,
        hands_h=keys.hour_of_work,
        wanted_h=wanted,
        machine_h=keys.hour_of_machine,
        sundries=keys.sundries,
        timber_dm3=_pairs(keys.timber),
        resin_kg=_pairs(keys.resin),
        pigment_kg=_pairs(keys.pigment),
        thinner_l=_pairs(keys.thinner),
        cutters=tuple(
            CutterPrice(name, each.price, each.life / HOUR_S) for name, each in keys.cutters.items()
        ),
    )


def _known(
    what: str, given: Mapping[str, object], shelf: Sequence[Named], reading: Reading
) -> None:
    for name in given:
        reading.find(shelf, name, what.removesuffix("s"), ("prices", what, name))


def _pairs(given: Mapping[str, Decimal]) -> tuple[tuple[str, Decimal], ...]:
    return tuple(given.items())
