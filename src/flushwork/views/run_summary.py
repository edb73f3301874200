"""What is made, in one paragraph: the words of the book's first page and of the bench."""

from __future__ import annotations

import math

from shapely import MultiPolygon

from flushwork.art.drawn import DrawnFace
from flushwork.job.records import Job
from flushwork.views.figures import Lengths, clean, counted, joined

ROUND_MM = 0.05
"""A trim line that is no further than this from a circle on the average leaves a disc."""


def run_words(job: Job) -> str:
    """Return how many pieces and test pieces."""
    text = counted(job.pieces, "piece")
    return f"{text} and {counted(job.test_pieces, 'test piece')}" if job.test_pieces else text


def shape_words(trim: MultiPolygon, lengths: Lengths) -> str:
    """Return what a trim line leaves: a disc, or what it measures across."""
    left, low, right, top = trim.bounds
    across_mm = right - left
    round_mm2 = math.pi / 4.0 * across_mm**2
    square = abs(across_mm - (top - low)) < ROUND_MM
    if square and abs(trim.area - round_mm2) < math.pi * across_mm * ROUND_MM:
        return f"a disc of {lengths.size(across_mm)}"
    return lengths.size(across_mm, top - low)


def summary(job: Job, faces: tuple[DrawnFace, ...], lengths: Lengths) -> str:
    """Return the one paragraph of what is made."""
    wood = clean(job.blank.wood.name)
    sides = [face for face in faces if face.worked]
    how = "worked on both faces" if len(sides) > 1 else "worked on one face"
    text = f"A blank of {wood}, {how}"
    if sides and not sides[0].trim.is_empty and job.outline.artwork is not None:
        text += f" and trimmed to {shape_words(sides[0].trim, lengths)}"
    sentences = [f"{text}."]
    for face in sides:
        parts = []
        if face.inlays:
            mixes = list(dict.fromkeys(clean(drawn.inlay.mix.name) for drawn in face.inlays))
            parts.append(f"{counted(len(face.inlays), 'inlay')} in {_colours(mixes)}")
        count = sum(len(pattern.places) for pattern in face.holes)
        if count:
            parts.append(counted(count, "hole"))
        if face.pockets:
            parts.append(f"{counted(len(face.pockets), 'pocket')} left empty")
        sentences.append(f"The {face.name} carries {joined(parts)}.")
    if job.finish is not None:
        coats = counted(job.finish.coats, "coat")
        sentences.append(f"Finished with {clean(job.finish.finish.name)}, {coats}.")
    return " ".join(sentences)


def _colours(mixes: list[str]) -> str:
    return joined(mixes) if len(mixes) <= 4 else f"{len(mixes)} colours"
