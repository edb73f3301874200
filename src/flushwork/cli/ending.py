"""How a command ends: its exit code, and one line for each way it can fail."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable
from typing import Final

from flushwork.cli.output import Console
from flushwork.core.errors import FlushworkError, JobRefusedError

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
