"""The shop's own file as a form: every key of it with what it is for, and changes of single keys.

The form follows from the declarations of the keys alone.  A change is an edit of the file's text,
comments and layout kept, and one that cannot be read is never made.

Long because forms of groups, of things and of amounts rest on one another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from flushwork.core.findings import Finding, FlushworkError, JobRefusedError
from flushwork.core.keys.declare import (
    Changes,
    Declared,
    Group,
    Items,
    Keyed,
    declared,
    inner_of,
)
from flushwork.core.keys.quantities import Count, Held, Kind
from flushwork.core.keys.settle import PerThing
from flushwork.core.keys.words import Clock, Either, OneOf, Proportion, YesNo
from flushwork.core.units import Ratio
from flushwork.core.units.shown import Units, shown
from flushwork.job.keys.shop import DAYS, ShopKeys
from flushwork.job.read import shelf_in
from flushwork.job.text.change import in_place, plain, told_at
from flushwork.job.text.edit import EditError, items_of, path_of, tree_of
from flushwork.job.text.list_items import (
    bare,
    item_names,
    named_group,
    with_item,
    with_keys_of_its_own,
    with_list,
    with_whole_list,
    without_item,
)
from flushwork.shelf.hazards import Hazards
from flushwork.shelf.items import MeasuringTool, Shop, ToolKind
from flushwork.shelf.tables import starter_shop

NAMELESS: Final = "shop.yaml"
VERSION: Final = "flushwork shop"
WOODS: Final = "woods"


class ShopValueError(FlushworkError):
    """A value cannot stand at a key of the shop file; the message says why."""


@dataclass(frozen=True, slots=True)
class ShopField:
    """A key of the shop file.

    ``steps`` lead to it; ``what`` is what it is for, ``if_wrong`` what comes of a wrong value.
    ``value`` is what the file says, empty where it says nothing; ``holds`` what holds then, empty
    where nothing does; ``example`` a sensible start.
    ``choices`` are all it may be, where these are few; ``several`` tells that it is a list of them.
    """

    steps: tuple[str, ...]
    label: str
    what: str
    if_wrong: str
    value: str
    holds: str
    example: str
    choices: tuple[str, ...] = ()
    several: bool = False


@dataclass(frozen=True, slots=True)
class ShopThing:
    """A thing of the shop; ``stated`` tells that the file changes it, ``source`` whence it is."""

    name: str
    fields: tuple[ShopField, ...]
    stated: bool
    source: str


@dataclass(frozen=True, slots=True)
class ShopPart:
    """A group of keys, or a list of things; ``spare`` are the packaged things that it has not."""

    key: str
    what: str
    fields: tuple[ShopField, ...] = ()
    things: tuple[ShopThing, ...] = ()
    spare: tuple[str, ...] = ()
    listed: bool = False


@dataclass(frozen=True, slots=True)
class ShopForm:
    """The whole file; ``slips`` are what is wrong in it, each in words."""

    name: str
    parts: tuple[ShopPart, ...]
    slips: tuple[str, ...]
    units: Units


def shop_form(text: str) -> ShopForm:
    """Return the form of a shop file.  Raises ShopValueError where its text is no YAML at all."""
    try:
        tree = plain(tree_of(text))
    except EditError as error:
        raise ShopValueError(f"the file cannot be read: {error}") from error
    shelf = shelf_in(text, NAMELESS)
    shop = shelf.shop or starter_shop()
    form = _Form(tree if isinstance(tree, dict) else {}, shop)
    slips = tuple(
        f"Line {each.source.line if each.source else 1}: {each.message}; {each.remedy}"
        for each in shelf.slips
    )
    return ShopForm(shop.name, tuple(form.parts()), slips, shop.reads)


def with_shop_value(text: str, steps: Sequence[str], value: str | None) -> str:
    """Return a shop file with a key set, or taken out where ``value`` is None.

    What else has to stand beside a key of a group that is not there yet gets its example.  Raises
    ShopValueError where the value cannot stand there: nothing is changed then.
    """
    try:
        text_, steps_ = _prepared(text, tuple(steps))
        if value is None:
            after = in_place(text_, [(_emptied(text_, steps_), None)])
        else:
            after = _with_value(text_, steps_, _unquoted(value))
    except EditError as error:
        raise ShopValueError(str(error)) from error
    return _read_back(text, after)


def with_thing(text: str, key: str, name: str, like: str = "") -> str:
    """Return a shop file with a thing more in a list: a packaged one, or one ``like`` it.

    Raises ShopValueError as ``with_shop_value`` does.
    """
    item: tuple[str, Any] = named_group(name, like=like) if like else (bare(name), name)
    try:
        after = with_item(_with_own_list(text, key), key, *item)
    except EditError as error:
        raise ShopValueError(str(error)) from error
    return _read_back(text, after)


def without_thing(text: str, key: str, name: str) -> str:
    """Return a shop file without a thing of a list; the last one stays.

    Raises ShopValueError as ``with_shop_value`` does.
    """
    try:
        whole = _with_own_list(text, key)
        after = without_item(whole, key, _place(whole, key, name))
    except EditError as error:
        raise ShopValueError(str(error)) from error
    return _read_back(text, after)


def _with_value(text: str, steps: tuple[str, ...], value: str) -> str:
    try:
        return in_place(text, [(steps, value), *_beside(text, steps)])
    except EditError:
        items = items_of(value)
        if items is None or len(steps) > 1:
            raise
        return with_whole_list(text, steps[0], items)


def _unquoted(value: str) -> str:
    """Return a value without the quotes that it would have in the file."""
    told = value.strip()
    quoted = len(told) > 1 and told[0] == told[-1] and told[0] in "'\""
    return told[1:-1] if quoted else value


def _emptied(text: str, steps: tuple[str, ...]) -> tuple[str, ...]:
    """Return the steps to the outermost group that would hold nothing without a key."""
    while len(steps) > 1:
        group = told_at(text, path_of(text, steps[:-1]))
        if not isinstance(group, dict) or set(group) != {steps[-1]}:
            break
        steps = steps[:-1]
    return steps


_LISTS: Final = {each.name: each for each in declared(ShopKeys) if inner_of(each.kind) is not None}


def _place(text: str, key: str, name: str) -> int:
    names = item_names(text, key) or ()
    if name not in names:
        raise EditError(f"the file has no {name} among its {key}")
    return names.index(name)


def _with_own_list(text: str, key: str) -> str:
    """Return a text that names the things of a list itself, not those packaged by its absence."""
    found = _LISTS.get(key)
    if found is None or not isinstance(found.kind, Items):
        raise EditError(f"a shop has no list called {key}")
    if item_names(text, key) is not None:
        return text
    names = tuple(each.name for each in getattr(starter_shop(), found.fields[0]))
    # woods that are changed or added stand there, the packaged ones stay: one changes nothing
    woods = key == WOODS
    return with_list(text, key, names[:1] if woods else names, groups=woods)


def _prepared(text: str, steps: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """Return a text in which a thing has keys of its own, and the steps to one of them."""
    key = steps[0]
    if not isinstance(_LISTS[key].kind if key in _LISTS else None, Items) or len(steps) < 3:
        return text, steps
    whole = _with_own_list(text, key)
    if steps[1] not in (item_names(whole, key) or ()) and key == WOODS:
        whole = with_item(whole, key, *named_group(steps[1]))
    at = _place(whole, key, steps[1])
    return with_keys_of_its_own(whole, key, at), (key, str(at + 1), *steps[2:])


def _beside(text: str, steps: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield the other keys that a group has to have and has not, each with its example."""
    record: type[Keyed] = ShopKeys
    tree: Any = plain(tree_of(text))
    named = False
    for at, step in enumerate(steps[:-1]):
        tree = tree.get(step) if isinstance(tree, dict) else None
        if not named:
            found = next((each for each in declared(record) if each.name == step), None)
            if found is None or isinstance(found.kind, Items | Changes):
                # a thing needs no key: it is one of those packaged, changed
                return
            inner = inner_of(found.kind)
            if inner is None:
                return
            record = inner
            # amounts stand under the names of things
            named = isinstance(found.kind, PerThing)
            if named:
                continue
        named = False
        for each in declared(record):
            stands = isinstance(tree, dict) and each.name in tree
            if each.required and not stands and each.name != steps[at + 1]:
                yield (*steps[: at + 1], each.name), each.key.example


