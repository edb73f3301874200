"""What rough boards a run takes: the size of each rough part, and the volume to buy for all."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from flushwork.job.records import Job

BOARD_FOOT_MM3: Final = 144.0 * 25.4**3
"""144 cubic inches (Wood Handbook, GTR-190 (2010), glossary: 12 in by 12 in by 1 in)."""


@dataclass(frozen=True, slots=True)
class RoughPart:
    """Parts of one rough size, mm: along the grain, across it, thick; ``count`` for the run."""

    along_mm: float
    across_mm: float
    thick_mm: float
    count: int

    @property
    def volume_mm3(self) -> float:
        """Of all of them together."""
        return self.along_mm * self.across_mm * self.thick_mm * self.count


def rough_parts(job: Job) -> tuple[RoughPart, ...]:
    """Return the rough parts of all blanks of a run, strips of one width together.

    A piece of the box is sawn with the box: it has none of its own.
    """
    if job.sawn_for_box:
        return ()
    blank, more = job.blank, job.rough
    runs = job.pieces + job.test_pieces
    widths = blank.strips_mm
    return tuple(
        RoughPart(
            blank.along_mm + more.length_mm,
            width + more.width_mm,
            blank.thickness_mm + more.thickness_mm,
            widths.count(width) * runs,
        )
        for width in dict.fromkeys(widths)
    )


def to_buy_mm3(job: Job) -> float:
    """Return the volume of rough boards to buy, what is lost to knots and ends included."""
    rough = math.fsum(part.volume_mm3 for part in rough_parts(job))
    return rough / (1.0 - job.rough.waste)


def board_feet(volume_mm3: float) -> float:
    """Return a volume of rough boards in board feet."""
    return volume_mm3 / BOARD_FOOT_MM3
