"""Names in a row and things by number, as English writes them."""

from __future__ import annotations

from collections.abc import Iterable


def listed(names: Iterable[str], most: int | None = None) -> str:
    """Return ``a, b and c``; with ``most``, only so many of them and the number of the others."""
    every = list(names)
    if most is not None and len(every) > most:
        every = [*every[:most], f"{len(every) - most} more"]
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} and {every[-1]}"


def plural(count: float, one: str, several: str = "") -> str:
    """Return the word for so many: ``hole`` or ``holes``; ``several`` where no ``s`` makes it."""
    return one if count == 1 else several or f"{one}s"


def counted(count: int, one: str, several: str = "") -> str:
    """Return ``1 hole`` or ``3 holes``."""
    return f"{count} {plural(count, one, several)}"
