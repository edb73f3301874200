"""What stops the reader from taking in a line of a cut file."""

from __future__ import annotations

from flushwork.errors import FlushworkError


class LineError(FlushworkError):
    """A line cannot be read as the published language has it; carries one text per fault.

    It never leaves the reader: ``read.read_program`` turns it into problems with their line.
    """

    def __init__(self, *faults: str) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))
