"""The whole book as view records: where the pieces of a build become words and pictures."""

from __future__ import annotations

from collections.abc import Mapping

from flushwork.art.drawn import DrawnFace
from flushwork.book.care import care_view
from flushwork.book.cost_views import cost_view
from flushwork.book.cutter_views import cutters_view
from flushwork.book.day_views import days_view
from flushwork.book.odds_views import odds_view
from flushwork.job.records import FaceName
from flushwork.views.book_records import BookView, CoverView, FaceMapView, Fact, Picture, SeenView
from flushwork.views.cautions import SAFETY_FIRST
from flushwork.views.check_views import gates_view, proof_view, verdict
from flushwork.views.drawing.drawings import Space, as_drawn, colour_map, kept, tint
from flushwork.views.drawing.face_art import FaceArt, face_art, mix_letters
from flushwork.views.drawing.finding_pictures import Places
from flushwork.views.drawing.outline_sheet import outline_sheet
from flushwork.views.drawing.pictures import finished_name
from flushwork.views.drawing.section_drawing import SectionLook
from flushwork.views.figures import Lengths, clean
from flushwork.views.pieces import Pieces
from flushwork.views.pour_views import pour_views
from flushwork.views.reference_views import hole_groups, hole_lines, ledger, legend, settings
from flushwork.views.run_summary import run_words, summary
from flushwork.views.setup_views import mounting_views
from flushwork.views.stage_views import stage_views

PLACES_HEIGHT_MM = 60.0
COVER_TEXT_MM = 105.0
"""Room on the cover for words; its pictures share the rest."""

SEEN_TEXT_MM = 45.0
MAP_TEXT_MM = 52.0
"""Room on a colour map's page for heading, captions, grain arrows and the closing note."""

LEAST_MAP_MM = 62.0
"""Where the legend leaves a map less, it goes to a page of its own."""

BETWEEN_MM = 6.0
"""Gap between pictures that stand beside each other."""


def view_of(pieces: Pieces) -> BookView:
    """Return the shop book of a build."""
    job = pieces.job
    letters = mix_letters(job)
    lengths = Lengths(pieces.units)
    worked = tuple(face for face in pieces.faces if face.inlays or face.holes)
    arts: dict[str, FaceArt] = {
        face.name: face_art(job, face, pieces.fits, pieces.colours, letters)
        for face in pieces.faces
    }
    shown = tuple(arts[face.name] for face in worked)
    live = pieces.live()
    places = Space((live.width_mm - 6.0) / 2.0, PLACES_HEIGHT_MM)
    wood = tint(job.blank.timber.colour, 0.35)
    seen = Places(arts, pieces.replay, SectionLook(wood, pieces.colours, letters), lengths)
    return BookView(
        pngs=pieces.pictures,
        page=pieces.page,
        units=pieces.units,
        title=clean(job.title),
        today=pieces.today,
        cover=_cover(pieces, shown, lengths),
        proof=proof_view(pieces.findings, arts, pieces.causes, lengths, places, seen),
        maps=tuple(_map(pieces, face, arts[face.name], letters, lengths) for face in worked),
        seen=tuple(_seen(pieces, art) for art in shown),
        stages=stage_views(pieces, letters, lengths),
        mountings=mounting_views(pieces, arts, lengths),
        pours=pour_views(pieces, letters),
        sections=pieces.sections,
        holes=hole_groups(pieces, lengths),
        hole_note=(
            "x and y are measured from the lower left corner of the blank, looking at the face "
            f"named; in {lengths.head}."
        ),
        sheets=tuple(outline_sheet(art, pieces.sheet()) for art in shown),
        ledger=ledger(pieces.replay.ledger, pieces.plan, lengths),
        ledger_note=(
            "Heights count up out of a face from its as-sawn plane, so a lowered face stands "
            "below zero. Every depth in this book refers to a line of this table."
        ),
        settings=settings(job, lengths),
        resolved=clean(pieces.resolved),
        care=care_view(job),
        safety=SAFETY_FIRST,
        light=pieces.light,
        days=days_view(pieces.schedule, live) if pieces.schedule is not None else None,
        cost=cost_view(pieces.costs) if pieces.costs is not None else None,
        odds=odds_view(pieces.risk.odds, arts, lengths, places) if pieces.risk else None,
        gates=gates_view(pieces.risk, live) if pieces.risk and pieces.risk.gates else None,
        cutters=cutters_view(pieces.cut_files, pieces.cutter_sets),
    )


