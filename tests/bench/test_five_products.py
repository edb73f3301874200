"""Five products such shops sell, each from nothing by the page's own questions, to OK to cut."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any, Final

import font_source_serif_pro
import numpy as np
from PIL import Image, ImageDraw, ImageFilter

import flushwork
from flushwork.bench.desk.desk import Desk
from flushwork.built import Build
from flushwork.core.findings import Severity
from flushwork.job.text.dump import resolved_text
from flushwork.usecases.jobs import first_choices, first_shop
from flushwork.usecases.shop_jobs import start_job
from tests.bench.conftest import ask

CELL: Final = "cell: 0.5 mm\n"
"""The board is looked at less finely than is usual, to spare time."""
LOGO: Final = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60">
<circle cx="30" cy="30" r="28" fill="#12404f"/><circle cx="30" cy="30" r="24" fill="#ffffff"/>
<path d="M30 10 L46 44 L14 44 Z" fill="#c8781e"/></svg>"""


class Maker:
    """One who makes a job on the page: what is pressed there, asked as the page asks it."""

    def __init__(self, path: Path, *, inch: bool = False) -> None:
        self.desk, self.units = Desk(path), "inch" if inch else "metric"
        self.path, self.text, self.things = path, "", ()
        if path.exists():
            self.text = path.read_text("utf-8")

    def press(self, route: str, **sent: Any) -> dict[str, Any]:
        """Press a button of a form, and take the text it answers with."""
        more = {"text": self.text, "units": self.units, "face": "front", **sent}
        answer = ask(self.desk, "POST", f"/making/{route}", json=more)
        told: dict[str, Any] = answer.json()
        assert answer.status_code == 200, told
        self.text = told.get("text", self.text)
        return told

    def begin(self, wood: str, size: tuple[str, str, str], **more: Any) -> None:
        names = ("length", "width", "thickness")
        sent = {
            "title": self.path.parent.name,
            "pieces": "1",
            **dict(zip(names, size, strict=True)),
        }
        self.press("begin", wood=wood, **{**sent, **more})

    def drop(self, name: str, data: bytes) -> dict[str, Any]:
        raw = {"content-type": "application/octet-stream"}
        answer = ask(self.desk, "POST", f"/making/file?name={name}", content=data, headers=raw)
        held: dict[str, Any] = answer.json()
        assert answer.status_code == 200, held
        return held

    def draw(self, name: str, data: bytes) -> list[str]:
        file = self.drop(name, data)["file"]
        told = self.press("put", what="drawing", file=file, by="colours")
        return list(told["things"])

    def ready_made(self, kind: str, *parts: str) -> list[str]:
        """Put a ready-made part on with the measures that the page offers for these parts of it."""
        told = self.press("measures", kind=kind, parts=parts)
        measures = {each["key"]: each["value"] for each in told["measures"]}
        told = self.press("put", what="ready-made", kind=kind, parts=parts, more=measures)
        return list(told["things"])

    def ok_to_cut(self) -> Build:
        """Return what is built of the text; nothing of it must be fixed."""
        made = flushwork.build(self.path, text=self.text + CELL)
        stops = [each.message for each in made.findings if each.severity is Severity.MUST_FIX]
        assert not stops, self.text
        assert made.ok_to_cut
        assert made.gcode_files
        written = resolved_text(made.job)
        again = flushwork.load(self.path, written)
        assert resolved_text(again).replace("  # default", "") == written.replace("  # default", "")
        return made


def warned(made: Build) -> set[str]:
    return {each.code for each in made.findings if each.severity is Severity.WARNING}


CHESS: Final = """\
flushwork: 2
title: chess
pieces: 1
blank: {wood: sugar maple, length: 130 mm, width: 130 mm, thickness: 18 mm}
trim line: {rectangle: 115 mm x 115 mm}
cell: 0.5 mm
mixes:
  navy: {resin: coating epoxy, pigments: [navy flake]}
  rust orange: {resin: coating epoxy, pigments: [rust orange powder]}
  white: {resin: coating epoxy, pigments: [white powder]}
layouts:
  squares: {squares: {columns: 8, rows: 8, square: 13 mm}}
front:
  inlays:
    - {name: squares dark, layout: squares, part: dark, depth: 2 mm, fill: navy}
    - {name: squares lines, layout: squares, part: lines, width: 1 mm, depth: 1 mm, fill: white,
       second pass of: squares dark}
"""


def test_a_chess_board_with_thin_bright_lines(tmp_path: Path) -> None:
    maker = Maker(tmp_path / "chess" / "job.yaml")
    trim = {"rectangle": "115 mm x 115 mm"}
    maker.begin("sugar maple", ("130 mm", "130 mm", "18 mm"), trim_line=trim)
    _, lines = maker.ready_made("squares", "dark", "lines")
    maker.press("mix", name="", pigments=["white powder"], resin="", thing=lines)
    made = maker.ok_to_cut()
    assert warned(made) == set()
    hand = flushwork.load(maker.path, CHESS)
    assert resolved_text(made.job) == resolved_text(hand), "as it is written by hand"


