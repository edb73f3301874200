"""How long a cut file runs: feeds as written, slowed by a limit of acceleration.

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

from flushwork.kernels.motion import chain_times
from flushwork.shelf.items import Machine
from flushwork.toolpaths.moves import Move, MoveKind, Program

CORNER_MM: Final = 0.05
"""How far the machine may round a corner off: assumed, 0.01 to 0.2 mm; a file of 500 short
zigzags timed on the machine would replace it."""

_LEAST_MM: Final = 1e-9
Floats = NDArray[np.float64]


def run_time_s(program: Program, machine: Machine) -> float:
    """Return the seconds a cut file runs on a machine, dwells included, stops for the hand not."""
    return float(move_times_s(program, machine).sum())


def move_times_s(program: Program, machine: Machine) -> Floats:
    """Return the seconds each move takes, shape (moves,).

    Raises ``ValueError`` for a machine without acceleration or rapid speed, and for a cut
    without a feed.
    """
    if machine.acceleration_mm_s2 <= 0.0 or machine.rapid_mm_min <= 0.0:
        raise ValueError("the machine needs an acceleration and a rapid speed above 0")
    count = len(program.moves)
    times = np.zeros(count)
    length, top = np.zeros(count), np.zeros(count)
    leaving, arriving = np.zeros((count, 3)), np.zeros((count, 3))
    dwells: list[int] = []
    place = program.start
    for i, move in enumerate(program.moves):
        if move.kind is MoveKind.DWELL:
            times[i] = move.dwell_s
            dwells.append(i)
            continue
        length[i], leaving[i], arriving[i] = _course(place, move)
        if length[i] > _LEAST_MM:
            top[i] = _top_mm_s(place, move, machine)
        place = (move.x_mm, move.y_mm, move.z_mm)
    for first, after in _chains(dwells, count):
        going = first + np.flatnonzero(length[first:after] > _LEAST_MM)
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


def _top_mm_s(place: tuple[float, float, float], move: Move, machine: Machine) -> float:
    if move.kind is MoveKind.RAPID:
        return machine.rapid_mm_min / 60.0
    if move.feed_mm_min <= 0.0:
        raise ValueError("a cutting move has no feed")
    speed = min(move.feed_mm_min, machine.feed_mm_min) / 60.0
    if move.kind is MoveKind.ARC:
        radius = math.dist(place[:2], (move.centre_x_mm, move.centre_y_mm))
        speed = min(speed, math.sqrt(machine.acceleration_mm_s2 * radius))
    return speed


def _course(
    place: tuple[float, float, float], move: Move
) -> tuple[float, tuple[float, float, float], tuple[float, float, float]]:
    """Return the length of a move and its unit directions at start and end."""
    rise = move.z_mm - place[2]
    if move.kind is not MoveKind.ARC:
        dx, dy = move.x_mm - place[0], move.y_mm - place[1]
        length = math.sqrt(dx * dx + dy * dy + rise * rise)
        if length <= _LEAST_MM:
            return 0.0, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
        way = (dx / length, dy / length, rise / length)
        return length, way, way
    ax, ay = place[0] - move.centre_x_mm, place[1] - move.centre_y_mm
    bx, by = move.x_mm - move.centre_x_mm, move.y_mm - move.centre_y_mm
    radius = math.hypot(ax, ay)
    round_mm = abs(move.turn_rad) * radius
    length = math.hypot(round_mm, rise)
    if length <= _LEAST_MM or radius <= _LEAST_MM:
        return 0.0, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    across = math.copysign(round_mm / length, move.turn_rad)
    up = rise / length
    end_radius = max(math.hypot(bx, by), _LEAST_MM)
    return (
        length,
        (-ay / radius * across, ax / radius * across, up),
        (-by / end_radius * across, bx / end_radius * across, up),
    )


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
