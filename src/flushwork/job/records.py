"""The job as every later room sees it: frozen, in mm, names already resolved to the shelf.

The records are declared in ``job.keys``, field by field with the keys that fill them.
"""

from __future__ import annotations

from flushwork.job.keys.art import (
    Art,
    Artwork,
    CircleArt,
    Placement,
    Point,
    PolygonArt,
    RectangleArt,
    StrokeArt,
    SvgArt,
    TextArt,
)
from flushwork.job.keys.brought import Brought, BroughtFile, HeightZero
from flushwork.job.keys.holes import (
    ArcHoles,
    FaceName,
    GridHoles,
    HolePattern,
    Holes,
    LineHoles,
    PointHoles,
)
from flushwork.job.keys.inlays import Face, Inlay, Manner, MeasuredFrom, Seam
from flushwork.job.keys.job import (
    FACES,
    Acceptance,
    Job,
    Lead,
    LoosePart,
    MoistureReading,
    OrderConstraint,
    WitnessMark,
)
from flushwork.job.keys.mixes import Mix, MixPigment, MixSwatch
from flushwork.job.keys.wood import Allowances, Bed, Blank, FinishPlan, Outline

__all__ = [
    "FACES",
    "Acceptance",
    "Allowances",
    "ArcHoles",
    "Art",
    "Artwork",
    "Bed",
    "Blank",
    "Brought",
    "BroughtFile",
    "CircleArt",
    "Face",
    "FaceName",
    "FinishPlan",
    "GridHoles",
    "HeightZero",
    "HolePattern",
    "Holes",
    "Inlay",
    "Job",
    "Lead",
    "LineHoles",
    "LoosePart",
    "Manner",
    "MeasuredFrom",
    "Mix",
    "MixPigment",
    "MixSwatch",
    "MoistureReading",
    "OrderConstraint",
    "Outline",
    "Placement",
    "Point",
    "PointHoles",
    "PolygonArt",
    "RectangleArt",
    "Seam",
    "StrokeArt",
    "SvgArt",
    "TextArt",
    "WitnessMark",
]
