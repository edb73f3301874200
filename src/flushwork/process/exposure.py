"""What is wet, fresh, hard or a dry powder at each stage, and which heat or spark meets it there.

The order of the stages and the waits between them decide, at their shortest: nobody has to wait
longer than the plan asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import takewhile
from typing import Final

from flushwork.job.records import Job, Mix
from flushwork.process.pour_requests import pour_sessions
from flushwork.process.stages import POURING, Plan, Stage, StageKind
from flushwork.shelf.hazards import (
    AIRED_S,
    AIRING_S,
    Hazard,
    HazardPair,
    Hazards,
    HazardState,
    Heat,
    Verdict,
    pair,
)
from flushwork.shelf.items import Finish, PigmentKind, Sealer, Thinner
from flushwork.shelf.known_hazards import hazards_of

ON_MACHINE: Final = (
    StageKind.ROUGH,
    StageKind.SURFACE,
    StageKind.LOCATE,
    StageKind.MARK,
    StageKind.CUT,
    StageKind.MILL_FLUSH,
    StageKind.SHAPE,
    StageKind.DRILL,
    StageKind.TRIM,
)
IMPORTED: Final = {
    **dict.fromkeys(ON_MACHINE, (Heat.SPINDLE, Heat.MOTOR)),
    StageKind.SAND: (Heat.SANDING, Heat.MOTOR),
    StageKind.SEAL: (Heat.MOTOR, Heat.HEAP),
    StageKind.FILL: (Heat.MOTOR, Heat.HEAP),
    StageKind.CAP: (Heat.MOTOR, Heat.HEAP),
    StageKind.GLUE: (Heat.MOTOR,),
    StageKind.CURE: (),
    StageKind.BOX_SAW: (Heat.SPINDLE, Heat.MOTOR),
    StageKind.BOX_GLUE: (Heat.MOTOR,),
    StageKind.BOX_FIT: (Heat.SANDING, Heat.SPINDLE, Heat.MOTOR),
    StageKind.BOX_COAT: (Heat.MOTOR, Heat.HEAP),
    StageKind.FINISH: (Heat.MOTOR, Heat.HEAP),
}
"""What each step brings by itself: the machine, sandpaper, a vacuum or fan, rags and leftovers."""
CHASED: Final = {"flame": Heat.FLAME, "hot air": Heat.HOT_AIR}
WARMED: Final = {
    "heat lamp": (Heat.LAMP, (*POURING, StageKind.CURE)),
    "warm box": (Heat.WARM_BOX, (StageKind.CURE,)),
    "hot wood": (Heat.HOT_WOOD, POURING),
}
"""What a mix may be warmed by, and at which stages."""


@dataclass(frozen=True, slots=True)
class Near:
    """A thing that is about at a stage, how it is there, and what can harm in it.

    ``mix`` is the mix it is part of, empty where it is of none.
    """

    name: str
    state: HazardState
    hazards: Hazards
    mix: str = ""


@dataclass(frozen=True, slots=True)
class HeatImported:
    """A heat at a stage; ``mix`` is the one whose recipe asks for it, None for the step's own."""

    heat: Heat
    mix: Mix | None = None


@dataclass(frozen=True, slots=True)
class Exposure:
    """A thing near a heat at a stage, and what is decided of the pair."""

    stage: Stage
    near: Near
    imported: HeatImported
    pair: HazardPair


def exposures(job: Job, plan: Plan) -> tuple[Exposure, ...]:
    """Return every pair of a hazard and a heat that comes together, in working order."""
    return tuple(each for stage in plan.stages for each in met_at(job, plan, stage))


def met_at(job: Job, plan: Plan, stage: Stage) -> tuple[Exposure, ...]:
    """Return the pairs of a hazard and a heat that come together at a stage."""
    near = things_near(job, plan, stage)
    return tuple(
        Exposure(stage, thing, heat, decided)
        for heat in heats_at(job, plan, stage)
        for thing in near
        if heat.mix is not None or _concerns(stage, thing)
        for hazard in thing.hazards.classes
        if (decided := pair(hazard, thing.state, heat.heat)).verdict is not Verdict.NOTHING
    )


def lit_by_a_flame(job: Job, plan: Plan, stage: Stage) -> tuple[str, ...]:
    """Return the names of what is about at a stage and must never meet a flame."""
    return tuple(
        dict.fromkeys(
            near.name
            for near in things_near(job, plan, stage)
            for hazard in near.hazards.classes
            if pair(hazard, near.state, Heat.FLAME).verdict is Verdict.MUST_FIX
        )
    )


def _concerns(stage: Stage, near: Near) -> bool:
    """Whether what a step brings by itself comes to a thing: powders to their own mix alone."""
    return stage.kind not in POURING or near.state is not HazardState.DRY or near.mix == stage.mix


