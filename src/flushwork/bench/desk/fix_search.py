"""Looking for a fix of one finding: each change is built in full before anybody is shown it.

One thread works through the changes behind the page, the cheapest first, and gives way to the
desk's own builds.  Nothing is written.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Final

from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.fix_views import changes_of, edit_views
from flushwork.bench.pages.page_records import EditView
from flushwork.core.findings import Finding
from flushwork.job.text.change import in_place
from flushwork.job.text.edit import EditError
from flushwork.runtime.memo import Memo
from flushwork.usecases.fix import Fix, fixes_worth_trying, mended, why_not
from flushwork.usecases.tries import tried

WANTED: Final = 2
"""So many fixes are enough to choose from."""
LONGEST_S: Final = 90.0
"""So long a finding is worked on, the desk's own builds not counted."""
_REST_S: Final = 0.05
BY_TEXT: Final = "What might take it away can only be written into the text by hand."


@dataclass
class Search:
    """A search under way or done: ``offers`` hold, ``tried`` of ``whole`` changes were heard.

    ``why`` says, once it is done, why there is no offer.
    """

    number: int
    snapshot: Snapshot
    finding: Finding
    offers: list[tuple[EditView, ...]] = field(default_factory=list)
    tried: int = 0
    whole: int = 0
    why: str = ""
    done: bool = False
    left: bool = False
    spent_s: float = 0.0

    def data(self) -> dict[str, Any]:
        """Return the search as the page shows it."""
        return {
            "number": self.number,
            "busy": not self.done and not self.left,
            "tried": self.tried,
            "whole": self.whole,
            "fixes": [[asdict(edit) for edit in edits] for edits in self.offers],
            "words": self.words(),
        }

    def words(self) -> str:
        """Return how it stands, in words."""
        if self.left and not self.done:
            return "The search was left."
        if not self.done:
            return "Looking …"
        if not self.offers:
            return self.why
        many = f"{len(self.offers)} fixes were" if len(self.offers) > 1 else "One fix was"
        return f"{many} found: the finding goes, and nothing as heavy comes."


class Finder:
    """Looks for a fix of one finding at a time; a new search takes the place of the old."""

    def __init__(
        self,
        path: Path,
        pause: Callable[[], bool],
        memo_copy: Callable[[], Memo],
        longest_s: float = LONGEST_S,
    ) -> None:
        self.path = path
        self.longest_s = longest_s
        self._pause = pause
        self._memo_copy = memo_copy
        self._lock = threading.Lock()
        self._one = threading.Lock()
        self._now: Search | None = None
        self._last = 0

    @property
    def busy(self) -> bool:
        """Whether a search is under way."""
        now = self._now
        return now is not None and not now.done and not now.left

    def start(self, snapshot: Snapshot, finding: Finding) -> Search:
        """Begin a search for a finding of what is in sight; what is known already is not sought."""
        with self._lock:
            if self._now is not None:
                self._now.left = True
            known = snapshot.known.get((Finder, finding))
            if isinstance(known, Search):
                self._now = known
                return known
            self._last += 1
            search = self._now = Search(self._last, snapshot, finding)
        threading.Thread(target=self._work, args=(search,), name="fixes", daemon=True).start()
        return search

    def status(self, number: int) -> Search | None:
        """Return a search as far as it is; None where another has taken its place."""
        now = self._now
        return now if now is not None and now.number == number else None

    def stop(self, number: int) -> None:
        """Leave a search at its next question."""
        with self._lock:
            if self._now is not None and self._now.number == number:
                self._now.left = True

    def _work(self, search: Search) -> None:
        with self._one:
            try:
                self._look(search)
                search.snapshot.known[Finder, search.finding] = search
            except _LeftError:
                return
            except _SpentError:
                search.why = (
                    f"Nothing found in {self.longest_s:.0f} seconds: {search.tried} of "
                    f"{search.whole} changes were tried. Try one in the text yourself."
                )
            except Exception as error:  # noqa: BLE001 - the page must hear of it
                search.why = f"The search has failed: {type(error).__name__}: {error}."
            search.done = True

    def _look(self, search: Search) -> None:
        snapshot, finding = search.snapshot, search.finding
        fixes = fixes_worth_trying(snapshot.made, finding)
        texts = _texts(snapshot.text, fixes)
        search.whole = len(texts)
        memo = self._memo_copy()
        for text, fix in texts.items():
            after = self._heard(text, memo, search)
            search.tried += 1
            if mended(finding, snapshot.made.findings, after):
                search.offers.append(edit_views(snapshot.text, fix))
            if len(search.offers) == WANTED:
                break
        search.why = BY_TEXT if fixes and not texts else why_not(finding, search.tried)

    def _heard(self, text: str, memo: Memo, search: Search) -> tuple[Finding, ...]:
        """Return what the whole check tells of a text, those that refuse it included."""
        since_s = time.monotonic()

        def progress(_room: str) -> None:
            nonlocal since_s
            search.spent_s += time.monotonic() - since_s
            while self._pause() and not search.left:
                time.sleep(_REST_S)
            since_s = time.monotonic()
            if search.left:
                raise _LeftError
            if search.spent_s > self.longest_s:
                raise _SpentError

        return tried(self.path, text, progress, memo).findings


def _texts(text: str, fixes: tuple[Fix, ...]) -> dict[str, Fix]:
    """Return the texts to try, each with its fix; those that cannot be written so are left out."""
    texts: dict[str, Fix] = {}
    for fix in fixes:
        try:
            changed = in_place(text, changes_of(fix))
        except EditError:
            continue
        if changed != text:
            texts.setdefault(changed, fix)
    return texts


class _LeftError(Exception):
    """Nobody waits for this search any more."""


class _SpentError(Exception):
    """This search has taken as long as one may."""
