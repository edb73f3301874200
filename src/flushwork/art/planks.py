"""Pieces on one plank: laid on it, each with its name, artwork put on every one of them."""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Final, TypeVar

import shapely
from shapely import MultiPolygon, Polygon
from shapely.affinity import affine_transform

from flushwork.art.board_frame import Board, PiecePlace, seen_board, spots_of
from flushwork.art.drawn import Box, LaidPiece, LaidPlank, Shapes
from flushwork.art.faults import Faults, folder_of, refusal, warned
from flushwork.art.placement import bounding_box, place
from flushwork.art.regions import many, many_lines, united
from flushwork.core.findings import Finding, JobRefusedError, Source
from flushwork.core.words import counted
from flushwork.cutlist.packing import PackedKind, Packing, pack
from flushwork.job.keys.cut_list import EVERY_PIECE, NAME_MARK
from flushwork.job.records import Art, Artwork, Inlay, Job, OnePlank, Pocket, TextArt
from flushwork.runtime.memo import memoized

QUARTERS: Final = {"no": (0,), "half": (0, 2), "quarter": (0, 1, 2, 3)}
LONGEST_NAME: Final = 80
MOST_NAMES: Final = 500
_HERE: Final[Box] = (0.0, 0.0, 0.0, 0.0)

Sunk = TypeVar("Sunk", Inlay, Pocket)
Draw = Callable[[Artwork], Shapes]


# ---- The names: out of the job, or of a file beside it


def names_of(plank: OnePlank, folder: Path) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """Return the names of the pieces, and a warning for each that stands more than once.

    Raises JobRefusedError that tells each line of a file in which no name stands.
    """
    names = _names_in(folder / plank.names_file, plank) if plank.names_file else plank.names
    return names, tuple(
        warned(
            plank.source,
            "name-for-two-pieces",
            f"'{name}' is the name of {count} pieces on this plank",
            "tell them apart, or let it stand: then they have one name and a number on their "
            "labels",
        )
        for name, count in Counter(names).items()
        if count > 1
    )


def _names_in(path: Path, plank: OnePlank) -> tuple[str, ...]:
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise refusal(
            plank.source,
            "names-file-not-found",
            f"the file of names {path.name} is not there or is no text, in {folder_of(path)}",
            "put the file beside the job, one name to a line, saved as UTF-8",
        ) from None
    try:
        rows = [(number, row) for number, row in enumerate(csv.reader(text.splitlines()), 1)]
    except csv.Error:
        rows = [(number, [line]) for number, line in enumerate(text.splitlines(), 1)]
    while rows and not any(cell.strip() for cell in rows[-1][1]):
        rows.pop()
    at = 0
    if plank.column and rows:
        heads = [head.strip() for head in rows.pop(0)[1]]
        if plank.column not in heads:
            raise refusal(
                plank.source,
                "names-file-unfit",
                f"no column of {path.name} is headed '{plank.column}'",
                f"its heads are: {', '.join(heads)}",
            )
        at = heads.index(plank.column)
    faults = Faults()
    names: list[str] = []
    for number, row in rows:
        name = row[at].strip() if at < len(row) else ""
        if not name or len(name) > LONGEST_NAME or not name.isprintable():
            what = f"'{name[:40]}', which is no name" if name else "no name"
            faults.add(
                Source(path.name, number, 1, ""),
                "names-file-line-unreadable",
                f"line {number} of {path.name} holds {what}",
                f"write a name of at most {LONGEST_NAME} letters, or take the line out",
            )
        names.append(name)
    faults.refuse()
    if not names or len(names) > MOST_NAMES:
        raise refusal(
            plank.source,
            "names-file-unfit",
            f"the file of names {path.name} holds {len(names) or 'no'} names",
            f"write one name to a line, at most {MOST_NAMES} of them",
        )
    return tuple(names)


# ---- The plank: pieces laid on it


_packed = memoized(pack)


