"""How much wood must be left between the faces and under a floor: told by closed form."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.rules.board.thickness_rules import floor_through_blank, wood_between_faces
from flushwork.core.findings import Severity
from tests.checks.hearing import undated, written
from tests.many import examples

OFF_MM = 2 * (0.5 + 0.2)
"""Surfacing and sanding take this off a blank with one round on both faces."""
STRAYS_MM = 0.3
"""Thickness and two depths, 0.1 mm each; one depth less for a floor by itself."""


def board(thick: float, wood_between: float, front: float, back: float) -> str:
    return (
        "flushwork: 2\ncell: 0.5 mm\ntitle: Two faces\n"
        f"blank: {{wood: sugar maple, length: 100 mm, width: 80 mm, thickness: {thick:.3f} mm}}\n"
        f"allowances: "
        f"{{least wood between faces: {wood_between:.3f} mm, surface: 0.5 mm, sand: 0.2 mm}}\n"
        "mixes: {dark: {resin: coating epoxy, pigments: [black powder]}}\n"
        "front: {inlays: [{name: sun, circle: 30 mm, fill: dark, "
        f"depth: {front:.3f} mm}}]}}\n"
        + (
            f"back: {{inlays: [{{name: moon, circle: 26 mm, fill: dark, depth: {back:.3f} mm}}]}}\n"
            if back
            else ""
        )
    )


def heard(text: str) -> Build:
    with tempfile.TemporaryDirectory() as folder:
        return undated(written(Path(folder), text))


@settings(max_examples=examples(8), deadline=None)
@given(
    left=st.floats(-1.0, 4.0),
    wood_between=st.floats(0.5, 4.0),
    front=st.floats(2.0, 5.0),
    back=st.floats(2.0, 5.0),
)
@example(left=0.02, wood_between=3.0, front=3.0, back=3.0)
@example(left=1.5, wood_between=3.0, front=3.0, back=3.0)
def test_wood_between_the_faces_that_may_be_gone_must_be_mended(
    left: float, wood_between: float, front: float, back: float
) -> None:
    thick = round(left + front + back + OFF_MM, 3)
    left = thick - OFF_MM - round(front, 3) - round(back, 3)
    if any(
        abs(left - edge) < 0.01
        for edge in (0.0, STRAYS_MM, 0.25 * wood_between + STRAYS_MM, wood_between)
    ):
        return
    found = list(wood_between_faces(heard(board(thick, wood_between, front, back))))
    worst = left - STRAYS_MM
    if left > max(wood_between, 0.2 * (thick - OFF_MM)) + 0.01:
        assert found == []
    elif left < max(wood_between, 0.2 * (thick - OFF_MM)) - 0.01:
        (one,) = found
        must = left <= 0.0 or worst <= 0.0 or worst < 0.25 * wood_between
        assert one.severity is (Severity.MUST_FIX if must else Severity.WARNING)


@settings(max_examples=examples(8), deadline=None)
@given(left=st.floats(-1.0, 2.0), front=st.floats(4.0, 8.0))
@example(left=0.02, front=5.0)
def test_a_floor_that_may_be_through_must_be_mended(left: float, front: float) -> None:
    thick = round(left + front + OFF_MM, 3)
    left = thick - OFF_MM - round(front, 3)
    worst = left - 0.2
    if any(abs(left - edge) < 0.01 for edge in (0.0, 0.2, 0.45, 1.0)):
        return
    found = list(floor_through_blank(heard(board(thick, 3.0, front, 0.0))))
    if left > 1.0:
        assert found == []
    else:
        (one,) = found
        must = worst <= 0.0 or worst < 0.25
        assert one.severity is (Severity.MUST_FIX if must else Severity.WARNING)
