"""The job as every later room sees it: frozen, in mm, names already resolved to the shelf.

The records are declared in ``job.keys``, field by field with the keys that fill them.
"""

from __future__ import annotations

from flushwork.job.keys.art import (
    Art,
    Artwork,
    CircleArt,
    Point,
    PolygonArt,
    RectangleArt,
    StrokeArt,
    SvgArt,
    TextArt,
)
from flushwork.job.keys.holes import (
    ArcHoles,
    FaceName,
    GridHoles,
    HolePattern,
    Holes,
    LineHoles,
    PointHoles,
)
from flushwork.job.keys.imported import HeightZero, Imported, ImportedFile
from flushwork.job.keys.inlays import Face, Inlay, Manner, MeasuredFrom, Seam
from flushwork.job.keys.job import FACES, Job
from flushwork.job.keys.lists import (
    Acceptance,
    Lead,
    LoosePart,
    MoistureReading,
    OrderConstraint,
    RegistrationMark,
)
from flushwork.job.keys.mixes import Mix, MixPigment, MixSwatch
from flushwork.job.keys.placing import Placement
from flushwork.job.keys.pockets import Pocket
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
    "CircleArt",
    "Face",
    "FaceName",
    "FinishPlan",
    "GridHoles",
    "HeightZero",
    "HolePattern",
    "Holes",
    "Imported",
    "ImportedFile",
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
    "Pocket",
    "Point",
    "PointHoles",
    "PolygonArt",
    "RectangleArt",
    "RegistrationMark",
    "Seam",
    "StrokeArt",
    "SvgArt",
    "TextArt",
]
