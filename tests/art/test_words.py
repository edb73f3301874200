"""Text set as outlines: shaping, lines, joins, and fonts that cannot be used."""

from __future__ import annotations

import struct
from contextlib import suppress
from pathlib import Path

import font_lato
import numpy as np
import pytest
from shapely import MultiPolygon

from flushwork.art.fonts import PACKAGED, open_font
from flushwork.art.glyph_outlines import glyph_contours, shape_line
from flushwork.art.regions import filled
from flushwork.core.findings import JobRefusedError
from flushwork.job.keys.art import SINGLE_LINE
from flushwork.job.records import Job, Placement, TextArt
from tests.art.face_jobs import HERE, artwork, codes, drawn, inlay, job, refused

LATO = Path(str(font_lato.font_directory)) / "Lato-Regular.ttf"


def words(
    text: str,
    font: str = "sans",
    size_mm: float = 10.0,
    spacing: float = 0.0,
    folder: Path = Path(),
) -> Job:
    art = TextArt(text, font, size_mm, spacing)
    return job(inlay(artwork(art, Placement(anchor="lower left", as_drawn=True))), folder=folder)


def region(
    text: str, font: str = "sans", size_mm: float = 10.0, spacing: float = 0.0
) -> MultiPolygon:
    made = drawn(words(text, font, size_mm, spacing)).region
    assert made.is_valid
    return made


def width(made: MultiPolygon) -> float:
    return float(made.bounds[2] - made.bounds[0])


@pytest.mark.parametrize("font", PACKAGED)
def test_every_packaged_font_sets_words(font: str) -> None:
    made = region("Kingfisher & Co 0123456789", font)
    assert 0.2 * 10.0 < made.bounds[3] < 10.0
    assert len(made.geoms) >= 20


def test_plain_names_are_lenient_about_case_and_regular() -> None:
    assert region("A", "Sans Regular").equals(region("A", "sans"))
    assert region("A", "  SERIF   bold ").equals(region("A", "serif bold"))


def test_capitals_stand_on_the_baseline_and_scale_with_the_em() -> None:
    small, large = region("H", size_mm=10.0), region("H", size_mm=30.0)
    assert small.bounds[1] == pytest.approx(0.0, abs=1e-6)
    assert large.area == pytest.approx(9.0 * small.area, rel=1e-4)
    # the cap height Lato declares in its OS/2 table: 1433 of 2000 units
    assert small.bounds[3] == pytest.approx(10.0 * 1433 / 2000, abs=0.02)


def test_counters_are_holes() -> None:
    assert [len(part.interiors) for part in region("B").geoms] == [2]
    assert len(region("i").geoms) == 2


def test_kerning_draws_letters_together() -> None:
    opened = open_font("sans", Path(), HERE)
    alone = sum(shape_line(letter, opened, 0.0).advance for letter in "AV")
    assert shape_line("AV", opened, 0.0).advance < alone


def test_ligatures_join_and_spacing_parts_them() -> None:
    opened = open_font("serif", Path(), HERE)
    assert len(shape_line("fi", opened, 0.0).glyphs) == 1
    spaced = shape_line("fi", opened, 0.1)
    assert len(spaced.glyphs) == 2
    plain, parted = (shape_line("nn", opened, spacing).advance for spacing in (0.0, 0.1))
    assert parted == pytest.approx(plain + 0.1 * opened.em)
    assert width(region("HALCYON", spacing=0.1)) == pytest.approx(
        width(region("HALCYON")) + 6 * 0.1 * 10.0, abs=0.01
    )


def test_lines_are_centred_under_each_other() -> None:
    made = region("HHHH\nH")
    upper = [part for part in made.geoms if part.bounds[1] >= -1e-6]
    lower = [part for part in made.geoms if part.bounds[1] < -1e-6]
    assert (len(upper), len(lower)) == (4, 1)
    middle = (upper[0].bounds[0] + upper[-1].bounds[2]) / 2.0
    assert (lower[0].bounds[0] + lower[0].bounds[2]) / 2.0 == pytest.approx(middle, abs=1e-6)
    assert lower[0].bounds[3] < 0.0


def test_accents_of_their_own_are_set_on_the_letter() -> None:
    composed, combined = region("\u00e9"), region("e\u0301")
    assert composed.symmetric_difference(combined).area < 0.02 * composed.area


def test_overlapping_contours_of_a_glyph_are_united() -> None:
    opened = open_font("sans", Path(), HERE)
    number = shape_line("O", opened, 0.0).glyphs[0].number
    outer, inner = [contour.points(0.5) for contour in glyph_contours(number, opened)]
    # the same outline twice, one moved, both the same way round: one body, no hole between
    once = filled([outer])
    both = filled([outer, outer + np.array([200.0, 0.0])])
    assert len(both.geoms) == 1
    assert not both.geoms[0].interiors
    assert both.area > once.area
    assert filled([outer, inner]).area < once.area


