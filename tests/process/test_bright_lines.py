from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.process.bright_lines import bright_lines
from flushwork.resin.recess import bright_share, keeps, mean_recess_mm
from flushwork.resin.thinned import dried_share
from tests.small_jobs import changed, found, made

LINE = changed(
    "  holes:",
    "    - {name: line, seam line: {along: [plate], width: 0.8 mm}, depth: 1.2 mm, fill: bright,\n"
    "       how: scraped flush and capped, cap: clear}\n  holes:",
    changed(
        "  clear: {",
        "  bright: {resin: coating epoxy, thinner: {name: ethanol, share: 8 %},\n"
        "           pigments: [{name: fine gold, share: 4 %}]}\n  clear: {",
    ),
)
UNTHINNED = changed(" thinner: {name: ethanol, share: 8 %},", "", LINE)


def test_a_thinned_and_capped_line_stays_bright(tmp_path: Path) -> None:
    result = made(tmp_path, LINE)
    (line,) = bright_lines(result.job, result.faces, result.plan.planes)
    # all of the ethanol would leave a thin film; a day slowed by 1/0.92^2 lets most of it out here
    leaves = dried_share(1.25, 86400.0 / 0.92**2)
    mean = mean_recess_mm(0.8, 1.25, keeps(0.08, leaves, 0.03))
    assert line.recess_mm == pytest.approx(mean, abs=1e-9)
    assert line.bright == pytest.approx(bright_share(mean, 0.05, 1.0))
    assert line.odds > 0.99
    assert line.cap_mm == pytest.approx(1.5 * mean - 0.05)
    assert line.overfilled == 0.0
    assert not found(result, "bright-line-dull")


def test_unthinned_it_is_told_dull_and_what_would_mend_it_does(tmp_path: Path) -> None:
    result = made(tmp_path, UNTHINNED)
    (line,) = bright_lines(result.job, result.faces, result.plan.planes)
    (told,) = found(result, "bright-line-dull")
    assert told.measure is not None
    assert told.measure.value == pytest.approx(100 * line.odds)
    way = line.proposals[0]
    depth_mm = way.depth_mm - line.sanding.mean_mm
    mended = UNTHINNED.replace("depth: 1.2 mm", f"depth: {depth_mm:.2f} mm")
    if way.thinner_share:
        share = f"thinner: {{name: ethanol, share: {100 * way.thinner_share:g} %}}"
        mended = changed("  bright: {", f"  bright: {{{share}, ", mended)
    again = made(tmp_path, mended)
    (better,) = bright_lines(again.job, again.faces, again.plan.planes)
    assert better.odds >= again.job.bright_odds - 1e-6
    assert not found(again, "bright-line-dull")


def test_overfilled_and_sanded_it_is_dull_in_every_sum(tmp_path: Path) -> None:
    overfilled = changed("how: scraped flush and capped, cap: clear", "how: overfilled", UNTHINNED)
    result = made(tmp_path, overfilled)
    (line,) = bright_lines(result.job, result.faces, result.plan.planes)
    assert line.recess_mm < 0.0
    assert line.bright == line.odds == line.overfilled == 0.0
    assert found(result, "bright-line-uncapped")
    drawn = changed(
        "seam line: {along: [plate], width: 0.8 mm}", "ring: {outside: 40 mm, inside: 38.4 mm}",
        overfilled,
    )  # fmt: skip
    (told,) = found(made(tmp_path, drawn), "bright-line-dull")
    assert "proud" in told.message


def test_what_is_wanted_is_the_jobs_to_say(tmp_path: Path) -> None:
    easy = UNTHINNED + "bright lines: {share: 1 %, odds: 50 %}\nallowances: {light sand: 0.02 mm}\n"
    result = made(tmp_path, easy)
    assert result.job.bright_share == 0.01
    assert not found(result, "bright-line-dull")


def test_colours_without_flakes_are_no_bright_lines(tmp_path: Path) -> None:
    plain = changed("name: fine gold", "name: white powder", LINE)
    result = made(tmp_path, plain)
    assert bright_lines(result.job, result.faces, result.plan.planes) == ()


@pytest.mark.parametrize(
    ("extra", "deepest_mm", "word"),
    [
        ("allowances: {light sand: 0.3 mm, sanding variation: 0.3 mm}\n", 2.0, "sand it evenly"),
        ("", 1.6, "measured from the finished face"),
    ],
)
def test_no_depth_is_proposed_that_cannot_be_cut(
    tmp_path: Path, extra: str, deepest_mm: float, word: str
) -> None:
    """By the flutes of the bit that enters it, 3 mm, and by what is cut behind it."""
    text = UNTHINNED + extra
    if not extra:
        text += "back: {inlays: [{name: behind, circle: 60 mm, depth: 10 mm, fill: dark}]}\n"
    result = made(tmp_path, text)
    (line,) = bright_lines(result.job, result.faces, result.plan.planes)
    assert line.deepest_mm == pytest.approx(deepest_mm, abs=0.01)
    assert all(way.depth_mm <= line.deepest_mm for way in line.proposals)
    (told,) = found(result, "bright-line-dull")
    assert word in told.remedy
