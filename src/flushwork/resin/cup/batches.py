"""From the liquid the replay asks for to the batches that are really mixed.

What a batch leaves behind: in one cup or in two, and what is kept back of it on purpose.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any, Final

from flushwork.job.records import Mix
from flushwork.resin.before_gel import MIXING_S, fill_time_s, pot_life_s
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.cup.cards import MeasuredBatch, measure
from flushwork.resin.cup.heat import cup_limit_g
from flushwork.resin.cup.sharing import Shared, share_clear
from flushwork.resin.pours import Pour, PourRequest, Served
from flushwork.resin.recess import BARE_WALL_UPTAKE_MM
from flushwork.shelf.items import Shop

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


_MOST_BATCHES = 200

WORTH_G = 10.0
WORTH_SHARE = 0.2
"""One more batch is mixed where it saves so much resin, in g and as a share (assumed, 5 to 20 g and
0.1 to 0.3: another batch is ten minutes of work and two cups)."""


@dataclass(frozen=True, slots=True)
class Batch:
    """One batch still without a number: what it serves, what it must yield, how long it takes."""

    stage: int
    session: int
    mix: Mix
    pieces: int
    serves: tuple[Served, ...]
    needed_cm3: float
    allowance_cm3: float
    fill_s: float
    first: int = 0
    cups: int = 1

    @property
    def wanted_cm3(self) -> float:
        """What has to be mixed at the least."""
        return self.needed_cm3 + self.allowance_cm3


def gathered(requests: Sequence[PourRequest]) -> list[PourRequest]:
    """Return the requests with those of one session, mix and run of pieces joined into one."""
    joined: dict[tuple[int, str, int, int], PourRequest] = {}
    for request in requests:
        key = (request.gathers_with, request.mix.name, request.first, request.pieces)
        first = joined.get(key)
        joined[key] = (
            request
            if first is None
            else replace(
                first,
                serves=first.serves + request.serves,
                fill_s=first.fill_s + request.fill_s,
            )
        )
    return list(joined.values())


def allowance_cm3(request: PourRequest, pieces: float, stays: float) -> float:
    """Return what fills nothing, ``stays`` g of it, and what bare walls of some pieces drink."""
    density = mix_density_g_cm3(request.mix)
    walls_mm2 = sum(each.walls_mm2 for each in request.serves)
    return stays / density + pieces * walls_mm2 * BARE_WALL_UPTAKE_MM / 1000.0


def split_pieces(pieces: int, batches: int) -> list[int]:
    """Return how many pieces each batch serves, as evenly as may be: 20 in 3 is 7, 7, 6."""
    each, more = divmod(pieces, batches)
    return [each + 1] * more + [each] * (batches - more)


def split(request: PourRequest, batches: int, cup_loss_g: float) -> list[Batch]:
    """Return a request as so many batches.

    Whole pieces go to a batch; with more batches than pieces each takes an equal share of all.
    """
    if batches <= request.pieces:
        counts = split_pieces(request.pieces, batches)
        firsts = [request.first + sum(counts[:place]) for place in range(batches)]
        shares = [count / request.pieces for count in counts]
    else:
        counts = [request.pieces] * batches
        firsts = [request.first] * batches
        shares = [1.0 / batches] * batches
    fill_s = request.pieces * (request.fill_s or fill_time_s(request.serves))
    needed_g = request.needed_cm3 * mix_density_g_cm3(request.mix)
    cups = [cups_for(needed_g * share) for share in shares]
    return [
        Batch(
            stage=request.stage,
            session=request.gathers_with,
            mix=request.mix,
            pieces=count,
            serves=request.serves,
            needed_cm3=request.needed_cm3 * share,
            allowance_cm3=allowance_cm3(
                request, request.pieces * share, stays_g(cup_count, cup_loss_g)
            ),
            fill_s=fill_s * share,
            first=first,
            cups=cup_count,
        )
        for count, share, first, cup_count in zip(counts, shares, firsts, cups, strict=True)
    ]


def limit_g(mix: Mix, shop: Shop) -> float:
    """Return the most of a mix that may be in one cup in the shop's warm hours, in g."""
    return cup_limit_g(mix.resin, shop.air.day_c, mix_density_g_cm3(mix))


