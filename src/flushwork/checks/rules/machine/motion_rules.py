"""Is each G-code file a safe thing to stand beside: pauses, dwells, plunges, lifts, tabs left?

Heights are looked at in the file itself, exactly; whether a move meets material, in the replay.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from flushwork.built import Build
from flushwork.checks.rules.machine.feed_rules import REMOVED_MM3
from flushwork.checks.rules.machine.file_rules import BITE_MM, imported_line, reports_of
from flushwork.core.findings import TRIM_LINE, Finding, Measure, Place, Subject
from flushwork.fit.discs import grow
from flushwork.gcode.reader.program_text import lines_with
from flushwork.process.orders.drill_orders import trim_bit
from flushwork.process.stages import StageKind
from flushwork.strata.tiles import Window, grid, surface
from flushwork.toolpaths.moves import Flags, Floats, table_of
from flushwork.toolpaths.orders import GcodeFile, Work
from flushwork.toolpaths.speeds import greatest_rate, operation_feeds

PLUNGE_SHARE: Final = 1.02
"""A feed is printed in whole numbers, and a machine keeps it within a little (assumed)."""
DWELL_S: Final = 1.0
"""A bit that turns in one place this long rubs, burns, and may set wood alight (assumed, 0.5 to
3 s; a hole with a dwell in scrap; two turns of the slowest spindle are 0.02 s)."""
LOW_MM: Final = 0.3
"""A rapid keeps this far above the wood (assumed, 0.2 to 1 mm): blanks are cupped, clamps bend
them."""
RUN_MM: Final = 0.5
"""A shorter way across is none."""
RUBS_SHARE: Final = 0.2
"""A chip this much thinner than is right rubs and burns instead (assumed, 0.1 to 0.4)."""

_STOPS: Final = re.compile(r"m0*(0|1|5|6|60)(?![0-9])")
_STARTS: Final = re.compile(r"m0*([34])(?![0-9])")
_AFTER_MOTION: Final = frozenset({"0", "1", "60"})
_SAYS: Final = {"0": "waits (M0)", "1": "waits (M1)", "60": "waits (M60)",
                "5": "stops the spindle (M5)", "6": "asks for another bit (M6)"}  # fmt: skip
STEP_MM: Final = 0.2
"""Places along the middle of the kerf are looked at so far apart."""
SHARE: Final = 0.5
"""A tab under half as high or half as long as was asked is none (assumed, 0.3 to 0.8)."""


def _in_the_wood(file: GcodeFile) -> Flags:
    """Return after which moves the tip stands below the wood's face."""
    return np.asarray(table_of(file.program).to_mm[:, 2] < file.order.face_above_mm - BITE_MM)


def _told(
    code: str,
    file: GcodeFile,
    move: int,
    line: int,
    does: str,
    remedy: str,
    measure: Measure | None,
) -> Finding:
    x_mm, y_mm = table_of(file.program).to_mm[move, :2] + file.order.origin_mm
    return Finding.must_fix(
        code,
        message=f"{file.known_as}, line {line}, {does}.",
        remedy=remedy,
        subjects=(Subject("file", file.file_name),),
        source=imported_line(file, line),
        place=Place(file.order.face, float(x_mm), float(y_mm)),
        measure=measure,
    )


def ends_in_the_wood(build: Build) -> Iterator[Finding]:
    """Yield a must fix for G-code files that end, wait or stop the spindle in the wood."""
    for file in build.gcode_files:
        sunk = _in_the_wood(file)
        if not sunk.any():
            continue
        lines = np.array([move.line for move in file.program.moves])
        remedy = "Do not run this file; it lacks a lift to the clear height before that line."
        for line, code in lines_with(file.text, "m"):
            found = _STOPS.search(code)
            if found is None or line > lines[-1]:
                continue
            last = int(
                np.searchsorted(lines, line, "right" if found[1] in _AFTER_MOTION else "left")
            )
            if last and sunk[last - 1]:
                does = f"{_SAYS[found[1]]} with the bit in the wood"
                yield _told("pause-in-wood", file, last - 1, line, does, remedy, None)
                break
        if sunk[-1]:
            low = file.order.face_above_mm - float(table_of(file.program).to_mm[-1, 2])
            yield _told(
                "ends-in-wood",
                file,
                len(lines) - 1,
                int(lines[-1]),
                f"is the last move, and leaves the bit {low:.2f} mm deep in the wood",
                "Do not run this file; it lacks a lift to the clear height at its end.",
                Measure("depth", low, 0.0, "mm"),
            )


