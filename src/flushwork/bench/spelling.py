"""How a text file is spelled: its line ends and byte order mark, kept when it is saved again."""

from __future__ import annotations

from dataclasses import dataclass

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
