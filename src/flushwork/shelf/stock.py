"""What is on hand in a shop, as far as its file tells."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from flushwork.findings import Source


class StockKind(StrEnum):
    """What can be counted or weighed on a shelf."""

    RESIN = "resin"
    HARDENER = "hardener"
    PIGMENT = "pigment"
    THINNER = "thinner"
    SEALER = "sealer"
    FINISH = "finish"
    CUTTER = "cutters"
    TIMBER = "timber"


GRAMS: Final = "g"
CM3: Final = "cm3"
PIECES: Final = ""
"""The unit of what is counted."""


@dataclass(frozen=True, slots=True)
class OnHand:
    """So much of one thing is there: ``amount`` in ``unit`` (g, cm3, or nothing for a number).

    ``name`` is the thing's name on the shelf; resin and hardener both go by the resin's.
    """

    kind: StockKind
    name: str
    amount: float
    unit: str
    source: Source
