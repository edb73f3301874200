"""What has to be waited for between the tasks of a run: drying, setting, curing, lessons."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from flushwork.core.units.kinds import DAY_MIN, MINUTE_S
from flushwork.job.records import Job, Lead, Mix
from flushwork.process.sealing import recoat_s, seal_mix
from flushwork.process.stages import POURING, StageKind
from flushwork.resin.thinned import working_resin
from flushwork.schedule.run import StagePart
from flushwork.schedule.schedule import Piece, Reached
from flushwork.schedule.shop_days import closing, waiting
from flushwork.schedule.solve.tasks import Cure, CureClock, Lag
from flushwork.shelf.items import Resin

PLAIN = CureClock("the shop's clock", ((0, DAY_MIN, 1.0),))
"""What dries is taken to dry at one speed, warm or cold."""
DRIES = (StageKind.ROUGH, StageKind.GLUE, StageKind.BOX_GLUE, StageKind.BOX_COAT)
"""Work after which wood rests, or glue and coats dry, for as long as its stage says."""
WORKS_RESIN = (
    StageKind.LOCATE,
    StageKind.MARK,
    StageKind.CUT,
    StageKind.MILL_FLUSH,
    StageKind.SAND,
    StageKind.SHAPE,
    StageKind.DRILL,
    StageKind.TRIM,
    StageKind.FINISH,
)


@dataclass(frozen=True, slots=True)
class Setting:
    """A cure with the piece and the mix it is about, for telling it."""

    cure: Cure
    piece: int
    mix: Mix
    reaches: Reached


def chains(parts: Sequence[StagePart], count: int) -> tuple[tuple[StagePart, ...], ...]:
    """Return each piece's tasks in working order."""
    rows: list[list[StagePart]] = [[] for _ in range(count)]
    for part in parts:
        for piece in part.pieces:
            rows[piece].append(part)
    return tuple(tuple(row) for row in rows)


def heads(run: Sequence[StagePart]) -> list[StagePart]:
    """Return the first task of a piece, and the first after each pour."""
    found: list[StagePart] = []
    fresh = True
    for part in run:
        if part.poured:
            fresh = True
        elif fresh:
            found.append(part)
            fresh = False
    return found


def lags_of(job: Job, runs: Sequence[Sequence[StagePart]]) -> tuple[Lag, ...]:
    """Return the plain lags: each piece's order, the drying of sealer and finish."""
    found: dict[tuple[str, str], int] = {}
    for run in runs:
        for before, after in pairwise(run):
            pair = (before.name, after.name)
            found[pair] = max(found.get(pair, 0), drying_min(job, before))
    return tuple(Lag(before, after, least) for (before, after), least in found.items())


def cup_lags(parts: Sequence[StagePart]) -> tuple[Lag, ...]:
    """Return the lags by which all that is poured out of one cup is poured within its pot life.

    The life counts from first contact, which is when the first of them begins.
    """
    cups: dict[int, list[StagePart]] = {}
    for part in parts:
        if part.cup and part.life_min and part.done is None:
            cups.setdefault(part.cup, []).append(part)
    found: list[Lag] = []
    for row in cups.values():
        worked = row[0].minutes
        for part in row[1:]:
            worked += part.minutes
            # a cup that gels before it can be emptied is told of elsewhere: pour it without a pause
            within = max(min(each.life_min for each in row), worked)
            found.append(Lag(row[0].name, part.name, 0, within - row[0].minutes))
    return tuple(found)


def air_lags(parts: Sequence[StagePart]) -> tuple[Lag, ...]:
    """Return the lags by which no load is cut before its files have been run in air.

    A setup is kept from first stage to last, so the load that files are run in air over goes
    through the whole of it before another one is put on: one of which only the first stages could
    be done would stand on the machine for good.
    """
    rows: dict[tuple[int, tuple[int, ...]], list[StagePart]] = {}
    for part in parts:
        if part.machine and part.done is None:
            rows.setdefault((part.stage.setup, part.pieces), []).append(part)
    flown = {setup: row for (setup, _), row in rows.items() if any(part.air_min for part in row)}
    return tuple(
        Lag(flown[setup][-1].name, row[0].name)
        for (setup, _), row in rows.items()
        if setup in flown and row is not flown[setup]
    )


