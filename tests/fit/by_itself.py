"""Fits of inlays, each chosen as if it were cut by itself."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.art.drawn import Drawn, DrawnFace
from flushwork.fit.bit_sets import choose_set
from flushwork.fit.choice import chosen, weigh
from flushwork.fit.cutting_force import HARDWOOD
from flushwork.fit.pocket_time import CutTerms
from flushwork.fit.reach import Fit
from flushwork.process.plan_bits import fit_rounds
from flushwork.shelf.items import Bit
from flushwork.shelf.tables import starter_shop


def usual_terms() -> CutTerms:
    """Return the terms of the packaged shop in a hardwood, a bit changed in four minutes."""
    return CutTerms(starter_shop().machine, HARDWOOD, 240.0)


def fit_inlay(drawn: Drawn, bits: Sequence[Bit], terms: CutTerms | None = None) -> Fit:
    """Choose for one inlay from all the bits that are owned."""
    weighed = weigh(drawn, bits)
    if isinstance(weighed, Fit):
        return weighed
    found, chains = choose_set((weighed.choice,), (), terms or usual_terms())
    return chosen(weighed, chains[0], found, terms or usual_terms())


def fit_faces(faces: Sequence[DrawnFace], bits: Sequence[Bit]) -> dict[str, Fit]:
    """Return the fit of every inlay by its name, each chosen as if it were cut by itself."""
    return fit_rounds(faces, bits, (), usual_terms())[0]
