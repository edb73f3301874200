"""How a key is declared: once, at the field of the record that it fills.

A record is a frozen dataclass over ``Keyed``.  A field that a key fills says so in its annotation,
and in a docstring below it what the key is for::

    marks: Annotated[bool, YesNo(), Key("yes", name="cut registration marks")] = False

The kind of value (``YesNo()``, ``Count(1, 9)``, ``Items(...)``, ``Group(...)``) reads, describes
and writes it.  The name the user types is the field's without its unit, unless ``Key`` has another.
All else follows from it: the pydantic model that reads a file (``model_of``), its JSON Schema, the
record (``settle``) and the resolved text (``text.dump``).

Long because kinds that hold records, declarations and models rest on one another.
"""

from __future__ import annotations

import ast
import inspect
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, replace
from functools import cache
from itertools import pairwise
from types import UnionType
from typing import (
    TYPE_CHECKING,
    Annotated,
    Any,
    ClassVar,
    Final,
    TypeVar,
    Union,
    cast,
    get_args,
    get_origin,
)

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler, create_model
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from flushwork.core.keys.quantities import Kind, slip
from flushwork.core.keys.section import OrName, Section, is_written, one_of, plain_value
from flushwork.core.keys.words import Words

if TYPE_CHECKING:
    from flushwork.core.keys.settle import At

Found = TypeVar("Found")
UNITS: Final = ("_mm", "_rad", "_s", "_min", "_h", "_g", "_c", "_n", "_w", "_rpm")
IF_WRONG: Final = " If wrong: "
"""What follows these words below a field, or in its record's, is what comes of a wrong value."""
OMIT: Final = object()
"""What ``shown`` gives for a key that is not written."""


def _once(find: Callable[[type[Keyed]], Found]) -> Callable[[type[Keyed]], Found]:
    """Find what follows from a record's declarations once only."""
    return cast("Callable[[type[Keyed]], Found]", cache(find))


@dataclass(frozen=True)
class Key:
    """How a key differs from its field; what it is for is said in words below the field.

    ``example`` is written as in the file; ``name`` is what the user types, where it is not the
    field's name; ``into`` are further fields that the value's later parts fill; ``default`` holds
    where the key is left out and the field itself has none; ``otherwise`` finds the value where
    the key is left out and no constant will do; ``unsaid`` is told in the resolved job in place of
    an empty value; ``optional`` hides a value that is nothing (0 or empty); ``aside`` is for a key
    that fills no field: ``settle`` finds its value by the key's name; ``doc`` is what it is for.
    """

    example: str = ""
    name: str = ""
    doc: str = ""
    into: tuple[str, ...] = ()
    default: Any = ...
    otherwise: Callable[[At], Any] | None = None
    unsaid: str = ""
    optional: bool = False
    required: bool = False
    aside: bool = False


