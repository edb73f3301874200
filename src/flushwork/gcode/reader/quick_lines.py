"""The short way through the lines that nearly all of a G-code file is made of.

``X1.000 Y2.000`` in a settled mode needs none of the published order of execution: it leads to a
place.  ``read`` tries this way first and goes the long one wherever it does not apply, also for
every line that breaks a rule, so that nothing is named here.
"""

from __future__ import annotations

import re
from typing import Final

from flushwork.gcode.reader.arcs import add_arc
from flushwork.gcode.reader.line_words import LineError
from flushwork.gcode.reader.motion import Run
from flushwork.gcode.reader.state import ARCS, State
from flushwork.toolpaths.moves import Move, MoveKind

_NUMBER: Final = r"(-?\d{1,9}\.\d{0,9}) ?"
_LINE: Final = re.compile(
    r"(?:N\d{1,5} )?(?:G([0123]) )?" + "".join(f"(?:{letter}{_NUMBER})?" for letter in "XYZIJF"),
    re.ASCII,
)
_RAPID: Final = 0
_FEED: Final = 10
_MOTIONS: Final = {"0": _RAPID, "1": _FEED, "2": 20, "3": 30}
_XY: Final = 170


def take_settled(raw: str, run: Run) -> bool:
    """Do one line that is a mere motion in a settled mode; otherwise do nothing, return False."""
    found = _LINE.fullmatch(raw)
    if found is None or not run.is_placed or not _settled(run.state):
        return False
    word, x, y, z, i, j, f = found.groups()
    state = run.state
    motion = state.motion if word is None else _MOTIONS[word]
    if x is None and y is None and z is None:
        return False
    unit_mm = state.unit_mm
    feed = state.feed if f is None else float(f) * unit_mm
    if feed <= 0.0:
        return False
    if motion in ARCS:
        return _arc(run, motion, (x, y, z, i, j), feed)
    if (motion not in {_RAPID, _FEED}) or i is not None or j is not None:
        return False
    at, zero = state.at, state.zero
    to = (
        at[0] if x is None else zero[0] + float(x) * unit_mm,
        at[1] if y is None else zero[1] + float(y) * unit_mm,
        at[2] if z is None else zero[2] + float(z) * unit_mm,
    )
    rpm = state.speed_rpm if state.turning else 0.0
    if motion == _FEED:
        run.moves.append(Move(MoveKind.FEED, *to, feed, 0.0, 0.0, 0.0, 0.0, rpm, run.line))
    else:
        run.moves.append(Move(MoveKind.RAPID, *to, 0.0, 0.0, 0.0, 0.0, 0.0, rpm, run.line))
    state.at, state.feed = to, feed
    _set_motion(state, motion)
    return True


def _settled(state: State) -> bool:
    """Return whether an axis word can only mean one thing, and nothing has to be assumed."""
    return (
        state.absolute
        and not state.inverse_time
        and state.unit_said
        and len(state.sure) == 3
        and state.plane == _XY
    )


def _arc(run: Run, motion: int, words: tuple[str | None, ...], feed: float) -> bool:
    """Add an arc in centre format; False where it has a fault, which is then told elsewhere."""
    state = run.state
    before = state.feed
    values = {
        letter: float(word) for letter, word in zip("xyzij", words, strict=True) if word is not None
    }
    state.feed = feed
    try:
        add_arc(run, values, clockwise=motion == _MOTIONS["2"])
    except LineError:
        state.feed = before
        return False
    _set_motion(state, motion)
    return True


def _set_motion(state: State, motion: int) -> None:
    if motion != state.motion:
        state.cycle.clear()
        state.motion = motion
