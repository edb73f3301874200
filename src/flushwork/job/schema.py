"""The JSON Schema (2020-12) of both files, for editors.

Both are made from the same keys that read the files, so that neither can fall behind.
"""

from __future__ import annotations

from typing import Any, Final

from flushwork.job.art_keys import BELONGS
from flushwork.job.hole_keys import PATTERNS
from flushwork.job.job_keys import INLAY_KINDS, JobKeys
from flushwork.job.section import Section
from flushwork.job.shop_keys import ShopKeys

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema of a job file."""
    schema = _schema(JobKeys, "A Flushwork job file")
    groups = schema["$defs"]
    groups["InlayKeys"] |= _kinds(INLAY_KINDS)
    groups["ArtKeys"] |= _kinds(tuple(kind for kind in INLAY_KINDS if kind not in _NOT_ART))
    groups["TrimKeys"] |= _kinds(tuple(kind for kind in INLAY_KINDS if kind not in _NOT_ART))
    groups["HoleKeys"] |= {"oneOf": [{"required": [kind]} for kind in PATTERNS]}
    schema["anyOf"] = [{"required": ["front"]}, {"required": ["back"]}]
    return schema


def shop_schema() -> dict[str, Any]:
    """Return the JSON Schema of a shop file."""
    return _schema(ShopKeys, "A Flushwork shop file")


_NOT_ART: Final = ("seam line", "art")


def _kinds(kinds: tuple[str, ...]) -> dict[str, Any]:
    """Ask for one kind of artwork, and for the keys that go with it."""
    return {
        "oneOf": [{"required": [kind]} for kind in kinds],
        "dependentSchemas": {
            key: {"anyOf": [{"required": [kind]} for kind in belongs]}
            for key, belongs in BELONGS.items()
        },
    }


def _schema(keys: type[Section], title: str) -> dict[str, Any]:
    schema = keys.model_json_schema(by_alias=True)
    return {"$schema": DIALECT, "title": title} | {
        key: value for key, value in schema.items() if key != "title"
    }
