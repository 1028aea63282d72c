"""Several photos of one end: what a card left, set up anew and turned brings, in numbers and on painted photos."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from calibration.quantity import Quantity, Source
from tests.scenes import Scene, rendered
from tests.vision.ends import measured
from vision.end.check import measure_end
from vision.end.report import Measurement, Placement, Wall
from vision.together.combine import Stack, combined
from vision.together.same_end import SameEnd, View, combine_views, likeness, numbers_of, shots_of
from vision.together.sharing import ACROSS, ALONG, SKEW, TILT_OF_CARD, Shot, as_seen

FIRST = Scene()
LEFT_AS_IT_WAS = Scene(tilt_deg=(-3.0, 2.0), roll_deg=-4.0, seed=11)
TURNED = Scene(card_edge=2, aim_mm=(60.0, 7.0), seed=12)
OTHER_FACE = Scene(card_side="transfer", seed=13)


@cache
def view(scene: Scene) -> View:
    side = "transfer" if scene.card_side == "transfer" else "show"
    found = measured(scene) if side == "show" else measure_end(rendered(scene).photo, card_side="transfer")
    return View(f"{scene.seed}.jpg", found)


def all_views() -> list[View]:
    return [view(scene) for scene in (FIRST, LEFT_AS_IT_WAS, TURNED, OTHER_FACE)]


@cache
def together() -> SameEnd:
    return combine_views(all_views())


def with_lean(one: View, wall: int, by_mm: float) -> View:
    """The view with one wall moved at its transfer face."""
    walls = list(one.measurement.walls)
    old = walls[wall]
    walls[wall] = replace(old, x_transfer=old.x_transfer + by_mm, out_of_square=old.out_of_square + by_mm)
    return View(one.name, replace(one.measurement, walls=tuple(walls)))


def laid_elsewhere(one: View, name: str, x_mm: float) -> View:
    place = replace(one.measurement.placement, middle_mm=(x_mm, 50.0))
    return View(name, replace(one.measurement, placement=place))


def test_how_the_card_lay_is_recognised() -> None:
    roles = together().roles
    assert [role.placement.edge for role in roles] == [0, 0, 2, 0]
    assert [role.placement.side for role in roles] == ["show", "show", "show", "transfer"]
    assert [role.set_up for role in roles] == [1, 1, 2, 3]
    assert all(role.used for role in roles)


def test_the_combined_end_is_true_within_its_uncertainty() -> None:
    for wall, lean in zip(together().measurement.walls, FIRST.leans_deg, strict=True):
        # As for single scenes: half as far again as U, which one in two hundred sets of six exceeds.
        assert wall.lean.value == pytest.approx(lean, abs=1.5 * wall.lean.u95)


def test_no_number_is_less_certain_than_in_the_best_photo() -> None:
    best = np.min([[number.u for number in means_of(one.measurement)] for one in all_views()], axis=0)
    found = np.array([number.u for number in means_of(together().measurement)])
    # The best mean cannot be worse than any one photo; the rounding of 1e-4 mm beside 0.01.
    assert np.all(found < 1.001 * best)


def means_of(measurement: Measurement) -> list[Quantity]:
    """Sizes, places halfway and what each wall is off square: the numbers that are averaged."""
    middles = [(wall.x_show + wall.x_transfer).scaled(0.5) for wall in measurement.walls]
    return [measurement.width, measurement.thickness, *middles, *(wall.out_of_square for wall in measurement.walls)]


def test_lean_and_off_square_of_the_combined_walls_belong_together() -> None:
    measurement = together().measurement
    for wall in measurement.walls:
        tangent = np.tan(np.radians(wall.lean.value))
        assert wall.out_of_square.value == pytest.approx(measurement.thickness.value * tangent, abs=1e-9)
        assert wall.out_of_square.value == pytest.approx(wall.x_transfer.value - wall.x_show.value, abs=1e-9)


def tilted(turn: int, set_up: str, photo: str) -> list[Quantity]:
    """One number of a photo in which nothing but the card's tilt and a little noise is uncertain."""
    quantity = Quantity(0.1, {ACROSS: 0.02, ALONG: 0.001, Source("card corners", "axis 0"): 0.001})
    return [as_seen(quantity, Shot(photo, set_up, "short", "phone", turn))]


