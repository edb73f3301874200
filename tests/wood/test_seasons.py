from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.shelf.items import Timber
from flushwork.wood.moisture import equilibrium_moisture, humidity_for
from flushwork.wood.movement import movement_mm, per_pct, stretch_across
from flushwork.wood.panel import clearance

WALNUT = Timber(
    "black walnut", 0.0019, 0.00274, 0.55, 4500.0, "semi", "#664631", "#47301f", "GTR-190"
)


@given(at_c=st.floats(0.0, 40.0), low=st.floats(0.05, 0.90), more=st.floats(0.001, 0.05))
@settings(max_examples=40, deadline=None)
def test_damper_air_makes_damper_wood(at_c: float, low: float, more: float) -> None:
    assert equilibrium_moisture(at_c, low) < equilibrium_moisture(at_c, low + more)


@given(at_c=st.floats(0.0, 40.0), humidity=st.floats(0.05, 0.95))
@settings(max_examples=40, deadline=None)
def test_humidity_from_moisture(at_c: float, humidity: float) -> None:
    moisture = equilibrium_moisture(at_c, humidity)
    assert humidity_for(at_c, moisture) == pytest.approx(humidity, abs=1e-6)


def test_no_air_gives_every_moisture() -> None:
    assert humidity_for(20.0, 0.0) == pytest.approx(0.0, abs=1e-6)
    assert humidity_for(20.0, 0.9) == pytest.approx(0.99, abs=1e-6)


def test_the_saw_decides_how_far_it_moves() -> None:
    assert per_pct(WALNUT, flat_sawn=True) == 0.00274
    assert per_pct(WALNUT, flat_sawn=False) == 0.0019
    assert stretch_across(WALNUT, 0.01, flat_sawn=True) == pytest.approx(1.00274)


def test_drying_shrinks() -> None:
    assert movement_mm(100.0, 0.00274, 0.10, 0.08) == pytest.approx(-0.548)


def test_a_panel_fitted_at_the_wettest_never_grows() -> None:
    room = clearance(180.0, 0.00353, 0.10, 0.07, 0.10)
    assert room.grows_mm == 0.0
    # hard maple, 180 mm flat-sawn, three points: 1.9 mm
    assert room.shrinks_mm == pytest.approx(1.9, abs=0.01)
