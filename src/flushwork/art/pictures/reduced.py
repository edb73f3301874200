"""The few colours that a picture is reduced to, and which of them each dot has.

Dots are counted in boxes of sRGB, 32 to a side; colours are told apart in CIELAB and by CIEDE2000.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.art.pictures.picture_file import Dots
from flushwork.colour.spaces import Triple, ciede2000, format_hex, parse_hex, to_lab

_SIDE: Final = 32
_ROUNDS: Final = 30
_ALIKE: Final = 10.0
"""Colours of a picture nearer than this in CIELAB are one: a dirty white is white (assumed)."""
PAPER_APART: Final = 12.0
"""The paper is a colour of its own where no wanted one is nearer by CIEDE2000 (assumed)."""
_EDGE: Final = 0.02
"""The edge that tells the paper, as a share of the picture."""


@dataclass(frozen=True, slots=True)
class Reduced:
    """A picture in few colours (``#rrggbb``); ``paper`` is the one most of its edge has.

    ``shares`` are parts of the picture, ``labels`` (rows, columns) count the colours from 0.
    """

    colours: tuple[str, ...]
    shares: tuple[float, ...]
    paper: int
    labels: NDArray[np.uint8]


def reduced(dots: Dots, wanted: int | Sequence[str]) -> Reduced:
    """Reduce a picture to so many colours of its own, or to those wanted and its paper's."""
    boxes = _boxes(dots)
    counts = np.bincount(boxes.ravel(), minlength=_SIDE**3)
    held = np.flatnonzero(counts)
    centres = (np.stack(np.unravel_index(held, (_SIDE,) * 3), axis=1) + 0.5) / _SIDE
    labs = np.array([to_lab((float(r), float(g), float(b))) for r, g, b in centres])
    weights = counts[held].astype(np.float64)
    if isinstance(wanted, int):
        means = _clustered(labs, weights, wanted)
        nearest = np.argmin(_squares(labs, means), axis=1)
        kept = [index for index in range(len(means)) if (nearest == index).any()]
        colours = [_mean(centres, weights, nearest == index) for index in kept]
    else:
        colours = list(dict.fromkeys(wanted))
        around = np.bincount(_edge(boxes), minlength=_SIDE**3)
        white = to_lab(_middle(int(np.argmax(around))))
        if min(ciede2000(white, to_lab(parse_hex(each))) for each in colours) > PAPER_APART:
            colours.append(format_hex(_middle(int(np.argmax(around)))))
    tones = [to_lab(parse_hex(each)) for each in colours]
    apart = np.array([[ciede2000(_triple(lab), tone) for tone in tones] for lab in labs])
    table = np.zeros(_SIDE**3, dtype=np.uint8)
    table[held] = np.argmin(apart, axis=1)
    labels = table[boxes]
    paper = int(np.argmax(np.bincount(_edge(labels), minlength=len(colours))))
    shares = np.bincount(labels.ravel(), minlength=len(colours)) / labels.size
    return Reduced(tuple(colours), tuple(map(float, shares)), paper, labels)


def nearest_colour(colour: str, among: Sequence[str]) -> tuple[int, float]:
    """Return which colour comes nearest, and how far it is by CIEDE2000."""
    tone = to_lab(parse_hex(colour))
    apart = [ciede2000(tone, to_lab(parse_hex(each))) for each in among]
    best = int(np.argmin(apart))
    return best, apart[best]


def _boxes(dots: Dots) -> NDArray[np.int32]:
    fine = (dots >> 3).astype(np.int32)
    return (fine[..., 0] * _SIDE + fine[..., 1]) * _SIDE + fine[..., 2]


def _edge(grid: NDArray[np.int32] | NDArray[np.uint8]) -> NDArray[np.int64]:
    rows, columns = grid.shape
    deep = max(1, round(_EDGE * min(rows, columns)))
    sides = (grid[:deep], grid[-deep:], grid[:, :deep], grid[:, -deep:])
    return np.concatenate([each.ravel() for each in sides]).astype(np.int64)


def _middle(box: int) -> Triple:
    red, green, blue = np.unravel_index(box, (_SIDE,) * 3)
    return tuple((float(part) + 0.5) / _SIDE for part in (red, green, blue))  # type: ignore[return-value]


def _triple(lab: NDArray[np.float64]) -> Triple:
    return (float(lab[0]), float(lab[1]), float(lab[2]))


def _mean(centres: NDArray[np.float64], weights: NDArray[np.float64], of: NDArray[np.bool_]) -> str:
    red, green, blue = np.average(centres[of], axis=0, weights=weights[of])
    return format_hex((float(red), float(green), float(blue)))


def _squares(labs: NDArray[np.float64], means: NDArray[np.float64]) -> NDArray[np.float64]:
    squares: NDArray[np.float64] = ((labs[:, None, :] - means[None, :, :]) ** 2).sum(axis=2)
    return squares


def _clustered(
    labs: NDArray[np.float64], weights: NDArray[np.float64], most: int
) -> NDArray[np.float64]:
    """Return at most so many means of coloured boxes (Lloyd, 1982), each begun far from the others.

    The first begins where most dots are, each further one where many are and none of the others is
    near; so the outcome hangs on the picture alone.
    """
    begun = [labs[int(np.argmax(weights))]]
    while len(begun) < most:
        far = _squares(labs, np.array(begun)).min(axis=1)
        if far.max() <= _ALIKE**2:
            break
        begun.append(labs[int(np.argmax(weights * np.where(far > _ALIKE**2, far, 0.0)))])
    means = np.array(begun)
    for _ in range(_ROUNDS):
        nearest = np.argmin(_squares(labs, means), axis=1)
        moved = means.copy()
        for index in range(len(means)):
            mine = nearest == index
            if mine.any():
                moved[index] = np.average(labs[mine], axis=0, weights=weights[mine])
        if np.allclose(moved, means, atol=1e-3):
            break
        means = moved
    return means
