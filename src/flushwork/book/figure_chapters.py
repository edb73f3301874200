"""Chapters of figures: what each bit buys, what the run costs, how likely it comes out right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final

import numpy as np

from flushwork.checks.odds.odds import OddsMap, RunOdds
from flushwork.fit.bit_sets import BitSet
from flushwork.process.orders.bit_tables import (
    HEAD,
    NOTE,
    against_one,
    cells,
    cells_in,
    feed_rows,
    rows,
)
from flushwork.process.orders.bit_tables import SETS_HEAD as SET_HEAD
from flushwork.schedule.cost import CostLine, RunCost, cents
from flushwork.schedule.cost_table import CostTable
from flushwork.toolpaths.orders import GcodeFile
from flushwork.views.book_records import (
    BitSetView,
    BitsView,
    CostView,
    Fact,
    OddsView,
    Picture,
    TableView,
)
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import Space, board, tint
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.face_drawings import fitted
from flushwork.views.figures import (
    MINUS,
    NO_BREAK,
    Lengths,
    clean,
    counted,
    joined,
    number,
    percent,
)

# ---- The chapter on bits: which are used, what each buys, how fast and deep each may go


def bits_view(
    gcode_files: Sequence[GcodeFile], sets: Sequence[BitSet], *, inch: bool = False
) -> BitsView | None:
    """Return the chapter; nothing where nothing is cut."""
    feeds = feed_rows(file.order for file in gcode_files)
    if not feeds:
        return None
    return BitsView(
        sets=tuple(_set(found) for found in sets),
        feeds=TableView(
            HEAD,
            tuple(tuple(_tight(cell) for cell in cells(row, inch=inch)) for row in feeds),
            (0, 1, len(HEAD) - 1),
        ),
        note=NOTE.replace("`", '"') + f" {cells_in(inch)}.",
    )


def _tight(cell: str) -> str:
    return clean(cell.replace(" %", f"{NO_BREAK}%"))


def _set(found: BitSet) -> BitSetView:
    return BitSetView(
        heading=clean(joined(found.subjects)),
        note=clean(against_one(found)),
        buys=TableView(
            SET_HEAD, tuple(tuple(clean(cell) for cell in row) for row in rows(found)), (0, 1, 2)
        ),
    )


# ---- What the run costs: its lines, the price for the wanted return, other numbers of pieces


LOST: Final = 0.005
"""A smaller share that ends in no piece is not told."""


def cost_view(table: CostTable) -> CostView:
    """Return the chapter on costs."""
    run = table.run
    currency = clean(run.currency)
    tests = f", {counted(run.test_pieces, 'test piece')}" if run.test_pieces else ""
    planks = f", {table.parted} out of each plank" if table.parted > 1 else ""
    facts = [
        Fact("The run costs", money(run.total, currency)),
        Fact("One piece costs", money(run.each, currency)),
        Fact(
            f"Its price at {amount(run.wanted_h)} an hour",
            f"{money(run.price, currency)}, for {_hours(run)} a piece",
        ),
        Fact(f"One more {table.blank} adds", money(table.one_more, currency)),
    ]
    if run.test_pieces:
        facts.append(
            Fact(
                "The test piece adds" if run.test_pieces == 1 else "The test pieces add",
                money(table.test_adds, currency),
            )
        )
    return CostView(
        note=(
            f"{counted(run.pieces, 'piece')}{tests}{planks}{clean(table.more)}, in {currency}. "
            "Hours of the machine and of work are those of the G-code files and of the days, grams "
            "those of the pour cards; prices are the shop file's. What a test piece costs is paid "
            "by the others."
        ),
        lines=_lines(run),
        facts=tuple(facts),
        others=_others(table),
        missing=(
            f"Without a price in the shop file, and counted as nothing: "
            f"{joined([clean(name) for name in run.unpriced])}."
            if run.unpriced
            else ""
        ),
    )


def amount(value: Decimal) -> str:
    """Return an amount of money to the hundredth."""
    return f"{cents(value):,.2f}".replace(",", NO_BREAK).replace("-", MINUS)


def money(value: Decimal, currency: str) -> str:
    """Return an amount of money with its currency."""
    return f"{amount(value)}{NO_BREAK}{currency}"


def _hours(run: RunCost) -> str:
    return f"{number(run.hands_h / run.pieces, 1)}{NO_BREAK}h"


def _lines(run: RunCost) -> TableView:
    rows = [
        (
            clean(line.what),
            _quantity(line),
            percent(line.waste) if line.waste > LOST else "",
            amount(line.total) if line.priced else "no price",
            amount(line.total / run.pieces) if line.priced else "",
        )
        for line in run.lines
    ]
    rows.append(("together", "", "", amount(run.total), amount(run.each)))
    return TableView(("what", "how much", "lost", "the run", "each piece"), tuple(rows), wide=(0,))


def _quantity(line: CostLine) -> str:
    if line.kind == "wear":
        return f"{percent(line.amount)} of its life"
    if line.kind == "sundries":
        return f"{number(line.amount, 0)} times"
    if line.unit == "kg":
        return f"{number(1000.0 * line.amount, 1)}{NO_BREAK}g"
    if line.unit == "l":
        return f"{number(1000.0 * line.amount, 1)}{NO_BREAK}cm\N{SUPERSCRIPT THREE}"
    unit = line.unit.replace("dm3", "dm\N{SUPERSCRIPT THREE}")
    return f"{number(line.amount, 2)}{NO_BREAK}{unit}"


def _others(table: CostTable) -> TableView:
    runs = {run.pieces: run for run in (*table.others, table.run)}
    rows = [
        (str(pieces), amount(run.total), amount(run.each), amount(run.price), _hours(run))
        for pieces, run in sorted(runs.items())
    ]
    head = ("pieces", "the run", "each costs", "its price", "work each")
    return TableView(head, tuple(rows))


# ---- The odds as the book tells them: the joint figure, where they are worst, what to tighten


MOST_ROWS: Final = 10
SCALE: Final = ((0.9, "#9c1f1f"), (0.98, "#d9772b"), (0.999, "#e5b94b"), (2.0, "#2f6b3f"))
"""Colours by odds below a bound, worst first; told by size as well."""
SIZES: Final = (1.3, 1.0, 0.75, 0.45)
MOST_DOTS: Final = 600
SURE: Final = 0.999


def odds_view(
    run: RunOdds, arts: Mapping[str, FaceArt], lengths: Lengths, space: Space
) -> OddsView:
    """Return the odds of a run."""
    faces = [face for face in arts if any(item.face == face for item in run.maps)]
    return OddsView(
        summary=summary(run),
        places=tuple(_map(arts[face], run.maps, space) for face in faces),
        place_note=(
            "Each dot is a place at which something can go wrong sideways or in height. Large "
            "red: it holds on fewer than 90 pieces in 100; orange: 98; yellow: 999 in 1000; small "
            "green: on more."
        ),
        weakest=_weakest(run, lengths),
        tighten=_tighten(run),
        note=(
            f"{run.samples} runs were drawn, with normal errors for what varies in a shop; most of "
            "those variations are common practice or assumed, and the test strips of the shop "
            "replace them. Slips of the hand are not among them; the points of no return count "
            "both."
        ),
    )


def summary(run: RunOdds) -> str:
    """Return the joint figure in words."""
    tests = ""
    if run.test_pieces:
        what = "test piece comes" if run.test_pieces == 1 else "test pieces all come"
        tests = f" The {what} out right in {in_hundred(run.test_good)}."
    if run.pieces == 1:
        right = in_hundred(run.piece)
        return f"If no mistakes are made, the piece comes out right in {right}.{tests}"
    return (
        f"If no mistakes are made, one piece comes out right in {in_hundred(run.piece)}. Of "
        f"{counted(run.pieces, 'piece')} {run.expected_good:.2f} are expected good, and all of "
        f"them are in {in_hundred(run.all_good)} runs.{tests}"
    )


def in_hundred(share: float) -> str:
    """Return odds in words."""
    return "more than 99.9 of 100" if share > SURE else f"{100 * share:.1f} of 100"


def _weakest(run: RunOdds, lengths: Lengths) -> TableView:
    shown = [item for item in run.quantities if item.odds < SURE][:MOST_ROWS]
    rows = []
    for item in shown or list(run.quantities[:3]):
        spare = item.nominal - item.limit
        has = lengths.say(spare, 2) if item.unit == "mm" else f"{100 * spare:.1f}{NO_BREAK}%"
        place = (
            f"{item.face}, X{NO_BREAK}{lengths.say(item.at_mm[0], 0)}, "
            f"Y{NO_BREAK}{lengths.say(item.at_mm[1], 0)}"
        )
        rows.append(
            (
                f"{item.name} of {clean(item.subject)}",
                has,
                f"{100 * item.odds:.2f}",
                f"{item.dominant} ({100 * item.share:.0f}{NO_BREAK}%)",
                f"{100 * item.halved:.2f}",
                place if item.unit == "mm" else "",
            )
        )
    head = (
        "What must hold",
        "To spare",
        "Holds in 100",
        "Varies most",
        "With that halved",
        "Weakest at",
    )
    return TableView(head, tuple(rows), wide=(0, 3, 5))


def _tighten(run: RunOdds) -> TableView:
    rows = tuple(
        (item.what, item.how, f"{100 * item.piece:.2f}", f"{100 * item.all_good:.2f}")
        for item in run.tightenings[:5]
        if item.piece > run.piece
    )
    head = ("Halve the variation of", "How", "A piece in 100", "The run in 100")
    return TableView(head, rows, wide=(0, 1))


def _map(art: FaceArt, maps: Sequence[OddsMap], space: Space) -> Picture:
    """Draw a face with a dot at each place, the worst on top."""
    frame = fitted(art, space, 3.0)
    height = art.width_mm * frame.scale + 0.6
    mine = [item for item in maps if item.face == art.name]
    at_mm = np.concatenate([item.at_mm for item in mine])
    odds = np.concatenate([item.odds for item in mine])
    order = np.argsort(odds)[:MOST_DOTS][::-1]
    dots: list[str] = []
    for index in order.tolist():
        band = next(place for place, (bound, _) in enumerate(SCALE) if odds[index] < bound)
        x, y = frame.place(float(at_mm[index, 0]), float(at_mm[index, 1]))
        dots.append(
            svg.shape("circle", cx=x, cy=y, r=SIZES[band], fill=SCALE[band][1],
                      stroke="#ffffff", stroke_width=0.12)
        )  # fmt: skip
    parts = [
        board(art, frame, "#f6f2ec"),
        svg.group(
            (
                svg.path(inlay.path, fill=tint(inlay.colour, 0.72), fill_rule="evenodd")
                for inlay in art.inlays
            ),
            transform=frame.matrix,
        ),
        svg.group(dots),
    ]
    alt = f"Where on the {art.name} face the odds are worst, of {len(odds)} places"
    drawn = svg.drawing(parts, space.width_mm, height, alt)
    return Picture(alt, f"{art.name.capitalize()} face", space.width_mm, height, drawn)
