"""The two-layer wire: its limits, a second formula, and a direct numerical solution of the field equation."""

import time

import numpy as np
import pytest
from scipy.linalg import solve_banded
from scipy.special import ive, kve

from antexp.radio.coated_wire import coated_wire_impedance_ohm_per_m
from antexp.radio.conductors import MU0, skin_depth_m, solid_wire_impedance_ohm_per_m

COPPER, ZINC, STEEL, TIN = 1 / 58e6, 5.9e-8, 1.43e-7, 1.09e-7
MU_STEEL = 100.0
WIRES = [  # (MHz, mm, µm, core ρ, coat ρ, core μ, coat μ): galvanised, copper-clad, tinned, an odd one
    (3.6, 2.0, 25.0, STEEL, ZINC, MU_STEEL, 1.0),
    (14.2, 1.2, 20.0, STEEL, COPPER, MU_STEEL, 1.0),
    (28.5, 0.8, 3.0, COPPER, TIN, 1.0, 1.0),
    (0.05, 1.5, 150.0, 7.3e-7, STEEL, 1.0, 30.0),
]


def field_equation(frequency_mhz, diameter_mm, thickness_um, rho1, rho2, mu1, mu2, cells=6000):
    """Solve (1/r)·d/dr[r/(μ)·dE/dr] = jω·E/ρ by finite volumes, H(b) given, and return E(b)/I.

    The cells are graded: each layer gets its own, finest at the surfaces where the field lives. Second order.
    """
    omega, a, b = 2e6 * np.pi * frequency_mhz, diameter_mm * 0.5e-3 - thickness_um * 1e-6, diameter_mm * 0.5e-3

    def edges(low, high, depth):
        # spacing shrinks towards the outside down to a small part of the skin depth
        stretch = min(max((high - low) / depth, 1e-3), 8.0)
        u = np.linspace(0.0, 1.0, cells + 1)
        return low + (high - low) * -np.expm1(-stretch * u) / -np.expm1(-stretch)

    inner = edges(0.0, a, skin_depth_m(frequency_mhz, rho1, mu1))
    outer = np.linspace(a, b, cells + 1)
    r = np.concatenate([inner, outer[1:]])
    centre = 0.5 * (r[1:] + r[:-1])
    is_core = centre < a
    rho, mu = np.where(is_core, rho1, rho2), np.where(is_core, mu1, mu2) * MU0
    half = 0.5 * np.diff(r)
    # flux r·H/(jω…): two half-cells in series between neighbouring centres
    conductance = r[1:-1] / (half[:-1] * mu[:-1] + half[1:] * mu[1:])
    volume = 0.5 * (r[1:] ** 2 - r[:-1] ** 2)
    diagonal = -1j * omega * volume / rho
    diagonal[:-1] -= conductance
    diagonal[1:] -= conductance
    banded = np.zeros((3, len(centre)), complex)
    banded[0, 1:] = conductance
    banded[1] = diagonal
    banded[2, :-1] = conductance
    source = np.zeros(len(centre), complex)
    surface_field = 1.0 / (2 * np.pi * b)  # H for a current of one ampere
    source[-1] = -1j * omega * b * surface_field
    e = solve_banded((1, 1), banded, source)
    return e[-1] + 1j * omega * mu2 * MU0 * surface_field * half[-1]  # from the last centre out to the surface


@pytest.mark.parametrize("wire", WIRES)
def test_direct_numerical_solution_of_the_field_equation(wire):
    exact = coated_wire_impedance_ohm_per_m(*wire)
    # second order with 6000 cells a layer: what is left is below 1e-4
    assert field_equation(*wire) == pytest.approx(exact, rel=1e-4)


