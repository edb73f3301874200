"""The kinds of value a key can hold: each reads one scalar and describes itself in the schema.

A value that cannot be read raises ``PydanticCustomError`` whose type is a finding's code and whose
context holds the message and the remedy.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import Any, Final, Literal, cast

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from flushwork.job.located import Scalar
from flushwork.units import (
    Quantity,
    Ratio,
    UnitError,
    quantity_text,
    read_clock,
    read_number,
    read_quantity,
    read_ratio,
    read_size,
)

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
    Quantity.DENSITY: "(g/cm3|g/ml|kg/m3)",
    Quantity.VISCOSITY: "(Pa s|mPa s)",
    Quantity.FORCE: "(N|kN)",
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


class Leaf:
    """One kind of value: ``read`` turns its text into a value."""

    wants: str = "a value"

    def read(self, scalar: Scalar) -> Any:
        """Read the value, or raise ``UnitError`` or ``PydanticCustomError``."""
        raise NotImplementedError

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the value."""
        raise NotImplementedError

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

    def schema(self) -> dict[str, Any]:
        """Describe a number or a percentage."""
        number = {"type": "number", "exclusiveMinimum": 0, "maximum": self.most}
        return {"anyOf": [number, {"type": "string", "pattern": rf"^{NUMBER_PATTERN}\s*%$"}]}


@dataclass(frozen=True)
class Words(Leaf):
    """Free text of one line, a number too."""

    longest: int = 200
    wants = "words"

    def read(self, scalar: Scalar) -> str:
        """Return the words as typed."""
        text = scalar.text.strip()
        if not text:
            raise slip("key-empty", "nothing is written here", "write words, or leave it out")
        if len(text) > self.longest or not text.isprintable():
            raise slip(
                "words-unfit",
                "the words are too long or hold a sign that cannot be printed",
                f"write at most {self.longest} letters on one line",
            )
        return text

    def schema(self) -> dict[str, Any]:
        """Describe a string or number."""
        return {"type": ["string", "number"], "minLength": 1, "maxLength": self.longest}


@dataclass(frozen=True)
class OneOf(Leaf):
    """One of a few words."""

    choices: tuple[str, ...]

    @property
    def wants(self) -> str:  # type: ignore[override]
        """List the words."""
        return "one of: " + ", ".join(self.choices)

    def read(self, scalar: Scalar) -> str:
        """Return the word."""
        text = scalar.text.strip()
        if text not in self.choices:
            raise slip(
                "word-unknown",
                f"'{text}' is not among the words known here",
                f"{near(text, self.choices)}write {self.wants}",
            )
        return text

    def schema(self) -> dict[str, Any]:
        """Describe the choice."""
        return {"enum": list(self.choices)}


@dataclass(frozen=True)
class YesNo(Leaf):
    """Yes or no."""

    wants = "yes or no"

    def read(self, scalar: Scalar) -> bool:
        """Return the truth."""
        word = scalar.text.strip().lower()
        if word not in ("yes", "no", "true", "false"):
            raise slip("word-unknown", f"'{scalar.text}' is neither yes nor no", "write yes or no")
        return word in ("yes", "true")

    def schema(self) -> dict[str, Any]:
        """Describe both spellings."""
        return {"enum": ["yes", "no", True, False]}


@dataclass(frozen=True)
class Colour(Leaf):
    """A colour as ``#rrggbb``."""

    wants = 'a colour in quotes such as "#0b6a72"'

    def read(self, scalar: Scalar) -> str:
        """Return the colour in small letters."""
        text = scalar.text.strip().lower()
        if not re.fullmatch(r"#[0-9a-f]{6}", text):
            raise slip("colour-unreadable", f"'{text}' is not a colour", f"write {self.wants}")
        return text

    def schema(self) -> dict[str, Any]:
        """Describe six hexadecimal digits."""
        return {"type": "string", "pattern": "^#[0-9a-fA-F]{6}$"}


@dataclass(frozen=True)
class Proportion(Leaf):
    """A ratio such as ``100:45 by weight``."""

    wants = "a ratio such as 5:1 or 100:45 by weight"

    def read(self, scalar: Scalar) -> Ratio:
        """Return the ratio."""
        return read_ratio(scalar.text)

    def schema(self) -> dict[str, Any]:
        """Describe the ratio as a string."""
        part = r"\d+\.?\d*"
        return {
            "type": "string",
            "pattern": rf"^\s*{part}\s*:\s*{part}(\s+by (weight|volume))?\s*$",
        }


@dataclass(frozen=True)
class Size(Leaf):
    """A length by a width."""

    wants = "a size such as 320 mm x 170 mm"

    def read(self, scalar: Scalar) -> tuple[float, float]:
        """Return both lengths in mm."""
        first, second = read_size(scalar.text)
        if not (0 < first <= 5000 and 0 < second <= 5000):
            raise slip(
                "value-out-of-range",
                f"{scalar.text} is out of range",
                "write two lengths, each more than 0 mm and at most 5000 mm",
            )
        return first, second

    def schema(self) -> dict[str, Any]:
        """Describe the size as a string."""
        return {"type": "string", "pattern": "^.*\\d.*[xX\u00d7].*\\d.*$"}


@dataclass(frozen=True)
class Clock(Leaf):
    """A time of day."""

    wants = "a time of day such as 8:00"

    def read(self, scalar: Scalar) -> float:
        """Return hours after midnight."""
        return read_clock(scalar.text)

    def schema(self) -> dict[str, Any]:
        """Describe hours and minutes."""
        return {"type": "string", "pattern": r"^\d{1,2}:\d{2}$"}


@dataclass(frozen=True)
class Version(Leaf):
    """The version of the file's language."""

    wants = "1"

    def read(self, scalar: Scalar) -> Literal[1]:
        """Accept the one version there is."""
        if scalar.text.strip() != "1":
            raise slip(
                "version-unknown",
                f"version {scalar.text} of the file is not known to this program",
                "write 1, or use the program that wrote the file",
            )
        return 1

    def schema(self) -> dict[str, Any]:
        """Describe the one version."""
        return {"const": 1}


@dataclass(frozen=True)
class Held(Leaf):
    """A weight or a volume, in g or cm3, for tools that show either."""

    wants = "a weight (0.01 g) or a volume (0.2 cm3)"

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
