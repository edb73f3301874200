"""The kinds of value a key can hold: each reads one scalar and describes itself in the schema.

A value that cannot be read raises ``PydanticCustomError`` whose type is a finding's code and whose
context holds the message and the remedy.
"""

from __future__ import annotations

import difflib
import math
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Final, cast

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from flushwork.core.keys.tree import Scalar
from flushwork.core.units import (
    Quantity,
    UnitError,
    number_text,
    quantity_text,
    read_number,
    read_quantity,
)

if TYPE_CHECKING:
    from flushwork.core.keys.settle import At

DECIMALS: Final = 9
"""Of a value written back: it reads to the same one."""
NUMBER_PATTERN: Final = r"[+-]?\s*(\d+[\s-]+)?(\d+/\d+|\d+\.?\d*|\.\d+)"
_UNIT_PATTERNS: Final = {
    Quantity.LENGTH: r"""(mm|cm|m|in|inch|inches|ft|"|')""",
    Quantity.MASS: "(mg|g|kg|oz|lb)",
    Quantity.VOLUME: "(cm3|cc|ml|l|fl oz|tsp|tbsp)",
    Quantity.TEMPERATURE: "(degC|degF|°C|°F)",
    Quantity.TIME: "(s|min|minutes?|h|hours?|days?|weeks?)",
    Quantity.SHARE: "%",
    Quantity.ANGLE: "(deg|°)",
    Quantity.FEED: "(mm/min|mm/s|m/min|in/min)",
    Quantity.SPEED: "(rpm|/min)",
    Quantity.ACCELERATION: "(mm/s2|m/s2|in/s2)",
    Quantity.DENSITY: "(g/cm3|g/ml|kg/m3|lb/ft3|lb/gal)",
    Quantity.VISCOSITY: "(Pa s|mPa s)",
    Quantity.FORCE: "(N|kN|lbf)",
    Quantity.POWER: "(W|kW|hp)",
    Quantity.COVERAGE: "(m2/l|sq ft/gal)",
}


def slip(code: str, message: str, remedy: str) -> PydanticCustomError:
    """Return the error that becomes a finding."""
    return PydanticCustomError(
        cast("Any", code), "{message}", {"message": message, "remedy": remedy}
    )


def nearest(word: str, known: tuple[str, ...]) -> str:
    """Return the known word nearest to one, or nothing where none is near."""
    low = {each.lower(): each for each in known}
    found = difflib.get_close_matches(word.lower(), low, n=1, cutoff=0.6)
    if not found and word:
        found = [each for each in low if word.lower() in each or each in word.lower()][:1]
    return low[found[0]] if found else ""


def near(word: str, known: tuple[str, ...]) -> str:
    """Return "did you mean ...? " for the known word nearest to one, or nothing."""
    found = nearest(word, known)
    return f"did you mean `{found}`? " if found else ""


class Kind:
    """What may stand at a key: how it is read, what it is in a record, how it is written."""

    def resolve(self, value: Any, at: At) -> Any:
        """Return what a value that was read is in the record; names become things there."""
        del at
        return value

    def text(self, value: Any) -> str:
        """Write a value of the record as it stands in a file; empty for what has no short form."""
        del value
        return ""


