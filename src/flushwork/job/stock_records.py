"""From the keys about what is on hand to its records."""

from __future__ import annotations

from flushwork.job.reading import Reading
from flushwork.job.stock_keys import StockKeys
from flushwork.shelf.items import Shop
from flushwork.shelf.stock import PIECES, OnHand, StockKind

KEY = "on hand"


def stock(keys: StockKeys | None, shop: Shop, reading: Reading) -> tuple[OnHand, ...]:
    """Return what is on hand; a name that is not on the shop's shelf is a slip."""
    if keys is None:
        return ()
    found: list[OnHand] = []
    for kind, shelf, what in (
        (StockKind.RESIN, shop.resins, "resin"),
        (StockKind.HARDENER, shop.resins, "resin"),
        (StockKind.PIGMENT, shop.pigments, "pigment"),
        (StockKind.THINNER, shop.thinners, "thinner"),
        (StockKind.SEALER, shop.sealers, "sealer"),
        (StockKind.FINISH, shop.finishes, "finish"),
        (StockKind.CUTTER, shop.cutters, "cutter"),
        (StockKind.TIMBER, shop.timbers, "timber"),
    ):
        for name, left in getattr(keys, kind.value).items():
            path = (KEY, kind.value, name)
            if not shelf:
                reading.slip(
                    "name-unknown",
                    f"there is no {what} called '{name}'",
                    f"the shop has none; take '{name}' out, or add it to the shop's list",
                    path,
                )
                continue
            thing = reading.find(shelf, name, what, path)
            amount, unit = left if isinstance(left, tuple) else (float(left), PIECES)
            found.append(OnHand(kind, thing.name, amount, unit, reading.source(path)))
    return tuple(found)
