"""Layers of a drawing that hold shapes and that nothing in the job picks: a colour forgotten?"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from flushwork.findings import Finding, Severity, Subject
from flushwork.geometry.faults import listed
from flushwork.geometry.svg_file import parsed, svg_data
from flushwork.geometry.svg_tree import Walk
from flushwork.job.records import Artwork, SvgArt


def layers_unpicked(artwork: Sequence[Artwork], folder: Path) -> tuple[Finding, ...]:
    """Return a note for each drawing of which layers are picked, but not all that hold shapes.

    ``artwork`` is everything in a job that has been drawn, so each drawing in it can be read.
    """
    picks: dict[str, list[tuple[Artwork, SvgArt]]] = {}
    for piece in artwork:
        if isinstance(piece.art, SvgArt):
            picks.setdefault(piece.art.file, []).append((piece, piece.art))
    found: list[Finding] = []
    for file, pieces in picks.items():
        left = _left(file, pieces, folder)
        if left:
            plural = len(left) > 1
            found.append(
                Finding(
                    code="svg-layer-unpicked",
                    severity=Severity.NOTE,
                    message=f"The drawing {Path(file).name} holds shapes in {listed(left)}, "
                    f"which nothing in the job picks: {'they are' if plural else 'it is'} not cut.",
                    remedy=f"Name {'them' if plural else 'it'} in the `layers` of an inlay if a "
                    "colour was forgotten.",
                    subjects=(Subject("drawing", Path(file).name),),
                    source=pieces[0][0].source,
                )
            )
    return tuple(found)


def _left(file: str, pieces: Sequence[tuple[Artwork, SvgArt]], folder: Path) -> list[str]:
    """Return the names of the layers that are left, none where a pick takes all of the drawing."""
    if not all(art.layers for _, art in pieces):
        return []
    source = pieces[0][0].source
    walk = Walk(parsed(svg_data(folder / file, source), Path(file).name, source))
    seen = walk.shapes()
    wanted = {name for _, art in pieces for name in art.layers}
    held = {name for shape in seen if shape.names & wanted for name in shape.names}
    left: dict[str, None] = {}
    for shape in seen:
        if not shape.names & wanted:
            known = (name for name in walk.names if name in shape.names - held)
            left.update(dict.fromkeys([next(known, "no layer")]))
    return list(left)
