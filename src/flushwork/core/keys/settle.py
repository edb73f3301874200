"""From keys that have been read to records: defaults filled in, names resolved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Annotated, Any, Final, Protocol, TypeVar

from flushwork.core.findings import Finding, JobRefusedError, Severity, Source
from flushwork.core.keys.declare import Declared, Keyed, SpreadField, ident, parts, picks
from flushwork.core.keys.quantities import Kind, near
from flushwork.core.keys.renamed import name_now
from flushwork.core.keys.section import Section
from flushwork.core.keys.tree import Path_, Tree
from flushwork.core.keys.words import Words

SOURCE: Final = "source"


class Named(Protocol):
    """Anything with a name."""

    @property
    def name(self) -> str:
        """The name it goes by."""
        ...


N = TypeVar("N", bound=Named)


def called(items: Sequence[N], name: str | None) -> N | None:
    """Return the item of that name, also by another name it has; None where there is none."""
    for item in items:
        if item.name == name:
            return item
    for item in items:
        if name in getattr(item, "other_names", ()):
            return item
    return None


@dataclass(frozen=True, slots=True)
class Reading:
    """The file being read, and the list its slips are added to."""

    tree: Tree
    findings: list[Finding] = field(default_factory=list)

    def slip(self, code: str, message: str, remedy: str, path: Path_) -> None:
        """Add a slip at a key."""
        self.findings.append(
            Finding(code, Severity.MUST_FIX, message, remedy, source=self.source(path))
        )

    def source(self, path: Path_) -> Source:
        """Return the place of a key."""
        return self.tree.source(path)

    def find(self, items: Sequence[N], name: str, what: str, path: Path_) -> N:
        """Return the item of that name; where there is none, note the slip and return the first.

        A thing goes by its other names as well.  The first only stands in so that the rest of the
        file can be read for more slips.  Raises JobRefusedError, with every slip so far, where
        there is no item at all.
        """
        found = called(items, name)
        if found is not None:
            return found
        known = tuple(item.name for item in items)
        now = name_now(name, known)
        if now is not None:
            self.slip("word-renamed", f"'{name}' is called '{now}' now", f"write `{now}`", path)
            return next(item for item in items if item.name == now)
        self.slip(
            "name-unknown",
            f"there is no {what} called '{name}'",
            f"{near(name, known)}known here: {', '.join(known[:40])}"
            if known
            else f"take this line out, or put a {what} into the shop file",
            path,
        )
        if not items:
            raise JobRefusedError(self.findings)
        return items[0]


@dataclass(frozen=True, slots=True)
class At:
    """Where a value stands and what is known there.

    ``own`` are the fields of its record so far, ``above`` those of the record around it, ``job``
    those of the whole job, ``said`` the keys that its group holds.
    """

    reading: Reading
    shop: Any
    path: Path_ = ()
    own: dict[str, Any] = field(default_factory=dict)
    above: Mapping[str, Any] = field(default_factory=dict)
    job: Mapping[str, Any] = field(default_factory=dict)
    said: frozenset[str] = frozenset()

    def settled(self, record: type[Keyed], keys: Section, **own: Any) -> Any:
        """Return the record that keys make here."""
        return settled(record, keys, self, **own)

    def stated(self, record: type[Keyed], keys: Section) -> dict[str, Any]:
        """Return the fields of a record that keys state here."""
        here = replace(self, own={}, above=self.own, said=said_keys(keys))
        for part in parts(record):
            if isinstance(part, Declared) and part.name in here.said:
                _fill(part, keys, here)
        return here.own

    def inside(self, step: str | int) -> At:
        """Return the place of a key or an item."""
        told = self.own, self.above, self.job, self.said
        return At(self.reading, self.shop, (*self.path, step), *told)

    def slip(self, code: str, message: str, remedy: str, *steps: str | int) -> None:
        """Add a slip at a key within the group."""
        self.reading.slip(code, message, remedy, (*self.path, *steps))

    def out_of_range(self, message: str, remedy: str, *steps: str | int) -> None:
        """Add a slip of a value that does not go with another."""
        self.slip("value-out-of-range", message, remedy, *steps)

    def source(self, *steps: str | int) -> Source:
        """Return the place of a key within the group."""
        return self.reading.source((*self.path, *steps))


@dataclass(frozen=True)
class On(Kind):
    """The name of a thing on one of the shop's shelves, or in one of the job's own lists.

    ``none`` lets the word ``none`` stand for no thing; so does an empty shelf then.
    """

    shelf: str
    what: str
    none: bool = False
    longest: int = 80

    def resolve(self, value: Any, at: At) -> Any:
        """Return the thing; one that is not there is a slip."""
        items = self.items(at)
        if self.none and (value == NONE or not items):
            return None
        return at.reading.find(items, value, self.what, at.path)

    def items(self, at: At) -> Sequence[Any]:
        """Return the things it may name."""
        found: Sequence[Any] = getattr(at.shop, self.shelf)
        return found

    def text(self, value: Any) -> str:
        """Write the thing's name."""
        return Words().text(value.name)

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return Words(self.longest).__get_pydantic_core_schema__(source, handler)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return Words(self.longest).schema()