@dataclass(frozen=True, slots=True)
class Keyed:
    """The base of every record that a group of keys makes.

    Where a record is one of several that may stand in its place (``Spread``), ``kinds`` are the
    keys that pick it; with ``under`` its keys stand in a group of their own.  ``makes`` is another
    record that is made in its place, with the same fields.  One that is ``listed`` may be taken
    from another one of its list.
    """

    kinds: ClassVar[tuple[str, ...]] = ()
    more_kinds: ClassVar[tuple[str, ...]] = ()
    under: ClassVar[Key | None] = None
    makes: ClassVar[type[Any] | None] = None
    listed: ClassVar[bool] = False

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Yield slips that show in the keys alone, each with its key ("" for the group)."""
        del given
        yield from ()

    @classmethod
    def settle(cls, own: dict[str, Any], at: At) -> None:
        """Change the values of the fields where they follow from more than one key."""

    @classmethod
    def shown(cls, record: Any) -> Mapping[str, Any]:
        """Return what is written for keys that are not just the value of their field.

        ``record`` may be of the type that is made in this one's place.
        """
        del record
        return {}


@dataclass(frozen=True)
class Group(Kind):
    """Keys of their own; ``or_name`` lets a plain value stand for that one key."""

    record: type[Keyed]
    or_name: str = ""

    def resolve(self, value: Any, at: At) -> Any:
        """Return the record."""
        return at.settled(self.record, value)

    @property
    def model(self) -> Any:
        """The model that reads the keys."""
        return model_of(self.record)

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        model: Any = self.model
        if self.or_name:
            return handler.generate_schema(Annotated[model, OrName(self.or_name)])
        return handler.generate_schema(model)


@dataclass(frozen=True)
class Items(Kind):
    """A list of ``least`` to ``most`` values of one kind; ``or_one`` lets one stand for itself."""

    item: Kind
    least: int = 0
    most: int | None = None
    or_one: bool = False

    def resolve(self, value: Any, at: At) -> tuple[Any, ...]:
        """Return what the items are in the record."""
        return tuple(self.item.resolve(each, at.inside(at_)) for at_, each in enumerate(value))

    def text(self, value: Any) -> str:
        """Write a list on one line."""
        return f"[{', '.join(self.item.text(each) for each in value)}]" if value else ""

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        item = handler.generate_schema(Annotated[Any, self.item])
        held = core_schema.list_schema(
            item, min_length=self.least or None, max_length=self.most, strict=True
        )
        if not self.or_one:
            return held
        return core_schema.no_info_before_validator_function(
            lambda value: [value] if is_written(value) else value, held
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        whole = handler(schema)
        return {"anyOf": [whole["items"], whole]} if self.or_one else whole


@dataclass(frozen=True)
class Names(Kind):
    """Names, each with its keys."""

    record: type[Keyed]

    def resolve(self, value: Any, at: At) -> tuple[Any, ...]:
        """Return the records, each with its name."""
        return tuple(
            at.inside(name).settled(self.record, each, name=name) for name, each in value.items()
        )

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        model: Any = model_of(self.record)
        return handler.generate_schema(dict[str, model])


@dataclass(frozen=True)
class Anew(Kind):
    """Names, each with some keys of a whole file: they hold in its stead for one part of it.

    ``file`` returns the record of the file.  They are read once more, each as a file of its own
    (``Tree.anew``), so that here they resolve to nothing.
    """

    file: Callable[[], type[Keyed]]
    keys: tuple[str, ...]
    model_name: str
    doc: str

    @property
    def record(self) -> type[Keyed]:
        """The record whose keys these are."""
        return self.file()

    def resolve(self, value: Any, at: At) -> tuple[Any, ...]:
        """Return nothing: whoever reads the file reads the parts of it."""
        del value, at
        return ()

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        model: Any = _model_anew(self)
        return handler.generate_schema(dict[str, model])


def inner_of(kind: Kind) -> type[Keyed] | None:
    """Return the record that a kind of value is made of, if any."""
    if isinstance(kind, Group | Names):
        return kind.record
    within = getattr(kind, "item", None) or getattr(kind, "value", None)
    return inner_of(within) if isinstance(within, Kind) else None


@dataclass(frozen=True)
class Spread:
    """The record's keys stand among those of the record it is in: of one, or of one of several."""

    records: tuple[type[Keyed], ...]

    def __init__(self, *records: type[Keyed]) -> None:
        object.__setattr__(self, "records", records)


@dataclass(frozen=True)
class Declared:
    """A key: its name, the fields it fills (none for one that stands aside), its kind."""

    name: str
    fields: tuple[str, ...]
    kind: Kind
    key: Key
    default: Any
    required: bool
    told_at: tuple[tuple[type[Keyed], str], ...] = ()
    """The fields whose words say what it is for, where the key itself does not."""
    beside: tuple[str, ...] = ()
    """The keys that stand aside at its field."""

    @property
    def doc(self) -> str:
        """What it is for."""
        said = (words_of(record).get(field, "") for record, field in self.told_at)
        return self.key.doc or " ".join(dict.fromkeys(each.split(IF_WRONG)[0] for each in said))

    @property
    def if_wrong(self) -> str:
        """What comes of it if it is wrong: as said of the key, else of its record."""
        for record, field in self.told_at:
            group = " ".join((record.__doc__ or "").split())
            for said in (words_of(record).get(field, ""), group):
                if IF_WRONG in said:
                    words = said.split(IF_WRONG)[1]
                    return words[:1].upper() + words[1:]
        return ""

    @property
    def default_text(self) -> str:
        """Its default as the user would write it; empty for one that is required or nothing."""
        nothing = self.default in (None, "", ()) or self.required
        return "" if nothing else self.kind.text(self.default)


@dataclass(frozen=True)
class SpreadField:
    """A field whose record's keys stand among the others, or several in a list at ``aside``."""

    field: str
    records: tuple[type[Keyed], ...]
    aside: str = ""


@_once
def words_of(record: type[Keyed]) -> Mapping[str, str]:
    """Return what the words below each field of a record say; they are read from its module."""
    found: dict[str, str] = {}
    for base in reversed(record.__mro__[:-1]):
        for node in ast.parse(inspect.getsource(sys.modules[base.__module__])).body:
            if isinstance(node, ast.ClassDef) and node.name == base.__name__:
                for field, words in pairwise(node.body):
                    if isinstance(field, ast.AnnAssign) and isinstance(words, ast.Expr):
                        told = ast.literal_eval(words.value)
                        found[ast.unparse(field.target)] = " ".join(told.split())
    return found


