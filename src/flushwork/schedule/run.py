"""The run: its pieces, the loads of the bed, the batches, and each stage's tasks by piece."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from flushwork.core.units.kinds import MINUTE_S
from flushwork.job.records import Job
from flushwork.process.box_steps import closes_in
from flushwork.process.pour_requests import goes_ahead, pour_sessions
from flushwork.process.stages import POURING, Plan, Stage, StageKind
from flushwork.resin.before_gel import MIXING_S, fill_time_s
from flushwork.resin.pours import Pour
from flushwork.schedule.hand_work import box_work_min, by_hand_min
from flushwork.schedule.resume import NOTHING_DONE, Progress, Span, history
from flushwork.schedule.schedule import Piece
from flushwork.toolpaths.orders import GcodeFile


@dataclass(frozen=True, slots=True)
class OnMachine:
    """The setup that stands on the machine half worked, and a piece of its load."""

    setup: int
    piece: int


def loads_of(job: Job, count: int, progress: Progress, bed: int) -> tuple[tuple[int, ...], ...]:
    """Return the pieces, by index, that are worked together on a bed of so many places.

    Test pieces that go ahead lie alone; spoiled pieces are left out; pieces of which one is further
    on than another are no longer worked together.
    """
    rows = [range(count)]
    if goes_ahead(job):
        rows = [range(job.test_pieces), range(job.test_pieces, count)]
    found: list[tuple[int, ...]] = []
    for row in rows:
        for first in range(row.start, row.stop, bed):
            alike: dict[int, list[int]] = {}
            for piece in range(first, min(first + bed, row.stop)):
                if piece not in progress.spoiled:
                    alike.setdefault(progress.last(piece), []).append(piece)
            found += [tuple(pieces) for pieces in alike.values()]
    return tuple(found)


def on_machine(plan: Plan, pieces: Sequence[int], progress: Progress) -> OnMachine | None:
    """Return what stands on the machine by the log: what was worked last, if it is not through.

    Whatever was set up before it has been taken off and has to be set up anew.
    """
    worked = [
        (end_min, piece, number)
        for piece in pieces
        for number, end_min in progress.ends(piece).items()
        if plan.stage(number).setup
    ]
    if not worked:
        return None
    _, piece, _ = max(worked)
    setup = plan.stage(max(number for _, other, number in worked if other == piece)).setup
    through = max(stage.number for stage in plan.stages if stage.setup == setup)
    if progress.last(piece) >= through or piece in progress.spoiled or progress.taken_off:
        return None
    return OnMachine(setup, piece)


@dataclass(frozen=True, slots=True)
class StagePart:
    """One task of the run: a stage, or a part of it, done to some pieces (by index).

    ``tools`` are the bits it takes, in order; ``mounts`` says that it begins a setup.
    ``cup`` is the number that pours out of one mixed cup have in common, ``life_min`` its pot life.
    ``out_of`` is the pour in whose cup its batch is mixed, 0 for its own.
    ``air_min`` of its minutes its files run in air first.  ``part`` is the part of the job whose
    stage it is.  ``done`` is from when until when it was
    done, None where it is still to be done.
    """

    name: str
    stage: Stage
    pieces: tuple[int, ...]
    minutes: int
    pour: int = 0
    coat: int = 0
    mounts: bool = False
    tools: tuple[str, ...] = ()
    cup: int = 0
    life_min: int = 0
    out_of: int = 0
    air_min: int = 0
    done: tuple[int, int] | None = None
    part: str = ""

    @property
    def poured(self) -> bool:
        """Whether it is one batch put on or into all its pieces."""
        return self.pour > 0 or self.stage.kind in POURING

    @property
    def machine(self) -> bool:
        """Whether it runs on the machine, or by hand on what is set up there."""
        return self.stage.setup > 0


Load = tuple[int, ...]


def pieces_of(job: Job) -> tuple[Piece, ...]:
    """Return the pieces, test pieces first."""
    return tuple(
        Piece(number + 1, test=True, part=job.part) for number in range(job.test_pieces)
    ) + tuple(Piece(number + 1, test=False, part=job.part) for number in range(job.pieces))


def parts_of(
    job: Job,
    plan: Plan,
    gcode_files: Mapping[int, Sequence[GcodeFile]],
    pours: Sequence[Pour],
    longest_min: int,
    progress: Progress = NOTHING_DONE,
    bed: int | None = None,
) -> tuple[StagePart, ...]:
    """Return all tasks of a run, stage by stage in working order; what is done has its span.

    ``longest_min`` is how long somebody can stand at the machine: a cutting stage that takes longer
    is parted between its G-code files.  ``bed`` pieces lie on the machine at once, as many as the
    job says where it is None.  A bit that a setup's stage before has left in the machine is not
    changed again.  Each file is run in air over the first load it cuts, which is part of the plan.
    """
    together = job.bed.pieces if bed is None else bed
    return tuple(_Parts(job, plan, gcode_files, pours, longest_min, progress, together).all())


@dataclass
class _Parts:
    """The tasks as they are told, stage after stage."""

    job: Job
    plan: Plan
    gcode_files: Mapping[int, Sequence[GcodeFile]]
    pours: Sequence[Pour]
    longest_min: int
    progress: Progress
    bed: int
    left_in: dict[tuple[int, Load], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        job, plan, progress = self.job, self.plan, self.progress
        self.hands = job.shop.hands
        self.dm2 = job.blank.face_dm2
        self.count = job.pieces + job.test_pieces
        self.loads = loads_of(job, self.count, progress, self.bed)
        self.last = [progress.last(piece) for piece in range(self.count)]
        self.standing = on_machine(plan, range(self.count), progress)
        usual = {stage.number: self._alone_min(stage) for stage in plan.stages}
        self.spans = [history(plan, progress, piece, usual) for piece in range(self.count)]

    def all(self) -> Iterator[StagePart]:
        """Yield every task."""
        for stage in self.plan.stages:
            if stage.kind is StageKind.CURE:
                continue
            if stage.kind in POURING or any(pour.stage == stage.number for pour in self.pours):
                yield from self._pourings(stage)
            elif stage.kind is StageKind.FINISH:
                for piece in range(self.count):
                    yield from self._coats(stage, piece)
            elif stage.setup:
                yield from self._done(stage)
                yield from self._machined(stage)
            else:
                yield from self._done(stage)
                yield from self._by_hand(stage)

    def _hand_min(self, stage: Stage) -> int:
        """Return the minutes a stage takes by hand on one piece, or on its box."""
        box_min = box_work_min(self.job, stage.kind)
        return box_min or by_hand_min(stage, self.hands, self.dm2)

    def _coat_min(self) -> int:
        """Return the minutes of one coat; a box that is coated with its board is counted."""
        alone = self.hands.on_face_min(self.hands.coat_min, self.dm2)
        boxed = self.job.box is not None and not closes_in(self.job)
        return alone + (box_work_min(self.job, StageKind.BOX_COAT) if boxed else 0)

    def _left(self, stage: Stage, piece: int) -> bool:
        """Whether a stage is still to be done to a piece."""
        return self.last[piece] < stage.number and piece not in self.progress.spoiled

    def _done(self, stage: Stage) -> Iterator[StagePart]:
        mounts = stage.setup > 0 and stage.number == self._setup(stage)[0]
        for piece in range(self.count):
            span = self.spans[piece].get(stage.number)
            if span is not None:
                name = f"{stage.number}:{piece}"
                yield replace(_past(name, stage, (piece,), span), mounts=mounts)

    def _setup(self, stage: Stage) -> list[int]:
        """Return the numbers of the stages of a stage's setup."""
        return [each.number for each in self.plan.stages if each.setup == stage.setup]

    def _by_hand(self, stage: Stage) -> Iterator[StagePart]:
        minutes = self._hand_min(stage)
        for piece in range(self.count):
            if self._left(stage, piece):
                yield StagePart(f"{stage.number}:{piece}", stage, (piece,), minutes)

    def _machined(self, stage: Stage) -> Iterator[StagePart]:
        files = self.gcode_files.get(stage.number, ())
        left = [load for load in self.loads if self._left(stage, load[0])]
        fresh = not any(last >= stage.number for last in self.last)
        own = self._setup(stage)
        full_min = self._mount_min(self.bed) if stage.number == own[0] else 0
        standing = [load for load in left if self._stands(stage, load)]
        first = (standing or self._foremost(left))[:1]
        for load in left:
            begins = stage.number == min(each for each in own if each > self.last[load[0]])
            stands = load in standing
            mounts = begins and not stands
            key = (stage.setup, load)
            tool = self._tool_before(stage, own) if begins and stands else self.left_in.get(key, "")
            first_min = self._mount_min(len(load)) if mounts else 0
            if files and not mounts and tool == files[0].order.bit.name:
                first_min -= self.hands.change_min
            if files:
                self.left_in[key] = files[-1].order.bit.name
            in_air = fresh and load in first
            parts = self._worked(stage, files, load, self.longest_min - full_min, in_air=in_air)
            yield replace(parts[0], mounts=mounts, minutes=parts[0].minutes + first_min)
            yield from parts[1:]

    def _foremost(self, loads: Sequence[Load]) -> Sequence[Load]:
        """Return the loads, what is furthest on first; nothing overtakes what goes ahead."""
        ahead = self.job.test_pieces if goes_ahead(self.job) else 0
        return sorted(loads, key=lambda load: (load[0] >= ahead, -self.last[load[0]]))

    def _stands(self, stage: Stage, load: Load) -> bool:
        """Whether a load stands on the machine, in the setup of a stage."""
        standing = self.standing
        return standing is not None and (standing.setup == stage.setup and standing.piece in load)

    def _tool_before(self, stage: Stage, own: Sequence[int]) -> str:
        """Return the bit that the stages of a setup before this one have left in."""
        before = [file for number in own if number < stage.number
                  for file in self.gcode_files.get(number, ())]  # fmt: skip
        return before[-1].order.bit.name if before else ""

    def _mount_min(self, count: int) -> int:
        return self.hands.mount_min + (count - 1) * self.hands.mount_next_min

    def _worked(
        self, stage: Stage, files: Sequence[GcodeFile], load: Load, room_min: int, *, in_air: bool
    ) -> list[StagePart]:
        """Return a stage's tasks on one load: one where it fits into the room, else one per file.

        ``in_air`` says that each file is run in air first.  Whether a stage is parted goes by the
        load that takes longest, so that all loads go through the same tasks.
        """
        name = f"{stage.number}:{load[0]}"
        hands = self.hands
        if not files:
            minutes = len(load) * self._hand_min(stage)
            return [StagePart(name, stage, load, minutes)]
        runs = [math.ceil(file.run_s / MINUTE_S) for file in files]
        airs = [hands.air_min + each for each in runs]
        cuts = [hands.change_min + each for each in runs]
        tools = tuple(file.order.bit.name for file in files)
        air_min = sum(airs) if in_air else 0
        if sum(cuts) + sum(airs) <= room_min:
            return [StagePart(name, stage, load, sum(cuts) + air_min, tools=tools, air_min=air_min)]
        found: list[StagePart] = []
        for index, tool in enumerate(tools):
            part = StagePart(f"{name}:{index}", stage, load, cuts[index], tools=(tool,))
            if in_air:
                first = hands.change_min + airs[index]
                found.append(
                    replace(part, name=f"{part.name} in air", minutes=first, air_min=airs[index])
                )
                part = replace(part, minutes=runs[index])
            found.append(part)
        return found

    def _coats(self, stage: Stage, piece: int) -> Iterator[StagePart]:
        plan = self.job.finish
        coats = plan.coats if plan is not None else 1
        minutes = self._coat_min()
        name = f"{stage.number}:{piece}:coat"
        span = self.spans[piece].get(stage.number)
        if span is not None:
            yield from self._coated(stage, piece, coats, span)
        elif self._left(stage, piece):
            for coat in range(1, coats + 1):
                yield StagePart(f"{name} {coat}", stage, (piece,), minutes, coat=coat)

    def _coated(self, stage: Stage, piece: int, coats: int, span: Span) -> Iterator[StagePart]:
        """Yield the coats that are on, the last one at the end of the stage's span."""
        minutes = self._coat_min()
        each = minutes + self._recoat_min()
        for coat in range(1, coats + 1):
            end = max(span[0], span[1] - (coats - coat) * each)
            own = (max(span[0], end - minutes), end)
            name = f"{stage.number}:{piece}:coat {coat}"
            yield replace(_past(name, stage, (piece,), own), coat=coat)

    def _recoat_min(self) -> int:
        plan = self.job.finish
        return math.ceil(plan.finish.recoat_s / MINUTE_S) if plan is not None else 0

    def _alone_min(self, stage: Stage) -> int:
        """Return how long a stage takes on one piece by itself, drying between coats included."""
        if stage.kind is StageKind.FINISH:
            coats = self.job.finish.coats if self.job.finish is not None else 1
            coat_min = self._coat_min()
            return coats * coat_min + (coats - 1) * self._recoat_min()
        files = self.gcode_files.get(stage.number, ())
        cut_s = sum(file.cut_s for file in files)
        return math.ceil(cut_s / MINUTE_S) + (0 if files else self._hand_min(stage))

    def _pourings(self, stage: Stage) -> Iterator[StagePart]:
        """Yield the batches of a stage, each with the pieces it fills, test pieces first.

        What is filled already is told by the moment it was; the batch then fills what is left.
        """
        for part in self._batches(stage):
            done: dict[Span, list[int]] = {}
            for piece in part.pieces:
                if stage.number in self.spans[piece]:
                    done.setdefault(self.spans[piece][stage.number], []).append(piece)
            left = tuple(piece for piece in part.pieces if self._left(stage, piece))
            whole = len(done) == 1 and not left
            for span, pieces in done.items():
                name = part.name if whole else f"{part.name}, done {pieces[0] + 1}"
                past = _past(name, stage, tuple(pieces), span)
                yield replace(
                    past,
                    pour=part.pour,
                    cup=part.cup,
                    out_of=part.out_of,
                    life_min=part.life_min,
                )
            if left:
                yield replace(part, pieces=left)

    def _batches(self, stage: Stage) -> list[StagePart]:
        tidy_min = self.hands.tidy_min
        own = [pour for pour in self.pours if pour.stage == stage.number]
        if own:
            return [
                _poured(stage, pour, tidy_min + math.ceil(_working_s(pour) / MINUTE_S))
                for pour in own
            ]
        shared = _shared(self.plan, stage, self.pours)
        if not shared:
            minutes = tidy_min + math.ceil(MIXING_S / MINUTE_S)
            return [StagePart(f"{stage.number}:pour", stage, tuple(range(self.count)), minutes)]
        return [_poured(stage, pour, tidy_min) for pour in shared]


def _past(name: str, stage: Stage, pieces: Load, span: Span) -> StagePart:
    return StagePart(name, stage, pieces, span[1] - span[0], done=span)


def _poured(stage: Stage, pour: Pour, minutes: int) -> StagePart:
    return StagePart(
        f"{stage.number}:pour {pour.number}",
        stage,
        tuple(range(pour.first, pour.first + pour.pieces)),
        minutes,
        pour=pour.number,
        cup=pour.clock_of,
        life_min=pour.pot_life_min,
        out_of=pour.out_of,
    )


def _working_s(pour: Pour) -> float:
    """Return how long a batch is worked on; a common clear batch is mixed with its first colour."""
    if not pour.shares_clear_with:
        return pour.working_s
    mixing_s = MIXING_S if all(pour.number < other for other in pour.shares_clear_with) else 0.0
    return mixing_s + pour.pieces * fill_time_s(pour.serves)


def _shared(plan: Plan, stage: Stage, pours: Sequence[Pour]) -> list[Pour]:
    """Return the batches of the same session and mix that a stage is filled from."""
    sessions = pour_sessions(plan)
    return [
        pour
        for pour in pours
        if pour.mix.name == stage.mix and sessions.get(pour.stage) == sessions.get(stage.number)
    ]
