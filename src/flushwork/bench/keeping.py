"""What of a build is looked at again: its film where another looks alike, its look next time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

from flushwork.bench.cached_page import save
from flushwork.bench.rendering import rendered_parts
from flushwork.bench.snapshot import Snapshot
from flushwork.findings import Source
from flushwork.pipeline import Build

_ANY: Final = Source(file="", line=0, column=0, key="")


def look_alike(old: Build, made: Build) -> bool:
    """Return whether two builds look the same to the last pixel."""
    return (
        old.replay is made.replay
        and old.palette == made.palette
        and replace(old.job.blank, source=made.job.blank.source, thickness_source=_ANY)
        == replace(made.job.blank, thickness_source=_ANY)
        and [face.trim for face in old.faces] == [face.trim for face in made.faces]
        and [stage.kind for stage in old.plan.stages] == [stage.kind for stage in made.plan.stages]
    )


def keep_look(path: Path, snapshot: Snapshot, given_up: Callable[[], bool]) -> bool:
    """Keep the look of a proved job for the next time; return whether nothing came between."""
    for number in {*snapshot.film.shots[-1].front.tiles.values()}:
        if given_up():
            return False
        _ = snapshot.film.tiles[number].screen
    parts = {
        "metric": rendered_parts(snapshot, "metric"),
        "inch": rendered_parts(snapshot, "inch"),
    }
    save(path, snapshot.text, snapshot.made.job, snapshot.film, parts)
    return True
