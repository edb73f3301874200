"""Is everything the right way round, held, and meant as it is written?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flushwork.built import Build
from flushwork.checks.expected_board import taken_after_cut_mm
from flushwork.checks.rules.board.thickness_rules import near_wood_between
from flushwork.core.findings import BLANK, Finding, Measure, Subject
from flushwork.fit.grip import grip_of, set_on_pins
from flushwork.job.records import Artwork, DrawingArt, Inlay, PictureArt, TextArt
from flushwork.process.waste import BESIDE_MM

CLAMP_MM: Final = 15.0
"""Waste that a clamp needs beside the trim line (assumed, 10 to 25 mm)."""
PIN_MM: Final = 6.0
"""Waste for a 3 mm pin and 1.5 mm of wood beside it, counted on where the job does not say how wide
its dowels are (assumed, 5 to 16 mm)."""


def text_reversed(build: Build) -> Iterator[Finding]:
    """Yield what must be fixed for words that will read backwards.

    A note for pictures mirrored on the back.
    """
    for inlay in build.job.inlays:
        for artwork in inlay.artwork:
            if not artwork.placement.mirror:
                continue
            if isinstance(artwork.art, TextArt):
                yield _reversed(inlay, artwork, artwork.art.words)
            elif isinstance(artwork.art, DrawingArt | PictureArt) and inlay.face == "back":
                yield Finding.note(
                    "art-mirrored-on-back",
                    message=f"{inlay.name} is mirrored {artwork.placement.mirror}. The back is "
                    "drawn as you see it when you look at it, so nothing has to be mirrored for "
                    "turning the board over.",
                    remedy="Take `mirror` out, unless the picture itself shall be the other way "
                    "round.",
                    subjects=(Subject("inlay", inlay.name),),
                    source=inlay.source,
                )


def _reversed(inlay: Inlay, artwork: Artwork, words: str) -> Finding:
    return Finding.must_fix(
        "text-reversed",
        message=f'{inlay.name} sets "{words}" mirrored {artwork.placement.mirror}: it will read '
        "backwards on the finished board.",
        remedy="Take `mirror` out: both faces are drawn as you see them when you look at them.",
        subjects=(Subject("inlay", inlay.name),),
        source=inlay.source,
    )


def flipped_off_its_pins(build: Build) -> Iterator[Finding]:
    """Yield a warning where the board is flipped about another line than its pins stand on."""
    job = build.job
    both = all(face.worked for face in build.faces) and len(build.faces) > 1
    if not both or "centre line" not in job.holding.locates_by or job.locating is not None:
        # those that our own files bore stand on the line it is flipped about
        return
    if job.blank.turn_about_x == job.blank.grain_along_x:
        return
    turned = "top to bottom" if job.blank.turn_about_x else "side to side"
    grain = "length" if job.blank.grain_along_x else "width"
    yield Finding.warning(
        "flipped-off-its-pins",
        message=f"The pins stand on the centre line along the grain (the {grain}), but the board "
        f"is flipped {turned}: each pin comes to the other one's place, and any "
        "difference of theirs from the middle shifts the back by twice as much.",
        remedy=f"Turn it over about its {grain}, or measure that both pins stand equally far from "
        "the middle.",
        subjects=(BLANK,),
        source=job.blank.source,
    )


def fill_named_otherwise(build: Build) -> Iterator[Finding]:
    """Yield a warning for inlays whose name holds the name of another mix than fills them."""
    names = [mix.name for mix in build.job.mixes]
    for inlay in build.job.inlays:
        words = f" {inlay.name.lower()} "
        held = [name for name in names if f" {name.lower()} " in words]
        own = (inlay.mix.name, inlay.cap.name if inlay.cap is not None else "")
        if held and not set(held) & set(own):
            yield Finding.warning(
                "fill-named-otherwise",
                message=f"{inlay.name} is filled with {inlay.mix.name}, but its name says "
                f"{held[0]}, which is a mix too.",
                remedy=f"Write `fill: {held[0]}` if the colours have been swapped, or give the "
                "inlay another name.",
                subjects=(Subject("inlay", inlay.name), Subject("mix", held[0])),
                source=inlay.source,
            )


def same_art_other_fill(build: Build) -> Iterator[Finding]:
    """Yield a warning where both faces bear the same artwork in different colours."""
    front = {_drawing(inlay): inlay for inlay in build.job.face("front").inlays if inlay.artwork}
    for inlay in build.job.face("back").inlays:
        twin = front.get(_drawing(inlay)) if inlay.artwork else None
        if twin is None or twin.mix.name == inlay.mix.name:
            continue
        yield Finding.warning(
            "same-art-other-fill",
            message=f"{inlay.name} (back) is the same artwork as {twin.name} (front), but is "
            f"filled with {inlay.mix.name} instead of {twin.mix.name}.",
            remedy="Correct the fill if the colours of the faces have been swapped.",
            subjects=(Subject("inlay", inlay.name), Subject("mix", twin.mix.name)),
            source=inlay.source,
        )


def _drawing(inlay: Inlay) -> tuple[object, ...]:
    return tuple(artwork.art for artwork in inlay.artwork)


def depth_face_unsaid(build: Build) -> Iterator[Finding]:
    """Yield a note where thin wood makes it matter which face a depth is measured from."""
    for near in near_wood_between(build):
        unsaid = [
            sunk.name
            for sunk in (near.front, near.back)
            if not sunk.hole and not _said(build, sunk.name)
        ]
        if not unsaid:
            continue
        gained_mm = sum(taken_after_cut_mm(build, name) for name in unsaid)
        yield Finding.note(
            "depth-face-unsaid",
            message=f"The wood between {near.front.name} and {near.back.name} is "
            f"{near.wood_between_mm:.2f} mm with depths from the finished face; measured from the "
            f"face as it stands when it is cut it would be {near.wood_between_mm + gained_mm:.2f} "
            f"mm. The job does not say which is meant for {' and '.join(unsaid)}.",
            remedy="Write `measured from: finished face` or `measured from: face as it stands`.",
            subjects=(inlay := Subject("inlay", unsaid[0]),),
            source=build.source_of(inlay),
            place=near.place,
            measure=Measure(
                "wood between faces otherwise", near.wood_between_mm + gained_mm, None, "mm"
            ),
        )


def _said(build: Build, name: str) -> bool:
    """Whether the job says for an inlay which face its depth counts from."""
    for face in build.job.faces:
        for index, inlay in enumerate(face.inlays):
            if inlay.name == name:
                return f"{face.name}.inlays.{index}.measured from" in build.job.given
    return True


def clamp_room(build: Build) -> Iterator[Finding]:
    """Yield a warning where the waste around the outline is too narrow for what holds it."""
    job = build.job
    if job.outline.artwork is None:
        return
    face = build.face("front")
    west, south, east, north = face.trim.bounds
    ends = (west, job.blank.length_mm - east)
    sides = (south, job.blank.width_mm - north)
    grip = grip_of(job.holding)
    if grip is not None and grip.clamps and max(*ends, *sides) < CLAMP_MM:
        wanted, have, what = CLAMP_MM, max(*ends, *sides), "clamps"
    elif set_on_pins(job.holding):
        along = ends if job.blank.grain_along_x else sides
        have, what = min(along), "dowels on the centre line"
        wanted = PIN_MM
        if job.locating is not None:
            wanted = job.locating.diameter_mm + 2.0 * BESIDE_MM
            what = f"{job.locating.diameter_mm:g} mm {what}"
        if have >= wanted:
            return
    else:
        return
    yield Finding.warning(
        "no-room-to-hold",
        message=f"Only {have:.1f} mm of waste is left outside the trim line, and {what} need "
        f"{wanted:g} mm: the bit would meet them.",
        remedy=f"Take a blank with {wanted:g} mm of waste there, thinner dowels, or hold it from "
        "below.",
        subjects=(BLANK,),
        source=job.blank.source,
        measure=Measure("waste", have, wanted, "mm"),
    )


RULES = (
    text_reversed,
    flipped_off_its_pins,
    fill_named_otherwise,
    same_art_other_fill,
    depth_face_unsaid,
    clamp_room,
)
