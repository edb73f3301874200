"""What a page asks for as soon as it hears of a new picture, made ready before it can ask."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    # loaded by the building thread, so that the page answers before the heavy rooms are there
    from flushwork.bench.desk.snapshot import Snapshot
    from flushwork.bench.film.film import Film
    from flushwork.built import Build
    from flushwork.job.records import FaceName
    from flushwork.views.book_records import UnitSystem


@dataclass(frozen=True, slots=True)
class Gaze:
    """Where a page looks: a stage, a face, and the units it speaks in."""

    stage: int
    face: FaceName
    units: UnitSystem


class Prefetch:
    """The film of a build that is still to be checked, painted where the page looks meanwhile."""

    def __init__(self, film_of: Callable[[Build], Film], gaze: Gaze | None) -> None:
        self._film_of, self._gaze = film_of, gaze
        self._film: Film | None = None
        self._painting = threading.Thread(target=self._paint, name="prefetch", daemon=True)

    def look(self, made: Build) -> None:
        """Make the film, and begin to paint."""
        self._film = self._film_of(made)
        if self._gaze is not None:
            self._painting.start()

    @property
    def film(self) -> Film:
        """The film; there is one once the build has been looked at."""
        if self._film is None:
            raise RuntimeError("nothing has been looked at yet")
        return self._film

    def word(self, snapshot: Snapshot) -> None:
        """Render the parts of the page in its units, and wait until all is painted."""
        from flushwork.bench.server.rendering import rendered_parts  # noqa: PLC0415

        if self._gaze is not None:
            rendered_parts(snapshot, self._gaze.units)
            self._painting.join()

    def _paint(self) -> None:
        if self._gaze is None:
            return
        shots = self.film.shots
        shot = next((each for each in shots if each.stage == self._gaze.stage), shots[-1])
        for number in dict.fromkeys(getattr(shot, self._gaze.face).tiles.values()):
            _ = self.film.tiles[number].screen


__all__ = ["Gaze", "Prefetch"]
