"""What one line of a G-code file does, in the published order.

Source: NISTIR 6556, section 3.8 (order of execution, table 8), sections 3.4 to 3.7.
"""

from __future__ import annotations

from typing import Final

from flushwork.core.units.kinds import INCH_MM
from flushwork.gcode.reader.arcs import add_arc
from flushwork.gcode.reader.cycles import add_cycle
from flushwork.gcode.reader.line_words import Block, LineError, whole
from flushwork.gcode.reader.motion import Run
from flushwork.gcode.reader.state import (
    ARCS,
    CYCLES,
    DWELLS,
    NO_MOTION,
    ORIGIN,
    SYSTEMS,
    TAKES_AXES,
    add,
    g_name,
    grouped_g,
    grouped_m,
    subtract,
)

_AXES: Final = ("x", "y", "z")
_STRAIGHT: Final = frozenset("xyzf")
_ROUND: Final = frozenset("xyzfijkr")
_OF_MOTION: Final = frozenset("ijklqr")
_ENDS: Final = frozenset({2, 30})


def execute(block: Block, run: Run) -> None:
    """Do what one line says; raise ``LineError`` where the published rules forbid it."""
    if not (block.g or block.m or block.settings) and _plain(block, run):
        return
    g, m = grouped_g(block.g), grouped_m(block.m)
    own, motion = g.get("non-modal"), _motion(block, run, g)
    _refuse_unused(block, own, motion, g)
    _set_feed(block, run, g)
    _set_spindle(block, run, m)
    if own == 40:
        _dwell(block, run)
    _set_modes(block, run, g)
    if own is not None and own not in {40, 530}:
        _act(block, run, own)
    if motion is not None:
        _perform(block, run, motion, own)
    for index, value in block.settings:
        run.state.set_parameter(index, value)
    run.state.ended = m.get("stopping") in _ENDS


def _plain(block: Block, run: Run) -> bool:
    """Do a line of axis words in a mode already set; False where there is more to it."""
    motion, letters = run.state.motion, block.values.keys()
    if motion in {0, 10}:
        plain = letters <= _STRAIGHT
    elif motion in ARCS:
        plain = letters <= _ROUND
    else:
        plain = False
    if not (plain and _has_axes(block)):
        return False
    _set_feed(block, run, {})
    _move(block, run, motion, None)
    return True


def _has_axes(block: Block) -> bool:
    values = block.values
    return "x" in values or "y" in values or "z" in values


def _motion(block: Block, run: Run, g: dict[str, int]) -> int | None:
    """Return the motion this line sets or performs, None where it does neither."""
    own, said = g.get("non-modal"), g.get("motion")
    takes_axes = own in TAKES_AXES
    if said is None:
        if takes_axes or not _has_axes(block):
            return None
        if run.state.motion == NO_MOTION:
            raise LineError("X, Y or Z stand here with no motion word (G0, G1 ...) in force")
        said = run.state.motion
    elif said == NO_MOTION:
        if _has_axes(block) and not takes_axes:
            raise LineError("G80 ends motion; X, Y or Z have nothing to do on its line")
    elif own is not None and takes_axes:
        raise LineError(f"{g_name(own)} and {g_name(said)} both want the axis words of one line")
    elif not _has_axes(block):
        if block.values.keys() & _OF_MOTION:
            raise LineError(f"{g_name(said)} needs X, Y or Z, also where it ends as it began")
        run.note(
            f"{g_name(said)} stands without X, Y or Z, which the published rules forbid;"
            " read as choosing the motion of the lines that follow"
        )
    if own == 530 and said not in {0, 10}:
        raise LineError("G53 works only with G0 or G1")
    return said


def _refuse_unused(block: Block, own: int | None, motion: int | None, g: dict[str, int]) -> None:
    """Refuse letters that nothing on the line uses, and axes that this reader has not."""
    used = _used(own, motion)
    if "tool length" in g:
        used += "h"
    faults = []
    for letter in block.values:
        if letter in "abc":
            faults.append(f"{letter.upper()} turns a rotary axis; only X, Y and Z are read")
        elif letter not in used:
            faults.append(f"{letter.upper()} has nothing on its line to belong to")
    if faults:
        raise LineError(*faults)


def _used(own: int | None, motion: int | None) -> str:
    """Return the letters that the words of a line may use."""
    used = "fst"
    if motion is not None or own in TAKES_AXES:
        used += "xyz"
    if motion in ARCS:
        used += "ijkr"
    if motion in CYCLES:
        used += "lrq" if motion == 830 else "lr"
    if motion in DWELLS or own == 40:
        used += "p"
    if own == 100:
        used += "lp"
    return used


def _set_spindle(block: Block, run: Run, m: dict[str, int]) -> None:
    run.state.speed_rpm = block.values.get("s", run.state.speed_rpm)
    if "spindle" in m:
        run.state.turning = m["spindle"] != 5


