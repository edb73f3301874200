"""Arcs of a G-code file, in centre and in radius format, in all three planes.

Source: NISTIR 6556, section 3.5.3.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from flushwork.gcode.reader.line_words import LineError
from flushwork.gcode.reader.motion import Run
from flushwork.gcode.reader.state import Vector

RADII_WITHIN_MM: Final = 0.002
"""Radii to start and end may differ by this much in a file in mm (section 3.5.3.2)."""

RADII_WITHIN_INCH_MM: Final = 0.0002 * 25.4
"""The same in a file in inches: 0.0002 inch (section 3.5.3.2)."""

CHORD_MM: Final = 0.002
"""Arcs outside the XY plane become chords no farther than this from the arc."""

_PLANES: Final = {170: (0, 1, 2), 180: (2, 0, 1), 190: (1, 2, 0)}
_OFFSETS: Final = "ijk"
_AXES: Final = "xyz"
_SAME_MM: Final = 1e-7
_FULL_TURN: Final = 2.0 * math.pi


def add_arc(run: Run, values: Mapping[str, float], clockwise: bool) -> None:
    """Add the arc of one line to ``run``.

    An arc in the XZ or YZ plane becomes straight moves within 0.002 mm.  Raises ``LineError`` for
    missing words, radii that differ by more than the published 0.002 mm (0.0002 inch) and the
    rounding of the printed numbers allow, an end that the radius cannot reach.
    """
    first, second, third = plane = _PLANES[run.state.plane]
    in_plane = [_AXES[first], _AXES[second]]
    if not any(axis in values for axis in in_plane):
        shown = " or ".join(sorted(axis.upper() for axis in in_plane))
        raise LineError(f"an arc needs the {shown} of its end, also where it ends as it began")
    offsets = [letter for letter in _OFFSETS if letter in values]
    start = run.state.at
    end = run.target(values)
    flat_start, flat_end = (start[first], start[second]), (end[first], end[second])
    if "r" in values:
        if offsets:
            raise LineError(f"an arc has R or {offsets[0].upper()}, not both")
        radius = values["r"] * run.state.unit_mm
        centre = _centre_by_radius(run, flat_start, flat_end, radius, clockwise)
    else:
        if _OFFSETS[third] in values:
            raise LineError(f"{_OFFSETS[third].upper()} does not belong to an arc in this plane")
        if not offsets:
            wanted = " and ".join(sorted((_OFFSETS[first].upper(), _OFFSETS[second].upper())))
            raise LineError(f"an arc needs its centre ({wanted}) or its radius (R)")
        centre = (
            flat_start[0] + values.get(_OFFSETS[first], 0.0) * run.state.unit_mm,
            flat_start[1] + values.get(_OFFSETS[second], 0.0) * run.state.unit_mm,
        )
    if "r" not in values:
        _check_radii(run, flat_start, flat_end, centre)
    turn_rad = _turn(flat_start, flat_end, centre, clockwise)
    if run.state.plane == 170:
        run.arc(end, centre, turn_rad)
    else:
        _add_chords(run, end, plane, centre, turn_rad)


def _check_radii(
    run: Run, start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float]
) -> None:
    at_start, at_end = math.dist(start, centre), math.dist(end, centre)
    if at_start == 0.0:
        raise LineError("an arc's centre lies on its start")
    within_mm = RADII_WITHIN_MM if run.state.unit_mm == 1.0 else RADII_WITHIN_INCH_MM
    apart_mm = abs(at_start - at_end) - 1e-9
    # the published bound is one for exact numbers; a program can print no more than it prints
    if apart_mm > within_mm and apart_mm > (
        within_mm := within_mm + run.decimals.radii_apart() * run.state.unit_mm
    ):
        raise LineError(
            f"an arc's radius is {at_start:.4f} mm at its start and {at_end:.4f} mm at its end;"
            f" they may differ by {within_mm:.2g} mm"
        )


def _centre_by_radius(
    run: Run,
    start: tuple[float, float],
    end: tuple[float, float],
    radius: float,
    clockwise: bool,
) -> tuple[float, float]:
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    if chord <= _SAME_MM:
        raise LineError("an arc with R may not end where it begins")
    beyond = chord / 2.0 - abs(radius) - RADII_WITHIN_MM / 2.0
    if beyond > 0.0 and beyond > run.decimals.chord_beyond() * run.state.unit_mm:
        raise LineError(
            f"an arc of radius {abs(radius):.4f} mm cannot reach an end {chord:.4f} mm away"
        )
    height = math.sqrt(max(radius * radius - chord * chord / 4.0, 0.0))
    if clockwise == (radius > 0):
        height = -height
    return (
        start[0] + dx / 2.0 - height * dy / chord,
        start[1] + dy / 2.0 + height * dx / chord,
    )


def _turn(
    start: tuple[float, float],
    end: tuple[float, float],
    centre: tuple[float, float],
    clockwise: bool,
) -> float:
    """Return the signed sweep; a full turn where the arc ends as it began."""
    if math.dist(start, end) <= _SAME_MM:
        return -_FULL_TURN if clockwise else _FULL_TURN
    swept = math.atan2(end[1] - centre[1], end[0] - centre[0]) - math.atan2(
        start[1] - centre[1], start[0] - centre[0]
    )
    return -((-swept) % _FULL_TURN) if clockwise else swept % _FULL_TURN


def _add_chords(
    run: Run,
    end: Vector,
    plane: tuple[int, int, int],
    centre: tuple[float, float],
    turn_rad: float,
) -> None:
    first, second, third = plane
    start = run.state.at
    radius = math.dist((start[first], start[second]), centre)
    begin_rad = math.atan2(start[second] - centre[1], start[first] - centre[0])
    step_rad = 2.0 * math.acos(max(1.0 - CHORD_MM / radius, 0.0))
    count = max(math.ceil(abs(turn_rad) / step_rad), 1)
    inverse_time, feed = run.state.inverse_time, run.state.feed
    if inverse_time:
        run.state.feed = feed * count
    for number in range(1, count):
        share = number / count
        angle = begin_rad + turn_rad * share
        place = [0.0, 0.0, 0.0]
        place[first] = centre[0] + radius * math.cos(angle)
        place[second] = centre[1] + radius * math.sin(angle)
        place[third] = start[third] + (end[third] - start[third]) * share
        run.feed((place[0], place[1], place[2]))
    run.feed(end)
    run.state.feed = feed
