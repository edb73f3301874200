"""Labels for pieces and cups: words to read, and a small code to scan (ISO/IEC 18004)."""

from __future__ import annotations

import html
from dataclasses import dataclass

from flushwork.process.stages import Plan
from flushwork.resin.pours import Pour
from flushwork.schedule.plan import Schedule

WIDTH_MM, HEIGHT_MM = 62.0, 29.0
"""A common width of label tape (common practice, no source); cut paper serves as well."""
MARGIN_MM = 2.0
QUIET = 4
"""Empty cells around a code (ISO/IEC 18004:2015, 6.3.8)."""
LONGEST = 34
"""More letters than this do not fit a line of the label."""


@dataclass(frozen=True, slots=True)
class Label:
    """One label: its file's name, its lines of text (the first large), what its code says."""

    name: str
    lines: tuple[str, ...]
    code: str


def labels_of(
    title: str, plan: Plan, schedule: Schedule, pours: tuple[Pour, ...], bench: str = ""
) -> tuple[Label, ...]:
    """Return a label for each piece and one for each cup.

    ``bench`` is the address of the bench: the code of a label then opens its stage there.  Without
    one the code holds the same words as the label.
    """
    first = plan.stages[0].number if plan.stages else 1
    labels = [
        Label(
            name=piece.name,
            lines=(piece.name, title, "test piece" if piece.test else "front up: this side"),
            code=_code(bench, first, piece.name, title),
        )
        for piece in schedule.pieces
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
    return tuple(labels)


def _code(bench: str, stage: int, what: str, title: str) -> str:
    return f"{bench.rstrip('/')}/machine#{stage}" if bench else f"{title}, {what}, stage {stage}"


def label_svg(label: Label) -> str:
    """Return a label as SVG at its true size, black on white."""
    import segno  # noqa: PLC0415  (only where labels are wanted)

    matrix = segno.make(label.code, error="m", micro=False).matrix
    side_mm = HEIGHT_MM - 2.0 * MARGIN_MM
    cell_mm = side_mm / (len(matrix) + 2 * QUIET)
    left_mm = WIDTH_MM - MARGIN_MM - side_mm
    squares = "".join(
        f"M{left_mm + (column + QUIET) * cell_mm:.3f} {MARGIN_MM + (row + QUIET) * cell_mm:.3f}"
        f"h{cell_mm:.3f}v{cell_mm:.3f}h-{cell_mm:.3f}z"
        for row, cells in enumerate(matrix)
        for column, dark in enumerate(cells)
        if dark
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM:g}mm" '
        f'height="{HEIGHT_MM:g}mm" viewBox="0 0 {WIDTH_MM:g} {HEIGHT_MM:g}">'
        f'<rect width="{WIDTH_MM:g}" height="{HEIGHT_MM:g}" fill="#ffffff"/>'
        f"{_text(label.lines, left_mm - 2.0 * MARGIN_MM)}"
        f'<path d="{squares}" fill="#000000"/></svg>\n'
    )


def _text(lines: tuple[str, ...], room_mm: float) -> str:
    sizes = (5.2, 2.6, 2.6, 2.6)
    y_mm = MARGIN_MM
    told = ""
    for line, size_mm in zip(lines, sizes, strict=False):
        y_mm += size_mm * 1.35
        words = line if len(line) <= LONGEST else line[: LONGEST - 1].rstrip(" ,") + "\u2026"
        fitted_mm = min(size_mm, room_mm / max(1, len(words)) / 0.56)
        told += (
            f'<text x="{MARGIN_MM:g}" y="{y_mm:.2f}" font-size="{fitted_mm:.2f}" '
            f'font-family="sans-serif" fill="#000000">{html.escape(words)}</text>'
        )
    return told
