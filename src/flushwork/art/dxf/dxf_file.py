"""What every DXF file passes first: is it there, is it DXF, how much is in it, which units."""

from __future__ import annotations

import logging
import os
import struct
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from io import BytesIO
from pathlib import Path
from threading import Lock
from types import ModuleType
from typing import Any, Final

from flushwork.art.contours import Contour
from flushwork.art.dxf.entities import AREAS, LINES, PASSIVE, FaultyShapeError, shape_of
from flushwork.art.faults import not_opened, refusal
from flushwork.core.findings import Source

MOST_BYTES: Final = 8_000_000
"""A larger file is a scan or a map, no outline to cut (assumed; some 40,000 lines)."""
MOST_SHAPES: Final = 20_000
"""More shapes than this, those of inserted blocks counted, are a trap and no drawing (assumed)."""
MOST_NESTED: Final = 30
"""Blocks within blocks beyond any drawing program's habit (assumed)."""

UNITS_MM: Final[Mapping[int, float]] = {
    1: 25.4,
    2: 304.8,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: 25.4e-6,
    9: 0.0254,
    10: 914.4,
    13: 0.001,
    14: 100.0,
}
"""Millimetres in a unit, by ``$INSUNITS`` (DXF reference, header section)."""

_NO_FONTS: Final = Path(__file__).with_name("no_fonts")
_BROKEN: Final = (
    ArithmeticError, AttributeError, LookupError, MemoryError, OSError, RecursionError,
    RuntimeError, TypeError, ValueError, struct.error,
)  # fmt: skip
"""What a file made to break a reader may raise in it."""


@dataclass(frozen=True, slots=True)
class DxfShape:
    """One shape in the drawing's own units, z left out.

    ``kind`` is ``line`` (its contours are joined with others to closed outlines), ``area`` (they
    enclose it, by the even-odd rule) or ``wide`` (lines ``width`` wide); ``names`` are its layer
    and the blocks it lies in, folded.
    """

    kind: str
    contours: tuple[Contour, ...]
    width: float
    names: frozenset[str]


@dataclass(frozen=True, slots=True)
class DxfDrawing:
    """What a DXF file holds.

    ``unit_mm`` is None where it does not say its units.  ``faults`` are shapes that cannot be cut,
    as (words, why, remedy, names); ``passive`` counts what is no artwork, such as dimensions.
    ``names`` are its layers and blocks as they are written, by their folded names; ``mended`` says
    which damaged numbers were guessed.
    """

    unit_mm: float | None
    shapes: tuple[DxfShape, ...]
    faults: tuple[tuple[str, str, str, frozenset[str]], ...]
    passive: Mapping[str, int]
    names: Mapping[str, str]
    hidden: frozenset[str]
    mended: tuple[str, ...] = ()


def dxf_data(path: Path, source: Source) -> bytes:
    """Return what a DXF file holds; raise JobRefusedError where it is not there or too large."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise refusal(
                source,
                "dxf-too-large",
                f"the drawing {path.name} is {path.stat().st_size / 1e6:.0f} MB; at most "
                f"{MOST_BYTES / 1e6:.0f} MB are read",
                "keep only the shapes that are cut",
            )
        return path.read_bytes()
    except OSError as fault:
        raise not_opened(source, "dxf-not-found", "drawing", path, fault) from None


def read_dxf(data: bytes, name: str, source: Source) -> DxfDrawing:
    """Return what a DXF file holds; raise JobRefusedError where it is none."""
    held = _drawing(data)
    if isinstance(held, DxfDrawing):
        return held
    code, what, remedy = held
    raise refusal(source, code, f"the drawing {name} {what}", remedy)


@lru_cache(maxsize=8)
def _drawing(data: bytes) -> DxfDrawing | tuple[str, str, str]:
    """Read once where several inlays pick layers of one drawing; else say what is wrong."""
    again = "save it again from your drawing program as DXF, R12 to 2018"
    if not data.strip():
        return ("dxf-unreadable", "is empty", again)
    if _BINARY not in data[:32] and b"SECTION" not in data:
        return ("dxf-unreadable", "is no DXF file", again)
    reader = _library()
    try:
        with _noted() as notes:
            document, _ = reader.read(BytesIO(data))
        return replace(_held(document), mended=tuple(notes))
    except _TooMuchError:
        what = f"holds more than {MOST_SHAPES} shapes, those of inserted blocks counted, or "
        what += f"blocks more than {MOST_NESTED} deep"
        return ("dxf-too-large", what, "keep only the shapes that are cut, each drawn once")
    except (*_BROKEN, _library_error()):
        return ("dxf-unreadable", "is broken: it cannot be read as DXF", again)


_BINARY: Final = b"Binary DXF"
"""What the format's own binary variant says in its first line (DXF reference)."""


class _TooMuchError(Exception):
    """A drawing without end."""


@cache
def _library() -> ModuleType:
    """Load the library where a job has a DXF file, without its search for this system's fonts.

    It would scan and note all fonts when first loaded; nothing here sets text by it.
    """
    with _LOADING, _caches_in(_NO_FONTS):
        from ezdxf import recover  # noqa: PLC0415
    return recover


class _Notes(logging.Handler):
    """Takes what the library has to say of damaged numbers, and keeps the rest to itself."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.found: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one message."""
        said = record.getMessage()
        if "invalid" in said:
            self.found.append(said)


