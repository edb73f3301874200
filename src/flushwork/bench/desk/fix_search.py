"""Looking for a fix of one finding: each change is built in full before anybody is shown it.

One thread works through the changes behind the page, the cheapest first, and gives way to the
desk's own builds.  Nothing is written.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Final

from flushwork.bench.desk.background import Background, LongWork
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.whole_page import EditView
from flushwork.core.findings import Finding
from flushwork.job.text.change import Change, in_place, told_at
from flushwork.job.text.edit import EditError, items_of, path_of
from flushwork.runtime.memo import Memo
from flushwork.usecases.check import tried
from flushwork.usecases.what_if import Fix, fixes_worth_trying, mended, why_not
from flushwork.views.figures import clean

# ---- A fix as the page shows it: what it changes in words, as written now and as proposed


_NUMBER: Final = re.compile(r"^\d")


def changes_of(fix: Fix) -> tuple[Change, ...]:
    """Return the changes that a fix makes."""
    return tuple((edit.path, edit.value) for edit in fix.edits)


def edit_views(text: str, fix: Fix) -> tuple[EditView, ...]:
    """Return what a fix changes in a text; what stands there already is left out."""
    alone = len(fix.edits) == 1
    views = []
    for edit in fix.edits:
        was, value = written(text, edit.path), _told(edit.value)
        if was != (value or ""):
            number = alone and value is not None and _NUMBER.match(value) is not None
            views.append(EditView(edit.path, words_of(edit.path), was, edit.value, value, number))
    return tuple(views)


def written(text: str, steps: Sequence[str]) -> str:
    """Return how a key is written in a text; empty where it is not."""
    try:
        found = told_at(text, path_of(text, steps))
    except EditError:
        return ""
    return "" if found is None else _line(found)


def _told(value: str | None) -> str | None:
    items = items_of(value) if value is not None else None
    return ", ".join(items) if items is not None else value


def _line(plain: Any) -> str:
    if isinstance(plain, dict):
        return ", ".join(f"{key} {_line(each)}" for key, each in plain.items())
    if isinstance(plain, list):
        return ", ".join(_line(each) for each in plain)
    return str(plain)


WORDS: Final = {"how": "filling", "in layers": "layered pour", "twice": "second pass of the V"}
"""What some keys are called beside a thing, where the key by itself says little."""
_PLACES: Final = ("front", "back", "allowances", "blank", "bright lines")


def words_of(path: Sequence[str]) -> str:
    """Return a key in words: what of which thing, and on which face or under what."""
    steps = [step for step in path if step not in ("inlays", "holes", "mixes")]
    place = f" ({steps.pop(0)})" if len(steps) > 1 and steps[0] in _PLACES else ""
    steps[-1] = WORDS.get(steps[-1], steps[-1])
    return clean(" of ".join(reversed(steps)) + place)


# ---- Looking for a fix of one finding: each change is built in full before anybody is shown it


WANTED: Final = 2
"""So many fixes are enough to choose from."""
LONGEST_S: Final = 90.0
"""So long a finding is worked on, the desk's own builds not counted."""
BY_TEXT: Final = "What might take it away can only be written into the text by hand."


@dataclass(kw_only=True)
class Search(LongWork):
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
    spent_s: float = 0.0

    def fail(self, why: str) -> None:
        """Note that it broke off."""
        self.why, self.done = f"The search has failed: {why}.", True

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


class Finder(Background[Search]):
    """Looks for a fix of one finding at a time; a new search takes the place of the old."""

    def __init__(
        self,
        path: Path,
        pause: Callable[[], bool],
        memo_copy: Callable[[], Memo],
        longest_s: float = LONGEST_S,
    ) -> None:
        super().__init__(path, pause)
        self.longest_s = longest_s
        self._memo_copy = memo_copy
        self._last = 0

    @property
    def busy(self) -> bool:
        """Whether a search is under way."""
        now = self.now
        return now is not None and not now.done and not now.left

    def start(self, snapshot: Snapshot, finding: Finding) -> Search:
        """Begin a search for a finding of what is in sight; what is known already is not sought."""
        with self.lock:
            known = snapshot.known.get((Finder, finding))
            if isinstance(known, Search):
                self.leave()
                self.now = known
                return known
            self._last += 1
            search = Search(number=self._last, snapshot=snapshot, finding=finding)
            self.begin(search, self._work)
            return search

    def status(self, number: int) -> Search | None:
        """Return a search as far as it is; None where another has taken its place."""
        now = self.now
        return now if now is not None and now.number == number else None

    def stop(self, number: int) -> None:
        """Leave a search at its next question."""
        with self.lock:
            if self.status(number) is not None:
                self.leave()

    def _work(self, search: Search) -> None:
        try:
            self._look(search)
            search.snapshot.known[Finder, search.finding] = search
        except _SpentError:
            search.why = (
                f"Nothing found in {self.longest_s:.0f} seconds: {search.tried} of "
                f"{search.whole} changes were tried. Try one in the text yourself."
            )
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
            self.give_way(search)
            since_s = time.monotonic()
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


class _SpentError(Exception):
    """This search has taken as long as one may."""