def heats_at(job: Job, plan: Plan, stage: Stage) -> tuple[HeatImported, ...]:
    """Return the heat and sparks of a stage, its own first.

    Fills of one session lie side by side: what one is treated with meets all of them.
    """
    found = [HeatImported(heat) for heat in IMPORTED[stage.kind]]
    mixes = {mix.name: mix for mix in job.mixes}
    for name in _session(plan, stage):
        mix = mixes.get(name)
        if mix is None:
            continue
        if stage.kind in POURING and mix.bubbles in CHASED:
            found.append(HeatImported(CHASED[mix.bubbles], mix))
        if mix.heated_by in WARMED and stage.kind in WARMED[mix.heated_by][1]:
            found.append(HeatImported(WARMED[mix.heated_by][0], mix))
    return tuple(dict.fromkeys(found))


def things_near(job: Job, plan: Plan, stage: Stage) -> tuple[Near, ...]:
    """Return what is about at a stage and carries a hazard, each state of it once."""
    return tuple(dict.fromkeys(each for each in _things(job, plan, stage) if each.hazards.classes))


def _things(job: Job, plan: Plan, stage: Stage) -> Iterator[Near]:
    wood = job.blank.wood
    if stage.kind in (*ON_MACHINE, StageKind.SAND):
        yield Near(wood.name, HazardState.DRY, hazards_of(wood))
    if stage.kind in (StageKind.BOX_SAW, StageKind.BOX_FIT) and job.box is not None:
        yield Near(job.box.wood.name, HazardState.DRY, hazards_of(job.box.wood))
    yield from _coats(job, plan, stage)
    mixes = {mix.name: mix for mix in job.mixes}
    now = _row_of_pours(plan, stage)
    for name in _session(plan, stage):
        if name in mixes:
            yield from _poured(mixes[name], now=name in now)
    for name in _hard(plan, stage):
        if name in mixes:
            yield from _cured(mixes[name])


def _coats(job: Job, plan: Plan, stage: Stage) -> Iterator[Near]:
    """Yield sealer and finish by how long ago they were last put on."""
    for kind, item, dry_s in (
        (StageKind.SEAL, job.sealer, 0.0 if job.sealer is None else job.sealer.dry_s),
        (
            StageKind.FINISH,
            None if job.finish is None else job.finish.finish,
            0.0 if job.finish is None else job.finish.finish.recoat_s,
        ),
    ):
        since_s = _since_s(plan, stage, kind)
        if item is None or since_s is None:
            continue
        state = HazardState.CURED
        if stage.kind in _putting_on(kind) or since_s < dry_s:
            state = HazardState.WET
        elif since_s < AIRED_S:
            state = HazardState.FRESH
        yield Near(item.name, state, hazards_of(item))


def _since_s(plan: Plan, stage: Stage, kind: StageKind) -> float | None:
    """Return the least time since a kind of stage was last begun, None where it was not yet."""
    since_s = 0.0
    for other in reversed(plan.stages[: stage.number]):
        if other.number != stage.number:
            since_s += other.lag_s
        if other.kind in _putting_on(kind):
            return since_s
    return None


def _putting_on(kind: StageKind) -> tuple[StageKind, ...]:
    """Return the stages at which the same is put on as at one of a kind."""
    return (kind, StageKind.BOX_COAT) if kind is StageKind.FINISH else (kind,)


def _poured(mix: Mix, *, now: bool) -> Iterator[Near]:
    """Yield what is in a mix that is poured now, its powders weighed, or that sets."""
    state = HazardState.WET if now else HazardState.FRESH
    yield Near(mix.resin.name, state, hazards_of(mix.resin), mix.name)
    if mix.thinner is not None and mix.thinner_share > 0.0:
        yield Near(mix.thinner.name, state, hazards_of(mix.thinner), mix.name)
    for part in mix.pigments:
        known = hazards_of(part.pigment)
        yield Near(part.pigment.name, state, known, mix.name)
        if now and (part.pigment.kind is not PigmentKind.DYE or Hazard.FINE_DUST in known):
            yield Near(part.pigment.name, HazardState.DRY, known, mix.name)


def _cured(mix: Mix) -> Iterator[Near]:
    yield Near(mix.resin.name, HazardState.CURED, hazards_of(mix.resin), mix.name)
    for part in mix.pigments:
        yield Near(part.pigment.name, HazardState.CURED, hazards_of(part.pigment), mix.name)


