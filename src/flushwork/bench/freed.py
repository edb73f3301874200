"""Memory that was freed, given back to the system."""

from __future__ import annotations

import ctypes
import sys
from functools import cache
from typing import Any, Final

_TRIM, _MMAP, _ARENAS = -1, -3, -8
"""Numbers of M_TRIM_THRESHOLD, M_MMAP_THRESHOLD and M_ARENA_MAX (mallopt(3), Linux man-pages)."""
LARGE_BYTES: Final = 4 * 1024 * 1024
"""A piece so large goes back the moment it is freed; most tiles and tables are smaller."""
FREE_BYTES: Final = 32 * 1024 * 1024
ARENAS: Final = 2
"""Places to allocate from: as many as threads that work at once, not as many as there ever were."""


@cache
def _library() -> Any:
    """Return the C library where it can give memory back (glibc), else None."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        library = ctypes.CDLL("libc.so.6")
    except OSError:
        return None
    return library if hasattr(library, "malloc_trim") else None


def hold_little() -> None:
    """Have the allocator hold little that is free; called once, before the threads begin."""
    library = _library()
    if library is not None:
        for which, value in ((_ARENAS, ARENAS), (_MMAP, LARGE_BYTES), (_TRIM, FREE_BYTES)):
            library.mallopt(which, value)


def return_freed() -> None:
    """Give back what was freed: else an allocator with many threads keeps a good part of it.

    A walk frees as much as it takes; what it leaves in pieces between what lives on would be held
    until the process ends (malloc_trim(3), Linux man-pages).
    """
    library = _library()
    if library is not None:
        library.malloc_trim(0)
