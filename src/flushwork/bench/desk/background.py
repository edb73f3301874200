"""Long work behind the page, one piece at a time, that gives way to the desk's own builds."""

from __future__ import annotations

import threading
import time
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Generic, TypeVar

_REST_S: Final = 0.05


@dataclass
class LongWork(ABC):
    """Work under way or done; ``left`` once nobody waits for it."""

    left: bool = False

    @abstractmethod
    def fail(self, why: str) -> None:
        """Note that it broke off, so that the page hears of it."""


class LeftError(Exception):
    """Nobody waits for this work any more."""


Work_ = TypeVar("Work_", bound=LongWork)


class Background(Generic[Work_]):
    """Does one piece of work on a thread of its own; a new one takes the place of the old.

    ``pause`` tells whether the desk itself is at work.
    """

    def __init__(self, path: Path, pause: Callable[[], bool]) -> None:
        self.path = path
        self.lock = threading.RLock()
        self.now: Work_ | None = None
        self._pause = pause
        self._one = threading.Lock()

    def begin(self, work: Work_, do: Callable[[Work_], None]) -> None:
        """Leave what is under way, and do this."""
        with self.lock:
            self.leave()
            self.now = work
        name = type(work).__name__
        threading.Thread(target=self._run, args=(work, do), name=name, daemon=True).start()

    def leave(self) -> None:
        """Leave what is under way at its next room; what is known stays."""
        with self.lock:
            if self.now is not None:
                self.now.left = True

    def give_way(self, work: Work_) -> None:
        """Wait while the desk is at work.  Raises LeftError where nobody waits for this."""
        while self._pause() and not work.left:
            time.sleep(_REST_S)
        if work.left:
            raise LeftError

    def _run(self, work: Work_, do: Callable[[Work_], None]) -> None:
        with self._one:
            try:
                do(work)
            except LeftError:
                return
            except Exception as error:  # noqa: BLE001 - the page must hear of it
                work.fail(f"{type(error).__name__}: {error}")