def ready_lags(
    left: Sequence[StagePart], runs: Sequence[Sequence[StagePart]], jobs: Mapping[str, Job]
) -> tuple[Lag, ...]:
    """Return the lags by which a cup for several parts of a job is mixed once all are ready.

    ``left`` are the tasks to come, ``runs`` those of each piece, ``jobs`` the parts by name.
    """
    cups: dict[int, list[StagePart]] = {}
    for part in left:
        if part.cup:
            cups.setdefault(part.cup, []).append(part)
    found: dict[tuple[str, str], int] = {}
    for first, *more in cups.values():
        others = {part.name for part in more if part.part != first.part}
        for before, after in (pair for run in runs if others for pair in pairwise(run)):
            if after.name in others and before.cup != first.cup:
                least = drying_min(jobs[before.part], before)
                pair = before.name, first.name
                found[pair] = max(found.get(pair, 0), least)
    return tuple(Lag(before, first, least) for (before, first), least in found.items())


def drying_min(job: Job, part: StagePart) -> int:
    """Return how long wood rests, and what was put on dries, before the next task."""
    if part.stage.kind in DRIES:
        return math.ceil(part.stage.lag_s / MINUTE_S)
    if part.stage.kind is StageKind.SEAL and seal_mix(job, part.stage) is None:
        return math.ceil(part.stage.lag_s / MINUTE_S)
    if part.stage.kind is StageKind.FINISH and job.finish is not None:
        return math.ceil(job.finish.finish.recoat_s / MINUTE_S)
    return 0


def settings_of(
    job: Job, runs: Sequence[Sequence[StagePart]], first: int = 0
) -> tuple[Setting, ...]:
    """Return the cures of all pieces: before capping, before cutting or sanding, before a finish.

    ``first`` is the place of the first of the pieces among all of the run.

    A pour shared by several pieces gives one cure for each; the same wait is told once per piece.
    """
    mixes = {mix.name: mix for mix in job.mixes}
    hands = job.shop.hands
    scuff_sand_min = hands.on_face_min(hands.scuff_sand_min, job.blank.face_dm2)
    return tuple(
        setting
        for piece, run in enumerate(runs, start=first)
        for setting in (
            *_piece_settings(piece, run, mixes, scuff_sand_min),
            *_seal_settings(job, piece, run, mixes, scuff_sand_min),
        )
    )


def _seal_settings(
    job: Job, piece: int, run: Sequence[StagePart], mixes: dict[str, Mix], scuff_sand_min: int
) -> Iterator[Setting]:
    """Yield the windows within which a seal has to be filled, where it has one.

    One that is missed is scuff-sanded and brushed anew before the pour.
    """
    sealed: StagePart | None = None
    for part in run:
        if part.stage.kind is StageKind.SEAL:
            sealed = part
        elif sealed is None:
            continue
        elif part.stage.kind in WORKS_RESIN:
            mix = seal_mix(job, sealed.stage)
            if mix is not None:
                least = working_resin(mix).sandable_s / MINUTE_S
                yield _setting(piece, sealed, part, mix, least, Reached.HARD)
            sealed = None
        elif part.stage.kind is StageKind.FILL and part.stage.layer == 1:
            yield from _until_filled(
                job, piece, (sealed, part), mixes[part.stage.mix], scuff_sand_min
            )


def _until_filled(
    job: Job, piece: int, pair: tuple[StagePart, StagePart], fill: Mix, scuff_sand_min: int
) -> Iterator[Setting]:
    """Yield the window of a seal: of resin by its own clock, of any other by the shop's."""
    sealer, (sealed, part) = job.sealer, pair
    if sealer is None:
        return
    mix = seal_mix(job, sealed.stage)
    if mix is not None:
        least_s, until_s = recoat_s(job, mix.resin)
        clocks = waiting(mix.resin), closing(mix.resin)
        missed_s = max(least_s, mix.resin.sandable_s)
    elif sealer.fill_within_s > 0.0:
        least_s, until_s = sealer.dry_s, sealer.fill_within_s
        clocks, missed_s = (PLAIN.name, PLAIN.name), sealer.dry_s
    else:
        return
    cure = Cure(
        sealed.name,
        part.name,
        clocks[0],
        least=math.ceil(least_s / MINUTE_S),
        greatest=until_s / MINUTE_S,
        closing=clocks[1],
        missed_least=math.ceil(missed_s / MINUTE_S),
        missed_minutes=scuff_sand_min * len(part.pieces),
    )
    yield Setting(cure, piece, fill, Reached.SEALED)


