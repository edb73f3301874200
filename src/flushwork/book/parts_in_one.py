"""One book of a job of several parts: the book of each part, and what they share told once."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from flushwork.book.day_strip import days_view
from flushwork.book.figure_chapters import bits_view, cost_view, in_hundred
from flushwork.book.pour_cards import batches
from flushwork.book.run_sheet import run_sheet
from flushwork.book.shopping import buy_groups
from flushwork.views.book_records import (
    BookView,
    CardView,
    CheckView,
    DyeCard,
    LightView,
    NoReturnsView,
    OddsView,
    Picture,
    RunSheet,
    TableView,
)
from flushwork.views.check_views import verdict
from flushwork.views.context import ViewContext
from flushwork.views.figures import Lengths, clean, headed, joined

ON_COVER_MM = 70.0
"""The pictures of page 1 are together no higher."""

Chapter = TypeVar("Chapter")


@dataclass(frozen=True, slots=True)
class PartBook:
    """The book of one part of a job; ``starts_min`` is when each of its cards begins, by order."""

    context: ViewContext
    view: BookView
    starts_min: tuple[int, ...]

    @property
    def name(self) -> str:
        """The part's name as a heading begins."""
        return headed(self.context.build.job.part, "")


def in_one(whole: ViewContext, books: Sequence[PartBook]) -> BookView:
    """Return the book of all parts; ``whole`` is the first part with the findings of them all."""
    first, lengths = books[0].view, Lengths(whole.units)
    others = tuple(each.context for each in books[1:])
    parts = [each.context.build for each in books]
    plans = [(each.job.part, each.plan) for each in parts]
    named = [_named(each) for each in books]
    days = whole.build.all_days
    pictures = tuple(picture for each in named for picture in each.run.pictures)
    return replace(
        first,
        pngs=whole.pictures,
        run=_fitted(run_sheet(whole, pictures, lengths, others)),
        buy=buy_groups(whole, lengths, others),
        lay_out=_laid_out(books),
        cards=_cards(books, named),
        safety_lines=_once(named, "safety_lines"),
        check=_check(whole, named),
        maps=_row(named, "maps"),
        seen=_row(named, "seen"),
        sections=_row(named, "sections"),
        holes=_row(named, "holes"),
        sheets=_row(named, "sheets"),
        settings=(
            *first.settings[3:],
            *(group for each in named for group in each.settings[:3]),
        ),
        thickness_table=_table(books, [each.view.thickness_table for each in books]),
        batches=batches(whole.build.all_pours),
        light=_light(books, named),
        days=days_view(days, parts[0].plan, whole.live(), plans)
        if days is not None and whole.schedule is not None
        else None,
        cost=cost_view(whole.costs) if whole.costs is not None else None,
        odds=_odds(books, named),
        no_returns=_no_returns(books, named),
        bits=bits_view(
            [file for each in parts for file in each.gcode_files],
            [found for each in parts for found in each.bit_sets],
            inch=whole.units == "inch",
        ),
    )


