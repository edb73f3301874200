"""What the cards say of dowels, discs and witness marks."""

from __future__ import annotations

from flushwork.book.figures import Lengths, clean, joined
from flushwork.book.pieces import Pieces
from flushwork.book.records import Fact
from flushwork.fit.grip import speaks_of_pins
from flushwork.job.records import Job
from flushwork.plan.locating import free_ends_mm, goes_through
from flushwork.plan.stages import Mounting, Stage
from flushwork.plan.waste import keep_outs_of
from flushwork.plan.waste_work import kerf_of


def waste_words(pieces: Pieces, stage: Stage, lengths: Lengths) -> dict[str, str]:
    """Return what the names in braces of the cards LOCATE and MARK stand for."""
    locating = pieces.job.locating
    mounting = next((each for each in pieces.plan.mountings if each.number == stage.mounting), None)
    reads = mounting.reads if mounting is not None else 0
    words = {
        "reads": f"It reads the marks of mounting {reads}." if reads else "",
        "read_first": f"Read the marks of mounting {reads} and give them to `flushwork marks`; it "
        "shows shift, turn and stretch and writes this mounting's files corrected"
        if reads
        else "Nothing is read in this mounting: it is the first of its face",
        "located_by": "",
        "locating_cutter": "",
        "board_depth": "",
        "blank_depth": "",
        "put_in": "",
    }
    if locating is not None:
        through = goes_through(locating)
        cutters = [
            file.order.cutter.name
            for file in pieces.cut_files
            if file.order.mounting == stage.mounting and file.order.bare
        ]
        words |= {
            "located_by": f"Two {locating.by} of {lengths.say(locating.diameter_mm)}",
            "locating_cutter": clean(joined(cutters)),
            "board_depth": lengths.say(locating.board_mm),
            "blank_depth": "right through" if through else f"{lengths.say(locating.blank_mm)} deep",
            "put_in": f"Push the {locating.by} in; they end below the face"
            if through
            else f"Put the {locating.by} in when the blank is turned over onto them",
        }
    return words


def waste_facts(job: Job, mounting: Mounting, lengths: Lengths) -> tuple[Fact, ...]:
    """Return the lines of a mounting's card on what stands in its waste."""
    facts: list[Fact] = []
    if job.locating is not None and mounting.recesses:
        facts.append(Fact(job.locating.by.capitalize(), _places(mounting.recesses, lengths)))
        blank = job.blank
        axis = (
            f"Y {lengths.say(blank.width_mm / 2.0)}, along the length"
            if blank.turn_about_x
            else f"X {lengths.say(blank.length_mm / 2.0)}, along the width"
        )
        facts.append(Fact("Flip axis", axis))
    clamps = keep_outs_of(job, mounting.face, mounting.number)
    if clamps:
        told = [f"{clean(keep.name)}, {lengths.say(keep.height_mm)} high" for keep in clamps]
        facts.append(Fact("Keep clear of", joined(told)))
    if job.bed.pieces > 1:
        step = f"X {lengths.say(job.bed.step_x_mm)} Y {lengths.say(job.bed.step_y_mm)}"
        facts.append(Fact("On the bed", f"{job.bed.pieces} pieces, each {step} on"))
    if mounting.marks:
        facts.append(Fact("Marks cut", _places(mounting.marks, lengths)))
    if mounting.reads:
        facts.append(Fact("Marks read", f"those of mounting {mounting.reads}, before cutting"))
    return tuple(facts)


def dowels_of_choice(pieces: Pieces, lengths: Lengths) -> tuple[Fact, ...]:
    """Return where dowels may stand that a holding speaks of and no cut file lets in."""
    job = pieces.job
    if job.locating is not None or not speaks_of_pins(job.holding):
        return ()
    if job.outline.artwork is None:
        room = "off all that is cut; no trim line sets waste apart"
    else:
        free_mm = free_ends_mm(job, pieces.faces, kerf_of(job))
        ends = ("left", "right") if job.blank.turn_about_x else ("near", "far")
        told = [
            f"{lengths.say(each)} at the {end} end" for each, end in zip(free_mm, ends, strict=True)
        ]
        room = f"on the centre line the waste is free for {joined(told)}"
    return (
        Fact(
            "Their places",
            f"no file lets them in: place, diameter and boring are yours to choose; {room}. With "
            "`locating` in the job, cut files bore them",
        ),
    )


def _places(places: tuple[tuple[float, float], ...], lengths: Lengths) -> str:
    return "; ".join(
        f"{number}: X {lengths.say(x)} Y {lengths.say(y)}"
        for number, (x, y) in enumerate(places, start=1)
    )