def _map(
    pieces: Pieces,
    face: DrawnFace,
    art: FaceArt,
    letters: Mapping[str, str],
    lengths: Lengths,
) -> FaceMapView:
    """Return the colour map of a face, sized so that its views share a page with the legend."""
    live = pieces.live()
    inlays: dict[str, int] = {}
    for drawn in face.inlays:
        inlays[drawn.inlay.mix.name] = inlays.get(drawn.inlay.mix.name, 0) + 1
    legend_mm = sum(2.0 + max(11.0, 8.5 * count) for count in inlays.values())
    room_mm = live.height_mm - MAP_TEXT_MM - legend_mm - 5.0 * len(face.holes)
    if room_mm < 2.0 * LEAST_MAP_MM:
        room_mm = live.height_mm - MAP_TEXT_MM
    space, beside = _half(Space(live.width_mm, room_mm), art)
    return FaceMapView(
        face=face.name,
        heading=f"{face.name.capitalize()} face",
        working=colour_map(art, space, behind=False),
        behind=colour_map(art, space, behind=True),
        legend=legend(pieces, art, letters, lengths),
        holes=hole_lines(face, lengths),
        beside=beside,
    )


def _half(space: Space, art: FaceArt) -> tuple[Space, bool]:
    """Return the half of a space in which a face shows larger, and whether it is the side half."""
    below = Space(space.width_mm, space.height_mm / 2.0)
    beside = Space((space.width_mm - BETWEEN_MM) / 2.0, space.height_mm)

    def scale(half: Space) -> float:
        return min(half.width_mm / art.length_mm, half.height_mm / art.width_mm)

    return (beside, True) if scale(beside) > scale(below) else (below, False)


def _cover(pieces: Pieces, arts: tuple[FaceArt, ...], lengths: Lengths) -> CoverView:
    job, live = pieces.job, pieces.live()
    space, beside = Space(live.width_mm, live.height_mm - COVER_TEXT_MM), False
    if len(arts) > 1:
        space, beside = _half(space, arts[0])
    pictures = tuple(_look(pieces, art, space) or as_drawn(art, space) for art in arts)
    return CoverView(
        title=clean(job.title),
        summary=summary(job, pieces.faces, lengths),
        pictures=pictures,
        facts=(
            Fact("Run", run_words(job)),
            Fact("Timber", clean(job.blank.timber.name)),
            Fact(
                "Blank",
                lengths.size(job.blank.length_mm, job.blank.width_mm, job.blank.thickness_mm),
            ),
            Fact("Date", pieces.today),
        ),
        verdict=verdict(pieces.findings),
        beside=beside,
    )


def _seen(pieces: Pieces, art: FaceArt) -> SeenView:
    live = pieces.live()
    space, beside = _half(Space(live.width_mm, live.height_mm - SEEN_TEXT_MM), art)
    return SeenView(
        face=art.name,
        heading=f"{art.name.capitalize()} face",
        drawn=as_drawn(art, space),
        seen=_look(pieces, art, space),
        note=(
            "The second picture is the replay of the cut files themselves, cut, filled, levelled "
            "and sanded to the final plane."
        ),
        beside=beside,
    )


def _look(pieces: Pieces, art: FaceArt, space: Space) -> Picture | None:
    """Return the finished look of a face, at the size its drawing has."""
    png = finished_name(_face(art))
    if png not in pieces.pictures:
        return None
    left, low, right, top = kept(art)
    scale = min(space.width_mm / (right - left), space.height_mm / (top - low))
    alt = f"The {art.name} face as it will be seen, replayed from the cut files"
    caption = "As it will be seen"
    return Picture(alt, caption, (right - left) * scale, (top - low) * scale, png=png)


def _face(art: FaceArt) -> FaceName:
    return art.name
