"""The desk: the job file being worked on, its builds, and everyone who looks at it.

One thread builds.  A newer text always wins: a walk that nobody waits for is left at its next
room.  What was built last stays in sight until something newer is there.
"""

from __future__ import annotations

import gc
import os
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flushwork.bench.ahead import Ahead, Gaze
from flushwork.bench.job_file import JobFile
from flushwork.bench.kept import Kept, load
from flushwork.bench.shown import FIRST, KEPT, Shown, Standing
from flushwork.errors import JobRefusedError
from flushwork.findings import Finding, Source

if TYPE_CHECKING:
    # loaded by the building thread, so that the page answers before the heavy rooms are there
    from flushwork.bench.film import Film, FilmMemory
    from flushwork.geometry.drawn import Begun
    from flushwork.memory import Memory
    from flushwork.pipeline import Build

FIRST_CELL_MM = 0.5
"""Side of a cell for the first picture of new cuts: 25 times fewer cells than by default."""


PAGE_FIRST_S = 2.0
"""How long the build lets a page take the look kept from last time before it begins."""

SKETCH_FIRST_S = 0.5
"""How long the proof of a changed depth waits for its first picture to be sent."""

KEEP_AFTER_S = 4.0
"""Nobody has changed anything for so long: then the look is kept, which takes a while."""


GARBAGE_AFTER: Final = (100_000, 20, 20)
"""Records made until rings among them are sought: a walk makes ten thousands, hardly one in a ring,
and to look through them over and over takes a tenth of its time."""

_ANY = Source(file="", line=0, column=0, key="")


class _OvertakenError(Exception):
    """A newer text is waiting."""


