"""What is drawn while something is placed: the hidden border, dowels, clamps and stops."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from flushwork.usecases.making import place
from tests.many import examples
from tests.small_jobs import changed

SIDES = st.sampled_from(["front", "back", "both"])


@given(
    border=st.integers(0, 6), wide=st.integers(8, 20), side=SIDES, bored=st.booleans(),
    flipped=st.sampled_from(["top to bottom", "side to side"]),
)  # fmt: skip
@settings(max_examples=examples(8), deadline=None)
def test_dowels_clamps_and_the_hidden_border_are_told_while_placing(
    tmp_path_factory: pytest.TempPathFactory,
    border: int,
    wide: int,
    side: str,
    flipped: str,
    *,
    bored: bool,
) -> None:
    size = f"length: 120 mm, width: 100 mm, thickness: 16 mm, flipped: {flipped}"
    text = changed("length: 90 mm, width: 70 mm, thickness: 16 mm", size)
    text = changed("round: 4 mm}", f"round: 4 mm, hidden border: {border} mm}}", text)
    text += "back:\n  inlays:\n    - {name: moon, circle: 12 mm, depth: 2 mm, fill: dark}\n"
    text += (
        f"keep clear of: [{{name: clamp, size: [{wide} mm, 10 mm], at: [0 mm, 30 mm], "
        f"height: 20 mm, face: {side}}}]\n"
    )
    if bored:
        text += "locating: {diameter: 5 mm, into blank: through}\n"
    job_file = tmp_path_factory.mktemp("stands") / "job.yaml"
    job_file.write_text(text, "utf-8")
    for face, thing in (("front", "inlay/front/plate"), ("back", "inlay/back/moon")):
        lies = place.lies(job_file, text, thing)
        # 76 x 56 mm in the middle of the blank, less the border
        assert lies.seen.bounds == pytest.approx(
            (22 + border, 22 + border, 98 - border, 78 - border)
        )
        clamp = box(-wide / 2.0, 25.0, wide / 2.0, 35.0)
        assert lies.stands.covers(clamp.buffer(-0.01)) is (side in (face, "both"))
        axis = Point(60.0, 12.0) if flipped == "side to side" else Point(12.0, 50.0)
        near = [part for part in lies.stands.geoms if part.distance(axis) < 7.0]
        dowels = [part for part in near if abs(part.area - 19.6) < 0.5]
        assert len(dowels) == int(bored)
        # the stops of the usual holding stand beside the corner at zero
        assert lies.stands.covers(Point(20.0, -3.0))
