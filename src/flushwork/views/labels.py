"""Labels for pieces and cups: words to read, and a small code to scan (ISO/IEC 18004)."""

from __future__ import annotations

import html
from collections.abc import Iterator
from dataclasses import dataclass

from flushwork.job.records import LoosePart
from flushwork.process.stages import Plan
from flushwork.resin.pours import Pour
from flushwork.schedule.schedule import Piece, Schedule
from flushwork.shelf.working import COMMON_LABELS, LabelSheet
from flushwork.wood.loose_stock import made_count

MARGIN_MM = 4.0
"""Most printers leave 4 to 5 mm at a sheet's edge blank (common practice, no source)."""
QUIET = 4
"""Empty cells around a code (ISO/IEC 18004:2015, 6.3.8)."""
SIZES_MM = (5.2, 2.6, 2.6, 2.6)
LINE = 1.45
"""The height of a line, what stands under it included, as a share of its letters' size."""
CODE_SHARE = 0.45
"""A code takes no more than this of a label's width."""
LONGEST = 22
"""More letters than this do not fit a line of the label."""
LEAST_MM = 2.12
"""No letters smaller than this, 6 points: a low or narrow label holds fewer lines and words."""
SHORTEST = 8
"""So many letters of a line stand on the narrowest label too."""


@dataclass(frozen=True, slots=True)
class Label:
    """One label: its file's name, its lines of text (the first large), what its code says."""

    name: str
    lines: tuple[str, ...]
    code: str


def labels_of(
    title: str,
    plan: Plan,
    schedule: Schedule,
    pours: tuple[Pour, ...],
    bench: str = "",
    parts: tuple[LoosePart, ...] = (),
    parted: tuple[str, ...] = (),
) -> tuple[Label, ...]:
    """Return a label for each piece, one for each cup and one for the bag of each loose part.

    Where a blank is parted into several, ``parted`` is what each of them is called.

    ``bench`` is the address of the bench: the code of a label then opens its stage there.  Without
    one the code holds the same words as the label.
    """
    first = plan.stages[0].number if plan.stages else 1
    labels = [
        Label(
            name=name,
            lines=(name, title, "test piece" if piece.test else "front up: this side"),
            code=_code(bench, first, name, title),
        )
        for piece in schedule.pieces
        for name in (_called(piece, parted, len(schedule.pieces)) if parted else (piece.name,))
    ]
    for pour in pours:
        if pour.out_of:
            continue
        stage = plan.stage(pour.stage)
        when = next((step for step in schedule.steps if step.pour == pour.number), None)
        day = schedule.days.day_text(when.begin_min) if when is not None else ""
        labels.append(
            Label(
                name=f"pour {pour.number}",
                lines=(
                    pour.mix.name,
                    f"pour {pour.number}, stage {pour.stage}",
                    ", ".join(served.subject for served in pour.serves),
                    day,
                ),
                code=_code(bench, stage.number, f"pour {pour.number}", title),
            )
        )
    pieces = sum(not piece.test for piece in schedule.pieces)
    labels += [
        Label(
            name=part.name,
            lines=(
                part.name,
                title,
                f"{made_count(part, pieces)} of {part.wood.name}, "
                + ("bare" if part.match is None else f"dyed {part.match.name}"),
                f"for {part.side}" if part.side else "",
            ),
            code=_code(bench, first, part.name, title),
        )
        for part in parts
    ]
    return tuple(labels)


def _called(piece: Piece, parted: tuple[str, ...], blanks: int) -> Iterator[str]:
    """Yield what the pieces out of one blank are called; of several blanks it says which."""
    for name in parted:
        if blanks == 1 and not name[0].isdigit():
            yield name
        else:
            yield f"{piece.name}, {name}"


def _code(bench: str, stage: int, what: str, title: str) -> str:
    return f"{bench.rstrip('/')}/machine#{stage}" if bench else f"{title}, {what}, stage {stage}"


def margin_of(sheet: LabelSheet) -> float:
    """Return the margin of a label: less on a small one."""
    return min(MARGIN_MM, sheet.width_mm / 15.0, sheet.height_mm / 9.0)


def label_svg(label: Label, sheet: LabelSheet = COMMON_LABELS) -> str:
    """Return a label as SVG at its true size, black on white."""
    import segno  # noqa: PLC0415  (only where labels are wanted)

    matrix = segno.make(label.code, error="m", micro=False).matrix
    wide, high = sheet.width_mm, sheet.height_mm
    margin_mm = margin_of(sheet)
    side_mm = min(high - 2.0 * margin_mm, CODE_SHARE * wide)
    top_mm = (high - side_mm) / 2.0
    cell_mm = side_mm / (len(matrix) + 2 * QUIET)
    left_mm = wide - margin_mm - side_mm
    squares = "".join(
        f"M{left_mm + (column + QUIET) * cell_mm:.3f} {top_mm + (row + QUIET) * cell_mm:.3f}"
        f"h{cell_mm:.3f}v{cell_mm:.3f}h-{cell_mm:.3f}z"
        for row, cells in enumerate(matrix)
        for column, dark in enumerate(cells)
        if dark
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}mm" '
        f'height="{high:g}mm" viewBox="0 0 {wide:g} {high:g}">'
        f'<rect width="{wide:g}" height="{high:g}" fill="#ffffff"/>'
        f"{_text(label.lines, left_mm - 2.0 * margin_mm, high, margin_mm)}"
        f'<path d="{squares}" fill="#000000"/></svg>\n'
    )


def _sizes(high_mm: float) -> tuple[float, ...]:
    """Return how large the lines are that fit a height, as many as can be read."""
    for count in range(len(SIZES_MM), 0, -1):
        sizes = SIZES_MM[:count]
        times = min(1.5, high_mm / (LINE * sum(sizes)))
        if times * sizes[-1] >= LEAST_MM:
            break
    return tuple(times * size for size in sizes)


def _text(lines: tuple[str, ...], room_mm: float, high_mm: float, margin_mm: float) -> str:
    sizes = _sizes(high_mm - 2.0 * margin_mm)
    longest = min(LONGEST, max(SHORTEST, int(room_mm / 0.56 / LEAST_MM)))
    y_mm = margin_mm
    told = ""
    for line, size_mm in zip(lines, sizes, strict=False):
        y_mm += size_mm * 1.35
        words = line if len(line) <= longest else line[: longest - 1].rstrip(" ,") + "\u2026"
        fitted_mm = min(size_mm, room_mm / max(1, len(words)) / 0.56)
        told += (
            f'<text x="{margin_mm:g}" y="{y_mm:.2f}" font-size="{fitted_mm:.2f}" '
            f'font-family="Lato, sans-serif" fill="#000000">{html.escape(words)}</text>'
        )
    return told
