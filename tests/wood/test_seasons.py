from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.shelf.items import Wood
from flushwork.wood.movement import equilibrium_moisture, per_pct, stretch_across

WALNUT = Wood(
    "black walnut", 0.0019, 0.00274, 0.55, 4500.0, "semi", "#664631", "#47301f", "GTR-190"
)


@given(at_c=st.floats(0.0, 40.0), low=st.floats(0.05, 0.90), more=st.floats(0.001, 0.05))
@settings(max_examples=40, deadline=None)
def test_damper_air_makes_damper_wood(at_c: float, low: float, more: float) -> None:
    assert equilibrium_moisture(at_c, low) < equilibrium_moisture(at_c, low + more)


def test_the_saw_decides_how_far_it_moves() -> None:
    assert per_pct(WALNUT, flat_sawn=True) == 0.00274
    assert per_pct(WALNUT, flat_sawn=False) == 0.0019
    assert stretch_across(WALNUT, 0.01, flat_sawn=True) == pytest.approx(1.00274)
