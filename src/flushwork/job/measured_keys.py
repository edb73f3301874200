"""The keys of what was measured on the blank between its mountings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import Field
from pydantic_core import PydanticCustomError

from flushwork.job.art_keys import Pair
from flushwork.job.leaves import Measured
from flushwork.job.section import Section, one_of
from flushwork.job.word_leaves import Words
from flushwork.units import Quantity


class MoistureKeys(Section):
    """The wood's moisture on the day that something is cut."""

    when_cutting: Annotated[str, Words(80)] = Field(
        description="The inlay that is cut that day.", examples=["bright line"]
    )
    moisture: Annotated[float, Measured(Quantity.SHARE, 0.02, 0.3)] | None = Field(
        default=None, description="Moisture content, of the dry weight.", examples=["9 %"]
    )
    humidity: Annotated[float, Measured(Quantity.SHARE, 0.01, 0.99)] | None = Field(
        default=None,
        description="Or the relative humidity that the wood has settled in.",
        examples=["58 %"],
    )

    @classmethod
    def key_slips(cls, given: dict[str, Any]) -> Iterator[tuple[str, PydanticCustomError]]:
        """Ask for one of the two readings."""
        found = one_of(given, ("moisture", "humidity"))
        if found:
            yield found


class WitnessKeys(Section):
    """One witness mark: where it was cut, and how far off it now reads."""

    at: Pair = Field(
        description="Where it was cut, [right, up] from the blank's lower left corner.",
        examples=["[10 mm, 10 mm]"],
    )
    read: Pair = Field(
        description="How far off it now is, [right, up].", examples=["[0.12 mm, 0.05 mm]"]
    )
