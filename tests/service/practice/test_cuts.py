"""Practice cuts from board to board: what is followed of them, and when a change counts."""

from __future__ import annotations

import json
import math
from datetime import timedelta

import numpy as np
import pytest

from service.domain.practice_cuts import CutFigures, LoggedCuts, figures_of
from service.practice.cuts import CUTS_LEAN, CUTS_METRICS, CUTS_SCATTER, cuts_progress, cuts_series, cuts_trends
from tests.service.house import BEGIN
from tests.vision.drills import CARD_U_DEG, OWN_U_DEG, made_drill
from vision.drill.result import DrillResult


def logged(figures: list[CutFigures]) -> list[LoggedCuts]:
    return [LoggedCuts(f"id-{i}", f"Scrap {i}", BEGIN + timedelta(days=i), each) for i, each in enumerate(figures)]


def figures(*leans_deg: float) -> CutFigures:
    return figures_of(json.loads(json.dumps(DrillResult.of("", made_drill(leans_deg)).to_dict())))


def test_figures_are_mean_and_standard_deviation_with_what_measuring_leaves_open() -> None:
    leans = [0.5, 0.7, 0.4, 0.8]
    found = figures(*leans)
    assert found.mean_deg == pytest.approx(np.mean(leans), abs=1e-5)  # told to five decimals
    assert found.sd_deg == pytest.approx(np.std(leans, ddof=1), abs=1e-5)
    assert found.mean_u_deg == pytest.approx(math.hypot(CARD_U_DEG, OWN_U_DEG), abs=1e-4)  # told to four
    assert found.sd_u_deg == pytest.approx(OWN_U_DEG, abs=1e-4)  # what all cuts share does not scatter them


def test_a_single_cut_has_neither_and_its_board_is_left_out() -> None:
    log = logged([figures(0.5), figures(0.5, 0.7)])
    for metric in CUTS_METRICS.values():
        assert cuts_series(log, metric).identities == ("id-1",)
    assert len(cuts_series([], CUTS_LEAN).values) == 0


@pytest.mark.parametrize(
    "damage",
    [
        lambda result: result.pop("drill"),
        lambda result: result["drill"].update(work_on="rest"),
        lambda result: result["drill"].update(cuts=[]),
        lambda result: result["drill"].update(mean_lean_deg=7),
        lambda result: result["drill"]["spread_deg"].update(sd="much"),
    ],
)
def test_a_damaged_result_is_told_as_one(damage: object) -> None:
    result = json.loads(json.dumps(DrillResult.of("", made_drill([0.5, 0.7])).to_dict()))
    damage(result)  # type: ignore[operator]
    with pytest.raises((KeyError, TypeError, ValueError)):
        figures_of(result)


def steady(mean_deg: float, sd_deg: float, seed: int, boards: int = 6) -> list[CutFigures]:
    rng = np.random.default_rng(seed)
    return [CutFigures(mean, 0.05, sd_deg, 0.03) for mean in rng.normal(mean_deg, 0.05, boards)]


def test_a_change_beyond_its_uncertainty_counts_and_a_smaller_one_does_not() -> None:
    told = {each.metric: each.verdict for each in cuts_progress(logged(steady(0.8, 0.5, 1) + steady(0.1, 0.2, 2)))}
    assert told == {CUTS_LEAN: "better", CUTS_SCATTER: "better"}
    told = {each.metric: each.verdict for each in cuts_progress(logged(steady(0.30, 0.3, 1) + steady(0.25, 0.29, 2)))}
    assert told == {CUTS_LEAN: "no change", CUTS_SCATTER: "no change"}
    assert {each.verdict for each in cuts_progress(logged(steady(0.5, 0.3, 1, 4)))} == {"too few"}


def test_no_progress_is_told_of_who_does_not_change() -> None:
    """Of hands that stay as they are, five in a hundred may be told otherwise, both numbers counted together."""
    alarms = 0
    for seed in range(400):
        log = logged(steady(0.3, 0.0, seed, 16))
        alarms += any(each.verdict in ("better", "worse") for each in cuts_progress(log))
    assert alarms / 400 <= 0.05


def test_a_board_unlike_the_others_is_a_signal() -> None:
    trend = cuts_trends(logged([*steady(0.1, 0.2, 3, 11), CutFigures(2.0, 0.05, 0.2, 0.03)]))["cuts_lean"]
    assert 11 in trend.judged_points()
    assert trend.to_chart()["points"]["board"][-1] == "id-11"
