"""How the saved job stands, in words, for the pages that know nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.bench.desk.snapshot import DeskStatus


@dataclass(frozen=True, slots=True)
class SavedView:
    """Whether what is shown is the job as it is saved, and whether it is OK to cut.

    ``mark`` is another as soon as a page that shows it has to be drawn again.  ``words`` are empty
    where all is well; ``grave`` says that nothing may be cut by this page.
    """

    mark: str
    words: str
    grave: bool


def saved_view(now: DeskStatus) -> SavedView:
    """Return how the saved job stands; ``now`` is that of no page."""
    snapshot = now.snapshot
    if snapshot is None:
        return SavedView(f"{now.digest}-{_state(now)}", "", grave=False)
    words = _not_as_saved(now) or ("" if snapshot.coarse else _stopped(now))
    if not words and snapshot.coarse:
        words = "The job is still being checked: nothing is to be cut by this page yet."
    return SavedView(f"{now.digest}-{snapshot.generation}-{_state(now)}", words, grave=bool(words))


def _state(now: DeskStatus) -> str:
    return f"{now.outside:d}{bool(now.slips):d}{bool(now.failed):d}"


def _not_as_saved(now: DeskStatus) -> str:
    """Return why the job as saved is not the one shown; empty where it is."""
    if now.outside:
        return "The job file cannot be read now. These are the steps of the job as it was before."
    if now.snapshot is None or now.snapshot.text == now.text:
        return ""
    if now.slips:
        line = now.slips[0].source.line if now.slips[0].source else 1
        why = f"The job as saved cannot be read (line {line})."
    elif now.failed:
        why = "The job as saved could not be built."
    else:
        why = "The job has been saved again and is being built."
    return f"{why} These are the steps of the job as it was saved before: cut nothing by them."


def _stopped(now: DeskStatus) -> str:
    """Return what stops the job shown; empty where nothing does."""
    if now.snapshot is None or now.snapshot.made.ok_to_cut:
        return ""
    return "Something in this job must be fixed: it must not be cut. The bench tells why."