@pytest.mark.parametrize(
    ("turn", "set_up", "left"),
    [(0, "1", 1.0), (0, "2", (1.0 + TILT_OF_CARD) / 2.0), (2, "2", (1.0 - TILT_OF_CARD) / 2.0)],
    ids=["left", "set up anew", "turned"],
)
def test_turning_the_card_cancels_its_tilt_through_the_covariance_alone(turn: int, set_up: str, left: float) -> None:
    both = combined([tilted(0, "1", "1"), tilted(turn, set_up, "2")])[0]
    # By symmetry the mean of two; of the tilt's variance `left` remains, of the noise half, 0.0007.
    assert both.u == pytest.approx(0.02 * np.sqrt(left), abs=0.001)


def test_errors_drawn_for_photos_with_turned_cards_scatter_as_stated() -> None:
    """Monte Carlo: every owner's error drawn once, every photo wrong by its own parts, then combined."""
    shots = [Shot("1", "1", "short", "p", 0), Shot("2", "1", "short", "p", 0), Shot("3", "2", "short", "p", 2)]
    stack = Stack.of([[as_seen(number, shot) for number in numbers_of(view(FIRST).measurement)] for shot in shots])
    rng = np.random.default_rng(14)
    errors = stack.parts.reshape(stack.values.size, -1) @ rng.standard_normal((len(stack.sources), 3000))
    _, parts = stack.estimate()
    # 3000 draws know a standard deviation to 1.3 %: four of those.
    np.testing.assert_allclose((stack.gain @ errors).std(axis=1), np.linalg.norm(parts, axis=1), rtol=0.053)


def test_what_turning_cancels_is_told() -> None:
    one = view(FIRST)
    walls = tuple(_with_tilt(wall) for wall in one.measurement.walls)
    plain = replace(one.measurement, walls=walls)
    turned = replace(plain, placement=Placement(2, 2, "show", (61.0, -13.0), 180.0))
    found = combine_views([View("a", plain), View("b", turned)])
    told = {each.cause: each for each in found.cancelled}
    assert told["card tilt"].after_mm < 0.1 * told["card tilt"].before_mm
    assert combine_views([View("a", plain), View("b", plain)]).cancelled == ()


def test_a_skewed_print_cancels_only_by_a_quarter_turn() -> None:
    one = view(FIRST).measurement
    walls = tuple(_with(wall, SKEW, 0.05) for wall in one.walls)
    against = tuple(_with(wall, SKEW, -0.05) for wall in one.walls)
    plain = View("a", replace(one, walls=walls))
    half = View("b", replace(one, walls=walls, placement=Placement(2, 2, "show", (61.0, -13.0), 180.0)))
    quarter = View("c", replace(one, walls=against, placement=Placement(1, 1, "show", (133.0, 20.0), -90.0)))
    assert "print skew" not in {each.cause for each in combine_views([plain, half]).cancelled}
    assert "print skew" in {each.cause for each in combine_views([plain, quarter]).cancelled}


def _with_tilt(wall: Wall) -> Wall:
    """The wall with a tilt across the thickness as its largest error."""
    return _with(wall, ACROSS, 0.05)


def _with(wall: Wall, source: Source, part_mm: float) -> Wall:
    """The wall with one error of its out of square in place of what there was."""
    x_transfer = replace(wall.x_transfer, parts={**wall.x_transfer.parts, source: part_mm})
    return replace(wall, x_transfer=x_transfer, out_of_square=x_transfer - wall.x_show)


def test_a_photo_that_disagrees_is_left_out_when_two_others_agree() -> None:
    views = all_views()
    found = combine_views([*views[:3], with_lean(views[3], 2, 0.5)])
    assert [role.used for role in found.roles] == [True, True, True, False]
    assert found.measurement.warnings[0].reason == "photo_left_out"
    assert (found.roles[3].differences[0].what, found.roles[3].differences[0].wall) == ("lean", 2)
    assert found.settled


def test_two_that_disagree_widen_what_they_disagree_about_and_nothing_else() -> None:
    views = [view(FIRST), with_lean(view(TURNED), 2, 0.5)]
    found = combine_views(views)
    assert not found.settled
    assert found.measurement.warnings[0].reason == "photos_disagree"
    honest = combine_views([view(FIRST), view(TURNED)]).measurement
    for index, (wall, before) in enumerate(zip(found.measurement.walls, honest.walls, strict=True)):
        own = [each.measurement.walls[index].out_of_square.value for each in views]
        if index == 2:
            assert all(abs(value - wall.out_of_square.value) <= wall.out_of_square.u95 for value in own)
        else:
            assert wall.out_of_square.u == pytest.approx(before.out_of_square.u, rel=1e-6)


