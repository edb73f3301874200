"""Values that are words: names, choices, colours, ratios, sizes, times of day."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Final, Literal

from pydantic_core import PydanticCustomError

from flushwork.core.keys.quantities import LENGTH_OR_NONE, Kind, Leaf, near, slip
from flushwork.core.keys.renamed import CODES, VALUES, step_now
from flushwork.core.keys.tree import Scalar
from flushwork.core.units import Ratio, ratio_text, read_clock, read_ratio, read_size

_PLAIN: Final = re.compile(r"[A-Za-z][A-Za-z0-9 _./()-]*[A-Za-z0-9_./()]|[A-Za-z]")
_OTHER: Final = frozenset({"null", "true", "false", "Null", "NULL", "True", "False"})


def quoted(text: str) -> str:
    """Return a text as a YAML value, in quotes where it needs them."""
    if _PLAIN.fullmatch(text) and text not in _OTHER:
        return text
    return json.dumps(text, ensure_ascii=False)


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

    def text(self, value: str) -> str:
        """Write the words, in quotes where they need them."""
        return quoted(value)

    def schema(self) -> dict[str, Any]:
        """Describe a string or number."""
        return {"type": ["string", "number"], "minLength": 1, "maxLength": self.longest}


@dataclass(frozen=True)
class FileEnding(Words):
    """The ending of a file's name, without its dot."""

    def read(self, scalar: Scalar) -> str:
        """Return the ending in small letters."""
        ending = Words.read(self, scalar).removeprefix(".").lower()
        if not re.fullmatch("[a-z0-9]{1,8}", ending):
            raise slip(
                "ending-unfit",
                f"'{ending}' cannot end a file's name",
                "write up to eight letters and digits, such as `nc`",
            )
        return ending


def renamed_slip(old: str, now: str) -> PydanticCustomError:
    """Return the slip of a word of the first version, with the one that is written now."""
    return slip("word-renamed", f"'{old}' is called '{now}' now", f"write `{now}`")


@dataclass(frozen=True)
class StepWords(Words):
    """A step of the work: its kind, and what it is done to."""

    longest: int = 100

    def read(self, scalar: Scalar) -> str:
        """Return the step as typed."""
        step = Words.read(self, scalar)
        now = step_now(step)
        if now is not None:
            raise renamed_slip(step, now)
        return step


@dataclass(frozen=True)
class Code(Words):
    """The code of a finding."""

    longest: int = 80

    def read(self, scalar: Scalar) -> str:
        """Return the code as typed."""
        code = Words.read(self, scalar)
        if code in CODES:
            raise renamed_slip(code, CODES[code])
        return code


@dataclass(frozen=True)
class WordLines(Words):
    """Free text of one line or several, each as ``Words`` has it."""

    described = MappingProxyType({"type": ["string", "number"], "minLength": 1})
    schema = Leaf.schema

    def read(self, scalar: Scalar) -> str:
        """Return the lines without the blanks around each."""
        read = super().read
        lines = scalar.text.strip().split("\n")
        if len(lines) == 1:
            return read(scalar)
        return "\n".join(line.strip() and read(replace(scalar, text=line)) for line in lines)


@dataclass(frozen=True)
class OneOf(Leaf):
    """One of a few words; of a type of words it is the word of that type."""

    choices: tuple[str, ...] | type[StrEnum]

    @property
    def wants(self) -> str:  # type: ignore[override]
        """List the words."""
        return "one of: " + ", ".join(self.choices)

    def read(self, scalar: Scalar) -> Any:
        """Return the word."""
        text = scalar.text.strip()
        for each in self.choices:
            if text == each:
                return each
        if VALUES.get(text) in tuple(self.choices):
            raise renamed_slip(text, VALUES[text])
        raise slip(
            "word-unknown",
            f"'{text}' is not among the words known here",
            f"{near(text, tuple(self.choices))}write {self.wants}",
        )

    def text(self, value: str) -> str:
        """Write the word."""
        return quoted(str(value))

    def schema(self) -> dict[str, Any]:
        """Describe the choice."""
        return {"enum": list(self.choices)}


