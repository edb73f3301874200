"""Two pours of one colour out of one cup, where neither alone can be measured."""

from __future__ import annotations

import math
from dataclasses import replace

from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cup.batches import cups_for, stays_g
from flushwork.resin.cup.cards import measure
from flushwork.resin.pot_life import MIXING_S, pot_life_s
from flushwork.resin.pours import Pour
from flushwork.shelf.items import Shop


def too_small(pour: Pour) -> bool:
    """Whether a pour wants less than the tools can measure."""
    wanted_g = pour.batch_g - pour.surplus_g
    return wanted_g < pour.smallest_g < math.inf and not pour.shares_clear_with


def in_one_cup(first: Pour, second: Pour, shop: Shop) -> tuple[Pour, Pour] | None:
    """Return two pours of one mix made of one batch, the first of them measured.

    The second takes what it needs out of the first one's cup; its own cup and what would stay in it
    are saved.  None where they are no such pair, nothing is saved, or the cup would gel before the
    second is poured, or be more than one cup may hold.
    """
    if first.mix != second.mix or first.out_of or second.out_of:
        return None
    if first.shares_clear_with or second.shares_clear_with:
        return None
    density = mix_density_g_cm3(first.mix)
    walls_cm3 = max(0.0, second.allowance_cm3 - stays_g(second.cups, shop.cup_loss_g) / density)
    also_cm3 = first.also_cm3 + second.needed_cm3 + walls_cm3
    cups = cups_for((first.needed_cm3 + also_cm3) * density)
    more_g = stays_g(cups, shop.cup_loss_g) - stays_g(first.cups, shop.cup_loss_g)
    allowance_cm3 = first.allowance_cm3 + more_g / density
    wanted_cm3 = first.needed_cm3 + allowance_cm3 + also_cm3
    card = measure(first.mix, wanted_cm3, shop.tools, shop.cup_g)
    life_s = pot_life_s(first.mix.resin, shop.air.day_c, card.mass_g)
    fill_s = second.working_s - MIXING_S
    if not math.isfinite(card.ratio_error) or first.working_s + fill_s > life_s:
        return None
    if card.mass_g > first.cup_limit_g:
        return None
    if first.batch_g + second.batch_g - card.mass_g < shop.cup_loss_g:
        return None
    numbers = (*first.also_fills, second.number)
    one = replace(
        first,
        allowance_cm3=allowance_cm3,
        batch_cm3=card.volume_cm3,
        batch_g=card.mass_g,
        parts=card.parts,
        ratio_error=card.ratio_error,
        smallest_g=card.smallest_g,
        surplus_g=max(0.0, card.mass_g - wanted_cm3 * density),
        pot_life_s=life_s,
        also_fills=numbers,
        also_cm3=also_cm3,
        cups=cups,
    )
    two = replace(
        second,
        allowance_cm3=walls_cm3,
        batch_cm3=0.0,
        batch_g=0.0,
        parts=(),
        ratio_error=card.ratio_error,
        smallest_g=card.smallest_g,
        surplus_g=0.0,
        pot_life_s=life_s,
        working_s=fill_s,
        out_of=first.number,
    )
    return one, two
