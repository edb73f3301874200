"""Read a job file and the shop file it names: text to frozen records, or every slip at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from copy import deepcopy
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from flushwork.core.findings import Finding, JobRefusedError
from flushwork.core.keys.declare import Anew, Keyed, Model, Names, declared, inner_of, model_of
from flushwork.core.keys.section import findings_of
from flushwork.core.keys.settle import At, PerThing, Reading, settled
from flushwork.core.keys.tree import Path_, Scalar, Tree
from flushwork.core.units.shown import METRIC, Units
from flushwork.job.keys.box.pieces import BoxPiece
from flushwork.job.keys.job import Job
from flushwork.job.keys.lists import OF_THE_FIRST
from flushwork.job.keys.shop import ShopKeys
from flushwork.job.odd_values import odd_in_job
from flushwork.job.shop import shop_of
from flushwork.job.text.located import read_text, read_tree, tree_and_slips
from flushwork.runtime.memo import memoized
from flushwork.shelf.items import Shop
from flushwork.shelf.tables import starter_shop

# ---- Going on after a slip: what is wrong is stood in for, so that the rest is read as well


MOST_ROUNDS: Final = 40
"""So many times the rest is looked at again; a file with more slips is told of those so far."""


@dataclass(frozen=True, slots=True)
class StoodIn:
    """A document with stand-ins, and every word that was taken out or put in.

    ``keys`` is None where too little of the document is right.
    """

    keys: Any
    words: frozenset[str]


def stood_in(model: type[Model], root: dict[str, Any], error: ValidationError) -> StoodIn:
    """Return the document that ``root`` would be without the slips of ``error``.

    A key at fault gets the example that its description shows; what has none, or is no better with
    it, is taken out, and with it whatever cannot do without.
    """
    tree, tried, words = deepcopy(root), set[Path_](), set[str]()
    record = model.record
    for _ in range(MOST_ROUNDS):
        for each in error.errors(include_url=False):
            path = each["loc"]
            place = path if path not in tried else path[:-1]
            if not place:
                return StoodIn(None, frozenset(words))
            words |= set(_words(_at(tree, place)))
            unwanted = place in tried or each["type"] in ("key-unknown", "keys-clash")
            shown = None if unwanted else _read(_example(record, place))
            words |= set(_words(shown))
            _put(tree, place, shown)
            tried.add(place)
        try:
            return StoodIn(model.model_validate(tree), frozenset(words))
        except ValidationError as again:
            error = again
    return StoodIn(None, frozenset(words))


def _at(tree: Any, path: Path_) -> Any:
    for step in path:
        if isinstance(tree, dict):
            tree = tree.get(str(step))
        elif isinstance(tree, list) and isinstance(step, int) and step < len(tree):
            tree = tree[step]
        else:
            return None
    return tree


def _put(tree: Any, path: Path_, value: Any) -> None:
    """Set what is at a path, or take it out where there is no value for it."""
    place, last = _at(tree, path[:-1]), path[-1]
    if isinstance(place, dict):
        if value is None:
            place.pop(str(last), None)
        else:
            place[str(last)] = value
    elif isinstance(place, list) and isinstance(last, int) and last < len(place):
        if value is None:
            del place[last]
        else:
            place[last] = value


def _words(tree: Any) -> Iterator[str]:
    """Yield every word in a part of a tree, keys included."""
    if isinstance(tree, Scalar):
        yield tree.text
    for key, item in tree.items() if isinstance(tree, dict) else ():
        yield str(key)
        yield from _words(item)
    for item in tree if isinstance(tree, list) else ():
        yield from _words(item)


def _example(record: type[Keyed], path: Path_) -> str:
    """Return the example that the declaration of a key shows; empty where it shows none."""
    group: type[Keyed] | None = record
    shown, named = "", False
    for step in path:
        if named or isinstance(step, int):
            shown, named = "", False
            continue
        key = next((each for each in declared(group) if each.name == step), None) if group else None
        if key is None:
            return ""
        shown = key.key.example
        group = key.kind.record if isinstance(key.kind, Anew) else inner_of(key.kind)
        named = isinstance(key.kind, Anew | Names | PerThing)
    return shown


def _read(shown: str) -> Any:
    """Return an example as it would be read; None where there is none."""
    try:
        return read_tree(f"shown: {shown}", "example").root["shown"] if shown else None
    except JobRefusedError:
        return None


# ---- Read a job file and the shop file it names: text to frozen records, or every slip at once


REFUSED: Final = (JobRefusedError,)
UNFIT: Final = (JobRefusedError, LookupError, ValueError, TypeError, ArithmeticError)
"""What stands in for a slip need not go with the rest; then nothing more is found, that is all."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A job as far as it can be read, and every slip of its files; None where too little is right.

    With slips, what they spoil is stood in for: such a job only serves to find more of them.
    """

    job: Job | None
    slips: tuple[Finding, ...]
    units: Units = METRIC


def read_job(path: Path, text: str | None = None) -> Job:
    """Return the job in a file, or as ``text`` has it in the file's place.

    Files named in the job (SVG, points, fonts) stay names, to be found from ``job.folder``; only
    the shop file is opened here.  Raises ``JobRefusedError`` with a finding for every slip.
    """
    draft = read_draft(path, text)
    if draft.slips or draft.job is None:
        raise JobRefusedError(draft.slips, draft.units)
    return draft.job


def read_draft(path: Path, text: str | None = None) -> Draft:
    """Return the job in a file as far as it can be read, with every slip of it and its shop file.

    Raises ``JobRefusedError`` where the file holds no keys and values at all.
    """
    held = read_text(path, path.name) if text is None else text
    tree, slips = tree_and_slips(held, path.name)
    reading = Reading(tree)
    found = _document(model_of(Job), reading)
    shelf = _shop(path, reading)
    slips = (*slips, *reading.findings)
    first = _draft(path, tree, found, shelf, slips)
    if first.job is None:
        return first
    job, slips = first.job, first.slips
    for name in _part_names(tree):
        part = tree.anew("parts", name, OF_THE_FIRST)
        # what is wrong in its keys was told with the file's: here only what they name is looked for
        keys = _document(model_of(Job), Reading(part))
        words = StoodIn(keys.keys, keys.words | found.words)
        other = _draft(path, part, words, shelf, slips, part=name)
        slips = other.slips
        if other.job is not None:
            slips = (*slips, *_not_in_box(job, other.job))
            job = replace(job, parts=(*job.parts, other.job))
    return Draft(job, slips, first.units)


def _not_in_box(job: Job, part: Job) -> Iterator[Finding]:
    """Yield the slips of a part that is no piece of the job's box, or is not one to each box."""
    if part.of_box is None:
        return
    if part.pieces != job.pieces:
        told = f"{part.part} is a piece of the box, and each of the {job.pieces} has one of it"
        remedy = "leave `pieces` of the part out"
        yield Finding.must_fix("key-out-of-place", told, remedy, source=dict(part.places)["pieces"])
    piece, box = part.of_box.piece, job.box
    has = box is not None
    if box is not None and piece is BoxPiece.BOTTOM:
        has = box.bottom is not None
    if box is not None and piece is BoxPiece.LID:
        has = box.lid_panel is not None
    if has:
        return
    key = {BoxPiece.BOTTOM: "bottom", BoxPiece.LID: "lid panel"}.get(piece, "")
    wanted = f"`{key}` to the box" if box is not None else "a `box`"
    told = f"{part.part} is the {piece} of the box, and the job has no such box"
    remedy = f"add {wanted}, or give the part a `blank` of its own"
    yield Finding.must_fix("name-unknown", told, remedy, source=part.of_box.source)


