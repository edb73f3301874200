"""A finish over dye in bare wood is told by what carries the one and moves the other."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.checks.rules.work.mix_rules import finish_over_dye
from flushwork.pipeline import build
from tests.many import examples
from tests.small_jobs import PLAIN

CARRIERS = ("water", "spirit", "oil")


@settings(max_examples=examples(6), deadline=None)
@given(
    st.sampled_from([None, *CARRIERS]),
    st.sampled_from([None, *((each,) for each in CARRIERS), ("oil", "water")]),
    st.booleans(),
    st.booleans(),
    st.sampled_from(["none", "shellac"]),
)
@example(None, None, False, True, "none")
@example("spirit", None, False, True, "none")
@example("water", None, False, False, "none")
def test_what_moves_a_dye_is_told(
    carrier: str | None, moves: tuple[str, ...] | None, burns: bool, bleeds: bool, sealer: str
) -> None:
    said = "" if carrier is None else f", carried by: {carrier}"
    runs = "" if moves is None else f", runs in: [{', '.join(moves)}]"
    shop = (
        "flushwork shop: 2\nname: one\n"
        f"finishes: [{{name: top coat, film: 0.02 mm, recoat after: 4 h, "
        f"flammable: {'yes' if burns else 'no'}{said}}}]\n"
        f"pigments: [{{name: night, like: blue dye, bleeds: {'yes' if bleeds else 'no'}{runs}}}, "
        "black powder]\n"
    )
    text = PLAIN.replace("black powder, share: 3 %", "night, share: 1 %") + f"sealer: {sealer}\n"
    text = text.replace("title:", "shop: shop.yaml\ntitle:") + "finish: top coat\n"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(text, "utf-8")
        path.with_name("shop.yaml").write_text(shop, "utf-8")
        made = build(path, check=False)
    by = carrier or ("oil" if burns else "water")
    moved = bleeds and by in (moves or ("water", "spirit")) and sealer == "none"
    told = list(finish_over_dye(made))
    assert bool(told) == moved
    for item in told:
        assert f"{by} moves dye" in item.message
        # what spirit thins is no barrier against spirit
        assert ("Lay a barrier" in item.remedy or "lay a barrier" in item.remedy) == (
            by != "spirit"
        )


@pytest.mark.parametrize(
    ("name", "carrier"),
    [("water-based varnish", "water"), ("wiping varnish", "oil"), ("hard-wax oil", "oil")],
)
def test_what_carries_the_packaged_finishes(name: str, carrier: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(PLAIN + f"finish: {name}\n", "utf-8")
        finish = build(path, check=False).job.finish
    assert finish is not None
    assert finish.finish.carried_by == carrier
