"""A terminal of which a closed pipe is told like any other lost output."""

from __future__ import annotations

from rich.console import Console


class PipeTerminal(Console):
    """Raises where its output is closed, in place of ending the program by itself."""

    def on_broken_pipe(self) -> None:
        """Let the error go on."""
        raise  # noqa: PLE0704  (called while the error is being handled)
