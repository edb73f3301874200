"""The recess of a scraped line in the replay against its closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon

from flushwork.resin.recess import bright_share, keeps, mean_recess_mm, recess_at_mm
from flushwork.strata.measure import thickness_map
from flushwork.strata.steps import Fill, Recess, Seal
from flushwork.strata.surfaces import Replay
from tests.strata.hand_made import FINE, board, cut, inlay_volume_mm3, many, run

WIDTH_MM, DEPTH_MM = 0.794, 0.5
KEPT = keeps(1.0 / 5.3, 1.0, 0.03)
"""3.3 cm3 of resin, 1 of hardener, 1 of thinner; all thinner gone, 3 % shrinkage."""

CAPILLARY_MM = 2.04
LENGTH_MM = 40.0


def slot(turn_rad: float) -> tuple[MultiPolygon, tuple[float, float], tuple[float, float]]:
    start = (12.03, 12.05)
    end = (
        start[0] + LENGTH_MM * math.cos(turn_rad),
        start[1] + LENGTH_MM * math.sin(turn_rad),
    )
    return many(LineString([start, end]).buffer(WIDTH_MM / 2.0)), start, end


def scraped(
    recess: Recess, *, turn_rad: float = 0.0, cell_mm: float = 0.05, sealed: bool = True
) -> Replay:
    region, start, end = slot(turn_rad)
    floor = -DEPTH_MM
    made = cut(FINE, [(*start, floor), (*end, floor)])
    film_mm = 0.001 if sealed else 0.0
    seal = Seal("front", (region,), "shellac", film_mm)
    fill = Fill("front", "line", "bright", region, 0.0, 0.0, KEPT, recess)
    return run(board(cell_mm), made, seal, fill)


def across(replayed: Replay) -> NDArray[np.float64]:
    """Return the fill's thickness across a slot along x, cell by cell, averaged along it."""
    stack = replayed.final.front
    cell = replayed.spec.cell_mm
    mapped = thickness_map(stack, replayed.spec, "bright").values
    columns = slice(round(20.0 / cell), round(40.0 / cell))
    rows = slice(round(11.4 / cell), round(12.7 / cell))
    thick: NDArray[np.float64] = mapped[rows, columns].mean(axis=1).astype(np.float64)
    return thick


def mean_recess(replayed: Replay) -> float:
    """Liquid poured less resin left, over the slot's area."""
    left = inlay_volume_mm3(replayed.final.front, replayed.spec, "bright")
    poured = replayed.poured[0].pocket_mm3
    return (poured - left) / (poured / DEPTH_MM)


@pytest.mark.parametrize("pinning", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("turn_deg", [0.0, 31.0])
def test_mean_recess_within_two_per_cent(pinning: float, turn_deg: float) -> None:
    closed = mean_recess_mm(WIDTH_MM, DEPTH_MM, KEPT)
    assert closed == pytest.approx(0.106, abs=0.0006)
    replayed = scraped(Recess(pinning, CAPILLARY_MM, 0.0), turn_rad=math.radians(turn_deg))
    assert mean_recess(replayed) == pytest.approx(closed, rel=0.02)


def test_the_pinned_surface_is_the_parabola() -> None:
    thick = across(scraped(Recess(1.0, CAPILLARY_MM, 0.0)))
    mean = mean_recess_mm(WIDTH_MM, DEPTH_MM, KEPT)
    deepest = DEPTH_MM - thick[len(thick) // 2 - 3 : len(thick) // 2 + 3].min()
    assert deepest == pytest.approx(recess_at_mm(mean, 0.0, 1.0), rel=0.03)
    # full cells only: a cell at the wall mixes wood and resin
    full = np.flatnonzero(thick > 0.3)[2:-2]
    middle = (full[0] + full[-1]) / 2.0
    for cell in full:
        place = abs(cell - middle) * 0.05 / (WIDTH_MM / 2.0)
        assert DEPTH_MM - thick[cell] == pytest.approx(recess_at_mm(mean, place, 1.0), abs=0.006)


@pytest.mark.parametrize(("pinning", "share"), [(1.0, 0.83), (0.0, 1.0)])
def test_the_bright_share_of_the_replay(pinning: float, share: float) -> None:
    """0.05 mm of sanding leaves 0.83 of a pinned line bright and all of one that let go."""
    replayed = scraped(Recess(pinning, CAPILLARY_MM, 0.0), cell_mm=0.025)
    thick = across(replayed)
    mean = mean_recess_mm(WIDTH_MM, DEPTH_MM, KEPT)
    assert bright_share(mean, 0.05, pinning) == pytest.approx(share, abs=0.004)
    below = np.count_nonzero((thick > 0.25) & (thick < DEPTH_MM - 0.05)) * 0.025
    assert below / WIDTH_MM == pytest.approx(share, abs=2 * 0.025 / WIDTH_MM)


def test_the_replayed_centre_with_slots_wider_than_the_capillary_length() -> None:
    """Between two walls 1 - cosh(x / a) / cosh(h / a) solves the linear Young-Laplace equation."""
    width, depth, capillary = 6.0, 1.0, 1.0
    region = many(LineString([(12.0, 20.0), (60.0, 20.0)]).buffer(width / 2.0, cap_style="flat"))
    path = [
        point
        for y in np.arange(20.0 - width / 2 + 0.397, 20.0 + width / 2 - 0.3969, 0.3)
        for point in [(12.4, float(y), -depth), (59.6, float(y), -depth)]
    ]
    path += [(12.4, 20.0 + width / 2 - 0.397, -depth), (59.6, 20.0 + width / 2 - 0.397, -depth)]
    fill = Fill("front", "a", "bright", region, 0.0, 0.0, 0.9, Recess(1.0, capillary, 0.0))
    replayed = run(board(0.1), cut(FINE, path), fill)
    mapped = thickness_map(replayed.final.front, replayed.spec, "bright").values
    column = mapped[round(17.0 / 0.1) : round(23.0 / 0.1), round(36.0 / 0.1)]
    half = width / 2.0 / capillary
    centre = 0.1 * (1.0 - 1.0 / math.cosh(half)) / (1.0 - math.tanh(half) / half)
    assert depth - column[30] == pytest.approx(centre, rel=0.04)


def test_bare_walls_drink_in_the_replay() -> None:
    uptake = 0.02
    recess = Recess(1.0, CAPILLARY_MM, uptake)
    closed = mean_recess_mm(WIDTH_MM, DEPTH_MM, KEPT, uptake)
    bare = scraped(recess, sealed=False, turn_rad=math.radians(31.0))
    assert mean_recess(bare) == pytest.approx(closed, rel=0.03)
    wetted_mm2 = LENGTH_MM * (WIDTH_MM + 2.0 * DEPTH_MM) + math.pi * WIDTH_MM * (
        WIDTH_MM / 4.0 + DEPTH_MM
    )
    assert bare.poured[0].bare_mm2 == pytest.approx(wetted_mm2, rel=0.06)
    sealed = scraped(recess, sealed=True)
    assert sealed.poured[0].bare_mm2 < 0.001 * wetted_mm2
    assert mean_recess(sealed) == pytest.approx(mean_recess_mm(WIDTH_MM, DEPTH_MM, KEPT), rel=0.02)
