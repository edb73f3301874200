"""What in a drawing cannot be cut as it stands, and what to do about it.

Layers of a drawing that nothing in the job picks, or that are picked at two sizes: a slip?
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from flushwork.art.faults import listed
from flushwork.art.svg.tree import Seen, Walk, parsed, svg_data
from flushwork.core.findings import Finding, Measure, Subject
from flushwork.job.records import Artwork, DrawingArt, Placement, SvgArt

_TAGS: Final = {
    "text": (
        "svg-live-text",
        "is live text, and its font is not in the file",
        "convert the text to outlines in the drawing program, or set it with `text:` in the job",
    ),
    "image": (
        "svg-picture",
        "is a picture of dots, which has no outline to cut",
        "trace it to outlines in the drawing program, or take it out of the layer",
    ),
    "foreignObject": (
        "svg-picture",
        "is no drawing but something embedded",
        "take it out of the layer",
    ),
}
_EFFECTS: Final = {
    "filter": ("svg-effect", "has a filter", "remove the filter or draw its result as outlines"),
    "vector-effect": (
        "svg-effect",
        "has a stroke that does not scale with the drawing",
        "give the stroke its width in the drawing's own units",
    ),
}


def objections(item: Seen) -> list[tuple[str, str, str]]:
    """Return why a seen element cannot be cut as it stands."""
    if item.tag in _TAGS:
        return [_TAGS[item.tag]]
    found = []
    if any(style.get("filter", "none") != "none" for style in item.around):
        found.append(_EFFECTS["filter"])
    stroked = item.style.get("stroke", "none") != "none"
    if stroked and item.style.get("vector-effect", "none") == "non-scaling-stroke":
        found.append(_EFFECTS["vector-effect"])
    return found


SAME_SIZE: Final = 0.002
"""Sizes of one drawing that differ by less are one: 0.1 mm on 50 mm, which a seam hides (assumed,
0.001 to 0.005)."""


@dataclass(frozen=True, slots=True)
class Pick:
    """What an inlay takes of a drawing, and how many times its own size it becomes."""

    inlay: str
    artwork: Artwork
    art: DrawingArt
    scale: float

    @property
    def place(self) -> Placement:
        """Where it goes, whatever its size."""
        return replace(self.artwork.placement, scale=1.0, as_drawn=False)

    @property
    def parts(self) -> frozenset[str]:
        """The layers it takes, or else the colours; none where it takes all of the drawing."""
        colours = self.art.colours if isinstance(self.art, SvgArt) else ()
        return frozenset(self.art.layers or colours)


def layers_scaled_apart(picks: Sequence[Pick]) -> tuple[Finding, ...]:
    """Return a warning for each pick of a face that no longer fits another part of its drawing.

    That is one for the same place at another size.  The same part at two sizes is meant so.
    """
    found: list[Finding] = []
    for index, pick in enumerate(picks):
        before = next(
            (
                other
                for other in picks[:index]
                if (other.art.file, other.place) == (pick.art.file, pick.place)
                and other.parts
                and pick.parts
                and not other.parts & pick.parts
                and other.inlay != pick.inlay
                and abs(other.scale / pick.scale - 1.0) > SAME_SIZE
            ),
            None,
        )
        if before is not None:
            found.append(_apart(before, pick))
    return tuple(found)


def _apart(one: Pick, two: Pick) -> Finding:
    times = two.scale / one.scale
    return Finding.warning(
        "svg-layers-apart",
        message=f"{two.inlay} takes a part of the drawing {Path(two.art.file).name} at "
        f"{times:.3f} times the size at which {one.inlay} takes another part of it, for the same "
        "place: the two no longer fit each other as they were drawn.",
        remedy="Give both the same `width` and `scale`, or take both `as drawn`; if they are two "
        "motifs, put them to places of their own (`at`).",
        subjects=(Subject("inlay", two.inlay), Subject("inlay", one.inlay)),
        source=two.artwork.source,
        measure=Measure("size", times, 1.0, ""),
    )


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
                Finding.note(
                    "svg-layer-unpicked",
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
