"""The print check: closed forms, the GUM Tree Calculator as oracle, and readings that cannot be right."""

from __future__ import annotations

import GTC
import numpy as np
import pytest

from calibration.prints.check import (
    CALIPER,
    ELSEWHERE_SKEW_U,
    ELSEWHERE_U,
    LENGTHS,
    NOMINAL_MM,
    RULE,
    Instrument,
    PrintRefused,
    lengths_of,
    rule,
    shape_from_readings,
)
from calibration.prints.shape import PrintShape

Readings = dict[str, list[float]]
ELSEWHERE = np.diag([ELSEWHERE_U**2, ELSEWHERE_U**2, ELSEWHERE_SKEW_U**2])


def readings(*lengths_mm: float) -> Readings:
    return {name: [length] for name, length in zip(LENGTHS, lengths_mm, strict=True)}


def of_print(x_scale: float, y_scale: float, skew_deg: float) -> Readings:
    return readings(*lengths_of(np.array([x_scale, y_scale, np.radians(skew_deg)])).tolist())


def values(shape: PrintShape) -> tuple[float, float, float]:
    return shape.x_scale, shape.y_scale, float(np.degrees(shape.skew_rad))


def test_a_true_print_measures_as_the_sheet_says() -> None:
    square = {"AB": 100.0, "AD": 100.0, "AC": 100.0 * 2**0.5, "BD": 100.0 * 2**0.5}
    assert pytest.approx(square) == NOMINAL_MM
    assert values(shape_from_readings(readings(*NOMINAL_MM.values()), RULE)) == pytest.approx((1.0, 1.0, 0.0), abs=1e-9)


def test_pure_scale_makes_the_diagonals_pythagoras() -> None:
    lengths = readings(101.0, 98.0, np.hypot(101.0, 98.0), np.hypot(101.0, 98.0))
    # Consistent readings are met exactly; Gauss-Newton stops at 1e-12.
    assert values(shape_from_readings(lengths, CALIPER)) == pytest.approx((1.01, 0.98, 0.0), abs=1e-9)


def test_pure_skew_is_half_the_angle_that_the_diagonals_of_a_rhombus_tell() -> None:
    skew = np.radians(0.4)
    # Of a rhombus of side a, the diagonals are 2 a sin and 2 a cos of half its acute angle; a positive skew carries D
    # to the left of A, which lengthens BD.
    lengths = readings(100.0, 100.0, 200.0 * np.sin((np.pi / 2 - skew) / 2), 200.0 * np.cos((np.pi / 2 - skew) / 2))
    assert lengths["BD"][0] > lengths["AC"][0]
    assert values(shape_from_readings(lengths, CALIPER)) == pytest.approx((1.0, 1.0, 0.4), abs=1e-7)


def test_the_name_and_the_sizes_survive_together() -> None:
    shape = shape_from_readings(of_print(1.008, 0.996, 0.3), CALIPER, "laser")
    assert shape.name == "laser"
    assert values(shape) == pytest.approx((1.008, 0.996, 0.3), abs=1e-7)


@pytest.mark.parametrize("instrument", [RULE, rule(0.2), CALIPER], ids=lambda instrument: instrument.name)
def test_covariance_is_what_the_gum_tree_calculator_says(instrument: Instrument) -> None:
    x, y, skew = oracle(instrument)
    ours = shape_from_readings(readings(*NOMINAL_MM.values()), instrument).covariance - ELSEWHERE
    theirs = np.array([[GTC.get_covariance(a, b) for b in (x, y, skew)] for a in (x, y, skew)])
    # Exact for a true print but for the derivatives' central differences: 1e-9 of the largest.
    np.testing.assert_allclose(ours, theirs, atol=1e-7 * theirs.max())


def oracle(instrument: Instrument) -> tuple[GTC.lib.UncertainReal, ...]:
    """x scale, y scale and skew of a true print in closed form: least squares shares the closure among the lengths.

    With equal uncertainties the closure AC + BD - sqrt(2) (AB + AD), whose gradient squared is 6, is taken off each
    length by its own share of the gradient (constrained least squares, JCGM 102:2011 leaves it to the user; here the
    projection onto one constraint).
    """
    scale = GTC.ureal(1.0, instrument.scale_u)
    ends = [(GTC.ureal(0.0, instrument.end_u_mm), GTC.ureal(0.0, instrument.end_u_mm)) for _ in LENGTHS]
    pairs = zip(NOMINAL_MM.values(), ends, strict=True)
    ab, ad, ac, bd = (scale * (length + far - near) for length, (near, far) in pairs)
    root = 2.0**0.5
    closure = ac + bd - root * (ab + ad)
    ab, ad, ac, bd = ab + closure * root / 6, ad + closure * root / 6, ac - closure / 6, bd - closure / 6
    return ab / 100, ad / 100, GTC.asin((bd * bd - ac * ac) / (4 * ab * ad))


def test_realised_errors_fit_the_stated_covariance() -> None:
    rng = np.random.default_rng(41)
    half = 0.5 / 2.0
    truth = np.array([1.004, 0.997, np.radians(0.1)])
    true_mm = lengths_of(truth)
    errors, stated = [], []
    for _ in range(400):
        ends = rng.uniform(-half, half, (4, 2)).sum(axis=1)
        scale = 1.0 + rng.uniform(-0.001, 0.001)
        try:
            shape = shape_from_readings(readings(*(scale * true_mm + ends).tolist()), Instrument("rule", *_u(half)))
        except PrintRefused:
            continue
        errors.append(np.array([shape.x_scale, shape.y_scale, shape.skew_rad]) - truth)
        stated.append(shape.covariance - ELSEWHERE)
    # Honest readings contradict one another by chance once in a hundred, less often as rectangular errors have no
    # tails: of 400, four expected, twelve would be four standard deviations more.
    assert 388 <= len(errors) <= 400
    # 400 draws know a standard deviation to 3.5 %: four of those.
    ratio = np.std(errors, axis=0) / np.sqrt(np.diag(np.mean(stated, axis=0)))
    np.testing.assert_allclose(ratio, 1.0, atol=0.14)


