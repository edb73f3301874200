"""Published instances of cutting stock, with their optima.

Lengths: the example of widths 45, 36, 31 and 14 out of 100 (P. C. Gilmore and R. E. Gomory's, as
handed down: optimum 453; the length of the stock is from memory), and the paper machine of 5600 mm
(13 widths from memory; optimum 73, 0.401 % waste).  Panels: CGCUT1 (N. Christofides and C.
Whitlock, Operations Research 25 (1977), 30-44), BENG1 (B.-E. Bengtsson, The Computer Journal 25
(1982), 353-357) and GCUT1 (J. E. Beasley, J. Oper. Res. Soc. 36 (1985), 297-306), read in a
public collection; the last one's optimum of five sheets (S. Martello and D. Vigo, Management
Science 44 (1998), 388-399) is from memory.
"""

from __future__ import annotations

import pytest

from flushwork.cutlist.lay_out import lay_out
from flushwork.cutlist.parts import Plank, SawPart

Sizes = tuple[tuple[int, int, int], ...]
WIDTHS: dict[str, tuple[int, tuple[tuple[int, int], ...], int]] = {
    "Gilmore and Gomory's": (100, ((45, 97), (36, 610), (31, 395), (14, 211)), 453),
    "the paper machine": (
        5600,
        (
            *((1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20)),
            *((2000, 10), (2050, 12), (2100, 14), (2140, 16), (2150, 18), (2200, 20)),
        ),
        73,
    ),
}
CGCUT1: Sizes = ((8, 4, 2), (3, 7, 1), (8, 2, 3), (3, 4, 5), (3, 3, 2), (3, 2, 2), (2, 1, 1))
BENG1: Sizes = (
    *((8, 6, 2), (11, 4, 1), (10, 3, 1), (4, 7, 1), (12, 6, 1), (11, 6, 1), (12, 8, 1), (3, 6, 1)),
    *((4, 3, 1), (3, 8, 1), (9, 1, 2), (1, 3, 1), (11, 3, 1), (11, 1, 1), (9, 8, 1), (11, 5, 1)),
    *((1, 7, 1), (7, 8, 1)),
)
GCUT1: Sizes = (
    *((167, 184, 1), (114, 118, 1), (167, 152, 1), (83, 140, 1), (70, 86, 1), (143, 166, 1)),
    *((120, 160, 1), (66, 148, 1), (87, 141, 1), (69, 165, 1)),
)


@pytest.mark.parametrize("name", WIDTHS)
@pytest.mark.parametrize("kerf", [0.0, 3.0])
def test_lengths_come_to_their_published_optimum(name: str, kerf: float) -> None:
    stock, demand, optimum = WIDTHS[name]
    # a kerf is the same as parts and stock longer by it, so that the optimum stays
    parts = tuple(SawPart(str(width), width - kerf, 20.0, count) for width, count in demand)
    found = lay_out(parts, (Plank("roll", stock - kerf, 20.0, 2 * optimum),), kerf)
    assert len(found.sawn) == optimum
    assert found.best
    assert not found.left_out


def test_the_paper_machines_waste_is_as_published() -> None:
    stock, demand, _ = WIDTHS["the paper machine"]
    parts = tuple(SawPart(str(width), width, 20.0, count) for width, count in demand)
    assert lay_out(parts, (Plank("roll", stock, 20.0, 90),), 0.0).waste == pytest.approx(
        0.004012, abs=1e-6
    )


@pytest.mark.parametrize(
    ("sheet", "sizes", "sheets", "proven"),
    [((15, 10), CGCUT1, 2, True), ((25, 10), BENG1, 4, True), ((250, 250), GCUT1, 5, False)],
    ids=["CGCUT1", "BENG1", "GCUT1"],
)
def test_panels_come_to_their_optimum_or_tell_the_gap(
    sheet: tuple[int, int], sizes: Sizes, sheets: int, proven: bool
) -> None:
    parts = tuple(SawPart(str(at), *size) for at, size in enumerate(sizes))
    found = lay_out(parts, (Plank("sheet", *sheet, 30),), 0.0)
    assert len(found.sawn) == sheets
    assert found.best == proven
    assert found.gap == pytest.approx(0.0 if proven else 0.2)