@pytest.mark.parametrize("wire", WIRES)
def test_scaled_bessel_functions_of_the_textbook_form(wire):
    frequency_mhz, diameter_mm, thickness_um, rho1, rho2, mu1, mu2 = wire
    omega, b, t = 2e6 * np.pi * frequency_mhz, diameter_mm * 0.5e-3, thickness_um * 1e-6
    a = b - t
    k1, k2 = np.sqrt(1j * omega * mu1 * MU0 / rho1), np.sqrt(1j * omega * mu2 * MU0 / rho2)
    y = (k1 * rho1) / (k2 * rho2) * ive(0, k1 * a) / ive(1, k1 * a)
    q = (y * ive(1, k2 * a) - ive(0, k2 * a)) / (kve(0, k2 * a) + y * kve(1, k2 * a))
    g = q * np.exp(-2 * (k2 * t).real - 1j * (k2 * t).imag)
    z = k2 * rho2 / (2 * np.pi * b) * (ive(0, k2 * b) + g * kve(0, k2 * b)) / (ive(1, k2 * b) - g * kve(1, k2 * b))
    assert coated_wire_impedance_ohm_per_m(*wire) == pytest.approx(z, rel=1e-11)


def test_no_coating_is_the_bare_core_and_a_thin_one_comes_near_it():
    bare = solid_wire_impedance_ohm_per_m(7.1, 2.0, STEEL, MU_STEEL)
    assert coated_wire_impedance_ohm_per_m(7.1, 2.0, 0.0, STEEL, ZINC, MU_STEEL) == pytest.approx(bare, rel=1e-14)
    thin = coated_wire_impedance_ohm_per_m(7.1, 2.0, np.array([1e-2, 1e-4]), STEEL, ZINC, MU_STEEL)
    difference = np.abs(thin - bare)
    assert difference[1] / difference[0] == pytest.approx(0.01, rel=0.02), "the difference must vanish with t"
    assert difference[1] < 1e-4 * abs(bare)


def test_a_thick_coating_hides_the_core():
    depth_um = skin_depth_m(14.2, COPPER) * 1e6
    coated = coated_wire_impedance_ohm_per_m(14.2, 3.0, 25 * depth_um, STEEL, COPPER, MU_STEEL)
    assert coated == pytest.approx(solid_wire_impedance_ohm_per_m(14.2, 3.0, COPPER), rel=1e-12)


def test_a_coating_to_the_middle_is_a_wire_of_the_coating():
    whole = coated_wire_impedance_ohm_per_m(14.2, 1.0, 500.0, STEEL, COPPER, MU_STEEL)
    assert whole == pytest.approx(solid_wire_impedance_ohm_per_m(14.2, 1.0, COPPER), rel=1e-14)


def test_the_same_metal_twice_is_a_solid_wire_whatever_the_thickness():
    thickness_um = np.array([0.01, 1.0, 30.0, 300.0, 749.0])
    twice = coated_wire_impedance_ohm_per_m(3.6, 1.5, thickness_um, STEEL, STEEL, MU_STEEL, MU_STEEL)
    np.testing.assert_allclose(twice, solid_wire_impedance_ohm_per_m(3.6, 1.5, STEEL, MU_STEEL), rtol=1e-10)


def test_an_insulating_core_leaves_a_tube():
    # thin tube: a sheet of ρ/(2πa·t); thick: the solid wire
    tube = coated_wire_impedance_ohm_per_m(10.0, 4.0, np.array([0.5, 400.0]), np.inf, COPPER)
    assert tube[0].real == pytest.approx(COPPER / (2 * np.pi * (2e-3 - 0.25e-6) * 0.5e-6), rel=1e-4)
    assert tube[1] == pytest.approx(solid_wire_impedance_ohm_per_m(10.0, 4.0, COPPER), rel=1e-6)


def test_direct_current_is_two_conductors_side_by_side():
    a, b = 0.9e-3, 1.0e-3
    parallel = 1 / (np.pi * (a**2 / STEEL + (b**2 - a**2) / COPPER))
    low = coated_wire_impedance_ohm_per_m([0.0, 1e-9], 2.0, 100.0, STEEL, COPPER, MU_STEEL)
    assert low[0] == pytest.approx(parallel, rel=1e-13)
    assert low[1] == pytest.approx(parallel, rel=1e-5)


