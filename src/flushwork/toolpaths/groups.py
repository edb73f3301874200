"""The G and M words of the published language, by modal group.

Source: NISTIR 6556, tables 4 to 7.  G words are kept in tenths (G59.3 is 593).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from flushwork.toolpaths.line_errors import LineError

G_GROUPS: Final[dict[str, tuple[int, ...]]] = {
    "non-modal": (40, 100, 280, 300, 530, 920, 921, 922, 923),
    "motion": (0, 10, 20, 30, 382, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890),
    "plane": (170, 180, 190),
    "distance": (900, 910),
    "feed mode": (930, 940),
    "units": (200, 210),
    "cutter radius": (400, 410, 420),
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
    410: "offsets the path by a cutter radius that the file does not say",
    420: "offsets the path by a cutter radius that the file does not say",
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