def test_a_wedding_sign_in_a_thin_font_dropped_in_an_inch_shop(tmp_path: Path) -> None:
    may = first_choices()
    first_shop(
        tmp_path / "shop.yaml",
        units="inch",
        travel=may.travel["inch"],
        bits=may.usual_bits,
        resin=may.resins[0],
        scales=may.scales[:1],
    )
    size = ("14 in", "10 in", "3/4 in")
    maker = Maker(start_job(tmp_path, "Wedding sign", wood="black walnut", size=size), inch=True)
    font = Path(str(font_source_serif_pro.font_directory)) / "SourceSerifPro-LightIt.otf"
    held = maker.drop("Hairline.otf", font.read_bytes())
    words = {"words": "Anna & Tom\n12 June 2027", "font": held["file"], "size": "", "more": {}}
    told = maker.press("put", what="words", **words)
    assert told["said"].endswith(
        "It is engraved with a V-bit: parts of it are finer than the 1 mm flat."
    )
    made = maker.ok_to_cut()
    assert warned(made) == set()
    x0, _, x1, _ = made.inlays[0].region.bounds
    assert x1 - x0 > 0.5 * made.job.blank.length_mm, "as large as there is room for"
    assert " mm" not in maker.text


def test_a_peg_track_with_numbers_beside_its_holes(tmp_path: Path) -> None:
    maker = Maker(tmp_path / "track" / "job.yaml")
    trim = {"rectangle": "375 mm x 95 mm"}
    maker.begin("black walnut", ("400 mm", "120 mm", "19 mm"), trim_line=trim)
    maker.ready_made("peg track", "track", "start", "finish", "numbers")
    made = maker.ok_to_cut()
    holes = made.face("front").holes
    assert {each.holes.diameter_mm for each in holes} == {3.175}
    xs = [place.x_mm for each in holes for place in each.places]
    assert max(xs) - min(xs) > 0.75 * 375.0, "it fills the board"


def badge() -> bytes:
    """Photograph a badge: seen aslant, unevenly lit, not quite sharp, with noise."""
    paper, ink, sun, bar = (246, 243, 236), (28, 60, 130), (205, 140, 30), (160, 30, 35)
    flat = Image.new("RGB", (600, 600), paper)
    draw = ImageDraw.Draw(flat)
    draw.ellipse((40, 40, 560, 560), fill=ink)
    draw.ellipse((75, 75, 525, 525), fill=paper)
    draw.ellipse((320, 140, 427, 247), fill=sun)
    draw.polygon([(127, 427), (267, 200), (347, 327), (393, 267), (480, 427)], fill=ink)
    draw.rectangle((167, 443, 433, 467), fill=bar)
    aslant = (0.97, 0.05, -100.0, 0.03, 1.02, -40.0, 1e-5, 6e-5)
    seen = flat.transform((800, 600), Image.Transform.PERSPECTIVE, aslant, fillcolor=paper)
    dots = np.asarray(seen.filter(ImageFilter.GaussianBlur(0.8)), dtype=np.float64)
    light = 0.75 + 0.25 * np.linspace(0.0, 1.0, 800)[None, :, None]
    noise = np.random.default_rng(5).normal(0.0, 6.0, dots.shape)
    out = io.BytesIO()
    Image.fromarray((dots * light + noise).clip(0, 255).astype(np.uint8)).save(out, "JPEG")
    return out.getvalue()


def test_a_badge_from_a_photo(tmp_path: Path) -> None:
    maker = Maker(tmp_path / "badge" / "job.yaml")
    trim = {"circle": "80 mm"}
    maker.begin("sugar maple", ("105 mm", "105 mm", "12 mm"), trim_line=trim)
    assert len(maker.draw("badge.jpg", badge())) == 3
    made = maker.ok_to_cut()
    assert not {"dye", "clear"} & {str(each.mix.name) for each in made.job.inlays}
    assert all(drawn.region.is_valid for drawn in made.inlays)
    assert "fill-does-not-hide" not in warned(made), "no colour lets the wood through"


def test_twelve_coasters_with_a_logo_of_two_colours_from_one_plank(tmp_path: Path) -> None:
    maker = Maker(tmp_path / "coasters" / "job.yaml")
    plank = {"pieces": "12"}
    trim = {"circle": "90 mm"}
    maker.begin("black cherry", ("440 mm", "320 mm", "10 mm"), trim_line=trim, plank=plank)
    things = maker.draw("logo.svg", LOGO)
    assert len(things) == 2
    made = maker.ok_to_cut()
    assert len({each.mix.name for each in made.job.inlays}) == 2
