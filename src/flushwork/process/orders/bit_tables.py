"""What is proposed for each bit of a job in each material it cuts, and what binds it.

The bits of each round of cutting, what each buys, one bit alone beside them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isinf

from flushwork.core.units.kinds import INCH_MM
from flushwork.fit.bit_sets import BitSet, Buy
from flushwork.fit.cutting_force import CARBIDE_N_MM2, STRESS_SHARE
from flushwork.fit.feeds import Proposal, light, wall_deflection_mm
from flushwork.shelf.items import BitKind
from flushwork.toolpaths.orders import CutOrder, Work
from flushwork.toolpaths.pocket import leave_mm
from flushwork.toolpaths.speeds import operation_feeds


@dataclass(frozen=True, slots=True)
class FeedRow:
    """One bit in one material.

    ``wall_mm`` is how far its tip bends aside in the pass that finishes a wall,
    ``finish_feed_mm_min`` the feed of that pass.
    """

    proposal: Proposal
    wall_mm: float
    finish_feed_mm_min: float

    @property
    def step_mm(self) -> float:
        """From pass to pass, mm."""
        return self.proposal.step * self.proposal.bit.diameter_mm


def feed_rows(orders: Iterable[CutOrder]) -> tuple[FeedRow, ...]:
    """Return a row for each bit and material, in working order."""
    found: dict[Proposal, float] = {}
    for order in orders:
        for operation in order.operations:
            proposal = operation_feeds(operation, order.machine).proposal
            if proposal is not None:
                pocket = operation.work is Work.POCKET
                depth_mm = operation.top_mm - operation.floor_mm if pocket else 0.0
                found[proposal] = max(found.get(proposal, 0.0), depth_mm)
    return tuple(_row(proposal, depth_mm) for proposal, depth_mm in found.items())


def _row(proposal: Proposal, depth_mm: float) -> FeedRow:
    left = leave_mm(proposal.bit)
    pockets = depth_mm > 0.0
    return FeedRow(
        proposal=proposal,
        wall_mm=wall_deflection_mm(proposal, left, depth_mm) if pockets else 0.0,
        finish_feed_mm_min=proposal.feed_mm_min * light(proposal, left) if pockets else 0.0,
    )


HEAD = (
    "bit", "in", "feed", "finish", "plunge", "rpm", "chip", "pass", "step", "bends", "wall",
    "strain", "binds",
)  # fmt: skip


def cells_in(inch: bool) -> str:
    """Say what the figures of the cells are in."""
    return "Feeds in in/min, lengths in inches" if inch else "Feeds in mm/min, lengths in mm"


def cells(row: FeedRow, *, inch: bool = False) -> tuple[str, ...]:
    """Return a row in figures: feeds, lengths, strain as per cent of strength.

    They are in mm/min and mm, or with ``inch`` in in/min and inches.
    """
    it = row.proposal

    def feed(value: float) -> str:
        return f"{value / INCH_MM:.1f}" if inch else f"{value:.0f}"

    def length(value: float, places: int) -> str:
        return f"{value / INCH_MM:.{places + 1}f}" if inch else f"{value:.{places}f}"

    drill = it.bit.kind is BitKind.DRILL
    finish = row.finish_feed_mm_min
    return (
        it.bit.name,
        it.stock.name,
        feed(it.feed_mm_min),
        feed(finish) if finish else "",
        feed(it.plunge_mm_min),
        f"{it.spindle_rpm:.0f}",
        length(it.chip_mm, 3),
        length(it.pass_mm, 2),
        "" if drill else length(row.step_mm, 2),
        "" if drill else length(it.deflection_mm, 3),
        length(row.wall_mm, 3) if finish else "",
        "" if drill else f"{100.0 * it.stress_share:.1f} %",
        str(it.binds),
    )


NOTE = (
    "Feeds are for a cut as wide as the bit; its finish pass takes thin chips and may run "
    "faster. `bends` is how far the tip is pulled aside in a full-width cut, `wall` in the finish "
    "pass, both at the end of the bit's life (a sharp one bends half as far). `strain` is the "
    f"stress as a share of carbide's {CARBIDE_N_MM2:.0f} N/mm2; at most "
    f"{100.0 * STRESS_SHARE:.0f} % is allowed. `binds` keeps the feed from being higher."
)


def feed_text(rows: Iterable[FeedRow], *, inch: bool = False) -> str:
    """Return the table as plain text."""
    table = [HEAD, *(cells(row, inch=inch) for row in rows)]
    widths = [max(len(line[k]) for line in table) for k in range(len(HEAD))]
    left = {0, 1, len(HEAD) - 1}
    return "".join(
        "  ".join(
            cell.ljust(width) if k in left else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        + "\n"
        for line in table
    )


SETS_HEAD = ("bit", "serves", "buys")


def minutes(seconds: float) -> str:
    """Return a time in minutes."""
    return f"{seconds / 60.0:.1f} min"


def buys(found: BitSet, buy: Buy) -> str:
    """Return in words what a bit of a set buys."""
    if buy.asked:
        return "asked for by others, so it costs no change"
    if isinf(buy.without_s):
        return "detail that no other set of your bits makes"
    saved_s = buy.without_s - found.total_s
    if saved_s < 1.0:
        return "nothing against the next best set"
    return f"about {minutes(saved_s)}, its change counted"


def rows(found: BitSet) -> tuple[tuple[str, str, str], ...]:
    """Return a row for each bit of a set, widest first."""
    return tuple((buy.bit.name, ", ".join(buy.serves), buys(found, buy)) for buy in found.buys)


def against_one(found: BitSet) -> str:
    """Return a set's total beside that of the best single bit, in one sentence."""
    total = f"About {minutes(found.total_s)} for the pockets, changes counted"
    if found.single is None:
        return f"{total}; no single bit makes them all."
    if found.bits == (found.single,):
        return f"{total}; no second bit saves its change."
    return f"{total}; the {found.single.name} alone would take {minutes(found.single_s)}."


def set_text(sets: Iterable[BitSet]) -> str:
    """Return all sets as plain text."""
    lines: list[str] = []
    for found in sets:
        lines += [", ".join(found.subjects), f"  {against_one(found)}"]
        lines += [f"  {bit}: {said}. For {serves}." for bit, serves, said in rows(found)]
        lines.append("")
    return "\n".join(lines)
