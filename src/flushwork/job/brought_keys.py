"""The keys of cut files that another program has written."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from flushwork.job.art_keys import Pair
from flushwork.job.section import Section
from flushwork.job.word_leaves import OneOf, Words

ZEROS: Final = ("lower left corner", "middle")
HEIGHT_ZEROS: Final = ("face as it stands", "finished face", "underside")
UNITS: Final = ("metric", "inch")


class BroughtFileKeys(Section):
    """One file, and the cutter it is run with."""

    file: Annotated[str, Words()] = Field(
        description="An RS-274 file, beside the job file.", examples=["plate.nc"]
    )
    cutter: Annotated[str, Words(80)] = Field(
        description="The cutter of the shop it is run with; one file has one cutter.",
        examples=["3.175 mm flat"],
    )


class BroughtKeys(Section):
    """Files that do a step of the plan in place of ours."""

    step: Annotated[str, Words(100)] = Field(
        description="What they do: a step as `flushwork stages` names it, or a whole mounting with"
        " one step.",
        examples=["cut plate"],
    )
    files: Annotated[list[BroughtFileKeys], Field(min_length=1, max_length=40)] = Field(
        description="The files in the order they are run.",
        examples=["[{file: plate.nc, cutter: 3.175 mm flat}]"],
    )
    zero: Pair = Field(
        default_factory=lambda: [0.0, 0.0],
        description="Where their X0 Y0 lies, [right, away] from `zero from`, as you look at the"
        " face.",
        examples=["[0 mm, 0 mm]"],
    )
    zero_from: Annotated[str, OneOf(ZEROS)] = Field(
        default=ZEROS[0], description="The place on the blank that `zero` counts from."
    )
    height_zero: Annotated[str, OneOf(HEIGHT_ZEROS)] = Field(
        default=HEIGHT_ZEROS[0], description="What their Z0 lies on."
    )
    units: Annotated[str, OneOf(UNITS)] | None = Field(
        default=None,
        description="The units of files that say neither G20 nor G21.",
        examples=["metric"],
    )
