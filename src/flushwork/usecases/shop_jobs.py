"""The jobs of a folder: which there are, how each stands, and what a person does with them.

A shop is a folder.  Its jobs are the job files in it and in the folders right below it; those in
its attic are out of the way and otherwise as they were.  Nothing here ever deletes or replaces a
file.  What is only linked to from elsewhere is left out: moving it would break the link.

Long because every act asks what belongs to a job.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from flushwork.core.findings import FlushworkError
from flushwork.core.units import System
from flushwork.store import (
    MANIFEST,
    digest,
    move_together,
    replace_text,
    write_new_bytes,
)
from flushwork.usecases.kept_check import KeptCheck, load_check, picture_path

ATTIC: Final = "attic"
SHOP_FILE: Final = "shop.yaml"
SUFFIXES: Final = frozenset({".yaml", ".yml"})
MOST_ENTRIES: Final = 4000
"""So many files and folders of a folder are looked at."""
MOST_BYTES: Final = 256 * 1024
"""No longer job file is read."""
LONGEST_TITLE: Final = 120

_JOB: Final = re.compile(r"^(?:\{\s*)?[\"']?flushwork[\"']?[ \t]*:", re.MULTILINE)
_TITLE: Final = re.compile(r"^title[ \t]*:[ \t]*(.*)$", re.MULTILINE)
_SHOP: Final = re.compile(r"^shop[ \t]*:[ \t]*(.*)$", re.MULTILINE)


class ShopError(FlushworkError):
    """Something cannot be done with a job of the shop; the message says why."""


class JobState(StrEnum):
    """How a job stands."""

    UNREADABLE = "cannot be read"
    UNCHECKED = "not checked yet"
    CHANGED = "changed since its check"
    MUST_FIX = "must fix"
    OK = "OK to cut"
    UNDER_WAY = "under way"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class ShopJob:
    """One job of a shop.

    ``name`` is its path within the shop or its attic, ``slip`` why it cannot be read (empty where
    it can).  ``step`` is what comes next of work under way, by the name of its stage; empty where
    nobody knows.  ``check`` is its last check, None where none is kept; ``picture`` the file of a
    picture of its finished board, if there is one.  ``shop`` is the shop file it names.
    ``changed_s`` is when its file was changed last, in seconds after 1970.
    """

    path: Path
    name: str
    title: str
    state: JobState
    step: str
    steps_done: int
    check: KeptCheck | None
    picture: Path | None
    shop: str
    changed_s: float
    slip: str = ""


@dataclass(frozen=True, slots=True)
class ShopJobs:
    """What a shop holds: its jobs and those in its attic, last changed first.

    ``linked`` are files and folders that are only linked to.
    """

    jobs: tuple[ShopJob, ...]
    attic: tuple[ShopJob, ...]
    linked: int


def shop_jobs(folder: Path | str) -> ShopJobs:
    """Return the jobs of a shop, and those in its attic.

    Raises ShopError where the folder cannot be read.
    """
    folder = Path(folder)
    linked: list[Path] = []
    jobs = [_job(path, folder) for path in _job_files(folder, linked)]
    attic = folder / ATTIC
    kept = attic.is_dir() and not attic.is_symlink()
    away = [_job(path, attic) for path in _job_files(attic, linked)] if kept else []
    return ShopJobs(_in_order(jobs), _in_order(away), len(linked))


def _in_order(jobs: list[ShopJob]) -> tuple[ShopJob, ...]:
    return tuple(sorted(jobs, key=lambda each: (-each.changed_s, each.name)))


def _job_files(folder: Path, linked: list[Path]) -> Iterator[Path]:
    """Yield the job files in a folder and in those right below it."""
    entries = _entries(folder)
    yield from _jobs_among(entries, linked)
    linked += [path for path in entries if path.is_symlink() and path.is_dir()]
    for path in entries:
        # neither the attic, nor what a build wrote
        if path.is_symlink() or path.name == ATTIC or (path / MANIFEST).exists():
            continue
        if path.is_dir():
            # what is in a folder that cannot be read is nothing this page could show
            with suppress(ShopError):
                yield from _jobs_among(_entries(path), linked)


def _jobs_among(entries: list[Path], linked: list[Path]) -> Iterator[Path]:
    for path in entries:
        if path.is_symlink() and path.suffix.lower() in SUFFIXES:
            linked.append(path)
        elif not path.is_symlink() and _is_job(path):
            yield path


def _entries(folder: Path) -> list[Path]:
    found = []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if not entry.name.startswith("."):
                    found.append(folder / entry.name)
                if len(found) > MOST_ENTRIES:
                    break
    except OSError as error:
        message = f"the folder {folder} cannot be read: {error.strerror}"
        raise ShopError(message) from error
    return sorted(found)


def _is_job(path: Path) -> bool:
    """Whether a file is a job, or might be one for all that can be read of it."""
    if path.suffix.lower() not in SUFFIXES or not path.is_file():
        return False
    return _facts(path, _stamp(path)).is_job


def _stamp(path: Path) -> tuple[int, int]:
    try:
        status = path.stat()
    except OSError:
        return 0, 0
    return status.st_mtime_ns, status.st_size


def _text_of(path: Path) -> tuple[str, str]:
    """Return the text of a file, or an empty one and why it cannot be read."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
        if len(data) > MOST_BYTES:
            return "", f"it is longer than {MOST_BYTES // 1024} kB"
        return data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n"), ""
    except OSError as error:
        return "", (error.strerror or "it cannot be opened").lower()
    except UnicodeDecodeError:
        return "", "it is not UTF-8 text"


