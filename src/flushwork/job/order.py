"""What inlays say of one another: every name known, every name once, no circles."""

from __future__ import annotations

from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter

from flushwork.core.keys.quantities import near
from flushwork.core.keys.settle import Reading
from flushwork.core.keys.tree import Path_
from flushwork.job.keys.holes import Holes
from flushwork.job.keys.inlays import Face, Inlay
from flushwork.job.keys.pockets import Pocket


def _named(inlay: Inlay | Pocket, path: Path_) -> Iterator[tuple[str, Path_]]:
    """Yield the inlays that one rests on, each with the place that says so."""
    if isinstance(inlay, Pocket):
        for index, name in enumerate(inlay.into):
            yield name, (*path, "cut into", index)
        return
    if inlay.seam is not None:
        for index, name in enumerate(inlay.seam.along):
            yield name, (*path, "seam line", "along", index)
    for index, name in enumerate(inlay.second_pass_of):
        yield name, (*path, "second pass of", index)
    for index, name in enumerate(inlay.after):
        yield name, (*path, "after", index)


def rests_on(inlay: Inlay) -> tuple[str, ...]:
    """Return the names of the inlays that must be in the face before this one."""
    return tuple(dict.fromkeys(name for name, _ in _named(inlay, ())))


def check_names(faces: tuple[Face, ...], reading: Reading) -> None:
    """Note every name that stands twice: inlays, pockets and hole patterns share one list."""
    seen: dict[str, str] = {}
    for face in faces:
        groups: tuple[tuple[str, tuple[Inlay | Holes | Pocket, ...]], ...] = (
            ("inlays", face.inlays),
            ("holes", face.holes),
            ("pockets", face.pockets),
        )
        for kind, items in groups:
            for index, item in enumerate(items):
                path: Path_ = (face.name, kind, index, "name")
                source = reading.source(path)
                if item.name in seen:
                    reading.slip(
                        "name-twice",
                        f"'{item.name}' is the name of two things, first in {seen[item.name]}",
                        "give each inlay, pocket and hole pattern a name of its own, on both faces",
                        path,
                    )
                seen.setdefault(item.name, f"line {source.line}")


def check_order(faces: tuple[Face, ...], reading: Reading) -> None:
    """Note every inlay that rests on one that is not on its face, or in the end on itself."""
    for face in faces:
        known = tuple(inlay.name for inlay in face.inlays)
        elsewhere = {inlay.name for other in faces if other is not face for inlay in other.inlays}
        rows: list[tuple[Inlay | Pocket, Path_]] = [
            *((each, (face.name, "inlays", at)) for at, each in enumerate(face.inlays)),
            *((each, (face.name, "pockets", at)) for at, each in enumerate(face.pockets)),
        ]
        for inlay, own in rows:
            for name, path in _named(inlay, own):
                if name in known:
                    continue
                others = tuple(each for each in known if each != inlay.name)
                listed = ", ".join(others) or "no other inlay"
                remedy = (
                    "it is on the other face; name one on this face"
                    if name in elsewhere
                    else f"{near(name, others)}on this face: {listed}"
                )
                reading.slip(
                    "name-unknown", f"there is no inlay called '{name}' here", remedy, path
                )
        if len(set(known)) < len(known):
            continue
        for circle in _circles(face):
            reading.slip(
                "order-goes-round",
                f"the order goes round: {' after '.join((*circle, circle[0]))}",
                "take one of these out of `along`, `second pass of` or `after`",
                (face.name, "inlays", known.index(circle[0])),
            )


def _circles(face: Face) -> Iterator[tuple[str, ...]]:
    """Yield each circle of inlays once, from its first inlay in the file."""
    rests = {inlay.name: set(rests_on(inlay)) for inlay in face.inlays}
    while True:
        try:
            TopologicalSorter(rests).prepare()
        except CycleError as error:
            circle = list(reversed(error.args[1][1:]))
            first = min(range(len(circle)), key=lambda at: list(rests).index(circle[at]))
            yield tuple(circle[first:] + circle[:first])
            rests[circle[first]] = set()
        else:
            return
