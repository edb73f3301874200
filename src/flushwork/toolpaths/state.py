"""What the reader knows between two lines of a cut file.

Positions are in mm in the frame of the result: that of the coordinate system in force when the
file begins.  Source: NISTIR 6556, sections 3.2.1 to 3.2.3 and 3.5.18.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

Vector = tuple[float, float, float]

ORIGIN: Final[Vector] = (0.0, 0.0, 0.0)
INCH_MM: Final = 25.4
SYSTEMS: Final = (540, 550, 560, 570, 580, 590, 591, 592, 593)
NO_MOTION: Final = 800

_SHIFT_AT: Final = 5211
_SYSTEM_AT: Final = 5220
_FIRST_SYSTEM_AT: Final = 5221
_SYSTEM_STRIDE: Final = 20
_HOMES_AT: Final = {280: 5161, 300: 5181}


@dataclass(slots=True)
class State:
    """Modal settings, place and offsets.

    ``at`` is where the tip stands.  ``origins`` are the zeros of the nine coordinate systems,
    ``shift`` the G92 offset in force and ``kept_shift`` the one its parameters hold.  ``base`` is
    the machine's zero taken negatively: a place by the machine's own coordinates is
    ``value - base``.  ``surveyed`` says that the machine's offsets are known and not assumed to
    be zero.  ``sure`` are the axes whose place the file has said.  ``cycle`` holds the sticky
    numbers of the canned cycle in force, in mm and s.  ``feed`` is in mm/min, under G93 in moves
    per minute.
    """

    at: Vector = ORIGIN
    origins: list[Vector] = field(default_factory=lambda: [ORIGIN] * len(SYSTEMS))
    system: int = 0
    shift: Vector = ORIGIN
    kept_shift: Vector = ORIGIN
    homes: dict[int, Vector] = field(default_factory=lambda: {280: ORIGIN, 300: ORIGIN})
    base: Vector = ORIGIN
    surveyed: bool = False
    sure: frozenset[str] = frozenset()
    unit_mm: float = 1.0
    unit_said: bool = False
    motion: int = NO_MOTION
    plane: int = 170
    absolute: bool = True
    inverse_time: bool = False
    to_old_height: bool = True
    feed: float = 0.0
    speed_rpm: float = 0.0
    turning: bool = False
    cycle: dict[str, float] = field(default_factory=dict)
    parameters: dict[int, float] = field(default_factory=dict)
    ended: bool = False

    @property
    def zero(self) -> Vector:
        """Where the programmed zero lies now."""
        return add(self.origins[self.system], self.shift)

    @property
    def rpm(self) -> float:
        """How fast the spindle turns, 0 where it stands still."""
        return self.speed_rpm if self.turning else 0.0

    def parameter(self, index: int) -> float:
        """Return a numbered parameter in the units in force, 0 where it was never set."""
        if index == _SYSTEM_AT:
            return float(self.system + 1)
        place = self._place(index)
        if place is None:
            return self.parameters.get(index, 0.0)
        vector, axis = place
        return vector[axis] / self.unit_mm

    def set_parameter(self, index: int, value: float) -> None:
        """Set a numbered parameter, given in the units in force."""
        length = value * self.unit_mm
        system, axis = divmod(index - _FIRST_SYSTEM_AT, _SYSTEM_STRIDE)
        if 0 <= system < len(SYSTEMS) and axis < 3:
            self.origins[system] = _with(self.origins[system], axis, length - self.base[axis])
        elif 0 <= index - _SHIFT_AT < 3:
            self.kept_shift = _with(self.kept_shift, index - _SHIFT_AT, length)
        else:
            for word, first in _HOMES_AT.items():
                if 0 <= index - first < 3:
                    self.homes[word] = _with(self.homes[word], index - first, length)
            self.parameters[index] = value

    def _place(self, index: int) -> tuple[Vector, int] | None:
        system, axis = divmod(index - _FIRST_SYSTEM_AT, _SYSTEM_STRIDE)
        if 0 <= system < len(SYSTEMS) and axis < 3:
            return add(self.origins[system], self.base), axis
        if 0 <= index - _SHIFT_AT < 3:
            return self.kept_shift, index - _SHIFT_AT
        for word, first in _HOMES_AT.items():
            if 0 <= index - first < 3:
                return self.homes[word], index - first
        return None

    def copied(self) -> State:
        """Return a state that stays as it is when this one changes."""
        return replace(
            self,
            origins=self.origins.copy(),
            homes=self.homes.copy(),
            cycle=self.cycle.copy(),
            parameters=self.parameters.copy(),
        )


def add(left: Vector, right: Vector) -> Vector:
    """Return the sum of two places or shifts."""
    return left[0] + right[0], left[1] + right[1], left[2] + right[2]


def subtract(left: Vector, right: Vector) -> Vector:
    """Return the difference of two places or shifts."""
    return left[0] - right[0], left[1] - right[1], left[2] - right[2]


def _with(vector: Vector, axis: int, value: float) -> Vector:
    changed = [*vector]
    changed[axis] = value
    return changed[0], changed[1], changed[2]


def beginning(parameters: Mapping[int, float] | None) -> State:
    """Return the state before the first line.

    ``parameters`` are the machine's own numbered parameters in mm (NISTIR 6556, table 2: 5161 and
    5181 on the homes, 5220 the coordinate system in force, 5221, 5241 ... their zeros); ``None``
    where nobody has said them.
    """
    state = State(surveyed=parameters is not None)
    if parameters is None:
        return state
    state.system = round(parameters.get(_SYSTEM_AT, 1.0)) - 1
    if not 0 <= state.system < len(SYSTEMS):
        raise ValueError(f"parameter {_SYSTEM_AT} must be 1 to {len(SYSTEMS)}")
    first = _FIRST_SYSTEM_AT + _SYSTEM_STRIDE * state.system
    state.base = (
        parameters.get(first, 0.0),
        parameters.get(first + 1, 0.0),
        parameters.get(first + 2, 0.0),
    )
    state.origins = [subtract(ORIGIN, state.base)] * len(SYSTEMS)
    for index, value in parameters.items():
        if index != _SYSTEM_AT:
            state.set_parameter(index, value)
    return state