def _u(half_mm: float) -> tuple[float, float]:
    """Standard uncertainties of an end read within `half_mm`, and of a rule within 0.1 %: rectangular."""
    return half_mm / 3.0**0.5, 0.001 / 3.0**0.5


def test_what_lengths_are_measured_with_is_as_unsure_as_is_told_of_it() -> None:
    root = 3.0**0.5  # of a rectangular distribution's half-width
    assert RULE.name == "rule read to 0.5 mm"
    assert (RULE.end_u_mm, RULE.scale_u) == pytest.approx((0.25 / root, 0.001 / root))
    assert (CALIPER.end_u_mm, CALIPER.scale_u) == pytest.approx((0.1 / root, 0.0003 / root))
    assert pytest.approx((0.0005 / root, np.radians(0.02) / root)) == (ELSEWHERE_U, ELSEWHERE_SKEW_U)


def test_scatter_counts_as_readings_that_are_as_unsure_as_their_mean() -> None:
    scattered = {name: [mm - 0.2, mm + 0.2, mm - 0.2, mm + 0.2] for name, mm in NOMINAL_MM.items()}
    # Four readings 0.2 mm off: variance 0.04 * 4 / 3, of their mean a quarter of that, half of which is an end's.
    end_u_mm = (CALIPER.end_u_mm**2 + 0.04 / 3.0 / 2.0) ** 0.5
    once = shape_from_readings(readings(*NOMINAL_MM.values()), Instrument("once", end_u_mm, CALIPER.scale_u))
    repeated = shape_from_readings(scattered, CALIPER)
    # The same numbers through the same equations.
    np.testing.assert_allclose(repeated.covariance, once.covariance, rtol=1e-9, atol=1e-18)


def test_repeated_readings_are_averaged_and_their_scatter_counts() -> None:
    steady = shape_from_readings(readings(*NOMINAL_MM.values()) | {"AB": [100.0] * 4}, CALIPER)
    unsteady = shape_from_readings(readings(*NOMINAL_MM.values()) | {"AB": [99.8, 100.2, 99.8, 100.2]}, CALIPER)
    assert unsteady.x_scale == pytest.approx(steady.x_scale, abs=1e-9)
    assert unsteady.covariance[0, 0] > 1.2 * steady.covariance[0, 0]
    with pytest.raises(PrintRefused, match=r"the readings of AD differ by 1\.2 mm: one was misread"):
        shape_from_readings(readings(*NOMINAL_MM.values()) | {"AD": [100.0, 101.2]}, CALIPER)


@pytest.mark.parametrize(("unit_mm", "told"), [(10.0, "a tenth .* centimetres"), (25.4, r"1/25\.4 .* inches: add")])
def test_lengths_in_another_unit_are_told_by_it(unit_mm: float, told: str) -> None:
    lengths = {name: [round(mm / unit_mm, 2) for mm in each] for name, each in of_print(1.003, 0.975, 0.1).items()}
    with pytest.raises(PrintRefused, match=told):
        shape_from_readings(lengths, RULE)


@pytest.mark.parametrize("unit_mm", [10.0, 25.4])
def test_one_length_alone_in_another_unit_is_misread(unit_mm: float) -> None:
    lengths = of_print(1.003, 0.999, 0.05)
    lengths["AC"] = [lengths["AC"][0] / unit_mm]
    with pytest.raises(PrintRefused, match="Most likely AC was misread"):
        shape_from_readings(lengths, RULE)


@pytest.mark.parametrize("culprit", LENGTHS)
@pytest.mark.parametrize("slip_mm", [-10.0, -2.5, 3.0, 40.0])
def test_a_misread_length_is_named(culprit: str, slip_mm: float) -> None:
    lengths = of_print(1.003, 0.999, 0.05)
    due = lengths[culprit][0]
    lengths[culprit] = [due + slip_mm]
    with pytest.raises(PrintRefused, match=rf"Most likely {culprit} was misread: .* ask for {due:.1f} mm"):
        shape_from_readings(lengths, CALIPER)


@pytest.mark.parametrize(
    ("print_as", "message"),
    [
        ((1.035, 1.0, 0.0), r"3\.5 % out of size: print again at 100 %"),
        ((0.965, 0.965, 0.0), r"3\.5 % out of size: print again at 100 %"),
        ((1.0, 1.0, -1.2), r"1\.2 degrees out of square: print again at 100 %"),
    ],
)
def test_a_print_too_far_out_is_to_be_printed_again(print_as: tuple[float, float, float], message: str) -> None:
    with pytest.raises(PrintRefused, match=message):
        shape_from_readings(of_print(*print_as), CALIPER)


def test_all_four_lengths_are_needed_and_above_zero() -> None:
    with pytest.raises(ValueError, match="BD missing"):
        shape_from_readings({"AB": [100.0], "AD": [100.0], "AC": [141.4]}, RULE)
    with pytest.raises(ValueError, match="AC must be a length in mm above zero, got -1"):
        shape_from_readings(readings(100.0, 100.0, -1.0, 141.4), RULE)
    with pytest.raises(ValueError, match="a rule is read to between 0 and 1 mm, got 5"):
        rule(5.0)
