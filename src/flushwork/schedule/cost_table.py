"""What more pieces cost, and what the test piece adds: the same run counted for other numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil

from flushwork.art.drawn import DrawnFace
from flushwork.core.words import counted
from flushwork.job.records import Job
from flushwork.process.stages import Plan
from flushwork.resin.pours import Pour
from flushwork.schedule.cost import CostLine, RunCost, Spending, cents, run_cost, spending_of
from flushwork.schedule.run import parts_of
from flushwork.schedule.several_parts import (
    PartPoured,
    PourPlace,
    all_parts,
    in_cups,
    pours_in_groups,
)
from flushwork.strata.surfaces import Poured
from flushwork.toolpaths.orders import GcodeFile
from flushwork.wood.box_sizes import MadeBox

COUNTS = (1, 2, 5, 10, 20)
"""Numbers of pieces for which the price is told, beside the job's own."""


@dataclass(frozen=True, slots=True)
class CostTable:
    """The run's cost, the same for other numbers of pieces, and without the test pieces.

    ``one_more`` is what one more piece adds to the run; ``test_adds`` what the test pieces add.
    """

    run: RunCost
    others: tuple[RunCost, ...]
    one_more: Decimal
    test_adds: Decimal
    parted: int = 1
    others_made: tuple[tuple[str, int], ...] = ()
    """The further parts of the job that are made in another number: of which how many."""

    @property
    def more(self) -> str:
        """What is made beside the pieces, where the parts of the job are not of one number."""
        return "".join(f", {count} of {name}" for name, count in self.others_made)

    @property
    def blank(self) -> str:
        """What one more of is started: a piece, or a plank that is parted into several."""
        return "piece" if self.parted == 1 else "plank"


@dataclass(frozen=True, slots=True)
class Costing:
    """Everything the costs are counted from; ``gcode_files`` are by stage number.

    The pieces are poured in so many ``groups``, test pieces that go ahead not counted.  ``others``
    are the further parts of the job, ``cups`` the pours of them that come out of one cup, ``box``
    the box that goes with each piece.
    """

    job: Job
    faces: Sequence[DrawnFace]
    plan: Plan
    gcode_files: Mapping[int, Sequence[GcodeFile]]
    poured: Sequence[Poured]
    groups: int = 1
    others: Sequence[PartPoured] = ()
    cups: Sequence[tuple[PourPlace, PourPlace]] = ()
    box: MadeBox | None = None

    @property
    def parted(self) -> int:
        """Into how many pieces each blank is parted."""
        return len(self.faces[0].trim.geoms) if self.faces else 1

    def cost(self, pieces: int, test_pieces: int) -> RunCost:
        """Return the cost of a run of so many blanks; raises ValueError without prices.

        Of further parts of the job as many are made as there are to so many of the first.
        """
        prices = self.job.shop.prices
        if prices is None:
            message = "the shop file has no prices"
            raise ValueError(message)
        own = PartPoured(self.job, self.faces, self.plan, self.poured, self.gcode_files)
        made = [
            replace(each, job=replace(each.job, pieces=count, test_pieces=test_pieces))
            for each in (own, *self.others)
            for count in [ceil(each.job.pieces * pieces / self.job.pieces)]
        ]
        job, *others = (each.job for each in made)
        pours = in_cups(pours_in_groups(made, self.groups), self.cups, job.shop)
        tasks = all_parts([each.work for each in made], pours, job.shop.hours.open_min)
        cut_s: Counter[str] = Counter()
        for each in made:
            cut_s.update(cut_seconds(each.gcode_files, each.job.pieces + test_pieces))
        return run_cost(job, tasks, pours, cut_s, prices, self.parted, others, self.box)

    def spending(self, pours: Sequence[Pour]) -> Spending:
        """Return what each stage of the run adds to one piece; ``pours`` are its batches."""
        job = self.job
        parts = parts_of(job, self.plan, self.gcode_files, pours, job.shop.hours.open_min)
        return spending_of(job, self.plan, parts, pours, self.gcode_files, self.parted, self.box)

    def table(self) -> CostTable:
        """Return the costs of the run, of other numbers, of one more, of the test pieces."""
        job = self.job
        run = self.cost(job.pieces, job.test_pieces)
        more = self.cost(job.pieces + 1, job.test_pieces)
        bare = self.cost(job.pieces, 0) if job.test_pieces else run
        return CostTable(
            run=run,
            others=tuple(self.cost(count, job.test_pieces) for count in COUNTS),
            one_more=more.total - run.total,
            test_adds=run.total - bare.total,
            parted=self.parted,
            others_made=tuple(
                (each.job.part, each.job.pieces)
                for each in self.others
                if each.job.pieces != job.pieces
            ),
        )


def cut_seconds(gcode_files: Mapping[int, Sequence[GcodeFile]], blanks: int) -> dict[str, float]:
    """Return how long each bit cuts in so many blanks, by its name."""
    found: dict[str, float] = {}
    for files in gcode_files.values():
        for file in files:
            name = file.order.bit.name
            found[name] = found.get(name, 0.0) + blanks * file.cut_s
    return found


def cost_text(table: CostTable) -> str:
    """Return the costs as plain text."""
    run = table.run
    tests = f" and {run.test_pieces} for testing" if run.test_pieces else ""
    planks = f", {table.parted} out of each plank" if table.parted > 1 else ""
    lines = [f"{counted(run.pieces, 'piece')}{tests}{planks}{table.more}, in {run.currency}", ""]
    lines += [_line(line) for line in run.lines]
    lines += [
        f"  {'together':44}{run.total:>12}",
        "",
        f"  {'one piece costs':44}{run.each:>12}",
        f"  {f'price at {run.wanted_h} for each of {run.hands_h:.1f} h':44}{run.price:>12}",
        f"  {f'one more {table.blank} adds':44}{table.one_more:>12}",
        f"  {'the test pieces add':44}{table.test_adds:>12}",
        "",
        f"  {'pieces':>8}{'one costs':>14}{'its price':>14}{'hours each':>14}",
    ]
    lines += [
        f"  {other.pieces:>8}{other.each:>14}{other.price:>14}{other.hands_h / other.pieces:>14.1f}"
        for other in table.others
    ]
    if run.unpriced:
        lines += ["", f"  Without a price in the shop file: {', '.join(run.unpriced)}."]
    return "\n".join(lines) + "\n"


def _line(line: CostLine) -> str:
    waste = f", {100.0 * line.waste:.0f} % of it lost" if line.waste > 0.005 else ""
    amount = f"{line.amount:.3f} {line.unit} of {line.what}{waste}"
    if line.unit == "kg" and line.amount < 1.0:
        amount = f"{1000.0 * line.amount:.1f} g of {line.what}{waste}"
    if line.what in ("work", "machine"):
        amount = f"{line.amount:.2f} h of {line.what}"
    elif line.kind == "wear":
        amount = f"{100.0 * line.amount:.1f} % of the life of {line.what}"
    elif line.kind == "sundries":
        amount = f"{line.what}, {line.amount:.0f} times"
    return f"  {amount:44}{cents(line.total):>12}"
