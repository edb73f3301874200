"""Everything that is asked of a build before it may be cut, and what comes of the asking.

Each module of rules opens with the question it asks; each of its rules yields what it finds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from flushwork.built import Build
from flushwork.checks.judging import judged
from flushwork.checks.rules.board import (
    border_rules,
    face_rules,
    hole_rules,
    look_rules,
    moisture_rules,
    reach_rules,
    seam_rules,
    slip_rules,
    sliver_rules,
    thickness_rules,
)
from flushwork.checks.rules.machine import (
    as_cut_rules,
    feed_rules,
    file_rules,
    hold_rules,
    imported_rules,
    motion_rules,
    outline_rules,
    waste_rules,
)
from flushwork.checks.rules.work import (
    clock_rules,
    fill_rules,
    hazard_rules,
    log_rules,
    mix_rules,
    order_rules,
    pour_rules,
    schedule_rules,
    seal_rules,
    stock_rules,
)
from flushwork.core.findings import Finding
from flushwork.runtime.pool import map_shared

Rule = Callable[[Build], Iterable[Finding]]

BOARD: Final[tuple[Rule, ...]] = (
    *slip_rules.RULES,
    *face_rules.RULES,
    *reach_rules.RULES,
    *border_rules.RULES,
    *sliver_rules.RULES,
    *hole_rules.RULES,
    *thickness_rules.RULES,
    *moisture_rules.RULES,
    *seam_rules.RULES,
    *look_rules.RULES,
)
"""Is the board as drawn one that wood can be, and does it come out as drawn?"""

WORK: Final[tuple[Rule, ...]] = (
    *seal_rules.RULES,
    *order_rules.RULES,
    *hazard_rules.RULES,
    *fill_rules.RULES,
    *clock_rules.RULES,
    *mix_rules.RULES,
    *pour_rules.RULES,
    *stock_rules.RULES,
    *schedule_rules.RULES,
    *log_rules.RULES,
)
"""Can a person make it, with these resins, on these days, and come to no harm?"""

MACHINE: Final[tuple[Rule, ...]] = (
    *hold_rules.RULES,
    *file_rules.RULES,
    *imported_rules.RULES,
    *waste_rules.RULES,
    *feed_rules.RULES,
    *as_cut_rules.RULES,
    *outline_rules.RULES,
    *motion_rules.RULES,
)
"""Do the files cut just that, with nothing in their way that they would break?"""

RULES: Final[tuple[Rule, ...]] = (*BOARD, *WORK, *MACHINE)


def run_checks(build: Build) -> tuple[Finding, ...]:
    """Return what every rule finds, the heaviest first, with the job's acceptances applied."""
    job = build.job
    found = [*job.warnings, *job.shop.warnings]
    found += [finding for face in build.faces for finding in face.warnings]
    for each in map_shared(lambda rule: tuple(rule(build)), RULES):
        found += each
    return judged(job, found)