class Leaf(Kind, ABC):
    """One kind of value: ``read`` turns its text into a value."""

    wants: str = "a value"
    described: ClassVar[Mapping[str, Any]]
    """The JSON Schema of the value, where it is the same for all of the kind."""

    @abstractmethod
    def read(self, scalar: Scalar) -> Any:
        """Read the value, or raise ``UnitError`` or ``PydanticCustomError``."""

    def text(self, value: Any) -> str:
        """Write the value."""
        return str(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the value."""
        return dict(self.described)

    def _read(self, raw: Any) -> Any:
        if not isinstance(raw, Scalar):
            shape = "a list" if isinstance(raw, list) else "a group of keys"
            raise slip("wrong-shape", f"{shape} stands here", f"write {self.wants}")
        if raw.kind == "nothing":
            raise slip(
                "key-empty", "nothing is written here", f"write {self.wants}, or leave it out"
            )
        try:
            return self.read(raw)
        except UnitError as error:
            raise slip(error.code, error.message, error.remedy) from None

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return self.schema()


@dataclass(frozen=True)
class Measured(Leaf):
    """A quantity with its unit, from ``least`` (or just above it) to ``most``."""

    quantity: Quantity
    least: float
    most: float
    above: bool = False

    @property
    def wants(self) -> str:  # type: ignore[override]
        """Describe what may stand here."""
        return f"a {self.quantity.value}"

    def read(self, scalar: Scalar) -> float:
        """Read the quantity and hold it against its limits."""
        value = read_quantity(scalar.text, self.quantity)
        if value < self.least or value > self.most or (self.above and value <= self.least):
            low, high = (quantity_text(each, self.quantity) for each in (self.least, self.most))
            limit = f"more than {low}" if self.above else f"at least {low}"
            raise slip(
                "value-out-of-range",
                f"{scalar.text} is out of range",
                f"write {limit} and at most {high}",
            )
        return value

    def text(self, value: float) -> str:
        """Write the quantity with its unit."""
        return quantity_text(value, self.quantity, decimals=DECIMALS)

    def schema(self) -> dict[str, Any]:
        """Describe a number and its unit as a string."""
        unit = _UNIT_PATTERNS[self.quantity]
        return {"type": "string", "pattern": rf"^\s*({NUMBER_PATTERN}\s*{unit}\s*)+$"}


@dataclass(frozen=True)
class DepthOrThrough(Measured):
    """A depth, or ``through`` for all the way."""

    def read(self, scalar: Scalar) -> float:
        """Read the depth; ``through`` is infinitely deep."""
        return float("inf") if scalar.text == "through" else Measured.read(self, scalar)

    def text(self, value: float) -> str:
        """Write the depth, or the word."""
        return "through" if math.isinf(value) else Measured.text(self, value)

    def schema(self) -> dict[str, Any]:
        """Describe a length or the word."""
        return {"anyOf": [Measured.schema(self), {"const": "through"}]}


@dataclass(frozen=True)
class InlayDepth(Measured):
    """A depth of an inlay: never through."""

    def read(self, scalar: Scalar) -> float:
        """Read the depth."""
        if scalar.text == "through":
            raise slip(
                "depth-through",
                "an inlay cannot go through the board: the resin would run out",
                "write a depth such as 2 mm; `through` is for holes",
            )
        return Measured.read(self, scalar)


@dataclass(frozen=True)
class Count(Leaf):
    """A whole number."""

    least: int
    most: int
    wants = "a whole number"

    def read(self, scalar: Scalar) -> int:
        """Read the number and hold it against its limits."""
        value = read_number(scalar.text)
        if value != int(value):
            raise slip("number-unreadable", f"{scalar.text} is not a whole number", "round it")
        if not self.least <= value <= self.most:
            raise slip(
                "value-out-of-range",
                f"{scalar.text} is out of range",
                f"write a whole number from {self.least} to {self.most}",
            )
        return int(value)

    def schema(self) -> dict[str, Any]:
        """Describe an integer with limits."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True)
class Factor(Leaf):
    """A plain number or a percentage, above nothing."""

    most: float
    wants = "a number such as 1.5 or a percentage"

    def read(self, scalar: Scalar) -> float:
        """Read the number and hold it against its limits."""
        percent = scalar.text.rstrip().endswith("%")
        value = read_quantity(scalar.text, Quantity.SHARE) if percent else read_number(scalar.text)
        if not 0 < value <= self.most:
            raise slip(
                "value-out-of-range",
                f"{scalar.text} is out of range",
                f"write more than 0 and at most {self.most:g}",
            )
        return value

    def text(self, value: float) -> str:
        """Write the number."""
        return number_text(value, DECIMALS)

    def schema(self) -> dict[str, Any]:
        """Describe a number or a percentage."""
        number = {"type": "number", "exclusiveMinimum": 0, "maximum": self.most}
        return {"anyOf": [number, {"type": "string", "pattern": rf"^{NUMBER_PATTERN}\s*%$"}]}


@dataclass(frozen=True)
class Held(Leaf):
    """A weight or a volume, in g or cm3, for tools that show either."""

    wants = "a weight (0.01 g) or a volume (0.2 cm3)"
    text = Kind.text

    def read(self, scalar: Scalar) -> float:
        """Return g of a weight or cm3 of a volume."""
        try:
            value = read_quantity(scalar.text, Quantity.MASS)
        except UnitError as error:
            if error.code != "unit-of-another-kind":
                raise
            value = read_quantity(scalar.text, Quantity.VOLUME)
        if not 0 < value <= 100_000:
            raise slip("value-out-of-range", f"{scalar.text} is out of range", "write more than 0")
        return value

    def schema(self) -> dict[str, Any]:
        """Describe either as a string."""
        units = f"({_UNIT_PATTERNS[Quantity.MASS]}|{_UNIT_PATTERNS[Quantity.VOLUME]})"
        return {"type": "string", "pattern": rf"^\s*{NUMBER_PATTERN}\s*{units}\s*$"}


def length(least: float, most: float, *, above: bool = False) -> Measured:
    """Return the kind of a length, in mm."""
    return Measured(Quantity.LENGTH, least, most, above)


def share(least: float = 0.0, most: float = 1.0, *, above: bool = False) -> Measured:
    """Return the kind of a share, written in percent."""
    return Measured(Quantity.SHARE, least, most, above)


LONGEST_MM: Final = 5000.0
LENGTH: Final = length(0.0, LONGEST_MM, above=True)
LENGTH_OR_NONE: Final = length(0.0, LONGEST_MM)
COORDINATE: Final = length(-LONGEST_MM, LONGEST_MM)
ANGLE: Final = Measured(Quantity.ANGLE, -7.0, 7.0)