@dataclass(frozen=True)
class Either(Leaf):
    """One of two words, of which the first means yes, or the second with ``second``."""

    one: str
    other: str
    second: bool = False

    def read(self, scalar: Scalar) -> bool:
        """Return whether it is the word for yes."""
        word: str = OneOf((self.one, self.other)).read(scalar)
        return (word == self.other) == self.second

    def text(self, value: object) -> str:
        """Write the word."""
        return quoted(self.other if bool(value) == self.second else self.one)

    @property
    def wants(self) -> str:  # type: ignore[override]
        """List the words."""
        return OneOf((self.one, self.other)).wants

    def schema(self) -> dict[str, Any]:
        """Describe the choice."""
        return OneOf((self.one, self.other)).schema()


@dataclass(frozen=True)
class YesNo(Leaf):
    """Yes or no."""

    wants = "yes or no"
    described = MappingProxyType({"enum": ["yes", "no", True, False]})

    def read(self, scalar: Scalar) -> bool:
        """Return the truth."""
        word = scalar.text.strip().lower()
        if word not in ("yes", "no", "true", "false"):
            raise slip("word-unknown", f"'{scalar.text}' is neither yes nor no", "write yes or no")
        return word in ("yes", "true")

    def text(self, value: object) -> str:
        """Write the word."""
        return "yes" if value else "no"


@dataclass(frozen=True)
class Colour(Leaf):
    """A colour as ``#rrggbb``."""

    wants = 'a colour in quotes such as "#0b6a72"'
    described = MappingProxyType({"type": "string", "pattern": "^#[0-9a-fA-F]{6}$"})

    def read(self, scalar: Scalar) -> str:
        """Return the colour in small letters."""
        text = scalar.text.strip().lower()
        if not re.fullmatch(r"#[0-9a-f]{6}", text):
            raise slip("colour-unreadable", f"'{text}' is not a colour", f"write {self.wants}")
        return text

    def text(self, value: str) -> str:
        """Write the colour in quotes."""
        return quoted(value)


@dataclass(frozen=True)
class Proportion(Leaf):
    """A ratio such as ``100:45 by weight``."""

    wants = "a ratio such as 5:1 or 100:45 by weight"
    described = MappingProxyType(
        {
            "type": "string",
            "pattern": r"^\s*\d+\.?\d*\s*:\s*\d+\.?\d*(\s+by (weight|volume))?\s*$",
        }
    )

    def read(self, scalar: Scalar) -> Ratio:
        """Return the ratio."""
        return read_ratio(scalar.text)

    def text(self, value: Ratio) -> str:
        """Write the ratio."""
        return ratio_text(value)


@dataclass(frozen=True)
class Size(Leaf):
    """A length by a width."""

    wants = "a size such as 320 mm x 170 mm"
    described = MappingProxyType({"type": "string", "pattern": "^.*\\d.*[xX\u00d7].*\\d.*$"})

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

    def text(self, value: tuple[float, float]) -> str:
        """Write both lengths."""
        return " x ".join(map(LENGTH_OR_NONE.text, value))


@dataclass(frozen=True)
class Clock(Leaf):
    """A time of day."""

    wants = "a time of day such as 8:00"
    described = MappingProxyType({"type": "string", "pattern": r"^\d{1,2}:\d{2}$"})
    text = Kind.text

    def read(self, scalar: Scalar) -> float:
        """Return hours after midnight."""
        return read_clock(scalar.text)


@dataclass(frozen=True)
class Version(Leaf):
    """The version of the file's language."""

    wants = "2"
    described = MappingProxyType({"const": 2})

    def read(self, scalar: Scalar) -> Literal[2]:
        """Accept the one version there is."""
        if scalar.text.strip() != "2":
            raise slip(
                "version-unknown",
                f"version {scalar.text} of the file is not known to this program",
                "write 2; where a word has changed since, a finding names the new one",
            )
        return 2


TRUTH: Final = YesNo()
COLOUR: Final = Colour()
