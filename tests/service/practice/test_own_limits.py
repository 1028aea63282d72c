"""Limits fitted to a person's own results: the fit against scipy, its interval against simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from service.practice.entries import Fit, PracticeBoard, with_fits
from service.practice.own_limits import NEEDED, LogisticFit, fit_logistic, own_limit
from tests.service.practice.builders import Sawyer, boards_of


def results(seed: int, limit_mm: float, boards: int = 60, width_mm: float = 0.02) -> list[PracticeBoard]:
    """Boards whose joints came out loose from a gap of about `limit_mm` on."""
    rng = np.random.default_rng(seed)
    return [
        with_fits(each, [_fit(socket.gap_mm, limit_mm, width_mm, rng) for socket in each.sockets])
        for each in boards_of(Sawyer(-0.2, 0.2, walls_deg=0.3), boards, rng)
    ]


def test_newtons_coefficients_are_scipys() -> None:
    rng = np.random.default_rng(1)
    z = rng.normal(0.0, 1.0, 60)
    bad = (rng.random(60) < 1.0 / (1.0 + np.exp(-(0.5 + 2.0 * z)))).astype(float)

    def loss(beta: np.ndarray) -> float:
        logit = beta[0] + beta[1] * z
        return float(np.logaddexp(0.0, logit).sum() - bad @ logit + 0.5 * beta @ beta / 2.5**2)

    expected = minimize(loss, np.zeros(2), method="BFGS", options={"gtol": 1e-9})
    fit = fit_logistic(z, bad)
    assert fit.coefficients == pytest.approx(expected.x, abs=1e-6)  # the other program's stopping rule
    assert fit.covariance == pytest.approx(_curvature_inverse(loss, fit.coefficients), rel=1e-4)  # finite differences


def test_kinds_that_do_not_overlap_still_have_a_finite_fit() -> None:
    z = np.array([-1.0, -0.9, -0.8, -0.7, -0.6, 0.6, 0.7, 0.8, 0.9, 1.0])
    fit = fit_logistic(z, (z > 0).astype(float))
    assert fit.crossing == pytest.approx(0.0, abs=1e-9)  # by symmetry
    assert 0.0 < fit.coefficients[1] < 20.0


def test_newton_does_not_overshoot_on_a_far_outlier() -> None:
    z = np.array([0.0, 0.1, -0.1, 0.05, 400.0, -0.05])
    fit = fit_logistic(z, np.array([0.0, 1.0, 0.0, 1.0, 0.0, 1.0]))
    chance = 1.0 / (1.0 + np.exp(-np.clip(fit.coefficients[0] + fit.coefficients[1] * z, -700, 700)))
    bad = np.array([0.0, 1.0, 0.0, 1.0, 0.0, 1.0])
    gradient = np.array([(bad - chance).sum(), ((bad - chance) * z).sum()]) - fit.coefficients / 2.5**2
    assert gradient == pytest.approx([0.0, 0.0], abs=1e-6)  # a stationary point, wherever it is


def test_fiellers_interval_is_exact_for_a_known_slope() -> None:
    """Without doubt about the slope it is the intercept's own interval over the slope."""
    interval = LogisticFit(np.array([-1.0, 2.0]), np.diag([0.04, 0.0])).crossing_interval()
    assert interval == pytest.approx((0.5 - 1.959964 * 0.1, 0.5 + 1.959964 * 0.1), abs=1e-6)  # digits of 1.959964


def test_a_slope_that_is_not_firm_gives_no_interval() -> None:
    assert LogisticFit(np.array([0.0, 1.0]), np.eye(2)).crossing_interval() is None
    assert LogisticFit(np.array([0.0, -9.0]), np.eye(2)).crossing_interval() is None


def test_the_interval_holds_the_true_limit_as_often_as_it_says() -> None:
    """95 % of 200 people, four standard deviations of the share being 0.062. The prior pulls flat fits a little."""
    found = [own_limit(results(seed, 0.12, boards=30), "gap") for seed in range(200)]
    held = [each.low_mm < 0.12 < each.high_mm for each in found if each and each.low_mm and each.high_mm]
    assert len(held) > 190
    assert np.mean(held) > 0.95 - 0.062


