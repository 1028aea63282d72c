"""The line fit that measures the walls, on published data.

JCGM 100:2008, Annex H.3 (thermometer calibration), and NIST's StRD Norris. NIST's NoInt1 fits a line through the
origin; our walls never do, `fit_line` always has a level, so it is not used.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from vision.walls.fit import LineFit, fit_line

T_C = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
B_C = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160])
"""JCGM 100:2008, Table H.6: thermometer readings and corrections, degrees Celsius."""
T0_C = 20.0
NORRIS = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"


@pytest.fixture(scope="module")
def thermometer() -> LineFit:
    return fit_line(T_C - T0_C, B_C, robust=False)


def test_gum_h3_intercept_and_slope(thermometer: LineFit) -> None:
    # H.3.3, printed digits.
    assert thermometer.at(0.0) == pytest.approx(-0.1712, abs=5e-5)
    assert thermometer.u_at(0.0) == pytest.approx(0.0029, abs=5e-5)
    assert thermometer.slope == pytest.approx(0.00218, abs=5e-6)
    assert thermometer.slope_u == pytest.approx(0.00067, abs=5e-6)
    assert thermometer.scatter == pytest.approx(0.0035, abs=5e-5)


def test_gum_h3_correlation_of_intercept_and_slope(thermometer: LineFit) -> None:
    # Level and slope are uncorrelated about the middle, so the intercept's covariance with the slope is -middle u^2.
    covariance = -thermometer.middle * thermometer.slope_u**2
    # H.3.3 prints r = -0.930; the covariance itself is recomputed from the table to ten digits.
    assert covariance / (thermometer.u_at(0.0) * thermometer.slope_u) == pytest.approx(-0.930, abs=5e-4)
    assert covariance == pytest.approx(-1.788340749e-06, rel=1e-8)


def test_gum_h3_prediction_at_30_degrees(thermometer: LineFit) -> None:
    # H.3.4, printed digits; without the correlation the uncertainty would be 0.0073.
    assert thermometer.at(30.0 - T0_C) == pytest.approx(-0.1494, abs=5e-5)
    assert thermometer.u_at(30.0 - T0_C) == pytest.approx(0.0041, abs=5e-5)


def test_nist_norris() -> None:
    if not NORRIS.exists():
        pytest.skip("this build of scipy comes without NIST's data")
    y, x = np.array([line.split() for line in NORRIS.read_text().splitlines()[60:96]], float).T
    fit = fit_line(x, y, robust=False)
    assert len(x) == 36
    # Certified values, StRD Norris; lower difficulty: nine digits are to be had in double precision.
    assert fit.at(0.0) == pytest.approx(-0.262323073774029, rel=1e-9)
    assert fit.u_at(0.0) == pytest.approx(0.232818234301152, rel=1e-9)
    assert fit.slope == pytest.approx(1.00211681802045, rel=1e-11)
    assert fit.slope_u == pytest.approx(0.429796848199937e-03, rel=1e-9)
    assert fit.scatter == pytest.approx(0.884796396144373, rel=1e-9)
