"""The desk: the job file being worked on, its builds, and everyone who looks at it.

One thread builds the saved job and what each page tries.  The newest text always wins: the build
under way is aborted at its next room, and begun again once nothing newer waits.  What was built
last of a text stays in sight until something newer is there.

Long because all who build, wait and look share one lock.
"""

from __future__ import annotations

import gc
import os
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flushwork.bench.desk.builds import Builds, hold_little, return_freed
from flushwork.bench.desk.cached_page import CachedPage, load
from flushwork.bench.desk.first_build import SHARES
from flushwork.bench.desk.job_file import JobFile
from flushwork.bench.desk.prefetch import Gaze
from flushwork.bench.desk.sheets import SAVED, Sheet, Sheets
from flushwork.bench.desk.snapshot import CACHED, DeskStatus, Snapshot
from flushwork.core.findings import Finding, JobRefusedError

if TYPE_CHECKING:
    # loaded by the building thread, so that the page answers before the heavy rooms are there
    from flushwork.bench.film.film import Film
    from flushwork.built import Build
    from flushwork.runtime.memo import Memo

PAGE_FIRST_S = 2.0
"""How long the build lets a page take the look kept from last time before it begins."""

SKETCH_FIRST_S = 0.5
"""How long the check of a changed depth waits for its first picture to be sent."""

KEEP_AFTER_S = 4.0
"""Nobody has changed anything for so long: then the look is kept, which takes a while."""


RESTS: Final = 5
"""Of so many checks close after one another, after one the rings are sought all the same."""

GARBAGE_AFTER: Final = (100_000, 20, 20)
"""Records made until the garbage collector runs: a build makes ten thousands, hardly one in a
cycle, and to search them over and over takes a tenth of its time."""


class _OvertakenError(Exception):
    """A newer text is waiting, or nobody waits for this one."""