def stated(record: Keyed) -> dict[str, Any]:
    """Return the fields that a file states, of a record whose fields are None where it does not."""
    found = {each.name: getattr(record, each.name) for each in fields(record)}
    return {name: value for name, value in found.items() if value is not None}


def named(field: str) -> str:
    """Return the name a field's key goes by."""
    for unit in UNITS:
        field = field.removesuffix(unit)
    return field.replace("_", " ")


def ident(name: str) -> str:
    """Return the name of a key within its model."""
    return name.replace(" ", "_") + "_"


@_once
def parts(record: type[Keyed]) -> tuple[Declared | SpreadField, ...]:
    """Return the keys of a record in order, those spread in it by their field."""
    hints: dict[str, Any] = {}
    for base in reversed(record.__mro__[:-1]):
        known = vars(sys.modules[base.__module__])
        hints |= inspect.get_annotations(base, globals=known, locals={}, eval_str=True)
    found: list[Declared | SpreadField] = []
    for field in fields(record):
        hint = hints[field.name]
        if get_origin(hint) is not Annotated:
            continue
        base, *said = get_args(hint)
        spread = next((each for each in said if isinstance(each, Spread)), None)
        keys = [each for each in said if isinstance(each, Key)]
        beside = tuple(each.name for each in keys if each.aside)
        if spread is not None:
            found.append(SpreadField(field.name, spread.records, "".join(beside)))
        kinds = [each for each in said if isinstance(each, Kind)]
        none = field.default is MISSING and field.default_factory is MISSING
        for at, key in enumerate(keys):
            own = not key.aside
            names = (field.name, *key.into) if own else ()
            default = None if none or not own else _default(record, names)
            default = default if key.default is ... else key.default
            default = default if key.otherwise is None else None
            left_out = default is not None or key.otherwise is not None or key.optional
            found.append(
                Declared(
                    key.name or named(field.name),
                    names,
                    kinds[at] if kinds else _group(base),
                    key,
                    default,
                    key.required or (none and own and not left_out),
                    ((record, field.name),),
                    beside if own else (),
                )
            )
    return tuple(found)


def _default(record: type[Keyed], names: tuple[str, ...]) -> Any:
    defaults = {each.name: each.default for each in fields(record)}
    values = tuple(None if defaults[name] is MISSING else defaults[name] for name in names)
    nothing = all(value is None for value in values)
    return None if nothing else values[0] if len(values) == 1 else values


def _group(hint: Any) -> Kind:
    """Return the kind that a record's own type stands for."""
    if isinstance(hint, type) and issubclass(hint, Keyed):
        return Group(hint)
    inner = [each for each in get_args(hint) if each not in (type(None), Ellipsis)]
    if get_origin(hint) in (Union, UnionType):
        return _group(inner[0])
    return Items(_group(inner[0]))


@_once
def declared(record: type[Keyed]) -> tuple[Declared, ...]:
    """Return every key that may stand in a record's group, each name once."""
    found: dict[str, Declared] = {}
    for part in parts(record):
        for each in (part,) if isinstance(part, Declared) else _spread(part):
            known = found.get(each.name)
            if known is not None:
                told = (*known.told_at, *each.told_at)
                each = replace(known, fields=(), required=False, told_at=told)  # noqa: PLW2901
            found[each.name] = each
    return tuple(found.values())


def _spread(part: SpreadField) -> Iterator[Declared]:
    several = len(part.records) > 1
    for record in part.records:
        if record.under is not None:
            yield Declared(record.under.name, (), Group(record), record.under, None, required=False)
            continue
        for each in declared(record):
            need = each.required and not several
            yield replace(each, required=need)


@_once
def choices(record: type[Keyed]) -> tuple[type[Keyed], ...]:
    """Return the records of which one has to be picked among a record's keys."""
    for part in parts(record):
        if isinstance(part, SpreadField):
            return part.records if len(part.records) > 1 else choices(part.records[0])
    return ()


def default_of(record: type[Keyed], key: str) -> str:
    """Return the default of a key as the user would write it."""
    return next(each.default_text for each in declared(record) if each.name == key)


def picks(record: type[Keyed]) -> tuple[str, ...]:
    """Return the keys that pick a record among several."""
    return record.kinds if record.under is None else (record.under.name,)


def kinds_of(record: type[Keyed]) -> tuple[str, ...]:
    """Return the keys of which exactly one has to stand in a record's group."""
    return (*(kind for each in choices(record) for kind in picks(each)), *record.more_kinds)


@_once
def belongs(record: type[Keyed]) -> Mapping[str, tuple[str, ...]]:
    """Return the keys that go with some kinds only, each with these."""
    found: dict[str, tuple[str, ...]] = {}
    for each in choices(record):
        if each.under is None:
            for key in declared(each):
                if key.name not in picks(each):
                    found[key.name] = (*found.get(key.name, ()), *picks(each))
    return found