def _named(book: PartBook) -> BookView:
    """Return a part's book with its name at the head of what is shown, and of its pictures."""
    name = book.name
    view: BookView = _pictures_of(replace(book.view, pngs={}), f"{book.context.build.job.part}-")

    def headed(rows: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(
            replace(each, heading=f"{name}, {each.heading[:1].lower()}{each.heading[1:]}")
            for each in rows
        )

    light = view.light
    return replace(
        view,
        maps=headed(view.maps),
        seen=headed(view.seen),
        sections=headed(view.sections),
        holes=headed(view.holes),
        sheets=headed(view.sheets),
        settings=headed(view.settings),
        light=replace(light, tilts=headed(light.tilts)) if light is not None else None,
    )


def _pictures_of(value: Any, before: str) -> Any:
    """Return records with the names of their pictures begun so, as the pictures' files are."""
    if isinstance(value, Picture):
        return replace(value, png=f"{before}{value.png}") if value.png else value
    if isinstance(value, tuple):
        return tuple(_pictures_of(each, before) for each in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        changed = {
            each.name: now
            for each in dataclasses.fields(value)
            if (now := _pictures_of(was := getattr(value, each.name), before)) is not was
            and now != was
        }
        return replace(value, **changed)
    return value


def _row(views: Sequence[BookView], field: str) -> tuple[Any, ...]:
    return tuple(item for each in views for item in getattr(each, field))


def _once(views: Sequence[BookView], field: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_row(views, field)))


def _laid_out(books: Sequence[PartBook]) -> tuple[str, ...]:
    """Return what is settled before the first day: what is not so of all parts names its part."""
    rows = [book.view.lay_out for book in books]
    alike = [line for line in rows[0] if all(line in row for row in rows)]
    own = (
        f"{book.name}: {line}"
        for book, row in zip(books, rows, strict=True)
        for line in row
        if line not in alike
    )
    return (*alike, *own)


def _fitted(sheet: RunSheet) -> RunSheet:
    """Return page 1 with its pictures small enough to stand below each other."""
    high_mm = sum(each.height_mm for each in sheet.pictures)
    share = min(1.0, ON_COVER_MM / high_mm) if high_mm else 1.0
    pictures = tuple(
        replace(each, width_mm=share * each.width_mm, height_mm=share * each.height_mm)
        for each in sheet.pictures
    )
    return replace(sheet, pictures=pictures)


def _cards(books: Sequence[PartBook], named: Sequence[BookView]) -> tuple[CardView, ...]:
    """Return the cards of all parts in the order in which they are begun."""
    rows = [
        (start_min, card)
        for book, view in zip(books, named, strict=True)
        for start_min, card in zip(book.starts_min, view.cards, strict=True)
    ]
    return tuple(card for _, card in sorted(rows, key=lambda row: row[0]))


def _check(whole: ViewContext, views: Sequence[BookView]) -> CheckView:
    """Return the check of all parts: one verdict, the findings of a weight together."""
    groups: dict[str, Any] = {}
    for view in views:
        for group in view.check.groups:
            known = groups.get(group.heading)
            findings = (*known.findings, *group.findings) if known else group.findings
            groups[group.heading] = replace(group, findings=findings)
    marks = ("must-fix", "warning", "note")
    return CheckView(
        verdict=verdict(whole.build.findings),
        places=tuple(picture for each in views for picture in each.check.places),
        groups=tuple(sorted(groups.values(), key=lambda group: marks.index(group.mark))),
    )


def _table(books: Sequence[PartBook], tables: Sequence[TableView]) -> TableView:
    """Return the rows of all parts, the first column with the part's name before it."""
    rows = tuple(
        (f"{clean(book.context.build.job.part)} {row[0]}", *row[1:])
        for book, table in zip(books, tables, strict=True)
        for row in table.rows
    )
    return replace(tables[0], rows=rows)


def _of(
    books: Sequence[PartBook], chapters: Sequence[Chapter | None]
) -> list[tuple[PartBook, Chapter]]:
    """Return the chapters that there are, each with the part it is of."""
    pairs = zip(books, chapters, strict=True)
    return [(book, chapter) for book, chapter in pairs if chapter is not None]


def _light(books: Sequence[PartBook], views: Sequence[BookView]) -> LightView | None:
    found = _of(books, [each.light for each in views])
    if not found:
        return None
    parts, lights = [book for book, _ in found], [light for _, light in found]
    return replace(
        lights[0],
        tilts=tuple(tilt for each in lights for tilt in each.tilts),
        colours=replace(
            lights[0].colours,
            rows=tuple(dict.fromkeys(row for each in lights for row in each.colours.rows)),
        ),
        lines=_table(parts, [each.lines for each in lights]),
        dyed=_dyed(found),
        ways=_table(parts, [each.ways for each in lights]),
    )


def _dyed(found: Sequence[tuple[PartBook, LightView]]) -> DyeCard | None:
    """Return the card of what is dyed for any of the parts."""
    cards = [(book, light.dyed) for book, light in found if light.dyed is not None]
    if not cards:
        return None
    kinds = (
        replace(kind, heading=f"{book.name}, {kind.heading}")
        for book, card in cards
        for kind in card.kinds
    )
    return replace(cards[0][1], kinds=tuple(kinds))


def _odds(books: Sequence[PartBook], views: Sequence[BookView]) -> OddsView | None:
    found = _of(books, [each.odds for each in views])
    if not found:
        return None
    parts, odds = [book for book, _ in found], [each for _, each in found]
    return replace(
        odds[0],
        summary=_odds_words(parts)
        + " ".join(f"{book.name}: {each.summary}" for book, each in found),
        places=tuple(picture for book, each in found for picture in _captioned(book, each.places)),
        weakest=_table(parts, [each.weakest for each in odds]),
        tighten=_table(parts, [each.tighten for each in odds]),
    )


def _captioned(book: PartBook, pictures: Sequence[Picture]) -> Iterator[Picture]:
    """Yield pictures with the part's name before what stands under them."""
    for each in pictures:
        caption = f"{each.caption[:1].lower()}{each.caption[1:]}"
        yield replace(each, caption=f"{book.name}, {caption}")


def _odds_words(books: Sequence[PartBook]) -> str:
    """Return how likely one of each part comes out right, in a sentence."""
    odds = [book.context.risk.odds.piece for book in books if book.context.risk is not None]
    each = [
        f"{clean(book.context.build.job.part)} in {in_hundred(one)}"
        for book, one in zip(books, odds, strict=True)
    ]
    return (
        f"If no mistakes are made, one comes out right of {joined(each)}; one of each, where they "
        f"fail independently, in {in_hundred(math.prod(odds))}. "
    )


def _no_returns(books: Sequence[PartBook], views: Sequence[BookView]) -> NoReturnsView | None:
    found = _of(books, [each.no_returns for each in views])
    if not found:
        return None
    by_check: dict[str, list[str]] = {}
    for book, each in found:
        for check, stages in each.by_check:
            by_check.setdefault(check, []).append(f"{clean(book.context.build.job.part)} {stages}")
    return replace(
        found[0][1],
        charts=tuple(picture for book, each in found for picture in _captioned(book, each.charts)),
        note="\n".join(f"{book.name}: {each.note}" for book, each in found),
        by_check=tuple((check, "; ".join(stages)) for check, stages in by_check.items()),
        no_returns=tuple(
            replace(point, title=f"{book.name}: {point.title[:1].lower()}{point.title[1:]}")
            for book, each in found
            for point in each.no_returns
        ),
    )
