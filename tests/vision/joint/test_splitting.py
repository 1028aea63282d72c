"""Crushing and splitting: limits that are known in closed form, and how the figures scale."""

import dataclasses

import pytest

from vision.joint.species import find_species
from vision.joint.splitting import (
    Tail,
    compliance_growth,
    confined_pressure,
    crush_ratio,
    pin_compliance,
    release_rate,
    split_range,
    tail_compliance,
    wedge_force,
)

CHERRY = find_species("cherry")
TAIL = Tail(depth_mm=18.0, thickness_mm=20.0, width_mm=15.0)
IDENTITY = 1e-12
"""Relative, for formulas that are the same but for the order of their products."""


def test_a_tail_gives_way_as_a_cantilever_that_bends_across_its_width_and_shears():
    # Deep, thick and wide by 18, 20 and 15 mm: 4 a^3 / (E t h^3) and 1.2 a / (G t h).
    bending = 4 * 18.0**3 / (CHERRY.modulus_l_mpa * 20.0 * 15.0**3)
    shear = 1.2 * 18.0 / (CHERRY.shear_lr_mpa * 20.0 * 15.0)
    assert tail_compliance(TAIL, CHERRY) == pytest.approx(bending + shear, rel=IDENTITY)


def test_the_growth_of_compliance_is_its_derivative_by_crack_length():
    step = 1e-4
    longer, shorter = (dataclasses.replace(TAIL, depth_mm=18.0 + sign * step) for sign in (1, -1))
    slope = (tail_compliance(longer, CHERRY) - tail_compliance(shorter, CHERRY)) / (2 * step)
    # Central differences of a cubic err by step^2 times its third derivative / 6, about 1e-11 relative, plus rounding.
    assert compliance_growth(TAIL, CHERRY) == pytest.approx(slope, rel=1e-8)


def test_the_work_put_into_the_springs_is_what_a_growing_crack_takes_from_them():
    # At fixed overlap the stored energy is d^2 / (2 C); -dU/da / t is G with all other lengths held.
    def energy(depth):
        tail = dataclasses.replace(TAIL, depth_mm=depth)
        return 0.1**2 / (2 * tail_compliance(tail, CHERRY))

    lost = (energy(18.0 - 1e-4) - energy(18.0 + 1e-4)) / 2e-4 / TAIL.thickness_mm * 1000
    assert release_rate(0.1, TAIL, 0.0, CHERRY) == pytest.approx(lost, rel=1e-7)  # central differences, as above


def test_pressure_grows_with_the_squeeze_and_falls_with_the_wood_that_shares_it():
    assert confined_pressure(0.2, 8, 20, CHERRY) == pytest.approx(
        2 * confined_pressure(0.1, 8, 20, CHERRY), rel=IDENTITY
    )
    assert confined_pressure(0.1, 16, 40, CHERRY) == pytest.approx(
        0.5 * confined_pressure(0.1, 8, 20, CHERRY), rel=IDENTITY
    )


def test_the_crush_ratio_is_one_where_the_pressure_is_the_woods_strength():
    squeeze = CHERRY.crush_mpa * 28 / CHERRY.modulus_t_mpa
    assert crush_ratio(squeeze, 8, 20, CHERRY) == pytest.approx(1.0, rel=IDENTITY)


def test_the_release_rate_grows_with_the_square_of_the_overlap():
    assert release_rate(0.2, TAIL, 8, CHERRY) == pytest.approx(4 * release_rate(0.1, TAIL, 8, CHERRY), rel=IDENTITY)


def test_half_a_pin_is_a_block_pressed_on_the_side_of_the_tail_and_a_spring_in_series_with_it():
    # Half of 8 mm, pressed across the grain over 18 mm of depth and 20 mm of thickness.
    half_pin = 4.0 / (CHERRY.modulus_t_mpa * 18.0 * 20.0)
    assert pin_compliance(TAIL, 8.0, CHERRY) == pytest.approx(half_pin, rel=IDENTITY)
    both = tail_compliance(TAIL, CHERRY) + half_pin
    assert wedge_force(0.1, TAIL, 8.0, CHERRY) == pytest.approx(0.1 / both, rel=IDENTITY)


def test_the_split_range_spans_the_bracket_of_fracture_energies():
    low, high = split_range(0.1, TAIL, 8, CHERRY)
    assert high / low == pytest.approx(CHERRY.fracture_n_per_m[1] / CHERRY.fracture_n_per_m[0], rel=IDENTITY)


def test_no_overlap_means_no_risk():
    assert split_range(0.0, TAIL, 8, CHERRY) == (0.0, 0.0)
    assert crush_ratio(0.0, 8, 20, CHERRY) == 0.0
