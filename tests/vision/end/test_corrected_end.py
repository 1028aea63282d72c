"""An end whose walls a person corrected: the numbers follow the placed lines, and nothing else changes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import jsonschema
import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from tests.scenes import Scene, end_view, rendered
from tests.vision.answer.test_result import SCHEMA
from tests.vision.ends import measured
from vision.answer.result import Report
from vision.answer.words import correction_sentences
from vision.end.check import measure_end
from vision.end.report import Measurement
from vision.joint.seating import predict_seating
from vision.walls.placed import ToldWall

SCENE = Scene()
ZOOM = 6.0


def lines(found: Measurement) -> list[ToldWall]:
    """The walls' lines in the photo, as found."""
    deep = found.thickness.value
    ends = [np.array([[wall.x_show.value, 0.0], [wall.x_transfer.value, deep]]) for wall in found.walls]
    return [ToldWall(*map(tuple, found.to_image(each).tolist())) for each in ends]


def true_lines(scene: Scene) -> list[ToldWall]:
    """The walls' lines where they truly are in the photo, each placed by hand."""
    truth, view = rendered(scene), end_view(scene)
    told = []
    for show, transfer in zip(truth.x_show, truth.x_transfer, strict=True):
        ends = truth.frame.to_plane(np.array([[show, 0.0], [transfer, scene.thickness_mm]]))
        told.append(ToldWall(*map(tuple, truth.plane.to_image(view.seen_points(ends)).tolist()), ZOOM))
    return told


@cache
def corrected(index: int, by_px: float, scene: Scene = SCENE) -> Measurement:
    """The scene with one wall's end at the show face moved along the photo's x."""
    told = lines(measured(scene))
    x, y = told[index].show_px
    told[index] = ToldWall((x + by_px, y), told[index].transfer_px, ZOOM)
    return measure_end(rendered(scene).photo, told=told)


@pytest.mark.parametrize("scene", [SCENE, Scene(cleared=True), Scene(lines=(0, 3)), Scene(lie=(0.0, 0.9, 0.0))])
def test_walls_placed_where_they_truly_are_have_their_true_lean(scene: Scene) -> None:
    found = measure_end(rendered(scene).photo, told=true_lines(scene))
    for wall, lean in zip(found.walls, rendered(scene).lean_deg, strict=True):
        assert abs(wall.lean.value - lean) < wall.lean.u95
        assert wall.flags == ("placed_by_hand",)


def test_lines_left_as_they_were_give_the_answer_as_it_was() -> None:
    again, before = measure_end(rendered(SCENE).photo, told=lines(measured(SCENE))), measured(SCENE)
    assert again.walls == before.walls
    assert not again.corrections


def test_lines_placed_on_the_found_ones_give_the_same_places() -> None:
    told = [ToldWall(line.show_px, line.transfer_px, ZOOM) for line in lines(measured(SCENE))]
    again = measure_end(rendered(SCENE).photo, told=told)
    for wall, before in zip(again.walls, measured(SCENE).walls, strict=True):
        # The way to pixels and back goes past the lie of the card, followed along straight lines: under a micrometre.
        assert wall.x_show.value == pytest.approx(before.x_show.value, abs=1e-3)
        assert wall.x_transfer.value == pytest.approx(before.x_transfer.value, abs=1e-3)


def test_a_moved_end_moves_its_wall_by_as_many_millimetres_and_the_taper_of_its_socket() -> None:
    before, after = measured(SCENE), corrected(3, 3.0)
    # The photo's x is turned by 1.4 degrees against the end's, and its scale varies by 1 % along it.
    moved_mm = 3.0 / before.px_per_mm
    assert after.walls[3].x_show.value - before.walls[3].x_show.value == pytest.approx(moved_mm, rel=0.02)
    tapers = [predict_seating(each.walls, each.width, each.thickness).sockets for each in (before, after)]
    change = [now.taper.value - then.taper.value for then, now in zip(*tapers, strict=True)]
    # Socket 2 lies between wall 3, its left one, and wall 4: a wall that moves right at the show face narrows it there.
    assert change[2] == pytest.approx(-moved_mm, rel=0.02)
    assert np.abs(np.delete(change, 2)).max() < 1e-3  # the card's lie is believed from all walls: a few micrometres