def dwells_in_the_cut(build: Build) -> Iterator[Finding]:
    """Yield a must fix for G-code files that let the bit turn in one place of the wood."""
    for file in build.gcode_files:
        sunk = _in_the_wood(file)
        moves = file.program.moves
        index = max(
            (k for k in np.flatnonzero(sunk & table_of(file.program).dwells).tolist()),
            key=lambda k: moves[k].dwell_s,
            default=-1,
        )
        if index >= 0 and moves[index].dwell_s > DWELL_S:
            seconds = moves[index].dwell_s
            yield _told(
                "dwell-in-cut",
                file,
                index,
                moves[index].line,
                f"lets the bit turn in one place for {seconds:.1f} s, which burns the wood and may "
                "set it alight",
                "Do not run this file; P is in seconds here. Some programs write milliseconds.",
                Measure("dwell", seconds, DWELL_S, "s"),
            )


def plunge_too_fast(build: Build) -> Iterator[Finding]:
    """Yield a must fix for files that sink faster than the machine may plunge.

    Straight down, by a ramp or by a helix: it is the fall that counts.
    """
    for file, report in reports_of(build):
        table, most = table_of(file.program), file.order.machine.plunge_mm_min
        way = np.hypot(table.run_mm, table.drop_mm)
        sinks = table.cuts & (table.drop_mm > 1e-6) & (report.removed_mm3 > 0.0)
        fall = np.zeros(len(sinks))
        fall[sinks] = table.feed_mm_min[sinks] * table.drop_mm[sinks] / way[sinks]
        index = int(np.argmax(fall)) if len(fall) else -1
        if index < 0 or fall[index] <= most * PLUNGE_SHARE + 1.0:
            continue
        move = file.program.moves[index]
        yield _told(
            "plunge-too-fast",
            file,
            index,
            move.line,
            f"sinks into the wood at {fall[index]:.0f} mm/min; the machine plunges at "
            f"{most:.0f} mm/min",
            "Do not run this file; give the move down its own, slower F.",
            Measure("plunge", float(fall[index]), most, "mm/min"),
        )


def spindle_backwards(build: Build) -> Iterator[Finding]:
    """Yield a must fix for files that turn the spindle the wrong way round for the machine."""
    for file in build.gcode_files:
        right = file.order.machine.dialect.spindle_clockwise
        for line, code in lines_with(file.text, "m"):
            found = _STARTS.search(code)
            if found is None or f"M{found[1]}" == right:
                continue
            yield Finding.must_fix(
                "spindle-backwards",
                message=f"{file.known_as}, line {line}, starts the spindle with M{found[1]}; this "
                f"machine's bits turn the right way with {right}. Turned backwards a bit "
                "rubs, burns and breaks.",
                remedy="Do not run this file; correct the word, or `spindle start` in the shop "
                "file.",
                subjects=(Subject("file", file.file_name),),
                source=imported_line(file, line),
            )
            break


def travels_low(build: Build) -> Iterator[Finding]:
    """Yield a warning for files that travel at full speed hardly above the wood."""
    for file in build.gcode_files:
        table, face = table_of(file.program), file.order.face_above_mm
        low = np.minimum(table.from_mm[:, 2], table.to_mm[:, 2]) - face
        rapid = table.rapid.copy()
        rapid[:1] = False
        across = rapid & (table.run_mm > RUN_MM)
        found = np.flatnonzero(across & (low > -BITE_MM) & (low < LOW_MM))
        if not len(found):
            continue
        index = int(found[np.argmin(low[found])])
        move = file.program.moves[index]
        yield Finding.warning(
            "travels-low",
            message=f"{file.known_as}, line {move.line}, moves at full speed only "
            f"{max(low[index], 0.0):.2f} mm above the wood: a cupped blank or a chip in the way "
            "breaks the bit.",
            remedy="Have your program lift higher between cuts, and feed the last bit down.",
            subjects=(Subject("file", file.file_name),),
            source=imported_line(file, move.line),
            place=Place(
                file.order.face,
                *(table.to_mm[index, :2] + file.order.origin_mm).tolist(),
            ),
            measure=Measure("above the wood", float(low[index]), LOW_MM, "mm"),
        )


def feed_too_slow(build: Build) -> Iterator[Finding]:
    """Yield a warning for files that rub their bit through the wood."""
    for file, report in reports_of(build):
        if not file.order.operations or file.order.bare:
            continue
        right = operation_feeds(file.order.operations[0], file.order.machine)
        table, bit = table_of(file.program), file.order.bit
        wood = {operation.work for operation in file.order.operations}
        if wood <= {Work.DRILL, Work.ENGRAVE}:
            continue
        level = table.cuts & (np.abs(table.drop_mm) < 1e-6) & (table.run_mm > bit.diameter_mm)
        cuts = level & (report.removed_mm3 > REMOVED_MM3) & (table.rpm > 0.0)
        chips = np.full(len(cuts), np.inf)
        chips[cuts] = table.feed_mm_min[cuts] / table.rpm[cuts]
        index = int(np.argmin(chips)) if len(chips) else -1
        least = RUBS_SHARE * right.feed_mm_min / right.spindle_rpm
        if index < 0 or chips[index] >= least:
            continue
        move = file.program.moves[index]
        yield Finding.warning(
            "feed-too-slow",
            message=f"{file.known_as}, line {move.line}, feeds the {bit.name} "
            f"{move.feed_mm_min:.0f} mm/min at {move.spindle_rpm:.0f} rpm: it rubs and burns.",
            remedy=f"About {right.feed_mm_min:.0f} mm/min at {right.spindle_rpm:.0f} rpm is right.",
            subjects=(Subject("file", file.file_name),),
            source=imported_line(file, move.line),
            measure=Measure(
                "chip",
                float(chips[index]) / bit.flutes,
                least / bit.flutes,
                "mm",
            ),
        )


