"""From the keys of dowels, discs and clamps to their records."""

from __future__ import annotations

import math
from collections.abc import Sequence

from flushwork.job.waste_keys import SIDES, KeepOutKeys, LocatingKeys
from flushwork.shelf.items import KeepOut, Locating


def locating(keys: LocatingKeys) -> Locating:
    """Return what the blank is located by."""
    return Locating(
        by=keys.by,
        diameter_mm=keys.diameter,
        board_mm=keys.into_spoilboard,
        blank_mm=0.0 if math.isinf(keys.into_blank) else keys.into_blank,
        play_mm=keys.play,
        cutter=keys.cutter or "",
    )


def keep_outs(keys: Sequence[KeepOutKeys]) -> tuple[KeepOut, ...]:
    """Return the areas that no cutter may come into."""
    return tuple(
        KeepOut(
            name=each.name,
            anchor=each.from_,
            x_mm=each.at[0],
            y_mm=each.at[1],
            wide_mm=each.size[0],
            deep_mm=each.size[1],
            height_mm=each.height,
            face="" if each.face == SIDES[0] else each.face,
            mountings=tuple(each.mountings),
        )
        for each in keys
    )
