"""A second reading of G-code files, for tests only, written apart from the program's own.

Written from the published rules (NISTIR 6556) in another manner on purpose: every line becomes a
plain list of tokens, the machine is a dictionary of words in force, the plane is the complex plane,
and the result is where the tip comes by: (kind, x, y, z) in mm, an arc by its middle and its end.
It knows what the tests need and fails loudly on the rest.
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import dataclass, field

Visit = tuple[str, float, float, float]

MODES = {
    "motion": "G0 G1 G2 G3 G80 G81 G82 G83 G85 G89",
    "plane": "G17",
    "units": "G20 G21",
    "distance": "G90 G91",
    "rate": "G93 G94",
    "radius": "G40",
    "length": "G49",
    "return": "G98 G99",
    "zero": "G54 G55 G56",
    "path": "G61 G64",
}
ONCE = {"G4", "G10", "G53", "G92", "G92.1"}
MODE_OF = {word: mode for mode, words in MODES.items() for word in words.split()}


class NotUnderstoodError(Exception):
    pass


@dataclass
class Machine:
    here: complex = 0j
    height: float = 0.0
    mode: dict[str, str] = field(
        default_factory=lambda: {
            "motion": "G80",
            "units": "G21",
            "distance": "G90",
            "return": "G98",
            "zero": "G54",
        }
    )
    zeros: dict[str, tuple[complex, float]] = field(default_factory=dict)
    offset: tuple[complex, float] = (0j, 0.0)
    held: dict[str, float] = field(default_factory=dict)
    visits: list[Visit] = field(default_factory=list)
    outermost: bool = False

    def go(self, kind: str, here: complex, height: float) -> None:
        self.here, self.height = here, height
        self.visits.append((kind, here.real, here.imag, height))


def tokens(line: str) -> list[tuple[str, float]]:
    bare = re.sub(r"\s", "", re.sub(r"\(.*?\)|;.*$", "", line)).upper().lstrip("/")
    found = re.findall(r"([A-Z])([-+]?(?:[0-9]+[.]?[0-9]*|[.][0-9]+))", bare)
    if "".join(letter + number for letter, number in found) != bare:
        raise NotUnderstoodError(line)
    return [(letter, float(number)) for letter, number in found if letter != "N"]


def read(text: str, outermost: bool = False) -> list[Visit]:
    """Return where the tip comes by, of arcs the ``outermost`` places too where that is asked."""
    machine = Machine(outermost=outermost)
    for line in text.splitlines():
        if line.strip() == "%":
            continue
        pairs = tokens(line)
        codes = [f"{letter}{number:g}" for letter, number in pairs if letter in "GM"]
        given = {letter: number for letter, number in pairs if letter not in "GM"}
        for code in codes:
            if code in MODE_OF:
                machine.mode[MODE_OF[code]] = code
            elif code[0] == "G" and code not in ONCE:
                raise NotUnderstoodError(line)
        obey(machine, codes, given)
        if "M2" in codes or "M30" in codes:
            break
    return machine.visits


def obey(machine: Machine, codes: list[str], given: dict[str, float]) -> None:
    unit = 25.4 if machine.mode["units"] == "G20" else 1.0
    length = {letter: given[letter] * unit for letter in given if letter in "XYZIJKRQ"}
    if "G4" in codes:
        machine.go("dwell", machine.here, machine.height)
    if "G92.1" in codes:
        machine.offset = (0j, 0.0)
    if "G10" in codes or "G92" in codes:
        place_zero(machine, "G10" in codes, length, given)
        return
    if not set("XYZ") & given.keys():
        return
    zero = machine.zeros.get(machine.mode["zero"], (0j, 0.0))
    base = zero[0] + machine.offset[0], zero[1] + machine.offset[1]
    if "G53" in codes:
        base = 0j, 0.0
    motion = machine.mode["motion"]
    if motion in {"G81", "G82", "G83", "G85", "G89"}:
        drill(machine, motion, length, given, base)
        return
    if machine.mode["distance"] == "G91" and "G53" not in codes:
        target = machine.here + complex(length.get("X", 0.0), length.get("Y", 0.0))
        height = machine.height + length.get("Z", 0.0)
    else:
        target = absolute(machine, length, base[0])
        height = length["Z"] + base[1] if "Z" in length else machine.height
    if motion in {"G0", "G1"}:
        machine.go("rapid" if motion == "G0" else "cut", target, height)
    elif motion in {"G2", "G3"}:
        bend(machine, motion == "G2", target, height, length)
    else:
        raise NotUnderstoodError(motion)


def place_zero(
    machine: Machine, of_system: bool, length: dict[str, float], given: dict[str, float]
) -> None:
    if of_system:
        corner = complex(length.get("X", 0.0), length.get("Y", 0.0))
        machine.zeros[f"G{53 + int(given['P'])}"] = corner, length.get("Z", 0.0)
        return
    zero = machine.zeros.get(machine.mode["zero"], (0j, 0.0))
    bare, (old, old_height) = machine.here - zero[0], machine.offset
    machine.offset = (
        complex(
            bare.real - length["X"] if "X" in length else old.real,
            bare.imag - length["Y"] if "Y" in length else old.imag,
        ),
        machine.height - zero[1] - length["Z"] if "Z" in length else old_height,
    )


def absolute(machine: Machine, length: dict[str, float], base: complex) -> complex:
    return complex(
        length["X"] + base.real if "X" in length else machine.here.real,
        length["Y"] + base.imag if "Y" in length else machine.here.imag,
    )


def bend(
    machine: Machine, clockwise: bool, target: complex, height: float, length: dict[str, float]
) -> None:
    begin = machine.here
    if "R" in length:
        half = (target - begin) / 2
        rise = math.sqrt(max(length["R"] ** 2 - abs(half) ** 2, 0.0))
        left = half / abs(half) * 1j * rise
        centre = begin + half + (left if (length["R"] < 0) == clockwise else -left)
    else:
        centre = begin + complex(length.get("I", 0.0), length.get("J", 0.0))
    if abs(abs(begin - centre) - abs(target - centre)) > 0.0051:
        raise NotUnderstoodError("radii differ")
    turned = cmath.phase((target - centre) / (begin - centre))
    if abs(target - begin) < 1e-7:
        turned = 2 * math.pi
    elif turned < 0:
        turned += 2 * math.pi
    if clockwise:
        turned = turned - 2 * math.pi if abs(target - begin) >= 1e-7 else -turned
    low, shares = machine.height, [0.5]
    if machine.outermost:
        quarters = [0.5 * math.pi * number for number in range(-8, 9)]
        ahead = [(angle - cmath.phase(begin - centre)) / turned for angle in quarters]
        shares += [share for share in ahead if 0 < share < 1]
    for share in sorted(shares):
        place = centre + (begin - centre) * cmath.exp(1j * share * turned)
        machine.go("cut", place, low + share * (height - low))
    machine.go("cut", target, height)


def drill(
    machine: Machine,
    word: str,
    length: dict[str, float],
    given: dict[str, float],
    base: tuple[complex, float],
) -> None:
    if machine.held.get("word") != float(word[1:]):
        machine.held = {"word": float(word[1:])}
    machine.held.update({letter: length[letter] for letter in "ZRQ" if letter in length})
    held = machine.held
    stepping = machine.mode["distance"] == "G91"
    near = held["R"] + (machine.height if stepping else base[1])
    deep = held["Z"] + (near if stepping else base[1])
    if machine.height < near:
        machine.go("rapid", machine.here, near)
    up = machine.height if machine.mode["return"] == "G98" else near
    for _ in range(int(given.get("L", 1))):
        if stepping:
            over = machine.here + complex(length.get("X", 0.0), length.get("Y", 0.0))
        else:
            over = absolute(machine, length, base[0])
        machine.go("rapid", over, machine.height)
        machine.go("rapid", over, near)
        if word == "G83":
            floors = [near - held["Q"] * k for k in range(1, 1000)]
            for floor in [floor for floor in floors if floor > deep + 1e-9]:
                machine.go("cut", over, floor)
                machine.go("rapid", over, up)
                machine.go("rapid", over, min(floor + 0.254, up))
        machine.go("cut", over, deep)
        if word in {"G82", "G89"}:
            machine.go("dwell", over, deep)
        machine.go("cut" if word in {"G85", "G89"} else "rapid", over, up)
