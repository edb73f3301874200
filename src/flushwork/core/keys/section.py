"""A group of keys in a file: every slip in it at once, each with its remedy."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Final, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ModelWrapValidatorHandler,
    ValidationError,
    model_validator,
)
from pydantic_core import (
    CoreSchema,
    ErrorDetails,
    InitErrorDetails,
    PydanticCustomError,
    core_schema,
)
from ruamel.yaml import YAML

from flushwork.core.findings import Finding
from flushwork.core.keys.quantities import near, nearest, slip
from flushwork.core.keys.renamed import key_now
from flushwork.core.keys.tree import Scalar, Tree

_SHAPES: Final = {
    "model_type": "keys and values",
    "model_attributes_type": "keys and values",
    "dict_type": "keys and values",
    "list_type": "a list, each item on a line of its own after a dash",
}


def _shape_slip(error: ErrorDetails) -> PydanticCustomError:
    context = error.get("ctx", {})
    if error["type"] in ("too_short", "too_long"):
        least, most = context.get("min_length"), context.get("max_length")
        limit = f"at least {least}" if error["type"] == "too_short" else f"at most {most}"
        held = context.get("actual_length", "too many")
        return slip("wrong-shape", f"the list holds {held} items", f"write {limit}")
    wanted = _SHAPES.get(error["type"], "what docs/job-file.md shows")
    value = error["input"]
    if isinstance(value, Scalar) and value.kind == "nothing":
        return slip("key-empty", "nothing is written here", f"write {wanted}")
    return slip("wrong-shape", "the value has the wrong shape", f"write {wanted}")


class Section(BaseModel):
    """A group of keys as it is read; ``key_slips`` looks among them even where a value is wrong."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, defer_build=True)

    shown: ClassVar[Mapping[str, str]] = {}
    """The keys the group may hold, each with an example; empty where it has none."""

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Yield slips that show in the keys alone, each with its key ("" for the group)."""
        del given
        yield from ()

    @model_validator(mode="wrap")
    @classmethod
    def _check(cls, given: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        lines: list[InitErrorDetails] = []
        made: Self | None = None
        try:
            made = handler(given)
        except ValidationError as error:
            lines = [cls._line(each) for each in cls._told_once(error)]
        if isinstance(given, dict):
            lines += [
                InitErrorDetails(type=error, loc=(key,) if key else (), input=given.get(key))
                for key, error in cls.key_slips(given)
            ]
        if lines or made is None:
            raise ValidationError.from_exception_data(cls.__name__, lines)
        return made

    @classmethod
    def _told_once(cls, error: ValidationError) -> list[ErrorDetails]:
        """Leave out a missing key where an unknown one is its misspelling."""
        found = error.errors(include_url=False)
        own = [each for each in found if len(each["loc"]) == 1]
        meant = {
            key_now(str(each["loc"][0]), cls.shown)
            or nearest(str(each["loc"][0]), tuple(cls.shown))
            for each in own
            if each["type"] == "extra_forbidden"
        }
        return [
            each for each in found if not (each["type"] == "missing" and each["loc"][-1] in meant)
        ]

    @classmethod
    def _line(cls, error: ErrorDetails) -> InitErrorDetails:
        return InitErrorDetails(type=cls._slip(error), loc=error["loc"], input=error["input"])

    @classmethod
    def _slip(cls, error: ErrorDetails) -> PydanticCustomError:
        """Turn a slip of shape into words; a leaf's own error passes unchanged."""
        context = error.get("ctx", {})
        if "remedy" in context:
            return slip(error["type"], context["message"], context["remedy"])
        key = str(error["loc"][-1]) if error["loc"] else ""
        if error["type"] == "missing":
            shown = cls.shown.get(key)
            told = f"`{key}: {shown}`" if shown else f"`{key}:` with its value"
            return slip("key-missing", f"`{key}` is missing", f"add {told}")
        if error["type"] == "extra_forbidden":
            now = key_now(key, cls.shown)
            if now is not None:
                return slip("word-renamed", f"`{key}` is called `{now}` now", f"write `{now}`")
            hint = near(key, tuple(cls.shown))
            if key[:1].isdigit():
                hint = "if it belongs to a number, leave the comma out: 1000 mm; "
            return slip(
                "key-unknown",
                f"`{key}` is not a key known here",
                f"{hint}the keys here are: {', '.join(cls.shown)}",
            )
        return _shape_slip(error)


def plain_value(text: str) -> Any:
    """Return what an editor makes of a value as typed in the file; to it a date is a text."""
    return _without_dates(YAML(typ="safe", pure=True).load(text))


def _without_dates(value: Any) -> Any:
    if isinstance(value, list):
        return [_without_dates(each) for each in value]
    return value.isoformat() if isinstance(value, dt.date) else value


@dataclass(frozen=True)
class OrName:
    """Lets a plain name stand for a group that begins with that name under ``key``."""

    key: str = "name"

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_before_validator_function(
            lambda value: {self.key: value} if is_written(value) else value, handler(source)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"anyOf": [{"type": "string", "minLength": 1}, handler(schema)]}


def is_written(value: object) -> bool:
    """Whether a plain value stands there."""
    return isinstance(value, Scalar) and value.kind != "nothing"


def one_of(given: Iterable[str], kinds: tuple[str, ...]) -> tuple[str, PydanticCustomError] | None:
    """Return the slip where not exactly one of ``kinds`` is among the keys."""
    found = [kind for kind in kinds if kind in given]
    if len(found) == 1:
        return None
    listed = ", ".join(kinds)
    if not found:
        return "", slip("key-missing", f"none of {listed} is here", "add exactly one of them")
    return found[1], slip(
        "keys-clash",
        f"`{found[0]}` and `{found[1]}` cannot stand together",
        f"keep exactly one of {listed}",
    )


def findings_of(error: ValidationError, tree: Tree) -> list[Finding]:
    """Return every slip as a finding with its place in the file."""
    found = []
    for each in error.errors(include_url=False):
        path = each["loc"]
        source = tree.source(path)
        said = str(each.get("ctx", {}).get("message", each["msg"]))
        named = path and isinstance(path[-1], str) and f"`{path[-1]}`" not in said
        found.append(
            Finding.must_fix(
                each["type"],
                message=f"{path[-1]}: {said}" if named else said,
                remedy=str(each.get("ctx", {}).get("remedy", "")),
                source=source,
            )
        )
    return sorted(found, key=lambda finding: finding.source.line if finding.source else 0)
