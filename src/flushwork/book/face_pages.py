"""The pages of each face in the book: its colours, the drawing beside what will be seen."""

from __future__ import annotations

from collections.abc import Mapping

from flushwork.art.drawn import DrawnFace
from flushwork.job.records import FaceName
from flushwork.views.book_records import FaceMapView, Picture, SeenView
from flushwork.views.context import ViewContext
from flushwork.views.drawing.drawing_marks import Space
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.face_drawings import as_drawn, colour_map, kept
from flushwork.views.drawing.pictures import finished_name
from flushwork.views.figures import Lengths
from flushwork.views.reference_views import hole_lines, legend

SEEN_TEXT_MM = 45.0
MAP_TEXT_MM = 52.0
"""Room on a colour map's page for heading, captions, grain arrows and the closing note."""

LEAST_MAP_MM = 62.0
"""Where the legend leaves a map less, it goes to a page of its own."""

BETWEEN_MM = 6.0
"""Gap between pictures that stand beside each other."""


def map_page(
    context: ViewContext,
    face: DrawnFace,
    art: FaceArt,
    letters: Mapping[str, str],
    lengths: Lengths,
) -> FaceMapView:
    """Return the colour map of a face, sized so that its views share a page with the legend."""
    live = context.live()
    inlays: dict[str, int] = {}
    for drawn in face.inlays:
        inlays[drawn.inlay.mix.name] = inlays.get(drawn.inlay.mix.name, 0) + 1
    legend_mm = sum(2.0 + max(11.0, 8.5 * count) for count in inlays.values())
    room_mm = (
        live.height_mm
        - MAP_TEXT_MM
        - legend_mm
        - 5.0 * (len(face.holes) + len(face.pockets) + len(face.edges))
    )
    if room_mm < 2.0 * LEAST_MAP_MM:
        room_mm = live.height_mm - MAP_TEXT_MM
    space, beside = _half(Space(live.width_mm, room_mm), art)
    return FaceMapView(
        face=face.name,
        heading=f"{face.name.capitalize()} face",
        working=colour_map(art, space, behind=False),
        behind=colour_map(art, space, behind=True),
        legend=legend(context, art, letters, lengths),
        holes=hole_lines(context, face, lengths),
        beside=beside,
    )


def _half(space: Space, art: FaceArt) -> tuple[Space, bool]:
    """Return the half of a space in which a face shows larger, and whether it is the side half."""
    below = Space(space.width_mm, space.height_mm / 2.0)
    beside = Space((space.width_mm - BETWEEN_MM) / 2.0, space.height_mm)

    def scale(half: Space) -> float:
        return min(half.width_mm / art.length_mm, half.height_mm / art.width_mm)

    return (beside, True) if scale(beside) > scale(below) else (below, False)


def seen_page(context: ViewContext, art: FaceArt) -> SeenView:
    """Return a face as drawn, and as the replay shows it."""
    live = context.live()
    space, beside = _half(Space(live.width_mm, live.height_mm - SEEN_TEXT_MM), art)
    return SeenView(
        face=art.name,
        heading=f"{art.name.capitalize()} face",
        drawn=as_drawn(art, space),
        seen=finished_look(context, art, space),
        note=(
            "The second picture is the replay of the G-code files themselves, cut, filled, milled "
            "flush and sanded to the final plane."
        ),
        beside=beside,
    )


def finished_look(context: ViewContext, art: FaceArt, space: Space) -> Picture | None:
    """Return the finished look of a face, at the size its drawing has."""
    png = finished_name(_face(art))
    if png not in context.pictures:
        return None
    left, low, right, top = kept(art)
    scale = min(space.width_mm / (right - left), space.height_mm / (top - low))
    alt = f"The {art.name} face as it will be seen, replayed from the G-code files"
    caption = "As it will be seen"
    return Picture(alt, caption, (right - left) * scale, (top - low) * scale, png=png)


def _face(art: FaceArt) -> FaceName:
    return art.name
