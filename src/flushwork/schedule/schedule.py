"""The schedule: what is done when, what is waited for, and how good the plan is (the records)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from flushwork.process.stages import StageKind
from flushwork.schedule.shop_days import ShopDays
from flushwork.schedule.solve.tasks import Goal


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of the run: ``number`` counts within its kind from 1.

    ``part`` is which of several parts of the job it is, empty where there is only one.
    """

    number: int
    test: bool
    part: str = ""

    @property
    def name(self) -> str:
        """What it is called on labels and sheets."""
        if not self.part:
            return f"test piece {self.number}" if self.test else f"piece {self.number}"
        return f"{self.part}, test {self.number}" if self.test else f"{self.part} {self.number}"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing done without a break, in minutes from midnight of the first day.

    ``pieces`` are all it is done to; ``pour`` is the number of the batch mixed for it, 0 without,
    ``out_of`` that of the pour whose cup it comes out of;
    ``coat`` counts coats from 1.  ``machine`` says that it runs there; ``mounts`` that it begins
    a setup; ``tools`` are the bits it takes.  ``scuffed`` tells that the window before it was
    missed, so that it begins with scuff-sanding.  ``done`` steps lie in the past.  ``air_min`` of
    it are the run of its files in air, which begins it.  ``stage`` and ``setup`` are those of its
    ``part`` of the job, empty where there is only one.  For ``airing_min`` after it vapour that
    burns is about: no step that ``keeps_clear`` is begun.
    """

    task: str
    stage: int
    kind: StageKind
    title: str
    pieces: tuple[Piece, ...]
    begin_min: int
    end_min: int
    pour: int = 0
    coat: int = 0
    machine: bool = False
    setup: int = 0
    mounts: bool = False
    scuffed: bool = False
    done: bool = False
    mix: str = ""
    tools: tuple[str, ...] = ()
    air_min: int = 0
    airing_min: int = 0
    keeps_clear: bool = False
    part: str = ""
    out_of: int = 0

    @property
    def minutes(self) -> int:
        """How long it takes."""
        return self.end_min - self.begin_min


class Reached(StrEnum):
    """What is waited for, as it follows the words for what hardens or dries."""

    HARD = "until it can be cut or sanded"
    CURED = "until it is fully cured"
    POURABLE = "until it can be poured on"
    SEALED = "seal until it can be filled"
    DRY = "dries"
    AIRED = "gives off vapour: no machine, flame or heat"


@dataclass(frozen=True, slots=True)
class Wait:
    """Something that hardens or dries: from when, when it is ready, when its window closes.

    ``of`` is the mix, or the kind of stage whose coat dries.  ``closes_min`` is None where no
    window closes.  ``until`` names the task that waits.
    """

    piece: Piece
    of: str
    reaches: Reached
    resin: str
    since_min: int
    ready_min: int
    closes_min: int | None
    task: str
    until: str
    missed: bool = False
    mix: str = ""

    @property
    def what(self) -> str:
        """What is waited for, in words."""
        return f"{self.of} {self.reaches}"


@dataclass(frozen=True, slots=True)
class OutOfTime:
    """What the day log says was done too soon after what came before, or too ``late``.

    ``before`` and ``after`` are stages; ``since_min`` is when the one was done, ``at_min`` when
    the other was; ``what`` was to be waited for, ``mix`` is what hardens, "" for what dries.
    ``file`` and ``line`` are where the log says so.
    """

    piece: Piece
    before: int
    after: int
    since_min: int
    at_min: int
    what: str
    mix: str
    late: bool
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Milestones:
    """The dates of one piece: its first cut and last flush milling to come, its end, its shipping.

    ``last_pour_min`` closes the next window in which it can be poured on without scuff-sanding.
    """

    piece: Piece
    cut_min: int | None
    mill_flush_min: int | None
    last_pour_min: int | None
    finish_min: int
    ship_min: int


class Obstacle(StrEnum):
    """Why there is no schedule."""

    NO_HOURS = "no hours"
    TOO_LONG = "too long"
    NO_PLACE = "no place"
    TOO_COLD = "too cold"
    NO_PLAN = "no plan"
    NOT_FOUND = "not found"


@dataclass(frozen=True, slots=True)
class Hindrance:
    """What keeps the work from being planned: a task, how long it takes, what there is for it.

    With NO_PLACE ``minutes`` and ``limit_min`` count pieces and places instead; with TOO_COLD
    ``task`` is a resin that no hour of the day is warm enough for.
    """

    kind: Obstacle
    task: str = ""
    minutes: int = 0
    limit_min: int = 0


@dataclass(frozen=True, slots=True)
class Grouping:
    """A run poured in so many groups, and what comes of it."""

    groups: int
    finish_min: int
    hands_min: int
    batches: int


@dataclass(frozen=True, slots=True)
class Schedule:
    """Everything about the days: steps in order of time, waits, dates, aims reached.

    Where ``hindrance`` is set there are no steps.  ``groups`` counts the pieces of each group that
    is poured by itself; ``groupings`` tell what other numbers of groups come to.  ``spoiled`` are
    pieces that are worked no further: they have no dates.  ``out_of_time`` is what the day log
    says was done too soon or too late.
    """

    days: ShopDays
    pieces: tuple[Piece, ...]
    steps: tuple[Step, ...]
    waits: tuple[Wait, ...]
    milestones: tuple[Milestones, ...]
    goals: tuple[Goal, ...]
    hindrance: Hindrance | None = None
    groups: tuple[int, ...] = ()
    groupings: tuple[Grouping, ...] = ()
    spoiled: tuple[Piece, ...] = ()
    out_of_time: tuple[OutOfTime, ...] = ()

    @property
    def begin_min(self) -> int:
        """When the first step begins."""
        return min((step.begin_min for step in self.steps), default=0)

    @property
    def finish_min(self) -> int:
        """When the last step ends."""
        return max((step.end_min for step in self.steps), default=0)

    @property
    def hands_min(self) -> int:
        """Minutes somebody is at work, at the machine or by hand."""
        return sum(step.minutes for step in self.steps)

    @property
    def machine_min(self) -> int:
        """Minutes somebody stands at the machine."""
        return sum(step.minutes for step in self.steps if step.machine)

    @property
    def set_ups(self) -> int:
        """How often a piece is put on the machine."""
        return sum(step.mounts for step in self.steps)

    @property
    def changes(self) -> int:
        """How often another bit is put in than the one left in the machine."""
        taken = [tool for step in self.steps for tool in step.tools]
        return sum(one != two for one, two in pairwise(["", *taken]))

    @property
    def batches(self) -> int:
        """How many batches are mixed."""
        return len({step.pour for step in self.steps if step.pour and not step.out_of})

    @property
    def work_days(self) -> int:
        """On how many days somebody works."""
        return len({step.begin_min // 1440 for step in self.steps})

    @property
    def calendar_days(self) -> int:
        """Days from the first step to the last, both counted."""
        return self.finish_min // 1440 - self.begin_min // 1440 + 1 if self.steps else 0

    @property
    def missed(self) -> tuple[Wait, ...]:
        """The waits whose window is missed."""
        return tuple(wait for wait in self.waits if wait.missed)

    @property
    def proven(self) -> bool:
        """Whether no plan misses fewer windows or finishes sooner."""
        aims = [goal for goal in self.goals if goal.name in ("windows missed", "finish")]
        return bool(aims) and all(goal.proven for goal in aims)

    def of_part(self, part: str) -> Schedule:
        """Return what these days hold for one of several parts of the job."""

        def own(piece: Piece) -> bool:
            return piece.part == part

        return replace(
            self,
            pieces=tuple(each for each in self.pieces if own(each)),
            steps=tuple(each for each in self.steps if each.part == part),
            waits=tuple(each for each in self.waits if own(each.piece)),
            milestones=tuple(each for each in self.milestones if own(each.piece)),
            spoiled=tuple(each for each in self.spoiled if own(each)),
            out_of_time=tuple(each for each in self.out_of_time if own(each.piece)),
        )

    def status(self) -> str:
        """Say in words how good the plan is."""
        finish = next((goal for goal in self.goals if goal.name == "finish"), None)
        if finish is None:
            return "no plan was found"
        if self.proven:
            return f"no plan can finish sooner{self._changes()}"
        gap = finish.reached - finish.bound
        return (
            f"the best plan found in the time given; a better one would finish at most "
            f"{gap // 60} h {gap % 60} min sooner{self._changes()}"
        )

    def _changes(self) -> str:
        """Say how near the changes of bits are to the fewest there can be."""
        goal = next((goal for goal in self.goals if goal.name == "bit changes"), None)
        if goal is None or not goal.reached:
            return ""
        if goal.proven:
            return ", or with fewer bit changes"
        more = goal.reached - goal.bound
        return f"; at most {more} fewer changes of bits, if any, in another order"
