"""Fixes of shaped edges: what they may cut away, how large they are, what holds beside them."""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.checks.fixes.fix import (
    Fix,
    Idea,
    Question,
    down,
    edge_path,
    fix,
    pocket_path,
    short_mm,
    up,
)
from flushwork.job.records import EdgeShape

LEAST_MM = 0.3
"""No edge smaller than this is proposed."""
SMALLER = (0.75, 0.5, 0.25)


def smaller(asked: Question) -> Iterator[Fix]:
    """Yield chamfers of a smaller width; of a round or a cove the bit decides the size."""
    for edge in asked.edges:
        for share in SMALLER if edge.shape is EdgeShape.CHAMFER else ():
            if share * edge.size_mm >= LEAST_MM:
                path = edge_path(asked.job, edge, "size")
                yield fix(path, down(share * edge.size_mm), 1)


def let_in(asked: Question) -> Iterator[Fix]:
    """Yield a smaller edge, then one that may cut the inlay away."""
    yield from smaller(asked)
    for edge in asked.edges:
        names = dict.fromkeys((*edge.into, *(inlay.name for inlay in asked.inlays)))
        yield fix(edge_path(asked.job, edge, "cut into"), f"[{', '.join(names)}]", 2)


def higher_tabs(asked: Question) -> Iterator[Fix]:
    """Yield tabs that reach past the edge, then a smaller edge."""
    tab_mm = asked.job.outline.tab_height_mm + short_mm(asked.finding)
    yield fix(("trim line", "tab height"), up(tab_mm))
    yield from smaller(asked)


def deeper_pocket(asked: Question) -> Iterator[Fix]:
    """Yield a pocket as deep as its rim's bit goes, then a smaller edge."""
    for pocket in asked.pockets:
        depth_mm = pocket.depth_mm + short_mm(asked.finding)
        yield fix(pocket_path(asked.job, pocket, "depth"), up(depth_mm), 1)
    yield from smaller(asked)


def thicker(asked: Question) -> Iterator[Fix]:
    """Yield a smaller edge, then a thicker blank."""
    yield from smaller(asked)
    short = short_mm(asked.finding)
    yield fix(("blank", "thickness"), up(asked.job.blank.thickness_mm + short), 3)


def open_bit(asked: Question) -> Iterator[Fix]:
    """Yield the bit left to be chosen."""
    for edge in asked.edges:
        yield fix(edge_path(asked.job, edge, "bit"), None)


IDEAS: dict[str, Idea] = {
    "edge-cuts-inlay": let_in,
    "edge-at-tabs": higher_tabs,
    "edge-under-floor": deeper_pocket,
    "edges-meet": thicker,
    "edge-bit-unfit": open_bit,
}
