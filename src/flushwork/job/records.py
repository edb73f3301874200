"""The job as every later room sees it: frozen, in mm, names already resolved to the shelf.

The records are declared in ``job.keys``, field by field with the keys that fill them.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from flushwork.core.findings import Source
from flushwork.job.keys.art import (
    Art,
    Artwork,
    CircleArt,
    LayoutArt,
    Point,
    PolygonArt,
    RectangleArt,
    StrokeArt,
    TextArt,
)
from flushwork.job.keys.box.fittings import (
    BoxDividers,
    CornerSplines,
    LidCut,
    LidLies,
    LidPanel,
    SideArt,
)
from flushwork.job.keys.box.pieces import EDGES, BoxPiece, OfBox
from flushwork.job.keys.box.walls import HeldBoard, HeldHow, WoodenBox
from flushwork.job.keys.cut_list import OnePlank
from flushwork.job.keys.drawing_files import DrawingArt, DxfArt, PictureArt, SvgArt
from flushwork.job.keys.edges import Edge, EdgeShape, Hanger
from flushwork.job.keys.games import (
    MancalaRows,
    Morris,
    PegTrack,
    PointedBoard,
    Solitaire,
    Squares,
    StarHalma,
)
from flushwork.job.keys.holes import ArcHoles, FaceName, GridHoles, Holes, LineHoles, PointHoles
from flushwork.job.keys.imported import HeightZero, Imported, ImportedFile
from flushwork.job.keys.inlays import Face, Inlay, Manner, MeasuredFrom, Seam
from flushwork.job.keys.job import FACES, Job
from flushwork.job.keys.layouts import (
    BorderRun,
    CompassRose,
    CornerFans,
    Laying,
    Layout,
    LayoutHoles,
    MarkedScale,
)
from flushwork.job.keys.lists import Lead, LoosePart, OrderConstraint, RegistrationMark, file_words
from flushwork.job.keys.mixes import Mix, MixPigment
from flushwork.job.keys.placing import Placement
from flushwork.job.keys.pockets import Pocket
from flushwork.job.keys.wood import Allowances, Blank, FinishPlan, Outline

# ---- Where a job comes from: the files it is read from, and the lines that speak of a thing


THINGS: Final = (
    "bits",
    "woods",
    "resins",
    "thinners",
    "pigments",
    "sealers",
    "finishes",
    "measuring tools",
)
"""The lists of a shop file whose items are things with a name."""


def sources_of(job: Job, path: Path) -> tuple[Path, ...]:
    """Return the files that a job, read from ``path``, depends on; each once, the job first."""
    folder = Path(job.folder)
    names = [job.shop_file] if job.shop_file else []
    names += [name for each in job.each for name in _files_of(each)]
    found = [folder / name for name in dict.fromkeys(names)]
    return (path, *(each for each in found if each.is_file()))


def _files_of(job: Job) -> list[str]:
    """Return the names of the files that one part of a job is drawn from."""
    names: list[str] = []
    for thing in (thing for face in job.faces for thing in face.things):
        for artwork in thing.artwork:
            if isinstance(artwork.art, DrawingArt | PictureArt):
                names.append(artwork.art.file)
            elif isinstance(artwork.art, TextArt):
                names.append(artwork.art.font)
    if job.plank is not None:
        names += [job.plank.names_file] if job.plank.names_file else []
        for piece in (*job.plank.defects, *(each.artwork for each in job.plank.others)):
            names += [piece.art.file] if isinstance(piece.art, DrawingArt | PictureArt) else []
    for face in job.faces:
        names += [
            pattern.pattern.file
            for pattern in face.holes
            if isinstance(pattern.pattern, PointHoles) and pattern.pattern.file
        ]
    return names


def told_at(job: Job, *keys: str, otherwise: Source | None = None) -> Source:
    """Return where the first of these keys stands that the shop file, or else the job, holds.

    A key is written as in ``Tree.places``.  Where neither file holds any of them it is
    ``otherwise``, or the job's first line.
    """
    places = dict(job.places) | dict(job.shop.places)
    return next((places[key] for key in keys if key in places), otherwise or job.source)


def thing_at(job: Job, name: str) -> Source:
    """Return where the shop file, or else the job, speaks of a thing of the shelf."""
    mixes = {part.pigment.name: mix for mix in job.mixes for part in mix.pigments}
    mixes |= {mix.thinner.name: mix for mix in job.mixes if mix.thinner is not None}
    mixes |= {mix.resin.name: mix for mix in reversed(job.mixes)}
    keys = [f"{kind}.{name}" for kind in THINGS]
    if job.sealer is not None and job.sealer.name == name:
        keys.append("sealer")
    if job.finish is not None and job.finish.finish.name == name:
        keys.append("finish")
    if job.blank.wood.name == name:
        keys.append("blank.wood")
    return told_at(job, *keys, otherwise=mixes[name].source if name in mixes else None)


def held_at(job: Job) -> Source:
    """Return where the shop file, or else the job, says how the blank is held."""
    return told_at(job, f"holding.{job.holding.name}", "holding")