def _session(plan: Plan, stage: Stage) -> tuple[str, ...]:
    """Return the mixes that are wet or set at a stage: those poured with it, or not yet hard.

    What sets until the next layer is not hard; the last wait of a round makes it so.
    """
    wet: list[str] = []
    for other in plan.stages[: stage.number]:
        if other.kind in POURING:
            wet.append(other.mix)
        elif other.number < stage.number and _hardens(plan, other):
            wet = []
    return tuple(dict.fromkeys((*wet, *_row_of_pours(plan, stage))))


def _row_of_pours(plan: Plan, stage: Stage) -> tuple[str, ...]:
    """Return the mixes poured in one go with a stage, before it and after it."""
    if stage.kind not in POURING:
        return ()
    before = takewhile(_pours, reversed(plan.stages[: stage.number]))
    after = takewhile(_pours, plan.stages[stage.number :])
    return tuple(dict.fromkeys(other.mix for other in (*before, *after)))


def _pours(stage: Stage) -> bool:
    return stage.kind in POURING


def _hardens(plan: Plan, stage: Stage) -> bool:
    """Whether resin is hard after a stage: a wait that no pour of the same round follows."""
    if stage.kind is not StageKind.CURE or stage.lag_s <= 0.0:
        return False
    following = plan.stages[stage.number :]
    return not (
        following
        and following[0].kind in POURING
        and (following[0].face, following[0].round) == (stage.face, stage.round)
    )


def _hard(plan: Plan, stage: Stage) -> tuple[str, ...]:
    """Return the mixes whose hard resin a stage cuts or sands: those of its face."""
    through = stage.kind in (StageKind.MILL_FLUSH, StageKind.SAND)
    if not through and not (stage.kind is StageKind.CUT and stage.round > 1):
        return ()
    wet = _session(plan, stage)
    return tuple(
        dict.fromkeys(
            other.mix
            for other in plan.stages[: stage.number]
            if other.kind in POURING and other.face == stage.face and other.mix not in wet
        )
    )


HEAD_LINES: Final = {
    "wood dust": "WARNING. Wood dust: extraction at the cut and a respirator.",
    "species": "WARNING. The dust of this wood can make you allergic.",
    "cured only": "WARNING. It cuts cured resin: only when fully hard. Respirator.",
    "metal dust": "WARNING. Metal flakes in this resin: no sparks, no brush-motor vacuum on it.",
    "aired": "WARNING. Something fresh still gives off vapour: air the room first.",
}
"""What the head of a G-code file says of the dust and vapour its stage meets."""


def head_lines(job: Job, plan: Plan, stage: Stage) -> tuple[str, ...]:
    """Return the warnings for the head of a stage's G-code files."""
    met = (each.pair.line for each in met_at(job, plan, stage))
    return tuple(dict.fromkeys(HEAD_LINES[line] for line in met if line in HEAD_LINES))


# ---- How long vapour that burns is about after a stage, and which stages must keep away from it


COOL: Final = (Heat.MOTOR, Heat.HEAP)
"""What is about at every step and told on its card; all other heat lights vapour by itself."""


def airing_after_s(job: Job, kind: StageKind, mix: str = "") -> float:
    """Return how long a room is aired after what a stage puts on; 0 where no vapour of it burns."""
    return max((_airing_s(item) for item in put_on(job, kind, mix)), default=0.0)


def put_on(job: Job, kind: StageKind, mix: str) -> list[Sealer | Finish | Thinner]:
    """Return what may give off vapour in what a stage puts on."""
    if kind is StageKind.SEAL:
        return [] if job.sealer is None else [job.sealer]
    if kind in (StageKind.FINISH, StageKind.BOX_COAT):
        return [] if job.finish is None else [job.finish.finish]
    return [
        each.thinner
        for each in job.mixes
        if mix and each.name == mix and each.thinner is not None and each.thinner_share > 0.0
    ]


def _airing_s(item: Sealer | Finish | Thinner) -> float:
    if not hazards_of(item).burns:
        return 0.0
    if item.air_s is not None:
        return item.air_s
    return max(AIRING_S, item.dry_s) if isinstance(item, Sealer) else AIRING_S


def kept_clear_of(job: Job, plan: Plan) -> frozenset[int]:
    """Return the numbers of the stages that begin only where no vapour of another piece is about.

    Those that bring a flame, heat, a spindle or sanding.  Pours made side by side cannot be kept
    apart: what burns beside a heat there must be fixed, and is told as such.
    """
    sessions = pour_sessions(plan)
    vapours = {sessions[stage.number] for stage in plan.stages
               if stage.airing_s and stage.number in sessions}  # fmt: skip
    return frozenset(
        stage.number
        for stage in plan.stages
        if _is_hot(job, plan, stage) and sessions.get(stage.number, -1) not in vapours
    )


def _is_hot(job: Job, plan: Plan, stage: Stage) -> bool:
    return any(each.heat not in COOL for each in heats_at(job, plan, stage))