def too_many_lines(build: Build) -> Iterator[Finding]:
    """Yield a warning for files whose short moves come faster than the controller takes them."""
    for file in build.gcode_files:
        most = file.order.machine.lines_s
        rate, index = greatest_rate(file.program)
        if rate <= most * PLUNGE_SHARE:
            continue
        move = file.program.moves[index]
        yield Finding.warning(
            "too-many-lines",
            message=f"{file.known_as}, from line {move.line} on, asks for {rate:.0f} lines a "
            f"second at the feed it says; the controller takes {most:.0f}. It will falter there, "
            "and leave marks.",
            remedy="Have your program write arcs or longer moves, or feed slower there; "
            "`lines a second` of the machine says what yours takes.",
            subjects=(Subject("file", file.file_name),),
            source=imported_line(file, move.line),
            measure=Measure("lines", rate, most, "1/s"),
        )


def tabs_missing(build: Build) -> Iterator[Finding]:
    """Yield a must fix where fewer replayed tabs hold the piece than the job asks for."""
    outline = build.job.outline
    stage = next((each for each in build.plan.stages if each.kind is StageKind.TRIM), None)
    bit = trim_bit(build.job)
    if stage is None or bit is None or not outline.tabs or outline.tab_height_mm <= 0.0:
        return
    setup = next(each for each in build.plan.setups if stage.number in each.stages)
    under_mm = setup.face_z_mm - setup.stands_mm
    kerf = grow(build.face(stage.face).trim, bit.radius_mm)
    standing, spots = 0, []
    for part in kerf.geoms:
        places = shapely.get_coordinates(shapely.segmentize(part.exterior, STEP_MM))[:-1]
        high = _wood_mm(build, stage.number, places) - under_mm >= SHARE * outline.tab_height_mm
        standing += _runs(high, SHARE * outline.tab_mm, part.exterior.length / len(places))
        spots.append(places[0])
    if standing >= outline.tabs or not spots:
        return
    yield Finding.must_fix(
        "tabs-missing",
        message=f"As the G-code files replay, {standing} of the {outline.tabs} tabs that the job "
        "asks for are left: the piece comes loose beside a turning bit.",
        remedy="Do not run this file; have it leave the tabs, or give the job the number that it "
        "leaves and hold the piece otherwise.",
        subjects=(TRIM_LINE,),
        source=outline.source,
        place=Place(stage.face, float(spots[0][0]), float(spots[0][1])),
        measure=Measure("tabs", float(standing), float(outline.tabs), ""),
    )


def _wood_mm(build: Build, stage: int, places: Floats) -> Floats:
    """Return the height of the wood at places (n, 2) of a face after a stage, (n,)."""
    spec = build.replay.spec
    whole = grid(spec)
    stack = build.replay.after(stage).face(build.plan.stage(stage).face)
    columns = np.clip((places[:, 0] / spec.cell_mm).astype(int), 0, whole.columns - 1)
    rows = np.clip((places[:, 1] / spec.cell_mm).astype(int), 0, whole.rows - 1)
    west, south = int(columns.min()), int(rows.min())
    window = Window(west, south, int(columns.max()) - west + 1, int(rows.max()) - south + 1)
    return np.asarray(surface(stack, window, 0)[rows - south, columns - west], np.float64)


def _runs(high: np.ndarray[tuple[int], np.dtype[np.bool_]], least_mm: float, step_mm: float) -> int:
    """Return how many stretches of a closed way are high for ``least_mm`` at least."""
    if high.all():
        return 1
    first = int(np.argmin(high))
    turned = np.concatenate(([False], np.roll(high, -first), [False]))
    begins = np.flatnonzero(turned[1:] & ~turned[:-1])
    ends = np.flatnonzero(~turned[1:] & turned[:-1])
    return int(np.count_nonzero((ends - begins) * step_mm >= least_mm))


RULES = (
    ends_in_the_wood,
    dwells_in_the_cut,
    plunge_too_fast,
    spindle_backwards,
    travels_low,
    feed_too_slow,
    too_many_lines,
    tabs_missing,
)
