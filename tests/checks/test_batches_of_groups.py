"""A run poured in groups: what is told of one stage's batches holds those of every group."""

from __future__ import annotations

import re
from types import SimpleNamespace

from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.checks.rules.work.clock_rules import pot_life_over
from flushwork.resin.cup.batches import plan_pours
from flushwork.resin.pours import PourRequest, Served
from tests.many import examples
from tests.resin.shelf_samples import TENTH_SCALE, make_mix, make_shop


@given(groups=st.lists(st.integers(2, 8), min_size=1, max_size=4), minutes=st.integers(5, 9))
@example(groups=[6, 6], minutes=7)
@settings(max_examples=examples(20), deadline=None)
def test_every_batch_of_a_stage_is_told_whatever_lies_between(
    groups: list[int], minutes: int
) -> None:
    line, other = make_mix("line"), make_mix("other")
    requests, first = [], 0
    for place, pieces in enumerate(groups):
        for stage, mix, fill_s in ((3, line, 60.0 * minutes), (4, other, 10.0)):
            served = (Served("field", "front", 2.0, 0.0),)
            requests.append(
                PourRequest(stage, mix, pieces, served, 10 * place + stage, fill_s, first)
            )
        first += pieces
    pours = plan_pours(requests, make_shop(TENTH_SCALE))
    own = [pour for pour in pours if pour.stage == 3]
    told = [f for f in pot_life_over(SimpleNamespace(pours=pours)) if f.subject == "line"]  # type: ignore[arg-type]
    for finding in told:
        if finding.code == "pot-life-splits-run":
            (sums,) = re.findall(r"for ([\d +]+) pieces", finding.message)
            assert [int(each) for each in sums.split(" + ")] == [pour.pieces for pour in own]
            assert f"{len(own)} batches" in finding.message
