"""A picture looked at before it is written into a job, and written anew with other settings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from flushwork.art.pictures.draw_picture import TracedPicture, trace_picture
from flushwork.art.pictures.picture_file import picture_data
from flushwork.core.findings import Source
from flushwork.core.units import number_text
from flushwork.job.records import PictureArt
from flushwork.job.text.change import in_place, plain
from flushwork.job.text.edit import EditError, tree_of
from flushwork.usecases.jobs import load
from flushwork.usecases.making.add import Added, add_drawing
from flushwork.usecases.making.begun import written
from flushwork.usecases.making.place import mates_of, steps_of, taken_off


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


# ---- A picture that is in a job already, with other settings


@dataclass(frozen=True, slots=True)
class Settings:
    """How a picture is reduced and traced, as far as it is set by sliders."""

    colours: int
    speck_mm: float
    smooth_mm: float
    even_light: bool = False


KEPT: Final = (
    "width", "at", "from", "as drawn", "turn", "mirror", "scale", "repeat", "crop",
    "corners", "sheet",
)  # fmt: skip
MORE: Final = ("narrowest", "thin parts")
"""Keys of a picture that stay as they are when it is traced anew."""


def _art_of(job_file: Path | str, text: str, thing: str) -> PictureArt | None:
    face, kind, at = steps_of(text, thing)
    if kind != "inlays":
        return None
    job = load(job_file, text)
    inlay = next(each for each in job.faces if each.name == face).inlays[int(at) - 1]
    arts = [each.art for each in inlay.artwork]
    first = arts[0] if len(arts) == 1 else None
    return first if isinstance(first, PictureArt) and not first.by_fill else None


def picture_of(job_file: Path | str, text: str, thing: str) -> dict[str, Any] | None:
    """Return the picture that an inlay is of and how it is traced; None where it is of none."""
    art = _art_of(job_file, text, thing)
    if art is None:
        return None
    return {
        "file": art.file,
        "colours": len(art.reduced_to) or art.number_of_colours,
        "speck_mm": art.least_speck_mm,
        "smooth_mm": art.smoothing_mm,
        "even_light": art.even_light,
    }


def retraced(job_file: Path | str, text: str, thing: str, wanted: Settings) -> TracedPicture:
    """Return an inlay's picture as it would be traced with other settings; nothing is changed.

    Raises EditError where the inlay is of no picture, JobRefusedError where it cannot be read.
    """
    art = _art_of(job_file, text, thing)
    if art is None:
        raise EditError("it is of no picture")
    source = Source(art.file, 1, 1, "picture")
    data = picture_data(Path(job_file).parent / art.file, source)
    alike = (len(art.reduced_to), art.even_light) == (wanted.colours, wanted.even_light)
    own = art.reduced_to if alike else ()
    art = replace(
        art,
        reduced_to=own,
        number_of_colours=wanted.colours,
        least_speck_mm=wanted.speck_mm,
        smoothing_mm=wanted.smooth_mm,
        even_light=wanted.even_light,
    )
    return trace_picture(art, data, art.file, source)


def with_picture(
    job_file: Path | str, text: str, thing: str, wanted: Settings, *, inch: bool = False
) -> Added:
    """Return a job's text with an inlay's picture traced anew, in all its colours.

    Of another number of colours, or in another light, the inlays of the picture are written anew,
    where they lay, each filled with what is nearest.  Raises EditError or AddError where that
    cannot be.
    """
    art = _art_of(job_file, text, thing)
    if art is None:
        raise EditError("it is of no picture")
    mates = mates_of(text, thing)
    face = mates[0][0]
    items = plain(tree_of(text))[face]["inlays"]
    names = [items[int(at) - 1].get("name") or f"{face} inlay {at}" for _, _, at in mates]
    things = tuple(f"inlay/{face}/{name}" for name in names)
    own = {
        "least speck": written(wanted.speck_mm, inch=inch),
        "smoothing": written(wanted.smooth_mm, inch=inch),
    }
    count = len(art.reduced_to) or art.number_of_colours
    if (wanted.colours, wanted.even_light) == (count, art.even_light):
        changes = [((*steps, key), value) for steps in mates for key, value in own.items()]
        return Added(in_place(text, changes), things, "It lies where it did.")
    item = items[int(mates[0][2]) - 1]
    kept = {key: item[key] for key in (*KEPT, *MORE) if key in item}
    for each in sorted(mates, key=lambda steps: -int(steps[2])):
        name = items[int(each[2]) - 1].get("name") or f"{face} inlay {each[2]}"
        text = taken_off(text, f"inlay/{face}/{name}")
    more = {**kept, "number of colours": number_text(wanted.colours), **own}
    if wanted.even_light:
        more["even light"] = "yes"
    found = retraced_colours(job_file, art, wanted)
    return add_drawing(
        job_file,
        text,
        art.file,
        face="back" if face == "back" else "front",
        inch=inch,
        more=more,
        colours=found,
        stays=True,
    )


def retraced_colours(job_file: Path | str, art: PictureArt, wanted: Settings) -> list[str]:
    """Return the colours of a picture once it is reduced to so many, the paper's left out."""
    source = Source(art.file, 1, 1, "picture")
    data = picture_data(Path(job_file).parent / art.file, source)
    again = replace(
        art,
        reduced_to=(),
        number_of_colours=wanted.colours,
        least_speck_mm=wanted.speck_mm,
        smoothing_mm=wanted.smooth_mm,
        even_light=wanted.even_light,
    )
    found = trace_picture(again, data, art.file, source)
    shown = zip(found.colours, found.regions, strict=True)
    return [colour for colour, region in shown if colour != found.paper and not region.is_empty]
