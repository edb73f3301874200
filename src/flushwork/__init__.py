"""Plans, checks and documents coloured-resin inlay in machined wood.

The names below are the whole public interface (``docs/api.md``); each is loaded when it is first
used, so that importing the package takes no time.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flushwork.art.pictures.draw_picture import TracedPicture
    from flushwork.built import Build
    from flushwork.core.findings import Finding, FlushworkError, JobRefusedError, Severity
    from flushwork.pipeline import build
    from flushwork.schedule.run_problem import ScheduleOptions
    from flushwork.store import StoreError
    from flushwork.usecases.check import Checked, check
    from flushwork.usecases.explain import explain
    from flushwork.usecases.jobs import (
        FirstShop,
        StartError,
        blank_job_text,
        first_choices,
        first_shop,
        load,
        new,
        stages,
    )
    from flushwork.usecases.making.add import Added, add_drawing, add_part, add_points, add_words
    from flushwork.usecases.making.fills import AddError, add_mix
    from flushwork.usecases.making.meet import (
        Meeting,
        cut_into,
        meetings,
        seam_around,
        seam_between,
    )
    from flushwork.usecases.making.on_plank import (
        PlankLaid,
        moved_defect,
        on_plank,
        plank_of,
        with_defect,
        without_defect,
    )
    from flushwork.usecases.making.place import filled, mirrored, moved, repeated, sized, turned
    from flushwork.usecases.making.take_in import Contents, TakenError, take_in
    from flushwork.usecases.marks import MarksError, MarksRead, read_marks, write_corrected
    from flushwork.usecases.odds import no_return, odds
    from flushwork.usecases.plan import Planned, cost, plan, write_plan
    from flushwork.usecases.plan_change import plan_change
    from flushwork.usecases.shop_file import (
        ShopField,
        ShopForm,
        ShopPart,
        ShopThing,
        ShopValueError,
        shop_form,
        with_shop_value,
        with_thing,
        without_thing,
    )
    from flushwork.usecases.shop_jobs import (
        JobState,
        ShopError,
        ShopJob,
        ShopJobs,
        copy_job,
        from_attic,
        rename_job,
        shop_jobs,
        start_job,
        to_attic,
    )
    from flushwork.usecases.trace import trace
    from flushwork.usecases.what_if import Offer, Outcome, VaryError, fix, vary
    from flushwork.usecases.write import Written, write

__version__ = "0.1.0"

_HOMES = {
    "art.pictures.draw_picture": ("TracedPicture",),
    "built": ("Build",),
    "core.findings": ("Finding", "FlushworkError", "JobRefusedError", "Severity"),
    "pipeline": ("build",),
    "schedule.run_problem": ("ScheduleOptions",),
    "store": ("StoreError",),
    "usecases.check": ("Checked", "check"),
    "usecases.explain": ("explain",),
    "usecases.making.add": ("Added", "add_drawing", "add_part", "add_points", "add_words"),
    "usecases.making.fills": ("AddError", "add_mix"),
    "usecases.making.meet": (*("Meeting", "cut_into", "meetings", "seam_around", "seam_between"),),
    "usecases.making.on_plank": (
        *("PlankLaid", "moved_defect", "on_plank", "plank_of", "with_defect", "without_defect"),
    ),
    "usecases.making.place": ("filled", "mirrored", "moved", "repeated", "sized", "turned"),
    "usecases.making.take_in": ("Contents", "TakenError", "take_in"),
    "usecases.jobs": (
        *("FirstShop", "StartError", "blank_job_text", "first_choices", "first_shop"),
        *("load", "new", "stages"),
    ),
    "usecases.marks": ("MarksError", "MarksRead", "read_marks", "write_corrected"),
    "usecases.odds": ("no_return", "odds"),
    "usecases.plan": ("Planned", "cost", "plan", "write_plan"),
    "usecases.plan_change": ("plan_change",),
    "usecases.shop_file": (
        *("ShopField", "ShopForm", "ShopPart", "ShopThing", "ShopValueError", "shop_form"),
        *("with_shop_value", "with_thing", "without_thing"),
    ),
    "usecases.shop_jobs": (
        *("JobState", "ShopError", "ShopJob", "ShopJobs", "copy_job", "from_attic"),
        *("rename_job", "shop_jobs", "start_job", "to_attic"),
    ),
    "usecases.trace": ("trace",),
    "usecases.what_if": ("Offer", "Outcome", "VaryError", "fix", "vary"),
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
    "AddError",
    "Added",
    "Build",
    "Checked",
    "Contents",
    "Finding",
    "FirstShop",
    "FlushworkError",
    "JobRefusedError",
    "JobState",
    "MarksError",
    "MarksRead",
    "Meeting",
    "Offer",
    "Outcome",
    "PlankLaid",
    "Planned",
    "ScheduleOptions",
    "Severity",
    "ShopError",
    "ShopField",
    "ShopForm",
    "ShopJob",
    "ShopJobs",
    "ShopPart",
    "ShopThing",
    "ShopValueError",
    "StartError",
    "StoreError",
    "TakenError",
    "TracedPicture",
    "VaryError",
    "Written",
    "__version__",
    "add_drawing",
    "add_mix",
    "add_part",
    "add_points",
    "add_words",
    "blank_job_text",
    "build",
    "check",
    "copy_job",
    "cost",
    "cut_into",
    "explain",
    "filled",
    "first_choices",
    "first_shop",
    "fix",
    "from_attic",
    "load",
    "meetings",
    "mirrored",
    "moved",
    "moved_defect",
    "new",
    "no_return",
    "odds",
    "on_plank",
    "plan",
    "plan_change",
    "plank_of",
    "read_marks",
    "rename_job",
    "repeated",
    "seam_around",
    "seam_between",
    "shop_form",
    "shop_jobs",
    "sized",
    "stages",
    "start_job",
    "take_in",
    "to_attic",
    "trace",
    "turned",
    "vary",
    "with_defect",
    "with_shop_value",
    "with_thing",
    "without_defect",
    "without_thing",
    "write",
    "write_corrected",
    "write_plan",
]
