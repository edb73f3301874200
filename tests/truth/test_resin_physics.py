"""Resin physics against closed forms and published constants.

Capillarity: de Gennes, Brochard-Wyart and Quere (2004), ch. 2, and the Young-Laplace equation
integrated directly.  Stokes (1851), Washburn (1921), Boyle;
Frank-Kamenetskii (1969) with the steady heat equation of the slab solved directly.  g = 9.80665
m/s2.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad, solve_ivp

from flushwork.resin.before_gel import disc_broadside_mm_s, expansion, fluid_time_s, stokes_mm_s
from flushwork.resin.bleed import washburn_mm
from flushwork.resin.cup.heat import critical_cylinder, critical_slab
from flushwork.resin.cure import doubling_rate
from flushwork.resin.recess import capillary_length_mm


@pytest.mark.parametrize(
    ("tension", "density", "length_mm"),
    [(0.0728, 998.2, 2.72707), (0.045, 1150.0, 1.99755), (0.02239, 789.3, 1.70077)],
)
def test_capillary_length(tension: float, density: float, length_mm: float) -> None:
    assert capillary_length_mm(tension, density) == pytest.approx(length_mm, abs=1e-5)


def test_stokes() -> None:
    assert stokes_mm_s(0.5, 1100.0, 0.5) == pytest.approx(0.299648, abs=1e-6)
    # mica taken as a sphere of 30 micrometres: 0.1 mm a minute
    assert 60.0 * stokes_mm_s(0.03, 1700.0, 0.5) == pytest.approx(0.10003, abs=1e-5)


def test_a_disc_edge_to_flow_is_slower_than_the_sphere_of_its_width() -> None:
    sphere = stokes_mm_s(0.06, 1700.0, 0.7)
    disc = disc_broadside_mm_s(0.06, 0.006, 1700.0, 0.7)
    # pi D h / 32 against D^2 / 18: a tenth as thick as wide falls at 0.177 of the sphere's speed
    assert disc / sphere == pytest.approx(18.0 * math.pi / 320.0)


@pytest.mark.parametrize(
    ("kpa", "volume", "diameter"),
    [
        (50.0, 2.02650, 1.2655),
        (20.0, 5.06625, 1.7175),
        (10.0, 10.1325, 2.1639),
        (5.0, 20.265, 2.7264),
        (2.5, 40.53, 3.4350),
    ],
)
def test_boyle(kpa: float, volume: float, diameter: float) -> None:
    assert expansion(101.325, kpa) == pytest.approx(volume, abs=1e-5)
    assert expansion(101.325, kpa) ** (1.0 / 3.0) == pytest.approx(diameter, abs=1e-4)


def test_washburn() -> None:
    found = washburn_mm(0.045, 0.02, math.radians(30.0), 0.5, 600.0)
    assert found == pytest.approx(21.6253, abs=1e-4)
    water = washburn_mm(0.0728, 0.001, 0.0, 1.002e-3, 1.0)
    assert water == pytest.approx(6.0272, abs=1e-4)


def arrhenius(energy_kj: float, at_c: float, reference_c: float) -> float:
    inverse = 1.0 / (at_c + 273.15) - 1.0 / (reference_c + 273.15)
    return math.exp(-1000.0 * energy_kj / 8.314462618 * inverse)


@pytest.mark.parametrize("at_c", [10.0, 15.0, 20.0, 30.0, 35.0])
def test_the_workshops_rule_lies_among_published_energies(at_c: float) -> None:
    """Between Arrhenius at 44 and at 60 kJ/mol, the ends of what the abstracts cited give."""
    assert arrhenius(44.0, 30.0, 20.0) == pytest.approx(1.8139, abs=1e-4)
    assert arrhenius(60.0, 35.0, 25.0) == pytest.approx(2.1934, abs=1e-4)
    low, high = sorted((arrhenius(44.0, at_c, 25.0), arrhenius(60.0, at_c, 25.0)))
    assert low < doubling_rate(at_c, 25.0) < high


def test_ten_degrees_double() -> None:
    assert doubling_rate(35.0, 25.0) == 2.0
    assert doubling_rate(15.0, 25.0) == 0.5


def test_thickening_is_the_integral_of_fluidity() -> None:
    tau = 1500.0 / math.log(2.0)
    integral = quad(lambda t: math.exp(-t / tau), 0.0, 4500.0)[0]
    assert fluid_time_s(1500.0, 4500.0) == pytest.approx(integral)


@pytest.mark.parametrize("biot_number", [0.02, 0.3, 1.5, 8.0, 1e6])
@pytest.mark.parametrize(("geometry", "critical"), [(0.0, critical_slab), (1.0, critical_cylinder)])
def test_critical_values_with_a_finite_loss_by_shooting(
    geometry: float, critical: Callable[[float], float], biot_number: float
) -> None:
    # theta'' + (n / x) theta' + delta e^theta = 0, theta'(0) = 0, theta'(1) = -Bi theta(1).  From
    # the centre, with theta = theta0 - fall(xi) and x = xi / xi1, every xi1 fits exactly one
    # theta0 and one delta = xi1^2 e^-theta0; the greatest is the critical one
    def slope(x: float, y: NDArray[np.float64]) -> list[float]:
        return [float(y[1]), math.exp(-y[0]) - geometry * float(y[1]) / x]

    edges = np.linspace(0.05, 4.0, 800)
    run = solve_ivp(slope, (1e-6, 4.0), [0.0, 0.0], t_eval=edges, rtol=1e-9, atol=1e-12)
    centre = run.y[0] + edges * run.y[1] / biot_number
    best = float(np.max(edges**2 * np.exp(-centre)))
    assert critical(biot_number) == pytest.approx(best, rel=1e-3)


def test_critical_values_at_both_ends_are_the_published_ones() -> None:
    # Frank-Kamenetskii: walls at the air's temperature; Semenov: one temperature within
    assert critical_slab(1e9) == pytest.approx(0.878, abs=5e-4)
    assert critical_cylinder(1e9) == pytest.approx(2.00, abs=5e-4)
    for small in (1e-3, 1e-4):
        assert critical_slab(small) == pytest.approx(small / math.e, rel=small)
        assert critical_cylinder(small) == pytest.approx(2.0 * small / math.e, rel=small)