@pytest.mark.parametrize(
    ("made", "code"),
    [
        (words(""), "text-empty"),
        (words(" \n "), "text-empty"),
        (words("A", size_mm=0.0), "text-without-size"),
        (words("A", size_mm=float("nan")), "text-without-size"),
        (words("A", "gothic"), "font-not-found"),
        (words("A", "nowhere.ttf"), "font-not-found"),
        (words("AVAST", spacing=-0.3), "letters-run-together"),
    ],
)
def test_words_that_cannot_be_set(made: Job, code: str) -> None:
    assert set(codes(made)) == {code}


def emptied(font: bytes) -> bytes:
    """Return a font whose every glyph is a blank: all of its places in the outlines are nought."""
    at = next(at for at in range(12, len(font), 16) if font[at : at + 4] == b"loca")
    begin, length = struct.unpack(">II", font[at + 8 : at + 16])
    return font[:begin] + bytes(length) + font[begin + length :]


def test_a_font_without_outlines_is_told(tmp_path: Path) -> None:
    (tmp_path / "whole.ttf").write_bytes(LATO.read_bytes())
    (tmp_path / "blank.ttf").write_bytes(emptied(LATO.read_bytes()))
    (found,) = refused(words("AB", "blank.ttf", folder=tmp_path))
    assert found.code == "text-without-outline"
    assert "no outlines for 'AB'" in found.message
    assert not drawn(words("AB", "whole.ttf", folder=tmp_path)).region.is_empty


def test_a_missing_letter_is_named() -> None:
    findings = refused(words("Snow \u2603 and \u2603 \u4e16"))
    assert [each.code for each in findings] == ["glyph-missing", "glyph-missing"]
    assert "'\u2603' (snowman)" in findings[0].message
    assert "\u4e16" in findings[1].message


def test_a_font_file_beside_the_job(tmp_path: Path) -> None:
    (tmp_path / "mine.ttf").write_bytes(LATO.read_bytes())
    made = drawn(words("Ahoy", "mine.ttf", folder=tmp_path)).region
    assert made.equals(region("Ahoy"))


@pytest.mark.parametrize("cut", [0, 3, 11, 40, 3000, 50_000])
def test_a_broken_font_is_refused(tmp_path: Path, cut: int) -> None:
    (tmp_path / "mine.ttf").write_bytes(LATO.read_bytes()[:cut])
    assert codes(words("A", "mine.ttf", folder=tmp_path)) == ["font-broken"]


@pytest.mark.parametrize("data", [b"just some text" * 99, b"wOF2" + bytes(99), bytes(500)])
def test_what_is_no_font_is_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "mine.otf").write_bytes(data)
    assert codes(words("A", "mine.otf", folder=tmp_path)) == ["font-broken"]


def test_a_font_with_scrambled_insides_is_drawn_or_refused(tmp_path: Path) -> None:
    data = bytearray(LATO.read_bytes())
    for at in range(2000, len(data), 97):
        data[at] ^= 0x5A
    (tmp_path / "mine.ttf").write_bytes(bytes(data))
    parts: list[MultiPolygon] = []
    with suppress(JobRefusedError):
        parts.append(drawn(words("Kingfisher", "mine.ttf", folder=tmp_path)).region)
    assert all(part.is_valid for part in parts)


def line_words(text: str, width_mm: float = 0.0, font: str = "single line") -> Job:
    art = TextArt(text, font, 28.0, 0.0, width_mm)
    return job(inlay(artwork(art, Placement(anchor="lower left", as_drawn=True))))


def test_single_line_letters_are_lines() -> None:
    """Capitals stand three quarters of the size; an A is three strokes (Hershey, 1967)."""
    made = drawn(line_words("A"))
    assert made.region.is_empty
    x0, y0, x1, y1 = made.strokes.bounds
    assert (y0, y1) == pytest.approx((0.0, 21.0))
    assert (x1 + x0) / 2.0 == pytest.approx(0.0)
    assert len(made.strokes.geoms) == 3
    assert made.strokes.length == pytest.approx(2.0 * np.hypot(8.0, 21.0) + 10.0)


def test_single_line_letters_take_a_width() -> None:
    made = drawn(line_words("I", 2.0))
    assert made.region.area == pytest.approx(21.0 * 2.0 + np.pi, rel=2e-3)


@pytest.mark.parametrize("font", SINGLE_LINE)
def test_every_single_line_font_writes_words_on_lines(font: str) -> None:
    made = drawn(line_words("Hal\ncyon 7", font=font))
    assert made.strokes.bounds[1] < -20.0
    assert made.strokes.bounds[3] > 15.0


def test_a_letter_that_a_single_line_font_lacks_is_named() -> None:
    assert codes(line_words("Gr\u00fc\u00dfe")) == ["glyph-missing", "glyph-missing"]
