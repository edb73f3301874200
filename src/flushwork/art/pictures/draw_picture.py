"""Pictures as artwork: which of the colours they are reduced to, as regions in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Final

from shapely import MultiPolygon

from flushwork.art.drawn import Box, Shapes
from flushwork.art.faults import listed, refusal, warned
from flushwork.art.pictures.picture_file import Aslant, Dots, picture_data, read_dots
from flushwork.art.pictures.reduced import Reduced, nearest_colour, reduced
from flushwork.art.pictures.tracing import cuttable, regions_of, settled_labels
from flushwork.art.regions import united
from flushwork.core.findings import Finding, Source
from flushwork.job.records import PictureArt
from flushwork.runtime.memo import memoized

UNLIKE: Final = 25.0
"""A colour that is further from all of a picture by CIEDE2000 is not in it (assumed, 15 to 40)."""


@dataclass(frozen=True, slots=True)
class TracedPicture:
    """A picture as regions: one for each colour (``#rrggbb``), in mm, y up from its lower left.

    ``shares`` are parts of the picture before anything was dropped, ``paper`` the colour that most
    of its edge has, ``thin_mm2`` the area that is too thin for the bit, left out or widened.
    """

    colours: tuple[str, ...]
    shares: tuple[float, ...]
    paper: str
    regions: tuple[MultiPolygon, ...]
    size_mm: tuple[float, float]
    thin_mm2: float

    def region(self, colour: str) -> MultiPolygon:
        """Return the region of one of its colours."""
        return self.regions[self.colours.index(colour)]


def trace_picture(art: PictureArt, data: bytes, name: str, source: Source) -> TracedPicture:
    """Return a picture as regions; raise JobRefusedError where it cannot be read.

    What is taken of it (``colours``) does not matter to it, nor does its file's name.
    """
    return _traced(replace(art, file="", colours=()), data, name, source)


@lru_cache(maxsize=4)
def _traced(art: PictureArt, data: bytes, name: str, source: Source) -> TracedPicture:
    """Trace once where several inlays take colours of one picture."""
    few = _few(
        replace(art, smoothing_mm=0.0, narrowest_mm=1.0, least_speck_mm=0.0), data, name, source
    )
    rows, columns = few.labels.shape
    dot_mm = art.width_mm / columns
    sigma_dots = art.smoothing_mm / 2.0 / dot_mm
    count = len(few.colours)
    labels = settled_labels(few.labels, count, sigma_dots)
    regions = regions_of(labels, count, dot_mm, sigma_dots)
    bare = {few.paper} | {few.colours.index(each) for each in art.bare if each in few.colours}
    narrowest_mm = max(art.narrowest_mm, 2.0 * dot_mm)
    kept = cuttable(
        regions,
        frozenset(bare),
        narrowest_mm,
        art.least_speck_mm,
        grow=art.thin_parts == "grown",
    )
    thin_mm2 = sum(
        before.symmetric_difference(after).area
        for index, (before, after) in enumerate(zip(regions, kept, strict=True))
        if index not in bare
    )
    return TracedPicture(
        colours=few.colours,
        shares=few.shares,
        paper=few.colours[few.paper],
        regions=tuple(kept),
        size_mm=(art.width_mm, rows * dot_mm),
        thin_mm2=thin_mm2,
    )


@lru_cache(maxsize=2)
def _few(art: PictureArt, data: bytes, name: str, source: Source) -> Reduced:
    """Reduce once where the same dots are traced again and again with other settings."""
    dots = _dots(replace(art, reduced_to=(), number_of_colours=2, bare=()), data, name, source)
    return reduced(dots, art.reduced_to or art.number_of_colours)


@lru_cache(maxsize=1)
def _dots(art: PictureArt, data: bytes, name: str, source: Source) -> Dots:
    """Read once where the same dots are reduced to more or fewer colours."""
    dots = read_dots(
        data,
        name,
        source,
        crop=_crop(art.crop),
        width_mm=art.width_mm,
        even_light=art.even_light,
        seen=_aslant(art),
    )
    dots.flags.writeable = False
    return dots


def _aslant(art: PictureArt) -> Aslant | None:
    if not (art.corners and art.sheet_mm and art.sheet_up_mm):
        return None
    return Aslant(art.corners, (art.sheet_mm, art.sheet_up_mm))


def _crop(shares: Sequence[float]) -> tuple[float, float, float, float]:
    left, top, right, low = shares or (0.0, 0.0, 0.0, 0.0)
    return left, top, right, low


def draw_picture(art: PictureArt, folder: Path, source: Source) -> Shapes:
    """Return what is taken of a picture, in mm; raise JobRefusedError where there is nothing."""
    return _drawn(art, picture_data(folder / art.file, source), source)


@memoized
def _drawn(art: PictureArt, data: bytes, source: Source) -> Shapes:
    name = Path(art.file).name
    traced = trace_picture(art, data, name, source)
    taken = _taken(art.colours, traced, name, source)
    region = united([traced.regions[index] for index in taken])
    if region.is_empty:
        raise refusal(
            source,
            "picture-without-shapes",
            f"nothing of the picture {name} is left to cut in {listed(_names(traced, taken))}: no "
            f"part is {art.narrowest_mm:.3g} mm wide",
            "make it wider, give a finer `narrowest`, or let `thin parts` be grown",
        )
    across, up = traced.size_mm
    frame: Box = (0.0, 0.0, across, up)
    told = _left_thin(art, traced, name, source)
    return Shapes(region=region, frame=frame, extent=frame, warnings=told)


def _names(traced: TracedPicture, taken: Sequence[int]) -> list[str]:
    return [traced.colours[index] for index in taken]


def _taken(
    colours: Sequence[str], traced: TracedPicture, name: str, source: Source
) -> tuple[int, ...]:
    """Return which of its colours are taken; where none is asked for all but the paper's."""
    if not colours:
        return tuple(at for at, each in enumerate(traced.colours) if each != traced.paper)
    found: dict[int, None] = {}
    for colour in colours:
        index, apart = nearest_colour(colour, traced.colours)
        if apart > UNLIKE:
            raise refusal(
                source,
                "picture-colour-unknown",
                f"nothing in the picture {name} is nearly {colour}; it is reduced to "
                f"{listed(traced.colours)}",
                "name one of these, or raise the `number of colours`",
            )
        found[index] = None
    return tuple(found)


def _left_thin(
    art: PictureArt, traced: TracedPicture, name: str, source: Source
) -> tuple[Finding, ...]:
    whole = sum(
        region.area
        for colour, region in zip(traced.colours, traced.regions, strict=True)
        if colour != traced.paper
    )
    if traced.thin_mm2 <= _MUCH * max(whole, 1e-9):
        return ()
    how = "was widened to that" if art.thin_parts == "grown" else "was left out"
    return (
        warned(
            source,
            "picture-parts-thin",
            f"of the picture {name} {traced.thin_mm2:.0f} mm2 is less than "
            f"{art.narrowest_mm:.3g} mm wide and {how}",
            "look at the picture of the face; make it wider, or set `thin parts` or `narrowest`",
        ),
    )


_MUCH: Final = 0.03
"""Thin parts up to this share of what is inlaid are edges and dirt (assumed)."""
