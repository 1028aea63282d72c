"""Analysis of variance on published data: AIAG's gauge study, and NIST's StRD for one factor.

AIAG, "Measurement Systems Analysis", 4th edition: the example of 10 parts, 3 appraisers and 3 trials, with the
published results of its ANOVA. NIST/ITL Statistical Reference Datasets, certified to 15 digits, as scipy carries them.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from calibration.study.gauge_study import INTERACTION, PART, PERSON, GaugeStudy, Reading, study_gauge
from calibration.study.random_effects import ERROR, random_effects_anova

AIAG = (
    ".29 .41 .64 .08 .25 .07 .04 -.11 -.15",
    "-.56 -.68 -.58 -.47 -1.22 -.68 -1.38 -1.13 -.96",
    "1.34 1.17 1.27 1.19 .94 1.34 .88 1.09 .67",
    ".47 .50 .64 .01 1.03 .20 .14 .20 .11",
    "-.80 -.92 -.84 -.56 -1.20 -1.28 -1.46 -1.07 -1.45",
    ".02 -.11 -.21 -.20 .22 .06 -.29 -.67 -.49",
    ".59 .75 .66 .47 .55 .83 .02 .01 .21",
    "-.31 -.20 -.17 -.63 .08 -.34 -.46 -.56 -.49",
    "2.26 1.99 2.01 1.80 2.12 2.19 1.77 1.45 1.87",
    "-1.36 -1.25 -1.31 -1.68 -1.62 -1.50 -1.49 -1.77 -2.16",
)
"""One row a part; three trials of appraiser A, three of B, three of C."""

STRD = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"
NAMES = ["SiRstv", "AtmWtAg", *(f"SmLs0{number}" for number in range(1, 10))]


@pytest.fixture(scope="module")
def aiag() -> GaugeStudy:
    rows = [[float(word) for word in row.split()] for row in AIAG]
    return study_gauge(
        [
            Reading(f"part {part}", "ABC"[column // 3], f"{part}-{column}", value)
            for part, row in enumerate(rows, start=1)
            for column, value in enumerate(row)
        ]
    )


def test_aiag_interaction_is_tested_and_pooled(aiag: GaugeStudy) -> None:
    interaction = aiag.full.row(INTERACTION)
    assert (interaction.f, interaction.p) == (pytest.approx(0.4337, abs=5e-5), pytest.approx(0.9741, abs=5e-5))
    assert aiag.pooled == (INTERACTION,)
    assert aiag.balanced


def test_aiag_standard_deviations(aiag: GaugeStudy) -> None:
    # Printed with six digits; PV with seven, TV with four.
    assert aiag.repeatability.sd == pytest.approx(0.199933, abs=5e-7)
    assert aiag.operators.sd == pytest.approx(0.226838, abs=5e-7)
    assert aiag.gauge.sd == pytest.approx(0.302373, abs=2e-6)  # printed from rounded EV and AV
    assert aiag.part.sd == pytest.approx(1.042327, abs=5e-7)
    assert aiag.total.sd == pytest.approx(1.085, abs=5e-4)


def test_aiag_repeatability_before_pooling(aiag: GaugeStudy) -> None:
    assert aiag.full.variance(ERROR).value ** 0.5 == pytest.approx(0.214435, abs=5e-7)


def test_aiag_contributions_and_percentages(aiag: GaugeStudy) -> None:
    assert aiag.contribution_percent(aiag.repeatability) == pytest.approx(3.4, abs=0.05)
    assert aiag.contribution_percent(aiag.operators) == pytest.approx(4.4, abs=0.05)
    assert aiag.contribution_percent(aiag.gauge) == pytest.approx(7.8, abs=0.05)
    assert aiag.contribution_percent(aiag.part) == pytest.approx(92.2, abs=0.05)
    assert aiag.total_percent(aiag.gauge) == pytest.approx(27.9, abs=0.05)
    assert aiag.categories == pytest.approx(4.861, abs=1e-3)  # printed from rounded PV and GRR


def test_aiag_table(aiag: GaugeStudy) -> None:
    degrees = [(row.name, row.dof) for row in aiag.full.rows]
    assert degrees == [(PART, 9), (PERSON, 2), (INTERACTION, 18), (ERROR, 60)]
    # The three factors and the error take up all of the sum of squares about the mean, 94.6471 (its own arithmetic).
    assert sum(row.sum_squares for row in aiag.full.rows) == pytest.approx(94.64711222, abs=5e-9)


@pytest.mark.parametrize("name", NAMES)
def test_nist_one_factor_sums_of_squares(name: str) -> None:
    certified, labels, values = strd(name)
    table = random_effects_anova(values, {"treatment": labels})
    between, within = table.rows
    # 1e-10 is NIST's own mark for good double precision. Data with 13 leading digits in common are themselves stored
    # with an error of half a spacing, which a sum of squares of deviations feels twice.
    stored = np.spacing(max(values)) / within.mean_square**0.5
    tolerance = 1e-10 + 2.0 * stored
    assert (between.dof, within.dof) == (certified[0], certified[4])
    assert between.sum_squares == pytest.approx(certified[1], rel=tolerance)
    assert within.sum_squares == pytest.approx(certified[5], rel=tolerance)
    assert between.f == pytest.approx(certified[3], rel=2.0 * tolerance)


def strd(name: str) -> tuple[list[float], list[str], list[float]]:
    """Certified dof, SS, MS, F between, then dof, SS, MS within; the labels and the values."""
    lines = (STRD / f"{name}.dat").read_text().splitlines()
    table = [line.split() for line in lines if line.startswith(("Between", "Within"))]
    certified = [float(word) for words in table for word in words if _is_number(word)]
    rows = [line.split() for line in lines[60:] if line.strip()]
    return certified, [row[0] for row in rows], [float(row[1]) for row in rows]


def _is_number(word: str) -> bool:
    return word.replace(".", "").replace("E", "").replace("+", "").replace("-", "").isdigit()
