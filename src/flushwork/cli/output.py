"""How the commands speak: plain words on a terminal, or one JSON document."""

from __future__ import annotations

import json
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from flushwork.core.findings import Finding, FlushworkError, JobRefusedError, Severity
from flushwork.core.units.shown import METRIC, shown
from flushwork.core.words import counted
from flushwork.usecases.explain import CatalogueEntry, finding_data

if TYPE_CHECKING:
    from rich.console import Console as Terminal
    from rich.text import Text


_STYLE = {Severity.MUST_FIX: "bold red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}
_VERDICT = {
    True: "OK to cut: nothing must be fixed.",
    False: "Do not cut: something must be fixed.",
}


def _text(words: str, style: str = "") -> Text:
    from rich.text import Text  # noqa: PLC0415

    return Text(words, style=style)


class Console:
    """Speaks to the person (standard error for progress, standard output for results)."""

    def __init__(self, *, as_json: bool = False) -> None:
        self.as_json = as_json
        self.units = METRIC
        self._data: dict[str, Any] = {}

    # what colours the words takes longer to load than a server may take to stand
    @cached_property
    def _out(self) -> Terminal:
        from flushwork.cli.terminal import PipeTerminal  # noqa: PLC0415

        return PipeTerminal(highlight=False, soft_wrap=False)

    @cached_property
    def _err(self) -> Terminal:
        from rich.console import Console as Terminal  # noqa: PLC0415

        return Terminal(stderr=True, highlight=False)

    def write(self, text: str) -> None:
        """Write a text of several lines, laid out already, in the units of the shop."""
        sys.stdout.write(shown(text, self.units))

    def _text(self, words: str, style: str = "") -> Text:
        return _text(shown(words, self.units), style)

    def progress(self, room: str) -> None:
        """Tell which room is at work."""
        if not self.as_json:
            self._err.print(self._text(f"  {room} ...", style="dim"))

    def say(self, text: str) -> None:
        """Print one plain line."""
        if not self.as_json:
            self._out.print(self._text(text))

    def fail(self, text: str) -> None:
        """Print what went wrong."""
        if self.as_json:
            self._print_json({"error": text})
        else:
            self._err.print(self._text(text, style="bold red"))

    def refused(self, findings: Sequence[Finding]) -> None:
        """Print why a job cannot be read."""
        if self.as_json:
            self._print_json(
                {
                    "readable": False,
                    "findings": [finding_data(item, self.units) for item in findings],
                }
            )
            return
        for finding in findings:
            self._finding(self._err, finding)
        self._err.print(self._text("Nothing was written; an earlier build is untouched."))

    def report(self, findings: Sequence[Finding], *, ok_to_cut: bool, **more: object) -> None:
        """Print the check."""
        if self.as_json:
            self._print_json(
                {
                    "readable": True,
                    "ok_to_cut": ok_to_cut,
                    "findings": [finding_data(item, self.units) for item in findings],
                    **more,
                }
            )
            return
        for finding in findings:
            self._finding(self._out, finding)
        counts = {kind: sum(item.severity is kind for item in findings) for kind in Severity}
        told = ", ".join(
            f"{count} {kind.value}" if kind is Severity.MUST_FIX else counted(count, kind.value)
            for kind, count in counts.items()
            if count
        )
        self._out.print(self._text(f"Check: {told or 'nothing found'}. {_VERDICT[ok_to_cut]}"))

    def data(self, value: object) -> None:
        """Print data as one JSON document."""
        sys.stdout.write(json.dumps(value, indent=2, ensure_ascii=False) + "\n")

    def timings(self, timings_s: Sequence[tuple[str, float]]) -> None:
        """Print how long each room took."""
        if self.as_json:
            return
        for name, seconds in timings_s:
            self._out.print(self._text(f"  {seconds:7.3f} s  {name}"))
        self._out.print(self._text(f"  {sum(seconds for _, seconds in timings_s):7.3f} s  in all"))

    def entry(self, entry: CatalogueEntry) -> None:
        """Print one entry of the catalogue."""
        if self.as_json:
            self._print_json(
                {
                    "code": entry.code,
                    "severity": entry.severity,
                    "cause": entry.cause,
                    "sum": entry.sum,
                    "remedy": entry.remedy,
                    "source": entry.source,
                }
            )
            return
        self._out.print(self._text(f"{entry.code} ({entry.severity})", style="bold"))
        for name in ("cause", "sum", "remedy", "source"):
            self._out.print(self._text(f"{name.capitalize()}: {getattr(entry, name)}"))

    def _finding(self, terminal: Terminal, finding: Finding) -> None:
        head = _text(finding.severity.value, style=_STYLE[finding.severity])
        head.append(f"  {finding.code}", style="bold")
        if finding.accepted is not None:
            head.append(f"  accepted: {finding.accepted}", style="green")
        terminal.print(head)
        terminal.print(self._text(f"  {finding.message}"))
        if finding.place is not None:
            place = finding.place
            terminal.print(
                self._text(f"  At x {place.x_mm:.2f}, y {place.y_mm:.2f} mm on the {place.face}.")
            )
        if finding.remedy:
            terminal.print(self._text(f"  {finding.remedy}"))
        if finding.source is not None:
            terminal.print(self._text(f"  {finding.source}", style="dim"))

    def _print_json(self, data: dict[str, Any]) -> None:
        sys.stdout.write(json.dumps(data, indent=2, ensure_ascii=False) + "\n")


# ---- How a command ends: its exit code, and one line for each way it can fail


DONE, STOPPED, REFUSED, BROKEN = 0, 1, 2, 3
INTERRUPTED: Final = 130
"""What the library of commands ends with when somebody presses Ctrl-C."""


def ended(command: Callable[[], object], *, as_json: bool) -> int:
    """Run a command and return its exit code; nothing it raises goes further."""
    console = Console(as_json=as_json)
    try:
        code = _left(command)
        sys.stdout.flush()
    except JobRefusedError as refused:
        console.units = refused.units
        console.refused(refused.findings)
        return REFUSED
    except FlushworkError as error:
        console.fail(str(error))
        return BROKEN
    except OSError as error:
        return _lost(error)
    except Exception:  # noqa: BLE001  (a fault of ours: told whole, and never as a finding)
        traceback.print_exc()
        sys.stderr.write(
            "This is a fault in Flushwork, not in your job. Nothing was written; an earlier build "
            "is untouched.\n"
        )
        return BROKEN
    if code == INTERRUPTED:
        console.fail("Stopped. What was built before is untouched.")
        return BROKEN
    return code


def _left(command: Callable[[], object]) -> int:
    """Return the code that a command leaves with."""
    out = sys.stdout
    try:
        command()
    except SystemExit as left:
        if sys.stdout is not out:  # what runs the commands has put a silent stream in its place
            raise BrokenPipeError from left
        return left.code if isinstance(left.code, int) else DONE if left.code is None else BROKEN
    return DONE


def _lost(error: OSError) -> int:
    """Tell in one line that the output could not be written, and let nothing more be tried."""
    if sys.__stdout__ is not None:
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, sys.__stdout__.fileno())
        os.close(silent)
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115  (kept to the end)
    what = str(error.filename) if error.filename else "The output"
    why = "it was closed" if isinstance(error, BrokenPipeError) else str(error.strerror or error)
    sys.stderr.write(f"{what} could not be written or read to its end: {why}.\n")
    return BROKEN
