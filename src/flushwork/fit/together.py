"""All inlays of a job fitted, shared between processes."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.fit.choice import fit_inlay
from flushwork.fit.reach import Fit
from flushwork.geometry.drawn import DrawnFace
from flushwork.kernels.processes import shared_out
from flushwork.shelf.items import Cutter


def fit_faces(faces: Sequence[DrawnFace], cutters: Sequence[Cutter]) -> dict[str, Fit]:
    """Return the fit of every inlay by its name, front before back, as ``fit_inlay`` chooses."""
    drawn = [inlay for face in faces for inlay in face.inlays]
    fits = shared_out(lambda inlay: fit_inlay(inlay, cutters), drawn)
    return {fit.drawn.inlay.name: fit for fit in fits}
