"""How each kind of work is done, told once: what to lay out, what to do, what is good, what if not.

The cards stand in ``stage_cards.toml``, common practice, no source, in our own words.  What differs
from stage to stage (``differs``) stands beside the stage; names in braces are filled from the job
(see ``stage_views``).
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import Any, Final

from flushwork.process.stages import StageKind


@dataclass(frozen=True, slots=True)
class Card:
    """How one kind of work is done: sentences; ``steps`` in order, ``lay_out`` a list of tools."""

    name: str
    steps: tuple[str, ...]
    good: str
    if_not: str
    lay_out: str = ""
    differs: str = ""


_TOLD: Final[Mapping[str, Mapping[str, Any]]] = tomllib.loads(
    (files("flushwork.views") / "stage_cards.toml").read_text("utf-8")
)


def _card(name: str) -> Card:
    told = _TOLD[name]
    return Card(**{**told, "steps": tuple(told["steps"])})


CARDS: Final[dict[StageKind, Card]] = {
    StageKind[name.upper()]: _card(name) for name in _TOLD if name.upper() in StageKind.__members__
}
CARDS[StageKind.BOX_FIT] = CARDS[StageKind.BOX_SAW]
"""The cards, by the kind of stage; a box is sawn and fitted by one."""

CUT_AGAIN: Final = _card("cut_again")
"""A cut beside or into what was filled before."""

SEAL_AGAIN: Final = replace(
    CARDS[StageKind.SEAL],
    differs=f"{CARDS[StageKind.SEAL].differs}; brush {{beside}} of bare wood around too",
)
"""Walls sealed in a face that has been sanded since it was sealed."""

FLUSH: Final = _card("flush")
"""A flush milling that mills the whole face, wood and resin flush."""

SAND_BARE: Final = _card("sand_bare")
"""A face without inlay, brought to the same paper as the other."""

SETTING: Final = _card("setting")
"""A wait until the next pour."""