def plank_board(
    job: Job, plank: OnePlank, drawn: Shapes, draw: Draw, folder: Path
) -> tuple[Board, LaidPlank]:
    """Return the front's board with pieces laid on it; ``drawn`` is the trim line's artwork.

    Raises JobRefusedError where the pieces find no room, or an outline is not in one part.
    """
    faults = Faults()
    names: tuple[str, ...] = ()
    warnings: tuple[Finding, ...] = ()
    with faults.caught():
        names, warnings = names_of(plank, folder)
    outlines: dict[str, Polygon] = {}
    trim_line = job.outline.artwork
    pieces = {each.name: each.artwork for each in plank.others}
    for kind, artwork in ({} if trim_line is None else {"": trim_line} | pieces).items():
        with faults.caught():
            outlines[kind] = _outline(drawn if not kind else draw(artwork), artwork, kind)
    defects = MultiPolygon()
    with faults.caught():
        defects = many(shapely.union_all(defects_of(job, plank, draw)))
    faults.refuse()
    quarters = QUARTERS[plank.turned]
    counts = {"": plank.counts(len(names)), **{each.name: each.count for each in plank.others}}
    size_mm = (job.blank.length_mm, job.blank.width_mm)
    packing = _packed(
        tuple(PackedKind(kind, outlines[kind], counts[kind], quarters) for kind in outlines),
        size_mm,
        gap_mm=plank.gap_mm,
        margin_mm=plank.margin_mm,
        defects=tuple(defects.geoms),
    )
    _refuse_too_many(packing, plank, job)
    lying = [seat.of(outlines[seat.kind]) for seat in packing.seats]
    trim = MultiPolygon([part for shape in lying for part in many(shape).geoms])
    boxes: dict[str, Box] = {kind: shape.bounds for kind, shape in outlines.items()}
    spots = spots_of(packing.seats, boxes, names)
    board = seen_board(job.blank, job.outline, trim, spots)
    laid = LaidPlank(_laid_pieces(spots), defects, packing.used_mm, packing.share, warnings)
    return board, laid


def _outline(drawn: Shapes, artwork: Artwork, kind: str) -> Polygon:
    """Return the outline of a kind of piece about its place's own zero."""
    parts = place(drawn, artwork.placement, _HERE).region.geoms
    if len(parts) != 1:
        raise refusal(
            artwork.source,
            "piece-in-parts",
            f"the outline of {kind or 'the trim line'} is in {len(parts)} parts; on a plank each "
            "piece is one",
            "draw the outline of one piece, and say how many under `from one plank`",
        )
    return parts[0]


def defects_of(job: Job, plank: OnePlank, draw: Draw) -> list[MultiPolygon]:
    """Return each defect of a plank where it lies; raises JobRefusedError for one without area."""
    whole = (0.0, 0.0, job.blank.length_mm, job.blank.width_mm)
    faults = Faults()
    found: list[MultiPolygon] = []
    for artwork in plank.defects:
        with faults.caught():
            region = place(draw(artwork), artwork.placement, whole).region
            if region.is_empty:
                raise refusal(
                    artwork.source,
                    "defect-without-area",
                    "this defect of the plank encloses nothing",
                    "give a closed outline, such as a circle or a rectangle",
                )
            found.append(region)
    faults.refuse()
    return found


def _refuse_too_many(packing: Packing, plank: OnePlank, job: Job) -> None:
    if packing.seats and not packing.left_out:
        return
    size = f"{job.blank.length_mm:g} mm x {job.blank.width_mm:g} mm"
    out = sum(count for _, count in packing.left_out)
    told = counted(out, "piece finds", "pieces find") if out else "no piece finds"
    raise refusal(
        plank.source,
        "plank-too-small",
        f"{told} no room on the plank of {size}" if out else f"{told} room on the plank of {size}",
        f"{len(packing.seats)} find room: ask for fewer, take a larger plank, or write a smaller "
        "`gap` or `margin`",
    )


def _laid_pieces(spots: Sequence[PiecePlace]) -> tuple[LaidPiece, ...]:
    """Return the pieces with the names on their labels: those of one name are numbered."""
    called = [spot.name or spot.kind for spot in spots]
    count, seen = Counter(called), Counter[str]()
    found: list[LaidPiece] = []
    for name in called:
        seen[name] += 1
        of = f"{seen[name]} of {count[name]}" if count[name] > 1 or not name else ""
        found.append(LaidPiece(name, ", ".join(part for part in (name, of) if part)))
    return tuple(found)


# ---- Artwork on the pieces


def spots_on(spots: Sequence[PiecePlace], on: str) -> tuple[PiecePlace, ...]:
    """Return the pieces that a thing goes on."""
    return tuple(spot for spot in spots if on in (EVERY_PIECE, spot.kind))


