"""Plans, checks and documents coloured-resin inlay in machined wood.

The names below are the whole public interface (``docs/api.md``); each is loaded when it is first
used, so that importing the package takes no time.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flushwork.built import Build
    from flushwork.core.errors import FlushworkError, JobRefusedError
    from flushwork.core.findings import Finding, Severity
    from flushwork.pipeline import build
    from flushwork.schedule.options import ScheduleOptions
    from flushwork.store import StoreError
    from flushwork.usecases.check import Checked, check
    from flushwork.usecases.cost import cost
    from flushwork.usecases.explain import explain
    from flushwork.usecases.fix import Offer, fix
    from flushwork.usecases.jobs import load, new, stages
    from flushwork.usecases.marks import MarksError, MarksRead, read_marks, write_corrected
    from flushwork.usecases.no_return import no_return
    from flushwork.usecases.odds import odds
    from flushwork.usecases.plan import Planned, plan, write_plan
    from flushwork.usecases.vary import Outcome, VaryError, vary
    from flushwork.usecases.write import Written, write

__version__ = "0.1.0"

_HOMES = {
    "built": ("Build",),
    "core.errors": ("FlushworkError", "JobRefusedError"),
    "core.findings": ("Finding", "Severity"),
    "pipeline": ("build",),
    "schedule.options": ("ScheduleOptions",),
    "store": ("StoreError",),
    "usecases.check": ("Checked", "check"),
    "usecases.cost": ("cost",),
    "usecases.explain": ("explain",),
    "usecases.fix": ("Offer", "fix"),
    "usecases.jobs": ("load", "new", "stages"),
    "usecases.marks": ("MarksError", "MarksRead", "read_marks", "write_corrected"),
    "usecases.no_return": ("no_return",),
    "usecases.odds": ("odds",),
    "usecases.plan": ("Planned", "plan", "write_plan"),
    "usecases.vary": ("Outcome", "VaryError", "vary"),
    "usecases.write": ("Written", "write"),
}
_HOME = {name: f"flushwork.{home}" for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used."""
    if name not in _HOME:
        raise AttributeError(f"flushwork has no public name {name}")
    found = globals()[name] = getattr(import_module(_HOME[name]), name)
    return found


def __dir__() -> list[str]:
    """Return the public names."""
    return sorted(__all__)


__all__ = [
    "Build",
    "Checked",
    "Finding",
    "FlushworkError",
    "JobRefusedError",
    "MarksError",
    "MarksRead",
    "Offer",
    "Outcome",
    "Planned",
    "ScheduleOptions",
    "Severity",
    "StoreError",
    "VaryError",
    "Written",
    "__version__",
    "build",
    "check",
    "cost",
    "explain",
    "fix",
    "load",
    "new",
    "no_return",
    "odds",
    "plan",
    "read_marks",
    "stages",
    "vary",
    "write",
    "write_corrected",
    "write_plan",
]