class Desk:
    """A job file on the bench."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Condition()
        self._drawing = threading.Lock()
        self._memory: Memory | None = None
        self._films: dict[bool, tuple[Build, Film]] = {}
        self._tiles: FilmMemory | None = None
        self._shown: Shown | None = None
        self._proved: Shown | None = None
        self._saved_look: Shown | None = None
        self._busy = ""
        self._slips: tuple[Finding, ...] = ()
        self._failed = ""
        self._wanted: str | None = None
        self._closed = False
        self._file = JobFile(path)
        self.kept: Kept | None = load(path, self._file.text)
        self.look_taken = threading.Event()
        self.look_sent = threading.Event()
        self.look_sent.set()
        self.gaze: Gaze | None = None
        self._asked = self._file.text
        self.born = f"{os.getpid()}-{time.monotonic_ns()}"
        self._worker = threading.Thread(target=self._work, name="builds", daemon=True)

    def open(self) -> None:
        """Begin to build the file as it stands."""
        gc.set_threshold(*GARBAGE_AFTER)
        self._worker.start()
        self._want(self._file.text)

    def close(self) -> None:
        """Let the building thread end at its next room."""
        self.look_taken.set()
        with self._lock:
            self._closed = True
            self._lock.notify_all()
        if self._worker.is_alive():
            self._worker.join(timeout=60.0)

    def standing(self) -> Standing:
        """Return how things stand now, having looked at the file."""
        with self._lock:
            file = self._file
            file.look()
            return Standing(
                generation=self._generation(),
                shown=self._shown,
                busy=self._busy,
                slips=self._slips,
                failed=self._failed,
                text=file.text,
                digest=file.digest,
                trying=self._asked != file.text,
                outside=file.outside,
                undo=file.undoable,
            )

    def try_text(self, text: str) -> None:
        """Build a text without saving it; a changed depth is in sight when this returns.

        Who asks sets ``look_sent`` once nothing of the first picture is left to be done.
        """
        self.look_taken.set()
        self.look_sent.clear()
        with self._drawing:
            # what is being built for a text before ends at its next room
            self._want(text)
            # the building thread draws it again, and tells what is wrong
            with suppress(Exception):
                self._sketch(text)

    def save(self, text: str, was: str) -> str:
        """Save a text over the one with the digest ``was``, build it, and return its digest.

        Raises ChangedOutsideError where the file is another by now, StoreError where it cannot be
        written.
        """
        with self._lock:
            saved = self._file.save(text, was)
        self._want(text)
        return saved

    def undo(self, was: str) -> str:
        """Put back the text before the last saved one and return its digest; as ``save`` does."""
        with self._lock:
            if not self._file.undoable:
                return self._file.digest
            saved, text = self._file.undo(was), self._file.text
        self._want(text)
        return saved

    def take_theirs(self) -> None:
        """Read the file again, as somebody else has left it, and build that."""
        with self._lock:
            self._file.take_theirs()
            text = self._file.text
        self._want(text)

    def wait(self, timeout_s: float) -> bool:
        """Wait until nothing is being built; return whether that came in time."""
        with self._lock:
            return self._lock.wait_for(lambda: not self._busy and self._wanted is None, timeout_s)

    def _generation(self) -> int:
        if self._shown is not None:
            return self._shown.generation
        return KEPT if self.kept is not None else 0

    def taken(self, generation: int) -> None:
        """Know that a page shows this generation: what waited for it may begin."""
        if generation == self._generation():
            self.look_taken.set()

    def wait_newer(self, generation: int, timeout_s: float) -> None:
        """Wait until something newer is in sight, or nothing is built, or the time is over."""
        with self._lock:
            self._lock.wait_for(
                lambda: (
                    self._generation() != generation
                    or (not self._busy and self._wanted is None)
                    or self._closed
                ),
                timeout_s,
            )

    def _want(self, text: str) -> None:
        with self._lock:
            self._wanted = self._asked = text
            self._busy = self._busy or "read the job"
            self._lock.notify_all()

    def _work(self) -> None:
        if self.kept is not None:
            # the page first: building would take the processor from it
            self.look_taken.wait(PAGE_FIRST_S)
        while True:
            with self._lock:
                self._lock.wait_for(lambda: self._wanted is not None or self._closed)
                if self._closed:
                    return
                text, self._wanted = self._wanted or "", None
            self._build(text)
            with self._lock:
                idle = self._wanted is None
                if idle:
                    self._busy = ""
                    self._lock.notify_all()
            if idle and self._proved is not None and self._proved is not self._saved_look:
                self._ready(self._proved)
                with self._lock:
                    self._lock.wait_for(
                        lambda: self._wanted is not None or self._closed, KEEP_AFTER_S
                    )
                    idle = self._wanted is None
                if idle:
                    self._saved_look = self._proved
                    self._keep(self._proved)

    def _build(self, text: str) -> None:
        slips: tuple[Finding, ...] = ()
        failed = ""
        try:
            with self._drawing:
                shown = self._shown
                drawn = shown is not None and shown.sketch and shown.text == text
                drawn = drawn or self._sketch(text)
            if not drawn:
                self._walk(text, cell_mm=self._first_cell_mm(text), proved=False)
            self._walk(text, cell_mm=None, proved=True, drawn=drawn)
        except _OvertakenError:
            return
        except JobRefusedError as refused:
            slips = refused.findings
        except Exception as error:  # noqa: BLE001 - a page must outlive a broken build
            failed = f"{type(error).__name__}: {error}"
        with self._lock:
            self._slips, self._failed = slips, failed

    def _sketch(self, text: str) -> bool:
        """Show a changed depth at once, by moving one floor of the last full build."""
        proved = self._proved
        if proved is None:
            return False
        from flushwork.bench.sketch import depth_changed, sketched  # noqa: PLC0415

        found = depth_changed(proved.text, text)
        sketch = sketched(proved.made, *found) if found is not None else None
        if found is None or sketch is None:
            return False
        from flushwork.bench.film import repainted  # noqa: PLC0415

        film = repainted(proved.film, sketch.moved, found[0])
        self._put(self._next(text, lambda: sketch.made, film, coarse=True, base=proved))
        return True

    def _first_cell_mm(self, text: str) -> float | None:
        """Return how large cells are on a first picture: the job's own where nothing new is cut."""
        from flushwork.bench.cut_alike import cut_alike  # noqa: PLC0415
        from flushwork.job.read import read_job  # noqa: PLC0415

        if self._proved is None or not cut_alike(read_job(self.path, text), self._proved.made.job):
            return FIRST_CELL_MM
        return None

    def _walk(
        self, text: str, *, cell_mm: float | None, proved: bool, drawn: bool = False
    ) -> None:
        from flushwork.bench.film import FilmMemory, film_of  # noqa: PLC0415
        from flushwork.memory import Memory  # noqa: PLC0415
        from flushwork.pipeline import build  # noqa: PLC0415

        self._memory, self._tiles = self._memory or Memory(), self._tiles or FilmMemory()
        tiles = None if cell_mm is not None else self._tiles

        def filmed(made: Build) -> Film:
            self._progress("paint the board")
            return self._film_kept(made) or film_of(made, tiles)

        ahead = Ahead(filmed, self.gaze if proved else None)
        made = build(
            self.path,
            self._progress,
            text=text,
            begun=partial(self._begun, text, drawn=drawn),
            memory=self._memory,
            cell_mm=cell_mm,
            proved=proved,
            seen=ahead.look,
        )
        self._films[cell_mm is not None] = (made, ahead.film)
        self._progress("paint the board")
        shown = self._next(text, lambda: made, ahead.film, coarse=not proved)
        ahead.word(shown)
        self._put(shown)
        if proved:
            self._proved = shown

    def _begun(self, text: str, *, drawn: bool) -> Begun:
        """Read and draw a text, once its first picture is on its way to the screen."""
        from flushwork.geometry.begin import begin  # noqa: PLC0415

        if drawn:
            self.look_sent.wait(SKETCH_FIRST_S)
        return begin(self.path, text)

    def _ready(self, shown: Shown) -> None:
        """Look up what the first picture of a changed depth will need."""
        from flushwork.bench.sketch import readied  # noqa: PLC0415

        readied(shown.made, shown.text, lambda: self._wanted is not None)

    def _keep(self, shown: Shown) -> None:
        """Keep the look of the saved text for the next time the bench is opened."""
        if shown.text != self._file.text or self._wanted is not None:
            return
        # imported late, as all that builds
        from flushwork.bench.kept import save  # noqa: PLC0415
        from flushwork.bench.rendering import rendered_parts  # noqa: PLC0415

        for number in {*shown.film.shots[-1].front.tiles.values()}:
            if self._wanted is not None:
                # a change comes first; the look is kept another time
                self._saved_look = None
                return
            _ = shown.film.tiles[number].screen
        parts = {
            "metric": rendered_parts(shown, "metric"),
            "inch": rendered_parts(shown, "inch"),
        }
        save(self.path, shown.text, shown.made.job, shown.film, parts)

    def _next(
        self,
        text: str,
        make: Callable[[], Build],
        film: Film,
        *,
        coarse: bool,
        base: Shown | None = None,
    ) -> Shown:
        """Return what is to be in sight next."""
        with self._lock:
            # the look kept from last time is the first generation
            generation = self._shown.generation + 1 if self._shown else FIRST
            return Shown(generation, text, make, film, coarse, base)

    def _put(self, shown: Shown) -> None:
        with self._lock:
            overtaken = self._shown is not None and self._shown.generation >= shown.generation
            if overtaken or shown.text != self._asked:
                raise _OvertakenError
            self._shown = shown
            self._slips, self._failed = (), ""
            self._lock.notify_all()

    def _film_kept(self, made: Build) -> Film | None:
        """Return the film of an earlier build that looks the same to the last pixel."""
        for old, film in self._films.values():
            if (
                old.replay is made.replay
                and old.palette == made.palette
                and replace(old.job.blank, source=made.job.blank.source, thickness_source=_ANY)
                == replace(made.job.blank, thickness_source=_ANY)
                and [face.trim for face in old.faces] == [face.trim for face in made.faces]
                and [stage.kind for stage in old.plan.stages]
                == [stage.kind for stage in made.plan.stages]
            ):
                return film
        return None

    def _progress(self, room: str) -> None:
        with self._lock:
            if self._closed or self._wanted is not None:
                raise _OvertakenError
            self._busy = room
