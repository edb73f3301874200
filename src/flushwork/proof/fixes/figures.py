"""What a finding's figure is once a fix has taken the finding away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from flushwork.findings import Finding
from flushwork.proof.quantity import CriticalQuantity

FIGURES: Final = {
    "web-too-thin": "web",
    "web-broken": "web",
    "hole-meets-inlay": "web",
    "second-pass-through": "first colour left",
    "second-pass-floor-thin": "first colour left",
    "seam-not-covered": "seam cover",
    "fill-does-not-hide": "fill left",
    "cap-too-thin": "cap left",
    "wood-sliver-thin": "wood between",
    "thinned-by-sanding": "engraved stroke",
    "sanded-away": "engraved stroke",
}
"""Which quantity of the odds tells a finding's figure when it is no longer told."""


def figure_after(
    finding: Finding, held: Sequence[CriticalQuantity]
) -> tuple[str, float, float] | None:
    """Return the figure of a mended finding: what it is, its least value and its limit, mm."""
    name = FIGURES.get(finding.code)
    mine = [item for item in held if item.name == name and _speaks_of(item, finding)]
    if name is None or not mine:
        return None
    worst = min(mine, key=lambda item: float(item.nominal.min()) - item.limit)
    return name, float(worst.nominal.min()), worst.limit


def _speaks_of(item: CriticalQuantity, finding: Finding) -> bool:
    return bool(finding.subjects) and finding.subjects[0] in item.subjects