def test_a_magnetic_sheet_of_one_and_a_half_skin_depths_beats_solid_copper():
    # A sheet on a perfect magnetic wall has Rs·(sinh 2τ + sin 2τ)/(cosh 2τ − cos 2τ), τ = t/δ (Ramo et al., 3.17);
    # its least is tanh(π/2) = 0.917 of a thick conductor, at τ = π/2
    depth = skin_depth_m(10.0, COPPER)
    tau = np.array([0.5, 1.0, np.pi / 2, 2.5])
    solid = solid_wire_impedance_ohm_per_m(10.0, 20.0, COPPER).real
    on_insulator = coated_wire_impedance_ohm_per_m(10.0, 20.0, tau * depth * 1e6, np.inf, COPPER).real / solid
    sheet = (np.sinh(2 * tau) + np.sin(2 * tau)) / (np.cosh(2 * tau) - np.cos(2 * tau))
    # the wire is 10 mm in radius, 480 skin depths: curvature is below a per cent
    np.testing.assert_allclose(on_insulator, sheet, rtol=5e-3)
    assert sheet[2] == pytest.approx(np.tanh(np.pi / 2))
    on_steel = coated_wire_impedance_ohm_per_m(10.0, 2.0, tau[2] * depth * 1e6, STEEL, COPPER, MU_STEEL).real
    assert 0.90 < on_steel / solid_wire_impedance_ohm_per_m(10.0, 2.0, COPPER).real < 0.95


def test_it_never_overflows():
    frequency_mhz = np.array([1e-6, 1.0, 1e3, 1e6])[:, None]
    impedance = coated_wire_impedance_ohm_per_m(frequency_mhz, 100.0, [1e-3, 10.0, 49_999.0], STEEL, COPPER, 1e4, 1.0)
    assert np.isfinite(impedance).all() and (impedance.real > 0).all() and (impedance.imag > 0).all()


def test_all_at_once_equals_one_at_a_time():
    random = np.random.default_rng(3)
    thickness_um = random.uniform(0, 50, (400, 1))
    thickness_um[::7] = 0.0
    frequency_mhz = np.linspace(0.0, 30.0, 90)
    whole = coated_wire_impedance_ohm_per_m(frequency_mhz, 1.5, thickness_um, STEEL, ZINC, MU_STEEL)
    assert whole.shape == (400, 90)
    for row, column in ((0, 5), (3, 0), (7, 89), (399, 44)):
        alone = coated_wire_impedance_ohm_per_m(frequency_mhz[column], 1.5, thickness_um[row, 0], STEEL, ZINC, MU_STEEL)
        assert whole[row, column] == pytest.approx(complex(alone), rel=1e-13)


def test_missing_stays_missing():
    impedance = coated_wire_impedance_ohm_per_m(7.0, 2.0, [np.nan, 10.0], STEEL, ZINC, MU_STEEL)
    assert np.isnan(impedance[0]) and np.isfinite(impedance[1])
    assert np.isnan(coated_wire_impedance_ohm_per_m(7.0, 2.0, 10.0, np.nan, ZINC, MU_STEEL))


def test_impossible_coatings_are_refused():
    with pytest.raises(ValueError, match="coating is thicker than the wire: got 600 µm on 1 mm; allowed up to half"):
        coated_wire_impedance_ohm_per_m(7.0, 1.0, 600.0, STEEL, ZINC)
    with pytest.raises(ValueError, match="coating is negative: got -2 µm"):
        coated_wire_impedance_ohm_per_m(7.0, 1.0, [5.0, -2.0], STEEL, ZINC)


def test_a_thousand_wires_at_a_hundred_frequencies_are_quick():
    # a tenth of tests/benchmarks/conductors.py, a quarter of a second; a loop takes half a minute
    random = np.random.default_rng(2)
    start = time.perf_counter()
    coated_wire_impedance_ohm_per_m(np.linspace(1.8, 30, 100), random.uniform(0.5, 4, (1000, 1)),
                                    random.uniform(1, 200, (1000, 1)), STEEL, ZINC, MU_STEEL)
    assert time.perf_counter() - start < 1.0
