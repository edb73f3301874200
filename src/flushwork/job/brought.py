"""Cut files that another program has written, read as they stand."""

from __future__ import annotations

import codecs
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from flushwork.job.brought_keys import ZEROS, BroughtKeys
from flushwork.job.brought_records import KEY, Brought, BroughtFile, HeightZero
from flushwork.job.located import Path_
from flushwork.job.reading import Reading
from flushwork.shelf.items import Shop

LONGEST_BYTES: Final = 32 * 1024 * 1024
"""A longer file is refused: its replay would take many minutes."""


def brought(
    keys: Sequence[BroughtKeys],
    reading: Reading,
    shop: Shop,
    folder: Path,
    size_mm: tuple[float, float],
) -> tuple[Brought, ...]:
    """Return the files of all steps; one that cannot be opened is added to the slips.

    ``size_mm`` is the blank's length and width.
    """
    result: list[Brought] = []
    for index, each in enumerate(keys):
        path: Path_ = (KEY, index)
        from_middle = each.zero_from != ZEROS[0]
        files: list[BroughtFile] = []
        for place, named in enumerate(each.files):
            held = _opened(folder / named.file, named.file, reading, (*path, "files", place))
            cutter = reading.find(
                shop.cutters, named.cutter, "cutter", (*path, "files", place, "cutter")
            )
            if held is not None:
                files.append(
                    BroughtFile(
                        name=named.file,
                        text=held[0],
                        encoding=held[1],
                        cutter=cutter,
                        inch=None if each.units is None else each.units == "inch",
                        source=reading.source((*path, "files", place)),
                    )
                )
        result.append(
            Brought(
                step=each.step,
                files=tuple(files),
                zero_mm=(
                    each.zero[0] + (size_mm[0] / 2.0 if from_middle else 0.0),
                    each.zero[1] + (size_mm[1] / 2.0 if from_middle else 0.0),
                ),
                height_zero=HeightZero(each.height_zero),
                source=reading.source((*path, "step")),
            )
        )
    return tuple(result)


def _opened(path: Path, name: str, reading: Reading, key: Path_) -> tuple[str, str] | None:
    """Return a file's text just as it stands, and how it is encoded.

    A byte-order mark before it is no part of the text; the encoding puts it back.
    """
    try:
        raw = path.read_bytes()
    except (OSError, ValueError):
        reading.slip(
            "cut-file-not-found",
            f"there is no file {name} beside the job file that can be opened",
            "check the spelling, and put the file into the job's folder",
            (*key, "file"),
        )
        return None
    if len(raw) > LONGEST_BYTES or b"\0" in raw:
        reading.slip(
            "cut-file-no-text",
            f"{name} is {len(raw) // 1024} kB long, more than is read"
            if len(raw) > LONGEST_BYTES
            else f"{name} is no text",
            "name a text file of G words and M words (RS-274), one for each cutter",
            (*key, "file"),
        )
        return None
    marked = raw.startswith(codecs.BOM_UTF8)
    for encoding in ("utf-8-sig" if marked else "utf-8", "latin-1"):
        try:
            return raw.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    return None
