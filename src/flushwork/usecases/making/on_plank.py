"""Pieces on one plank, made step by step: how many, their names, where nothing may lie."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flushwork.core.findings import JobRefusedError
from flushwork.job.keys.cut_list import NAME_MARK
from flushwork.job.text.change import in_place, plain
from flushwork.job.text.edit import EditError, remove_key, tree_of
from flushwork.job.text.insert import Group, Value, with_item, with_told, without_item
from flushwork.usecases.jobs import preread
from flushwork.usecases.making.add import FONT, LETTERS_MM, add_words
from flushwork.usecases.making.begun import bench_of, written
from flushwork.usecases.making.fills import AddError
from flushwork.usecases.making.place import shifted, steps_of

if TYPE_CHECKING:
    from shapely import MultiPolygon

PLANK: Final = "from one plank"
OF_BLANK: Final = ("length", "width", "grain")
OF_PLANK: Final = ("pieces", "gap", "margin", "turned")
USUAL_MARGIN: Final = "6 mm"
NAME_SHARES: Final = (0.45, 0.3, 0.2)
"""Heights of a name that are tried, as shares of the piece's narrower side (assumed)."""
NAME_WIDE: Final = 0.84
"""A name is at most so much of its piece's length, so that 8 % stay free at each end (assumed)."""
LEAST_NAME_MM: Final = 6.0
"""The least height of letters a long name is set in at first: lower case of a bold sans is then
about 3 mm high, and read at arm's length (assumed)."""


@dataclass(frozen=True, slots=True)
class PlankPiece:
    """A piece where it lies on the plank: its number, its name and its outline, in mm."""

    number: int
    name: str
    outline: MultiPolygon


@dataclass(frozen=True, slots=True)
class PlankLaid:
    """A plank with its pieces, in mm of its front face; x runs along its length.

    ``keys`` are what the text says of it and of a plain trim line, as written.  ``defects`` are in
    the order of the text; ``inlays`` have the colour of what fills them; ``texts`` are things that
    words are on, each with its words.  ``used_mm`` of the length are taken, ``share`` of that ends
    in pieces.
    """

    size_mm: tuple[float, float]
    grain_along_x: bool
    wood: str
    pieces: tuple[PlankPiece, ...]
    defects: tuple[MultiPolygon, ...]
    inlays: tuple[tuple[str, MultiPolygon], ...]
    names: tuple[str, ...]
    texts: tuple[tuple[str, str], ...]
    gap_mm: float
    margin_mm: float
    used_mm: float
    share: float
    keys: Mapping[str, str]


def plank_of(job_file: Path | str, text: str) -> PlankLaid:
    """Return a job's plank with its pieces laid on it; one piece alone lies where it is trimmed.

    Raises JobRefusedError where the text cannot be read, or the pieces find no room.
    """
    from shapely import get_parts  # noqa: PLC0415

    from flushwork.art.draw import draw_artwork  # noqa: PLC0415
    from flushwork.art.planks import defects_of, names_of  # noqa: PLC0415
    from flushwork.art.regions import many  # noqa: PLC0415

    job, faces = preread(job_file, text)
    front, plank, tree = faces[0], job.plank, plain(tree_of(text))
    told, folder = _group(tree.get(PLANK)), Path(job.folder)
    laid = front.laid
    called = [each.name for each in laid.pieces] if laid else [""]
    keys = {key: str(told[key]) for key in OF_PLANK if isinstance(told.get(key), str)}
    blank = _group(tree.get("blank"))
    trim = _group(tree.get("trim line"))
    keys |= {key: str(blank[key]) for key in OF_BLANK if isinstance(blank.get(key), str)}
    keys |= {key: str(trim[key]) for key in ("circle", "rectangle") if key in trim}
    draw = partial(draw_artwork, folder=folder)
    return PlankLaid(
        size_mm=(job.blank.length_mm, job.blank.width_mm),
        grain_along_x=job.blank.grain_along_x,
        wood=job.blank.wood.colour,
        pieces=tuple(
            PlankPiece(number, name, many(outline))
            for number, (name, outline) in enumerate(
                zip(called, get_parts(front.trim), strict=False), start=1
            )
        ),
        defects=tuple(defects_of(job, plank, draw)) if plank else (),
        inlays=tuple((each.inlay.mix.colour, each.region) for each in front.inlays),
        names=names_of(plank, folder)[0] if plank else (),
        texts=tuple(_texts(tree)),
        gap_mm=plank.gap_mm if plank else 0.0,
        margin_mm=plank.margin_mm if plank else 0.0,
        used_mm=laid.used_mm if laid else job.blank.length_mm,
        share=laid.share if laid else front.trim.area / front.blank.area,
        keys=keys,
    )