@dataclass(frozen=True, slots=True)
class _Facts:
    """What the lines of a file tell of it, without reading it as a job."""

    is_job: bool
    title: str
    shop: str
    slip: str


@lru_cache(maxsize=4096)
def _facts(path: Path, _as_of: tuple[int, int]) -> _Facts:
    text, slip = _text_of(path)
    is_job = bool(slip) or _JOB.search(text) is not None
    if not is_job or slip:
        return _Facts(is_job, "", "", slip)
    return _Facts(is_job, _line(_TITLE, text), _line(_SHOP, text), "")


def _line(wanted: re.Pattern[str], text: str) -> str:
    found = wanted.search(text)
    if found is None:
        return ""
    from ruamel.yaml import YAML  # noqa: PLC0415  (a folder without jobs needs none)
    from ruamel.yaml.error import YAMLError  # noqa: PLC0415

    try:
        value = YAML(typ="safe", pure=True).load(found.group(1))
    except (YAMLError, ValueError, RecursionError):
        return ""
    shown = value if isinstance(value, str) else found.group(1).split("#")[0]
    return "".join(each if each.isprintable() else " " for each in shown).strip()


def _job(path: Path, within: Path) -> ShopJob:
    told = _facts(path, _stamp(path))
    name = path.relative_to(within).as_posix()
    checks = [each for each in (load_check(path), _built(path)) if each is not None]
    check = next((each for each in checks if each.current), checks[0] if checks else None)
    state, step, done = _standing(path, check)
    if told.slip:
        state = JobState.UNREADABLE
    return ShopJob(
        path=path,
        name=_shown(name),
        title=told.title[:LONGEST_TITLE]
        or _shown(path.parent.name if path.stem == "job" else path.stem),
        state=state,
        step=step,
        steps_done=done,
        check=check,
        picture=_picture(path),
        shop=_shown(told.shop),
        changed_s=_stamp(path)[0] / 1e9,
        slip=told.slip,
    )


def _shown(name: str) -> str:
    """Return a name of a file as it can be shown: a name on a disk need not be text."""
    whole = name.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    return "".join(each if each.isprintable() else "\N{REPLACEMENT CHARACTER}" for each in whole)


