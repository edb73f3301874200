"""Every finding is led by a picture: of its place, or of what on the board it is about."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.film import stills
from flushwork.bench.film.stills import CROP_MM, about, crop, finding_drawing, finding_still, seen
from flushwork.bench.server.rendering import rendered_parts
from flushwork.core.findings import BLANK, TRIM_LINE, Finding, Measure, Place, Severity, Subject
from flushwork.job.records import FaceName
from tests.bench.conftest import ask

MIX = Subject("mix", "teal <script>alert(1)</script>")
PLATE, PEGS = Subject("inlay", "plate"), Subject("holes", "pegs")


def told(subject: Subject | None, place: Place | None = None, **more: object) -> Finding:
    subjects = (subject,) if subject is not None else ()
    finding = Finding("trial", Severity.NOTE, "a trial", "none", subjects, place=place)
    return replace(finding, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("subject", [PLATE, MIX, Subject("material", "coating epoxy")])
def test_a_mix_and_its_resin_are_shown_by_the_pockets_they_fill(
    snapshot: Snapshot, subject: Subject
) -> None:
    what = about(snapshot.made, told(subject))
    plate = snapshot.made.faces[0].inlays[0].region
    assert what.face == "front"
    assert what.regions.symmetric_difference(plate).area < 1e-6
    fills = [pour.stage for pour in snapshot.made.pours]
    last = snapshot.made.plan.stages[-1].number
    assert what.stage == (last if subject == PLATE else fills[0])


def test_holes_bits_files_and_stages_are_shown_by_what_they_make(snapshot: Snapshot) -> None:
    pegs = about(snapshot.made, told(PEGS)).regions
    assert len(pegs.geoms) == 2
    assert pegs.area == pytest.approx(2.0 * np.pi * 3.175**2 / 4.0, rel=0.02)
    for file, stage in zip(snapshot.made.gcode_files, snapshot.made.cut_stages, strict=True):
        for subject in (Subject("file", file.file_name), Subject("bit", file.order.bit.name)):
            what = about(snapshot.made, told(subject))
            if {each.subject for each in file.order.operations} & {"plate", "pegs"}:
                assert not what.regions.is_empty
                assert what.stage <= stage
    for stage_ in snapshot.made.plan.stages:
        what = about(snapshot.made, told(Subject("stage", stage_.title)))
        assert what.regions.is_empty == (not set(stage_.subjects) & {"plate", "pegs"})
    assert about(snapshot.made, told(TRIM_LINE)).regions.area > 0.0


@pytest.mark.parametrize("subject", [None, Subject("key", "moisture log"), BLANK])
def test_what_has_no_part_of_the_board_is_shown_by_the_whole(
    snapshot: Snapshot, subject: Subject | None
) -> None:
    what = about(snapshot.made, told(subject))
    assert what.regions.is_empty
    assert what.stage == (0 if subject == BLANK else snapshot.made.plan.stages[-1].number)
    picture = Image.open(io.BytesIO(finding_still(snapshot, told(subject))))
    spec = snapshot.film.spec
    assert picture.width / picture.height == pytest.approx(spec.length_mm / spec.width_mm, rel=0.02)


def test_what_is_meant_keeps_its_colour_and_the_rest_fades(snapshot: Snapshot) -> None:
    picture = Image.open(io.BytesIO(finding_still(snapshot, told(MIX)))).convert("RGB")
    # the plate is in the middle of the board, and of the picture
    middle = np.array(picture.getpixel((picture.width // 2, picture.height // 2)), float)
    edge = np.array(picture.getpixel((6, picture.height // 2)), float)
    what = about(snapshot.made, told(MIX))
    whole, px_mm = seen(snapshot, what.stage, "front")
    spec = snapshot.film.spec
    row, column = round(spec.width_mm / 2 / px_mm), round(spec.length_mm / 2 / px_mm)
    assert np.abs(middle - whole[row, column, :3]).max() < 40.0
    assert edge.min() > 150.0, "wood fades into paper"
    assert edge.min() > middle.min() + 60.0


def test_a_place_is_the_middle_of_its_picture_and_is_drawn_with_its_figure(
    snapshot: Snapshot,
) -> None:
    place = Place("front", 45.0, 35.0)
    finding = told(PLATE, place, measure=Measure("width", 1.2, None, "mm"))
    picture = Image.open(io.BytesIO(finding_still(snapshot, finding))).convert("RGB")
    red, _, blue = picture.getpixel((picture.width // 2, picture.height // 2))  # type: ignore[misc]
    assert red < blue, "the middle of the plate is teal"
    svg = finding_drawing(snapshot, finding, "metric")
    assert svg is not None
    assert svg.startswith("<svg xmlns=")
    assert finding_drawing(snapshot, told(PLATE), "metric") is None
    elsewhere = replace(finding, place=Place("edge", 1.0, 1.0))
    assert finding_still(snapshot, elsewhere)
    assert finding_drawing(snapshot, elsewhere, "metric") is None


def test_every_finding_of_the_page_has_a_picture_that_is_drawn_when_asked_for(
    built: Desk, snapshot: Snapshot
) -> None:
    check = rendered_parts(snapshot, "metric")["parts"]["check"]
    assert "<svg" not in check, "nothing is drawn before it is asked for"
    for number, finding in enumerate(snapshot.made.findings):
        link = f"/board/{snapshot.generation}/place/{number}"
        assert f'<img src="{link}"' in check
        answer = ask(built, "GET", link)
        assert answer.headers["content-type"] == "image/png"
        drawn = ask(built, "GET", link.replace("/place/", "/drawn/"))
        assert drawn.status_code == (200 if finding.place is not None else 404)
    assert check.count('loading="lazy"') == check.count("<img ")
    assert ask(built, "GET", f"/board/{snapshot.generation}/drawn/999").status_code == 404


@pytest.mark.parametrize(
    ("face", "x_mm", "y_mm"), [("front", 45.0, 35.0), ("front", 0.0, 0.0), ("back", 88.0, 69.0)]
)
def test_a_piece_of_board_looks_as_it_does_in_the_whole(
    snapshot: Snapshot, face: FaceName, x_mm: float, y_mm: float
) -> None:
    spec, stage = snapshot.film.spec, snapshot.film.shots[-1].stage
    piece = np.asarray(Image.open(io.BytesIO(crop(snapshot, face, x_mm, y_mm))))
    px_mm = CROP_MM / piece.shape[0]
    whole = stills._drawn(snapshot, stage, face, px_mm, None)
    half = piece.shape[0] // 2
    around = np.pad(whole, ((half, half), (half, half), (0, 0)))
    row, column = round(spec.width_mm / px_mm) - round(y_mm / px_mm), round(x_mm / px_mm)
    same = around[row : row + 2 * half, column : column + 2 * half].astype(int)
    assert piece.shape == same.shape
    assert np.array_equal(piece[..., 3], same[..., 3]), "holes, waste and what lies off the board"
    # the lamp's gentle fall is that of each picture: 2 % at most each way
    off = np.abs(piece[..., :3] - same[..., :3])
    assert off.max() <= 0.05 * 255
    assert off.mean() <= 0.02 * 255
