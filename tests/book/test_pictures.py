"""Pictures of a build, and the book made from a build."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from PIL import Image
from shapely import MultiPolygon, box

from flushwork.book.compose import book_view
from flushwork.built import Build
from flushwork.strata.replay import replay
from flushwork.strata.steps import BoardSpec, Fill, Plane, ReplayStep
from flushwork.views.context import ViewContext
from flushwork.views.drawing.pictures import png_bytes, tilted_name, trimmed
from tests.book.shared_views import pictures_of


@pytest.fixture(scope="module")
def made(make_context: Callable[..., ViewContext]) -> Build:
    """Return a build whose replay flattens the front and floods one inlay, at a coarse cell."""
    build = make_context().build
    body = build.faces[1].inlays[0]
    steps = (
        ReplayStep(1, (Plane("front", -0.5, "surfaced"), Plane("back", -0.5, "surfaced"))),
        ReplayStep(2, (Fill("back", "body", "deep teal", body.region, 5.0, 0.0, 1.0),)),
    )
    return replace(
        build,
        replay=replay(BoardSpec(340.0, 190.0, 19.0, True, 1.0), steps),
        cut_stages=(3,) * len(build.gcode_files),
    )


def opened(png: bytes) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    return np.asarray(Image.open(io.BytesIO(png)))


def test_each_worked_face_has_its_picture_inside_the_trim_line(made: Build) -> None:
    pictures = pictures_of(made)
    assert [name for name in sorted(pictures) if "finished" in name] == [
        "back-finished", "front-finished",
    ]  # fmt: skip
    back = opened(pictures["back-finished"])
    assert back.shape[1] / back.shape[0] == pytest.approx(320.0 / 170.0, rel=0.01)
    assert back[0, 0].tolist() == [255, 255, 255]
    red, green, blue = back[back.shape[0] // 2, round(back.shape[1] * 220.0 / 320.0)].tolist()
    assert green > red + 30
    assert blue > red + 30


def test_a_face_with_flakes_flashes_at_one_tilt_and_lies_dark_at_another(made: Build) -> None:
    pictures = pictures_of(made)
    bright, dark = (opened(pictures[tilted_name("back", tilt)]) for tilt in ("mirror", "away"))
    place = (bright.shape[0] // 2, round(bright.shape[1] * 220.0 / 320.0))
    flash, level = bright[place].astype(int), dark[place].astype(int)
    assert flash.sum() > 1.2 * level.sum()
    # the wood beside it is the same at both
    corner = (bright.shape[0] // 2, round(bright.shape[1] * 20.0 / 320.0))
    assert bright[corner].tolist() == dark[corner].tolist()


def test_the_same_build_gives_the_same_pictures(made: Build) -> None:
    assert pictures_of(made) == pictures_of(made)


def test_the_far_edge_comes_first_and_waste_is_gone() -> None:
    picture = np.zeros((20, 40, 4), np.uint8)
    picture[..., 3] = 255
    picture[:10, :, 0] = 200
    seen = trimmed(picture, MultiPolygon([box(5.0, 2.0, 35.0, 18.0)]), 1.0)
    assert seen.shape == (16, 30, 4)
    assert seen[0, 15].tolist() == [200, 0, 0, 255]
    assert seen[-1, 15].tolist() == [0, 0, 0, 255]
    round_one = trimmed(picture, MultiPolygon([box(9, 9, 31, 11).buffer(7.0)]), 1.0)
    assert round_one[0, 0, 3] == 0


def test_what_is_clear_through_is_laid_on_white() -> None:
    picture = np.zeros((4, 4, 4), np.uint8)
    picture[:2] = (10, 20, 30, 255)
    assert opened(png_bytes(picture))[0, 0].tolist() == [10, 20, 30]
    assert opened(png_bytes(picture))[3, 3].tolist() == [255, 255, 255]


def test_no_picture_is_refused() -> None:
    with pytest.raises(ValueError, match="rows, columns, 4"):
        png_bytes(np.zeros((4, 4, 3), np.uint8))


def test_a_build_becomes_a_book_with_pictures_and_sections(made: Build) -> None:
    view = book_view(made, pictures_of(made), date(2026, 11, 25))
    assert view.today == "25 November 2026"
    assert all(picture.png for picture in view.run.pictures)
    headings = [section.heading for section in view.sections]
    assert "Across the seam line bright edge" in headings
    assert "Kingfisher travelling set" in view.resolved