@contextmanager
def _noted() -> Iterator[list[str]]:
    notes, log = _Notes(), logging.getLogger("ezdxf")
    log.addHandler(notes)
    try:
        yield notes.found
    finally:
        log.removeHandler(notes)


def _library_error() -> type[Exception]:
    from ezdxf.lldxf.const import DXFError  # noqa: PLC0415

    return DXFError


_LOADING: Final = Lock()


@contextmanager
def _caches_in(folder: Path) -> Iterator[None]:
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(folder)
    try:
        yield
    finally:
        if before is None:
            del os.environ["XDG_CACHE_HOME"]
        else:
            os.environ["XDG_CACHE_HOME"] = before


@dataclass
class _Reader:
    """One reading of a drawing's model space."""

    hidden: frozenset[str]
    shapes: list[DxfShape]
    faults: dict[tuple[str, str, str, frozenset[str]], None]
    passive: Counter[str]
    numbers: Counter[str]
    visited: int = 0

    def visit(self, entity: Any, layer: str, blocks: frozenset[str]) -> None:
        """Read one entity, an inserted block to its last shape."""
        self.visited += 1
        if self.visited > MOST_SHAPES or len(blocks) > MOST_NESTED:
            raise _TooMuchError
        kind = entity.dxftype()
        # what a block holds on layer 0 is on the layer that the block is inserted on
        own = str(entity.dxf.get("layer", "0")).casefold()
        own = layer if own == "0" and layer else own
        if kind == "INSERT":
            self._insert(entity, own, blocks)
            return
        if own in self.hidden or entity.dxf.get("invisible", 0):
            return
        names = blocks | {own}
        self.numbers[kind] += 1
        words = f"{kind} number {self.numbers[kind]} on layer '{entity.dxf.get('layer', '0')}'"
        if kind in PASSIVE:
            self.passive[kind] += 1
        elif kind == "MLINE":
            for part in entity.virtual_entities():
                self.visit(part, own, blocks)
        elif kind in LINES or kind in AREAS:
            try:
                form, contours, width = shape_of(entity, kind)
            except FaultyShapeError as fault:
                self.faults[(words, fault.what, fault.remedy, names)] = None
                return
            if contours:
                self.shapes.append(DxfShape(form, contours, width, names))
        else:
            what, remedy = _UNCUTTABLE.get(kind, _UNKNOWN)
            self.faults[(words, what, remedy, names)] = None

    def _insert(self, entity: Any, layer: str, blocks: frozenset[str]) -> None:
        name = str(entity.dxf.name)
        if layer in self.hidden:
            return
        if entity.is_xref():
            what = f"is kept in another drawing ('{name[:40]}'), which is not opened"
            remedy = "bind the other drawing into this one"
            self.faults[("a block", what, remedy, blocks | {layer})] = None
            return
        if name.casefold() in blocks:
            raise _TooMuchError
        if entity.mcount > MOST_SHAPES:
            raise _TooMuchError
        inner = blocks | {name.casefold()}
        for one in entity.multi_insert() if entity.mcount > 1 else (entity,):
            self.visited += 1
            for part in one.virtual_entities():
                self.visit(part, layer, inner)
        for text in entity.attribs:
            self.visit(text, layer, inner)


_UNCUTTABLE: Final = {
    **dict.fromkeys(
        ("TEXT", "MTEXT", "ATTRIB", "SHAPE", "RTEXT", "ARCTEXT"),
        (
            "is live text, and its font is not in the file",
            "convert the text to outlines in the drawing program, or set it with `text:`",
        ),
    ),
    **dict.fromkeys(
        ("IMAGE", "OLE2FRAME", "OLEFRAME", "PDFUNDERLAY", "DWFUNDERLAY", "DGNUNDERLAY", "WIPEOUT"),
        (
            "is a picture or a part of another file, which has no outline to cut",
            "take it out of the layer, or give the picture itself as `picture:`",
        ),
    ),
}
_UNKNOWN: Final = (
    "is solid or otherwise no flat outline",
    "draw its outline with lines, arcs and polylines",
)


def _held(document: Any) -> DxfDrawing:
    hidden = frozenset(
        str(layer.dxf.name).casefold()
        for layer in document.layers
        if layer.is_off() or layer.is_frozen()
    )
    reader = _Reader(hidden, [], {}, Counter(), Counter())
    for entity in document.modelspace():
        reader.visit(entity, "", frozenset())
    names = {str(layer.dxf.name).casefold(): str(layer.dxf.name) for layer in document.layers}
    used = {name for shape in reader.shapes for name in shape.names}
    used |= {name for *_, each in reader.faults for name in each}
    blocks = {str(block.name).casefold(): str(block.name) for block in document.blocks}
    names = {name: names.get(name, blocks.get(name, name)) for name in sorted(used)} | {
        name: names[name] for name in sorted(hidden & set(names))
    }
    return DxfDrawing(
        unit_mm=UNITS_MM.get(_units(document)),
        shapes=tuple(reader.shapes),
        faults=tuple(reader.faults),
        passive=dict(reader.passive),
        names=names,
        hidden=hidden,
    )


def _units(document: Any) -> int:
    """Return the drawing's units by their number; 0 where it does not say, as none did in R12."""
    try:
        return int(document.header.get("$INSUNITS", 0))
    except (TypeError, ValueError):
        return 0
