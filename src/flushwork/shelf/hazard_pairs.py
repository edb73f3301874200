"""What comes of a hazard near heat or a spark: every pair decided once, with its reason.

The rows stand in ``tables/hazard_pairs.csv``: common practice, no source, unless a reason says
otherwise.  Where a row asks for a warning, ``line`` names the sentence that stands on the card.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from itertools import product

from flushwork.shelf.hazards import Hazard


class HazardState(StrEnum):
    """How a thing is at a moment: just put on, dry but still giving off, hard, or a dry powder."""

    WET = "wet"
    FRESH = "fresh"
    CURED = "cured"
    DRY = "dry powder"


class Heat(StrEnum):
    """What heat or spark a step may bring."""

    FLAME = "flame"
    HOT_AIR = "hot air"
    LAMP = "heat lamp"
    WARM_BOX = "warm box"
    HOT_WOOD = "hot wood"
    SPINDLE = "spindle"
    SANDING = "sanding"
    MOTOR = "motor"
    HEAP = "left in a heap"


CHOSEN = (Heat.FLAME, Heat.HOT_AIR, Heat.LAMP, Heat.WARM_BOX, Heat.HOT_WOOD)
"""Heat that a job asks for; the rest comes with the step."""


class Verdict(StrEnum):
    """What comes of a pair."""

    MUST_FIX = "must fix"
    WARNING = "warning"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class HazardPair:
    """One hazard in one state near one heat: what comes of it, and why."""

    hazard: Hazard
    state: HazardState
    heat: Heat
    verdict: Verdict
    line: str
    reason: str


def _rows() -> tuple[HazardPair, ...]:
    text = (files("flushwork.shelf") / "tables" / "hazard_pairs.csv").read_text("utf-8")
    return tuple(
        HazardPair(
            Hazard(hazard), HazardState(state), Heat(heat), Verdict(row["verdict"]), row["line"],
            row["reason"],
        )
        for row in csv.DictReader(text.splitlines())
        for hazard, state, heat in product(
            row["hazards"].split(";"), row["states"].split(";"), row["heats"].split(";")
        )
    )  # fmt: skip


@cache
def pairs() -> dict[tuple[Hazard, HazardState, Heat], HazardPair]:
    """Return what is decided of each pair.

    Raises ValueError where one is decided twice or not at all.
    """
    rows = _rows()
    found = {(row.hazard, row.state, row.heat): row for row in rows}
    wanted = len(Hazard) * len(HazardState) * len(Heat)
    if not len(found) == len(rows) == wanted:
        raise ValueError(f"{len(rows)} pairs are decided, {len(found)} apart, of {wanted}")
    return found


def pair(hazard: Hazard, state: HazardState, heat: Heat) -> HazardPair:
    """Return what is decided of a pair."""
    return pairs()[hazard, state, heat]
