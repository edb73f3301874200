"""Colour maps and the other drawings of a face."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace

import pytest
from shapely import Point

from flushwork.book.compose import view_of
from flushwork.views.book_records import Picture
from flushwork.views.context import ViewContext
from flushwork.views.drawing.drawing_marks import (
    DISC_MM,
    INK,
    Space,
    bar_length_mm,
    callouts,
    spots,
    tint,
)
from flushwork.views.drawing.face_art import FaceArt, cutting_order, face_art, mix_letters
from flushwork.views.drawing.face_drawings import CutHere, colour_map, fitted, setup_drawing
from tests.book.rebuilt import rebuilt
from tests.book.shared_views import setup_cards

SPACE = Space(170.0, 84.0)


def arts(context: ViewContext) -> list[FaceArt]:
    letters = mix_letters(context.build.job)
    return [
        face_art(context.build.job, face, context.build.fits, context.colours, letters)
        for face in context.build.faces
    ]


def texts(picture: Picture) -> list[str]:
    root = ET.fromstring(picture.svg)  # noqa: S314 - our own drawing
    return [each.text or "" for each in root.iter() if each.tag.endswith("text")]


def every_picture(context: ViewContext) -> list[Picture]:
    view = view_of(context)
    return [
        *view.run.pictures,
        *view.check.places,
        *(picture for each in view.maps for picture in (each.working, each.behind)),
        *(each.drawn for each in view.seen),
        *(each.picture for each in setup_cards(context)),
        *(
            pour.picture
            for card in view.cards
            if card.pours
            for pour in card.pours.pours
            if pour.picture
        ),
        *(tile for sheet in view.sheets for tile in sheet.tiles),
    ]


def test_every_drawing_is_well_formed_and_holds_no_id_and_no_link(context: ViewContext) -> None:
    for picture in every_picture(context):
        if picture.svg:
            root = ET.fromstring(picture.svg)  # noqa: S314 - our own drawing
            for each in root.iter():
                assert not {"id", "href", "style"} & set(each.attrib)


def test_mixes_get_letters_in_the_order_of_the_file(context: ViewContext) -> None:
    assert mix_letters(context.build.job) == {
        "deep teal": "A", "sand": "B", "gold line": "C", "madder red": "D", "clear": "E",
    }  # fmt: skip


def test_an_unused_mix_gets_no_letter(context: ViewContext) -> None:
    spare = replace(context.build.job.mixes[0], name="spare")
    job = replace(context.build.job, mixes=(spare, *context.build.job.mixes))
    assert "spare" not in mix_letters(job)


def test_what_rests_on_others_is_drawn_after_them(context: ViewContext) -> None:
    front = context.build.faces[0]
    turned = tuple(reversed(front.inlays))
    names = [drawn.inlay.name for drawn in cutting_order(turned)]
    assert names.index("bright edge") > names.index("rose dark")
    assert names.index("bright edge") > names.index("rose light")


def test_every_inlay_has_its_letter_on_it_or_beside_the_board(context: ViewContext) -> None:
    for art in arts(context):
        for behind in (False, True):
            frame = fitted(art, SPACE, 9.0, behind)
            found = spots(art.inlays, frame)
            beside = callouts(art.inlays, frame, found, SPACE.width_mm)
            told = {spot.inlay for spot in found} | {callout.inlay for callout in beside}
            assert told == {each.inlay.name for each in art.inlays}


@pytest.mark.parametrize("about_length", [True, False])
def test_letters_lie_on_their_own_inlay_in_both_views(
    make_context: Callable[..., ViewContext], about_length: bool
) -> None:
    art = arts(make_context(turn_about_x=about_length))[1]
    for behind in (False, True):
        frame = fitted(art, SPACE, 9.0, behind)
        for spot in spots(art.inlays, frame):
            x = (spot.x_mm - frame.left_mm) / frame.scale
            y = art.width_mm - (spot.y_mm - frame.top_mm) / frame.scale
            x = art.length_mm - x if frame.flip_x else x
            y = art.width_mm - y if frame.flip_y else y
            own = next(each for each in art.inlays if each.inlay.name == spot.inlay)
            assert own.in_sight.contains(Point(x, y))


def test_a_letter_beside_the_board_points_at_its_own_inlay(context: ViewContext) -> None:
    art = arts(context)[0]
    for behind in (False, True):
        frame = fitted(art, SPACE, 9.0, behind)
        for callout in callouts(art.inlays, frame, (), SPACE.width_mm):
            x = (callout.to_x_mm - frame.left_mm) / frame.scale
            y = art.width_mm - (callout.to_y_mm - frame.top_mm) / frame.scale
            y = art.width_mm - y if frame.flip_y else y
            own = next(each for each in art.inlays if each.inlay.name == callout.inlay)
            assert own.region.distance(Point(x, y)) < 1e-6


def test_callouts_do_not_lie_on_each_other(context: ViewContext) -> None:
    art = arts(context)[0]
    frame = fitted(art, SPACE, 9.0)
    beside = callouts(art.inlays, frame, (), SPACE.width_mm)
    for one in beside:
        for other in beside:
            if one is not other and one.x_mm == other.x_mm:
                assert abs(one.y_mm - other.y_mm) >= 2.0 * DISC_MM


def test_the_map_says_which_way_it_is_seen_and_how_large(context: ViewContext) -> None:
    art = arts(context)[0]
    working, behind = (colour_map(art, SPACE, behind=way) for way in (False, True))
    assert "working side" in working.caption
    assert "behind" in behind.caption
    assert "50\N{NO-BREAK SPACE}mm" in texts(working)
    assert "grain" in texts(working)
    assert working.svg != behind.svg


def test_a_setups_picture_marks_zero_grain_and_the_first_move(context: ViewContext) -> None:
    picture = setup_cards(context)[0].picture
    assert set(texts(picture)) == {"X0 Y0", "X", "Y", "grain", "first move"}
    sizes = re.findall(r'font-size="([0-9.]+)"', picture.svg)
    assert min(map(float, sizes)) * 72.0 / 25.4 >= 10.0
    across = setup_cards(rebuilt(context, job=replace(context.build.job, blank=replace(
        context.build.job.blank, grain_along_x=False))))[0].picture  # fmt: skip
    assert across.svg != picture.svg


def test_dowels_and_clamps_stand_in_a_setups_picture(context: ViewContext) -> None:
    dowels = ((30.0, 95.0, 6.0), (310.0, 95.0, 6.0))
    bare = CutHere((), (), (), (0.0, 0.0))
    drawn = setup_drawing(arts(context)[0], replace(bare, dowels=dowels), SPACE)
    dots = [
        dict(re.findall(r'([a-z-]+)="([^"]*)"', tag))
        for tag in re.findall("<circle[^>]*>", drawn.svg)
    ]
    assert sum(dot.get("fill") == INK for dot in dots) == 2
    clamped = setup_drawing(arts(context)[0], replace(bare, clamps=("M0 0h100v100h-100z",)), SPACE)
    assert "M0 0h100v100h-100z" in clamped.svg


def test_findings_with_a_place_have_a_numbered_pin(context: ViewContext) -> None:
    check = view_of(context).check
    numbers = sorted(text for picture in check.places for text in texts(picture))
    assert numbers == ["1", "2"]


def test_a_scale_bar_is_a_round_length_that_fits() -> None:
    assert [bar_length_mm(room, inch=True) / 25.4 for room in (0.4, 9.9, 85.0)] == [
        1 / 16,
        0.25,
        2.0,
    ]
    assert [bar_length_mm(room) for room in (0.4, 9.9, 85.0, 1000.0)] == [1.0, 5.0, 50.0, 500.0]


def test_a_tint_moves_a_colour_to_white() -> None:
    assert tint("#000000", 0.5) == "#808080"
    assert tint("#123456", 0.0) == "#123456"
    assert tint("#123456", 1.0) == "#ffffff"
