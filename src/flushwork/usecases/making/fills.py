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
    from flushwork.job.records import Job
    from flushwork.shelf.items import Pigment

ALIKE: Final = 12.0
"""A mix so near a colour by CIEDE2000 is taken for it (assumed, 8 to 20)."""
FEW: Final = 4
"""So many colours of a drawing get a mix each; of more, those of one pigment share one."""


class AddError(FlushworkError):
    """Something that cannot be added; the message says why."""


Named = tuple[tuple[tuple[str, ...], Group], ...]


class Jars:
    """The mixes of a job, and new ones of the shelf's pigments as something added asks for them."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.colours = {mix.name: mix.colour for mix in job.mixes}
        self.pigments = _opaque(job.shop.pigments)
        self._fresh: dict[str, Pigment] = {}

    @property
    def fresh(self) -> Named:
        """The mixes that have to be new, as they are written."""
        return tuple(
            (("mixes", name), mix_group(self.job, [pigment.name]))
            for name, pigment in self._fresh.items()
        )

    def off(self, *under: str, fine: bool = False) -> str:
        """Return the mix that stands out most from the wood and from the mixes it lies on.

        It is a new one where none of the job's can be told from them; what is ``fine``, letters and
        lines, is read by lightness alone, and its new one is of a powder: flakes do not lie flat in
        so narrow a cut.
        """
        from flushwork.colour.spaces import BROAD_MM, FINE_MM, apart, parse_hex  # noqa: PLC0415

        grounds = [parse_hex(self.job.blank.wood.colour)]
        grounds += [parse_hex(self.colours[name]) for name in under]

        def off(colour: str) -> tuple[bool, float]:
            width_mm = FINE_MM if fine else BROAD_MM
            found = [
                apart(parse_hex(colour), ground, width_mm, lettering=fine) for ground in grounds
            ]
            least = min(each.lightness if fine else each.difference for each in found)
            return all(each.seen for each in found), least

        own = [name for name in self.colours if name not in under]
        best = max(own, key=lambda name: off(self.colours[name]), default="")
        if best and off(self.colours[best])[0]:
            return best
        powders = [each for each in self.pigments if each.kind == "powder"] if fine else []
        unused = [each for each in powders or self.pigments if each not in self._fresh.values()]
        if not unused:
            return best or "clear"
        return self._mixed(max(unused, key=lambda each: off(each.colour)))

    def like(self, colours: Sequence[str]) -> list[str]:
        """Return the name of a mix for each colour; every one of a few gets a mix of its own."""
        from flushwork.art.pictures.reduced import nearest_colour  # noqa: PLC0415

        fills: list[str] = []
        alone = len(colours) <= FEW
        for colour in colours:
            known = {n: c for n, c in self.colours.items() if not (alone and n in fills)}
            if known:
                best, apart = nearest_colour(colour, list(known.values()))
                if apart <= ALIKE:
                    fills.append(list(known)[best])
                    continue
            used = self._fresh.values() if alone else ()
            pigments = [each for each in self.pigments if each not in used]
            if not pigments:
                fills.append(next(iter(known), "clear"))
                continue
            best, _ = nearest_colour(colour, [each.colour for each in pigments])
            fills.append(self._mixed(pigments[best]))
        return fills

    def _mixed(self, pigment: Pigment) -> str:
        """Return the name of the new mix of a pigment."""
        known = next((name for name, each in self._fresh.items() if each == pigment), "")
        if known:
            return known
        plain = pigment.name.removesuffix(f" {pigment.kind}")
        numbers = (f"{plain} {number}" for number in range(2, 100))
        name = next(each for each in (plain, *numbers) if each not in self.colours)
        self._fresh[name], self.colours[name] = pigment, pigment.colour
        return name


def _opaque(pigments: Sequence[Pigment]) -> list[Pigment]:
    """Return the pigments that hide the wood; a dye alone lets it through."""
    return [each for each in pigments if each.kind != "dye"] or list(pigments)


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
