"""Time the rooms against what they could be, in one run: no figure here stands without its floor.

Prints, for each example: the time of each room; the replay's cells against copying the same
number of cells in memory; and the run time of each kind of cutting against its floor (area over
feed times width, length over feed, depth over plunge).  Absolute seconds depend on the machine;
the ratios are what to watch.

    .venv-test/bin/python design/benchmark.py [JOB ...]
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import numpy as np

from flushwork.built import Build
from flushwork.fit.bit_sets import BitSet
from flushwork.gcode.program import gcode_file
from flushwork.gcode.run_time import move_times_s
from flushwork.pipeline import build
from flushwork.process.orders.cut_orders import cut_orders
from flushwork.shelf.items import Bit
from flushwork.strata.surfaces import TILE_CELLS
from flushwork.toolpaths.orders import (
    DrillCut,
    GcodeFile,
    LevelCut,
    LineCut,
    Operation,
    PocketCut,
    TrimCut,
    Work,
)
from flushwork.toolpaths.speeds import levels, operation_feeds

ROOT = Path(__file__).parents[1]


def copy_s(cells: int) -> float:
    """Return how long it takes to copy that many float32 cells: the floor of any replay."""
    source = np.ones(cells, np.float32)
    target = np.empty_like(source)
    start_s = time.perf_counter()
    np.copyto(target, source)
    return time.perf_counter() - start_s


def changed_cells(made: Build) -> int:
    """Return the cells the replay had to write: each tile array that is new in its stage."""
    seen: set[int] = set()
    for state in made.replay.states:
        for face in (state.front, state.back):
            for tile in face.tiles.values():
                seen.update(id(heights) for heights in tile.heights)
    return len(seen) * TILE_CELLS**2


def floor_s(file: GcodeFile, operation: Operation) -> float:
    """Return the least time an operation could take at its own feed."""
    order = file.order
    asked = operation_feeds(operation, order.machine)
    feed_mm_s = asked.feed_mm_min / 60.0
    deep = asked.proposal.pass_mm if asked.proposal is not None else None
    passes = len(levels(operation.top_mm, operation.floor_mm, order.bit, pass_mm=deep))
    width_mm = order.bit.diameter_mm
    match operation:
        case PocketCut():
            area_mm2 = operation.region.difference(operation.cleared).area
            return passes * area_mm2 / (feed_mm_s * width_mm)
        case LevelCut():
            return passes * operation.region.area / (feed_mm_s * width_mm)
        case LineCut():
            return float(passes * operation.lines.length / feed_mm_s)
        case TrimCut():
            return float(passes * operation.region.length / feed_mm_s)
        case DrillCut():
            depth_mm = operation.top_mm - operation.floor_mm
            return len(operation.points) * depth_mm / (asked.plunge_mm_min / 60.0)
        case _:
            return 0.0


def cutting(made: Build) -> None:
    """Print run time against its floor for each kind of cutting."""
    spent: dict[Work, float] = defaultdict(float)
    floors: dict[Work, float] = defaultdict(float)
    for file in made.gcode_files:
        times_s = move_times_s(file.program, file.order.machine)
        for span in file.spans:
            spent[span.work] += float(times_s[span.first : span.last + 1].sum())
        for operation in file.order.operations:
            floors[operation.work] += floor_s(file, operation)
    for work, seconds in spent.items():
        least = floors[work]
        ratio = f"{seconds / least:6.2f} x its floor" if least > 0.0 else "no floor stated"
        print(f"    {work.value:8s} {seconds / 60.0:8.1f} min  {ratio}")


def by_operation(made: Build) -> None:
    """Print every operation's run time against its floor, the worst first."""
    rows = []
    for file in made.gcode_files:
        times_s = move_times_s(file.program, file.order.machine)
        by_subject = {(item.subject, item.work): item for item in file.order.operations}
        for span in file.spans:
            operation = by_subject[span.subject, span.work]
            spent = float(times_s[span.first : span.last + 1].sum())
            least = floor_s(file, operation)
            rows.append((spent / least if least > 0.0 else 0.0, spent, span, file.order.bit.name))
    for ratio, spent, span, bit in sorted(rows, key=lambda row: -row[0]):
        told = f"{ratio:6.2f} x its floor" if ratio else "no floor stated"
        print(f"      {span.work.value:8s} {spent:8.1f} s  {told}  {span.subject}, {bit}")


def sets(made: Build) -> None:
    """Print each round's chosen bits against the best single one, both traced and timed."""
    for found in made.bit_sets:
        if found.single is None:
            print(f"    {len(found.subjects)} inlays: no single bit makes them all")
            continue
        change_s = 60.0 * made.job.shop.hands.change_min
        chosen_s = pockets_s(made, found, None) + change_s * len(found.bits)
        single_s = pockets_s(made, found, found.single) + change_s
        names = ", ".join(bit.name for bit in found.bits)
        print(
            f"    {len(found.subjects):2d} inlays, {names}: {chosen_s / 60.0:.1f} min in all; "
            f"the {found.single.name} alone {single_s / 60.0:.1f} min"
            f"{'' if chosen_s <= single_s + 0.5 else '  SLOWER'}"
        )


def pockets_s(made: Build, found: BitSet, single: Bit | None) -> float:
    """Return the traced run time of a round's free pockets, by the bits chosen or by one."""
    fits = {
        fit.drawn.thing.name: fit
        if single is None or fit.drawn.thing.name not in found.subjects
        else replace(fit, bits=(single,))
        for fit in made.fits
    }
    total = 0.0
    for _, order in cut_orders(made.job, made.faces, fits, made.plan):
        mine = tuple(
            item
            for item in order.operations
            if item.subject in found.subjects and item.work is Work.POCKET
        )
        if mine:
            total += gcode_file(replace(order, operations=mine)).cut_s
    return total


def report(path: Path) -> None:
    """Print everything about one job, the second build (kernels compiled, files cached)."""
    build(path)
    made = build(path)
    rooms = dict(made.timings_s)
    print(f"{path.parent.name}: {sum(rooms.values()):.2f} s in all")
    for name, seconds in rooms.items():
        print(f"    {seconds:7.3f} s  {name}")
    cells = changed_cells(made)
    ratio = rooms["replay the process"] / copy_s(cells)
    print(f"    replay: {cells / 1e6:.1f} million cells written, {ratio:.0f} x a plain copy")
    cutting(made)
    by_operation(made)
    sets(made)


def main() -> None:
    """Report the jobs named, or all examples."""
    jobs = [Path(word) for word in sys.argv[1:]] or sorted(ROOT.glob("examples/*/job.yaml"))
    for job in jobs:
        report(job)


if __name__ == "__main__":
    main()