def with_scale(one: View, factor: float) -> View:
    """The view as if its card had lain higher or lower: all lengths of x so many times as long, no angle changed."""
    walls = tuple(
        replace(wall, x_show=_moved(wall.x_show, middle), x_transfer=_moved(wall.x_transfer, middle))
        for wall in one.measurement.walls
        for middle in [(factor - 1.0) * (wall.x_show.value + wall.x_transfer.value) / 2.0]
    )
    return View(one.name, replace(one.measurement, width=one.measurement.width.scaled(factor), walls=walls))


def _moved(place: Quantity, by_mm: float) -> Quantity:
    return replace(place, value=place.value + by_mm)


@pytest.mark.parametrize("other", [with_lean(view(TURNED), 2, 0.5), with_scale(view(LEFT_AS_IT_WAS), 0.98)])
def test_the_combined_numbers_lie_between_those_of_photos_that_disagree(other: View) -> None:
    views = [view(FIRST), other]
    found = combine_views(views)
    assert not found.settled
    seen = np.array([[number.value for number in means_of(one.measurement)] for one in views])
    values = np.array([number.value for number in means_of(found.measurement)])
    assert np.all((seen.min(axis=0) - 1e-9 <= values) & (values <= seen.max(axis=0) + 1e-9))


def test_photos_that_differ_in_scale_alone_leave_the_leans_as_sure_as_they_were() -> None:
    views = [view(FIRST), with_scale(view(LEFT_AS_IT_WAS), 0.98)]
    walls = combine_views(views).measurement.walls
    for index, wall in enumerate(walls):
        alone = max(one.measurement.walls[index].out_of_square.u for one in views)
        apart = np.ptp([one.measurement.walls[index].out_of_square.value for one in views])
        assert wall.out_of_square.u < alone + apart


def test_photos_of_different_boards_are_refused_with_what_tells_them_apart() -> None:
    two_tails = replace(view(FIRST).measurement, walls=view(FIRST).measurement.walls[:4])
    with pytest.raises(CannotMeasure, match=r"do not show one and the same end\. a\.jpg shows 3 tails, b\.jpg 2"):
        combine_views([View("a.jpg", view(FIRST).measurement), View("b.jpg", two_tails)])


def test_photos_of_different_stages_are_refused() -> None:
    cleared = replace(view(FIRST).measurement, stage="cleared")
    with pytest.raises(CannotMeasure, match=r"a\.jpg shows the end sawn, b\.jpg cleared"):
        combine_views([View("a.jpg", view(FIRST).measurement), View("b.jpg", cleared)])


def test_photos_of_a_like_board_with_another_tail_are_refused() -> None:
    other = view(Scene(places_mm=(7.0, 23.0, 33.0, 51.5, 59.0, 75.0), seed=15)).measurement
    with pytest.raises(CannotMeasure, match=r"Tail 2 is 16.* mm wide in .* and 18.* mm wide in"):
        combine_views([view(FIRST), View("b.jpg", other)])


def test_without_a_photo_there_is_nothing_to_combine() -> None:
    with pytest.raises(ValueError, match="at least one photo"):
        combine_views([])


def test_a_single_photo_stays_what_it_is() -> None:
    found = combine_views([view(FIRST)])
    for before, after in zip(numbers_of(view(FIRST).measurement), numbers_of(found.measurement), strict=True):
        assert after.value == pytest.approx(before.value, abs=1e-6)
        assert after.u == pytest.approx(before.u, rel=1e-3)  # the rounding of 1e-4 mm that keeps matrices invertible
    assert found.roles[0].deviation is None


def test_set_ups_are_told_apart_by_where_the_card_lies() -> None:
    views = [laid_elsewhere(view(FIRST), name, x) for name, x in (("a", 60.0), ("b", 60.1), ("c", 63.0), ("d", 60.0))]
    assert [shot.set_up for shot in shots_of(views)] == ["1", "1", "2", "1"]


def test_a_photo_told_from_the_wrong_face_is_unlike_the_first() -> None:
    wrong = measured(OTHER_FACE)
    assert likeness(view(FIRST).measurement, wrong) < 1e-4
    assert likeness(view(FIRST).measurement, view(OTHER_FACE).measurement) > 0.01


def test_the_warnings_of_all_photos_are_kept_once() -> None:
    found: Measurement = combine_views([view(FIRST), view(FIRST)]).measurement
    assert len(set(found.warnings)) == len(found.warnings)
