"""What a page of the bench shows, in words and figures: all a template may know."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.views.book_records import FindingView, Mark, VerdictView


@dataclass(frozen=True, slots=True)
class StripStage:
    """One stage of the strip; stage 0 is the blank as sawn.  ``minutes`` is machine time."""

    number: int
    kind: str
    face: str
    title: str
    because: str
    details: tuple[str, ...]
    wait: str
    colour: str
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EditView:
    """One key that a fix changes: its steps, the same in words, as written now and as proposed.

    ``was`` is empty where the key is not in the file; without ``value`` it is taken out, and
    ``told`` is the value in words.  ``number`` tells that another number may be put in its place.
    """

    steps: tuple[str, ...]
    words: str
    was: str
    value: str | None
    told: str | None
    number: bool


@dataclass(frozen=True, slots=True)
class FindingPin:
    """A finding in its place: ``picture`` is the number of its picture, -1 while there is none.

    ``drawn`` tells that its figure is drawn at its place as well; ``fixable`` that a fix for it
    may be looked for.
    """

    view: FindingView
    face: str
    x_mm: float
    y_mm: float
    picture: int
    sum: str
    drawn: bool = False
    fixable: bool = False


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """All findings of one weight."""

    mark: Mark
    heading: str
    pins: tuple[FindingPin, ...]


@dataclass(frozen=True, slots=True)
class SwatchView:
    """A mix with its letter and colour."""

    letter: str
    name: str
    colour: str
    recipe: str


@dataclass(frozen=True, slots=True)
class JobView:
    """The job as the head of the page shows it."""

    title: str
    summary: str
    run: str
    file: str
    verdict: VerdictView
    swatches: tuple[SwatchView, ...]
    coarse: bool
