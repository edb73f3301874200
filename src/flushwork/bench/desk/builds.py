"""The builds of the desk: with a memo, their films, and how much of both is cached.

A film is used again where the board looks alike; freed memory is given back to the system.
"""

from __future__ import annotations

import ctypes
import gc
import sys
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flushwork.bench.desk.cached_page import save
from flushwork.bench.desk.prefetch import Gaze, Prefetch
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.core.findings import Source
from flushwork.job.records import Face, Inlay, Job

if TYPE_CHECKING:
    from flushwork.art.drawn import Begun
    from flushwork.bench.film.film import Film, FilmCache
    from flushwork.built import Build
    from flushwork.runtime.memo import Memo


_TRIM, _MMAP, _ARENAS = -1, -3, -8
"""Numbers of M_TRIM_THRESHOLD, M_MMAP_THRESHOLD and M_ARENA_MAX (mallopt(3), Linux man-pages)."""
LARGE_BYTES: Final = 4 * 1024 * 1024
"""A piece so large goes back the moment it is freed; most tiles and tables are smaller."""
FREE_BYTES: Final = 32 * 1024 * 1024
ARENAS: Final = 2
"""Places to allocate from: as many as threads that work at once, not as many as there ever were."""


@cache
def _library() -> Any:
    """Return the C library where it can give memory back (glibc), else None."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        library = ctypes.CDLL("libc.so.6")
    except OSError:
        return None
    return library if hasattr(library, "malloc_trim") else None


def hold_little() -> None:
    """Have the allocator hold little that is free; called once, before the threads begin."""
    library = _library()
    if library is not None:
        for which, value in ((_ARENAS, ARENAS), (_MMAP, LARGE_BYTES), (_TRIM, FREE_BYTES)):
            library.mallopt(which, value)


def return_freed() -> None:
    """Give back what was freed: else an allocator with many threads keeps a good part of it.

    A build frees as much as it takes; what it leaves in pieces between what lives on would be held
    until the process ends (malloc_trim(3), Linux man-pages).
    """
    library = _library()
    if library is not None:
        library.malloc_trim(0)


_ANY: Final = Source(file="", line=0, column=0, key="")


def look_alike(old: Build, made: Build) -> bool:
    """Return whether two builds look the same to the last pixel."""
    return (
        old.replay is made.replay
        and old.palette == made.palette
        and replace(old.job.blank, source=made.job.blank.source, thickness_source=_ANY)
        == replace(made.job.blank, thickness_source=_ANY)
        and [face.trim for face in old.faces] == [face.trim for face in made.faces]
        and [stage.kind for stage in old.plan.stages] == [stage.kind for stage in made.plan.stages]
    )


def keep_look(path: Path, snapshot: Snapshot, given_up: Callable[[], bool]) -> bool:
    """Keep the look of a checked job for the next time; return whether nothing came between."""
    from flushwork.bench.server.rendering import rendered_parts  # noqa: PLC0415
    from flushwork.usecases.kept_check import keep_check  # noqa: PLC0415

    keep_check(path, snapshot.made, snapshot.text)
    for number in {*snapshot.film.shots[-1].front.tiles.values()}:
        if given_up():
            return False
        _ = snapshot.film.tiles[number].screen
    parts = {
        "metric": rendered_parts(snapshot, "metric"),
        "inch": rendered_parts(snapshot, "inch"),
    }
    save(path, snapshot.text, snapshot.made.job, snapshot.film, parts)
    return True


FIRST_CELL_MM: Final = 0.5
"""Side of a cell for the first picture of new cuts: 25 times fewer cells than by default."""

MOST_CACHED_BYTES: Final = 640 * 1024 * 1024
"""Bytes of arrays in all results; those of the last build stay (`design/bench_memory.py`)."""

MOST_ABORTED: Final = 6
"""Builds aborted in a row before the memo is shrunk."""


class Builds:
    """What is cached from one build to the next.  For the building thread alone."""

    def __init__(self, path: Path, progress: Callable[[str], None]) -> None:
        self.path = path
        self._progress = progress
        self._memo: Memo | None = None
        self._tiles: FilmCache | None = None
        self._first: tuple[Build, Film] | None = None
        self._aborted = 0

    def cut_anew(self, text: str, before: Snapshot) -> bool:
        """Return whether a text asks for other cuts than were checked before."""
        from flushwork.usecases.jobs import load  # noqa: PLC0415

        return not cut_alike(load(self.path, text), before.made.job)

    def made(
        self,
        text: str,
        known: Sequence[Snapshot],
        *,
        coarse: bool,
        checked: bool,
        gaze: Gaze | None,
        after: Callable[[], Any] | None,
    ) -> tuple[Build, Prefetch]:
        """Return a text built, and its film; where ``known`` looks the same, that film.

        ``after`` is waited for before the text is read.
        """
        from flushwork.bench.film.film import FilmCache, film_of  # noqa: PLC0415
        from flushwork.pipeline import build  # noqa: PLC0415
        from flushwork.runtime.memo import Memo  # noqa: PLC0415
        from flushwork.usecases import jobs  # noqa: PLC0415

        self._memo, self._tiles = self._memo or Memo(), self._tiles or FilmCache()
        tiles = None if coarse else self._tiles

        def filmed(made: Build) -> Film:
            self._progress("paint the board")
            return self._film_kept(made, known) or film_of(made, tiles)

        def preread() -> Begun:
            if after is not None:
                after()
            return jobs.preread(self.path, text)

        prefetch = Prefetch(filmed, gaze)
        made = build(
            self.path,
            self._progress,
            text=text,
            preread=preread,
            memo=self._memo,
            cell_mm=FIRST_CELL_MM if coarse else None,
            check=checked,
            on_replayed=prefetch.look,
        )
        self._first = None if checked else (made, prefetch.film)
        return made, prefetch

    def memo_copy(self) -> Memo:
        """Return a copy of the memo, for builds of other threads."""
        from flushwork.runtime.memo import Memo  # noqa: PLC0415

        return self._memo.copy() if self._memo is not None else Memo()

    def let_go(self) -> None:
        """Keep no more than is of use, and give back what is free."""
        self._aborted = 0
        if self._memo is not None:
            self._memo.shrink(MOST_CACHED_BYTES)
        return_freed()

    def sweep(self) -> None:
        """Seek records that hold each other in a ring, and what they hold: an answer sent, a build.

        Between builds, since all else waits for it; during one it is hardly ever done.
        """
        gc.collect()
        return_freed()

    def aborted(self) -> None:
        """Note an aborted build: who types on and on ends none, and each leaves results."""
        self._aborted += 1
        if self._aborted >= MOST_ABORTED:
            self.let_go()

    def _film_kept(self, made: Build, known: Sequence[Snapshot]) -> Film | None:
        """Return the film of an earlier build that looks the same to the last pixel."""
        films = [(each.made, each.film) for each in known]
        if self._first is not None:
            films.append(self._first)
        return next((film for old, film in films if look_alike(old, made)), None)


# ---- Whether two jobs are cut alike
#
# Then the first picture of one follows from the other's G-code files.
#
# Colours, fills, the number of pieces and what is said of days, costs and findings change no cut.


_POURED: Final = frozenset({"mix", "cap", "cap_mm", "sealed", "in_layers"})
"""What of an inlay no bit asks for."""
_INLAY: Final = tuple(each.name for each in fields(Inlay) if each.name not in _POURED)


def cut_alike(one: Job, other: Job) -> bool:
    """Return whether the same cuts are asked for in two jobs, in the same lines of their files.

    Fills may still change the order of the rounds: who needs to know that has to plan both.
    """
    return _asked(one) == _asked(other)


def _asked(job: Job) -> tuple[object, ...]:
    return (
        job.blank,
        job.outline,
        job.allowances,
        job.shop,
        job.holding,
        job.imported,
        job.locating,
        job.keep_outs,
        job.marks,
        job.bed,
        tuple(_face(face) for face in job.faces),
    )


def _face(face: Face) -> tuple[object, ...]:
    inlays = tuple(tuple(getattr(inlay, name) for name in _INLAY) for inlay in face.inlays)
    return face.name, inlays, face.holes, face.pockets, face.edges, face.hangers


__all__ = ["FIRST_CELL_MM", "MOST_CACHED_BYTES", "Builds"]
