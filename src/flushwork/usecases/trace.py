"""A picture of dots looked at before a job is written: the regions it would become."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from flushwork.art.pictures.draw_picture import TracedPicture, trace_picture
from flushwork.art.pictures.picture_file import picture_data
from flushwork.core.findings import Source
from flushwork.job.records import PictureArt


def trace(
    picture: Path,
    width_mm: float,
    reduced_to: int | Sequence[str] = 4,
    *,
    smoothing_mm: float = 0.2,
    narrowest_mm: float = 0.8,
    thin_parts: str = "dropped",
    least_speck_mm: float = 0.4,
    even_light: bool = False,
    crop: Sequence[float] = (),
) -> TracedPicture:
    """Reduce a picture to a few colours and trace each: what ``picture`` in a job file does.

    ``reduced_to`` is how many colours are found in it, or the colours (``#rrggbb``); ``crop`` are
    the shares cut off at the left, top, right and bottom.  Raises JobRefusedError where the file is
    no PNG or JPEG that can be read.
    """
    number = reduced_to if isinstance(reduced_to, int) else 4
    art = PictureArt(
        file=picture.name,
        width_mm=width_mm,
        number_of_colours=number,
        reduced_to=() if isinstance(reduced_to, int) else tuple(reduced_to),
        smoothing_mm=smoothing_mm,
        narrowest_mm=narrowest_mm,
        thin_parts=thin_parts,
        least_speck_mm=least_speck_mm,
        even_light=even_light,
        crop=tuple(crop),
    )
    source = Source(picture.name, 1, 1, "picture")
    return trace_picture(art, picture_data(picture, source), picture.name, source)