def test_no_other_wall_moves_or_becomes_less_certain() -> None:
    before, after = measured(SCENE), corrected(3, 3.0)
    for index in (0, 1, 2, 4, 5):
        then, now = before.walls[index], after.walls[index]
        assert now.lean.value == pytest.approx(then.lean.value, abs=then.lean.u95 / 50.0)
        assert now.lean.u95 == pytest.approx(then.lean.u95, rel=0.02)
        assert now.flags == then.flags
    assert after.width.value == pytest.approx(before.width.value, abs=1e-3)  # past the card's lie, as above
    assert after.width.u95 == pytest.approx(before.width.u95, rel=0.02)


def test_only_the_walls_own_part_of_the_uncertainty_is_replaced() -> None:
    then, now = measured(SCENE).walls[3].out_of_square, corrected(3, 3.0).walls[3].out_of_square
    own = {"wall edge place", "wall edge direction", "placed by hand"}
    shared = {source: part for source, part in then.parts.items() if source.cause not in own}
    assert {source for source in now.parts if source.cause not in own} == set(shared)
    assert dict(now.budget())["placed by hand"] > dict(then.budget())["wall edge direction"]
    for source, part in shared.items():
        # They follow the wall's place, which moved by a hundredth of the thickness; half a micrometre is a hundredth
        # of what the hand adds.
        assert now.parts[source] == pytest.approx(part, rel=0.05, abs=5e-4)


def test_the_original_is_told_beside_the_corrected() -> None:
    before, after = measured(SCENE), corrected(3, 3.0)
    assert after.corrections.placed == {3: before.walls[3]}
    report = Report("", after, predict_seating(after.walls, after.width, after.thickness))
    result = report.to_dict()
    jsonschema.validate(result, SCHEMA)
    assert [(each["tail"], each["side"]) for each in result["corrected"]] == [(1, "right")]
    assert result["corrected"][0]["was"]["lean_deg"] == round(before.walls[3].lean.value, 4)
    assert correction_sentences(after) == [
        "The right wall of tail 2 was placed by hand: 0.20 mm to the right at the show face,"
        " where it was at the transfer face."
    ]


def test_the_result_tells_where_the_walls_lie_in_the_photo() -> None:
    found = measured(SCENE)
    result = Report("", found, predict_seating(found.walls, found.width, found.thickness)).to_dict()
    assert result["photo"]["size_px"] == list(SCENE.size_px)
    for wall, line in zip(result["walls"], lines(found), strict=True):
        np.testing.assert_allclose([wall["show_px"], wall["transfer_px"]], line.ends_px, atol=0.005)  # two decimals


def test_a_pair_that_is_no_cut_is_left_out_and_told() -> None:
    told = lines(measured(SCENE))
    found = measure_end(rendered(SCENE).photo, told=[*told[:3], *told[5:]])
    assert [wall.x_show.value for wall in found.walls] == pytest.approx(
        [wall.x_show.value for wall in (*measured(SCENE).walls[:3], measured(SCENE).walls[5])], abs=2e-3
    )
    assert [wall.tail for wall in found.corrections.left_out] == [1, 2]
    assert correction_sentences(found)[0] == (
        "What the program took for the right wall of tail 2 does not count as one."
    )


def test_a_card_along_the_transfer_face_is_corrected_as_well() -> None:
    scene = replace(SCENE, card_side="transfer")
    found = measure_end(rendered(scene).photo, card_side="transfer")
    told = lines(found)
    told[2] = replace(told[2], zoom=ZOOM)
    again = measure_end(rendered(scene).photo, card_side="transfer", told=told)
    assert again.walls[2].lean.value == pytest.approx(found.walls[2].lean.value, abs=1e-3)


def test_walls_that_make_no_tails_are_refused() -> None:
    with pytest.raises(CannotMeasure) as caught:
        measure_end(rendered(SCENE).photo, told=lines(measured(SCENE))[1:])
    assert caught.value.refusal.reason == "told_walls_unusable"
