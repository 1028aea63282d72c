"""Series, their charts as data, and what of their scatter is the measurement's."""

from __future__ import annotations

import datetime as dt
import json
import math
from dataclasses import replace

import numpy as np
import pytest

from service.practice.columns import columns_of
from service.practice.series import ABS_LEAN, LEAN, METRICS, SPREAD, TAPER, Series, series_of
from service.practice.signals import Signal
from service.practice.trend import all_trends, is_good, trend_of
from tests.service.practice.builders import START, Sawyer, board, boards_of

EXACT = 1e-12
"""Sums of a few numbers of like size."""


def series_from(values: list[float], u: float = 0.0) -> Series:
    dates = tuple(START + dt.timedelta(days=i) for i in range(len(values)))
    return Series(ABS_LEAN, dates, tuple(map(str, range(len(values)))), np.array(values), np.full(len(values), u))


def test_metrics_of_a_board_are_what_their_names_say() -> None:
    leans = [0.3, -0.1, 0.5, -0.3]
    columns = columns_of([board(leans, lean_u95_deg=0.2)])
    values = {name: series_of(columns, metric).values.tolist() for name, metric in METRICS.items()}
    assert values["lean"] == pytest.approx([0.1], rel=EXACT)
    assert values["abs_lean"] == pytest.approx([0.3], rel=EXACT)
    assert values["spread"] == pytest.approx([np.std(leans, ddof=1)], rel=EXACT)
    outs = 19.0 * np.tan(np.radians(leans))
    assert values["out_of_square"] == pytest.approx([abs(outs).mean()], rel=EXACT)
    assert values["taper"] == pytest.approx([(outs[1] - outs[0] + outs[3] - outs[2]) / 3], rel=EXACT)
    assert values["days_between"] == []


def test_a_mean_is_known_no_better_than_its_walls_since_they_share_a_photo() -> None:
    columns = columns_of([board([0.3, -0.1, 0.5, -0.3], lean_u95_deg=0.2)])
    for metric in (LEAN, ABS_LEAN, SPREAD):
        assert series_of(columns, metric).u == pytest.approx([0.1], rel=EXACT)


def test_the_stated_uncertainty_of_a_spread_covers_its_real_error_however_walls_share() -> None:
    """Root mean square error of spreads over 400 boards at most u, for errors of one's own and for shared ones."""
    rng = np.random.default_rng(1)
    true = rng.normal(0.0, 0.2, (400, 6))
    for shared in (0.0, 0.7, 1.0):
        noise = math.sqrt(shared) * rng.normal(0.0, 0.1, (400, 1)) + math.sqrt(1 - shared) * rng.normal(
            0, 0.1, (400, 6)
        )
        errors = (true + noise).std(axis=1, ddof=1) - true.std(axis=1, ddof=1)
        assert np.sqrt((errors**2).mean()) <= 0.1


def test_boards_are_charted_by_date_whatever_their_order() -> None:
    boards = [board([0.1 * n, 0.0], number=n) for n in (3, 1, 2)]
    series = series_of(columns_of(boards), LEAN)
    assert series.values == pytest.approx([0.05, 0.1, 0.15], rel=EXACT)
    assert series.identities == ("student 1 board 1", "student 1 board 2", "student 1 board 3")


def test_a_board_without_sockets_has_no_taper_but_a_lean() -> None:
    boards = [board([0.1, 0.2], number=0), replace(board([0.1, 0.2], number=1), sockets=())]
    columns = columns_of(boards)
    assert series_of(columns, TAPER).identities == ("student 1 board 0",)
    assert len(series_of(columns, LEAN).values) == 2


def test_days_between_boards_are_counted_from_the_second_on() -> None:
    boards = [board([0.1, 0.2], number=n) for n in (0, 1, 5)]
    assert series_of(columns_of(boards), METRICS["days_between"]).values.tolist() == [2.0, 8.0]


def test_a_chart_holds_everything_a_page_draws_and_is_json() -> None:
    boards = boards_of(Sawyer(), 25, np.random.default_rng(2))
    for trend in all_trends(boards).values():
        chart = json.loads(json.dumps(trend.to_chart(), allow_nan=False))
        count = len(trend.series.values)
        assert all(len(column) == count for column in chart["points"].values())
        assert len(chart["ewma"]["value"]) == len(chart["ewma"]["upper"]) == len(chart["cusum"]["lower"]) == count
        assert chart["limits"]["lower"] <= chart["limits"]["centre"] <= chart["limits"]["upper"]
        assert len(chart["moving_range"]["value"]) == count - 1


