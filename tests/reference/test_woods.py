"""Wood constants, crushing and splitting against the published tables and closed forms.

Sources: FPL-GTR-282 (2021) Tables 5-1, 5-3a and 5-3b and FPL-GTR-190 (2010) Table 5-10 for the woods; Sih, Paris and
Irwin (1965) for energy from toughness; Obreimoff, Proc. R. Soc. A 127:290 (1930) for the wedged arm. The worked
example was computed independently of this code, with black cherry at E_L 11330, E_T 974, G_LR 1666 MPa.
"""

import math
from dataclasses import replace

import pytest

from vision.joint.species import Species, find_species
from vision.joint.splitting import Tail, confined_pressure, crush_ratio, release_rate, wedge_force

# Specific gravity, modulus of elasticity and compression across the grain, as printed. (a) is in MPa and kPa,
# (b) in 10^6 psi (where found) and psi.
TABLE_5_3A = {
    "poplar": (0.42, 10900, 3400),
    "cherry": (0.50, 10300, 4800),
    "maple": (0.63, 12600, 10100),
    "oak": (0.63, 12500, 7000),
    "white oak": (0.68, 12300, 7400),
    "ash": (0.60, 12000, 8000),
    "douglas-fir": (0.48, 13400, 5500),
    "douglas-fir interior north": (0.48, 12300, 5300),
}
TABLE_5_3B = {
    "pine": (0.35, 1.24e6, 440),
    "red maple": (0.54, None, 1000),
    "silver maple": (0.47, None, 740),
    "walnut": (0.55, 1.68e6, 1010),
    "beech": (0.64, None, 1010),
}
TABLE_5_1 = {
    "maple": (0.065, 0.111),
    "oak": (0.082, 0.089),
    "white oak": (0.072, 0.086),
    "douglas-fir": (0.050, 0.064),
    "poplar": (0.043, 0.075),
}
MPA_PER_PSI = 6.894757e-3


@pytest.mark.parametrize("name", TABLE_5_3A)
def test_metric_table_values_are_as_printed(name):
    wood, (gravity, modulus, crush_kpa) = find_species(name), TABLE_5_3A[name]
    assert wood.specific_gravity == gravity
    assert wood.modulus_l_mpa == pytest.approx(1.1 * modulus, rel=1e-12)  # identity: footnote c, +10 %
    assert wood.crush_mpa == pytest.approx(crush_kpa / 1000, rel=1e-12)  # identity


@pytest.mark.parametrize("name", TABLE_5_3B)
def test_converted_table_values_are_the_inch_pound_table(name):
    wood, (gravity, modulus_psi, crush_psi) = find_species(name), TABLE_5_3B[name]
    assert wood.specific_gravity == gravity
    # Printed to ten psi, held to one kPa. American beech is held as the metric table rounds it, to 100 kPa.
    rounding = 0.05 if name == "beech" else 0.0005
    assert wood.crush_mpa == pytest.approx(crush_psi * MPA_PER_PSI, abs=rounding)
    if modulus_psi:
        assert wood.modulus_l_mpa == pytest.approx(1.1 * modulus_psi * MPA_PER_PSI, abs=1.0)  # held to one MPa


@pytest.mark.parametrize("name", TABLE_5_1)
def test_elastic_ratios_are_as_printed(name):
    wood, (tangential, shear) = find_species(name), TABLE_5_1[name]
    assert wood.modulus_t_mpa / wood.modulus_l_mpa == pytest.approx(tangential, rel=1e-12)  # identity
    assert wood.shear_lr_mpa / wood.modulus_l_mpa == pytest.approx(shear, rel=1e-12)  # identity


# Toughness K_Ic (TL) in MPa m^0.5, E_T/E_L, G_LT/E_L and Poisson's ratio LT.
TOUGHNESS = {
    "maple": (0.480, 0.065, 0.063, 0.476),
    "douglas-fir": (0.320, 0.050, 0.078, 0.449),
    "oak": (0.410, 0.082, 0.081, 0.448),  # toughness from memory
    "poplar": (0.517, 0.043, 0.069, 0.392),  # toughness from memory
}


@pytest.mark.parametrize("name", TOUGHNESS)
def test_the_low_fracture_energy_is_the_printed_toughness_as_energy(name):
    wood, (toughness, tangential, shear, poisson) = find_species(name), TOUGHNESS[name]
    a11 = 1.0 / wood.modulus_l_mpa
    a22, a66 = a11 / tangential, a11 / shear
    shape = math.sqrt(a22 / a11) + (a66 - 2.0 * poisson * a11) / (2.0 * a11)
    energy = toughness**2 * math.sqrt(a11 * a22 / 2.0) * math.sqrt(shape) * 1e6
    assert wood.fracture_n_per_m[0] == pytest.approx(energy, abs=0.6)  # held to one N/m