def on_plank(
    job_file: Path | str,
    text: str,
    keys: Mapping[str, Value],
    *,
    names: Sequence[str] | None = None,
    thing: str = "",
    inch: bool = False,
) -> str:
    """Return a job's text whose pieces are cut from one plank.

    ``keys`` are those of ``from one plank`` (``pieces``, ``gap``, ``margin``, ``turned``), of the
    blank (``length``, ``width``, ``grain``) and ``trim line``, as they are typed; an empty one is
    taken out, so that its default holds.  ``names`` are one for each piece and fill the words of
    ``thing``, else those that hold `<name>`, else new words; without any none has a name.
    Raises AddError where that cannot be, and says what the plank has room for.
    """
    try:
        after = text
        for key in ("length", "width", "grain"):
            if keys.get(key):
                after = with_told(after, ("blank", key), keys[key])
        after = _trimmed(after, keys.get("trim line", ""))
        told = {key: keys[key] for key in OF_PLANK if key in keys}
        if PLANK not in plain(tree_of(after)):
            first = next((key for key, value in told.items() if value and not names), "margin")
            after = with_told(after, (PLANK, first), told.get(first) or USUAL_MARGIN)
        if names is not None:
            after = _named(after, _plain_names(names))
        if names:
            told.pop("pieces", None)
        for key, value in told.items():
            after = with_told(after, (PLANK, key), value) if value else _without(after, key)
        if names and (thing or not any(NAME_MARK in words for _, words in _texts(_tree(after)))):
            after = _filled_with_names(job_file, after, thing, inch=inch)
    except EditError as error:
        message = f"it cannot be written into the text: {error}"
        raise AddError(message) from error
    return _proved(job_file, after)


def with_defect(job_file: Path | str, text: str, defect: Group, *, fewer: bool = False) -> str:
    """Return a job's text with a defect of its plank, on which nothing is laid.

    ``defect`` is artwork with its place, as ``{"circle": "20 mm", "at": ["40 mm", "30 mm"], "from":
    "lower left"}``.  With ``fewer`` so many pieces are asked for as then find room, where they have
    no names.  Raises AddError where the pieces find none.
    """
    after = _edited(lambda: with_item(text, (PLANK, "defects"), defect))
    try:
        return _proved(job_file, after)
    except AddError:
        if not fewer or "pieces" not in _group(_tree(after).get(PLANK)):
            raise
        free = _edited(lambda: _without(after, "pieces"))
        count = len(plank_of(job_file, _proved(job_file, free)).pieces)
        return _proved(job_file, _edited(lambda: with_told(after, (PLANK, "pieces"), str(count))))


def without_defect(job_file: Path | str, text: str, number: int) -> str:
    """Return a job's text without a defect, counted from 1; raises AddError."""

    def taken_out() -> str:
        if len(_defects(text)) == 1 and number == 1:
            return _without(text, "defects")
        return without_item(text, (PLANK, "defects", number - 1))

    return _proved(job_file, _edited(taken_out))


def moved_defect(
    job_file: Path | str,
    text: str,
    number: int,
    by_mm: tuple[float, float],
    *,
    inch: bool = False,
) -> str:
    """Return a job's text with a defect moved along and across its plank; raises AddError."""

    def there() -> str:
        items = _defects(text)
        if not 1 <= number <= len(items):
            raise EditError(f"there is no defect {number}")
        was = items[number - 1].get("at", ["0", "0"])
        if not isinstance(was, list) or len(was) != 2:
            raise EditError("its place is written in a way that only the text itself can change")
        at = [shifted(each, by, inch=inch) for each, by in zip(was, by_mm, strict=True)]
        return in_place(text, [((PLANK, "defects", str(number), "at"), f"[{', '.join(at)}]")])

    return _proved(job_file, _edited(there))