class Desk:
    """A job file on the bench."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.Condition()
        self._drawing = threading.Lock()
        self._saved_look = self._ready_for = 0
        self._now: Sheet | None = None
        self._overtaken = False
        self._closed = False
        self._file = JobFile(path)
        self._sheets = Sheets(self._file.text)
        self._last = CACHED
        self._rests = 0
        self._shared = 0.0
        self.cached_page: CachedPage | None = load(path, self._file.text)
        self._builds = Builds(path, self._progress)
        self.look_taken = threading.Event()
        self.look_sent = threading.Event()
        self.look_sent.set()
        self.born = f"{os.getpid()}-{time.monotonic_ns()}"
        self._worker = threading.Thread(target=self._work, name="builds", daemon=True)

    def open(self) -> None:
        """Begin to build the file as it stands."""
        gc.set_threshold(*GARBAGE_AFTER)
        hold_little()
        self._worker.start()
        with self._lock:
            self._want(self._sheets.saved)

    def close(self) -> None:
        """Let the building thread end at its next room."""
        self.look_taken.set()
        with self._lock:
            self._closed = True
            self._lock.notify_all()
        if self._worker.is_alive():
            self._worker.join(timeout=60.0)

    def status(self, page: str = SAVED) -> DeskStatus:
        """Return how things stand for a page, having looked at the file.

        A page that tries nothing, and all that is no page, stands with the saved job.
        """
        with self._lock:
            self._look()
            self._sheets.heard(page)
            file, sheet = self._file, self._sheets.of(page)
            return DeskStatus(
                generation=self._generation(sheet),
                snapshot=sheet.snapshot,
                busy=sheet.busy,
                slips=sheet.slips,
                failed=sheet.failed,
                text=file.text,
                digest=file.digest,
                trying=sheet is not self._sheets.saved,
                outside=file.outside,
                undo=file.undoable,
                redo=file.redoable,
                share=self._share(sheet),
            )

    def snapshot(self, generation: int) -> Snapshot | None:
        """Return what is in sight under a number, on whichever page; None where nothing is."""
        with self._lock:
            return self._sheets.snapshot(generation)

    def at_work(self) -> bool:
        """Whether anything is being built."""
        with self._lock:
            return self._now is not None or bool(self._sheets.wanted)

    def memo_copy(self) -> Memo:
        """Return a memory that knows what the desk's builds have found."""
        return self._builds.memo_copy()

    def try_text(self, page: str, text: str, gaze: Gaze | None = None) -> None:
        """Build a page's text without saving it; a changed depth is in sight when this returns.

        Who asks sets ``look_sent`` once nothing of the first picture is left to be done.
        """
        self.look_taken.set()
        self.look_sent.clear()
        with self._drawing:
            with self._lock:
                sheet = self._sheets.put(page, text)
                if sheet is None:
                    self._lock.notify_all()
                    return
                sheet.gaze = gaze or sheet.gaze
                # what is being built for a text before ends at its next room
                self._want(sheet)
            # the building thread draws it again, and tells what is wrong
            with suppress(Exception):
                self._sketch(sheet, text)

    def leave(self, page: str) -> None:
        """Know that a page is closed, or has the saved text again: what it tried goes."""
        with self._lock:
            self._sheets.drop(page)

    def save(self, text: str, was: str) -> str:
        """Save a text over the one with the digest ``was``, build it, and return its digest.

        Raises ChangedOutsideError where the file is another by now, StoreError where it cannot be
        written.
        """
        with self._lock:
            saved = self._file.save(text, was)
            self._saved()
        return saved

    def undo(self, was: str) -> str:
        """Put back the text before the last saved one and return its digest; as ``save`` does."""
        with self._lock:
            if not self._file.undoable:
                return self._file.digest
            saved = self._file.undo(was)
            self._saved()
        return saved

    def redo(self, was: str) -> str:
        """Put the text there again that was undone last and return its digest; as ``save`` does."""
        with self._lock:
            if not self._file.redoable:
                return self._file.digest
            saved = self._file.redo(was)
            self._saved()
        return saved

    def history(self) -> tuple[tuple[str, ...], int]:
        """Return all texts one can go back or on to, in order, and which of them is that of now."""
        with self._lock:
            return self._file.texts(), self._file.undoable

    def take_theirs(self) -> None:
        """Read the file again, as somebody else has left it, and build that."""
        with self._lock:
            self._file.take_theirs()
            self._saved()

    def wait(self, timeout_s: float) -> bool:
        """Wait until nothing is being built; return whether that came in time."""
        with self._lock:
            return self._lock.wait_for(
                lambda: self._now is None and not self._sheets.wanted, timeout_s
            )

    def taken(self, generation: int) -> None:
        """Know that a page shows this generation: what waited for it may begin."""
        if generation == self._generation(self._sheets.saved):
            self.look_taken.set()

    def wait_newer(self, page: str, generation: int, timeout_s: float) -> None:
        """Wait until a page has something newer in sight, or waits for nothing, or time is over."""

        def newer() -> bool:
            sheet = self._sheets.of(page)
            return self._closed or not sheet.busy or self._generation(sheet) != generation

        with self._lock:
            self._lock.wait_for(newer, timeout_s)

    def _share(self, sheet: Sheet) -> float | None:
        """Return how much of the first full build is done."""
        if not sheet.busy or self._sheets.saved.checked is not None:
            return None
        # a room that is told of twice takes nothing back
        self._shared = max(self._shared, SHARES[sheet.snapshot is not None].get(sheet.busy, 0.0))
        return self._shared

    def _generation(self, sheet: Sheet) -> int:
        if sheet.snapshot is not None:
            return sheet.snapshot.generation
        return CACHED if self.cached_page is not None else 0

    def _look(self) -> None:
        """Notice what somebody else has made of the file: that is the saved job from now on."""
        self._file.look()
        if self._file.outside and self._file.readable():
            self._file.take_theirs()
            self._saved()

    def _saved(self) -> None:
        """Have the saved job built, as far as no page has built it already."""
        text = self._file.text
        if self._sheets.saved.snapshot is None and text != self._sheets.saved.text:
            self.cached_page = None
        self._sheets.save(text)
        self._want(self._sheets.saved)

    def _want(self, sheet: Sheet) -> None:
        if sheet.done:
            # a text gone back to: what was built of it is in sight at once
            sheet.snapshot, sheet.slips, sheet.failed = sheet.checked, (), ""
        self._sheets.want(sheet)
        self._overtaken = True
        self._lock.notify_all()

    def _work(self) -> None:
        if self.cached_page is not None:
            # the page first: building would take the processor from it
            self.look_taken.wait(PAGE_FIRST_S)
        while True:
            with self._lock:
                self._lock.wait_for(lambda: self._sheets.wanted or self._closed)
                if self._closed:
                    return
                sheet = self._now = self._sheets.wanted.pop()
                self._overtaken = False
                text, done = sheet.text, sheet.done
            if not done:
                self._build(sheet, text)
            with self._lock:
                self._now = None
                if sheet not in self._sheets.wanted:
                    sheet.busy = ""
                self._lock.notify_all()
                idle = not self._sheets.wanted
            if idle:
                self._at_rest(sheet)

    def _at_rest(self, sheet: Sheet) -> None:
        """Make ready for the next change, and keep the look of the saved job."""
        if sheet.checked is not None and sheet.checked.generation != self._ready_for:
            self._ready_for = sheet.checked.generation
            self._ready(sheet.checked)
        self._builds.let_go()
        self._rests += 1
        if self._rests % RESTS == 0:
            self._builds.sweep()
        with self._lock:
            self._lock.wait_for(lambda: self._sheets.wanted or self._closed, KEEP_AFTER_S)
            idle, closed = not self._sheets.wanted, self._closed
        if not idle:
            return
        if not closed:
            self._builds.sweep()
        checked = self._sheets.saved.checked
        if checked is not None and checked.generation != self._saved_look:
            self._saved_look = checked.generation
            self._keep(checked)
            return_freed()

    def _build(self, sheet: Sheet, text: str) -> None:
        slips: tuple[Finding, ...] = ()
        failed = ""
        try:
            with self._drawing:
                snapshot = sheet.snapshot
                drawn = snapshot is not None and snapshot.sketch and snapshot.text == text
                drawn = drawn or self._sketch(sheet, text)
            if not drawn:
                coarse = sheet.checked is None or self._builds.cut_anew(text, sheet.checked)
                self._full(sheet, text, coarse=coarse, checked=False)
            self._full(sheet, text, coarse=False, checked=True, drawn=drawn)
        except _OvertakenError:
            with self._lock:
                self._sheets.put_off(sheet)
            self._builds.aborted()
            return
        except JobRefusedError as refused:
            slips = refused.findings
        except Exception as error:  # noqa: BLE001 - a page must outlive a broken build
            failed = f"{type(error).__name__}: {error}"
        with self._lock:
            if sheet.text == text:
                sheet.slips, sheet.failed = slips, failed

    def _sketch(self, sheet: Sheet, text: str) -> bool:
        """Show a changed depth at once, by moving one floor of the last full build."""
        checked = sheet.checked
        if checked is None:
            return False
        from flushwork.bench.desk.sketch import depth_changed, sketched  # noqa: PLC0415

        found = depth_changed(checked.text, text)
        sketch = sketched(checked.made, *found) if found is not None else None
        if found is None or sketch is None:
            return False
        from flushwork.bench.film.film import repainted  # noqa: PLC0415

        film = repainted(checked.film, sketch.moved, found[0])
        self._put(sheet, self._next(text, lambda: sketch.made, film, coarse=True, base=checked))
        return True

    def _full(
        self, sheet: Sheet, text: str, *, coarse: bool, checked: bool, drawn: bool = False
    ) -> None:
        known = [each.checked for each in self._sheets.all() if each.checked is not None]
        made, prefetch = self._builds.made(
            text,
            known,
            coarse=coarse,
            checked=checked,
            gaze=sheet.gaze if checked else None,
            # its first picture is on its way to the screen: that goes before reading and drawing
            after=partial(self.look_sent.wait, SKETCH_FIRST_S) if drawn else None,
        )
        self._progress("paint the board")
        snapshot = self._next(text, lambda: made, prefetch.film, coarse=not checked)
        prefetch.word(snapshot)
        self._put(sheet, snapshot)

    def _ready(self, snapshot: Snapshot) -> None:
        """Look up what the first picture of a changed depth will need."""
        from flushwork.bench.desk.sketch import readied  # noqa: PLC0415

        readied(snapshot.made, snapshot.text, lambda: bool(self._sheets.wanted))

    def _keep(self, snapshot: Snapshot) -> None:
        """Keep the look of the saved text for the next time the bench is opened."""
        if snapshot.text != self._file.text or self._sheets.wanted:
            return
        # imported late, as all that builds
        from flushwork.bench.desk.builds import keep_look  # noqa: PLC0415

        if not keep_look(self.path, snapshot, lambda: bool(self._sheets.wanted)):
            # a change comes first; the look is kept another time
            self._saved_look = 0

    def _next(
        self,
        text: str,
        make: Callable[[], Build],
        film: Film,
        *,
        coarse: bool,
        base: Snapshot | None = None,
    ) -> Snapshot:
        """Return what is to be in sight next; of all pages' pictures no two have one number."""
        with self._lock:
            self._last += 1
            return Snapshot(self._last, text, make, film, coarse, base)

    def _put(self, sheet: Sheet, snapshot: Snapshot) -> None:
        with self._lock:
            before = sheet.snapshot.generation if sheet.snapshot is not None else 0
            late = snapshot.coarse and sheet.done
            if late or before >= snapshot.generation or snapshot.text != sheet.text:
                raise _OvertakenError
            sheet.snapshot = snapshot
            sheet.slips, sheet.failed = (), ""
            if not snapshot.coarse:
                sheet.checked = snapshot
            self._lock.notify_all()

    def _progress(self, room: str) -> None:
        with self._lock:
            sheet = self._now
            if self._closed or self._overtaken or sheet is None or not self._sheets.holds(sheet):
                raise _OvertakenError
            sheet.busy = room
