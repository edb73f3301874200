"""The keys of loose parts: the pegs, stones and pins that go with a piece."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from flushwork.job.leaves import Count
from flushwork.job.section import Section
from flushwork.job.word_leaves import Words


class LoosePartKeys(Section):
    """Wooden parts of one kind, dyed to match a mix."""

    name: Annotated[str, Words(80)] = Field(
        description="What you call them.", examples=["night pegs"]
    )
    timber: Annotated[str, Words(80)] = Field(
        description="The timber they are made of, from the shelf.", examples=["sugar maple"]
    )
    match: Annotated[str, Words(80)] = Field(
        description="The mix whose colour they are dyed to.", examples=["deep teal"]
    )
    count: Annotated[int, Count(1, 10000)] = Field(
        description="How many go with one piece.", examples=[33]
    )