def test_the_limit_stands_beside_the_policy_and_changes_no_verdict() -> None:
    boards = results(3, 0.16)
    limit = own_limit(boards, "gap")
    assert limit is not None
    assert limit.limit_mm is not None
    assert limit.limit_mm == pytest.approx(0.16, abs=0.02)  # the width of the person's own grey zone
    assert limit.policy_mm == 0.10
    assert "the policy says 0.10 mm" in limit.sentence()
    assert f"(95 % interval {limit.low_mm:.2f} mm to {limit.high_mm:.2f} mm)" in limit.sentence()
    assert "0.004 in" in limit.sentence("inch")
    assert "changes no verdict" in limit.sentence()
    assert all(socket.gap_limit_mm == 0.10 for board in boards for socket in board.sockets)


def test_too_few_outcomes_of_a_kind_say_how_many_more() -> None:
    boards = boards_of(Sawyer(), 1, np.random.default_rng(4))
    limit = own_limit([with_fits(boards[0], ["seated", "seated", "loose", None])], "gap")
    assert limit is not None
    assert (limit.bad, limit.good, limit.missing) == (1, 2, (NEEDED - 1, NEEDED - 2))
    assert limit.sentence() == (
        "No limit of your own for gap yet:"
        " it takes 4 more pins that came out loose and 3 more pins that came out tight enough."
    )


def test_a_split_socket_says_nothing_of_gaps_and_a_loose_one_nothing_of_squeeze() -> None:
    (each,) = boards_of(Sawyer(), 1, np.random.default_rng(4))
    fitted = [with_fits(each, ["split", "seated", "loose", "not assembled"])]
    counts = [(limit.bad, limit.good) for limit in (own_limit(fitted, "gap"), own_limit(fitted, "squeeze")) if limit]
    assert counts == [(1, 1), (1, 1)]


def test_nobody_is_asked_to_split_wood() -> None:
    boards = boards_of(Sawyer(), 4, np.random.default_rng(5))
    limit = own_limit([with_fits(each, ["seated"] * 4) for each in boards], "squeeze")
    assert limit is not None
    assert limit.sentence().endswith("5 more pins that came out split. Do not split wood to get there.")


def test_results_that_follow_no_limit_leave_the_policy_alone() -> None:
    rng = np.random.default_rng(6)
    boards = boards_of(Sawyer(-0.2, 0.2, walls_deg=0.3), 12, rng)
    fits: list[list[Fit | None]] = [[["seated", "loose"][(i + j) % 2] for j in range(4)] for i in range(12)]  # type: ignore[misc]
    limit = own_limit([with_fits(each, fit) for each, fit in zip(boards, fits, strict=True)], "gap")
    assert limit is not None
    assert limit.limit_mm is None
    assert limit.sentence().endswith("stays the only limit.")


def test_a_half_pin_counts_by_its_own_policy() -> None:
    """Sockets split at 1.5 times their policy, whichever it is; the limit is told for a full pin."""
    rng = np.random.default_rng(7)
    boards = boards_of(Sawyer(0.2, -0.2, walls_deg=0.3), 60, rng)
    fitted = [
        with_fits(
            each,
            [
                "split" if s.squeeze_mm > 1.5 * (s.squeeze_limit_mm or 0.0) * rng.normal(1.0, 0.1) else "seated"
                for s in each.sockets
            ],
        )
        for each in boards
    ]
    limit = own_limit(fitted, "squeeze")
    assert limit is not None
    assert limit.limit_mm == pytest.approx(1.5 * 0.08, abs=0.012)  # the 10 % of grey zone


def test_nothing_driven_is_no_limit_at_all() -> None:
    assert own_limit(boards_of(Sawyer(), 3, np.random.default_rng(8)), "gap") is None


def _fit(gap_mm: float, limit_mm: float, width_mm: float, rng: np.random.Generator) -> Fit:
    chance = 1.0 / (1.0 + math.exp(-(gap_mm - limit_mm) / (0.3 * width_mm)))
    return "loose" if rng.random() < chance else "seated"


def _curvature_inverse(loss: object, at: np.ndarray, step: float = 1e-4) -> np.ndarray:
    """Inverse of the second differences of a function of two numbers."""
    assert callable(loss)
    axes = np.eye(2) * step
    second = [
        [
            (loss(at + a + b) - loss(at + a - b) - loss(at - a + b) + loss(at - a - b)) / (4.0 * step * step)
            for b in axes
        ]
        for a in axes
    ]
    return np.linalg.inv(np.array(second))
