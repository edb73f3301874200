"""Canned cycles of a G-code file, expanded to the moves they stand for.

Source: NISTIR 6556, section 3.5.16 (G81 drill, G82 dwell, G83 peck, G85, G86 and G89 bore).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from flushwork.gcode.reader.line_words import LineError, whole
from flushwork.gcode.reader.motion import Run
from flushwork.gcode.reader.state import DWELLS, Vector

BACKED_OFF_MM: Final = 0.254
"""How far above the last floor a peck begins again: 0.010 inch, from memory of the report's
program; the report itself says only "a bit"."""

_PLANES: Final = {170: (0, 1, 2), 180: (2, 0, 1), 190: (1, 2, 0)}
_AXES: Final = "xyz"
_PECK: Final = 830
_LEAST_MM: Final = 1e-9


def add_cycle(run: Run, word: int, values: Mapping[str, float]) -> None:
    """Add the moves of one line in a canned cycle to ``run``.

    Raises ``LineError`` for numbers missing or out of bounds, and under inverse time feed.
    """
    state = run.state
    if state.inverse_time:
        raise LineError("a canned cycle cannot run under inverse time feed (G93)")
    sticky = _numbers(run, word, values)
    first, second, third = _PLANES[state.plane]
    if state.absolute:
        clearance = state.zero[third] + sticky["r"]
        floor = state.zero[third] + sticky["z"]
    else:
        clearance = state.at[third] + sticky["r"]
        floor = clearance + sticky["z"]
    if clearance < floor - _LEAST_MM:
        raise LineError(
            f"the cycle's clearance (R, at {clearance:.4f} mm) lies below the hole's floor"
            f" ({floor:.4f} mm)"
        )
    repeats = whole(values.get("l", 1.0), "L")
    if repeats < 1:
        raise LineError("L, the number of repeats, must be 1 or more")
    if state.at[third] < clearance:
        run.rapid(_lifted(state.at, third, clearance))
    back_to = max(state.at[third], clearance) if state.to_old_height else clearance
    flat = {axis: values[axis] for axis in (_AXES[first], _AXES[second]) if axis in values}
    for _ in range(repeats):
        over = run.target(flat)
        if over != state.at:
            run.rapid(over)
        if state.at[third] != clearance:
            run.rapid(_lifted(over, third, clearance))
        _bore(run, word, _lifted(over, third, floor), third, back_to)


def _numbers(run: Run, word: int, values: Mapping[str, float]) -> dict[str, float]:
    """Return R, Z, P and Q of the cycle, sticky while the same cycle goes on."""
    state = run.state
    depth = _AXES[_PLANES[state.plane][2]]
    sticky = state.cycle
    for name, letter, unit in (("r", "r", state.unit_mm), ("z", depth, state.unit_mm)):
        if letter in values:
            sticky[name] = values[letter] * unit
        elif name not in sticky:
            raise LineError(f"a canned cycle needs {letter.upper()} the first time")
    if depth in values and state.absolute:
        state.sure |= {depth}
    if word in DWELLS:
        sticky["p"] = values.get("p", sticky.get("p", -1.0))
        if sticky["p"] < 0:
            raise LineError("this cycle needs P, the seconds to dwell, 0 or more")
    if word == _PECK:
        if "q" in values:
            sticky["q"] = values["q"] * state.unit_mm
        if sticky.get("q", 0.0) <= 0:
            raise LineError("G83 needs Q, the depth of one peck, above 0")
    return sticky


def _bore(run: Run, word: int, floor: Vector, third: int, back_to: float) -> None:
    state = run.state
    if word == _PECK:
        _peck(run, floor, third, back_to)
    else:
        run.feed(floor)
    if word in DWELLS:
        run.dwell(state.cycle["p"])
    out = _lifted(floor, third, back_to)
    if word in {850, 890}:
        run.feed(out)
        return
    turning = state.turning
    if word == 860:
        state.turning = False
    run.rapid(out)
    state.turning = turning


def _peck(run: Run, floor: Vector, third: int, back_to: float) -> None:
    step = run.state.cycle["q"]
    top = run.state.at[third]
    number = 1
    while (reached := top - number * step) > floor[third] + _LEAST_MM:
        run.feed(_lifted(floor, third, reached))
        run.rapid(_lifted(floor, third, back_to))
        run.rapid(_lifted(floor, third, min(reached + BACKED_OFF_MM, back_to)))
        number += 1
    run.feed(floor)


def _lifted(place: Vector, axis: int, height: float) -> Vector:
    changed = [*place]
    changed[axis] = height
    return changed[0], changed[1], changed[2]
