"""Cut files that another program has written, as they came."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from flushwork.findings import Source
from flushwork.shelf.items import Cutter

KEY: Final = "cut files from elsewhere"


class HeightZero(StrEnum):
    """What the Z0 of a file lies on."""

    STANDING = "face as it stands"
    FINISHED = "finished face"
    UNDERSIDE = "underside"


@dataclass(frozen=True, slots=True)
class BroughtFile:
    """One file as it came: ``name`` as the job names it, its text and how that is encoded.

    ``inch`` holds for files that say neither G20 nor G21; None where nobody has said it.
    """

    name: str
    text: str
    encoding: str
    cutter: Cutter
    inch: bool | None
    source: Source


@dataclass(frozen=True, slots=True)
class Brought:
    """Files that do a step of the plan in place of ours.

    ``zero_mm`` is the place of their X0 Y0 from the blank's lower left corner, in the frame of
    the face that is up.
    """

    step: str
    files: tuple[BroughtFile, ...]
    zero_mm: tuple[float, float]
    height_zero: HeightZero
    source: Source