def _part_names(tree: Tree) -> tuple[str, ...]:
    """Return the names of the parts that can be read."""
    named = tree.root.get("parts")
    if not isinstance(named, dict):
        return ()
    return tuple(name for name, keys in named.items() if isinstance(keys, dict))


def _draft(
    path: Path, tree: Tree, found: StoodIn, shelf: Shelf, slips: tuple[Finding, ...], **own: str
) -> Draft:
    """Return the job that keys make, and what was wrong before with what is wrong in their names.

    ``own`` are further fields of it.
    """
    units = shelf.shop.reads if shelf.shop is not None else METRIC
    if found.keys is None or shelf.shop is None:
        return Draft(None, slips, units)
    names = Reading(tree)
    given = frozenset(".".join(map(str, place)) for place in tree.marks)
    job: Job | None = None
    with suppress(*(UNFIT if slips else REFUSED)):
        at = At(names, shelf.shop)
        made: Job = settled(
            Job,
            found.keys,
            at,
            shop=shelf.shop,
            file=tree.file,
            folder=str(path.parent),
            given=given,
            **own,
        )
        job = replace(made, warnings=odd_in_job(made, names))
    told = (item for item in names.findings if not _follows(item, slips, found.words | shelf.words))
    return Draft(job, (*slips, *told), units)