def on_spot(shapes: Shapes, spot: PiecePlace) -> Shapes:
    """Return artwork of a piece's frame on the face."""
    if spot.to_face is None:
        return shapes
    numbers = spot.to_face.numbers
    return replace(
        shapes,
        region=many(affine_transform(shapes.region, numbers)),
        strokes=many_lines(affine_transform(shapes.strokes, numbers)),
    )


def worded(art: Art, spots: Sequence[PiecePlace]) -> Iterator[tuple[str, tuple[PiecePlace, ...]]]:
    """Yield the names that fill a text, each with its pieces; "" for artwork that is alike."""
    if not (isinstance(art, TextArt) and NAME_MARK in art.words):
        yield "", tuple(spots)
        return
    for name in dict.fromkeys(spot.name for spot in spots):
        yield name, tuple(spot for spot in spots if spot.name == name)


def filled(artwork: Artwork, name: str) -> Artwork:
    """Return artwork with a name in the place of its mark."""
    art = artwork.art
    if not (name and isinstance(art, TextArt)):
        return artwork
    return replace(artwork, art=replace(art, words=art.words.replace(NAME_MARK, name)))


@contextmanager
def naming(name: str) -> Iterator[None]:
    """Let every refusal in the ``with`` block tell the name that it comes of: once for each."""
    try:
        yield
    except JobRefusedError as refused:
        if not name:
            raise
        first = refused.findings[0]
        more = "; ".join(each.message for each in refused.findings)
        message = more if f"'{name}'" in more else f"the name '{name}': {more}"
        raise JobRefusedError((replace(first, message=message),)) from refused


def one_piece(job: Job) -> Job:
    """Return a job of one piece of a plank by itself, in the middle of the blank.

    Its words hold the longest name; what goes on pieces of other outlines is left out.
    """
    plank = job.plank
    if plank is None:
        return job
    longest = max(names_of(plank, Path(job.folder))[0], key=len, default="")

    def named(things: tuple[Sunk, ...]) -> tuple[Sunk, ...]:
        return tuple(
            replace(each, on="", artwork=tuple(filled(art, longest) for art in each.artwork))
            for each in things
            if each.on in ("", EVERY_PIECE)
        )

    faces = tuple(
        replace(
            face,
            inlays=named(face.inlays),
            pockets=named(face.pockets),
            holes=tuple(
                replace(each, on="") for each in face.holes if each.on in ("", EVERY_PIECE)
            ),
        )
        for face in job.faces
    )
    return replace(job, plank=None, faces=faces)


def as_one(parts: Sequence[Shapes]) -> Shapes:
    """Return what lies on several pieces as one, its warnings once each."""
    told = tuple(dict.fromkeys(warning for part in parts for warning in part.warnings))
    lines = [line for part in parts for line in part.strokes.geoms]
    return Shapes(
        united([part.region for part in parts]), shapely.MultiLineString(lines), warnings=told
    )


# ---- Words no wider than they may be


_TRIES: Final = 6


def fitting(art: TextArt, source: Source, draw: Callable[[TextArt], Shapes]) -> Shapes:
    """Return words set small enough for their greatest width.

    Raises JobRefusedError that names the words where that is below their least size.
    """
    shapes = draw(art)
    if not art.most_width_mm:
        return shapes
    least_mm = min(art.least_size_mm or art.size_mm, art.size_mm)
    size_mm = art.size_mm
    for _ in range(_TRIES):
        west, _, east, _ = bounding_box(shapes)
        if east - west <= art.most_width_mm:
            return shapes
        if size_mm <= least_mm:
            break
        # a hair smaller: a line of one width does not shrink with its letters
        size_mm = max(0.999 * size_mm * art.most_width_mm / (east - west), least_mm)
        shapes = draw(replace(art, size_mm=size_mm))
    west, _, east, _ = bounding_box(shapes)
    words = " / ".join(art.words.split("\n"))
    raise refusal(
        source,
        "text-too-wide",
        f"'{words}' is {east - west:.1f} mm wide at its least size of {least_mm:g} mm; it may be "
        f"{art.most_width_mm:g} mm",
        "give a smaller `least size`, more room, a narrower font or fewer letters",
    )