def test_the_ranges_and_the_moving_average_of_a_chart_are_drawn_between_their_limits() -> None:
    chart = trend_of(series_from([0.5, 0.6] * 6 + [2.0]), baseline=12).to_chart()
    assert chart["moving_range"]["signals"] == [11]
    lower, upper = chart["ewma"]["lower"][0], chart["ewma"]["upper"][0]
    assert lower < chart["limits"]["centre"] < upper
    assert upper - chart["limits"]["centre"] == pytest.approx(chart["limits"]["centre"] - lower)


def test_waiting_times_are_charted_on_nelsons_power_of_them() -> None:
    boards = [board([0.1, 0.2], number=n) for n in (0, 1, 5, 6, 9)]
    chart = all_trends(boards)["days_between"].to_chart()
    days = np.array([2.0, 8.0, 2.0, 6.0])
    assert chart["moving_range"]["value"] == pytest.approx(abs(np.diff(days ** (1 / 3.6))))
    assert chart["limits"]["centre"] == pytest.approx((days ** (1 / 3.6)).mean() ** 3.6)


def test_no_boards_and_few_boards_make_charts_without_limits() -> None:
    for count in (0, 1, 2):
        for trend in all_trends(boards_of(Sawyer(), count, np.random.default_rng(3))).values():
            chart = json.loads(json.dumps(trend.to_chart(), allow_nan=False))
            assert (chart["limits"], chart["signals"]) == (None, [])


def test_a_shift_after_the_baseline_is_a_dated_signal_and_said_to_be_good_or_bad() -> None:
    trend = trend_of(series_from([0.5, 0.4, 0.6, 0.5, 0.45, 0.55, 0.5, 0.5, 0.4, 0.6] + [0.05] * 3), baseline=10)
    assert trend.baseline is not None
    assert (trend.baseline.count, trend.baseline.centre) == (10, pytest.approx(0.5, rel=EXACT))
    beyond = [signal for signal in trend.signals if signal.rule == "beyond_limits"]
    assert [signal.first for signal in beyond] == [10, 11, 12]
    assert is_good(beyond[0], ABS_LEAN) is True
    assert is_good(beyond[0], LEAN) is None
    assert trend.drifting
    limit = "Below the control limit: this board is unlike the others."
    assert trend.sentences()[0] == f"12 Mar 2026 to 14 Mar 2026, 3 times; the last: {limit}"


def test_runs_that_tell_nothing_are_not_spoken_of_beside_a_signal() -> None:
    ups_and_downs = [0.5, 0.4, 0.6, 0.5, 0.45, 0.55, 0.52, 0.48, 0.41, 0.6, 0.44, 0.57]
    quiet = trend_of(series_from(ups_and_downs), baseline=10)
    signalled = trend_of(series_from([*ups_and_downs, 0.05, 0.55, 0.45]), baseline=10)
    calm = "By the runs about your median nothing has changed beyond chance."
    assert quiet.signals == ()
    assert calm in quiet.sentences()
    assert signalled.signals
    assert signalled.run is not None
    assert signalled.run.sentence == calm
    assert calm not in signalled.sentences()


def test_limits_from_few_boards_are_called_provisional() -> None:
    few, many = (trend_of(series_from([0.1, 0.3, 0.2] * n)) for n in (2, 10))
    assert "will still move" in few.sentences()[-1]
    assert "will still move" not in many.sentences()[-1]


def test_columns_of_a_series_must_be_of_one_length() -> None:
    with pytest.raises(ValueError, match="of one length"):
        Series(LEAN, (START,), ("a",), np.zeros(2), np.zeros(2))


def test_a_point_of_two_signals_goes_by_the_worse_of_them() -> None:
    trend = trend_of(series_from([1.0, 1.1] * 6))
    low, high = (Signal("one_side", first, last, side, "") for first, last, side in ((0, 3, -1), (3, 4, 1)))
    judged = replace(trend, signals=(low, high)).judged_points()
    assert judged == {0: True, 1: True, 2: True, 3: False, 4: False}