def _read_back(before: str, after: str) -> str:
    """Return a text in which nothing is wrong that was not wrong before."""
    try:
        known = {_slip(each) for each in shelf_in(before, NAMELESS).slips}
        fresh = [each for each in shelf_in(after, NAMELESS).slips if _slip(each) not in known]
    except JobRefusedError as refused:
        fresh = list(refused.findings)
    if fresh:
        remedy = f"; {fresh[0].remedy}" if fresh[0].remedy else ""
        raise ShopValueError(f"{fresh[0].message}{remedy}")
    return after


def _slip(finding: Finding) -> tuple[str, str, str]:
    return finding.code, finding.message, finding.source.key if finding.source else ""


@dataclass(frozen=True, slots=True)
class _Form:
    """A shop file as a tree of words, and the shop it makes."""

    tree: dict[str, Any]
    shop: Shop

    def parts(self) -> Iterator[ShopPart]:
        """Yield the parts of the file: its plain keys first, then group by group."""
        every = [each for each in declared(ShopKeys) if each.name != VERSION]
        leaves = [each for each in every if inner_of(each.kind) is None]
        yield ShopPart(
            "the shop", "", tuple(self.field(each, self.shop, self.tree, ()) for each in leaves)
        )
        for each in every:
            record = inner_of(each.kind)
            if record is None:
                continue
            if isinstance(each.kind, Items):
                yield self.things(each, record)
            else:
                held = _holder(self.shop, each)
                tree = self.tree.get(each.name)
                rows = tuple(self.group(record, held, tree, (each.name,)))
                yield ShopPart(each.name, each.doc, rows)

    def group(
        self, record: type[Keyed], held: Any, tree: Any, steps: tuple[str, ...]
    ) -> Iterator[ShopField]:
        """Yield the fields of a group, those of its groups among them."""
        for each in declared(record):
            here = (*steps, each.name)
            below = tree.get(each.name) if isinstance(tree, dict) else None
            if isinstance(each.kind, PerThing):
                yield from self.amounts(each, below, here)
            elif isinstance(each.kind, Group):
                inner = _holder(held, each)
                yield from self.group(each.kind.record, inner, below, here)
            elif inner_of(each.kind) is None:
                yield self.field(each, held, tree, steps)

    def amounts(self, each: Declared, tree: Any, steps: tuple[str, ...]) -> Iterator[ShopField]:
        """Yield a field for each thing on a shelf that may have an amount or a price."""
        kind = each.kind
        if not isinstance(kind, PerThing):
            return
        given = tree if isinstance(tree, dict) else {}
        names = [thing.name for thing in getattr(self.shop, kind.shelf)]
        for name in dict.fromkeys((*names, *given)):
            record = inner_of(kind.value)
            if record is not None:
                yield from self.group(record, None, given.get(name), (*steps, name))
                continue
            yield ShopField(
                (*steps, name),
                f"{each.name}: {name}",
                each.doc,
                each.if_wrong,
                _written(given.get(name)),
                "",
                _example(each),
            )

    def things(self, each: Declared, record: type[Keyed]) -> ShopPart:
        """Return the part of a list of things."""
        given = self.tree.get(each.name)
        told = {
            _name(item): item
            for item in (given if isinstance(given, list) else [given] if given else [])
        }
        things = []
        for thing in getattr(self.shop, each.fields[0]):
            item = told.get(thing.name)
            fields = tuple(
                self.field(key, thing, item, (each.name, thing.name))
                for key in declared(record)
                if inner_of(key.kind) is None
            )
            things.append(ShopThing(thing.name, fields, isinstance(item, dict), thing.source))
        had = {thing.name for thing in things}
        packaged = getattr(starter_shop(), each.fields[0])
        spare = tuple(thing.name for thing in packaged if thing.name not in had)
        return ShopPart(each.name, each.doc, (), tuple(things), spare, listed=True)

    def field(self, each: Declared, held: Any, tree: Any, steps: tuple[str, ...]) -> ShopField:
        """Return the field of a key."""
        value = tree.get(each.name) if isinstance(tree, dict) else None
        holds = shown(_holds(each, held), self.shop.reads) if held is not None else ""
        return ShopField(
            (*steps, each.name),
            each.name,
            shown(each.doc, self.shop.reads),
            each.if_wrong,
            _written(value),
            holds,
            shown(_example(each), self.shop.reads),
            _choices(each.kind),
            isinstance(each.kind, Items),
        )