def _perform(block: Block, run: Run, motion: int, own: int | None) -> None:
    """Set the motion in force, and make it where the line has axis words for it."""
    if motion != run.state.motion:
        run.state.cycle.clear()
    run.state.motion = motion
    if motion != NO_MOTION and _has_axes(block):
        _move(block, run, motion, own)


def _set_feed(block: Block, run: Run, g: dict[str, int]) -> None:
    state, values = run.state, block.values
    mode = g.get("feed mode")
    if mode is not None and (mode == 930) != state.inverse_time:
        state.inverse_time = mode == 930
        state.feed = 0.0
    if state.inverse_time:
        state.feed = values.get("f", 0.0)
    elif "f" in values:
        units = g.get("units")
        unit_mm = state.unit_mm if units is None else _unit_mm(units)
        if state.unit_said and unit_mm != state.unit_mm:
            run.note("F stands on a line that changes the units; read in the new units")
        state.feed = values["f"] * unit_mm


def _unit_mm(word: int) -> float:
    return INCH_MM if word == 200 else 1.0


def _dwell(block: Block, run: Run) -> None:
    seconds = block.values.get("p", -1.0)
    if seconds < 0:
        raise LineError("G4 needs P, the seconds to dwell, 0 or more")
    run.dwell(seconds)


def _set_modes(block: Block, run: Run, g: dict[str, int]) -> None:
    state = run.state
    state.plane = g.get("plane", state.plane)
    if "units" in g:
        state.unit_mm = _unit_mm(g["units"])
        state.unit_said = True
    if g.get("tool length") == 430 and "h" not in block.values:
        raise LineError("G43 needs H, the number of the tool")
    if g.get("tool length") == 430:
        run.note(
            "G43 adds a length from the machine's own table, which the file does not say;"
            " heights are read as those of the tip"
        )
    if "coordinate system" in g:
        system = SYSTEMS.index(g["coordinate system"])
        if system != state.system:
            _assume(run, g_name(g["coordinate system"]))
        state.system = system
    if "distance" in g:
        state.absolute = g["distance"] == 900
    if "cycle return" in g:
        state.to_old_height = g["cycle return"] == 980


def _assume(run: Run, word: str) -> None:
    if not run.state.surveyed:
        run.note(
            f"{word} goes by the machine's own coordinates, which the file does not say;"
            " read as if all of the machine's zeros lay together"
        )


def _act(block: Block, run: Run, own: int) -> None:
    """Do the words that act once: G10, G28, G30, G92 and its kin (table 8, step 19)."""
    state, values = run.state, block.values
    if own == 100:
        _place_system(block, run)
    elif own in {280, 300}:
        _assume(run, g_name(own))
        if _has_axes(block):
            run.rapid(run.target(values))
        run.rapid(subtract(state.homes[own], state.base))
        state.sure = frozenset(_AXES)
    elif own == 920:
        if not _has_axes(block):
            raise LineError("G92 needs at least one of X, Y, Z")
        here = subtract(state.at, state.zero)
        moved = [
            here[axis] - values[letter] * state.unit_mm if letter in values else 0.0
            for axis, letter in enumerate(_AXES)
        ]
        state.shift = add(state.shift, (moved[0], moved[1], moved[2]))
        state.kept_shift = state.shift
        state.sure = state.sure.union(axis for axis in _AXES if axis in values)
        run.tell(values)
    elif own == 923:
        state.shift = state.kept_shift
    else:
        state.shift = ORIGIN
        if own == 921:
            state.kept_shift = ORIGIN


def _place_system(block: Block, run: Run) -> None:
    state, values = run.state, block.values
    if whole(values.get("l", 0.0), "L") != 2:
        raise LineError("G10 is read only with L2")
    number = whole(values.get("p", 0.0), "P")
    if not 1 <= number <= len(SYSTEMS):
        raise LineError(f"G10 L2 needs P, a coordinate system from 1 to {len(SYSTEMS)}")
    _assume(run, "G10")
    origin = [*state.origins[number - 1]]
    for axis, letter in enumerate(_AXES):
        if letter in values:
            origin[axis] = values[letter] * state.unit_mm - state.base[axis]
    state.origins[number - 1] = (origin[0], origin[1], origin[2])


def _move(block: Block, run: Run, motion: int, own: int | None) -> None:
    state, values = run.state, block.values
    if motion in CYCLES:
        add_cycle(run, motion, values)
        return
    if state.inverse_time and motion != 0 and "f" not in values:
        raise LineError("under G93 every cut needs its own F")
    if motion in ARCS:
        add_arc(run, values, clockwise=motion == 20)
        return
    if own == 530:
        _assume(run, "G53")
        place = [*state.at]
        for axis, letter in enumerate(_AXES):
            if letter in values:
                place[axis] = values[letter] * state.unit_mm - state.base[axis]
        to = (place[0], place[1], place[2])
        state.sure = state.sure.union(axis for axis in _AXES if axis in values)
    else:
        to = run.target(values)
    if motion == 0:
        run.rapid(to)
    else:
        run.feed(to)
