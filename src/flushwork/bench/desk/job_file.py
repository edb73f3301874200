"""The job file on the desk: its text as last read or saved, and who has changed it since.

How a text file is spelled: its line ends and byte order mark, kept when it is saved again.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flushwork.store import digest, replace_text

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


class JobFile:
    """A job file and what was saved of it before.

    ``text`` and ``digest`` are the file as last read or saved, the digest empty where it could not
    be read; ``outside`` says that somebody else has changed it.  For one thread at a time.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.text, self.digest, self.outside = "", "", False
        self._spelling = Spelling()
        self._past: list[str] = []
        self._stamp: tuple[int, int] = (0, 0)
        self.read()

    @property
    def undoable(self) -> int:
        """How many saved texts one can go back to."""
        return len(self._past)

    def read(self) -> None:
        """Read the file as it stands."""
        try:
            self._stamp = self._stamp_now()
            data = self.path.read_bytes()
            self.text, self._spelling = spell(data)
            self.digest = digest(data)
        except (OSError, UnicodeDecodeError):
            # the reading room says what is wrong, in words, when it is asked to build
            self.text, self.digest = "", ""
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
        before = self.text
        self.read()
        if before != self.text:
            self._past.append(before)

    def save(self, text: str, was: str) -> str:
        """Save a text over the one with the digest ``was`` and return its digest.

        Raises ChangedOutsideError where the file is another by now, StoreError where it cannot be
        written.
        """
        before = self.text
        self.digest = replace_text(self.path, self._spelling.write(text), was or None)
        self.text, self.outside = text, False
        self._stamp = self._stamp_now()
        if text != before:
            self._past.append(before)
        return self.digest

    def undo(self, was: str) -> str:
        """Put back the text before the last saved one and return its digest; as ``save`` does."""
        saved = self.save(self._past[-1], was)
        # saving has added the text just undone; both go
        del self._past[-2:]
        return saved

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
