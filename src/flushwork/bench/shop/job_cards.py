"""The jobs of a shop as cards: words and marks for how each stands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from flushwork.core.words import counted
from flushwork.store import digest
from flushwork.usecases.shop_jobs import SHOP_FILE, JobState, ShopJob, ShopJobs

MARKS: Final = {
    JobState.UNREADABLE: "must-fix",
    JobState.MUST_FIX: "must-fix",
    JobState.OK: "good",
    JobState.DONE: "good",
    JobState.UNDER_WAY: "under-way",
    JobState.CHANGED: "note",
    JobState.UNCHECKED: "note",
}
"""How a state is marked."""
SIGNS: Final = {
    "must-fix": "\N{BLACK SQUARE}",
    "good": "\N{CHECK MARK}",
    "under-way": "\N{BLACK RIGHT-POINTING TRIANGLE}",
    "note": "\N{WHITE CIRCLE}",
}
"""A sign for each mark, so that no colour has to be seen."""


@dataclass(frozen=True, slots=True)
class JobCard:
    """A job on the shop's page; ``key`` is what the page calls it by."""

    key: str
    title: str
    file: str
    state: str
    mark: str
    sign: str
    verdict: str
    changed: str
    picture: str
    alt: str
    open: bool
    unread: bool
    words: str


@dataclass(frozen=True, slots=True)
class ShopView:
    """The shop's page; ``linked`` tells of what was left out, empty where nothing was."""

    cards: tuple[JobCard, ...]
    attic: tuple[JobCard, ...]
    linked: str


def key_of(job: ShopJob) -> str:
    """Return what a page calls a job by: no path of a page is ever followed."""
    return digest(str(job.path).encode("utf-8", "surrogatepass"))[:16]


def shop_view(found: ShopJobs, opened: frozenset[Path], now: dt.datetime) -> ShopView:
    """Return the shop's page at a time, in the time zone of ``now``."""
    linked = ""
    if found.linked:
        linked = (
            f"{counted(found.linked, 'file or folder', 'files or folders')} only linked to from "
            "here left out: moving what is linked to would break the link."
        )
    return ShopView(_cards(found.jobs, opened, now), _cards(found.attic, opened, now), linked)


def _cards(
    jobs: Sequence[ShopJob], opened: frozenset[Path], now: dt.datetime
) -> tuple[JobCard, ...]:
    return tuple(_card(job, job.path in opened, now) for job in jobs)


def _card(job: ShopJob, opened: bool, now: dt.datetime) -> JobCard:
    mark = MARKS[job.state]
    # a picture is asked for again only where it is another by now
    stamp = round(job.picture.stat().st_mtime * 1000) if job.picture else round(job.changed_s)
    state = _state(job)
    verdict = _verdict(job)
    key = key_of(job)
    return JobCard(
        key=key,
        title=job.title,
        file=job.name,
        state=state,
        mark=mark,
        sign=SIGNS[mark],
        verdict=verdict,
        changed=_when(job.changed_s, now),
        picture=f"/picture/{key}?{stamp}",
        alt="The finished board" if job.picture else "The outline of its wood",
        open=opened,
        unread=job.state in (JobState.UNCHECKED, JobState.CHANGED),
        words=f"{job.title} {job.name} {state} {verdict}".casefold(),
    )


def _state(job: ShopJob) -> str:
    if job.state is JobState.UNDER_WAY:
        step = f", next: {job.step}" if job.step else f", {counted(job.steps_done, 'step')} ticked"
        return f"Under way{step}"
    if job.state is JobState.UNREADABLE:
        return f"Cannot be read: {job.slip}"
    if job.state is JobState.MUST_FIX and job.check is not None:
        return f"Must fix: {counted(job.check.must_fix, 'finding')}"
    return f"{job.state[:1].upper()}{job.state[1:]}"


def _verdict(job: ShopJob) -> str:
    """Return what else is to be known: the check of work under way, warnings, another shop."""
    told = []
    check = job.check
    if check is not None and check.current and job.state is not JobState.MUST_FIX:
        if check.must_fix:
            told.append(f"must fix: {counted(check.must_fix, 'finding')}")
        elif check.warnings:
            told.append(counted(check.warnings, "warning"))
    elif check is not None and not check.current and job.state is JobState.UNDER_WAY:
        told.append("changed since its check")
    if job.shop and job.shop not in (f"../{SHOP_FILE}", SHOP_FILE):
        told.append(f"shop file {job.shop}")
    return "; ".join(told)


def _when(at_s: float, now: dt.datetime) -> str:
    """Return when a file was changed, as one says it."""
    if at_s <= 0.0:
        return "nobody knows when"
    at = dt.datetime.fromtimestamp(at_s, tz=now.tzinfo)
    days = (now.date() - at.date()).days
    clock = f"{at.hour}:{at.minute:02d}"
    if days == 0:
        return f"today, {clock}"
    if days == 1:
        return f"yesterday, {clock}"
    return f"{at.day} {at:%B %Y}"


def outline_svg(size_mm: tuple[float, float] | None) -> str:
    """Return a blank's plain outline, where no picture of the finished board is kept."""
    length, width = size_mm or (130.0, 90.0)
    scale = 360.0 / max(length, width)
    wide, high = length * scale, width * scale
    dash = "" if size_mm else ' stroke-dasharray="9 7"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-20 -20 {wide + 40:.1f} {high + 40:.1f}"'
        f' width="{wide + 40:.0f}" height="{high + 40:.0f}">'
        f'<rect width="{wide:.1f}" height="{high:.1f}" rx="3" fill="#d9c3a5" fill-opacity=".35" '
        f'stroke="#8a6a46" stroke-width="2.5"{dash}/></svg>'
    )
