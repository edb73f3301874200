"""Thinner and settling against closed forms, on the very path a job's findings take.

J. Crank, The Mathematics of Diffusion (2nd ed., 1975), section 4.3, against the diffusion equation
stepped through; Oberbeck's disc (1876) and Stokes' sphere (1851) against the equation of motion
integrated while the resin thickens; Kubelka and Munk for what settled pigment hides.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from flushwork.colour.kubelka_munk import ThinLayer, from_hiding, over
from flushwork.colour.spaces import parse_hex
from flushwork.core.findings import Severity
from flushwork.job.records import Mix, MixPigment
from flushwork.resin.before_gel import (
    FLAKE_THICK_MM,
    clear_top_mm,
    fluid_time_to_gel_s,
    pot_life_s,
    sinking_mm,
    viscosity_at_pa_s,
)
from flushwork.resin.bleed import bleed_mm
from flushwork.resin.composition import mix_density_g_cm3
from flushwork.resin.recess import keeps_share, mean_recess_mm
from flushwork.resin.thinned import (
    DIFFUSES_MM2_S,
    HALVES_PER_SHARE,
    dried_share,
    slowest_of_each,
    stays_share,
    working_resin,
)
from flushwork.shelf import tables
from flushwork.shelf.items import PigmentKind
from flushwork.usecases.jobs import starter_job_text, starter_shop_text
from tests.checks.hearing import heard
from tests.many import examples
from tests.resin.shelf_samples import make_mix

resins = st.sampled_from(tables.starter_shop().resins)
pigments = st.sampled_from(tables.starter_shop().pigments)
shares = st.floats(0.0, 0.45)


def mixed(resin: object, share: float, pigment: object, weight: float = 0.03) -> Mix:
    return make_mix(resin=resin, thinner_share=share, pigments=(MixPigment(pigment, weight),))  # type: ignore[arg-type]


def stepped_share(passed: float) -> float:
    """Return what has left a sheet of unit depth and diffusivity, stepped through."""
    cells = 80
    rate = np.full(cells - 1, float(cells**2))

    def flow(_: float, held: NDArray[np.float64]) -> NDArray[np.float64]:
        change = np.zeros(cells)
        between = rate * np.diff(held)
        change[:-1] += between
        change[1:] -= between
        change[-1] -= 2.0 * cells**2 * held[-1]  # the open face holds none
        return change

    end = solve_ivp(flow, (0.0, passed), np.ones(cells), method="LSODA", rtol=1e-6, atol=1e-9)
    return 1.0 - float(end.y[:, -1].mean())


@pytest.mark.parametrize("passed", [0.01, 0.05, 0.099, 0.101, 0.2, 0.5, 1.0, 2.0])
def test_thinner_leaves_as_it_diffuses(passed: float) -> None:
    depth = 1.7
    time_s = passed * depth**2 / DIFFUSES_MM2_S
    assert dried_share(depth, time_s) == pytest.approx(stepped_share(passed), abs=0.003)
    assert dried_share(0.0, time_s) == 1.0


def test_thinner_stays_in_deep_fills() -> None:
    """By hand: 24 h slowed by 1/0.8^2 is 37.5 h, D t = 1.35 mm2; 6 mm lets 2 sqrt(1.35/pi)/6 go."""
    mix = mixed(tables.starter_shop().resins[0], 0.2, tables.starter_shop().pigments[0])
    assert mix.resin.sandable_s == 86400.0
    assert stays_share(mix, 6.0) == pytest.approx(
        0.2 * (1.0 - 2.0 * math.sqrt(1.35 / math.pi) / 6.0)
    )
    assert stays_share(mix, 0.4) < 1e-4
    kept = 0.8 * 0.97 + stays_share(mix, 6.0)
    assert keeps_share(mix, 6.0) == pytest.approx(kept)


@given(resins, shares, shares, pigments, st.floats(0.2, 12.0), st.floats(0.2, 12.0))
@settings(max_examples=examples(60), deadline=None)
def test_thinner_only_ever_goes_one_way(
    resin: object, one: float, other: float, pigment: object, depth: float, deeper: float
) -> None:
    less, more = (mixed(resin, share, pigment) for share in sorted((one, other)))
    neat, thin = working_resin(less), working_resin(more)
    assert thin.viscosity_pa_s <= neat.viscosity_pa_s
    for clock in ("pot_life_s", "recoat_from_s", "sandable_s", "cure_s"):
        assert getattr(thin, clock) >= getattr(neat, clock)
    assert thin.recoat_until_s >= thin.recoat_from_s
    assert slowest_of_each([less, more]) == (thin,) or thin.sandable_s == neat.sandable_s
    assert (
        sinking_mm(more, 20.0) >= sinking_mm(less, 20.0) * 0.9
    )  # thinner makes the liquid lighter
    depths = sorted((depth, deeper))
    assert stays_share(more, depths[0]) <= stays_share(more, depths[1]) + 1e-12
    assert stays_share(more, depths[1]) <= more.thinner_share
    kept = [keeps_share(more, each) for each in depths]
    # a deeper slot sinks further, but keeps more of what it held
    assert kept[0] <= kept[1] + 1e-12
    sunk = [mean_recess_mm(1.0, each, keep) for each, keep in zip(depths, kept, strict=True)]
    assert sunk[0] <= sunk[1] + 1e-9


def test_so_much_thinner_halves_the_viscosity() -> None:
    mix = mixed(
        tables.starter_shop().resins[0], HALVES_PER_SHARE, tables.starter_shop().pigments[0]
    )
    assert working_resin(mix).viscosity_pa_s == pytest.approx(
        tables.starter_shop().resins[0].viscosity_pa_s / 2.0
    )
    assert (
        working_resin(
            mixed(tables.starter_shop().resins[0], 0.0, tables.starter_shop().pigments[0])
        )
        == tables.starter_shop().resins[0]
    )


@given(resins, st.floats(0.0, 0.3), pigments, st.floats(12.0, 32.0))
@settings(max_examples=examples(25), deadline=None)
def test_pigment_sinks_as_the_equation_of_motion_says(
    resin: object, share: float, pigment: object, at_c: float
) -> None:
    mix = mixed(resin, share, pigment)
    working = working_resin(mix)
    life_s = pot_life_s(working, at_c, working.pot_mass_g)
    weight = 9.80665 * 1000.0 * (mix.pigments[0].pigment.density_g_cm3 - mix_density_g_cm3(mix))
    wide = mix.pigments[0].pigment.flake_mm / 1000.0

    def speed(time_s: float, _: object) -> list[float]:
        thick = viscosity_at_pa_s(working.viscosity_pa_s, at_c, working.at_c) * 2.0 ** (
            time_s / life_s
        )
        if mix.pigments[0].pigment.kind is PigmentKind.DYE:
            return [0.0]
        if mix.pigments[0].pigment.kind is PigmentKind.FLAKE:
            volume, drag = math.pi / 4.0 * wide**2 * FLAKE_THICK_MM / 1000.0, 8.0 * thick * wide
        else:
            volume, drag = math.pi / 6.0 * wide**3, 3.0 * math.pi * thick * wide
        return [1000.0 * max(0.0, weight) * volume / drag]

    end = solve_ivp(speed, (0.0, 3.0 * life_s), [0.0], rtol=1e-8, atol=1e-12)
    assert sinking_mm(mix, at_c) == pytest.approx(float(end.y[0, -1]), rel=1e-4, abs=1e-9)


@given(st.tuples(*[st.floats(0.02, 0.98)] * 3), st.floats(0.1, 3.0), st.floats(0.05, 0.95))
@settings(max_examples=examples(30), deadline=None)
def test_sunk_pigment_hides_what_it_hid_before(
    rgb: tuple[float, float, float], depth: float, packed: float
) -> None:
    """S X and K X of a layer are the same however thin its pigment is packed under clear."""
    even = from_hiding(rgb, 0.6)
    dense = ThinLayer(rgb, tuple(each / packed for each in even.scatter_per_mm), 0.6 * packed)  # type: ignore[arg-type]
    ground = parse_hex("#b4794c")
    assert over(dense, depth * packed, ground) == pytest.approx(over(even, depth, ground), abs=1e-9)


def test_levelling_takes_the_clear_top_first() -> None:
    assert clear_top_mm(0.5, 2.0, 0.3) == pytest.approx(0.2)
    assert clear_top_mm(0.2, 2.0, 0.3) == 0.0
    assert clear_top_mm(9.0, 2.0, 0.5) == pytest.approx(1.5)


def test_the_starter_job_is_one_without_a_note(tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text(starter_shop_text(), "utf-8")
    told = heard(tmp_path, starter_job_text("First"))
    assert [(each.code, each.severity) for each in told] == []


@pytest.mark.parametrize("share", [0.05, 0.2])
def test_a_thinned_fill_waits_longer_and_bleeds_farther(tmp_path: Path, share: float) -> None:
    """As the job is written: the note tells the time and what stays, the halo goes by square root.

    L = k sqrt(t / mu): mu falls to 2^(-share / 0.04), t grows by 1 / (1 - share)^2.
    """
    job = (
        "flushwork: 2\ncell: 0.25 mm\ntitle: Dyed\n"
        "blank: {wood: red oak, length: 90 mm, width: 70 mm, thickness: 16 mm}\n"
        "mixes:\n  ink: {resin: coating epoxy, pigments: [{name: blue dye, share: 1 %}]THINNER}\n"
        "front: {inlays: [{name: plate, rectangle: 24 mm x 16 mm, depth: 4 mm, fill: ink}]}\n"
        "sealer: shellac\n"
    )
    thinner = f", thinner: {{name: ethanol, share: {100 * share:g} %}}"
    neat = heard(tmp_path / "neat", job.replace("THINNER", ""))
    thin = heard(tmp_path / "thin", job.replace("THINNER", thinner))

    def halo(findings: object) -> float:
        message = next(each.message for each in findings if each.code == "bleed-risk")  # type: ignore[attr-defined]
        return float(message.split("up to ")[1].split(" mm")[0])

    grows = math.sqrt(2.0 ** (share / HALVES_PER_SHARE) / (1.0 - share) ** 2)
    assert halo(thin) / halo(neat) == pytest.approx(grows, rel=0.15)  # told in tenths
    note = next(each for each in thin if each.code == "thinned-overfill")
    longer = 100.0 * ((1.0 - share) ** -2 - 1.0)
    assert f"about {longer:.0f} % longer" in note.message
    stays = 100.0 * (1.0 - dried_share(4.0, 86400.0 / (1.0 - share) ** 2))
    assert f"about {stays:.0f} % of the thinner never leaves" in note.message
    assert note.severity is Severity.NOTE


def test_bleed_goes_by_the_viscosity_of_the_mix() -> None:
    life = fluid_time_to_gel_s(1500.0)
    assert bleed_mm("open", 0.35, life) == pytest.approx(
        math.sqrt(2.0) * bleed_mm("open", 0.7, life)
    )
