"""A fix: what to write into the job and how dear it is; what is asked for it, what it leaves."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from flushwork.art.drawn import DrawnFace
from flushwork.checks.odds.variation import Critical, CriticalQuantity
from flushwork.core.findings import Finding, Severity, Subject, SubjectKind
from flushwork.core.units import down_mm, number_text, up_mm
from flushwork.job.records import Edge, Holes, Inlay, Job, Mix, Pocket
from flushwork.job.text.change import changed, changed_together

# ---- What if: keys of the job changed one at a time, and what the check then tells


Hear = Callable[[str], tuple[Finding, ...]]
"""A job text to its findings, those that refuse it included."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the check tells once a key holds a value: its stops, warnings and notes."""

    value: str
    findings: tuple[Finding, ...]

    def of(self, severity: Severity) -> tuple[Finding, ...]:
        """Return the findings of one weight that nobody has accepted."""
        return tuple(
            item for item in self.findings if item.severity is severity and item.accepted is None
        )


def sweep(text: str, key: str, values: Sequence[str], hear: Hear) -> tuple[Outcome, ...]:
    """Return what the check tells for each value of a key."""
    return tuple(Outcome(value, hear(changed(text, key, value))) for value in values)


# ---- A fix: what to write into the job and how dear it is; what is asked for it, what it leaves


Path = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Edit:
    """One key of the job and what to write there; without a value the key is taken out.

    An item of a list goes by its name, or by its number from 1 where it has none.
    """

    path: Path
    value: str | None

    @property
    def key(self) -> str:
        """The key as it is typed: its steps with dots between."""
        return ".".join(self.path)

    def __str__(self) -> str:
        """Return the edit as a person would say it."""
        return f"{self.key}: {self.value}" if self.value is not None else f"{self.key} taken out"


@dataclass(frozen=True, slots=True)
class Fix:
    """Edits made together, and their cost: 0 for a stroke of the pen, 3 for more wood."""

    edits: tuple[Edit, ...]
    cost: int = 0

    def __str__(self) -> str:
        """Return all edits as a person would say them."""
        return "; ".join(str(edit) for edit in self.edits)


def applied(text: str, fix: Fix) -> str:
    """Return a job's text with every edit of a fix made.

    Raises VaryError where one of them leads nowhere.
    """
    return changed_together(text, [(edit.path, edit.value) for edit in fix.edits])


def fix(path: Path, value: str | None, cost: int = 0) -> Fix:
    """Return a fix of one edit."""
    return Fix((Edit(path, value),), cost)


_LISTS: Final = {Inlay: "inlays", Holes: "holes", Pocket: "pockets", Edge: "edges"}
"""The key of a face under which each kind of thing is listed."""


LEAVES: Final = ("box.hinges", "box.catch")
"""Where the depth of a recess is said that follows from the box."""


def path_to(job: Job, thing: Inlay | Holes | Pocket | Edge, *rest: str) -> Path:
    """Return the path of a key of a thing on a face: by its name if it has one, else its number."""
    if isinstance(thing, Pocket) and thing.depth_source.key in LEAVES:
        return (*thing.depth_source.key.split("."), "leaf")
    key = _LISTS[type(thing)]
    number = getattr(job.face(thing.face), key).index(thing)
    named = f"{thing.face}.{key}.{number}.name" in job.given
    return (thing.face, key, thing.name if named else str(number + 1), *rest)


def short_mm(finding: Finding) -> float:
    """Return by how much a finding's figure misses its limit, in its own unit."""
    measure = finding.measure
    return abs(measure.value - measure.limit) if measure and measure.limit is not None else 0.0


def down(value_mm: float) -> str:
    """Return a length in words, rounded down to a hundredth."""
    return f"{number_text(float(down_mm(value_mm)))} mm"


def up(value_mm: float) -> str:
    """Return a length in words, rounded up to a hundredth."""
    return f"{number_text(float(up_mm(value_mm)))} mm"


FIGURES: Final[dict[str, Critical]] = {
    "wood-between-too-thin": Critical.WOOD_BETWEEN_FACES,
    "wood-between-gone": Critical.WOOD_BETWEEN_FACES,
    "hole-meets-inlay": Critical.WOOD_BETWEEN_FACES,
    "second-pass-through": Critical.FIRST_COLOUR,
    "second-pass-floor-thin": Critical.FIRST_COLOUR,
    "seam-not-covered": Critical.SEAM_COVER,
    "fill-does-not-hide": Critical.FILL,
    "cap-too-thin": Critical.CAP,
    "wood-sliver-thin": Critical.WOOD_BETWEEN,
    "thinned-by-sanding": Critical.STROKE,
    "sanded-away": Critical.STROKE,
}
"""Which quantity of the odds tells a finding's figure when it is no longer told."""


def figure_after(
    finding: Finding, held: Sequence[CriticalQuantity]
) -> tuple[str, float, float] | None:
    """Return the figure of a mended finding: what it is, its least value and its limit, mm."""
    name = FIGURES.get(finding.code)
    mine = [item for item in held if item.name == name and _speaks_of(item, finding)]
    if name is None or not mine:
        return None
    worst = min(mine, key=lambda item: float(item.nominal.min()) - item.limit)
    return name, float(worst.nominal.min()), worst.limit


def _speaks_of(item: CriticalQuantity, finding: Finding) -> bool:
    return bool(finding.subjects) and finding.subjects[0] in item.subjects


_Thing = TypeVar("_Thing", Inlay, Holes, Pocket, Edge, Mix)


@dataclass(frozen=True, slots=True)
class Question:
    """A finding and its job, read and drawn."""

    finding: Finding
    job: Job
    faces: Sequence[DrawnFace]

    @property
    def inlay(self) -> Inlay | None:
        """The inlay the finding is told of, where it is one."""
        own = self._named("inlay", self.job.inlays, self.finding.subjects[:1])
        return own[0] if own else None

    @property
    def inlays(self) -> tuple[Inlay, ...]:
        """All inlays the finding stands between, its own first."""
        return self._named("inlay", self.job.inlays, self.finding.subjects)

    @property
    def holes(self) -> tuple[Holes, ...]:
        """All hole patterns the finding stands between, its own first."""
        every = [holes for face in self.job.faces for holes in face.holes]
        return self._named("holes", every, self.finding.subjects)

    @property
    def pockets(self) -> tuple[Pocket, ...]:
        """All pockets left empty that the finding stands between, its own first."""
        return self._named("pocket", self.job.pockets, self.finding.subjects)

    @property
    def edges(self) -> tuple[Edge, ...]:
        """All shaped edges the finding stands between, its own first."""
        every = [edge for face in self.job.faces for edge in face.edges]
        return self._named("edge", every, self.finding.subjects)

    @property
    def mixes(self) -> tuple[Mix, ...]:
        """All mixes the finding is told of."""
        return self._named("mix", self.job.mixes, self.finding.subjects)

    @staticmethod
    def _named(
        kind: SubjectKind, things: Sequence[_Thing], subjects: Sequence[Subject]
    ) -> tuple[_Thing, ...]:
        by_name = {each.name: each for each in things}
        names = dict.fromkeys(subject.name for subject in subjects if subject.kind == kind)
        return tuple(by_name[name] for name in names if name in by_name)


Idea = Callable[[Question], Iterator[Fix]]
"""What might take a finding away; each fix is tried before anybody is shown it."""