def _trimmed(text: str, outline: Value) -> str:
    """Return a text with another trim line; of one of the same kind all other keys stay."""
    told = _group(_tree(text).get("trim line"))
    if not isinstance(outline, Mapping) or not set(outline) <= set(told):
        return with_told(text, ("trim line",), outline) if outline else text
    for key, value in outline.items():
        text = with_told(text, ("trim line", key), value)
    return text


def _edited(change: Callable[[], str]) -> str:
    try:
        return change()
    except EditError as error:
        message = f"it cannot be written into the text: {error}"
        raise AddError(message) from error


def _proved(job_file: Path | str, text: str) -> str:
    """Return a text whose pieces find room.  Raises AddError that says what is wrong."""
    try:
        preread(job_file, text)
    except JobRefusedError as refused:
        first = refused.findings[0]
        message = f"{first.message}; {first.remedy}"
        raise AddError(message) from refused
    return text


def _tree(text: str) -> dict[str, Any]:
    return _group(plain(tree_of(text)))


def _group(told: Any) -> dict[str, Any]:
    return told if isinstance(told, dict) else {}


def _defects(text: str) -> list[dict[str, Any]]:
    items = _group(_tree(text).get(PLANK)).get("defects")
    return [_group(each) for each in items] if isinstance(items, list) else []


def _texts(tree: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return every thing that words are on, each with its words."""
    found: list[tuple[str, str]] = []
    for face in ("front", "back"):
        items = _group(tree.get(face)).get("inlays")
        for number, item in enumerate(items if isinstance(items, list) else (), start=1):
            told = _group(item)
            if isinstance(told.get("text"), str):
                name = told.get("name") or f"{face} inlay {number}"
                found.append((f"inlay/{face}/{name}", told["text"]))
    return found


def _without(text: str, key: str) -> str:
    """Return a text without a key of the plank; the last one leaves its usual margin there."""
    told = _group(_tree(text).get(PLANK))
    if key not in told:
        return text
    if len(told) == 1:
        if key == "margin":
            return with_told(text, (PLANK, "margin"), USUAL_MARGIN)
        text = with_told(text, (PLANK, "margin"), USUAL_MARGIN)
    return remove_key(text, (PLANK, key))


def _plain_names(names: Sequence[str]) -> list[str]:
    return [plain_name for each in names if (plain_name := " ".join(each.split()))]


def _named(text: str, names: Sequence[str]) -> str:
    """Return a text whose pieces have names, one each; without any, none has one."""
    if not names:
        for key in ("names", "names file", "column"):
            text = _without(text, key)
        return text
    text = with_told(text, (PLANK, "names"), names)
    for key in ("column", "names file", "pieces"):
        text = _without(text, key)
    return text


def _filled_with_names(job_file: Path | str, text: str, thing: str, *, inch: bool) -> str:
    """Return a text in which the names fill a thing's words, or new words where it is empty."""
    front = bench_of(job_file, text, "front", inch=inch)
    x0, _, x1, _ = front.face.visible.bounds
    wide = front.about(NAME_WIDE * (x1 - x0))
    least = written(LEAST_NAME_MM, inch=inch)
    if thing:
        steps = steps_of(text, thing)
        item = plain(tree_of(text))[steps[0]][steps[1]][int(steps[2]) - 1]
        told = {"text": NAME_MARK, "most width": wide, "least size": least}
        return in_place(
            text,
            [
                ((*steps, key), value)
                for key, value in told.items()
                if key == "text" or key not in item
            ],
        )
    for share in NAME_SHARES:
        size = front.about(max(share * front.narrow_mm, LETTERS_MM))
        more = {"most width": wide, "least size": least}
        added = add_words(job_file, text, NAME_MARK, size=size, font=FONT, inch=inch, more=more)
        if not added.said.startswith("There is no"):
            break
    return added.text
