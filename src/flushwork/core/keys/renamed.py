"""Words of the first version of the language, and the word that is written now.

Nothing reads an old word as if it were the new one: a finding names the new word at its line.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

KEYS: Final[Mapping[str, str]] = {
    "cut files": "gcode files",
    "cut files from elsewhere": "imported files",
    "cut witness marks": "cut registration marks",
    "cutter": "bit",
    "cutters": "bits",
    "flatten": "surface",
    "key": "scuff sand",
    "least web": "least wood between faces",
    "level": "mill flush",
    "mountings": "setups",
    "rim": "overspill",
    "sanding spread": "sanding variation",
    "skin": "left proud",
    "spoilboard skin": "spoilboard depth",
    "timber": "wood",
    "timbers": "woods",
    "turned over about": "flipped",
    "witness marks": "registration marks",
}
VALUES: Final[Mapping[str, str]] = {
    "flooded": "overfilled",
    "its length": "top to bottom",
    "its width": "side to side",
    "scraped": "scraped flush",
    "scraped and capped": "scraped flush and capped",
    "vee": "V-bit",
}
NAMES: Final[Mapping[str, str]] = {" facing": " facing bit", " vee": " V-bit"}
"""How names of bits on the packaged shelf end."""

STEPS: Final[Mapping[str, str]] = {"flatten": "surface", "level": "mill flush"}
"""The first word of a step."""

COMMANDS: Final[Mapping[str, str]] = {
    "cutters": "bits",
    "gates": "no-return",
    "--mounting": "--setup",
}
CODES: Final[Mapping[str, str]] = {
    "cut-file-cuts-nothing": "gcode-file-cuts-nothing",
    "cut-file-leaves-open": "gcode-file-leaves-open",
    "cut-file-line-unread": "gcode-file-line-unread",
    "cut-file-no-text": "gcode-file-no-text",
    "cut-file-not-found": "gcode-file-not-found",
    "cut-file-other-dialect": "gcode-file-other-dialect",
    "cut-file-several-cutters": "gcode-file-several-bits",
    "cut-file-step-twice": "gcode-file-step-twice",
    "cut-file-step-unclear": "gcode-file-step-unclear",
    "cut-file-taken-in": "gcode-file-taken-in",
    "cut-file-unreadable": "gcode-file-unreadable",
    "cut-files-altered": "gcode-files-altered",
    "cut-files-stale": "gcode-files-stale",
    "cutter-cannot-pass": "bit-cannot-pass",
    "cutter-cannot-plunge": "bit-cannot-plunge",
    "cutter-size-slip": "bit-size-slip",
    "cutter-wears": "bit-wears",
    "freed-then-mounted": "freed-then-set-up",
    "hole-cutter-too-wide": "hole-bit-too-wide",
    "levelling-off": "flush-milling-off",
    "no-cutter-for-it": "no-bit-for-it",
    "other-cutter-called": "other-bit-called",
    "sanded-unlevelled": "sanded-before-flush",
    "thinned-flood": "thinned-overfill",
    "turned-off-its-pins": "flipped-off-its-pins",
    "web-broken": "wood-between-gone",
    "web-too-thin": "wood-between-too-thin",
    "witness-mark-disagrees": "registration-mark-disagrees",
    "witness-marks-read": "registration-marks-read",
    "witness-marks-too-few": "registration-marks-too-few",
    "witness-marks-unlikely": "registration-marks-unlikely",
}
AMERICAN: Final[Mapping[str, str]] = {
    "color": "colour", "colors": "colours", "grain color": "grain colour"
}  # fmt: skip
"""Keys that are read in American spelling too."""


def key_now(key: str, known: Iterable[str]) -> str | None:
    """Return the name that an old key has now, where it is one of those known in its place."""
    now = KEYS.get(key)
    return now if now in set(known) else None


def name_now(name: str, known: Iterable[str]) -> str | None:
    """Return the name that a thing of the packaged shelf has now, if it is one of those known."""
    now = next(
        (name.removesuffix(old) + new for old, new in NAMES.items() if name.endswith(old)), None
    )
    return now if now in set(known) else None


def step_now(step: str) -> str | None:
    """Return a step of the order as it is called now, None where nothing of it has changed."""
    kind, space, rest = step.partition(" ")
    return STEPS[kind] + space + rest if kind in STEPS else None
