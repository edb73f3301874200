"""What the reader knows between two lines of a G-code file.

Positions are in mm in the frame of the result: that of the coordinate system in force when the
file begins.  Source: NISTIR 6556, sections 3.2.1 to 3.2.3 and 3.5.18.

The G and M words of the published language, by modal group.

Source: NISTIR 6556, tables 4 to 7.  G words are kept in tenths (G59.3 is 593).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from flushwork.gcode.reader.line_words import LineError

Vector = tuple[float, float, float]

ORIGIN: Final[Vector] = (0.0, 0.0, 0.0)
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


G_GROUPS: Final[dict[str, tuple[int, ...]]] = {
    "non-modal": (40, 100, 280, 300, 530, 920, 921, 922, 923),
    "motion": (0, 10, 20, 30, 382, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890),
    "plane": (170, 180, 190),
    "distance": (900, 910),
    "feed mode": (930, 940),
    "units": (200, 210),
    "bit radius": (400, 410, 420),
    "tool length": (430, 490),
    "cycle return": (980, 990),
    "coordinate system": (540, 550, 560, 570, 580, 590, 591, 592, 593),
    "path control": (610, 611, 640),
}

M_GROUPS: Final[dict[str, tuple[int, ...]]] = {
    "stopping": (0, 1, 2, 30, 60),
    "tool change": (6,),
    "spindle": (3, 4, 5),
    "flood": (8,),
    "mist": (7,),
    "coolant off": (9,),
    "overrides": (48, 49),
}

UNREAD: Final[dict[int, str]] = {
    382: "probes for a surface, whose place the file does not say",
    410: "offsets the path by a bit radius that the file does not say",
    420: "offsets the path by a bit radius that the file does not say",
    840: "taps a thread",
    870: "bores from behind",
    880: "leaves the way out to the operator's hand",
}
"""G words of the published language that this reader names instead of guessing at."""

GROUP_OF_G: Final = {word: group for group, words in G_GROUPS.items() for word in words}
GROUP_OF_M: Final = {word: group for group, words in M_GROUPS.items() for word in words}

CYCLES: Final = frozenset({810, 820, 830, 850, 860, 890})
DWELLS: Final = frozenset({820, 860, 890})
ARCS: Final = frozenset({20, 30})
TAKES_AXES: Final = frozenset({100, 280, 300, 920})

MOST_M_WORDS: Final = 4
"""M words allowed on one line (NISTIR 6556, section 3.4)."""


def g_name(word: int) -> str:
    """Return how a G word is written: 593 is ``G59.3``."""
    return f"G{word // 10}" if word % 10 == 0 else f"G{word // 10}.{word % 10}"


def grouped_g(words: tuple[int, ...]) -> dict[str, int]:
    """Sort a line's G words by group; raise ``LineError`` on unknown ones and on rivals."""
    unknown, rivals, found = _grouped(words, GROUP_OF_G, g_name)
    unread = [f"{g_name(word)} {UNREAD[word]}; it is not read" for word in words if word in UNREAD]
    return _or_raised((*unknown, *unread, *rivals), found)


def grouped_m(words: tuple[int, ...]) -> dict[str, int]:
    """Sort a line's M words by group; raise ``LineError`` on unknown ones and on rivals."""
    unknown, rivals, found = _grouped(words, GROUP_OF_M, lambda word: f"M{word}")
    faults = [*unknown, *rivals]
    if "coolant off" in found and ("flood" in found or "mist" in found):
        faults.append("M9 cannot stand on one line with M7 or M8")
    if len(words) > MOST_M_WORDS:
        faults.append(f"more than {MOST_M_WORDS} M words on one line")
    return _or_raised(faults, found)


def _or_raised(faults: Sequence[str], found: dict[str, int]) -> dict[str, int]:
    if faults:
        raise LineError(*faults)
    return found


def _grouped(
    words: tuple[int, ...], group_of: Mapping[int, str], name: Callable[[int], str]
) -> tuple[list[str], list[str], dict[str, int]]:
    """Return what is wrong with unknown words and with rivals, and the words by their groups."""
    rivals: list[str] = []
    found: dict[str, int] = {}
    for word in words:
        group = group_of.get(word)
        if group is None:
            continue
        if group in found:
            rivals.append(
                f"{name(found[group])} and {name(word)} are both of the {group} group"
                " and cannot stand on one line"
            )
        found[group] = word
    unknown = [word for word in words if word not in group_of]
    told = [f"{name(word)} is not a word of the published language" for word in unknown]
    return told, rivals, found
