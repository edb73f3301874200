"""Where two inlays meet: an edge they share made a seam line, one within the other cut into it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flushwork.core.findings import JobRefusedError
from flushwork.job.text.edit import EditError
from flushwork.job.text.insert import Group, with_item, with_named, with_told
from flushwork.usecases.jobs import preread
from flushwork.usecases.making.add import Added
from flushwork.usecases.making.begun import Bench, bench_of, written
from flushwork.usecases.making.fills import AddError, Jars
from flushwork.usecases.making.place import steps_of

if TYPE_CHECKING:
    from shapely import MultiLineString, MultiPolygon

    from flushwork.art.drawn import DrawnFace, DrawnInlay
    from flushwork.job.records import FaceName

SEAM_MM: Final = 0.8
"""How wide a seam line is at first, or as the narrowest bit is (common practice, no source)."""
SEAM_DEPTH_MM: Final = 1.2
"""How deep at most at first: a fine bit cuts one and a half times its width in a pass or two
(common practice, no source)."""
LEFT_MM: Final = 0.5
"""So much of the first colour stays below a second pass (assumed, 0.3 to 0.8 mm; a step-wedge test
strip)."""
LEAST_MM: Final = 0.5
"""A fill is at least so deep at first (assumed: the wood shows through a thinner one)."""
TOUCH_MM2: Final = 0.05
"""Overlaps smaller than this are edges that touch."""


@dataclass(frozen=True, slots=True)
class Meeting:
    """Where two inlays of a face meet, in mm of it.

    ``kind`` is ``edge`` where they share ``lines``, and ``overlap`` where the first lies in the
    second, in ``region``, altogether if ``within``.  ``done`` says that the text has a seam line
    there, or the second pass.
    """

    kind: str
    things: tuple[str, str]
    lines: MultiLineString
    region: MultiPolygon
    within: bool
    done: bool


def meetings(job_file: Path | str, text: str, face: FaceName = "front") -> tuple[Meeting, ...]:
    """Return every place at which two inlays of a face meet, in the order of the text.

    Raises JobRefusedError where the text cannot be read.
    """
    _, faces = preread(job_file, text)
    return tuple(_met(next(each for each in faces if each.name == face)))


def _met(face: DrawnFace) -> Iterator[Meeting]:
    from shapely import STRtree  # noqa: PLC0415

    from flushwork.art.regions import NO_LINES, many  # noqa: PLC0415
    from flushwork.art.seams import SNAP_MM, shared_edges  # noqa: PLC0415

    shapes = [each for each in face.inlays if each.inlay.seam is None and not each.region.is_empty]
    seams = [each.inlay.seam for each in face.inlays if each.inlay.seam is not None]
    if not shapes:
        return
    near = STRtree([each.region for each in shapes])
    for at, one in enumerate(shapes):
        for other_at in sorted(near.query(one.region, predicate="dwithin", distance=SNAP_MM)):
            if other_at <= at:
                continue
            other = shapes[int(other_at)]
            shared = many(one.region.intersection(other.region))
            if shared.area > TOUCH_MM2:
                inner, outer = sorted((one, other), key=lambda each: each.region.area)
                told = (inner.inlay, outer.inlay), (outer.inlay, inner.inlay)
                yield Meeting(
                    "overlap",
                    (_key(inner), _key(outer)),
                    NO_LINES,
                    shared,
                    shared.area > 0.999 * inner.region.area,
                    any(second.name in first.second_pass_of for first, second in told),
                )
                continue
            lines = shared_edges(one.region, other.region)
            if not lines.is_empty:
                names = {one.inlay.name, other.inlay.name}
                done = any(names <= set(seam.along) for seam in seams)
                things = (_key(one), _key(other))
                yield Meeting("edge", things, lines, many(shared), within=False, done=done)


def _key(drawn: DrawnInlay) -> str:
    return f"inlay/{drawn.inlay.face}/{drawn.inlay.name}"


def seam_between(
    job_file: Path | str,
    text: str,
    one: str,
    other: str,
    *,
    width: str = "",
    fill: str = "",
    inch: bool = False,
) -> Added:
    """Return a job's text with a seam line along the edge that two inlays share.

    ``width`` is 0.8 mm or as wide as the narrowest bit where left out, ``fill`` a mix that stands
    out from both.  A seam line along shared edges that it would run into takes the two in.
    Raises AddError where they share no edge.
    """
    bench, (first, second) = _two(job_file, text, one, other, inch=inch)
    met = next((each for each in _met(bench.face) if set(each.things) == {one, other}), None)
    if met is None or met.kind != "edge":
        message = f"{first.inlay.name} and {second.inlay.name} share no edge"
        raise AddError(message)
    names = (first.inlay.name, second.inlay.name)
    if met.done:
        message = f"a seam line runs between {names[0]} and {names[1]} already"
        raise AddError(message)
    joined = _joined(bench, met, names)
    if joined is not None:
        return joined
    item: Group = {"name": bench.named(f"{names[0]} to {names[1]}"), "width": width}
    said = f"A seam line between {names[0]} and {names[1]}."
    return _lined(bench, (first, second), item, said, fill=fill, shared=True)


def seam_around(
    job_file: Path | str, text: str, thing: str, *, width: str = "", inch: bool = False
) -> Added:
    """Return a job's text with a seam line along all edges of an inlay.

    ``width`` as for ``seam_between``; it is filled with a mix that stands out from the inlay and
    from the wood.  Raises AddError where there is no such inlay or it is a line itself.
    """
    bench, drawn = _one(job_file, text, thing, inch=inch)
    if drawn.inlay.seam is not None or drawn.region.is_empty:
        message = f"{drawn.inlay.name} has no edges that a line could follow"
        raise AddError(message)
    item: Group = {"name": bench.named(f"{drawn.inlay.name} edges"), "width": width}
    said = f"A seam line along the edges of {drawn.inlay.name}."
    return _lined(bench, (drawn,), item, said)


def _lined(
    bench: Bench,
    along: Sequence[DrawnInlay],
    item: Group,
    said: str,
    *,
    fill: str = "",
    shared: bool = False,
) -> Added:
    """Return a text with a seam line of a name and a width along the edges of inlays."""
    jars = Jars(bench.job)
    mix = fill or jars.off(*(each.inlay.mix.name for each in along), fine=True)
    deep = min(SEAM_DEPTH_MM, min(each.inlay.depth_mm for each in along) - LEFT_MM)
    line: Group = {
        "along": [each.inlay.name for each in along],
        "width": item["width"] or bench.long(max(SEAM_MM, bench.finest_mm())),
        **({"edges": "shared"} if shared else {}),
    }
    put: Group = {
        "name": item["name"],
        "seam line": line,
        "depth": bench.long(max(deep, LEAST_MM)),
        "fill": mix,
    }
    text = bench.text
    try:
        for steps, group in jars.fresh:
            text = with_named(text, steps, group)
        text = with_item(text, (bench.face.name, "inlays"), put)
    except EditError as error:
        message = f"it cannot be written into the text: {error}"
        raise AddError(message) from error
    return Added(_readable(bench.path, text), (f"inlay/{bench.face.name}/{put['name']}",), said)


def _joined(bench: Bench, met: Meeting, names: tuple[str, str]) -> Added | None:
    """Return a text in which a seam line beside the edge runs along it too; None without one."""
    for drawn in bench.face.inlays:
        seam = drawn.inlay.seam
        if seam is None or not seam.shared_only:
            continue
        if drawn.strokes.distance(met.lines) > seam.width_mm:
            continue
        along = list(dict.fromkeys((*seam.along, *names)))
        try:
            steps = (*steps_of(bench.text, _key(drawn)), "seam line", "along")
            text = with_told(bench.text, steps, along)
        except EditError as error:
            message = f"it cannot be written into the text: {error}"
            raise AddError(message) from error
        said = f"The seam line {drawn.inlay.name}, which it would run into, goes along it too."
        return Added(_readable(bench.path, text), (_key(drawn),), said)
    return None


def cut_into(
    job_file: Path | str, text: str, thing: str, into: str, *, inch: bool = False
) -> Added:
    """Return a job's text with one inlay cut into another as a second pass.

    It is made so much less deep that 0.5 mm of the other's colour stays below it, where that
    leaves it deep enough.  Raises AddError where they do not overlap.
    """
    _, (upper, lower) = _two(job_file, text, thing, into, inch=inch)
    names = (upper.inlay.name, lower.inlay.name)
    if upper.region.intersection(lower.region).area <= TOUCH_MM2:
        message = f"{names[0]} does not lie in {names[1]}: there is nothing to cut it into"
        raise AddError(message)
    if lower.inlay.name in upper.inlay.second_pass_of:
        message = f"{names[0]} is cut into {names[1]} already"
        raise AddError(message)
    said = f"{names[0]} is cut into {names[1]} as a second pass."
    try:
        steps = steps_of(text, thing)
        passes = list(dict.fromkeys((*upper.inlay.second_pass_of, lower.inlay.name)))
        text = with_told(text, (*steps, "second pass of"), passes)
        most_mm = lower.inlay.depth_mm - LEFT_MM
        alike = upper.inlay.measured_from == lower.inlay.measured_from
        if alike and upper.inlay.depth_mm > most_mm >= LEAST_MM:
            deep = written(most_mm, inch=inch)
            text = with_told(text, (*steps, "depth"), deep)
            said += f" It is {deep} deep now, so that some of {names[1]} stays below it."
    except EditError as error:
        message = f"it cannot be written into the text: {error}"
        raise AddError(message) from error
    return Added(_readable(job_file, text), (thing,), said)


def _two(
    job_file: Path | str, text: str, one: str, other: str, *, inch: bool
) -> tuple[Bench, tuple[DrawnInlay, DrawnInlay]]:
    """Return two inlays of one face as they are drawn; raises AddError where there are none."""
    bench, first = _one(job_file, text, one, inch=inch)
    second = next((each for each in bench.face.inlays if _key(each) == other), first)
    if second is first:
        message = f"there is no {other.rpartition('/')[2]} beside it on the {bench.face.name}"
        raise AddError(message)
    return bench, (first, second)


def _one(job_file: Path | str, text: str, thing: str, *, inch: bool) -> tuple[Bench, DrawnInlay]:
    """Return an inlay as it is drawn; raises AddError where there is none."""
    face: FaceName = "back" if thing.startswith("inlay/back/") else "front"
    bench = bench_of(job_file, text, face, inch=inch)
    found = next((each for each in bench.face.inlays if _key(each) == thing), None)
    if found is None:
        message = f"there is no {thing.rpartition('/')[2]} on the {face}"
        raise AddError(message)
    return bench, found


def _readable(job_file: Path | str, text: str) -> str:
    try:
        preread(job_file, text)
    except JobRefusedError as refused:
        first = refused.findings[0]
        message = f"{first.message}; {first.remedy}"
        raise AddError(message) from refused
    return text
