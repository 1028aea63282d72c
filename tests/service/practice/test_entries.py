"""Boards of the log, built from results and from words."""

from __future__ import annotations

import copy
import datetime as dt
import json
import math
from importlib import resources
from typing import Any

import jsonschema
import numpy as np
import pytest
from scipy.stats import norm

from service.practice.entries import Chances, in_order, with_fits
from service.practice.from_result import chance_above, from_result
from tests.service.practice.builders import board
from tests.vision.photos import report

RESULT: dict[str, Any] = {
    "schema": 1,
    "ok": True,
    "stage": "sawn",
    "advice": "start over",
    "photo": {"px_per_mm": 18.685, "camera_tilt_deg": 4.79},
    "card": {"kind": "short", "corners": 33, "rms_px": 0.0222},
    "board": {"width_mm": 74.4, "thickness_mm": 15.5, "u95_mm": 0.32},
    "walls": [
        {
            "tail": 0, "side": side, "lean_deg": lean, "lean_u95_deg": 0.12, "x_show_mm": x, "x_transfer_mm": x + out,
            "x_u95_mm": 0.07, "out_of_square_mm": out, "squareness_zone_mm": 0.2, "kerf_mm": 0.6, "flags": ["rough"],
        }
        for side, lean, x, out in (("left", -0.98, 7.3, -0.265), ("right", 0.09, 34.1, 0.024))
    ],
    "sockets": [
        {
            "kind": "half", "width_show_mm": 7.3, "width_transfer_mm": 7.0, "taper_mm": 0.265, "taper_u95_mm": 0.03,
            "gap_mm": 0.12, "squeeze_mm": 0.03, "crush_ratio": 1.3, "split_index": 2.9, "verdict": "too close to call",
            "gap_interval_mm": [0.08, 0.16], "squeeze_interval_mm": [0.01, 0.05], "squeeze_limit_mm": 0.04,
        },
        {
            "kind": "half", "width_show_mm": 40.3, "width_transfer_mm": 40.3, "taper_mm": 0.02, "taper_u95_mm": 0.08,
            "gap_mm": 0.02, "squeeze_mm": 0.0, "crush_ratio": 0.0, "split_index": 0.0, "verdict": "seats",
        },
    ],
    "warnings": [],
}  # fmt: skip

DAY = dt.date(2026, 3, 4)


def test_a_result_becomes_a_board_with_its_numbers() -> None:
    built = from_result(RESULT, identity="7", date=DAY, person="student 1", species="cherry", saw="old saw")
    assert (built.species, built.saw, built.advice, built.date) == ("cherry", "old saw", "start over", DAY)
    assert [wall.lean_deg for wall in built.walls] == [-0.98, 0.09]
    assert built.walls[0].position == pytest.approx((7.3 - 0.1325) / 74.4, rel=1e-12)  # middle of the wall over width
    assert built.walls[1].flags == ("rough",)


def test_out_of_square_inherits_the_uncertainty_of_the_lean() -> None:
    """A finite difference of T tan(lean): the second order is 1e-5 of it at a tenth of a degree."""
    wall = from_result(RESULT, identity="7", date=DAY, person="a").walls[0]
    step = 15.5 * (math.tan(math.radians(-0.98 + 0.06)) - math.tan(math.radians(-0.98 - 0.06)))
    assert wall.out_of_square_u95_mm == pytest.approx(step, rel=1e-4)


def test_chances_are_the_normal_tails_that_the_intervals_imply() -> None:
    socket = from_result(RESULT, identity="7", date=DAY, person="a").sockets[0]
    loose, splitting = norm.sf(0.10, 0.12, 0.04 / norm.ppf(0.975)), norm.sf(0.04, 0.03, 0.02 / norm.ppf(0.975))
    assert socket.chances is not None
    assert socket.chances.splitting == pytest.approx(splitting, rel=1e-9)  # two programs, double precision
    assert socket.chances.loose == pytest.approx(loose * (1.0 - splitting), rel=1e-9)
    assert socket.chances.seats == pytest.approx((1.0 - loose) * (1.0 - splitting), rel=1e-9)


def test_a_socket_without_intervals_has_no_chances() -> None:
    assert from_result(RESULT, identity="7", date=DAY, person="a").sockets[1].chances is None


def test_a_lopsided_interval_counts_by_the_half_that_faces_the_limit() -> None:
    assert chance_above(0.02, (0.0, 0.10), 0.10) == pytest.approx(0.025, rel=1e-9)  # the interval's own tail
    assert chance_above(0.12, (0.10, 0.30), 0.10) == pytest.approx(0.975, rel=1e-9)


def test_a_certain_number_is_above_the_limit_or_not() -> None:
    assert chance_above(0.0, (0.0, 0.0), 0.1) == 0.0
    assert chance_above(0.2, (0.2, 0.2), 0.1) == 1.0


