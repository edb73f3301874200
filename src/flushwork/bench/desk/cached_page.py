"""The last checked look of a job, kept in the user's cache folder: shown at once the next time.

It is good only for the very same text, artwork, shop and program; whatever it was made from is
looked at again before it is shown.  It holds the finished board of both faces and the words of the
page; everything that has to be asked of the strata waits for the build that runs behind it.
"""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flushwork.store import StoreError, cache_folder, digest, write_folder

if TYPE_CHECKING:
    from flushwork.bench.film.film import Film
    from flushwork.job.records import Job

CACHE_FORMAT: Final = 1
"""Grows when what is kept changes its form."""
PACKED: Final = ("tiles", "wood-front", "wood-back", "inside-front", "inside-back")
_PICTURE: Final = re.compile(r"<img src=\"/board/[^>]*>")


@dataclass(frozen=True, slots=True)
class CachedPage:
    """A look of a job: the film's index for its last stage, its pixels, and the page's parts."""

    index: dict[str, Any]
    parts: dict[str, dict[str, Any]]
    packed: dict[str, bytes]

    def bytes_of(self, name: str) -> bytes:
        """Return pixels by name."""
        return zlib.decompress(self.packed[name])

    def tiles(self, wanted: list[int]) -> bytes:
        """Return the pixels of tiles by their numbers."""
        whole, side = memoryview(self.bytes_of("tiles")), self.index["side"]
        size = side * side * 10
        return b"".join(whole[number * size : (number + 1) * size] for number in wanted)

    def of_face(self, number: int) -> list[int]:
        """Return the numbers of the tiles that a face (0 front, 1 back) shows."""
        return sorted(set(self.index["faces"][number]["tiles"][2::3]))


def kept_folder(job: Path) -> Path:
    """Return where the look of a job file is kept."""
    return cache_folder() / "bench" / digest(str(job.resolve()).encode())[:24]


def load(job: Path, text: str) -> CachedPage | None:
    """Return the look kept of a job, if it is one of this very text and of all it was made from."""
    folder = kept_folder(job)
    try:
        told = json.loads((folder / "look.json").read_text("utf-8"))
        if (
            told["form"] != CACHE_FORMAT
            or told["program"] != program()
            or told["text"] != _told(text)
        ):
            return None
        if any(_digest_of(Path(name)) != was for name, was in told["made from"].items()):
            return None
        packed = {name: (folder / f"{name}.z").read_bytes() for name in PACKED}
        return CachedPage(told["index"], told["parts"], packed)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        # a look that cannot be read is none: the build behind makes another
        return None


def save(job: Path, text: str, record: Job, film: Film, parts: dict[str, dict[str, Any]]) -> None:
    """Keep a look of a job; where the cache cannot be written, none is kept."""
    last = film.shots[-1]
    numbers = sorted({*last.front.tiles.values(), *last.back.tiles.values()})
    place = {number: at for at, number in enumerate(numbers)}
    index = film.index()
    faces = [_renumbered(index["faces"][index["shots"][-1][face]], place) for face in FACES]
    index["faces"] = faces
    index["shots"] = [{**index["shots"][-1], "front": 0, "back": 1}]
    index["tiles"] = [film.tiles[number].name for number in numbers]
    told = {
        "form": CACHE_FORMAT,
        "program": program(),
        "text": _told(text),
        "made from": {str(path): _digest_of(path) for path in made_from(job, record)},
        "index": index,
        "parts": {units: _without_pictures(each) for units, each in parts.items()},
    }
    raw = {
        "tiles": film.pixels(numbers),
        **{f"wood-{face}": film.wood[face].tobytes() for face in FACES},
        **{f"inside-{face}": film.inside[face].tobytes() for face in FACES},
    }
    packed = {f"{name}.z": zlib.compress(data, 1) for name, data in raw.items()}
    try:
        folder = kept_folder(job)
        folder.parent.mkdir(parents=True, exist_ok=True)
        write_folder(folder, {"look.json": json.dumps(told).encode(), **packed})
    except (StoreError, OSError):
        return


FACES: Final = ("front", "back")


def _renumbered(face: dict[str, Any], place: dict[int, int]) -> dict[str, Any]:
    tiles = face["tiles"]
    fresh = [value if at % 3 < 2 else place[value] for at, value in enumerate(tiles)]
    return {**face, "tiles": fresh}


def _without_pictures(parts: dict[str, Any]) -> dict[str, Any]:
    html = {name: _PICTURE.sub("", each) for name, each in parts["parts"].items()}
    return {**parts, "parts": html, "coarse": True, "kept": True}


def made_from(job: Path, record: Job) -> set[Path]:
    """Return the files beside a job that its record names: shop, artwork, points, fonts."""
    folder = job.parent
    found = {folder / name for name in set(_words(record)) if _names_a_file(folder, name)}
    return {path.resolve() for path in found if path != job}


def _names_a_file(folder: Path, name: str) -> bool:
    try:
        return 0 < len(name) < 260 and name.isprintable() and (folder / name).is_file()
    except OSError:
        return False


def _words(record: Any) -> Iterator[str]:
    if isinstance(record, str):
        yield record
    elif is_dataclass(record):
        for each in fields(record):
            yield from _words(getattr(record, each.name))
    elif isinstance(record, tuple | list | frozenset | set):
        for each in record:
            yield from _words(each)


def _digest_of(path: Path) -> str:
    try:
        return digest(path.read_bytes())
    except OSError:
        return ""


def _told(text: str) -> str:
    return digest(text.encode("utf-8", "surrogatepass"))


@cache
def program() -> str:
    """Return what tells this program from any other state of it: its files' sizes and dates."""
    root = Path(str(files("flushwork")))
    seen = sorted(
        (path.relative_to(root).as_posix(), stat.st_size, stat.st_mtime_ns)
        for path in root.rglob("*")
        if path.suffix in {".py", ".csv", ".js", ".css", ".j2"} and (stat := path.stat())
    )
    return digest(repr(seen).encode())
