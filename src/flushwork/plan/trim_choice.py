"""Which cutter trims, and how far cuts that part the blank go below it."""

from __future__ import annotations

from typing import Final

from flushwork.job.records import Job
from flushwork.shelf.items import Cutter, CutterKind

INTO_SPOILBOARD_MM: Final = 0.3
"""How far a through cut goes into the spoilboard: enough to part the last fibres (common
practice, no source)."""
LEAST_TRIM_CUTTER_MM: Final = 3.0
"""Outlines are cut with a cutter at least this wide (common practice, no source)."""


def trim_cutter(job: Job) -> Cutter | None:
    """Return the cutter for the outline: the job's choice, or the narrowest stout one."""
    if job.outline.cutter is not None:
        return job.outline.cutter
    stout = [
        item
        for item in job.shop.cutters
        if item.kind is CutterKind.FLAT
        and item.diameter_mm >= LEAST_TRIM_CUTTER_MM
        and item.flute_mm
        >= job.blank.thickness_mm - 2.0 * job.allowances.flatten_mm + INTO_SPOILBOARD_MM
    ]
    return min(stout, key=lambda item: item.diameter_mm, default=None)
