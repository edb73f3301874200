"""All the quantities a piece stands or falls by."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import numpy as np

from flushwork.built import Build
from flushwork.findings import Subject
from flushwork.proof import spreads
from flushwork.proof.heights import upright
from flushwork.proof.quantity import CriticalQuantity
from flushwork.proof.shine import shining
from flushwork.proof.strays import sideways


def quantities(build: Build) -> tuple[CriticalQuantity, ...]:
    """Return every critical quantity of a job."""
    return (*sideways(build), *upright(build), *shining(build), *ratios(build))


def ratios(build: Build) -> Iterator[CriticalQuantity]:
    """Yield how far each batch's ratio stays within its resin's tolerance."""
    for pour in build.pours:
        if not isfinite(pour.ratio_error) or pour.ratio_error <= 0.0:
            continue
        spread = spreads.mixing(pour.number, pour.ratio_error)
        yield CriticalQuantity(
            "ratio",
            (Subject("mix", pour.mix.name),),
            "front",
            "",
            0.0,
            np.array([pour.mix.resin.tolerance]),
            {spread.key: np.array([1.0])},
            (spread,),
            np.zeros((1, 2)),
            both_ways=True,
            stage=pour.stage,
        )
