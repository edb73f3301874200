"""The first two rooms at once: a job file read, its artwork drawn."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from flushwork.errors import JobRefusedError
from flushwork.findings import Finding
from flushwork.geometry.draw import draw_faces
from flushwork.geometry.drawn import Begun
from flushwork.job.read import UNFIT, read_draft
from flushwork.job.records import Job


def begin(path: Path, text: str | None = None) -> Begun:
    """Read a job file and draw its artwork; ``text`` stands in for what the file holds.

    Raises JobRefusedError, with the findings of all that is wrong in either, where the job or its
    artwork cannot be read.
    """
    draft = read_draft(path, text)
    if draft.job is not None and not draft.slips:
        return draft.job, draw_faces(draft.job)
    drawn = () if draft.job is None else _faults(draft.job)
    places = {item.source for item in draft.slips}
    owners = {_owner(item) for item in draft.slips}
    more = (
        item
        for item in drawn
        if item.source not in places and not (item.code in SAID and _owner(item) in owners)
    )
    raise JobRefusedError((*draft.slips, *more))


SAID: Final = frozenset(
    {
        "frame-without-middle",
        "rectangle-corner-too-round",
        "ring-without-wood",
        "seam-along-unknown",
        "star-without-points",
    }
)
"""What reading tells in its own words already, of the same piece of artwork."""


def _owner(finding: Finding) -> str:
    """Return what a slip is in: an inlay, a hole pattern, or a group of keys of the job."""
    key = finding.source.key if finding.source is not None else ""
    return key.split("]")[0] if "]" in key else key.split(".")[0]


def _faults(job: Job) -> tuple[Finding, ...]:
    """Return what is wrong with the artwork of a job that has slips of its own."""
    try:
        draw_faces(job)
    except JobRefusedError as refused:
        return refused.findings
    except UNFIT:
        return ()
    return ()