def test_a_refusal_another_schema_and_a_missing_key_are_told() -> None:
    keys: dict[str, Any] = {"identity": "7", "date": DAY, "person": "a"}
    with pytest.raises(ValueError, match="photo that was refused"):
        from_result({"schema": 1, "ok": False}, **keys)
    with pytest.raises(ValueError, match="schema must be 1, got 2"):
        from_result({**RESULT, "schema": 2}, **keys)
    damaged = copy.deepcopy(RESULT)
    del damaged["walls"][1]["lean_u95_deg"]
    with pytest.raises(ValueError, match="no 'lean_u95_deg'"):
        from_result(damaged, **keys)


def test_fits_are_laid_on_the_sockets_from_the_left() -> None:
    fitted = with_fits(board([0.1, 0.2]), ["seated", None])
    assert [socket.fit for socket in fitted.sockets] == ["seated", None]
    with pytest.raises(ValueError, match="one for each of 2 sockets, got 1"):
        with_fits(fitted, ["loose"])


def test_boards_of_one_day_keep_their_order() -> None:
    first, second, earlier = board([0.1, 0.2], number=3), board([0.3, 0.4], number=3), board([0.1, 0.1], number=1)
    assert in_order([first, second, earlier]) == [earlier, first, second]


@pytest.mark.parametrize("leans", [[], [0.1]])
def test_a_board_has_walls(leans: list[float]) -> None:
    template = board([0.1, 0.2])
    with pytest.raises(ValueError, match="walls must be at least two"):
        type(template)(**{**vars(template), "walls": template.walls[: len(leans)]})


def test_impossible_values_are_refused_by_name() -> None:
    wall, socket = board([0.1, 0.2]).walls[0], board([0.1, 0.2]).sockets[0]
    with pytest.raises(ValueError, match="lean_deg must be a finite number, got nan"):
        type(wall)(**{**vars(wall), "lean_deg": math.nan})
    with pytest.raises(ValueError, match="lean_u95_deg must be a finite number, not negative"):
        type(wall)(**{**vars(wall), "lean_u95_deg": -1.0})
    with pytest.raises(ValueError, match="side must be one of left, right"):
        type(wall)(**{**vars(wall), "side": "up"})
    with pytest.raises(ValueError, match="fit must be one of seated, loose, split, not assembled, None, got 'tight'"):
        type(socket)(**{**vars(socket), "fit": "tight"})
    with pytest.raises(ValueError, match="must add up to 1"):
        Chances(0.5, 0.5, 0.5)
    with pytest.raises(ValueError, match="width_mm and thickness_mm must be greater"):
        board([0.1, 0.2], width_mm=0.0)


def test_failing_sockets_are_the_firm_ones() -> None:
    rng = np.random.default_rng(0)
    several = board(list(rng.normal(0.0, 1.0, 8)))
    assert several.failed == sum(socket.verdict in ("loose", "splitting") for socket in several.sockets) > 0


def test_the_example_keeps_the_schema_of_results() -> None:
    schema = json.loads(resources.files("vision").joinpath("answer/result.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(RESULT)


def test_a_result_of_the_program_itself_becomes_a_board() -> None:
    made = report()
    built = from_result(json.loads(json.dumps(made.to_dict())), identity="7", date=DAY, person="a")
    assert [wall.lean_deg for wall in built.walls] == pytest.approx(
        [wall.lean.value for wall in made.measurement.walls],
        abs=5e-5,  # printed digits
    )
    assert [socket.verdict for socket in built.sockets] == [socket.verdict for socket in made.prediction.sockets]


@pytest.mark.parametrize(
    ("lean_deg", "lean_u95_deg", "half_pin_u95_mm"), [(-0.9782, 0.1236, 0.0336), (-0.9338, 0.1097, 0.0298)]
)
def test_out_of_square_is_as_uncertain_as_the_taper_of_a_half_pin(
    lean_deg: float, lean_u95_deg: float, half_pin_u95_mm: float
) -> None:
    """Of a half pin only the wall is measured, its board's edge counting as square. Numbers of a check of the sample
    maple-sawn-knife.jpg, 15.5789 mm thick, printed to four decimals."""
    result = copy.deepcopy(RESULT)
    result["board"]["thickness_mm"] = 15.5789
    result["walls"][0] |= {"lean_deg": lean_deg, "lean_u95_deg": lean_u95_deg}
    wall = from_result(result, identity="7", date=DAY, person="a").walls[0]
    assert wall.out_of_square_u95_mm == pytest.approx(half_pin_u95_mm, abs=1e-4)


def test_firm_verdicts_have_firm_chances() -> None:
    """A limit missed by more than U leaves at most 2.5 % for the other side, as the interval is drawn."""
    for socket in from_result(report().to_dict(), identity="7", date=DAY, person="a").sockets:
        assert socket.chances is not None
        if socket.verdict == "splitting":
            assert socket.chances.splitting > 0.97
        if socket.verdict == "seats":
            assert max(socket.chances.loose, socket.chances.splitting) < 0.03