def _holder(held: Any, each: Declared) -> Any:
    return getattr(held, each.fields[0], None) if each.fields and held is not None else None


def _name(item: Any) -> str:
    return str(item.get("name", item.get("like", ""))) if isinstance(item, dict) else str(item)


def _written(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return "" if value is None or isinstance(value, dict) else str(value)


def _example(each: Declared) -> str:
    """Return the example of a key; of amounts that of one."""
    example = each.key.example.strip('"[]')
    return example.strip("{}").partition(": ")[2] if example.startswith("{") else example


def _choices(kind: Kind) -> tuple[str, ...]:
    if isinstance(kind, OneOf):
        return tuple(map(str, kind.choices))
    if isinstance(kind, Items):
        return _choices(kind.item)
    if isinstance(kind, Either):
        return (kind.one, kind.other)
    return ("yes", "no") if isinstance(kind, YesNo) else ()


def _holds(each: Declared, held: Any) -> str:
    """Return what a key's fields hold, as it is written; empty for what is nothing."""
    values = tuple(getattr(held, name, None) for name in each.fields)
    value: Any = values[0] if len(values) == 1 else values
    value = value.classes if isinstance(value, Hazards) else value
    nothing = value is None or value in ("", ()) or None in values
    # a nought that nobody may write stands for what nobody has said
    unsaid = value == 0 and (getattr(each.kind, "least", 0) > 0 or getattr(each.kind, "above", 0))
    if nothing or unsaid or (each.key.optional and not value):
        return ""
    return str(value) if isinstance(value, str) else _told(each.kind, value, held)


def _told(kind: Kind, value: Any, held: Any) -> str:
    """Return a value as it is written, of kinds too that tell it together with others."""
    if isinstance(kind, Proportion):
        basis: Literal["weight", "volume"] = "weight" if held.by_weight else "volume"
        return kind.text(Ratio(held.ratio_resin, held.ratio_hardener, basis))
    if isinstance(kind, Clock):
        return f"{int(value)}:{round(value % 1 * 60):02d}"
    if isinstance(kind, Held):
        scale = isinstance(held, MeasuringTool) and held.kind is ToolKind.SCALE
        return f"{value:g} {'g' if scale else 'cm3'}"
    if isinstance(kind, Count):
        return f"{value:g}"
    if isinstance(value, tuple) and all(isinstance(one, int | str) for one in value):
        return ", ".join(DAYS[one] if isinstance(one, int) else one for one in value)
    return kind.text(value).strip("[]")
