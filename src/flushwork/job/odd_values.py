"""Values that may stand, but that hardly anybody means: told at their own line.

The ranges are common practice, no source: what a shop that works this way would call strange.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from flushwork.findings import Finding, Severity
from flushwork.job.reading import Reading
from flushwork.job.records import Allowances, Face, Job
from flushwork.shelf.items import Cutter, CutterKind, Shop
from flushwork.units import Quantity, number_text, quantity_text

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Usual:
    """The range a length usually lies in, and what comes of more, or of less."""

    key: str
    field: str
    least_mm: float
    most_mm: float
    why: str


ALLOWANCES: Final = (
    Usual("flatten", "flatten_mm", 0.0, 3.0, "it thins the blank on both sides"),
    Usual("level", "level_mm", 0.0, 1.0, "every levelling thins each inlay by it"),
    Usual("skin", "skin_mm", 0.0, 0.6, "all of it is left for the hand to sand"),
    Usual("sand", "sand_mm", 0.02, 1.0, "sanding takes out the cutter marks and no more"),
    Usual("light sand", "light_sand_mm", 0.01, 0.3, "a light sanding takes hundredths"),
    Usual("overfill", "overfill_mm", 0.0, 1.5, "it is poured, paid for and milled away again"),
    Usual("rim", "rim_mm", 0.0, 4.0, "resin that wide stains the wood around its pocket"),
    Usual("sanding spread", "sand_spread_mm", 0.0, 0.1, "nothing fine outlasts such a sanding"),
)
LEAST_STEP: Final = 0.08
"""A bit that goes over by less takes a dozen passes and more for its own width."""


def odd_in_job(job: Job, reading: Reading) -> tuple[Finding, ...]:
    """Return a caution for every odd value of a job file."""
    found = [*_allowances(job, reading), *_faces(job.faces, reading)]
    return tuple(found)


def _allowances(job: Job, reading: Reading) -> Iterator[Finding]:
    given: Allowances = job.allowances
    for usual in ALLOWANCES:
        value_mm: float = getattr(given, usual.field)
        path = ("allowances", usual.key)
        if reading.tree.has(path) and not usual.least_mm <= value_mm <= usual.most_mm:
            usually = f"{_mm(usual.least_mm)} to {_mm(usual.most_mm)} are usual"
            yield _odd(reading, path, f"{usual.key} is {_mm(value_mm)}: {usual.why}", usually)
    thickness_mm = job.blank.thickness_mm
    if given.web_mm > thickness_mm / 2.0:
        yield _odd(
            reading,
            ("allowances", "least web"),
            f"least web is {_mm(given.web_mm)} in a blank of {_mm(thickness_mm)}: two faces can "
            "hardly be worked over one another",
            "a fifth of the thickness is usual, and 3 mm at least",
        )
    if given.light_sand_mm > max(given.sand_mm, 0.05):
        yield _odd(
            reading,
            ("allowances", "light sand"),
            f"a light sanding takes {_mm(given.light_sand_mm)}, more than the first one "
            f"({_mm(given.sand_mm)})",
            "a light sanding takes less than the first",
        )


def _faces(faces: tuple[Face, ...], reading: Reading) -> Iterator[Finding]:
    worked = {face.name for face in faces}
    for name in ("front", "back"):
        if reading.tree.has((name,)) and name not in worked:
            yield _odd(
                reading,
                (name,),
                f"the {name} is named but has neither inlays nor holes",
                "take the line out, or write what goes on it",
            )


def odd_in_shop(shop: Shop, reading: Reading) -> tuple[Finding, ...]:
    """Return a caution for every odd value of a shop file."""
    return tuple(
        finding
        for index, cutter in enumerate(shop.cutters)
        for finding in _cutter(cutter, ("cutters", index), reading)
    )


def _cutter(cutter: Cutter, path: Path, reading: Reading) -> Iterator[Finding]:
    if cutter.step < LEAST_STEP and reading.tree.has((*path, "step over")):
        share = number_text(100.0 * cutter.step, 1)
        yield _odd(
            reading,
            (*path, "step over"),
            f"{cutter.name} goes over by {share} % of its diameter: a pocket takes many times "
            "as long",
            "40 % is usual for clearing, 10 % for a fine floor",
        )
    if (
        cutter.kind is CutterKind.FLAT
        and cutter.pass_mm > 3.0 * cutter.diameter_mm
        and reading.tree.has((*path, "pass depth"))
    ):
        yield _odd(
            reading,
            (*path, "pass depth"),
            f"{cutter.name} goes {_mm(cutter.pass_mm)} deep in one pass, more than three times its "
            "diameter",
            "up to its diameter is usual in wood, a quarter to a half for bits under 1.6 mm",
        )


def _odd(reading: Reading, path: Path, what: str, usually: str) -> Finding:
    return Finding(
        code="value-odd",
        severity=Severity.CAUTION,
        message=f"{what[0].upper()}{what[1:]}.",
        remedy=f"{usually[0].upper()}{usually[1:]}; leave it if you mean it.",
        subject=str(path[-1]),
        source=reading.source(path),
    )


def _mm(value_mm: float) -> str:
    return quantity_text(value_mm, Quantity.LENGTH, decimals=3)
