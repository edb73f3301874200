"""What is on hand beside what this job takes of it: in words, and as a small bar."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from flushwork.built import Build
from flushwork.shelf.working import OnHand, StockKind
from flushwork.usecases.bits_and_stock import LEAST_G, Need, Thing, taken, told

LONG: Final = 100.0
"""How long a bar is, in its own measure."""
COATED: Final = (StockKind.SEALER, StockKind.FINISH)
"""What wood drinks: no more than about so much of it is known beforehand."""


@dataclass(frozen=True, slots=True)
class StockView:
    """What is left of one thing: words, and the two lengths of its bar, the longer one ``LONG``.

    ``takes`` is 0 where this job takes nothing of it, or nobody calculates how much.
    """

    words: str
    there: float
    takes: float
    short: bool


def stock_views(made: Build) -> Mapping[Thing, StockView]:
    """Return what the shop file says is on hand, by kind and name."""
    on_hand = made.job.shop.on_hand
    if not on_hand:
        return {}
    wanted = taken(made)
    return {
        (each.kind, each.name): _view(each, wanted.get((each.kind, each.name))) for each in on_hand
    }


def _view(each: OnHand, need: Need | None) -> StockView:
    what = {StockKind.RESIN: "resin, ", StockKind.HARDENER: "hardener, "}.get(each.kind, "")
    words = f"{what}{told(each.amount, each.unit)} on hand"
    if need is None:
        return StockView(_capital(words), LONG, 0.0, short=False)
    if each.kind is StockKind.BIT:
        return _worn(each, need, words)
    takes = need.amount(each.unit)
    left = each.amount - takes
    short = left < -(LEAST_G if each.unit else 0.0)
    rest = f"{told(-left, each.unit, up=True)} short" if short else f"{told(left, each.unit)} left"
    most = max(each.amount, takes, 1e-9)
    about = "about " if each.kind in COATED else ""
    return StockView(
        _capital(f"{words}; this job takes {about}{told(takes, each.unit, up=True)}: {rest}"),
        LONG * each.amount / most,
        LONG * takes / most,
        short=short,
    )


def _worn(each: OnHand, need: Need, words: str) -> StockView:
    """Return what becomes of bits: how many get dull, and how far the last one is worn."""
    dull, part = int(need.worn), need.worn - int(need.worn)
    short = need.number > each.amount
    rest = f"{need.number - each.amount:.0f} short" if short else f"{each.amount - dull:.0f} left"
    wears = f"{max(100.0 * part, 0.1):.1f}".removesuffix(".0") + " % of one's life"
    if dull:
        wears = f"{dull} of them" + (f" and {wears}" if part > 0.0 else "")
    most = max(each.amount, need.worn, 1e-9)
    return StockView(
        _capital(f"{words}; this job wears out {wears}: {rest}")
        if dull
        else _capital(f"{words}; this job takes {wears}: {rest}"),
        LONG * each.amount / most,
        LONG * need.worn / most,
        short=short,
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
