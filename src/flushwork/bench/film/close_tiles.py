"""Tiles close up, down to the cell of the replay: made when they are looked at, known by a hash.

A page first asks what the tiles in sight are called, and then for those alone that it has not had:
what goes by the hash of its own bytes never changes, so a browser may keep it for good.
"""

from __future__ import annotations

import threading
import zlib
from collections import Counter, OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from flushwork.bench.film.film import FilmTile

MOST_BYTES: Final = 32 * 1024 * 1024
"""Of packed tiles kept until they are sent: some ten screens full of them."""

MOST_TILES: Final = 1024
"""Asked for at once: more than a large screen shows of the smallest tiles."""


@dataclass(frozen=True, slots=True)
class _Packed:
    name: str
    data: bytes


class CloseTiles:
    """Tiles that pages look at close up; the longest unused ones are forgotten."""

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        self._most_bytes = most_bytes
        self._lock = threading.Lock()
        self._made: OrderedDict[tuple[str, int], _Packed] = OrderedDict()
        self._named: dict[str, _Packed] = {}
        self._uses: Counter[str] = Counter()
        self.held_bytes = 0

    def names(self, tiles: Sequence[FilmTile], factor: int) -> list[str]:
        """Return the hashes of tiles, ``factor`` cells to a pixel."""
        with self._lock:
            missing = [tile for tile in tiles if (tile.name, factor) not in self._made]
        # loaded with the first tiles: the server is up before the heavy rooms are
        from flushwork.runtime.pool import map_threads  # noqa: PLC0415

        fresh = map_threads(lambda tile: _packed(tile, factor), missing)
        with self._lock:
            for tile, packed in zip(missing, fresh, strict=True):
                self._keep((tile.name, factor), packed)
            made = {tile.name: packed.name for tile, packed in zip(missing, fresh, strict=True)}
            for tile in tiles:
                known = self._made.get((tile.name, factor))
                if known is not None:
                    self._made.move_to_end((tile.name, factor))
                    made[tile.name] = known.name
            self._forget()
        return [made[tile.name] for tile in tiles]

    def data(self, name: str) -> bytes | None:
        """Return the pixels that go by a name; None where they are forgotten by now."""
        with self._lock:
            found = self._named.get(name)
        return None if found is None else zlib.decompress(found.data)

    def _keep(self, key: tuple[str, int], packed: _Packed) -> None:
        if key in self._made:
            return
        known = self._named.setdefault(packed.name, packed)
        if known is packed:
            self.held_bytes += len(packed.data)
        self._uses[packed.name] += 1
        self._made[key] = known

    def _forget(self) -> None:
        while self.held_bytes > self._most_bytes and len(self._made) > 1:
            _, old = self._made.popitem(last=False)
            self._uses[old.name] -= 1
            if not self._uses[old.name]:
                del self._uses[old.name], self._named[old.name]
                self.held_bytes -= len(old.data)


def _packed(tile: FilmTile, factor: int) -> _Packed:
    pixels = tile.closely(factor).data()
    return _Packed(blake2b(pixels, digest_size=12).hexdigest(), zlib.compress(pixels, 1))


__all__ = ["MOST_BYTES", "MOST_TILES", "CloseTiles"]
