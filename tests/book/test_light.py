"""The chapter on light, and the pour cards read backwards, from whole builds."""

from __future__ import annotations

from datetime import date

import pytest

from flushwork.book.compose import book_view
from flushwork.built import Build
from flushwork.resin.cup.cards import ratio_of
from flushwork.views.book_records import BookView
from flushwork.views.overshoot import overshoot_table, overshoot_words
from tests.book.shared_views import pictures_of
from tests.small_jobs import changed, made

LINE = changed(
    "  holes:",
    "    - {name: line, seam line: {along: [plate], width: 0.8 mm}, depth: 1.2 mm, fill: bright,\n"
    "       how: scraped flush and capped, cap: clear}\n  holes:",
    changed(
        "  clear: {",
        "  bright: {resin: coating epoxy, pigments: [{name: fine gold, share: 4 %}]}\n  clear: {",
    ),
)


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return made(tmp_path_factory.mktemp("light"), LINE)


@pytest.fixture(scope="module")
def view(result: Build) -> BookView:
    return book_view(result, pictures_of(result), date(2027, 3, 1))


def test_a_face_with_flakes_is_shown_at_two_tilts(view: BookView) -> None:
    assert view.light is not None
    (tilt,) = view.light.tilts
    assert tilt.bright.png != tilt.dark.png
    assert tilt.bright.width_mm < 90.0


def test_a_line_has_its_odds_and_what_would_do_better(view: BookView) -> None:
    assert view.light is not None
    (row,) = view.light.lines.rows
    assert row[0] == "line, front"
    assert row[-1].startswith("0")
    assert view.light.ways.rows
    assert all(
        float(way[-1].split("\N{NO-BREAK SPACE}")[0]) >= 90.0 for way in view.light.ways.rows
    )


def test_colours_are_told_with_their_thickness(view: BookView) -> None:
    assert view.light is not None
    by_mix = {row[0]: row for row in view.light.colours.rows}
    assert by_mix["dark"][1] == "plate"
    assert float(by_mix["dark"][2].removesuffix("\N{NO-BREAK SPACE}mm")) == pytest.approx(
        2.0, abs=0.06
    )
    assert "clear" not in by_mix


def test_a_line_expected_to_miss_has_its_touch_up_on_its_card(view: BookView) -> None:
    sheets = [card.pours for card in view.cards if card.pours is not None]
    card = next(p for sheet in sheets for p in sheet.pours if p.heading.endswith(": bright"))
    assert any("too dull" in note for note in card.notes)


def test_the_card_read_backwards_keeps_the_ratio(result: Build) -> None:
    pour = next(
        pour for pour in result.pours if pour.mix.name == "dark" and not pour.shares_clear_with
    )
    table = overshoot_table(pour)
    assert table is not None
    ratio = ratio_of(pour.mix)
    for read, then, _ in table.rows[:2]:
        resin_g, display_g = (float(text.split()[2].split("\N{NO-BREAK SPACE}")[0]) for text in
                              (read, then))  # fmt: skip
        # the scale is set to zero between
        over = display_g / (resin_g * ratio.hardener_per_resin) - 1.0
        assert abs(over) <= ratio.tolerance
    assert "Nothing comes out" in overshoot_words(pour)
