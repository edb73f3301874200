"""The JSON Schema (2020-12) of both files, for editors.

Both are made from the same keys that read the files, so that neither can fall behind.
"""

from __future__ import annotations

from typing import Any, Final

from flushwork.core.keys.declare import Keyed, model_of
from flushwork.job.keys.job import Job
from flushwork.job.keys.shop import ShopKeys

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema of a job file; only a part of one may have no blank."""
    faces = {"anyOf": [{"required": ["front"]}, {"required": ["back"]}]}
    whole = _schema(Job, "A Flushwork job file")
    return whole | {"required": [*whole["required"], "blank"]} | faces


def shop_schema() -> dict[str, Any]:
    """Return the JSON Schema of a shop file."""
    return _schema(ShopKeys, "A Flushwork shop file")


def _schema(record: type[Keyed], title: str) -> dict[str, Any]:
    schema = model_of(record).model_json_schema(by_alias=True)
    return {"$schema": DIALECT, "title": title} | {
        key: value for key, value in schema.items() if key != "title"
    }
