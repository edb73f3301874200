"""A PDF read as it is drawn: every piece of text with its size on paper and its colour."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
Colour = tuple[float, float, float]
BLACK: Colour = (0.0, 0.0, 0.0)


def times(inner: Matrix, outer: Matrix) -> Matrix:
    """Return the product of two PDF matrices (ISO 32000-1, 8.3.3)."""
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (
        a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j,
        e * g + f * i + k, e * h + f * j + m,
    )  # fmt: skip


def matrix_of(numbers: list[float]) -> Matrix:
    a, b, c, d, e, f = numbers
    return a, b, c, d, e, f


@dataclass(frozen=True)
class Said:
    """A run of text: its words, its size in points on paper, its colour in sRGB."""

    text: str
    size_pt: float
    colour: Colour


@dataclass
class State:
    """What text is drawn with."""

    matrix: Matrix
    colour: Colour
    size: float = 0.0
    text_matrix: Matrix = IDENTITY
    glyphs: dict[int, str] = field(default_factory=dict)

    def paint(self, operator: bytes, numbers: list[float]) -> None:
        """Take a change of place or colour."""
        if operator == b"cm":
            self.matrix = times(matrix_of(numbers), self.matrix)
        elif operator in (b"scn", b"sc", b"rg") and len(numbers) == 3:
            self.colour = (numbers[0], numbers[1], numbers[2])
        elif operator in (b"scn", b"sc", b"g") and len(numbers) == 1:
            self.colour = (numbers[0],) * 3
        elif operator == b"BT":
            self.text_matrix = IDENTITY
        elif operator == b"Tm":
            self.text_matrix = matrix_of(numbers)

    def said(self, shown: Any) -> Said:
        """Return what is said now."""
        scale = times(self.text_matrix, self.matrix)
        high = self.size * (scale[2] ** 2 + scale[3] ** 2) ** 0.5
        text = "".join(spelt(each, self.glyphs) for each in strings(shown))
        return Said(text, high, self.colour)


class Page:
    """Walks a page's drawing in the order of painting, forms included (ISO 32000-1, 9.4.4)."""

    def __init__(self, reader: PdfReader, number: int) -> None:
        self.reader = reader
        self.said: list[Said] = []
        page = reader.pages[number]
        self.walk(page.get_contents(), page["/Resources"], State(IDENTITY, BLACK))

    def walk(self, content: Any, resources: Any, state: State) -> None:
        kept: list[State] = []
        for operands, operator in ContentStream(content, self.reader).operations:
            if operator == b"q":
                kept.append(replace(state))
            elif operator == b"Q":
                state = kept.pop()
            elif operator == b"Tf":
                font = resources["/Font"][operands[0]]
                state.size, state.glyphs = float(operands[1]), unicode_of(font)
            elif operator in (b"Tj", b"TJ"):
                said = state.said(operands[0])
                self.said += [said] if said.text.strip() else []
            elif operator == b"Do":
                self.enter(resources["/XObject"][operands[0]].get_object(), resources, state)
            else:
                numbers = [float(each) for each in operands if isinstance(each, int | float)]
                state.paint(operator, numbers)

    def enter(self, form: Any, resources: Any, state: State) -> None:
        if form.get("/Subtype") == "/Form":
            own = matrix_of([float(each) for each in form.get("/Matrix", IDENTITY)])
            inner = replace(state, matrix=times(own, state.matrix))
            self.walk(form, form.get("/Resources", resources), inner)


def strings(shown: Any) -> list[bytes]:
    parts = shown if isinstance(shown, list) else [shown]
    return [each.original_bytes for each in parts if hasattr(each, "original_bytes")]


def unicode_of(font: Any) -> dict[int, str]:
    """Return what each glyph of a font stands for (ISO 32000-1, 9.10.3)."""
    table: dict[int, str] = {}
    source = font.get_object().get("/ToUnicode")
    if source is None:
        return table
    mode = ""
    for line in source.get_object().get_data().decode("latin-1").splitlines():
        if line.endswith(("beginbfchar", "beginbfrange")):
            mode = line.rsplit(" ", 1)[-1]
        elif line.startswith("end"):
            mode = ""
        elif mode:
            codes = [
                each for each in line.replace("<", " ").replace(">", " ").split() if each != "["
            ]
            first = int(codes[0], 16)
            last = int(codes[1], 16) if mode == "beginbfrange" else first
            told = bytes.fromhex(codes[-1]).decode("utf-16-be")
            for at, code in enumerate(range(first, last + 1)):
                table[code] = told[:-1] + chr(ord(told[-1]) + at)
    return table


def spelt(data: bytes, table: dict[int, str]) -> str:
    codes = [int.from_bytes(data[at : at + 2], "big") for at in range(0, len(data), 2)]
    return "".join(table.get(code, "") for code in codes)


def contrast(one: Colour, other: Colour) -> float:
    """Return the contrast of two colours (WCAG 2.1, relative luminance and contrast ratio)."""

    def light(colour: Colour) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)
