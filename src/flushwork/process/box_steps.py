"""What is done to a box beside its board, and why it comes when it does."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from flushwork.job.records import HeldHow, Job
from flushwork.process.stages import StageKind

BOX_STEPS: Final[Mapping[StageKind, tuple[str, str]]] = {
    StageKind.BOX_SAW: (
        "Saw the box",
        "hands are free while the resin cures",
    ),
    StageKind.BOX_GLUE: ("Glue the box", "all its joints fit dry"),
    StageKind.BOX_FIT: (
        "Fit the box",
        "what is let into its edges, and its splines, want the glue dry",
    ),
}
"""The title of each step of a box, and why it comes when it does."""


def closes_in(job: Job) -> bool:
    """Whether the box is glued around the finished board, which floats in a groove."""
    held = job.box.board if job.box is not None else None
    return held is not None and held.how is HeldHow.GROOVE
