"""A job before anything is cut: started, read, drawn, its stages listed.

Nothing heavy is imported with this module: reading can begin while the other rooms still load.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flushwork.core.keys.words import quoted
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
    from flushwork.views.stage_views import stage_lines  # noqa: PLC0415

    return "".join(f"{line}\n" for line in stage_lines(plan))


def schema(which: str = "job") -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the ``job`` file or the ``shop`` file, for editors.

    Raises KeyError for any other.
    """
    from flushwork.job.schema import job_schema, shop_schema  # noqa: PLC0415

    return {"job": job_schema, "shop": shop_schema}[which]()


# ---- The two small files that ``flushwork new`` writes


_JOB: Final = """\
# A small board: one disc of resin.  Change it, then run: flushwork check job.yaml
flushwork: 2
title: {title}
shop: shop.yaml               # what your shop has; leave it out to try the starter shop
pieces: 1
blank:                        # the piece of wood as sawn; along its length is left to right
  wood: black cherry
  length: 130 mm
  width: 130 mm
  thickness: 12 mm
trim line: {{circle: 100 mm}}   # the final outline, in the middle of the blank
mixes:
  teal: {{resin: coating epoxy, pigments: [{{name: teal flake, share: 3 %}}]}}
front:
  inlays:
    - {{name: disc, circle: 40 mm, depth: 2.5 mm, fill: teal}}
"""

_SHOP: Final = """\
# What your shop has.  Whatever you leave out comes from the packaged starter shop.
flushwork shop: 2
name: My shop
machine:
  travel: [600 mm, 420 mm, 90 mm]   # right, away, up
  feed: 3000 mm/min                 # the fastest it may go while cutting
  gcode files: {units: metric, arcs: yes, drilling cycles: yes, tool change: stop}
holding: [dowels, corner stop]      # the usual one first
bits:                            # a plain name takes it from the packaged shelf
  - 1 mm flat
  - 1.588 mm flat
  - 3.175 mm flat
  - 6.35 mm flat
  - 60 deg V-bit
  - 25 mm facing bit
  - {name: my 1/32, like: 0.794 mm flat, diameter: 0.8 mm}   # measured, not as sold
air: {day temperature: 20 degC, night temperature: 16 degC, humidity: 45 %}
hours: {opens: "8:00", closes: "18:00"}
days: [Monday, Tuesday, Wednesday, Thursday, Friday]
"""


def starter_job_text(title: str) -> str:
    """Return a small complete job file with this title.

    It names ``shop.yaml`` beside it (``starter_shop_text``).
    """
    return _JOB.format(title=quoted(" ".join(title.split()) or "My first board"))


def starter_shop_text() -> str:
    """Return a small complete shop file."""
    return _SHOP
