"""A job file's text before it is saved: read as if it stood in its file."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from flushwork.errors import JobRefusedError
from flushwork.job.job_keys import JobKeys
from flushwork.job.job_records import job_of
from flushwork.job.located import Scalar, read_tree
from flushwork.job.read import read_shop
from flushwork.job.reading import Reading
from flushwork.job.records import Job
from flushwork.job.section import findings_of
from flushwork.shelf.items import Shop
from flushwork.shelf.starter import starter_shop


def job_of_text(text: str, path: Path) -> Job:
    """Return the job a text would be if it stood in the file ``path``.

    Artwork and shop are found beside that file.  Raises ``JobRefusedError`` with a finding for
    every slip.
    """
    reading = Reading(read_tree(text, path.name))
    keys: JobKeys | None = None
    try:
        keys = JobKeys.model_validate(reading.tree.root)
    except ValidationError as error:
        reading.findings.extend(findings_of(error, reading.tree))
    shop = _shop(path, reading)
    if keys is None or shop is None:
        raise JobRefusedError(reading.findings)
    given = frozenset(".".join(map(str, place)) for place in reading.tree.marks)
    job = job_of(keys, reading, shop, str(path.parent), given)
    if reading.findings:
        raise JobRefusedError(reading.findings)
    return job


def _shop(path: Path, reading: Reading) -> Shop | None:
    named = reading.tree.root.get("shop")
    if not isinstance(named, Scalar) or named.kind == "nothing":
        return starter_shop()
    if not named.text.isprintable():
        return None
    try:
        asked = reading.tree.source(("shop",))
        return read_shop(path.parent / named.text, named.text, asked)
    except JobRefusedError as error:
        reading.findings.extend(error.findings)
        return None