def test_bridged_softwood_energy_follows_the_density_rule():
    # 1.04 rho - 146 N/m gives 322 at 450 kg/m3; at 12 % moisture that is a specific gravity of 450 / 1120.
    for name in ("pine", "douglas-fir"):
        wood = find_species(name)
        expected = 322 + 1.04 * (1120 * wood.specific_gravity - 450)
        assert wood.fracture_n_per_m[1] == pytest.approx(expected, abs=0.01)


def example_cherry() -> Species:
    """The worked example's constants, rounded as it rounds them."""
    return replace(find_species("cherry"), modulus_l_mpa=11330.0, modulus_t_mpa=974.0, shear_lr_mpa=1666.0)


def test_our_cherry_is_the_worked_examples_cherry():
    wood = find_species("cherry")
    printed = (11330, 974, 1666)
    assert [round(x) for x in (wood.modulus_l_mpa, wood.modulus_t_mpa, wood.shear_lr_mpa)] == pytest.approx(printed)
    assert wood.fracture_n_per_m == (150.0, 300.0)


@pytest.mark.parametrize(
    ("squeeze_mm", "pressure", "ratio"), [(0.05, 1.74, 0.36), (0.10, 3.48, 0.73), (0.20, 6.96, 1.45)]
)
def test_crushing_follows_the_worked_example(squeeze_mm, pressure, ratio):
    wood = example_cherry()
    assert confined_pressure(squeeze_mm, 8, 20, wood) == pytest.approx(pressure, abs=0.005)  # printed digits
    assert crush_ratio(squeeze_mm, 8, 20, wood) == pytest.approx(ratio, abs=0.006)  # printed from the rounded pressure


def test_crushing_begins_at_the_worked_examples_squeeze():
    wood = example_cherry()
    assert crush_ratio(0.138, 8, 20, wood) == pytest.approx(1.0, abs=0.005)  # onset printed to 0.001 mm


@pytest.mark.parametrize(
    ("width_mm", "slender", "stiff_pin", "with_pin"), [(8, 167, 101, 94), (12, 563, 218, 185), (20, 2608, 430, 290)]
)
def test_splitting_follows_the_worked_example(width_mm, slender, stiff_pin, with_pin):
    wood, tail = example_cherry(), Tail(19.0, 19.0, width_mm)
    assert release_rate(0.10, tail, 0.0, wood) == pytest.approx(stiff_pin, abs=1.0)  # printed to 1 N/m, one rounded up
    assert release_rate(0.10, tail, 8.0, wood) == pytest.approx(with_pin, abs=1.0)
    assert obreimoff(0.10, tail, wood) == pytest.approx(slender, abs=1.0)


def test_the_wedge_force_follows_the_worked_example():
    wood = example_cherry()
    assert wedge_force(0.10, Tail(19.0, 19.0, 8.0), 8.0, wood) == pytest.approx(285, abs=0.5)  # printed digits
    force = wedge_force(0.10, Tail(19.0, 19.0, 12.0), 8.0, wood)
    assert force == pytest.approx(689, abs=0.5)
    assert force / 19.0**2 == pytest.approx(1.91, abs=0.005)


@pytest.mark.parametrize(("width_mm", "least", "most"), [(12, 0.090, 0.127), (20, 0.072, 0.102)])
def test_the_critical_overlap_follows_the_worked_example(width_mm, least, most):
    rate = release_rate(0.10, Tail(19.0, 19.0, width_mm), 8.0, example_cherry())
    assert 0.10 * math.sqrt(150 / rate) == pytest.approx(least, abs=0.0006)  # printed to 0.001 mm
    assert 0.10 * math.sqrt(300 / rate) == pytest.approx(most, abs=0.0006)


def obreimoff(overlap_mm: float, tail: Tail, wood: Species) -> float:
    """3 E h^3 d^2 / (8 a^4), N/m."""
    return 1000 * 3 * wood.modulus_l_mpa * tail.width_mm**3 * overlap_mm**2 / (8 * tail.depth_mm**4)


@pytest.mark.parametrize("name", ["pine", "cherry", "oak", "maple"])
def test_a_slender_tail_on_a_rigid_wedge_splits_as_obreimoff_found(name):
    wood = find_species(name)
    for slenderness in (30.0, 100.0, 300.0):
        tail = Tail(depth_mm=slenderness * 5.0, thickness_mm=19.0, width_mm=5.0)
        # Shear takes away twice its share of the compliance, 0.3 (E/G) (h/a)^2, and gives some back to its growth.
        shear = 0.6 * wood.modulus_l_mpa / wood.shear_lr_mpa / slenderness**2
        assert release_rate(0.1, tail, 0.0, wood) == pytest.approx(obreimoff(0.1, tail, wood), rel=shear)


def test_obreimoff_is_an_upper_bound_for_stubby_tails():
    wood = find_species("cherry")
    for width in (4.0, 8.0, 16.0, 32.0):
        tail = Tail(19.0, 19.0, width)
        assert release_rate(0.1, tail, 6.0, wood) < obreimoff(0.1, tail, wood)
