"""The texts being built: the saved job, and what each page tries without saving it.

A trial belongs to the page it was typed on.  All else knows the saved job alone: the page at the
machine, the phone, the files, every page just opened.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from flushwork.core.findings import Finding

if TYPE_CHECKING:
    # loaded by the building thread, so that the page answers before the heavy rooms are there
    from flushwork.bench.desk.prefetch import Gaze
    from flushwork.bench.desk.snapshot import Snapshot

SAVED: Final = ""
"""The page whose text is the saved job: none."""
MOST_TRIALS: Final = 3
"""Pages whose unsaved texts are kept built; of one more, the page heard of longest ago goes."""
SILENT_S: Final = 300.0
"""A page that has asked for nothing so long is closed; one in the background asks each minute."""
READING: Final = "read the job"


@dataclass(eq=False)
class Sheet:
    """One text and what has been built of it so far.

    ``shown`` is what is in sight of it, perhaps still that of the text before; ``checked`` the last
    of it that is checked.  ``busy`` names the room at work on it; ``slips`` and ``failed`` say why
    it could not be built.  ``heard_s`` is when its page last asked for anything.
    """

    page: str
    text: str
    snapshot: Snapshot | None = None
    checked: Snapshot | None = None
    busy: str = ""
    slips: tuple[Finding, ...] = ()
    failed: str = ""
    gaze: Gaze | None = None
    heard_s: float = field(default_factory=time.monotonic)

    @property
    def done(self) -> bool:
        """Whether this very text is checked."""
        return self.checked is not None and self.checked.text == self.text


class Sheets:
    """The saved job's sheet, those of the pages, and the order in which they are to be built.

    For one thread at a time.
    """

    def __init__(self, text: str) -> None:
        self.saved = Sheet(SAVED, text)
        self.trials: dict[str, Sheet] = {}
        self.wanted: list[Sheet] = []

    def of(self, page: str) -> Sheet:
        """Return the sheet a page looks at: its own where it tries a text, else the saved job's."""
        return self.trials.get(page, self.saved)

    def all(self) -> tuple[Sheet, ...]:
        """Return every sheet."""
        return (self.saved, *self.trials.values())

    def holds(self, sheet: Sheet) -> bool:
        """Whether a sheet is still on the desk."""
        return sheet is self.saved or self.trials.get(sheet.page) is sheet

    def snapshot(self, generation: int) -> Snapshot | None:
        """Return what is in sight under that number on any page."""
        return next(
            (
                each.snapshot
                for each in self.all()
                if each.snapshot is not None and each.snapshot.generation == generation
            ),
            None,
        )

    def put(self, page: str, text: str) -> Sheet | None:
        """Take the text of a page; None where it is the saved one: the page looks at that again."""
        if text == self.saved.text:
            self.drop(page)
            return None
        sheet = self.trials.get(page)
        if sheet is None:
            while len(self.trials) >= MOST_TRIALS:
                self.drop(min(self.trials.values(), key=lambda each: each.heard_s).page)
            saved = self.saved
            sheet = self.trials[page] = Sheet(page, text, saved.snapshot, saved.checked)
        sheet.text, sheet.heard_s = text, time.monotonic()
        return sheet

    def save(self, text: str) -> None:
        """Take the text of the saved job; what a page has built of it already becomes its own."""
        self.saved.text = text
        for sheet in [each for each in self.trials.values() if each.text == text]:
            if sheet.snapshot is not None and sheet.snapshot.text == text and not self.saved.done:
                self.saved.snapshot, self.saved.checked = sheet.snapshot, sheet.checked
            self.drop(sheet.page)

    def drop(self, page: str) -> None:
        """Forget what a page tries."""
        sheet = self.trials.pop(page, None)
        if sheet in self.wanted:
            self.wanted.remove(sheet)

    def heard(self, page: str) -> None:
        """Know that a page is there; pages that have been silent for long are forgotten."""
        now_s = time.monotonic()
        if page in self.trials:
            self.trials[page].heard_s = now_s
        for name in [k for k, each in self.trials.items() if now_s - each.heard_s > SILENT_S]:
            self.drop(name)

    def want(self, sheet: Sheet) -> None:
        """Have a sheet built before all others."""
        if sheet in self.wanted:
            self.wanted.remove(sheet)
        self.wanted.append(sheet)
        sheet.busy = sheet.busy or READING

    def put_off(self, sheet: Sheet) -> None:
        """Have a sheet built after all others: another one came before it was done."""
        if self.holds(sheet) and sheet not in self.wanted:
            self.wanted.insert(0, sheet)
            sheet.busy = sheet.busy or READING
