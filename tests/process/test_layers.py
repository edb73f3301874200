from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.process.stages import StageKind
from flushwork.resin.cup.batches import stays_g
from flushwork.resin.pours import levels_mm
from flushwork.resin.recess import keeps_share
from tests.small_jobs import PLAIN, changed, found, made
from tests.strata.hand_made import inlay_volume_mm3

DEEP = changed(
    "depth: 2 mm, fill: dark", "depth: 9 mm, fill: dark", changed("16 mm}", "24 mm}", PLAIN)
)
LAYERED = changed("fill: dark", "fill: dark, in layers: yes", DEEP)


def test_levels_share_a_depth_evenly_and_stay_within_the_layer() -> None:
    assert levels_mm(5.0, 6.0, 0.97) == (5.0,)
    low, high = levels_mm(9.0, 6.0, 0.97)
    assert high == pytest.approx(9.0)
    assert high - 0.97 * low == pytest.approx(low)
    assert low < 6.0
    # just over a layer's worth of cured resin takes a third
    assert len(levels_mm(6.0 * 1.97 + 0.01, 6.0, 0.97)) == 3


def test_a_deep_pour_is_a_stop_and_layers_are_the_way(tmp_path: Path) -> None:
    (told,) = found(made(tmp_path, DEEP), "pour-too-deep")
    assert "in layers: yes" in told.remedy


def test_layers_are_poured_within_the_limit_each_from_its_own_batch(tmp_path: Path) -> None:
    result = made(tmp_path, LAYERED)
    assert not found(result, "pour-too-deep")
    fills = [stage for stage in result.plan.stages if stage.kind is StageKind.FILL]
    limit_mm = result.job.mixes[0].resin.layer_mm
    assert [stage.layer for stage in fills] == list(range(1, len(fills) + 1))
    assert len(fills) >= 2
    assert fills[1].title.endswith(f"layer 2 of {len(fills)}")
    between = result.plan.stage(fills[0].number + 1)
    assert between.kind is StageKind.CURE
    assert between.lag_s > 0.0
    poured = [each for each in result.replay.poured if each.subject == "plate"]
    assert all(each.greatest_mm <= limit_mm + 1e-3 for each in poured)
    volumes = [each.pocket_mm3 + each.over_mm3 for each in poured]
    assert volumes[0] == pytest.approx(volumes[1], rel=0.1)
    assert {pour.stage for pour in result.pours} == {stage.number for stage in fills}


def test_shallow_fills_stay_in_one_pour(tmp_path: Path) -> None:
    result = made(tmp_path, changed("fill: dark", "fill: dark, in layers: yes"))
    assert sum(stage.kind is StageKind.FILL for stage in result.plan.stages) == 1


@pytest.mark.parametrize("text", [PLAIN, LAYERED], ids=["one", "layers"])
def test_each_pour_is_the_strata_integral_and_its_allowances(tmp_path: Path, text: str) -> None:
    result = made(tmp_path, "pieces: 5\n".join(["", text]))
    assert result.job.pieces == 5
    spec = result.replay.spec
    for stage in result.plan.stages:
        if stage.kind is not StageKind.FILL:
            continue
        mix = next(each for each in result.job.mixes if each.name == stage.mix)
        before, after = (
            inlay_volume_mm3(result.replay.after(number).face(stage.face), spec, mix.name)
            for number in (stage.number - 1, stage.number)
        )
        liquid_cm3 = (after - before) / keeps_share(mix, 1.0) / 1000.0
        pours = [pour for pour in result.pours if pour.stage == stage.number]
        assert sum(pour.needed_cm3 for pour in pours) == pytest.approx(5 * liquid_cm3, rel=1e-3)
        for pour in pours:
            density = pour.batch_g / pour.batch_cm3
            asked_g = (pour.needed_cm3 + pour.allowance_cm3) * density
            assert pour.batch_g == pytest.approx(asked_g + pour.surplus_g, rel=0.02)
            walls_mm2 = sum(each.walls_mm2 for each in pour.serves)
            cup_cm3 = stays_g(pour.cups, result.job.shop.cup_loss_g) / density
            stated = cup_cm3 + pour.pieces * walls_mm2 * 0.02 / 1000.0
            assert pour.allowance_cm3 == pytest.approx(stated, rel=0.05)
