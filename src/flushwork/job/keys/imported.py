"""G-code files that another program has written, read as they stand."""

from __future__ import annotations

import codecs
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Final

from flushwork.core.findings import Source
from flushwork.core.keys.declare import Group, Items, Key, Keyed
from flushwork.core.keys.settle import At, On
from flushwork.core.keys.words import Either, OneOf, StepWords, Words
from flushwork.job.keys.placing import PAIR
from flushwork.shelf.items import Bit

LONGEST_BYTES: Final = 32 * 1024 * 1024
"""A longer file is refused: its replay would take many minutes."""
CORNER, MIDDLE = "lower left corner", "middle"


class HeightZero(StrEnum):
    """What the Z0 of a file lies on."""

    STANDING = "face as it stands"
    FINISHED = "finished face"
    UNDERSIDE = "underside"


@dataclass(frozen=True, slots=True)
class ImportedFile(Keyed):
    """One file, and the bit it is run with.

    ``name`` is as the job names it, ``text`` as it came, ``encoding`` how that is encoded.
    ``inch`` holds for files that say neither G20 nor G21; None where nobody has said it.
    """

    name: Annotated[str, Words(), Key("plate.nc", name="file")]
    """An RS-274 file, beside the job file."""
    text: str
    encoding: str
    bit: Annotated[Bit, On("bits", "bit"), Key("3.175 mm flat")]
    """The bit of the shop it is run with; one file has one bit."""
    inch: bool | None
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Read the file; one that cannot be opened is a slip."""
        held = _opened(Path(at.job["folder"]) / own["name"], own["name"], at)
        own["text"], own["encoding"] = held or ("", "")
        own["inch"] = None


@dataclass(frozen=True, slots=True)
class Imported(Keyed):
    """Files that do a step of the plan in place of ours.

    ``zero_mm`` is the place of their X0 Y0 from the blank's lower left corner, in the frame of
    the face that is up.
    """

    step: Annotated[str, StepWords(), Key("cut plate")]
    """What they do: a step as `flushwork stages` names it, or a whole setup with one step."""
    files: Annotated[
        tuple[ImportedFile, ...],
        Items(Group(ImportedFile), 1, 40),
        Key("[{file: plate.nc, bit: 3.175 mm flat}]"),
    ]
    """The files in the order they are run."""
    zero_mm: Annotated[
        tuple[float, float],
        PAIR,
        Key("[0 mm, 0 mm]", default=(0.0, 0.0)),
        OneOf((CORNER, MIDDLE)),
        Key(
            name="zero from",
            default=CORNER,
            aside=True,
            doc="The place on the blank that `zero` counts from.",
        ),
    ]
    """Where their X0 Y0 lies, [right, away] from `zero from`, as you look at the face."""
    height_zero: Annotated[
        HeightZero,
        OneOf(HeightZero),
        Key(default=HeightZero.STANDING),
        Either("metric", "inch", second=True),
        Key(
            "metric",
            name="units",
            aside=True,
            doc="The units of files that say neither G20 nor G21.",
        ),
    ]
    """What their Z0 lies on."""
    source: Source

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Count their zero from the corner; give each file the units it is said to have."""
        blank, (x_mm, y_mm) = at.job["blank"], own["zero_mm"]
        if own.get("zero from") == MIDDLE:
            own["zero_mm"] = (x_mm + blank.length_mm / 2.0, y_mm + blank.width_mm / 2.0)
        opened = (each for each in own["files"] if each.encoding)
        own["files"] = tuple(replace(each, inch=own.get("units")) for each in opened)
        own["source"] = at.source("step")

    @classmethod
    def shown(cls, record: Imported) -> Mapping[str, Any]:
        """Tell of the units that the files are said to have."""
        inch = record.files[0].inch if record.files else None
        return {} if inch is None else {"units": inch}


def _opened(path: Path, name: str, at: At) -> tuple[str, str] | None:
    """Return a file's text just as it stands, and how it is encoded.

    A byte-order mark before it is no part of the text; the encoding puts it back.
    """
    try:
        raw = path.read_bytes()
    except (OSError, ValueError):
        at.slip(
            "gcode-file-not-found",
            f"there is no file {name} beside the job file that can be opened",
            "check the spelling, and put the file into the job's folder",
            "file",
        )
        return None
    if len(raw) > LONGEST_BYTES or b"\0" in raw:
        at.slip(
            "gcode-file-no-text",
            f"{name} is {len(raw) // 1024} kB long, more than is read"
            if len(raw) > LONGEST_BYTES
            else f"{name} is no text",
            "name a text file of G words and M words (RS-274), one for each bit",
            "file",
        )
        return None
    marked = raw.startswith(codecs.BOM_UTF8)
    for encoding in ("utf-8-sig" if marked else "utf-8", "latin-1"):
        try:
            return raw.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    return None
