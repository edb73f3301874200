"""The colour of bare wood as a layer of the replay: its figure evened out."""

from __future__ import annotations

import numpy as np
import pytest

from flushwork.colour.spaces import to_linear
from flushwork.kernels.seen_layers import board_figure
from flushwork.strata.palette import MEAN_GRAIN, Palette, ShownColour
from flushwork.strata.tiles import WOOD


@pytest.mark.parametrize("flat_sawn", [True, False])
@pytest.mark.parametrize("seed", [1, 7, 42])
def test_late_wood_takes_as_much_of_a_face_as_is_drawn(seed: int, *, flat_sawn: bool) -> None:
    across, along = np.meshgrid(np.arange(0.0, 240.0, 0.5), np.arange(0.0, 400.0, 0.5))
    rings, _ = board_figure(along, across, 0.0, flat_sawn, 0.5, seed)
    assert np.clip(0.85 * rings, 0.0, 1.0).mean() == pytest.approx(MEAN_GRAIN, abs=0.012)


def test_a_tenth_of_the_way_from_light_to_dark_in_linear_light() -> None:
    wood = ShownColour((0.8, 0.6, 0.4), 1e9, flake=False, clear=False)
    palette = Palette(wood, (0.4, 0.3, 0.2), {})
    evened = to_linear(palette.materials[WOOD].rgb)
    ends = zip(to_linear(wood.rgb), to_linear(palette.grain), strict=True)
    assert evened == pytest.approx([0.9 * light + 0.1 * dark for light, dark in ends])
