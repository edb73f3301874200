"""The job file on the desk: its text as last read or saved, and who has changed it since.

How a text file is spelled: its line ends and byte order mark, kept when it is saved again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from flushwork.store import StoreError, cache_folder, digest, replace_text, write_folder

MARK = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Spelling:
    """Whether lines end as on Windows, and whether a byte order mark leads the text."""

    windows: bool = False
    mark: bool = False

    def write(self, text: str) -> bytes:
        """Return a text, its lines ended by a line feed alone, as the bytes of a file."""
        body = text.replace("\n", "\r\n") if self.windows else text
        return (MARK if self.mark else b"") + body.encode("utf-8")


def spell(data: bytes) -> tuple[str, Spelling]:
    """Return the text of a file with plain line ends, and how it was spelled.

    Raises UnicodeDecodeError where it is no UTF-8.
    """
    mark = data.startswith(MARK)
    text = data[len(MARK) if mark else 0 :].decode("utf-8")
    windows = "\r\n" in text and "\n" not in text.replace("\r\n", "")
    return text.replace("\r\n", "\n").replace("\r", "\n"), Spelling(windows, mark)


MOST_STEPS: Final = 200
MOST_BYTES: Final = 4 * 1024 * 1024
"""So many saved texts are kept, and so much of them in all; the oldest go."""


class JobFile:
    """A job file and what was saved of it before and, where something was undone, after.

    ``text`` and ``digest`` are the file as last read or saved, the digest empty where it could not
    be read; ``outside`` says that somebody else has changed it.  What was saved is kept byte for
    byte, in the user's cache folder as well, so that it outlives the bench.  For one thread at a
    time.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.text, self.digest, self.outside = "", "", False
        self._spelling = Spelling()
        self._data = b""
        self._past: list[bytes] = []
        self._next: list[bytes] = []
        self._stamp: tuple[int, int] = (0, 0)
        self.read()
        self._recall()

    @property
    def undoable(self) -> int:
        """How many saved texts one can go back to."""
        return len(self._past)

    @property
    def redoable(self) -> int:
        """How many undone texts one can go on to again."""
        return len(self._next)

    def texts(self) -> tuple[str, ...]:
        """Return all texts from the first kept to the last undone, that of now among them."""
        kept = (*self._past, self._data, *reversed(self._next))
        return tuple(spell(data)[0] for data in kept)

    def read(self) -> None:
        """Read the file as it stands."""
        try:
            self._stamp = self._stamp_now()
            self._data = self.path.read_bytes()
            self.text, self._spelling = spell(self._data)
            self.digest = digest(self._data)
        except (OSError, UnicodeDecodeError):
            # the reading room says what is wrong, in words, when it is asked to build
            self.text, self.digest, self._data = "", "", b""
        self.outside = False

    def readable(self) -> bool:
        """Whether what stands in the file can be taken: an empty one is being written."""
        try:
            data = self.path.read_bytes()
            return bool(spell(data)[0].strip()) or not self.text.strip()
        except (OSError, UnicodeDecodeError):
            return False

    def take_theirs(self) -> None:
        """Read the file as somebody else has left it; one can go back to the text before."""
        before = self._data
        self.read()
        if before != self._data:
            self._went_on(before)

    def save(self, text: str, was: str) -> str:
        """Save a text over the one with the digest ``was`` and return its digest.

        Raises ChangedOutsideError where the file is another by now, StoreError where it cannot be
        written.
        """
        before = self._data
        # a text that is none of its own letters is put there byte for byte as it was
        data = before if text == self.text else self._spelling.write(text)
        self._put(data, was)
        if data != before:
            self._went_on(before)
        return self.digest

    def undo(self, was: str) -> str:
        """Put back the text before the last saved one and return its digest; as ``save`` does."""
        before = self._data
        self._put(self._past[-1], was)
        self._past.pop()
        self._next.append(before)
        self._keep()
        return self.digest

    def redo(self, was: str) -> str:
        """Put the text there again that was undone last and return its digest; as ``save`` does."""
        before = self._data
        self._put(self._next[-1], was)
        self._next.pop()
        self._past.append(before)
        self._keep()
        return self.digest

    def _put(self, data: bytes, was: str) -> None:
        self.digest = replace_text(self.path, data, was or None)
        self._data, self.outside = data, False
        self.text, self._spelling = spell(data)
        self._stamp = self._stamp_now()

    def _went_on(self, before: bytes) -> None:
        self._past.append(before)
        self._next.clear()
        while len(self._past) > MOST_STEPS or sum(map(len, self._past)) > MOST_BYTES:
            self._past.pop(0)
        self._keep()

    @property
    def _kept(self) -> Path:
        name = digest(str(self.path.resolve()).encode("utf-8", "surrogatepass"))[:24]
        return cache_folder() / "history" / name

    def _keep(self) -> None:
        """Keep what one can go back to; where the cache cannot be written, it ends with us."""
        told = {
            "now": self.digest,
            "past": [data.decode() for data in self._past],
            "next": [data.decode() for data in self._next],
        }
        try:
            self._kept.parent.mkdir(parents=True, exist_ok=True)
            write_folder(self._kept, {"texts.json": json.dumps(told).encode()})
        except (StoreError, OSError, UnicodeDecodeError):
            return

    def _recall(self) -> None:
        """Take up what was kept, if the file still is what it was then."""
        try:
            told = json.loads((self._kept / "texts.json").read_bytes())
            if told["now"] == self.digest:
                self._past = [str(text).encode() for text in told["past"]]
                self._next = [str(text).encode() for text in told["next"]]
        except (OSError, ValueError, KeyError, TypeError):
            return

    def look(self) -> None:
        """Notice a file that was changed outside."""
        stamp = self._stamp_now()
        if stamp == self._stamp:
            return
        self._stamp = stamp
        try:
            self.outside = digest(self.path.read_bytes()) != self.digest
        except OSError:
            self.outside = bool(self.digest)

    def _stamp_now(self) -> tuple[int, int]:
        try:
            status = self.path.stat()
        except OSError:
            return (0, 0)
        return (status.st_mtime_ns, status.st_size)
