"""Resin physics against closed forms and published constants.

Capillarity: de Gennes, Brochard-Wyart and Quere (2004), ch. 2, and the Young-Laplace equation
integrated directly.  Stokes (1851), Hadamard and Rybczynski (1911), Washburn (1921), Boyle;
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
from scipy.optimize import brentq

from flushwork.resin.bleed import washburn_mm
from flushwork.resin.bubbles import expansion, hadamard_rybczynski_mm_s, stokes_mm_s
from flushwork.resin.clocks import arrhenius_rate, doubling_energy_j_mol, doubling_rate
from flushwork.resin.heat import critical_cylinder, critical_slab
from flushwork.resin.meniscus import (
    arc_area_mm2,
    arc_radius_mm,
    arc_sag_mm,
    capillary_length_mm,
    jurin_mm,
    sag_mm,
    wall_rise_mm,
)
from flushwork.resin.settling import disc_broadside_mm_s
from flushwork.resin.viscosity import fluid_time_s


@pytest.mark.parametrize(
    ("tension", "density", "length_mm"),
    [(0.0728, 998.2, 2.72707), (0.045, 1150.0, 1.99755), (0.02239, 789.3, 1.70077)],
)
def test_capillary_length(tension: float, density: float, length_mm: float) -> None:
    assert capillary_length_mm(tension, density) == pytest.approx(length_mm, abs=1e-5)


def test_rise_at_one_wall() -> None:
    water, epoxy = capillary_length_mm(0.0728, 998.2), capillary_length_mm(0.045, 1150.0)
    assert wall_rise_mm(water, 0.0) == pytest.approx(3.85666, abs=1e-5)
    assert wall_rise_mm(epoxy, 0.0) == pytest.approx(2.82496, abs=1e-5)
    assert wall_rise_mm(epoxy, math.radians(30.0)) == pytest.approx(1.99755, abs=1e-5)


@pytest.mark.parametrize(
    ("width", "contact_deg", "radius", "sag", "area"),
    [
        (3.0, 0.0, 1.5, 1.5, 3.53429),
        (3.0, 30.0, 1.73205, 0.866025, 1.84255),
        (3.0, 60.0, 3.0, 0.401924, 0.815275),
        (1.0, 20.0, 0.532089, 0.350104, 0.254902),
    ],
)
def test_arc_across_a_narrow_slot(
    width: float, contact_deg: float, radius: float, sag: float, area: float
) -> None:
    contact = math.radians(contact_deg)
    assert arc_radius_mm(width, contact) == pytest.approx(radius, abs=1e-5)
    assert arc_sag_mm(width, contact) == pytest.approx(sag, abs=1e-6)
    assert arc_area_mm2(width, contact) == pytest.approx(area, abs=1e-5)


def test_climb_between_plates() -> None:
    assert jurin_mm(0.045, math.radians(20.0), 1150.0, 1.0) == pytest.approx(7.49911, abs=1e-5)


def laplace_sag_mm(width_mm: float, contact: float, capillary_mm: float) -> float:
    """Return the sag of the exact 2-D surface between two plates.

    Shoots the curve d(psi)/ds = z / a^2 + c from the middle, slope 0, to the wall, where the slope
    is pi/2 - contact; the height in the middle is the unknown.
    """
    slope = math.pi / 2.0 - contact

    def wall(middle: float) -> tuple[float, float]:
        def bend(psi: float, xz: NDArray[np.float64]) -> list[float]:
            curvature = xz[1] / capillary_mm**2
            return [math.cos(psi) / curvature, math.sin(psi) / curvature]

        end = solve_ivp(bend, (0.0, slope), [0.0, middle], rtol=1e-9, atol=1e-11)
        return float(end.y[0, -1]), float(end.y[1, -1])

    middle = brentq(lambda z: wall(z)[0] - width_mm / 2.0, 1e-6, 1e5, xtol=1e-10)
    return wall(middle)[1] - middle


@pytest.mark.parametrize("contact_deg", [10.0, 30.0, 60.0])
@pytest.mark.parametrize("width", [0.3, 0.8, 2.0, 6.0, 15.0])
def test_the_lesser_form_bounds_the_exact_surface(width: float, contact_deg: float) -> None:
    contact = math.radians(contact_deg)
    exact = laplace_sag_mm(width, contact, 2.0)
    closed = sag_mm(width, contact, 2.0)
    assert exact <= closed + 1e-6
    if width <= 0.8:
        assert closed == pytest.approx(exact, rel=0.02)
    if width >= 15.0:
        assert closed == pytest.approx(exact, rel=0.05)


def test_stokes() -> None:
    assert stokes_mm_s(0.5, 1100.0, 0.5) == pytest.approx(0.299648, abs=1e-6)
    # mica taken as a sphere of 30 micrometres: 0.1 mm a minute
    assert 60.0 * stokes_mm_s(0.03, 1700.0, 0.5) == pytest.approx(0.10003, abs=1e-5)


def test_hadamard_and_rybczynski_between_their_limits() -> None:
    clean = hadamard_rybczynski_mm_s(0.5, 1100.0, 0.5)
    assert clean == pytest.approx(0.449471, abs=1e-6)
    stiff = hadamard_rybczynski_mm_s(0.5, 1100.0, 0.5, 1e9)
    assert stiff == pytest.approx(stokes_mm_s(0.5, 1100.0, 0.5), rel=1e-6)
    reynolds = 1100.0 * clean / 1000.0 * 0.5e-3 / 0.5
    assert reynolds < 1e-3


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


@pytest.mark.parametrize(
    ("energy_kj", "from_20", "from_25", "to_18"),
    [
        (44.0, 1.8139, 1.7789, 1.5323),
        (50.0, 1.9674, 1.9243, 1.6241),
        (55.0, 2.1051, 2.0544, 1.7048),
        (58.6, 2.2102, 2.1536, 1.7653),
        (60.0, 2.2525, 2.1934, 1.7895),
    ],
)
def test_arrhenius(energy_kj: float, from_20: float, from_25: float, to_18: float) -> None:
    energy = 1000.0 * energy_kj
    assert arrhenius_rate(30.0, 20.0, energy) == pytest.approx(from_20, abs=1e-4)
    assert arrhenius_rate(35.0, 25.0, energy) == pytest.approx(from_25, abs=1e-4)
    assert 1.0 / arrhenius_rate(18.0, 25.0, energy) == pytest.approx(to_18, abs=1e-4)


def test_the_energy_at_which_ten_degrees_double() -> None:
    assert doubling_energy_j_mol(20.0, 30.0) == pytest.approx(51216.0, abs=1.0)
    assert doubling_energy_j_mol(25.0, 35.0) == pytest.approx(52949.0, abs=1.0)
    assert doubling_rate(35.0, 25.0) == 2.0


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