def _standing(path: Path, check: KeptCheck | None) -> tuple[JobState, str, int]:
    """Return how a job stands, what comes next, and how many steps are ticked for some piece."""
    ticked = _ticked(path)
    begun = sum(1 for pieces in ticked.values() if pieces)
    if begun:
        current = check if check is not None and check.current else None
        steps, pieces = (current.steps, set(current.pieces)) if current else ((), set[str]())
        left = [step for step in steps if not pieces <= ticked.get(step, frozenset())]
        if steps and not left:
            return JobState.DONE, "", begun
        return JobState.UNDER_WAY, left[0] if left else "", begun
    if check is None:
        return JobState.UNCHECKED, "", 0
    if not check.current:
        return JobState.CHANGED, "", 0
    return (JobState.MUST_FIX if check.must_fix else JobState.OK), "", 0


def _ticked(path: Path) -> dict[str, frozenset[str]]:
    """Return which pieces are ticked for each step; none where the log is none."""
    data = _json_in(path.with_name(f"{path.stem} log.json"))
    ticks = data.get("ticks") if isinstance(data, dict) else None
    if not isinstance(ticks, dict):
        return {}
    return {
        str(step): frozenset(map(str, pieces))
        for step, pieces in ticks.items()
        if isinstance(pieces, list)
    }


def _built(path: Path) -> KeptCheck | None:
    """Return what the build beside a job tells of its check; steps and pieces it does not tell."""
    folder = next((each for each in _build_folders(path) if (each / MANIFEST).is_file()), None)
    if folder is None:
        return None
    findings, manifest = _json_in(folder / "check.json"), _json_in(folder / MANIFEST)
    if not isinstance(findings, list) or not isinstance(manifest, dict):
        return None
    count = [each.get("severity") for each in findings if isinstance(each, dict)]
    kept = manifest.get("sources")
    sources = kept if isinstance(kept, dict) else {}
    shop = _facts(path, _stamp(path)).shop
    own = {path.name: path, **({Path(shop).name: path.parent / shop} if shop else {})}
    places = {name: own.get(name, path.parent / name) for name in map(str, sources)}
    current = path.name in sources and all(
        _digest_of(places[name]) == was for name, was in sources.items()
    )
    return KeptCheck(count.count("must fix"), count.count("warning"), (), (), current)


def _build_folders(path: Path) -> tuple[Path, ...]:
    """Return where a job's builds may stand, the one written last first."""
    found = [path.with_name(f"{path.stem} built{more}") for more in ("", " (stopped)")]
    return tuple(sorted(found, key=lambda each: -_stamp(each / MANIFEST)[0]))


def _picture(path: Path) -> Path | None:
    """Return the newest picture of the finished board."""
    faces = ("front", "back")
    built = (
        each / "pictures" / f"{face}-finished.png"
        for each in _build_folders(path)
        for face in faces
    )
    found = [each for each in (picture_path(path), *built) if each.is_file()]
    return max(found, key=lambda each: _stamp(each)[0], default=None)


def _json_in(path: Path) -> Any:
    try:
        return json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None


def _digest_of(path: Path) -> str:
    try:
        return digest(path.read_bytes())
    except (OSError, ValueError):
        return ""


# ---- What a person does with a job


def copy_job(path: Path | str) -> Path:
    """Copy a job beside itself, its title marked as a copy; return the new file.

    Nothing of the copy is ticked or built yet.  Raises StoreError where it cannot be written, and
    ShopError where the job cannot be read.
    """
    path = Path(path)
    data = _data_of(path)
    title = _facts(path, _stamp(path)).title or _shown(path.stem)
    # a text that cannot be edited is copied as it stands
    with suppress(ShopError):
        data = _titled(data, f"{title[: LONGEST_TITLE - 7]} (copy)")
    for number in range(1, 1000):
        to = path.with_name(f"{path.stem} copy{f' {number}' if number > 1 else ''}{path.suffix}")
        if not os.path.lexists(to) and not any(map(os.path.lexists, _belonging(to))):
            write_new_bytes(to, data)
            return to
    message = f"there are a thousand copies of {_shown(path.name)} already"
    raise ShopError(message)


def rename_job(path: Path | str, title: str) -> None:
    """Give a job another title; its file keeps its name, and all that is ticked stays.

    Raises ShopError where that is no title or the job cannot be read as far as that, StoreError
    where the file cannot be written or somebody else has changed it in between.
    """
    path = Path(path)
    data = _data_of(path)
    replace_text(path, _titled(data, title), digest(data))


