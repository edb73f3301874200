"""The first two rooms at once: a job file read, its artwork drawn."""

from __future__ import annotations

from pathlib import Path

from flushwork.geometry.draw import draw_faces
from flushwork.geometry.drawn import Begun
from flushwork.job.read import read_job


def begin(path: Path, text: str | None = None) -> Begun:
    """Read a job file and draw its artwork; ``text`` stands in for what the file holds.

    Raises JobRefusedError, with findings, where the job or its artwork cannot be read.
    """
    job = read_job(path, text)
    return job, draw_faces(job)
