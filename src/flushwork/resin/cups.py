"""What a batch leaves behind: in one cup or in two, and what is kept back of it on purpose."""

from __future__ import annotations

from typing import Final

SECOND_CUP_G: Final = 20.0
"""A batch that fills less is stirred in one cup; from here on it is poured over into a second one,
so that nothing unmixed from the wall of the first gets into the work (the second cup is common
practice, no source; the size is assumed, 10 to 40 g: below it the second cup takes more than a
tenth of the batch)."""

KEPT_G: Final = 1.0
"""What every batch leaves for the nail test and for topping up a burst bubble (assumed, 0.5 to
3 g; a swatch of the same mix replaces it)."""


def cups_for(needed_g: float) -> int:
    """Return how many cups a batch goes through that fills so much."""
    return 2 if needed_g >= SECOND_CUP_G else 1


def stays_g(cups: int, cup_loss_g: float) -> float:
    """Return what of a batch fills nothing: each cup keeps its film, and a little is kept back."""
    return cups * cup_loss_g + KEPT_G
