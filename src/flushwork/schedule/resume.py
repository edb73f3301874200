"""From a day log to the state of a run, for planning the rest.

What has been done already: for planning the rest from the middle.

From what a log tells of a piece to when each of its stages was done.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from flushwork.core.findings import Finding, JobRefusedError, Source, Subject
from flushwork.core.words import listed
from flushwork.job.day_log import DayLog, LoggedSpoil, LoggedStage, twice
from flushwork.job.keys.lists import file_words
from flushwork.process.stages import Plan, StageKind
from flushwork.schedule.schedule import Piece
from flushwork.schedule.solve.tasks import Span


@dataclass(frozen=True, slots=True)
class Done:
    """A stage that was finished at a minute, for a piece by index among those of all parts.

    ``line`` is where the log says so, 0 where none does.
    """

    stage: int
    end_min: int
    piece: int
    line: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Progress:
    """The state of a run: the minute it is now, what is done, and the shop's temperatures.

    Of two that tell of one stage of a piece in ``done`` the later one holds.

    ``log`` are (minute, degrees C) readings in order of time, each holding until the next; where
    it reaches back far enough it replaces the shop's usual air for what has been poured.
    ``spoiled`` are the pieces by index that are worked no further; ``file`` is the log's name.
    ``taken_off`` says that nothing of this stands on the machine any more.
    """

    now_min: int
    done: tuple[Done, ...]
    log: tuple[tuple[int, float], ...] = ()
    spoiled: frozenset[int] = frozenset()
    file: str = ""
    taken_off: bool = False

    def ends(self, piece: int) -> dict[int, int]:
        """Return when each logged stage of a piece was finished."""
        return {each.stage: each.end_min for each in self.done if each.piece == piece}

    def of_pieces(self, first: int, count: int) -> Progress:
        """Return the state of one part of the job, whose pieces count from 0."""
        own = range(first, first + count)
        return replace(
            self,
            done=tuple(
                replace(each, piece=each.piece - first) for each in self.done if each.piece in own
            ),
            spoiled=frozenset(piece - first for piece in self.spoiled if piece in own),
        )

    def line(self, piece: int, stage: int) -> int:
        """Return the line that tells of a stage of a piece, 0 for none."""
        found = {each.piece: each.line for each in self.done if each.stage == stage}
        return found.get(piece, 0)

    def last(self, piece: int) -> int:
        """Return the last stage that is done on a piece: all before it are done too; 0 for none."""
        return max(self.ends(piece), default=0)


NOTHING_DONE = Progress(0, ())


MINUTE = dt.timedelta(minutes=1)


def first_day(log: DayLog) -> dt.date:
    """Return the day of a log's first entry: the plan counts from its midnight."""
    moments = [log.now, *(item.at for item in _lines(log))]
    moments += [at for at, _ in log.readings]
    return min(moments).date()