def batches_for(request: PourRequest, shop: Shop) -> list[Batch]:
    """Return the fewest batches that the tools and one cup can hold, poured within the pot life.

    Where no number of them is poured in time, the fewest that tools and cup hold; where none is
    small enough for one cup, the fewest that the tools hold.  One or two more are mixed where the
    marks of the tools would else ask for much more than is wanted.
    """
    most_g = limit_g(request.mix, shop)
    density = mix_density_g_cm3(request.mix)
    measurable = cool = 0
    for count in range(1, _MOST_BATCHES):
        batch = split(request, count, shop.cup_loss_g)[0]
        measured = measure(request.mix, batch.wanted_cm3, shop.tools, shop.cup_g)
        if math.isfinite(measured.ratio_error):
            measurable = measurable or count
            if measured.mass_g > most_g:
                if batch.wanted_cm3 * density <= most_g:
                    break  # only the tools ask for so much: smaller shares change nothing
                continue
            cool = cool or count
            life_s = pot_life_s(request.mix.resin, shop.air.day_c, measured.mass_g)
            if MIXING_S + batch.fill_s <= life_s:
                return _least_wasted(request, count, shop)
        elif count == 1 and not _measurable(request.mix, shop):
            break
    return split(request, cool or measurable or 1, shop.cup_loss_g)


def _least_wasted(request: PourRequest, count: int, shop: Shop) -> list[Batch]:
    """Return so many batches, or one or two more where they save enough to be mixed for."""
    best = split(request, count, shop.cup_loss_g)
    least_g = _mixed_g(best, shop)
    for more in (1, 2):
        batches = split(request, count + more, shop.cup_loss_g)
        mass_g = _mixed_g(batches, shop)
        if least_g - mass_g > max(WORTH_G * (len(batches) - len(best)), WORTH_SHARE * least_g):
            best, least_g = batches, mass_g
    return best


def _mixed_g(batches: Sequence[Batch], shop: Shop) -> float:
    cards = [measure(each.mix, each.wanted_cm3, shop.tools, shop.cup_g) for each in batches]
    if not all(math.isfinite(card.ratio_error) for card in cards):
        return math.inf
    return sum(card.mass_g for card in cards)


def _measurable(mix: Mix, shop: Shop) -> bool:
    return math.isfinite(measure(mix, 0.001, shop.tools, shop.cup_g).ratio_error)


def _pour(number: int, batch: Batch, measured: MeasuredBatch, shop: Shop) -> Pour:
    density = mix_density_g_cm3(batch.mix)
    wanted_g = batch.wanted_cm3 * density
    return Pour(
        number=number,
        stage=batch.stage,
        mix=batch.mix,
        pieces=batch.pieces,
        serves=batch.serves,
        needed_cm3=batch.needed_cm3,
        allowance_cm3=batch.allowance_cm3,
        batch_cm3=measured.volume_cm3,
        batch_g=measured.mass_g,
        parts=measured.parts,
        ratio_error=measured.ratio_error,
        smallest_g=measured.smallest_g,
        surplus_g=max(0.0, measured.mass_g - wanted_g),
        pot_life_s=pot_life_s(batch.mix.resin, shop.air.day_c, measured.mass_g),
        working_s=MIXING_S + batch.fill_s,
        cup_limit_g=limit_g(batch.mix, shop),
        first=batch.first,
        cups=batch.cups,
    )


def by_card(pour: Pour, card: MeasuredBatch, surplus_g: float, **more: Any) -> Pour:
    """Return a pour that is mixed by another card; ``more`` are the fields that change besides."""
    return replace(
        pour,
        batch_cm3=card.volume_cm3,
        batch_g=card.mass_g,
        parts=card.parts,
        ratio_error=card.ratio_error,
        smallest_g=card.smallest_g,
        surplus_g=max(0.0, surplus_g),
        **more,
    )