def stray(key: str, *kinds: str) -> PydanticCustomError:
    """Return the slip of a key that goes with other keys."""
    listed = " or ".join(f"`{kind}`" for kind in kinds)
    return slip("key-out-of-place", f"`{key}` goes with {listed} only", "leave it out here")


def _choice_slips(
    record: type[Keyed], given: dict[str, Any]
) -> Iterator[tuple[str, PydanticCustomError]]:
    """Ask for one of several, and only the keys that go with it."""
    kinds = kinds_of(record)
    if not kinds:
        return
    found = one_of(given, kinds)
    if found:
        yield found
    kind = next((each for each in kinds if each in given), "")
    if not kind:
        return
    for key, with_ in belongs(record).items():
        if key in given and kind not in with_:
            yield key, stray(key, *with_)
    for each in choices(record):
        if kind in picks(each) and each.under is None:
            yield from each.key_slips(given)
            for key_ in declared(each):
                if key_.required and key_.name not in given and key_.name not in picks(each):
                    told = f"add `{key_.name}: {key_.key.example}`"
                    yield "", slip("key-missing", f"`{key_.name}` is missing", told)


class Model(Section):
    """A model made from a record's declarations."""

    record: ClassVar[type[Keyed]] = Keyed
    declared: ClassVar[tuple[Declared, ...]] = ()

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Look for slips among the keys alone."""
        yield from _choice_slips(cls.record, given)
        yield from cls.record.key_slips(given)

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe each key as the user would write it, and ask for one of several kinds."""
        whole = handler(schema)
        inner = handler.resolve_ref_schema(whole)
        inner.pop("title", None)
        inner["description"] = (cls.__doc__ or "").split("\n\n")[0]
        for key in cls.declared:
            known = inner["properties"][key.name]
            for not_ours in ("title", "default"):
                known.pop(not_ours, None)
            known["description"] = key.doc
            if key.default_text:
                known["default"] = plain_value(key.default_text)
            if key.key.example:
                known["examples"] = [plain_value(key.key.example)]
        kinds = kinds_of(cls.record)
        if kinds:
            inner["oneOf"] = [{"required": [kind]} for kind in kinds]
        if belongs(cls.record):
            inner["dependentSchemas"] = {
                key: {"anyOf": [{"required": [kind]} for kind in with_]}
                for key, with_ in belongs(cls.record).items()
            }
        return whole


@_once
def model_of(record: type[Keyed]) -> type[Model]:
    """Return the pydantic model that reads the keys of a record."""
    return _model(record, declared(record))


@_once
def part_model_of(record: type[Keyed]) -> type[Model]:
    """Return the model that reads some keys of a record, none of which has to be there."""
    keys = (*(declared(Like) if record.listed else ()), *declared(record))
    return _model(record, tuple(replace(key, default=None, required=False) for key in keys))


@cache
def _model_anew(kind: Anew) -> type[Model]:
    """Return the model that reads the keys of a part of a file."""
    keys = tuple(each for each in declared(kind.record) if each.name in kind.keys)
    return _model(kind.record, keys, kind.model_name, kind.doc)


def _model(
    record: type[Keyed], keys: tuple[Declared, ...], name: str = "", doc: str | None = None
) -> type[Model]:
    given: dict[str, Any] = {
        ident(key.name): (
            Annotated[Any, key.kind],
            Field(default=... if key.required else key.default, alias=key.name),
        )
        for key in keys
    }
    module = record.__module__
    model = create_model(name or record.__name__, __base__=Model, __module__=module, **given)
    model.__doc__ = doc or record.__doc__
    model.record, model.declared = record, keys
    model.shown = {key.name: key.key.example for key in keys}
    return model


@dataclass(frozen=True, slots=True)
class Stated:
    """What a file states of a thing: its name, what it is taken from, the fields it changes."""

    record: type[Keyed]
    name: str
    like: str
    changes: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Like(Keyed):
    """The keys of a thing that is taken from a list of such things."""

    like: Annotated[str, Words(80), Key()] = ""
    """The packaged thing it is taken from."""
    name: Annotated[str, Words(80), Key()] = ""
    """What you call it; the name of `like` where left out."""


@dataclass(frozen=True)
class Changes(Group):
    """Some keys of a record, that change another one; they resolve to what is ``Stated``."""

    @property
    def model(self) -> Any:
        """The model that reads the keys."""
        return part_model_of(self.record)

    def resolve(self, value: Any, at: At) -> Stated:
        """Return the fields that the file states."""
        told = at.stated(self.record, value)
        like, name = (getattr(value, ident(key), None) or "" for key in ("like", "name"))
        return Stated(self.record, name, like, told)
