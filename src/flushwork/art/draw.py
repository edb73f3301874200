"""Artwork to geometry: everything of a job on its faces, in mm.

The first two rooms at once: a job file read, its artwork drawn.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Final

from shapely import MultiLineString

from flushwork.art.board_frame import Board, board_of, front_board
from flushwork.art.drawn import (
    Begun,
    DrawnFace,
    DrawnHoles,
    DrawnInlay,
    DrawnPocket,
    LaidPlank,
    Shapes,
)
from flushwork.art.dxf.draw_dxf import draw_dxf
from flushwork.art.faults import Faults, refusal
from flushwork.art.glyph_outlines import draw_text
from flushwork.art.hole_patterns import draw_holes
from flushwork.art.layouts.draw_layout import draw_layout
from flushwork.art.pictures.draw_picture import draw_picture
from flushwork.art.placement import place
from flushwork.art.plain_shapes import draw_circle, draw_polygon, draw_rectangle
from flushwork.art.planks import (
    as_one,
    filled,
    fitting,
    naming,
    on_spot,
    plank_board,
    spots_on,
    worded,
)
from flushwork.art.regions import many, many_lines, united
from flushwork.art.seams import draw_seam
from flushwork.art.strokes import draw_strokes
from flushwork.art.svg.draw_svg import draw_svg
from flushwork.art.svg.objections import Pick, layers_scaled_apart, layers_unpicked
from flushwork.art.svg.paint import MOST_MM
from flushwork.core.findings import Finding, JobRefusedError, Source
from flushwork.core.tolerances import FLATTENING_MM
from flushwork.job.read import UNFIT, read_draft
from flushwork.job.records import (
    FACES,
    Artwork,
    CircleArt,
    DrawingArt,
    DxfArt,
    Face,
    Inlay,
    Job,
    LayoutArt,
    PictureArt,
    Pocket,
    PolygonArt,
    RectangleArt,
    Seam,
    StrokeArt,
    SvgArt,
    TextArt,
)


def draw_faces(job: Job) -> tuple[DrawnFace, ...]:
    """Return both faces, front first, each in its own frame.

    Raises JobRefusedError with the findings of all faulty artwork at once.
    """
    faults = Faults()
    folder = Path(job.folder)
    front: Board | None = None
    laid: LaidPlank | None = None
    with faults.caught():
        artwork = job.outline.artwork
        drawn = None if artwork is None else draw_artwork(artwork, folder)
        if drawn is not None and artwork is not None and drawn.region.is_empty:
            raise refusal(
                artwork.source,
                "trim-line-without-area",
                "the trim line encloses nothing",
                "give a closed outline, such as a rectangle",
            )
        if job.plank is not None and drawn is not None:
            front, laid = plank_board(
                job, job.plank, drawn, partial(draw_artwork, folder=folder), folder
            )
        else:
            front = front_board(job.blank, job.outline, drawn)
    # without a board the rest is drawn on the bare blank, so that all faults are told at once
    board = _untrimmed(job) if front is None else front
    faces = tuple(
        _draw_face(job.face(name), board_of(name, board, job.blank), folder, faults)
        for name in FACES
    )
    faults.refuse()
    pieces = [piece for face in job.faces for thing in face.things for piece in thing.artwork]
    pieces += [] if job.outline.artwork is None else [job.outline.artwork]
    left = layers_unpicked(pieces, folder)
    left = (*left, *(laid.warnings if laid is not None else ()))
    first = replace(faces[0], warnings=(*faces[0].warnings, *left))
    return tuple(replace(face, laid=laid) for face in (first, *faces[1:]))


def _untrimmed(job: Job) -> Board:
    return front_board(job.blank, replace(job.outline, artwork=None, hidden_mm=0.0), None)


def draw_artwork(artwork: Artwork, folder: Path, together: tuple[DrawingArt, ...] = ()) -> Shapes:
    """Return artwork in its own frame, flattened so that the bound holds once it is scaled.

    ``together`` are the picks of a drawing that keep their places to each other (``draw_svg``).
    """
    art, source = artwork.art, artwork.source
    scale = artwork.placement.scale
    tolerance_mm = FLATTENING_MM / scale if scale > 0.0 else FLATTENING_MM
    match art:
        case PictureArt():
            shapes = draw_picture(art, folder, source)
        case SvgArt() | DxfArt():
            shapes = _draw_file(art, folder, source, tolerance_mm, together)
        case TextArt():
            shapes = fitting(art, source, partial(draw_text, folder=folder, source=source,
                                                  tolerance_mm=tolerance_mm))  # fmt: skip
        case StrokeArt():
            shapes = draw_strokes(art, source, tolerance_mm)
        case CircleArt():
            shapes = draw_circle(art, source, tolerance_mm)
        case PolygonArt():
            shapes = draw_polygon(art, source)
        case RectangleArt():
            shapes = draw_rectangle(art, source, tolerance_mm)
        case LayoutArt():
            shapes = draw_layout(art, folder, source, tolerance_mm)
    return shapes


def _draw_file(
    art: DrawingArt,
    folder: Path,
    source: Source,
    tolerance_mm: float,
    together: tuple[DrawingArt, ...],
) -> Shapes:
    if isinstance(art, SvgArt):
        alike = tuple(each for each in together if isinstance(each, SvgArt))
        return draw_svg(art, folder, source, tolerance_mm, alike)
    kin = tuple(each for each in together if isinstance(each, DxfArt))
    return draw_dxf(art, folder, source, tolerance_mm, kin)


@dataclass
class _Page:
    """A face while it is drawn."""

    board: Board
    folder: Path
    faults: Faults
    artwork: tuple[Artwork, ...]
    drawn: dict[str, Shapes] = field(default_factory=dict)
    refused: set[str] = field(default_factory=set)
    warnings: list[Finding] = field(default_factory=list)
    picks: list[Pick] = field(default_factory=list)

    def draw(self, thing: Inlay | Pocket) -> None:
        """Draw one inlay or pocket, or note why it cannot be drawn."""
        count = len(self.faults.found)
        with self.faults.caught():
            self.drawn[thing.name] = (
                self._from_artwork(thing)
                if isinstance(thing, Pocket) or thing.seam is None
                else self._from_edges(thing, thing.seam)
            )
        if len(self.faults.found) > count:
            self.refused.add(thing.name)

    def _from_artwork(self, inlay: Inlay | Pocket) -> Shapes:
        faults = Faults()
        parts: list[Shapes] = []
        for artwork in inlay.artwork:
            with faults.caught():
                parts.append(self._placed(inlay, artwork, faults))
        faults.refuse()
        self.warnings += [warning for part in parts for warning in part.warnings]
        bare = [part for part in parts if part.region.is_empty]
        if bare and len(bare) < len(parts):
            raise refusal(
                inlay.source,
                "bare-line-among-areas",
                f"{inlay.name} mixes lines without a width and areas",
                "give the lines a width, or make them an inlay of their own",
            )
        result = _together(parts)
        _check_size(inlay, result)
        return result

    def _placed(self, inlay: Inlay | Pocket, artwork: Artwork, faults: Faults) -> Shapes:
        """Draw artwork on every piece that it goes on; words filled with the name of each."""
        parts: list[Shapes] = []
        for words, spots in worded(artwork.art, spots_on(self.board.spots, inlay.on)):
            with faults.caught(), naming(words):
                drawn = draw_artwork(filled(artwork, words), self.folder, self._together(artwork))
                if isinstance(artwork.art, DrawingArt):
                    scale = drawn.scale * artwork.placement.scale
                    self.picks.append(Pick(inlay.name, artwork, artwork.art, scale))
                parts += [
                    on_spot(place(drawn, artwork.placement, each.onto), each) for each in spots
                ]
        return parts[0] if len(parts) == 1 else as_one(parts)

    def _together(self, artwork: Artwork) -> tuple[DrawingArt, ...]:
        """Return all that this face takes of a drawing at one width and for one place."""
        art = artwork.art
        if not isinstance(art, DrawingArt):
            return ()
        found = [
            other.art
            for other in self.artwork
            if isinstance(other.art, DrawingArt)
            and other.placement == artwork.placement
            and (other.art.file, other.art.width_mm) == (art.file, art.width_mm)
        ]
        return tuple(dict.fromkeys(found))

    def _from_edges(self, inlay: Inlay, seam: Seam) -> Shapes:
        regions = {name: shapes.region for name, shapes in self.drawn.items()}
        return draw_seam(seam, regions, self.board.visible, inlay.source)


def _together(parts: list[Shapes]) -> Shapes:
    """Return all artwork of an inlay as one; its lines only where it is made of nothing else."""
    if len(parts) == 1:
        return parts[0]
    lines = [line for part in parts for line in part.strokes.geoms]
    only_lines = all(not part.strokes.is_empty for part in parts)
    return Shapes(
        region=united([part.region for part in parts]),
        strokes=MultiLineString(lines if only_lines else []),
    )


def _check_size(inlay: Inlay | Pocket, shapes: Shapes) -> None:
    for part in (many(shapes.region), many_lines(shapes.strokes)):
        far_mm = 0.0 if part.is_empty else max(abs(number) for number in part.bounds)
        if not far_mm <= MOST_MM:
            raise refusal(
                inlay.source,
                "artwork-absurdly-far",
                f"{inlay.name} reaches {far_mm / 1000.0:.4g} m from the corner of the blank",
                "look for a wrong unit in its size or its place",
            )


def _draw_face(face: Face, board: Board, folder: Path, faults: Faults) -> DrawnFace:
    artwork = tuple(piece for thing in face.things for piece in thing.artwork)
    page = _Page(board, folder, faults, artwork)
    seams = [inlay for inlay in face.inlays if inlay.seam is not None]
    for thing in face.things:
        if thing.seam is None:
            page.draw(thing)
    _draw_seams(page, seams)
    holes: list[DrawnHoles] = []
    for pattern in face.holes:
        with faults.caught():
            holes.append(draw_holes(pattern, folder, spots_on(board.spots, pattern.on)))
    inlays = tuple(
        DrawnInlay(inlay, page.drawn[inlay.name].region, page.drawn[inlay.name].strokes)
        for inlay in face.inlays
        if inlay.name in page.drawn
    )
    return DrawnFace(
        name=face.name,
        inlays=inlays,
        holes=tuple(holes),
        blank=board.blank,
        trim=board.trim,
        visible=board.visible,
        warnings=(*page.warnings, *layers_scaled_apart(page.picks)),
        pockets=tuple(
            DrawnPocket(pocket, page.drawn[pocket.name].region, page.drawn[pocket.name].strokes)
            for pocket in face.pockets
            if pocket.name in page.drawn
        ),
        edges=face.edges,
        hangers=face.hangers,
    )


def _draw_seams(page: _Page, seams: list[Inlay]) -> None:
    """Draw seam lines, each after those it runs along."""
    waiting = list(seams)
    while waiting:
        names = {inlay.name for inlay in waiting}
        ready = [
            inlay
            for inlay in waiting
            if inlay.seam is not None and not names & set(inlay.seam.along)
        ]
        if not ready:
            for inlay in waiting:
                page.faults.add(
                    inlay.source,
                    "seam-runs-along-itself",
                    f"the seam line {inlay.name} runs, by way of others, along itself",
                    "let one of them run along inlays only",
                )
            return
        for inlay in ready:
            # a seam along refused artwork would only repeat what was said of that
            if inlay.seam is not None and not page.refused & set(inlay.seam.along):
                page.draw(inlay)
            else:
                page.refused.add(inlay.name)
        waiting = [inlay for inlay in waiting if inlay not in ready]


def begin(path: Path, text: str | None = None) -> Begun:
    """Read a job file and draw its artwork; ``text`` stands in for what the file holds.

    Raises JobRefusedError, with the findings of all that is wrong in either, where the job or its
    artwork cannot be read.
    """
    draft = read_draft(path, text)
    if draft.job is not None and not draft.slips:
        return draft.job, draw_faces(draft.job)
    drawn = () if draft.job is None else _faults(draft.job)
    places = {item.source for item in draft.slips}
    owners = {_owner(item) for item in draft.slips}
    more = (
        item
        for item in drawn
        if item.source not in places and not (item.code in SAID and _owner(item) in owners)
    )
    raise JobRefusedError((*draft.slips, *more))


SAID: Final = frozenset(
    {
        "frame-without-middle",
        "rectangle-corner-too-round",
        "ring-without-wood",
        "seam-along-unknown",
        "star-without-points",
    }
)
"""What reading tells in its own words already, of the same piece of artwork."""


def _owner(finding: Finding) -> str:
    """Return what a slip is in: an inlay, a hole pattern, or a group of keys of the job."""
    key = finding.source.key if finding.source is not None else ""
    return key.split("]")[0] if "]" in key else key.split(".")[0]


def _faults(job: Job) -> tuple[Finding, ...]:
    """Return what is wrong with the artwork of a job that has slips of its own."""
    try:
        draw_faces(job)
    except JobRefusedError as refused:
        return refused.findings
    except UNFIT:
        return ()
    return ()
