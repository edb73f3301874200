"""A job before anything is cut: started, read, drawn, its stages listed.

Nothing heavy is imported with this module: reading can begin while the other rooms still load.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flushwork.runtime.pool import run_aside

if TYPE_CHECKING:
    from flushwork.art.drawn import Begun
    from flushwork.job.records import Job
    from flushwork.process.stages import Plan


def new(folder: Path | str, title: str = "") -> tuple[Path, Path]:
    """Write a small complete job file and shop file to change; return both paths.

    ``title`` is what is being made; without one it is the folder's name.  Raises StoreError where
    one of the two files is there already or the folder cannot be written.
    """
    from flushwork.job.new_job import starter_job_text, starter_shop_text  # noqa: PLC0415
    from flushwork.store import write_new  # noqa: PLC0415

    folder = Path(folder)
    job, shop = folder / "job.yaml", folder / "shop.yaml"
    write_new(job, starter_job_text(title or folder.name))
    write_new(shop, starter_shop_text())
    return job, shop


def load(path: Path | str, text: str | None = None) -> Job:
    """Read a job file with its shop file; ``text`` stands in for what the job file holds.

    Every length in the job is in mm, every time in s, every angle in radians.  Raises
    JobRefusedError, with a finding for each slip, where the job cannot be read.
    """
    from flushwork.job.read import read_job  # noqa: PLC0415

    return read_job(Path(path), text)


def preread(path: Path | str, text: str | None = None) -> Begun:
    """Read a job and draw its artwork: what every build begins with.

    Raises JobRefusedError, with the findings of all that is wrong in either.
    """
    from flushwork.art.draw import begin  # noqa: PLC0415

    return begin(Path(path), text)


def background_read(path: Path) -> AbstractContextManager[Callable[[], Begun]]:
    """Have ``preread`` done by a copy of this process during the ``with`` block.

    Enter it before any heavy room is loaded: reading and the rest need different libraries, and
    loading them takes longer than reading.  What the block is handed waits for the result, and
    raises what ``preread`` raises.
    """
    return run_aside(lambda: preread(path))


def stages(path: Path | str) -> Plan:
    """Return the stages of a job in working order, each with the reason for its place.

    Nothing is cut or checked for it.  Raises JobRefusedError where the job cannot be read.
    """
    from flushwork.process.infer_stages import infer_plan  # noqa: PLC0415

    job, faces = preread(path)
    return infer_plan(job, faces)


def stages_text(plan: Plan) -> str:
    """Return stages as lines of text: setups as headings, each stage with its reason."""
    from flushwork.views.stage_list import stage_lines  # noqa: PLC0415

    return "".join(f"{line}\n" for line in stage_lines(plan))


def schema(which: str = "job") -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the ``job`` file or the ``shop`` file, for editors.

    Raises KeyError for any other.
    """
    from flushwork.job.schema import job_schema, shop_schema  # noqa: PLC0415

    return {"job": job_schema, "shop": shop_schema}[which]()
