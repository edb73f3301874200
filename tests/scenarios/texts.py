"""Small jobs that the scenarios change one thing in."""

from __future__ import annotations

INLAID = """\
flushwork: 2
title: {title}
cell: 0.2 mm
blank: {{wood: {wood}, length: {length} mm, width: {width} mm, thickness: {thickness} mm}}
mixes:
  navy: {{resin: casting epoxy, pigments: [{{name: ultramarine powder, share: 4 %}}]}}
  gold line: {{resin: coating epoxy, pigments: [fine gold]}}
  clear: {{resin: coating epoxy}}
{more}"""


def job(
    more: str,
    *,
    wood: str = "sugar maple",
    length: float = 90,
    width: float = 70,
    thickness: float = 16,
    title: str = "Scenario",
) -> str:
    """Return a job of one blank and three mixes; ``more`` holds its faces and whatever else."""
    return INLAID.format(
        wood=wood, length=length, width=width, thickness=thickness, title=title, more=more
    )