@dataclass(frozen=True)
class PerThing(Kind):
    """Names of things on a shelf, each with its value."""

    shelf: str
    what: str
    value: Kind

    def resolve(self, value: Any, at: At) -> tuple[Any, ...]:
        """Return each name with its value; a name that is not on the shelf is a slip."""
        items = getattr(at.shop, self.shelf)
        for name in value:
            at.reading.find(items, name, self.what, (*at.path, name))
        return tuple(
            (name, self.value.resolve(each, at.inside(name))) for name, each in value.items()
        )

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return handler.generate_schema(dict[str, Annotated[Any, self.value]])


NONE: Final = "none"


def settled(record: type[Keyed], keys: Section, at: At, **own: Any) -> Any:
    """Return the record that keys make, names resolved; what is wrong is added to the slips.

    Fields called ``source`` get the place of the group, ``..._source`` that of the key before it.
    """
    here = replace(at, own=own, above=at.own, job=at.job or own, said=said_keys(keys))
    for part in parts(record):
        if isinstance(part, SpreadField):
            _spread(part, keys, here)
        else:
            _fill(part, keys, here)
    record.settle(own, here)
    made = record.makes or record
    known = {each.name for each in fields(made)}
    for name in known:
        if name == SOURCE:
            own.setdefault(SOURCE, here.source())
        elif name.endswith(f"_{SOURCE}"):
            own[name] = here.source(name.removesuffix(f"_{SOURCE}"))
    return made(**{name: value for name, value in own.items() if name in known})


def said_keys(keys: Section) -> frozenset[str]:
    """Return the keys that were given, as the user types them."""
    known = type(keys).model_fields
    return frozenset(known[name].alias or name for name in keys.model_fields_set)


def _fill(part: Declared, keys: Section, at: At) -> None:
    """Set the fields of a key: its value, what follows from other keys, or its default."""
    if part.name in at.said:
        value = part.kind.resolve(getattr(keys, ident(part.name)), at.inside(part.name))
    elif part.key.otherwise is not None:
        value = part.key.otherwise(at)
    elif not part.fields:
        return
    else:
        value = part.default
    if len(part.fields) > 1:
        values = (None,) * len(part.fields) if value is None else value
        at.own.update(zip(part.fields, values, strict=True))
    else:
        at.own[part.fields[0] if part.fields else part.name] = value


def _spread(part: SpreadField, keys: Section, at: At) -> None:
    """Set a field to the record whose keys stand among these; leave it where none is picked."""
    for each in part.records:
        if len(part.records) > 1 and not at.said & set(picks(each)):
            continue
        if each.under is None:
            at.own[part.field] = settled(each, keys, at)
        else:
            name = each.under.name
            at.own[part.field] = settled(each, getattr(keys, ident(name)), at.inside(name))
        return
