"""Where a bit goes and when: a G-code file's path over the board, to be drawn and played."""

from __future__ import annotations

from typing import Any

import numpy as np

from flushwork.built import Build
from flushwork.gcode.run_time import move_times_s
from flushwork.strata.cutting import segments
from flushwork.strata.steps import CutStep
from flushwork.toolpaths.moves import MoveKind
from flushwork.toolpaths.orders import GcodeFile
from flushwork.views.figures import clean


def stage_of(made: Build, file: GcodeFile) -> int:
    """Return the stage a G-code file is run in, 0 where the replay ran it in none."""
    return next((cut.stage for cut in made.replay.cuts if cut.file_name == file.file_name), 0)


def path_data(made: Build, file: GcodeFile) -> dict[str, Any]:
    """Return the path of a G-code file on its face: points in mm, and the second each is reached.

    ``rapid`` tells for each segment whether it is a rapid; depths count from the file's zero.
    """
    order = file.order
    ran = CutStep(order.face, file.file_name, file.program, order.bit, order.origin_mm, 0.0)
    path, owners = segments(ran)
    lengths = np.linalg.norm(path[:, 3:] - path[:, :3], axis=1)
    takes_s = move_times_s(file.program, order.machine)
    whole = np.bincount(owners, lengths, len(takes_s))
    count = np.bincount(owners, minlength=len(takes_s))
    # a move's time is shared by its segments, by length; a dwell's falls to what comes next
    even = np.divide(1.0, count[owners])
    shares = np.divide(lengths, whole[owners], out=even, where=whole[owners] > 0.0)
    reached = (
        np.cumsum(takes_s)[owners] - takes_s[owners] + _within(owners, shares) * takes_s[owners]
    )
    kinds = np.array([move.kind is MoveKind.RAPID for move in file.program.moves], np.bool_)
    points = np.vstack([path[:1, :3], path[:, 3:]])
    return {
        "face": order.face,
        "stage": stage_of(made, file),
        "bit": clean(order.bit.name),
        "bit_mm": order.bit.diameter_mm,
        "setup_left_s": sum(
            other.run_s
            for other in made.gcode_files
            if other.order.setup == order.setup and other.order.sequence > order.sequence
        ),
        "points": np.round(points, 3).ravel().tolist(),
        "at_s": np.round(np.concatenate([[0.0], reached]), 2).tolist(),
        "rapid": np.flatnonzero(kinds[owners]).tolist(),
        "runs_s": float(takes_s.sum()),
    }


def _within(owners: np.ndarray[Any, Any], shares: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Return how much of its move is done at the end of each segment, 0 to 1."""
    done = np.cumsum(shares)
    first = np.flatnonzero(np.diff(owners, prepend=-1))
    before = np.repeat(done[first] - shares[first], np.diff([*first, len(owners)]))
    result: np.ndarray[Any, Any] = done - before
    return result
