"""How long a G-code file runs: feeds as written, slowed by a limit of acceleration.

The model, from elementary kinematics (constant acceleration a):

- along a move the speed rises and falls at a (trapezoid, or triangle where the move is short);
- at a corner the velocity turns by a constant acceleration a for a time T, so it changes by
  dv = a T and the path leaves the corner by dv^2 / (8 a).  That may be at most ``CORNER_MM``, and
  the turn may use at most half of the shorter of the two moves: v T / 2 <= s / 2.  With
  dv = 2 v sin(angle / 2) the speed at the corner is the least of
  sqrt(2 a CORNER_MM) / sin(angle / 2) and sqrt(a s / (2 sin(angle / 2)));
- along an arc v^2 / r may be at most a;
- a dwell begins and ends at rest, as do the first and the last move.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.kernels.arcs_and_times import chain_times
from flushwork.shelf.items import Machine
from flushwork.toolpaths.moves import MoveTable, Program, table_of

CORNER_MM: Final = 0.05
"""How far the machine may round a corner off: assumed, 0.01 to 0.2 mm; a file of 500 short
zigzags timed on the machine would replace it."""

_LEAST_MM: Final = 1e-9
Floats = NDArray[np.float64]


def run_time_s(program: Program, machine: Machine) -> float:
    """Return the seconds a G-code file runs on a machine, with dwells, without stops by hand."""
    return float(move_times_s(program, machine).sum())


def move_times_s(program: Program, machine: Machine) -> Floats:
    """Return the seconds each move takes, shape (moves,).

    Raises ``ValueError`` for a machine without acceleration or rapid speed, and for a cut
    without a feed.
    """
    if machine.acceleration_mm_s2 <= 0.0 or machine.rapid_mm_min <= 0.0:
        raise ValueError("the machine needs an acceleration and a rapid speed above 0")
    table = table_of(program)
    length, leaving, arriving = _courses(table)
    moving = length > _LEAST_MM
    if np.any(moving & table.cuts & (table.feed_mm_min <= 0.0)):
        raise ValueError("a cutting move has no feed")
    times = np.array([move.dwell_s for move in program.moves])
    times[~table.dwells] = 0.0
    top = _tops_mm_s(table, machine)
    for first, after in _chains(np.flatnonzero(table.dwells).tolist(), len(times)):
        going = first + np.flatnonzero(moving[first:after])
        if going.size:
            joints = _joints(
                length[going],
                top[going],
                leaving[going],
                arriving[going],
                machine.acceleration_mm_s2,
            )
            times[going] = chain_times(
                length[going], top[going], joints, machine.acceleration_mm_s2
            )
    return times


def _chains(dwells: list[int], count: int) -> list[tuple[int, int]]:
    bounds = [-1, *dwells, count]
    return [(low + 1, high) for low, high in pairwise(bounds)]


def _tops_mm_s(table: MoveTable, machine: Machine) -> Floats:
    """Return the greatest speed within each move, (moves,)."""
    feed = np.minimum(table.feed_mm_min, machine.feed_mm_min) / 60.0
    away = table.from_mm[:, :2] - table.centre_mm
    radius = np.hypot(away[:, 0], away[:, 1])
    round_it = np.minimum(feed, np.sqrt(machine.acceleration_mm_s2 * radius))
    return np.where(table.rapid, machine.rapid_mm_min / 60.0, np.where(table.arc, round_it, feed))


def _courses(table: MoveTable) -> tuple[Floats, Floats, Floats]:
    """Return each move's length, (moves,), and its unit directions at start and end, (moves, 3).

    A move that leads nowhere has none, nor has a dwell.
    """
    way = table.to_mm - table.from_mm
    length = np.hypot(table.run_mm, table.drop_mm)
    away = table.from_mm[:, :2] - table.centre_mm
    goal = table.to_mm[:, :2] - table.centre_mm
    radius, goal_radius = np.hypot(away[:, 0], away[:, 1]), np.hypot(goal[:, 0], goal[:, 1])
    still = (length <= _LEAST_MM) | (table.arc & (radius <= _LEAST_MM))
    length = np.where(still, 0.0, length)
    safe = np.where(still, 1.0, length)
    straight = way / safe[:, np.newaxis]
    across = np.copysign(table.run_mm / safe, table.turn_rad)
    up = -table.drop_mm / safe

    def about(from_centre: Floats, radius: Floats) -> Floats:
        share = across / np.maximum(radius, _LEAST_MM)
        turned = np.stack([-from_centre[:, 1] * share, from_centre[:, 0] * share, up], axis=1)
        ways = np.where(table.arc[:, np.newaxis], turned, straight)
        return np.where(still[:, np.newaxis], 0.0, ways)

    return length, about(away, radius), about(goal, goal_radius)


def _joints(
    length: Floats, top: Floats, leaving: Floats, arriving: Floats, acceleration: float
) -> Floats:
    """Return the greatest speed at each joint of a chain, shape (moves + 1,), 0 at both ends."""
    joints = np.zeros(length.size + 1)
    if length.size == 1:
        return joints
    cosine = np.clip(np.einsum("ij,ij->i", arriving[:-1], leaving[1:]), -1.0, 1.0)
    half_sine = np.sqrt((1.0 - cosine) / 2.0)
    turned = np.maximum(half_sine, 1e-12)
    shorter = np.minimum(length[:-1], length[1:])
    by_corner = math.sqrt(2.0 * acceleration * CORNER_MM) / turned
    by_room = np.sqrt(acceleration * shorter / (2.0 * turned))
    slower = np.minimum(top[:-1], top[1:])
    joints[1:-1] = np.minimum(np.minimum(by_corner, by_room), slower)
    return joints
