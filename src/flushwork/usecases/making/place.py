"""Where artwork lies, changed in a job's text: moved, turned, mirrored, sized, repeated.

Parts of one drawing that lie as one, its colours or its layers, go together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flushwork.core.units import Quantity, UnitError, number_text, read_quantity
from flushwork.job.text.change import Change, in_place, plain
from flushwork.job.text.edit import EditError, tree_of
from flushwork.job.text.insert import without_item
from flushwork.usecases.making.add import MARGIN_MM
from flushwork.usecases.making.begun import begun, written

if TYPE_CHECKING:
    from shapely import MultiPolygon

WHERE: Final = (
    "at", "from", "as drawn", "turn", "mirror", "scale", "repeat", "width", "crop",
    "corners", "sheet",
)  # fmt: skip
"""The keys in which parts of one drawing are alike that lie as one."""
FILES: Final = ("svg", "dxf", "picture")
LISTS: Final = {"inlay": "inlays", "holes": "holes"}
UNPLACED: Final = "seam line"

Steps = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Lies:
    """A thing where it lies: what goes with it, what it is filled with, how near the edge is.

    ``mates`` are things (``inlay/front/leaf``), it the first; ``margin`` is where, in mm of its
    face, what is sunk keeps clear of the edge; ``grain`` as the job file has it.  ``seen`` is what
    no hidden border covers, ``stands`` where dowels, clamps and stops are.
    """

    mates: tuple[str, ...]
    fill: str
    mixes: tuple[str, ...]
    grain: str
    margin: MultiPolygon
    seen: MultiPolygon
    stands: MultiPolygon


def lies(job_file: Path | str, text: str, thing: str) -> Lies:
    """Return a thing where it lies; raises EditError where the text has none such."""
    from flushwork.art.regions import many  # noqa: PLC0415
    from flushwork.process.orders.waste_cuts import stands_on  # noqa: PLC0415

    job, faces = begun(job_file, text)
    own = steps_of(text, thing)
    tree = plain(tree_of(text))
    items = tree[own[0]][own[1]]
    kind = thing.partition("/")[0]
    mates = tuple(
        f"{kind}/{own[0]}/{items[int(at) - 1].get('name') or f'{own[0]} {kind} {at}'}"
        for _, _, at in mates_of(text, thing)
    )
    face = next(each for each in faces if each.name == own[0])
    return Lies(
        mates,
        str(items[int(own[2]) - 1].get("fill", "")),
        tuple(mix.name for mix in job.mixes),
        "along the length" if job.blank.grain_along_x else "along the width",
        many(face.visible.buffer(-MARGIN_MM)),
        face.visible,
        stands_on(job, faces, face.name),
    )


def steps_of(text: str, thing: str) -> Steps:
    """Return the steps that lead to a thing of a face, ``inlay/front/leaf``, its number the last.

    Raises EditError where the text has no such thing.
    """
    kind, _, rest = thing.partition("/")
    face, _, name = rest.partition("/")
    if kind not in LISTS or not name:
        raise EditError("only inlays and holes are placed")
    items = plain(tree_of(text)).get(face)
    items = items.get(LISTS[kind]) if isinstance(items, dict) else None
    for number, item in enumerate(items if isinstance(items, list) else (), start=1):
        named = item.get("name") if isinstance(item, dict) else None
        if name == (named or f"{face} {kind} {number}"):
            return (face, LISTS[kind], str(number))
    raise EditError(f"the text has no {name} on the {face}")


def mates_of(text: str, thing: str) -> tuple[Steps, ...]:
    """Return the steps to a thing and to all that lies as one drawing with it, it the first."""
    own = steps_of(text, thing)
    tree = plain(tree_of(text))
    items = tree[own[0]][own[1]]
    mine = items[int(own[2]) - 1]
    file = next((key for key in FILES if key in mine), "")
    if not file:
        return (own,)
    lies = _lies(mine, file)
    alike = (
        (own[0], own[1], str(number))
        for number, item in enumerate(items, start=1)
        if isinstance(item, dict) and file in item and _lies(item, file) == lies
    )
    return (own, *(each for each in alike if each != own))


def _lies(item: Mapping[str, Any], file: str) -> tuple[Any, ...]:
    return (item[file], *(item.get(key) for key in WHERE))


def _pieces(text: str, thing: str) -> list[tuple[Steps, Mapping[str, Any]]]:
    """Return every piece of artwork that goes with a thing, with the steps that lead to it."""
    tree = plain(tree_of(text))
    found: list[tuple[Steps, Mapping[str, Any]]] = []
    for steps in mates_of(text, thing):
        item = tree[steps[0]][steps[1]][int(steps[2]) - 1]
        if UNPLACED in item:
            raise EditError("a seam line lies where its inlays lie: move those")
        art = item.get("art")
        if isinstance(art, list):
            found += [((*steps, "art", str(at)), each) for at, each in enumerate(art, start=1)]
        else:
            found.append((steps, item))
    return found


def moved(text: str, thing: str, by_mm: tuple[float, float], *, inch: bool = False) -> str:
    """Return a job's text with a thing moved right and up, in the frame of its face.

    What lies as one drawing with it goes along.  Raises EditError where it has no place of its own
    or the text cannot be changed so.
    """
    changes: list[Change] = []
    for steps, item in _pieces(text, thing):
        was = item.get("at", ["0", "0"])
        if not isinstance(was, list) or len(was) != 2:
            raise EditError("its place is written in a way that only the text itself can change")
        told = [shifted(each, by, inch=inch) for each, by in zip(was, by_mm, strict=True)]
        nowhere = all(not float(each.split()[0]) for each in told)
        if nowhere and "at" not in item:
            continue
        changes.append(((*steps, "at"), None if nowhere else f"[{', '.join(told)}]"))
    return in_place(text, changes)


def shifted(was: str, by_mm: float, *, inch: bool) -> str:
    """Return a length as it is written, so much further; raises EditError where it is none."""
    if was == "0":
        return written(by_mm, inch=inch)
    own_inch = any(sign in was for sign in ("in", "ft", '"', "'"))
    return written(_length(was) + by_mm, inch=own_inch)


def _length(told: str) -> float:
    try:
        return read_quantity(told, Quantity.LENGTH)
    except UnitError as error:
        raise EditError(f"its place is not readable: {error}") from error


def centred(
    job_file: Path | str, text: str, thing: str, how: str = "both", *, inch: bool = False
) -> str:
    """Return a job's text with a thing in the middle of the board, its drawing with it.

    ``how`` is ``both``, ``along`` its length or ``across`` it.  Raises as ``moved``.
    """
    from shapely import unary_union  # noqa: PLC0415

    _, faces = begun(job_file, text)
    kind, face = thing.split("/")[:2]
    drawn = next(each for each in faces if each.name == face)
    names = {each.split("/", 2)[2] for each in lies(job_file, text, thing).mates}
    if kind == "inlay":
        there = [each for each in drawn.inlays if each.inlay.name in names]
        x0, y0, x1, y1 = unary_union([s for e in there for s in (e.region, e.strokes)]).bounds
    else:
        holes = [at for each in drawn.holes if each.holes.name in names for at in each.places]
        xs, ys = [each.x_mm for each in holes], [each.y_mm for each in holes]
        x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
    a, b, c, d = drawn.trim.bounds
    right = 0.0 if how == "across" else (a + c - x0 - x1) / 2.0
    up = 0.0 if how == "along" else (b + d - y0 - y1) / 2.0
    return moved(text, thing, (round(right, 3), round(up, 3)), inch=inch)


def turned(text: str, thing: str, by_deg: float) -> str:
    """Return a job's text with a thing turned left about by an angle; raises as ``moved``."""
    changes: list[Change] = []
    for steps, item in _pieces(text, thing):
        try:
            was = read_quantity(item.get("turn", "0 deg"), Quantity.ANGLE)
        except UnitError as error:
            raise EditError(f"its turn is not readable: {error}") from error
        now = number_text((math.degrees(was) + by_deg) % 360.0, 3)
        if now != "0" or "turn" in item:
            changes.append(((*steps, "turn"), None if now in ("0", "360") else f"{now} deg"))
    return in_place(text, changes)


