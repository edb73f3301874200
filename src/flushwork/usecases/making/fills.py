"""What something new is filled with: a mix of the job, else a new one of the shelf's pigments."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from flushwork.core.findings import FlushworkError
from flushwork.job.text.edit import EditError
from flushwork.job.text.insert import Group, with_named
from flushwork.usecases.jobs import load

if TYPE_CHECKING:
    from flushwork.job.records import Job, Mix
    from flushwork.shelf.items import Pigment

ALIKE: Final = 12.0
"""A mix so near a colour by CIEDE2000 is taken for it (assumed, 8 to 20)."""
FEW: Final = 4
"""So many colours of a drawing get a mix each; of more, those of one pigment share one."""


class AddError(FlushworkError):
    """Something that cannot be added; the message says why."""


Named = tuple[tuple[tuple[str, ...], Group], ...]


def first_fill(job: Job) -> tuple[str, Named]:
    """Return the mix of the job that stands out most from its wood; a new one where it has none."""
    from flushwork.art.pictures.reduced import nearest_colour  # noqa: PLC0415

    def off_wood(each: Mix | Pigment) -> float:
        return nearest_colour(job.blank.wood.colour, [each.colour])[1]

    if job.mixes:
        return max(job.mixes, key=off_wood).name, ()
    powders = [each for each in job.shop.pigments if each.kind != "dye"] or job.shop.pigments
    if not powders:
        return "clear", ()
    (fill,), mixes = fills_for(job, [max(powders, key=off_wood).colour])
    return fill, mixes


def fills_for(job: Job, colours: Sequence[str]) -> tuple[list[str], Named]:
    """Return the name of a mix for each colour, and the mixes that have to be new.

    Every colour of a few gets a mix of its own.
    """
    from flushwork.art.pictures.reduced import nearest_colour  # noqa: PLC0415

    fills: list[str] = []
    fresh: dict[str, tuple[str, str]] = {}
    alone = len(colours) <= FEW
    for colour in colours:
        known = {mix.name: mix.colour for mix in job.mixes}
        known |= {name: shade for name, (_, shade) in fresh.items()}
        known = {name: shade for name, shade in known.items() if not (alone and name in fills)}
        if known:
            best, apart = nearest_colour(colour, list(known.values()))
            if apart <= ALIKE:
                fills.append(list(known)[best])
                continue
        used = {pigment for pigment, _ in fresh.values()} if alone else set()
        pigments = [each for each in job.shop.pigments if each.name not in used]
        if not pigments:
            fills.append(next(iter(known), "clear"))
            continue
        best, _ = nearest_colour(colour, [each.colour for each in pigments])
        pigment = pigments[best]
        name = next((n for n, (p, _) in fresh.items() if p == pigment.name), "")
        if not name:
            plain = pigment.name.removesuffix(f" {pigment.kind}")
            taken = {mix.name for mix in job.mixes} | set(fresh)
            numbers = (f"{plain} {number}" for number in range(2, 100))
            name = next(each for each in (plain, *numbers) if each not in taken)
            fresh[name] = (pigment.name, pigment.colour)
        fills.append(name)
    groups = tuple(
        (("mixes", name), mix_group(job, [pigment])) for name, (pigment, _) in fresh.items()
    )
    return fills, groups


def mix_group(job: Job, pigments: Sequence[str], resin: str = "") -> Group:
    """Return a mix as it is written: of the resin the job's first mix has, or the shop's first."""
    usual = job.mixes[0].resin.name if job.mixes else ""
    usual = usual or (job.shop.resins[0].name if job.shop.resins else "coating epoxy")
    return {"resin": resin or usual, "pigments": list(pigments)}


def add_mix(
    job_file: Path | str, text: str, name: str, pigments: Sequence[str], *, resin: str = ""
) -> tuple[str, str]:
    """Return a job's text with a new mix of the shelf's pigments, and the name it got.

    Without a ``resin`` it is of that of the job's first mix.  Raises AddError for a name that the
    job has already or a pigment the shop has not, JobRefusedError where the text cannot be read.
    """
    job = load(job_file, text)
    known = {each.name: each for each in job.shop.pigments}
    for each in pigments:
        if each not in known:
            message = f"the shop has no pigment called {each}"
            raise AddError(message)
    plain = [known[each].name.removesuffix(f" {known[each].kind}") for each in pigments]
    own = " ".join(name.split()) or " and ".join(plain) or "clear"
    taken = {each.name for each in job.mixes}
    if own in taken:
        message = f"there is a mix called {own} already"
        raise AddError(message)
    try:
        return with_named(text, ("mixes", own), mix_group(job, pigments, resin)), own
    except EditError as error:
        message = f"it cannot be written into the text: {error}"
        raise AddError(message) from error
