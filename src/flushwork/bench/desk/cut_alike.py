"""Whether two jobs are cut alike.

Then the first picture of one follows from the other's G-code files.

Colours, fills, the number of pieces and what is said of days, costs and findings change no cut.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Final

from flushwork.job.records import Face, Inlay, Job

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
    return face.name, inlays, face.holes, face.pockets
