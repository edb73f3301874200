"""What the replay says has to be poured: requests by stage and mix."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from flushwork.job.records import Mix
from flushwork.resin.pours import Served
from flushwork.strata.board import Poured


@dataclass(frozen=True, slots=True)
class PourRequest:
    """The liquid of one mix wanted at one stage, per piece, for a number of pieces.

    Requests of one ``session`` (fills made one after another, before any of them is cut again) may
    be gathered into one batch, or coloured out of one clear batch; by default a stage is its own
    session.  ``fill_s`` is the time one piece takes to fill.  ``first`` is the place of the first
    piece among all of the run.
    """

    stage: int
    mix: Mix
    pieces: int
    serves: tuple[Served, ...]
    session: int | None = None
    fill_s: float = 0.0
    first: int = 0

    @property
    def gathers_with(self) -> int:
        """The session this request belongs to."""
        return self.stage if self.session is None else self.session

    @property
    def needed_cm3(self) -> float:
        """The replayed liquid for all pieces."""
        return self.pieces * sum(each.pocket_cm3 + each.over_cm3 for each in self.serves)


def requests_for(
    poured: Iterable[Poured],
    mixes: Mapping[str, Mix],
    pieces: int,
    sessions: Mapping[int, int] | None = None,
    pockets: Mapping[str, int] | None = None,
    first: int = 0,
) -> tuple[PourRequest, ...]:
    """Return one request per stage and mix, in the order of the replay.

    ``sessions`` maps a stage to the session it is poured in, ``pockets`` an inlay to the number of
    pockets it is made of, ``first`` the place of the first piece among all of the run.
    """
    grouped: dict[tuple[int, str], list[Served]] = {}
    for each in poured:
        served = Served(
            subject=each.subject,
            face=each.face,
            pocket_cm3=each.pocket_mm3 / 1000.0,
            over_cm3=each.over_mm3 / 1000.0,
            walls_mm2=each.bare_mm2,
            pockets=(pockets or {}).get(each.subject, 1),
        )
        grouped.setdefault((each.stage, each.mix), []).append(served)
    return tuple(
        PourRequest(
            stage, mixes[mix], pieces, tuple(serves), (sessions or {}).get(stage), first=first
        )
        for (stage, mix), serves in grouped.items()
    )
