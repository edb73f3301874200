"""A run as a scheduling problem: its tasks, those that are left, the waits between them."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from flushwork.core.units.kinds import DAY_MIN, MINUTE_S
from flushwork.job.records import Job, Lead
from flushwork.process.exposure import kept_clear_of
from flushwork.process.sealing import seal_mix
from flushwork.schedule.lags import (
    PLAIN,
    Setting,
    air_lags,
    chains,
    cup_lags,
    heads,
    lags_of,
    lead_lags,
    ready_lags,
    settings_of,
)
from flushwork.schedule.resume import NOTHING_DONE, Progress
from flushwork.schedule.run import StagePart
from flushwork.schedule.schedule import Piece
from flushwork.schedule.several_parts import PartWork
from flushwork.schedule.shop_days import (
    MOST_DAYS,
    ShopDays,
    last_minute,
    logged_dose,
    ready_minute,
    resin_clocks,
)
from flushwork.schedule.solve.solver import LIMITS, Limits
from flushwork.schedule.solve.tasks import (
    Cure,
    CureClock,
    Hold,
    Lag,
    Problem,
    Resource,
    Task,
    real_after,
)

# ---- What the days depend on beyond the job itself


@dataclass(frozen=True, slots=True)
class NotBefore:
    """A stage that shall not begin before a minute: for one piece by index, or for all.

    ``part`` is the part of the job whose stage it is; the pieces of a first part count from 0.
    """

    stage: int
    minute: int
    piece: int | None = None
    part: str = ""

    def holds_for(self, stage: int, pieces: Iterable[int], part: str = "") -> bool:
        """Whether it speaks of a stage of a part done to these pieces."""
        own = (self.stage, self.part) == (stage, part)
        return own and (self.piece is None or self.piece in pieces)


@dataclass(frozen=True, slots=True)
class ScheduleOptions:
    """What the days depend on beyond the job: dates, hands, places, the lead of the test piece.

    ``one_by_one`` makes each piece wait until the one before it needs nothing but its last cure:
    the yardstick, not a way to work.  ``zone`` is another time zone than the shop's.  ``held`` are
    stages put off by hand.
    """

    first: dt.date | None = None
    off: frozenset[dt.date] = frozenset()
    lead: Lead = Lead.NO
    limits: Limits = LIMITS
    progress: Progress = NOTHING_DONE
    one_by_one: bool = False
    held: tuple[NotBefore, ...] = ()
    zone: str | None = None


def schedule_options_of(job: Job) -> ScheduleOptions:
    """Return what the job itself says about its days."""
    return ScheduleOptions(
        first=job.begin,
        off=frozenset(job.days_off),
        lead=job.test_ahead if job.test_pieces else Lead.NO,
    )


# ---- A run as a scheduling problem: its tasks, those that are left, the waits between them


HANDS, MACHINE, PLACES = "hands", "machine", "cure places"


class RunProblem:
    """One run being planned: its tasks, those that are left, the waits between them."""

    def __init__(
        self,
        works: Sequence[PartWork],
        days: ShopDays,
        pieces: tuple[Piece, ...],
        parts: tuple[StagePart, ...],
        options: ScheduleOptions,
    ) -> None:
        job = works[0].job
        self.job, self.days, self.pieces, self.options = job, days, pieces, options
        self.parts = parts
        self.jobs = {work.job.part: work.job for work in works}
        self.kept_clear = {
            (work.job.part, number)
            for work in works
            for number in kept_clear_of(work.job, work.plan)
        }
        self.runs = chains(parts, len(pieces))
        self.settings: tuple[Setting, ...] = ()
        for first, own in self._own_runs():
            self.settings += settings_of(self.jobs[pieces[first].part], own, first)
        self.ended = {part.name: part.done[1] for part in parts if part.done is not None}
        self.left = tuple(part for part in parts if part.name not in self.ended)
        self.by_name = {part.name: part for part in parts}
        resins = {mix.resin.name: mix.resin for mix in job.mixes}
        sealed = filter(None, (seal_mix(self.job_of(part), part.stage) for part in parts))
        resins |= {mix.resin.name: mix.resin for mix in sealed}
        self.shifts = days.shifts(MOST_DAYS * DAY_MIN)
        clocks = [clock for resin in resins.values() for clock in resin_clocks(resin, job.shop.air)]
        self.clocks: dict[str, CureClock] = {
            clock.name: replace(clock, shifts=self.shifts) for clock in (*clocks, PLAIN)
        }

    def _own_runs(self) -> Iterator[tuple[int, tuple[tuple[StagePart, ...], ...]]]:
        """Yield the pieces' tasks part by part of the job, with the place of its first piece."""
        first = 0
        for _, own in groupby(self.pieces, key=lambda piece: piece.part):
            count = len(tuple(own))
            yield first, self.runs[first : first + count]
            first += count

    def job_of(self, part: StagePart) -> Job:
        """Return the part of the job that a task is of, with its own wood and faces."""
        return self.jobs[part.part]

    def keeps_clear(self, part: StagePart) -> bool:
        """Whether a task is not begun while vapour that burns is about."""
        return (part.part, part.stage.number) in self.kept_clear

    def lingers_min(self, part: StagePart) -> int:
        """Return how long nothing hot or sparking begins after a task, for its vapour."""
        apart = self.job.shop.coats_apart
        return 0 if apart else math.ceil(part.stage.airing_s / MINUTE_S)

    @property
    def kept(self) -> tuple[Piece, ...]:
        """The pieces that are not spoiled."""
        spoiled = self.options.progress.spoiled
        return tuple(piece for at, piece in enumerate(self.pieces) if at not in spoiled)

    @property
    def stalled(self) -> str:
        """The resin of a wait still to come that stands still in this air; "" where none does."""
        for setting in self.settings:
            cure = setting.cure
            if cure.after not in self.ended and self.stands_still(
                setting, self.ended.get(cure.before)
            ):
                return setting.mix.resin.name
        return ""

    def stands_still(self, setting: Setting, since: int | None) -> bool:
        """Whether a cure that began at a minute, if it has begun, never ends in this air."""
        cure = setting.cure
        if self.clocks[cure.clock].daily > 0.0:
            return False
        return since is None or self._left(setting, cure.clock, since, cure.least)[1] > 0.0

    def problem(self) -> Problem:
        """Return what the solver is asked."""
        lags = self._lags()
        cures, earliest, added = self._cures()
        for lag in lags:
            if lag.before in self.ended and lag.after not in self.ended:
                bound = real_after(self.shifts, self.ended[lag.before], lag.least)
                earliest[lag.after] = max(earliest.get(lag.after, 0), bound)
        gone = self._gone()
        for part in self.left:
            if self.keeps_clear(part):
                earliest[part.name] = max(earliest.get(part.name, 0), gone)
            for held in self.options.held:
                if held.holds_for(part.stage.number, part.pieces, part.part):
                    earliest[part.name] = max(earliest.get(part.name, 0), held.minute)
        now = self.options.progress.now_min
        tasks = tuple(
            Task(
                part.name,
                part.minutes + added.get(part.name, 0),
                ((HANDS, 1),),
                earliest=max(now, earliest.get(part.name, 0)),
                tools=part.tools,
                lingers_min=self.lingers_min(part),
                keeps_clear=self.keeps_clear(part),
            )
            for part in self.left
        )
        horizon = self._horizon(tasks, cures, lags)
        return Problem(
            tasks=tasks,
            resources=self._resources(horizon),
            lags=tuple(lag for lag in lags if self._is_left(lag.before, lag.after)),
            clocks=tuple(self.clocks.values()),
            cures=cures,
            holds=self._holds(),
            alike=self._alike(),
            finish=tuple(
                dict.fromkeys(
                    run[-1].name for run in self.runs if run and self._is_left(run[-1].name)
                )
            ),
            horizon=horizon,
            shifts=tuple(shift for shift in self.shifts if shift.begin < horizon),
        )

    def _gone(self) -> int:
        """Return when the vapour of all that has been put on so far has gone."""
        return max(
            (
                real_after(self.shifts, self.ended[part.name], minutes)
                for part in self.parts
                if part.name in self.ended and (minutes := self.lingers_min(part))
            ),
            default=0,
        )

    def _is_left(self, *names: str) -> bool:
        return not any(name in self.ended for name in names)

    def _lags(self) -> tuple[Lag, ...]:
        found = cup_lags(self.parts)
        for first, runs in self._own_runs():
            name = self.pieces[first].part
            own = [part for part in self.parts if part.part == name]
            found = lags_of(self.jobs[name], runs) + found + air_lags(own)
        found += lead_lags(self.pieces, self.runs, self.options.lead, self.options.progress.spoiled)
        found += ready_lags(self.left, self.runs, self.jobs)
        if not self.options.one_by_one:
            return found
        worked = [[part for part in run if not part.coat] or list(run) for run in self.runs]
        worked = [run for run in worked if run]
        return found + tuple(Lag(one[-1].name, two[0].name) for one, two in pairwise(worked))

    def _cures(self) -> tuple[tuple[Cure, ...], dict[str, int], dict[str, int]]:
        """Return the cures to come; for what is poured, earliest times and scuff-sanding."""
        found: dict[tuple[str, str, str, float], Cure] = {}
        earliest: dict[str, int] = {}
        added: dict[str, int] = {}
        for setting in self.settings:
            cure = setting.cure
            if cure.after in self.ended:
                continue
            if cure.before not in self.ended:
                found[cure.before, cure.after, cure.clock, cure.least] = cure
                continue
            ready, closes = self.moments(setting, self.ended[cure.before])
            part = self.by_name[cure.after]
            soonest = self.days.next_open(max(ready, self.options.progress.now_min))
            if closes is not None and soonest + part.minutes > closes:
                ready, _ = self.moments(setting, self.ended[cure.before], missed=True)
                added[cure.after] = cure.missed_minutes
            earliest[cure.after] = max(earliest.get(cure.after, 0), ready)
        return tuple(found.values()), earliest, added

    def moments(
        self, setting: Setting, since: int, *, missed: bool = False
    ) -> tuple[int, int | None]:
        """Return when a cure begun at a minute is ready, and when its window closes."""
        cure = setting.cure
        least = cure.least if not missed or cure.missed_least is None else cure.missed_least
        ready = self._moment(setting, cure.clock, since, least, last=False)
        if cure.greatest is None:
            return ready, None
        return ready, self._moment(setting, cure.closing, since, cure.greatest, last=True)

    def _moment(self, setting: Setting, clock: str, since: int, dose: float, *, last: bool) -> int:
        """Go by the log as far as it tells, and by the shop's usual air from now on."""
        begin, left = self._left(setting, clock, since, dose, last=last)
        reach = last_minute if last else ready_minute
        return reach(self.clocks[clock], begin, left) if left > 0.0 else begin

    def _left(
        self, setting: Setting, clock: str, since: int, dose: float, *, last: bool = False
    ) -> tuple[int, float]:
        """Return from when on the shop's usual air counts, and what is then left of a dose."""
        progress = self.options.progress
        had = None
        if since < progress.now_min and clock != PLAIN.name:
            had = logged_dose(
                setting.mix.resin, progress.log, since, progress.now_min, cold_counts=last
            )
        return (since, dose) if had is None else (progress.now_min, dose - had)

    def _holds(self) -> tuple[Hold, ...]:
        mounted: dict[tuple[int, tuple[int, ...]], list[StagePart]] = {}
        for part in self.left:
            if part.machine:
                mounted.setdefault((part.stage.setup, part.pieces), []).append(part)
        holds = [
            # what does not begin a setup goes on in one that stands on the machine already
            Hold(
                MACHINE,
                row[0].name if row[0].mounts else "",
                row[-1].name,
                tasks=tuple(part.name for part in row),
            )
            for row in mounted.values()
        ]
        if self.job.shop.cure_places < len(self.pieces):
            holds += self._places()
        return tuple(holds)

    def _places(self) -> list[Hold]:
        """Return the places taken by pieces from a first pour until they are worked again."""
        first_of: dict[tuple[int, str], str] = {}
        for setting in self.settings:
            cure = setting.cure
            if self._is_left(cure.after) and not self.by_name[cure.after].coat:
                first = cure.before if self._is_left(cure.before) else ""
                first_of.setdefault((setting.piece, cure.after), first)
        pieces = Counter((first, after) for (_, after), first in first_of.items())
        return [
            Hold(PLACES, first, after, whole=False, amount=count)
            for (first, after), count in pieces.items()
        ]

    def _resources(self, horizon: int) -> tuple[Resource, ...]:
        hands = Resource(HANDS, closed=self.days.closed(horizon))
        found: tuple[Resource, ...] = (hands, Resource(MACHINE))
        if self.job.shop.cure_places < len(self.pieces):
            held = sum(hold.amount for hold in self._places() if not hold.first)
            found += (Resource(PLACES, capacity=max(held, self.job.shop.cure_places)),)
        return found

    def _alike(self) -> tuple[tuple[str, str], ...]:
        """Return the pairs that break the symmetry of pieces which share all their batches."""
        progress = self.options.progress
        if (
            self.ended
            or progress.spoiled
            or any(held.piece is not None for held in self.options.held)
        ):
            return ()
        found: dict[tuple[str, str], None] = {}
        for one, two in pairwise(range(len(self.pieces))):
            first, second = self.runs[one], self.runs[two]
            shared = [part.name for part in first if part.poured]
            same = shared == [part.name for part in second if part.poured]
            same = same and self.pieces[one].part == self.pieces[two].part
            apart = self.options.lead is not Lead.NO or self.options.one_by_one
            if not same or (apart and self.pieces[one].test != self.pieces[two].test):
                continue
            for mine, other in zip(heads(first), heads(second), strict=True):
                # loads of another size take another time: they cannot be swapped
                if mine.name != other.name and len(mine.pieces) == len(other.pieces):
                    found[mine.name, other.name] = None
        return tuple(found)

    def _horizon(self, tasks: Sequence[Task], cures: Sequence[Cure], lags: Sequence[Lag]) -> int:
        """Return a minute by which the work can surely be done, one thing after another."""
        share = self.days.open_min * len(self.days.weekdays) / (7.0 * DAY_MIN)
        work = sum(task.minutes for task in tasks) + sum(cure.missed_minutes for cure in cures)
        waits = {
            (cure.before, cure.clock): (cure.missed_least or cure.least)
            / self.clocks[cure.clock].daily
            for cure in cures
        }
        dried = {lag.before.split(":", 1)[0]: lag.least / DAY_MIN for lag in lags}
        aired = sum(task.lingers_min for task in tasks) / DAY_MIN
        begin = max([self.options.progress.now_min, *(task.earliest for task in tasks)])
        whole_days = 2.0 * work / DAY_MIN / share + sum(waits.values()) + 2.0 * sum(dried.values())
        whole_days += (len(waits) + len(dried)) * 7.0 / len(self.days.weekdays) + 14.0
        whole_days += len(self.options.off) + aired / share
        return int(begin + min(whole_days, MOST_DAYS) * DAY_MIN)