def _piece_settings(
    piece: int, run: Sequence[StagePart], mixes: dict[str, Mix], scuff_sand_min: int
) -> Iterator[Setting]:
    wet: list[StagePart] = []
    poured: list[StagePart] = []
    for part in run:
        if part.stage.kind is StageKind.CAP or part.stage.layer > 1:
            for below in _beneath(wet, part):
                yield _until_poured_on(piece, below, part, mixes[below.stage.mix], scuff_sand_min)
        if part.stage.kind in POURING:
            wet.append(part)
            poured.append(part)
        elif part.stage.kind in WORKS_RESIN:
            for last in _last_of_each_resin(wet, mixes):
                mix = mixes[last.stage.mix]
                least = working_resin(mix).sandable_s / MINUTE_S
                yield _setting(piece, last, part, mix, least, Reached.HARD)
            wet = []
            if part.stage.kind is StageKind.FINISH and part.coat == 1:
                for last in _last_of_each_resin(poured, mixes):
                    mix = mixes[last.stage.mix]
                    least = working_resin(mix).cure_s / MINUTE_S
                    yield _setting(piece, last, part, mix, least, Reached.CURED)


def _setting(
    piece: int, before: StagePart, after: StagePart, mix: Mix, least: float, reaches: Reached
) -> Setting:
    return Setting(Cure(before.name, after.name, waiting(mix.resin), least), piece, mix, reaches)


def _beneath(wet: Sequence[StagePart], part: StagePart) -> tuple[StagePart, ...]:
    """Return what a pour comes to lie on: of each inlay the batch poured into it last."""
    last = {
        subject: below
        for below in wet
        if below.stage.number < part.stage.number
        for subject in below.stage.subjects
        if subject in part.stage.subjects
    }
    return tuple({below.name: below for below in last.values()}.values())


def _until_poured_on(
    piece: int, below: StagePart, upper: StagePart, mix: Mix, scuff_sand_min: int
) -> Setting:
    cure = Cure(
        below.name,
        upper.name,
        waiting(mix.resin),
        least=working_resin(mix).recoat_from_s / MINUTE_S,
        greatest=working_resin(mix).recoat_until_s / MINUTE_S,
        closing=closing(mix.resin),
        missed_least=working_resin(mix).sandable_s / MINUTE_S,
        missed_minutes=scuff_sand_min * len(upper.pieces),
    )
    return Setting(cure, piece, mix, Reached.POURABLE)


def _last_of_each_resin(
    poured: Sequence[StagePart], mixes: dict[str, Mix]
) -> tuple[StagePart, ...]:
    last: dict[Resin, StagePart] = {}
    for part in poured:
        last[working_resin(mixes[part.stage.mix])] = part
    return tuple(last.values())


def lead_lags(
    pieces: Sequence[Piece],
    runs: Sequence[Sequence[StagePart]],
    lead: Lead,
    spoiled: Collection[int] = (),
) -> tuple[Lag, ...]:
    """Return the lags by which the run waits for the lessons of its test pieces.

    One that is spoiled has no more to teach.
    """
    if lead is Lead.NO:
        return ()
    awaited = [
        part.name
        for index, (piece, run) in enumerate(zip(pieces, runs, strict=True))
        if piece.test and index not in spoiled and (part := _lead_part(run, lead)) is not None
    ]
    waiting_cuts = [
        next((part.name for part in run if part.stage.kind is StageKind.CUT), None)
        for piece, run in zip(pieces, runs, strict=True)
        if not piece.test
    ]
    return tuple(Lag(first, cut) for first in awaited for cut in waiting_cuts if cut is not None)


def _lead_part(run: Sequence[StagePart], lead: Lead) -> StagePart | None:
    sanded = [part for part in run if part.stage.kind is StageKind.SAND]
    if lead is Lead.FINISH or not sanded:
        return run[-1] if run else None
    return sanded[0] if lead is Lead.FIRST_SANDING else sanded[-1]
