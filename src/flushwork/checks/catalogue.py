"""The catalogue of findings: what each code means, read from ``docs/findings.md``."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

from flushwork.core.keys.renamed import CODES

_HEADING = re.compile(r"^## (?P<code>[a-z0-9-]+)\s*$", re.MULTILINE)
_PART = re.compile(
    r"^\*\*(?P<name>Severity|Cause|Sum|Remedy|Source)\.\*\*\s+(?P<text>.+?)(?=^\*\*|^# |\Z)",
    re.MULTILINE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class CatalogueEntry:
    """One code: how heavy, why it arises, the sum behind it, what fixes it, where it is from."""

    code: str
    severity: str
    cause: str
    sum: str
    remedy: str
    source: str


def parse_catalogue(text: str) -> dict[str, CatalogueEntry]:
    """Return the entries of a catalogue text by code."""
    marks = list(_HEADING.finditer(text))
    ends = [mark.start() for mark in marks[1:]] + [len(text)]
    result: dict[str, CatalogueEntry] = {}
    for mark, end in zip(marks, ends, strict=True):
        parts = {
            part["name"]: " ".join(part["text"].split())
            for part in _PART.finditer(text[mark.end() : end])
        }
        result[mark["code"]] = CatalogueEntry(
            code=mark["code"],
            severity=parts.get("Severity", ""),
            cause=parts.get("Cause", ""),
            sum=parts.get("Sum", ""),
            remedy=parts.get("Remedy", ""),
            source=parts.get("Source", ""),
        )
    return result


@cache
def catalogue() -> dict[str, CatalogueEntry]:
    """Return the catalogue that came with this program."""
    packaged = files("flushwork") / "findings.md"
    if packaged.is_file():
        return parse_catalogue(packaged.read_text("utf-8"))
    return parse_catalogue(_checkout_page().read_text("utf-8"))


def _checkout_page() -> Path:
    return Path(__file__).resolve().parents[3] / "docs" / "findings.md"


def nearest(code: str) -> str | None:
    """Return the known code that looks most like a mistyped one, or that an old one has now."""
    if code in CODES:
        return CODES[code]
    close = difflib.get_close_matches(code, catalogue(), n=1)
    return close[0] if close else None