def _follows(slip: Finding, told: Sequence[Finding], words: frozenset[str]) -> bool:
    """Whether a slip only follows from what has been told: of its place, or of what it asks for."""
    quoted = slip.message.split("'")
    return any(slip.source == other.source for other in told) or any(
        each in words for each in quoted[1::2]
    )


@dataclass(frozen=True, slots=True)
class Shelf:
    """The shop as far as it can be read, its slips, and the words that were stood in for."""

    shop: Shop | None
    slips: tuple[Finding, ...] = ()
    words: frozenset[str] = frozenset()


def read_shop(path: Path) -> Shop:
    """Return the shop in a file; raise ``JobRefusedError`` with a finding for every slip."""
    shelf = shelf_in(read_text(path, path.name, None), path.name)
    if shelf.slips or shelf.shop is None:
        raise JobRefusedError(shelf.slips)
    return shelf.shop


@memoized
def shelf_in(text: str, shown: str) -> Shelf:
    """Return the shop in a text as far as it can be read, with its slips.

    Raises ``JobRefusedError`` where the text holds no keys and values at all.
    """
    tree, slips = tree_and_slips(text, shown)
    reading = Reading(tree)
    found = _document(model_of(ShopKeys), reading)
    slips = (*slips, *reading.findings)
    if found.keys is None:
        return Shelf(None, slips, found.words)
    names = Reading(tree)
    shop: Shop | None = None
    with suppress(*(UNFIT if slips else REFUSED)):
        shop = shop_of(settled(ShopKeys, found.keys, At(names, starter_shop())), names)
    told = (item for item in names.findings if not _follows(item, slips, found.words))
    return Shelf(shop, (*slips, *told), found.words)


def _document(model: type[Model], reading: Reading) -> StoodIn:
    root = reading.tree.root
    try:
        return StoodIn(model.model_validate(root), frozenset())
    except ValidationError as error:
        reading.findings.extend(findings_of(error, reading.tree))
        return stood_in(model, root, error)


def _shop(path: Path, reading: Reading) -> Shelf:
    """Read the shop the job names, even where the job has slips of its own."""
    tree: Tree = reading.tree
    named = tree.root.get("shop")
    if not isinstance(named, Scalar) or named.kind == "nothing":
        return Shelf(starter_shop())
    if not named.text.isprintable():
        return Shelf(None)
    try:
        text = read_text(path.parent / named.text, named.text, tree.source(("shop",)))
        shelf = shelf_in(text, named.text)
    except JobRefusedError as error:
        shelf = Shelf(None, error.findings)
    reading.findings.extend(shelf.slips)
    return shelf
