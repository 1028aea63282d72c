"""The result JSON: valid by its schema, the numbers those of the report."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib import resources

import jsonschema
import numpy as np
import pytest

from calibration.outcome import REFUSALS, WARNINGS, refuse
from tests.vision.photos import report
from vision.answer.result import refusal_dict, result_dict, socket_edges_mm

SCHEMA = json.loads(resources.files("vision").joinpath("answer/result.schema.json").read_text(encoding="utf-8"))
KEYS = {"schema", "ok", "stage", "advice", "photo", "card", "board", "walls", "sockets", "warnings"}


def validate(value: object) -> None:
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(json.dumps(value)))


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_a_report_keeps_the_schema_and_all_keys_that_others_rely_on() -> None:
    value = report().to_dict()
    validate(value)
    assert value.keys() >= KEYS


@pytest.mark.parametrize("reason", sorted(REFUSALS))
def test_every_refusal_keeps_the_schema(reason: str) -> None:
    validate(refusal_dict(refuse(reason).refusal))


@pytest.mark.parametrize("key", sorted(KEYS))
def test_a_report_without_one_of_the_keys_does_not(key: str) -> None:
    value = report().to_dict()
    del value[key]
    with pytest.raises(jsonschema.ValidationError, match="not valid under any"):
        validate(value)


def test_numbers_are_the_reports_own_to_a_tenth_of_a_micrometre() -> None:
    made = report()
    value, wall = made.to_dict(), made.measurement.walls[1]
    assert value["walls"][1]["out_of_square_mm"] == pytest.approx(wall.out_of_square.value, abs=5e-5)
    assert value["walls"][1]["lean_u95_deg"] == pytest.approx(wall.lean.u95, abs=5e-5)
    assert value["board"]["width_mm"] == pytest.approx(made.measurement.width.value, abs=5e-5)
    assert value["board"]["u95_mm"] == pytest.approx(0.06)  # the larger of 0.04 and 0.06
    assert [socket["verdict"] for socket in value["sockets"]] == [s.verdict for s in made.prediction.sockets]


def test_a_wall_is_told_where_it_meets_the_faces_in_the_photo_with_its_kerf_and_the_cameras_profile() -> None:
    made = report(turns=1)
    measured = made.measurement
    first, *others, last = measured.walls
    walls = (replace(first, kerf_mm=0.61234), *others, replace(last, kerf_mm=None))
    measured = replace(measured, walls=walls, card=replace(measured.card, profile="bench phone"))
    value = replace(made, measurement=measured).to_dict()
    for wall, told in zip(walls, value["walls"], strict=True):
        ends_mm = np.array([[wall.x_show.value, 0.0], [wall.x_transfer.value, measured.thickness.value]])
        told_px = np.array([told["show_px"], told["transfer_px"]])
        assert told_px == pytest.approx(measured.to_image(ends_mm), abs=5.001e-3)
    assert [told["kerf_mm"] for told in value["walls"]] == [0.6123, *[0.6] * 4, None]
    assert value["photo"]["camera_profile"] == "bench phone"
    assert made.to_dict()["photo"]["camera_profile"] is None


def test_a_result_is_either_a_report_or_a_refusal() -> None:
    assert result_dict(report())["ok"] is True
    assert result_dict(refuse("no_card").refusal)["refusal"]["reason"] == "no_card"


def test_warnings_are_given_by_their_short_names() -> None:
    made = report()
    object.__setattr__(made.measurement, "warnings", (WARNINGS["soft_photo"],))
    assert made.to_dict()["warnings"] == ["soft_photo"]


def test_sockets_lie_between_the_walls_from_edge_to_edge() -> None:
    """The made board: half pins of 7 mm, a pin of 8, tails of 20."""
    made = report().measurement
    edges = socket_edges_mm(made.walls, made.width.value)
    expected = [(0.0, 7.0), (27.0, 35.0), (55.0, 63.0), (83.0, 90.0)]
    assert np.array(edges) == pytest.approx(np.array(expected), abs=1e-12)  # identity
