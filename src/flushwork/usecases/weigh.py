"""Weighing that follows along: after what really went in, what comes next; and other amounts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from flushwork.built import Build
from flushwork.resin.composition import HARDENER, RESIN
from flushwork.resin.cup.batches import by_card
from flushwork.resin.cup.cards import after_resin_g, measure, mend, ratio_of
from flushwork.resin.pours import Part, Pour
from flushwork.shelf.items import ToolKind


@dataclass(frozen=True, slots=True)
class FollowView:
    """What the scale must read once the hardener is in, and what to add after it was overshot.

    ``kind`` is ``resin`` or ``hardener`` where something must be added, else empty.  Figures in g;
    ``step_g`` is the scale's.
    """

    target_g: float
    low_g: float
    high_g: float
    fine: bool
    step_g: float
    kind: str
    add_g: float
    over: float
    then_g: float


def weighable(pour: Pour) -> bool:
    """Whether both main parts of a pour go into one cup on one scale."""
    main = [part for part in pour.parts if part.kind in (RESIN, HARDENER)]
    tools = {part.tool for part in main}
    tool = next(iter(tools), None)
    return len(main) == 2 and len(tools) == 1 and tool is not None and tool.kind is ToolKind.SCALE


def beside_g(pour: Pour) -> float:
    """Return what the card puts into the cup besides resin and hardener."""
    return sum(part.mass_g for part in pour.parts if part.kind not in (RESIN, HARDENER))


def follow(pour: Pour, resin_g: float, extra_g: float, shown_g: float | None) -> FollowView:
    """Return what comes next after ``resin_g`` went in with ``extra_g`` of pigment and thinner.

    ``shown_g`` is what the scale shows with the hardener in, where it already is.  Raises
    ValueError where the pour is not weighed in one cup or nothing went in.
    """
    if not weighable(pour) or resin_g <= 0.0:
        raise ValueError("this pour is not weighed in one cup, or no resin is in it yet")
    scale = _part(pour, RESIN).tool
    step_g = scale.step if scale is not None else 0.1
    ratio = ratio_of(pour.mix)
    want = after_resin_g(resin_g, ratio, step_g, extra_g)
    kind, add_g, over = "", 0.0, 0.0
    then_g = shown_g if shown_g is not None else want.target_g
    if shown_g is not None:
        hardener_g = shown_g - resin_g - extra_g
        if hardener_g <= 0.0:
            raise ValueError("the scale shows no more than before the hardener")
        mended = mend(resin_g, hardener_g, ratio)
        kind, add_g, over = mended.kind, mended.add_g, mended.over
        then_g = shown_g + add_g
    return FollowView(
        want.target_g, want.low_g, want.high_g, want.fine, step_g, kind, add_g, over, then_g
    )


def for_pieces(made: Build, pour: Pour, pieces: int) -> Pour:
    """Return the card of a pour for another number of pieces; the cup keeps as much as before.

    Raises ValueError where that is more than the tools measure, or than one cup may hold, at once.
    """
    needed_cm3 = pour.needed_cm3 / pour.pieces * pieces
    card = _measured(made, pour, pieces, needed_cm3, needed_cm3 + pour.allowance_cm3)
    if not math.isfinite(card.ratio_error):
        raise ValueError("no tool in the shop file measures so much, or this mix, at once")
    if card.batch_g > card.cup_limit_g:
        most = f"{math.floor(card.cup_limit_g)} g"
        raise ValueError(f"that is {card.batch_g:.0f} g, and {most} is the most in one cup")
    return card


def with_hardener(made: Build, pour: Pour, hardener_g: float) -> Pour:
    """Return the card of a pour that takes no more than ``hardener_g`` of hardener.

    It serves as many whole pieces as it fills.  Raises ValueError where that is none.
    """
    share = hardener_g / _part(pour, HARDENER).mass_g
    per_piece_cm3 = pour.needed_cm3 / pour.pieces
    # the next mark of a tool may ask for a little more than the share, so go down piece by piece
    most = math.floor((pour.batch_cm3 * share - pour.allowance_cm3) / per_piece_cm3 + 1e-9)
    for pieces in range(min(most, pour.pieces), 0, -1):
        card = for_pieces(made, pour, pieces)
        if _part(card, HARDENER).mass_g <= hardener_g + 1e-9:
            return card
    raise ValueError("that is not enough hardener for one piece")


def _measured(made: Build, pour: Pour, pieces: int, needed_cm3: float, wanted_cm3: float) -> Pour:
    card = measure(pour.mix, wanted_cm3, made.job.shop.tools, made.job.shop.cup_g)
    return by_card(
        pour,
        card,
        card.mass_g * (1.0 - wanted_cm3 / card.volume_cm3),
        pieces=pieces,
        needed_cm3=needed_cm3,
        shares_clear_with=(),
        clear_parts=(),
        out_of=0,
        also_fills=(),
        also_cm3=0.0,
    )


def _part(pour: Pour, kind: str) -> Part:
    found = next((part for part in pour.parts if part.kind == kind), None)
    if found is None:
        raise ValueError(f"this pour has no {kind} of its own")
    return found
