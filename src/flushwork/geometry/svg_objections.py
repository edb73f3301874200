"""What in a drawing cannot be cut as it stands, and what to do about it."""

from __future__ import annotations

from typing import Final

from flushwork.geometry.svg_tree import Seen

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
    "clip-path": ("svg-clipped", "is clipped", "cut the shape at the clip path and remove that"),
    "mask": ("svg-clipped", "is masked", "cut the shape at the mask and remove the mask"),
    "filter": ("svg-effect", "has a filter", "remove the filter or draw its result as outlines"),
    "stroke-dasharray": ("svg-effect", "has a dashed stroke", "draw each dash as a line"),
    "marker": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "marker-start": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "marker-mid": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "marker-end": ("svg-effect", "has markers", "draw the arrow heads as shapes"),
    "vector-effect": (
        "svg-effect",
        "has a stroke that does not scale with the drawing",
        "give the stroke its width in the drawing's own units",
    ),
}
_STROKE_EFFECTS: Final = frozenset({"stroke-dasharray", "vector-effect"})
_MARKERS: Final = frozenset({"marker", "marker-start", "marker-mid", "marker-end"})


def objections(item: Seen) -> list[tuple[str, str, str]]:
    """Return why a seen element cannot be cut as it stands."""
    if item.tag in _TAGS:
        return [_TAGS[item.tag]]
    found = [
        _EFFECTS[name]
        for name in ("clip-path", "mask", "filter")
        if any(style.get(name, "none") != "none" for style in item.around)
    ]
    stroked = item.style.get("stroke", "none") != "none"
    for name in ("stroke-dasharray", "vector-effect", *sorted(_MARKERS)):
        value = item.style.get(name, "none")
        if value == "none" or (name in _STROKE_EFFECTS and not stroked):
            continue
        if name == "vector-effect" and value != "non-scaling-stroke":
            continue
        if name in _MARKERS and item.tag in ("rect", "circle", "ellipse"):
            continue
        found.append(_EFFECTS[name])
    return found