def _wanted_g(pour: Pour) -> float:
    wanted_cm3 = pour.needed_cm3 + pour.allowance_cm3
    return wanted_cm3 * mix_density_g_cm3(pour.mix)


def _with_shared(pours: Sequence[Pour], shared: Shared, life_s: float) -> list[Pour]:
    numbers = tuple(pour.number for pour in pours)
    return [
        by_card(
            pour,
            own,
            own.mass_g - _wanted_g(pour),
            shares_clear_with=tuple(n for n in numbers if n != pour.number),
            clear_parts=shared.clear.parts,
            pot_life_s=life_s,
            working_s=_together_s(pours),
        )
        for pour, own in zip(pours, shared.colours, strict=True)
    ]


def _together_s(pours: Sequence[Pour]) -> float:
    # the clear is mixed once, and its clock runs for every colour made of it
    return MIXING_S + sum(pour.working_s - MIXING_S for pour in pours)


def _too_small(pour: Pour) -> bool:
    return _wanted_g(pour) < pour.smallest_g < math.inf


def share_where_useful(pours: Sequence[Pour], shop: Shop) -> list[Pour]:
    """Return the pours with batches too small to measure coloured out of a common clear batch.

    Those of one resin and ratio are taken together, one alone with the next smallest pour.  It is
    done only where it saves more than a cup loses, no cup holds more than it may, and all colours
    are poured within the common pot life.
    """
    done = {pour.number: pour for pour in pours}
    groups: dict[tuple[str, float, float, bool], list[Pour]] = {}
    for pour in pours:
        mix = pour.mix
        key = (mix.resin.name, mix.ratio_resin, mix.ratio_hardener, mix.by_weight)
        groups.setdefault(key, []).append(pour)
    for group in groups.values():
        small = sum(1 for pour in group if _too_small(pour))
        if small == 0 or len(group) < 2:
            continue
        by_size = sorted(group, key=lambda pour: (not _too_small(pour), pour.batch_g))
        members = sorted(by_size[: max(2, small)], key=lambda pour: pour.number)
        shared = share_clear(
            [(pour.mix, pour.needed_cm3 + pour.allowance_cm3) for pour in members],
            shop.tools,
            shop.cup_g,
        )
        if shared is None or max(shared.clear.mass_g, *(c.mass_g for c in shared.colours)) > min(
            pour.cup_limit_g for pour in members
        ):
            continue
        life_s = pot_life_s(members[0].mix.resin, shop.air.day_c, shared.clear.mass_g)
        saved_g = sum(pour.batch_g for pour in members) - shared.mass_g
        if saved_g > shop.cup_loss_g and _together_s(members) <= life_s:
            shares = _with_shared(members, shared, life_s)
            done.update((pour.number, pour) for pour in shares)
    return list(done.values())


def plan_pours(requests: Sequence[PourRequest], shop: Shop) -> tuple[Pour, ...]:
    """Return the batches to mix for all requests, in order, numbered from 1.

    Each batch holds the replayed liquid of its pieces and the stated allowances, never less than
    the tools can measure within the resin's tolerance; what that leaves over is its surplus.  Where
    no tool holds the ratio, a pour's ``ratio_error`` and ``smallest_g`` are infinite.
    """
    batches = [
        batch
        for request in gathered(requests)
        if request.needed_cm3 > 0.0
        for batch in batches_for(request, shop)
    ]
    pours = [
        (
            batch.session,
            _pour(
                number, batch, measure(batch.mix, batch.wanted_cm3, shop.tools, shop.cup_g), shop
            ),
        )
        for number, batch in enumerate(batches, start=1)
    ]
    by_session = sorted(pours, key=lambda item: item[0])
    done = [
        pour
        for _, group in groupby(by_session, key=lambda item: item[0])
        for pour in share_where_useful([pour for _, pour in group], shop)
    ]
    return tuple(sorted(done, key=lambda pour: pour.number))


# ---- Two pours of one colour out of one cup, where neither alone can be measured


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
    one = by_card(
        first,
        card,
        card.mass_g - wanted_cm3 * density,
        allowance_cm3=allowance_cm3,
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


__all__ = ["PourRequest", "plan_pours"]
