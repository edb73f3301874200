"""The cutters of each round of cutting, what each buys, one cutter alone beside them."""

from __future__ import annotations

from collections.abc import Iterable
from math import isinf

from flushwork.fit.sets import Buy, CutterSet

HEAD = ("cutter", "serves", "buys")


def minutes(seconds: float) -> str:
    """Return a time in minutes."""
    return f"{seconds / 60.0:.1f} min"


def buys(found: CutterSet, buy: Buy) -> str:
    """Return in words what a cutter of a set buys."""
    if buy.asked:
        return "asked for by others, so it costs no change"
    if isinf(buy.without_s):
        return "detail that no other set of your cutters makes"
    saved_s = buy.without_s - found.total_s
    if saved_s < 1.0:
        return "nothing against the next best set"
    return f"about {minutes(saved_s)}, its change counted"


def rows(found: CutterSet) -> tuple[tuple[str, str, str], ...]:
    """Return a row for each cutter of a set, widest first."""
    return tuple((buy.cutter.name, ", ".join(buy.serves), buys(found, buy)) for buy in found.buys)


def against_one(found: CutterSet) -> str:
    """Return a set's total beside that of the best single cutter, in one sentence."""
    total = f"About {minutes(found.total_s)} for the pockets, changes counted"
    if found.single is None:
        return f"{total}; no single cutter makes them all."
    if found.cutters == (found.single,):
        return f"{total}; no second cutter saves its change."
    return f"{total}; the {found.single.name} alone would take {minutes(found.single_s)}."


def set_text(sets: Iterable[CutterSet]) -> str:
    """Return all sets as plain text."""
    lines: list[str] = []
    for found in sets:
        lines += [", ".join(found.subjects), f"  {against_one(found)}"]
        lines += [f"  {cutter}: {said}. For {serves}." for cutter, serves, said in rows(found)]
        lines.append("")
    return "\n".join(lines)