def mirrored(text: str, thing: str, how: str) -> str:
    """Return a job's text with a thing mirrored, or no longer where it was; raises as ``moved``.

    ``how`` is ``left-right`` or ``top-bottom``.
    """
    pieces = _pieces(text, thing)
    told = {str(item.get("mirror", "")) for _, item in pieces}
    if told - {"", how}:
        # both ways is half a turn
        plain_again = in_place(text, [((*steps, "mirror"), None) for steps, _ in pieces])
        return turned(plain_again, thing, 180.0)
    now = None if told == {how} else how
    return in_place(text, [((*steps, "mirror"), now) for steps, _ in pieces])


def sized(text: str, thing: str, times: float) -> str:
    """Return a job's text with a thing larger or smaller; raises EditError as ``moved`` does.

    Of a drawing its ``width`` is changed, of words their ``size``, of anything else ``scale``.
    """
    if not 1e-3 <= times <= 1e3:
        raise EditError("that is no size to cut")
    changes: list[Change] = []
    for steps, item in _pieces(text, thing):
        drawing = any(key in item for key in FILES)
        key = "width" if drawing else "size" if "text" in item else "scale"
        if key in item and key != "scale":
            was = item[key]
            inch = any(sign in was for sign in ("in", "ft", '"', "'"))
            changes.append(((*steps, key), written(_length(was) * times, inch=inch)))
            continue
        try:
            scale = float(item.get("scale", "1")) * times
        except ValueError as error:
            raise EditError("its scale is not readable") from error
        told = number_text(scale, 4)
        changes.append(((*steps, "scale"), None if told == "1" and "scale" in item else told))
    return in_place(text, [each for each in changes if each[1] != "1"])