def progress_of(
    told: DayLog, first: dt.date, pieces: Sequence[Piece], stages: Mapping[str, int], file: str
) -> Progress:
    """Return the state of a run, in minutes from midnight of the day ``first``.

    ``stages`` is how many stages each part of the job has, by its name; "" is that of an only part.

    Raises JobRefusedError, with the lines, where the log names a stage or a piece that does not
    exist, tells something twice or of a time to come, or cannot have been: a stage after a later
    one, or work on a piece that was spoiled before.
    """
    midnight = dt.datetime.combine(first, dt.time())
    log = _by_part(told, stages)
    unknown = [item for item in _lines(log) if _lost(item, pieces, stages)]
    if unknown:
        raise JobRefusedError([_unknown(item, stages, file) for item in unknown])
    wrong = [*_to_come(log, file), *_again(log, file)]
    wrong += [finding for piece in pieces for finding in _out_of_order(log, piece, file)]
    if wrong:
        raise JobRefusedError(list(dict.fromkeys(wrong)))
    return Progress(
        now_min=(log.now - midnight) // MINUTE,
        done=tuple(
            Done(item.stage, (item.at - midnight) // MINUTE, index, item.line)
            # a piece's own line holds in place of one for all
            for item in sorted(log.stages, key=lambda item: item.number is not None)
            for index in _meant(item, log, pieces)
        ),
        log=tuple(((at - midnight) // MINUTE, at_c) for at, at_c in log.readings),
        spoiled=frozenset(_index(item, pieces) or 0 for item in log.spoiled),
        file=file,
    )


def _by_part(log: DayLog, parts: Iterable[str]) -> DayLog:
    """Return a log with the parts as the job calls them, however they are spelled."""
    called = {file_words(name): name for name in parts}

    def named(part: str) -> str:
        return called.get(file_words(part), part)

    return replace(
        log,
        stages=tuple(replace(item, part=named(item.part)) for item in log.stages),
        spoiled=tuple(replace(item, part=named(item.part)) for item in log.spoiled),
    )


def _lines(log: DayLog) -> tuple[LoggedStage | LoggedSpoil, ...]:
    return (*log.stages, *log.spoiled)


def _lost(
    item: LoggedStage | LoggedSpoil, pieces: Sequence[Piece], stages: Mapping[str, int]
) -> bool:
    """Whether there is no such part, stage or piece."""
    last = stages.get(item.part, 0)
    stage = item.stage if isinstance(item, LoggedStage) else last
    return not 1 <= stage <= last or _index(item, pieces) == -1


def _index(item: LoggedStage | LoggedSpoil, pieces: Sequence[Piece]) -> int | None:
    """Return the place of a logged piece among all, None for all of them, -1 for none."""
    if item.number is None:
        return None
    for index, piece in enumerate(pieces):
        if _of(item, piece):
            return index
    return -1


def _of(item: LoggedStage | LoggedSpoil, piece: Piece) -> bool:
    """Whether a line speaks of one piece."""
    told = (item.part, item.test, item.number)
    return told == (piece.part, piece.test, piece.number)


def _meant(item: LoggedStage, log: DayLog, pieces: Sequence[Piece]) -> tuple[int, ...]:
    """Return the pieces a line speaks of: all of its part that were not spoiled, or one."""
    if item.number is not None:
        return (_index(item, pieces) or 0,)
    gone = {_index(each, pieces) for each in log.spoiled if each.at < item.at}
    own = (index for index, piece in enumerate(pieces) if piece.part == item.part)
    return tuple(index for index in own if index not in gone)


def _to_come(log: DayLog, file: str) -> Iterator[Finding]:
    """Yield the lines of a time after ``now``: what is to come is planned, not logged."""
    for item in _lines(log):
        if item.at > log.now:
            yield _refused(
                "day-log-after-now",
                f"{_told(item)} is logged for {item.at:%Y-%m-%d %H:%M}, after `now`, "
                f"{log.now:%Y-%m-%d %H:%M}.",
                "Set `now` right, or take the line out: what is to come is planned.",
                item,
                file,
            )


def _again(log: DayLog, file: str) -> Iterator[Finding]:
    """Yield the lines that tell of one stage of one piece, or of one spoiled piece, again."""
    known: set[tuple[object, ...]] = set()
    for item in _lines(log):
        stage = item.stage if isinstance(item, LoggedStage) else None
        key = (stage, item.part, item.test, item.number)
        if key in known:
            yield twice(f"{item.at:%Y-%m-%d %H:%M} {_told(item)}", Source(file, item.line, 1, ""))
        known.add(key)


def _out_of_order(log: DayLog, piece: Piece, file: str) -> Iterator[Finding]:
    """Yield what cannot have been: an earlier stage after a later one, work on a spoiled piece."""
    ends: dict[int, LoggedStage] = {}
    own = [each for each in log.stages if each.part == piece.part]
    for item in own:
        if item.number is None:
            ends.setdefault(item.stage, item)
        elif _of(item, piece):
            whole = next((each for each in own
                          if each.stage == item.stage and each.number is None), None)  # fmt: skip
            if whole is not None and whole.at < item.at:
                yield twice(
                    f"{item.at:%Y-%m-%d %H:%M} {_told(item)}", Source(file, item.line, 1, "")
                )
            ends[item.stage] = item
    spoiled = next((each for each in log.spoiled if _of(each, piece)), None)
    for item in ends.values():
        if spoiled is not None and item.number is not None and item.at > spoiled.at:
            yield _refused(
                "day-log-after-spoiled",
                f"{_told(item)} is logged after {piece.name} was spoiled (line {spoiled.line}).",
                "Take one of the two lines out.",
                item,
                file,
            )
    row = sorted(ends.values(), key=lambda item: item.stage)
    for before, after in pairwise(row):
        if after.at < before.at:
            yield _refused(
                "day-log-out-of-order",
                f"{_told(after)} is done at {after.at:%Y-%m-%d %H:%M}, but {_told(before)}, which "
                f"comes before it on {piece.name}, at {before.at:%Y-%m-%d %H:%M} (line "
                f"{before.line}).",
                "Set one of the two times right; a stage that is done says that all before it are.",
                after,
                file,
            )


def _told(item: LoggedStage | LoggedSpoil) -> str:
    kind = "test piece" if item.test else "piece"
    part = f"part {item.part} " if item.part else ""
    if isinstance(item, LoggedSpoil):
        return f"{part}{kind} {item.number} spoiled"
    return f"{part}stage {item.stage}" + (
        f" {kind} {item.number}" if item.number is not None else ""
    )


def _refused(
    code: str, message: str, remedy: str, item: LoggedStage | LoggedSpoil, file: str
) -> Finding:
    return Finding.must_fix(
        code,
        message=message,
        remedy=remedy,
        subjects=(Subject("name", _told(item)),),
        source=Source(file, item.line, 1, ""),
    )


def _unknown(item: LoggedStage | LoggedSpoil, stages: Mapping[str, int], file: str) -> Finding:
    parts = listed(name for name in stages if name)
    remedy = "`flushwork stages` lists the stages, the day sheet names the pieces."
    if item.part in stages:
        what = f"this job has no such stage or piece (stages 1 to {stages[item.part]})"
    elif parts and item.part:
        what, remedy = "this job has no such part", f"The parts of this job are {parts}."
    elif parts:
        what = f"not of which part of the job: {parts}"
        remedy = f"Write the part first, as on the day sheet: `part {next(iter(stages))} ...`."
    else:
        what, remedy = "this job has no parts", "Write the line without its part."
    return _refused(
        "day-log-names-nothing",
        f"The day log tells of {_told(item)}, but {what}.",
        remedy,
        item,
        file,
    )


def history(
    plan: Plan, progress: Progress, piece: int, usual_min: Mapping[int, int]
) -> dict[int, Span]:
    """Return from when until when each stage that is done was worked, by its number.

    A stage of which the log says nothing is done where a later one is.  It is taken to have ended
    as late as it can have, when the next one began: what was poured then is waited for longest.
    ``usual_min`` is how long each stage takes; no stage begins before the end of the one before.
    """
    logged, last = progress.ends(piece), progress.last(piece)
    found: dict[int, Span] = {}
    until = logged.get(last, 0)
    for stage in reversed(plan.stages[:last]):
        end = logged.get(stage.number, until)
        earlier = [each for number, each in logged.items() if number < stage.number]
        if stage.kind is StageKind.CURE:
            until = end
            continue
        until = max([0, end - usual_min[stage.number], *earlier])
        until = min(until, end)
        found[stage.number] = (until, end)
    return found


__all__ = ["Span", "history"]