def to_attic(path: Path | str, folder: Path | str) -> Path:
    """Put a job of a shop in its attic and return where it lies then.

    Its ticks, photos and builds go with it; drawings and shop file stay, since other jobs may use
    them.  Raises StoreError where that cannot be: all is then where it was.
    """
    return _moved(Path(path), Path(folder), Path(folder) / ATTIC)


def from_attic(path: Path | str, folder: Path | str) -> Path:
    """Bring a job back from the attic of a shop to where it was; as ``to_attic``."""
    return _moved(Path(path), Path(folder) / ATTIC, Path(folder))


def start_job(
    folder: Path | str,
    title: str,
    *,
    wood: str = "",
    size: tuple[str, str, str] | None = None,
    pieces: int = 1,
    trim: str = "",
    units: System | str | None = None,
) -> Path:
    """Start a job in a folder of its own within a shop and return its file.

    It is a bare board, and names the shop's file if there is one.  ``size`` is length, width and
    thickness as written, ``trim`` is ``circle``, ``rectangle`` or empty for the blank as it is;
    what is left out has a good default in the shop's units.  Raises StartError where no board can
    be worked so, StoreError where the job cannot be written.
    """
    from flushwork.core.findings import JobRefusedError  # noqa: PLC0415
    from flushwork.job.read import read_shop  # noqa: PLC0415
    from flushwork.usecases.jobs import (  # noqa: PLC0415
        SIZES,
        WASTE_MM,
        WOOD,
        StartError,
        blank_job_text,
        board_mm,
        length_text,
    )

    folder = Path(folder)
    has, chosen = (folder / SHOP_FILE).is_file(), System.METRIC
    # a shop file with a slip is named all the same: the bench tells of it
    with suppress(JobRefusedError):
        if has:
            chosen = read_shop(folder / SHOP_FILE).units
    chosen = System(units) if units is not None else chosen
    size = size or SIZES[chosen]
    waste_mm = 2.0 * WASTE_MM[chosen]
    sides_mm = [each - waste_mm for each in board_mm(size, chosen, pieces)[:2]]
    lines = {
        "circle": length_text(min(sides_mm), chosen),
        "rectangle": " x ".join(length_text(each, chosen) for each in sides_mm),
    }
    if trim and trim not in lines:
        raise StartError("a board is trimmed to a circle or a rectangle")
    text = blank_job_text(
        title,
        " ".join(wood.split()) or WOOD,
        *(each.strip() for each in size),
        pieces=str(pieces),
        trim_line={trim: lines[trim]} if trim else None,
        shop_file=f"../{SHOP_FILE}" if has else "",
    )
    plain = "".join(each if each.isalnum() and each.isascii() else " " for each in title.lower())
    stem = "-".join(plain.split())[:40].strip("-") or "board"
    for number in range(1, 1000):
        place = folder / (stem if number == 1 else f"{stem}-{number}")
        if place.name != ATTIC and not os.path.lexists(place):
            path = place / "job.yaml"
            write_new_bytes(path, text.encode())
            return path
    message = f"there are a thousand folders called {stem} already"
    raise ShopError(message)


@dataclass(frozen=True, slots=True)
class FirstBoard:
    """What a first board is made of where nobody says otherwise, and the woods to choose from."""

    woods: tuple[str, ...]
    wood: str
    size: tuple[str, str, str]
    units: System


def first_board(folder: Path | str) -> FirstBoard:
    """Return the defaults of ``start_job`` in a shop."""
    from flushwork.core.findings import JobRefusedError  # noqa: PLC0415
    from flushwork.job.read import read_shop  # noqa: PLC0415
    from flushwork.shelf.tables import starter_shop  # noqa: PLC0415
    from flushwork.usecases.jobs import SIZES, WOOD  # noqa: PLC0415

    shop = starter_shop()
    with suppress(JobRefusedError):
        if (Path(folder) / SHOP_FILE).is_file():
            shop = read_shop(Path(folder) / SHOP_FILE)
    return FirstBoard(tuple(each.name for each in shop.woods), WOOD, SIZES[shop.units], shop.units)


