"""One task of a run: a stage, or a part of it, done to some pieces."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.plan.stages import POURING, Stage


@dataclass(frozen=True, slots=True)
class StagePart:
    """One task of the run: a stage, or a part of it, done to some pieces (by index).

    ``tools`` are the cutters it takes, in order; ``mounts`` says that it begins a mounting.
    ``cup`` is the number that pours out of one mixed cup have in common, ``life_min`` its pot life.
    ``air_min`` of its minutes its files run in air first.  ``done`` is from when until when it was
    done, None where it is still to be done.
    """

    name: str
    stage: Stage
    pieces: tuple[int, ...]
    minutes: int
    pour: int = 0
    coat: int = 0
    mounts: bool = False
    tools: tuple[str, ...] = ()
    cup: int = 0
    life_min: int = 0
    air_min: int = 0
    done: tuple[int, int] | None = None

    @property
    def poured(self) -> bool:
        """Whether it is one batch put on or into all its pieces."""
        return self.pour > 0 or self.stage.kind in POURING

    @property
    def machine(self) -> bool:
        """Whether it runs on the machine, or by hand on what is mounted there."""
        return self.stage.mounting > 0
