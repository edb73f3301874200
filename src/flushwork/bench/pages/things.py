"""What of a job can be taken in hand, and what has to do with what.

An inlay, a pattern of holes, a stage, a setup, a bit, a pour, a day, a finding: each is known by a
key, such as ``inlay/front/plate`` or ``stage/12``, which is its address on the page as well.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import shapely
from shapely import MultiPolygon

from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.built import Build
from flushwork.core.findings import Finding, Severity
from flushwork.core.units.kinds import DAY_MIN
from flushwork.views.figures import clean

SHAPE_MM: Final = 0.02
"""So far the outline of a thing may lie beside it: under a pixel of the screen even close up, where
50 of them show a millimetre."""


@dataclass(frozen=True, slots=True)
class Things:
    """Everything that can be taken in hand: its words by key, and the keys it is tied to.

    ``weights`` has the mark of each finding.
    """

    words: dict[str, str]
    ties: dict[str, tuple[str, ...]]
    weights: dict[str, str] = field(default_factory=dict)

    def of(self, key: str, kind: str) -> tuple[str, ...]:
        """Return the keys of one kind that a thing is tied to, in their own order."""
        return tuple(each for each in self.ties.get(key, ()) if each.startswith(f"{kind}/"))


class _Tying:
    """Words and ties while they are gathered."""

    def __init__(self) -> None:
        self.words: dict[str, str] = {}
        self.weights: dict[str, str] = {}
        self.ties: dict[str, set[str]] = defaultdict(set)

    def name(self, key: str, words: str) -> str:
        self.words[key] = clean(words)
        return key

    def tie(self, *keys: str) -> None:
        """Tie things to each other, those of them that there are."""
        known = [key for key in keys if key in self.words]
        for key in known:
            self.ties[key].update(other for other in known if other != key)

    def each(self, own: str, cut: CutNames, names: Iterable[str], face: str) -> None:
        """Tie a thing to whatever goes by some names on a face."""
        for name in names:
            for key in cut.get((name, face), ()):
                self.tie(own, key)

    def done(self) -> Things:
        place = {key: at for at, key in enumerate(self.words)}
        return Things(
            self.words,
            {key: tuple(sorted(tied, key=place.__getitem__)) for key, tied in self.ties.items()},
            self.weights,
        )


@cached_on
def things_of(snapshot: Snapshot) -> Things:
    """Return all things of what is in sight."""
    return things_in(snapshot.made)


def things_in(made: Build) -> Things:
    """Return all things of a build."""
    tying, cut = _Tying(), _cut_names(made)
    _name_all(made, tying)
    _tie_work(made, tying, cut)
    _tie_days(made, tying, cut)
    for key, finding in keyed_findings(made):
        _tie_finding(made, tying, key, finding)
    return tying.done()


CutNames = dict[tuple[str, str], tuple[str, ...]]
"""The keys of inlays and holes by their name and face."""


def _tie_work(made: Build, tying: _Tying, cut: CutNames) -> None:
    """Tie stages, setups, bits and pours to what is cut and filled by them."""
    for stage in made.plan.stages:
        own = f"stage/{stage.number}"
        tying.tie(own, f"setup/{stage.setup}")
        tying.each(own, cut, stage.subjects, stage.face)
    for stage_number, file in zip(made.cut_stages, made.gcode_files, strict=True):
        bit, setup = f"bit/{file.order.bit.name}", f"setup/{file.order.setup}"
        tying.tie(bit, f"stage/{stage_number}", setup)
        subjects = [operation.subject for operation in file.order.operations]
        tying.each(bit, cut, subjects, file.order.face)
        tying.each(setup, cut, subjects, file.order.face)
    for pour in made.pours:
        own = f"pour/{pour.number}"
        tying.tie(own, f"stage/{pour.stage}")
        for served in pour.serves:
            tying.each(own, cut, (served.subject,), served.face)


def _tie_days(made: Build, tying: _Tying, cut: CutNames) -> None:
    """Tie each day to what is worked on it."""
    for step in made.schedule.steps if made.schedule is not None else ():
        day, stage = f"day/{step.begin_min // DAY_MIN + 1}", made.plan.stage(step.stage)
        for key in (f"stage/{step.stage}", f"setup/{stage.setup}", f"pour/{step.pour}"):
            tying.tie(day, key)
        tying.each(day, cut, stage.subjects, stage.face)


def _name_all(made: Build, tying: _Tying) -> None:
    for face in made.faces:
        for inlay in face.inlays:
            tying.name(f"inlay/{face.name}/{inlay.inlay.name}", inlay.inlay.name)
        for drilled in face.holes:
            tying.name(f"holes/{face.name}/{drilled.holes.name}", drilled.holes.name)
    for stage in made.plan.stages:
        tying.name(f"stage/{stage.number}", f"{stage.number}. {stage.title}")
    for setup in made.plan.setups:
        tying.name(f"setup/{setup.number}", f"Setup {setup.number}, {setup.face} up")
    for file in made.gcode_files:
        tying.name(f"bit/{file.order.bit.name}", file.order.bit.name)
    for pour in made.pours:
        tying.name(f"pour/{pour.number}", f"Pour {pour.number}: {pour.mix.name}")
    plan = made.schedule
    if plan is not None and plan.hindrance is None:
        for day in sorted({step.begin_min // DAY_MIN for step in plan.steps}):
            words = plan.days.day_text(day * DAY_MIN)
            tying.name(f"day/{day + 1}", words[:1].upper() + words[1:])


def _cut_names(made: Build) -> CutNames:
    found: CutNames = {}
    for face in made.faces:
        named = [("inlay", each.inlay.name) for each in face.inlays]
        named += [("holes", each.holes.name) for each in face.holes]
        for kind, name in named:
            place = (name, face.name)
            found[place] = (*found.get(place, ()), f"{kind}/{face.name}/{name}")
    return found


def keyed_findings(made: Build) -> list[tuple[str, Finding]]:
    """Return the findings in the order of the page, each with its key: its code and which of it."""
    counts: Counter[str] = Counter()
    found: list[tuple[str, Finding]] = []
    for severity in Severity:
        for finding in made.findings:
            if finding.severity is severity:
                counts[finding.code] += 1
                found.append((f"finding/{finding.code}/{counts[finding.code]}", finding))
    return found


def _tie_finding(made: Build, tying: _Tying, key: str, finding: Finding) -> None:
    tying.name(key, finding.message)
    tying.weights[key] = str(finding.severity)
    if finding.part:
        return  # it is of things that this page does not show
    names = {(subject.kind, subject.name) for each in finding.each for subject in each.subjects}
    for told, own in _told_of(made):
        if told in names:
            tying.tie(key, own)


def _told_of(made: Build) -> Iterator[tuple[tuple[str, str], str]]:
    """Yield what a finding may be told of, by kind and name, with the key of a thing it means."""
    for face in made.faces:
        for inlay in face.inlays:
            yield ("inlay", inlay.inlay.name), f"inlay/{face.name}/{inlay.inlay.name}"
        for drilled in face.holes:
            yield ("holes", drilled.holes.name), f"holes/{face.name}/{drilled.holes.name}"
    for stage in made.plan.stages:
        yield ("stage", stage.title), f"stage/{stage.number}"
    for pour in made.pours:
        yield ("mix", pour.mix.name), f"pour/{pour.number}"
        yield ("mix", pour.mix.name), f"stage/{pour.stage}"
    for file in made.gcode_files:
        yield ("bit", file.order.bit.name), f"bit/{file.order.bit.name}"
        yield ("file", file.file_name), f"setup/{file.order.setup}"


@cached_on
def index_data(snapshot: Snapshot) -> dict[str, Any]:
    """Return what the page needs to light things: words, ties, shapes on their faces."""
    things = things_of(snapshot)
    return {
        "generation": snapshot.generation,
        "words": things.words,
        "ties": things.ties,
        "shapes": _shapes(snapshot.made),
    }


def _shapes(made: Build) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for face in made.faces:
        for drawn in face.inlays:
            shape = {"face": face.name, "rings": rings(drawn.region)}
            found[f"inlay/{face.name}/{drawn.inlay.name}"] = shape
        for drilled in face.holes:
            found[f"holes/{face.name}/{drilled.holes.name}"] = {
                "face": face.name,
                "radius": round(drilled.holes.diameter_mm / 2.0, 3),
                "at": [[round(hole.x_mm, 2), round(hole.y_mm, 2)] for hole in drilled.places],
            }
    return found


def rings(region: MultiPolygon, within_mm: float = SHAPE_MM) -> list[list[list[float]]]:
    """Return the rings of a region in mm, none further from its outline than ``within_mm``."""
    if region.is_empty:
        return []
    return [
        [[round(x, 2), round(y, 2)] for x, y in ring.coords]
        for part in shapely.get_parts(region.simplify(within_mm))
        for ring in (part.exterior, *part.interiors)
    ]
