"""The packaged starter shop: what a job gets that names no shop of its own."""

from __future__ import annotations

from typing import Final

from flushwork.shelf import tables
from flushwork.shelf.items import Air, Shop

CUP_LOSS_G: Final = 1.5
"""Mixed resin left on cup and stick: assumed, 1 to 2 g; replace with a weighed cup."""

AIR: Final = Air(day_c=20.0, night_c=16.0, day_from_h=8.0, day_until_h=18.0, humidity=0.45)
"""A heated small shop in the cold half of the year: assumed, replace with a logged week."""

OPENS_H: Final = 8.0
CLOSES_H: Final = 18.0
DAYS: Final = (0, 1, 2, 3, 4)
"""Working hours and days (Monday is 0): assumed, replace with your own."""


def starter_shop() -> Shop:
    """Return the starter shop, every record from the packaged tables."""
    return Shop(
        name="starter shop",
        machine=tables.machine(),
        holdings=tables.holdings(),
        bits=tables.bits(),
        woods=tables.woods(),
        resins=tables.resins(),
        thinners=tables.thinners(),
        pigments=tables.pigments(),
        tools=tables.tools(),
        sealers=tables.sealers(),
        finishes=tables.finishes(),
        air=AIR,
        opens_h=OPENS_H,
        closes_h=CLOSES_H,
        days=DAYS,
        cup_loss_g=CUP_LOSS_G,
    )
