"""A file that somebody hands over for a job: looked at, named, and laid beside the job file."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import Final

from flushwork.core.findings import FlushworkError, JobRefusedError, Source
from flushwork.store import StoreError, write_new_bytes

MOST_BYTES: Final = 40_000_000
"""The largest file that is taken: a photo; drawings and fonts have bounds of their own."""
MOST_DRAWING_BYTES: Final = 8_000_000
"""A larger SVG is no drawing of an inlay (assumed)."""
MOST_FONT_BYTES: Final = 16_000_000
"""Fonts of every language in one file take as much (assumed)."""
LONGEST_NAME: Final = 60
MOST_POINTS_BYTES: Final = 1_000_000
"""5000 points take a fifth of it."""
SMALL_DOTS: Final = 640
MOST_ALIKE: Final = 99
"""So many files of one name are told apart by a number."""
_ENDS: Final = {
    "svg": (".svg",),
    "dxf": (".dxf",),
    "picture": (".png", ".jpg", ".jpeg"),
    "font": (".ttf", ".otf"),
    "points": (".csv", ".txt"),
}
_DEVICES: Final = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
"""Names that are devices on some systems (Naming Files, Paths and Namespaces, Microsoft Learn)."""


class TakenError(FlushworkError):
    """A file that cannot be taken; the message says why."""


@dataclass(frozen=True, slots=True)
class Contents:
    """What a file beside a job holds.

    ``kind`` is ``svg``, ``dxf``, ``picture``, ``font`` or ``points``. ``colours`` (``#rrggbb``)
    are those of a drawing or a picture with their shares of it, the most first, without the
    paper's; ``layers`` those of a drawing; ``width_mm`` its own width, 0 where it has none.
    ``shaded`` says that the paper of a picture is unevenly lit; its colours are those of an
    even light then.
    """

    file: str
    kind: str
    colours: tuple[tuple[str, float], ...] = ()
    layers: tuple[str, ...] = ()
    width_mm: float = 0.0
    shaded: bool = False


def take_in(job_file: Path | str, name: str, data: bytes) -> Contents:
    """Lay a file beside a job file and return what it holds.

    It is an SVG or DXF drawing, a PNG or JPEG picture, a TrueType or OpenType font, or a list of
    points, two numbers to a line (``x, y``, in mm or as its first line says).  Nothing is
    ever written over: what is there already is not written again, and another file of that name
    gets a number.  Raises TakenError where it is none of these, broken or too large, StoreError
    where the folder cannot be written; nothing is written then.
    """
    kind = _kind(data)
    plain = plain_name(name, kind)
    found = _looked_into(plain, kind, data)
    folder = Path(job_file).parent
    stem, end = plain.rpartition(".")[0], plain.rpartition(".")[2]
    for number in range(1, MOST_ALIKE + 1):
        place = folder / (plain if number == 1 else f"{stem} {number}.{end}")
        try:
            # a link or a folder of that name is never followed or touched
            if place.is_file() and not place.is_symlink():
                if place.read_bytes() == data:
                    break
            elif not place.exists() and not place.is_symlink():
                write_new_bytes(place, data)
                break
        except OSError as error:
            message = f"cannot read {place}: {error.strerror}"
            raise StoreError(message) from error
    else:
        message = f"there are {MOST_ALIKE} files called {plain} beside the job; take some away"
        raise StoreError(message)
    return replace(found, file=place.name)


def contents(job_file: Path | str, file: str) -> Contents:
    """Return what a file beside a job file holds; raises TakenError as ``take_in`` does."""
    place = Path(job_file).parent / Path(file).name
    try:
        if place.stat().st_size > MOST_BYTES:
            raise TakenError(_too_large(place.name, MOST_BYTES))
        data = place.read_bytes()
    except OSError as error:
        message = f"{place.name} cannot be read: {error.strerror}"
        raise TakenError(message) from error
    return _looked_into(place.name, _kind(data), data)


def files_beside(job_file: Path | str) -> tuple[tuple[str, str], ...]:
    """Return the drawings, pictures and fonts beside a job file: (name, kind by its ending)."""
    kinds = {end: kind for kind, ends in _ENDS.items() for end in ends}
    folder = Path(job_file).parent
    try:
        names = sorted(
            path.name
            for path in folder.iterdir()
            if path.suffix.lower() in kinds and path.is_file() and _worth_telling(path)
        )
    except OSError:
        return ()
    return tuple((name, kinds[Path(name).suffix.lower()]) for name in names)


def _worth_telling(path: Path) -> bool:
    """Return whether a file is what its ending says: a table or a text may hold anything."""
    if path.suffix.lower() not in _ENDS["points"]:
        return True
    try:
        return path.stat().st_size <= MOST_POINTS_BYTES and _is_points(path.read_bytes())
    except OSError:
        return False


def _is_points(data: bytes) -> bool:
    from flushwork.art.hole_patterns import is_points  # noqa: PLC0415

    try:
        return b"\0" not in data and is_points(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        return False


def small_picture(job_file: Path | str, file: str) -> bytes:
    """Return a picture beside a job file as a PNG of at most ``SMALL_DOTS`` a side.

    Raises TakenError where there is none that can be read.
    """
    from PIL import Image  # noqa: PLC0415

    from flushwork.art.pictures.picture_file import picture_data, read_dots  # noqa: PLC0415

    name = Path(file).name
    source = Source(name, 1, 1, "picture")
    try:
        data = picture_data(Path(job_file).parent / name, source)
        whole = (0.0, 0.0, 0.0, 0.0)
        dots = read_dots(data, name, source, crop=whole, width_mm=20.0, even_light=False)
    except JobRefusedError as refused:
        raise TakenError(refused.findings[0].message) from refused
    small = Image.fromarray(dots)
    small.thumbnail((SMALL_DOTS, SMALL_DOTS))
    out = BytesIO()
    small.save(out, "PNG")
    return out.getvalue()


def packaged_fonts() -> tuple[str, ...]:
    """Return the plain names of the fonts that come with the program, single lines last."""
    from flushwork.art.fonts import PACKAGED  # noqa: PLC0415
    from flushwork.job.keys.art import SINGLE_LINE  # noqa: PLC0415

    return (*PACKAGED, *SINGLE_LINE)


def plain_name(name: str, kind: str) -> str:
    """Return a name any system takes, in the job's own folder, that ends as its kind does."""
    last = unicodedata.normalize("NFC", name).replace("\\", "/").rpartition("/")[2]
    kept = "".join(each if each.isalnum() or each in " -_." else " " for each in last)
    stem, dot, end = " ".join(kept.split()).rpartition(".")
    ends = _ENDS[kind]
    suffix = f".{end.lower()}" if dot and f".{end.lower()}" in ends else ends[0]
    stem = (stem if dot and f".{end.lower()}" in sum(_ENDS.values(), ()) else kept).strip(" .-")
    stem = " ".join(stem.split())[:LONGEST_NAME].strip(" .") or kind
    return f"{stem}{' file' if _DEVICES.fullmatch(stem) else ''}{suffix}"


def _kind(data: bytes) -> str:
    """Return what a file is by what it begins with.  Raises TakenError for anything else."""
    if data[:8] == b"\x89PNG\r\n\x1a\n" or data[:3] == b"\xff\xd8\xff":
        return "picture"
    if data[:4] in (b"\x00\x01\x00\x00", b"OTTO", b"true"):
        return "font"
    head = data[:65536]
    if b"Binary DXF" in data[:32] or b"SECTION" in head[:4096]:
        return "dxf"
    if b"<svg" in head or b":svg" in head:
        return "svg"
    if len(data) <= MOST_POINTS_BYTES and _is_points(data):
        return "points"
    message = (
        "it is no SVG or DXF drawing, no PNG or JPEG picture, no TrueType or OpenType font and no "
        "list of points, two numbers to a line; save it as one of these"
    )
    raise TakenError(message)


def _too_large(name: str, most: int) -> str:
    return f"{name} is larger than {most / 1e6:.0f} MB, the most that is taken"


def _looked_into(name: str, kind: str, data: bytes) -> Contents:
    """Return what a file holds.  Raises TakenError where it cannot be used."""
    most = {"svg": MOST_DRAWING_BYTES, "font": MOST_FONT_BYTES}.get(kind, MOST_BYTES)
    if len(data) > most:
        raise TakenError(_too_large(name, most))
    source = Source(name, 1, 1, kind)
    try:
        return _READERS[kind](name, data, source)
    except JobRefusedError as refused:
        first = refused.findings[0]
        message = f"{first.message}; {first.remedy}"
        raise TakenError(message) from refused


def _svg(name: str, data: bytes, source: Source) -> Contents:
    from flushwork.art.svg.contents import svg_contents  # noqa: PLC0415

    held = svg_contents(data, name, source)
    return Contents(name, "svg", held.colours, held.layers, held.width_mm)


def _dxf(name: str, data: bytes, source: Source) -> Contents:
    from flushwork.art.dxf.dxf_file import read_dxf  # noqa: PLC0415

    drawing = read_dxf(data, name, source)
    if not drawing.shapes:
        message = f"there is no shape that can be cut in the drawing {name}"
        raise TakenError(message)
    used = {each for shape in drawing.shapes for each in shape.names}
    layers = tuple(told for folded, told in drawing.names.items() if folded in used)
    return Contents(name, "dxf", (), layers, 0.0)


def _picture(name: str, data: bytes, source: Source) -> Contents:
    from flushwork.art.pictures.picture_file import read_dots, unevenly_lit  # noqa: PLC0415
    from flushwork.art.pictures.reduced import reduced  # noqa: PLC0415

    whole = (0.0, 0.0, 0.0, 0.0)
    dots = read_dots(data, name, source, crop=whole, width_mm=80.0, even_light=False)
    shaded = unevenly_lit(dots)
    if shaded:
        dots = read_dots(data, name, source, crop=whole, width_mm=80.0, even_light=True)
    few = reduced(dots, 4)
    inks = [at for at in range(len(few.colours)) if at != few.paper]
    shares = sorted(((few.colours[at], few.shares[at]) for at in inks), key=lambda each: -each[1])
    return Contents(name, "picture", tuple(shares), shaded=shaded)


def _font(name: str, data: bytes, _source: Source) -> Contents:
    from flushwork.art.fonts import font_fault  # noqa: PLC0415

    fault = font_fault(data)
    if fault:
        message = f"the font {name} cannot be used: {fault}; give a whole TrueType or OpenType file"
        raise TakenError(message)
    return Contents(name, "font")


def _points(name: str, data: bytes, source: Source) -> Contents:
    from flushwork.art.hole_patterns import points_in  # noqa: PLC0415

    points_in(data.decode("utf-8-sig"), name, source)
    return Contents(name, "points")


_READERS: Final = {"points": _points, "svg": _svg, "dxf": _dxf, "picture": _picture, "font": _font}
