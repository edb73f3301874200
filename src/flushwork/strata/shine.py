"""How a face throws light back: where flakes lie whole, how glossy its top is, which way it leans.

One reckoning for every picture: flakes lie flat only at the free surface of their fill, so a layer
whose top was cut or sanded flashes little; a top left as it was poured mirrors the lamp.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.kernels.seen_layers import CUT_FLAKE, CUT_WITHIN_MM, THIN_MM
from flushwork.strata.board import FaceStack
from flushwork.strata.layers import layers
from flushwork.strata.look import CLEAR, Swatch
from flushwork.strata.tiles import Window

Light = NDArray[np.float32]
Truth = NDArray[np.bool_]

FREE_GLOSS: Final = 1.0
CUT_GLOSS: Final = 0.25
"""How a top left as it was poured mirrors a lamp, and one that was cut or sanded (assumed, 0.1 to
0.4; a sanded swatch beside an untouched one replaces it)."""

GLOSSY_FROM_MM: Final = 0.02
"""A thinner film, as of sealer, keeps the sheen of what it lies on (assumed, 0.01 to 0.05 mm)."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a stack: how thick it is, what it is, where its top is as it was poured."""

    thick_mm: Light
    swatch: Swatch
    free: Truth


@dataclass(frozen=True, slots=True)
class Shine:
    """The share of a place's light that flashes at the mirror angle, and its gloss, 0 to 1."""

    flash: Light
    gloss: Light


def shine_of(stack: Sequence[Layer]) -> Shine:
    """Return the shine of layers, the lowest first.

    A layer takes the flash of what it hides and gives its own; clear ones hide nothing.
    """
    shape = stack[0].thick_mm.shape if stack else (0, 0)
    flash = np.zeros(shape, np.float32)
    gloss = np.zeros(shape, np.float32)
    for layer in stack:
        here = layer.thick_mm > THIN_MM
        if np.isfinite(layer.swatch.hides_mm):
            hidden = np.where(here, 1.0 - np.exp(-layer.thick_mm / layer.swatch.hides_mm), 0.0)
            whole = np.where(layer.free, 1.0, CUT_FLAKE) if layer.swatch.flake else 0.0
            flash += hidden * (whole - flash)
        glossy = here & (layer.thick_mm > GLOSSY_FROM_MM)
        gloss = np.where(glossy, np.where(layer.free, FREE_GLOSS, CUT_GLOSS), gloss)
    return Shine(flash.astype(np.float32), gloss.astype(np.float32))


def face_shine(face: FaceStack, window: Window, swatches: dict[str, Swatch]) -> Shine:
    """Return the shine of a part of a face as it stands, (rows, columns) of its cells.

    A top that lies in the face's plane has been sanded there.  A finish lies glossy over all.
    """
    stack = layers(face, window)
    found = [
        Layer(
            thick_mm=stack.heights[place] - stack.heights[place - 1],
            swatch=swatches.get(stack.materials[place], CLEAR),
            free=np.abs(stack.heights[place] - np.float32(face.plane_mm)) > CUT_WITHIN_MM,
        )
        for place in range(1, len(stack.materials))
    ]
    if not found:
        nothing = np.zeros((window.rows, window.columns), np.float32)
        found = [Layer(nothing, CLEAR, nothing > 0.0)]
    shine = shine_of(found)
    if face.coats:
        return Shine(shine.flash, np.maximum(shine.gloss, np.float32(FREE_GLOSS)))
    return shine
