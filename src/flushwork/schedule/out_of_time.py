"""What a day log says was done before it could be, or after it should have been.

Held to the same waits as the days to come.  A stage without a line of its own was done somewhere
between the lines around it: what is told here is so wherever that was.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from flushwork.schedule.lags import PLAIN, Setting, drying_min
from flushwork.schedule.run import StagePart
from flushwork.schedule.run_problem import RunProblem
from flushwork.schedule.schedule import OutOfTime, Reached
from flushwork.schedule.shop_days import last_minute, logged_dose, ready_minute
from flushwork.schedule.solve.tasks import real_after

DRIES = "until it is dry"


def out_of_time(run: RunProblem) -> tuple[OutOfTime, ...]:
    """Return what was done too soon or too late, by the lines of the log; the gravest first."""
    found = [each for setting in run.settings for each in _of_setting(run, setting)]
    found += [each for piece in range(len(run.pieces)) for each in _undried(run, piece)]
    found.sort(key=lambda each: (each.line, each.late, each.what != Reached.HARD))
    # one line of the log is one slip, on whatever pieces and of whatever mixes it is one
    alike = {
        (
            each.line,
            each.late,
            each.what if each.what in (Reached.HARD, Reached.CURED) else "",
        ): each
        for each in reversed(found)
    }
    return tuple(reversed(alike.values()))


def _of_setting(run: RunProblem, setting: Setting) -> Iterator[OutOfTime]:
    cure = setting.cure
    before, after = run.by_name[cure.before], run.by_name[cure.after]
    bounds = _bounds(run, setting.piece, before, after)
    if bounds is None:
        return
    (soonest, latest), (reached, ended) = bounds
    if not _has_had(run, setting, soonest, ended):
        what = setting.reaches
        yield _told(run, setting.piece, (before, after), (soonest, ended), what, setting.mix.name)
    if cure.greatest is not None and _is_past(run, setting, latest, reached):
        span, what = (latest, reached), setting.reaches
        told = _told(run, setting.piece, (before, after), span, what, setting.mix.name, late=True)
        yield told


def _has_had(run: RunProblem, setting: Setting, since: int, until: int) -> bool:
    """Whether a cure was ready at a minute, by the temperatures logged or the shop's usual air."""
    cure = setting.cure
    if cure.clock != PLAIN.name:
        log = run.options.progress.log
        had = logged_dose(setting.mix.resin, log, since, until, cold_counts=False)
        if had is not None:
            return had >= cure.least
        if run.clocks[cure.clock].daily <= 0.0:
            return cure.least <= 0.0
    return ready_minute(run.clocks[cure.clock], since, cure.least) <= until


def _is_past(run: RunProblem, setting: Setting, since: int, until: int) -> bool:
    """Whether the window of a cure had closed at a minute."""
    cure = setting.cure
    greatest, name = cure.greatest or 0.0, cure.closing or cure.clock
    if name != PLAIN.name:
        log = run.options.progress.log
        had = logged_dose(setting.mix.resin, log, since, until, cold_counts=True)
        if had is not None:
            return had > greatest
        if run.clocks[name].daily <= 0.0:
            return False
    return last_minute(run.clocks[name], since, greatest) < until


def _undried(run: RunProblem, piece: int) -> Iterator[OutOfTime]:
    """Yield what was done on a sealer or a coat before it was dry."""
    for before, after in pairwise(run.runs[piece]):
        minutes = drying_min(run.job_of(before), before)
        bounds = _bounds(run, piece, before, after) if minutes else None
        if bounds is None:
            continue
        (soonest, _), (_, ended) = bounds
        if real_after(run.shifts, soonest, minutes) > ended:
            yield _told(run, piece, (before, after), (soonest, ended), DRIES, "")


def _bounds(
    run: RunProblem, piece: int, before: StagePart, after: StagePart
) -> tuple[tuple[int, int], tuple[int, int]] | None:
    """Return between which minutes of the log each of two tasks surely ended.

    None where the log does not part them, or tells of neither.
    """
    one, two = before.stage.number, after.stage.number
    ends = run.options.progress.ends(piece)
    if before.done is None or after.done is None or one == two:
        return None
    sooner = [end for stage, end in ends.items() if stage <= one]
    later = [end for stage, end in ends.items() if stage >= two]
    if not sooner or not later:
        return None
    latest = min(end for stage, end in ends.items() if stage >= one)
    reached = max(end for stage, end in ends.items() if stage <= two)
    return (max(sooner), latest), (reached, min(later))


def _told(
    run: RunProblem,
    piece: int,
    pair: tuple[StagePart, StagePart],
    span: tuple[int, int],
    what: str,
    mix: str,
    *,
    late: bool = False,
) -> OutOfTime:
    before, after = pair
    progress = run.options.progress
    ends = progress.ends(piece)
    # too soon is told at the line that ends it, too late at the last line before it was over
    stage = next(
        number
        for number, end in sorted(ends.items())
        if end == span[1] and (number >= after.stage.number or late)
    )
    return OutOfTime(
        piece=run.pieces[piece],
        before=before.stage.number,
        after=after.stage.number,
        since_min=span[0],
        at_min=span[1],
        what=what,
        mix=mix,
        late=late,
        file=progress.file,
        line=progress.line(piece, stage),
    )
