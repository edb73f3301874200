"""Read a job file and the shop file it names: text to frozen records, or every slip at once."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from flushwork.errors import JobRefusedError
from flushwork.findings import Source
from flushwork.job.job_keys import JobKeys
from flushwork.job.job_records import job_of
from flushwork.job.located import Scalar, Tree, read_text, read_tree
from flushwork.job.reading import Reading
from flushwork.job.records import Job
from flushwork.job.section import Section, findings_of
from flushwork.job.shop_keys import ShopKeys
from flushwork.job.shop_records import shop_of
from flushwork.memory import remembered
from flushwork.shelf.items import Shop
from flushwork.shelf.starter import starter_shop

S = TypeVar("S", bound=Section)


def read_job(path: Path, text: str | None = None) -> Job:
    """Return the job in a file, or as ``text`` has it in the file's place.

    Files named in the job (SVG, points, fonts) stay names, to be found from ``job.folder``; only
    the shop file is opened here.  Raises ``JobRefusedError`` with a finding for every slip.
    """
    held = read_text(path, path.name) if text is None else text
    reading = Reading(read_tree(held, path.name))
    keys = _document(JobKeys, reading)
    shop = _shop(path, reading)
    if keys is None or shop is None:
        raise JobRefusedError(reading.findings)
    given = frozenset(".".join(map(str, place)) for place in reading.tree.marks)
    job = job_of(keys, reading, shop, str(path.parent), given)
    if reading.findings:
        raise JobRefusedError(reading.findings)
    return job


def read_shop(path: Path, shown: str = "", asked: Source | None = None) -> Shop:
    """Return the shop in a file; ``asked`` is the key of the job that names it.

    Raises ``JobRefusedError`` with a finding for every slip.
    """
    shown = shown or path.name
    return _shop_in(read_text(path, shown, asked), shown)


@remembered
def _shop_in(text: str, shown: str) -> Shop:
    reading = Reading(read_tree(text, shown))
    keys = _document(ShopKeys, reading)
    shop = shop_of(keys, reading) if keys is not None else None
    if shop is None or reading.findings:
        raise JobRefusedError(reading.findings)
    return shop


def _document(model: type[S], reading: Reading) -> S | None:
    try:
        return model.model_validate(reading.tree.root)
    except ValidationError as error:
        reading.findings.extend(findings_of(error, reading.tree))
        return None


def _shop(path: Path, reading: Reading) -> Shop | None:
    """Read the shop the job names, even where the job has slips of its own."""
    tree: Tree = reading.tree
    named = tree.root.get("shop")
    if not isinstance(named, Scalar) or named.kind == "nothing":
        return starter_shop()
    if not named.text.isprintable():
        return None
    try:
        return read_shop(path.parent / named.text, named.text, tree.source(("shop",)))
    except JobRefusedError as error:
        reading.findings.extend(error.findings)
        return None