def slips_in(path: Path | str) -> tuple[str, ...]:
    """Return what keeps a job from being read, each slip in words; nothing where it can be."""
    from flushwork.core.findings import JobRefusedError  # noqa: PLC0415
    from flushwork.usecases.jobs import load  # noqa: PLC0415

    try:
        load(path)
    except JobRefusedError as refused:
        return tuple(each.message for each in refused.findings)
    return ()


def blank_size(path: Path | str) -> tuple[float, float] | None:
    """Return length and width of a job's blank in mm; None where they cannot be read."""
    from flushwork.core.findings import JobRefusedError  # noqa: PLC0415
    from flushwork.job.text.located import read_tree  # noqa: PLC0415

    text, slip = _text_of(Path(path))
    if slip:
        return None
    from flushwork.core.units import Quantity, UnitError, read_quantity  # noqa: PLC0415

    try:
        blank = read_tree(text, "job").root["blank"]
        length, width = (
            read_quantity(blank[key].text, Quantity.LENGTH) for key in ("length", "width")
        )
    except (JobRefusedError, UnitError, KeyError, TypeError, AttributeError):
        return None
    return (length, width) if 1.0 <= length <= 10_000.0 and 1.0 <= width <= 10_000.0 else None


def _data_of(path: Path) -> bytes:
    if path.is_symlink():
        message = f"{_shown(path.name)} is only linked to from here"
        raise ShopError(message)
    try:
        return path.read_bytes()
    except OSError as error:
        message = f"{_shown(path.name)} cannot be read: {(error.strerror or 'unknown').lower()}"
        raise ShopError(message) from error


MARK: Final = b"\xef\xbb\xbf"
QUOTED: Final = "a: b"
"""A value that cannot stand in a text without quotes."""


def _titled(data: bytes, title: str) -> bytes:
    """Return a job file with another title, every other byte as it was."""
    from flushwork.core.keys.words import quoted  # noqa: PLC0415
    from flushwork.job.text.edit import EditError, with_path  # noqa: PLC0415

    title = title.strip()
    if not 0 < len(title) <= LONGEST_TITLE or not title.isprintable():
        message = f"a title has 1 to {LONGEST_TITLE} letters on one line"
        raise ShopError(message)
    mark = MARK if data.startswith(MARK) else b""
    try:
        text = data[len(mark) :].decode("utf-8")
        windows = "\r\n" in text and "\n" not in text.replace("\r\n", "")
        after = text.replace("\r\n", "\n") if windows else text
        # a word that would be read as something else gets the quotes that stood there before it
        for value in (QUOTED, title) if quoted(title) != title else (title,):
            after = with_path(after, ["title"], value)
        after = after.replace("\n", "\r\n") if windows else after
    except (EditError, UnicodeDecodeError) as error:
        message = f"its title cannot be changed here: {error}; open it and change the text"
        raise ShopError(message) from error
    return mark + after.encode("utf-8")


def _belonging(path: Path) -> tuple[Path, ...]:
    """Return what a job's work makes beside it: its log, its photos, its builds."""
    stem = path.stem
    names = (f"{stem} log.json", f"{stem} photos", f"{stem} built", f"{stem} built (stopped)")
    return tuple(path.with_name(name) for name in names)


def _moved(path: Path, at: Path, to: Path) -> Path:
    if path.is_symlink() or not path.is_file():
        message = f"{_shown(path.name)} is no longer there"
        raise ShopError(message)
    if at not in path.parents:
        message = f"{_shown(path.name)} is no job of this shop"
        raise ShopError(message)
    place = to / path.relative_to(at)
    if place.parent.is_symlink() or to.is_symlink():
        message = f"{_shown(place.parent.name)} is only linked to from here"
        raise ShopError(message)
    twins = [path.with_suffix(each) for each in SUFFIXES if each != path.suffix]
    shared = any(each.is_file() for each in twins)
    things = () if shared else tuple(each for each in _belonging(path) if os.path.lexists(each))
    move_together([(each, place.with_name(each.name)) for each in (*things, path)])
    return place