def repeated(text: str, thing: str, how: Mapping[str, str]) -> str:
    """Return a job's text with a thing repeated; raises EditError as ``moved`` does.

    ``how`` are keys of ``repeat``: ``columns``, ``rows``, ``pitch``, ``around``; none of them takes
    the copies away.
    """
    changes: list[Change] = []
    for steps, item in _pieces(text, thing):
        was = item.get("repeat", {})
        if not how:
            changes += [((*steps, "repeat"), None)] if was else []
            continue
        changes += [((*steps, "repeat", key), value) for key, value in how.items()]
        changes += [((*steps, "repeat", key), None) for key in was if key not in how]
    return in_place(text, changes)


def set_together(text: str, path: Sequence[str | int], value: str | None) -> str | None:
    """Return a job's text with a key set in all parts of one drawing that lie as one.

    ``path`` leads to the key in one of them; a value of None takes it out.  None is returned where
    the key is none of these or nothing goes with it.  Raises EditError where the text cannot be
    changed so.
    """
    face, kind, at, key, *rest = [*path, *(None,) * 4][:5]
    if kind != "inlays" or not isinstance(at, int) or key not in WHERE or len(path) > 5:
        return None
    items = plain(tree_of(text))[face]["inlays"]
    mates = mates_of(text, f"inlay/{face}/{items[at].get('name') or f'{face} inlay {at + 1}'}")
    if len(mates) < 2:
        return None
    changes: list[Change] = []
    for steps in mates:
        told = value
        if rest and rest[0] is not None:
            pair = list(items[int(steps[2]) - 1].get("at", ["0 mm", "0 mm"]))
            pair[int(rest[0])] = value or "0 mm"
            nowhere = value is None and not any(map(_length, pair))
            told = None if nowhere else f"[{', '.join(pair)}]"
        changes.append(((*steps, str(key)), told))
    return in_place(text, changes)


def taken_off(text: str, thing: str) -> str:
    """Return a job's text without a thing; raises EditError where it cannot be taken out."""
    face, kind, number = steps_of(text, thing)
    return without_item(text, (face, kind, int(number) - 1))


def filled(text: str, thing: str, mix: str) -> str:
    """Return a job's text with an inlay filled with a mix; raises EditError as ``moved`` does."""
    return in_place(text, [((*steps_of(text, thing), "fill"), mix)])
