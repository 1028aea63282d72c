"""What photos share and with which sign, held against the geometry of a card that is turned."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.card import CARDS
from calibration.plane import Floats
from calibration.quantity import Quantity, Source
from tests.scenes import Scene, camera, end_frame
from vision.end.uncertainty import EndPoints
from vision.lie.card_lie import CARD_TILT_U, CardLie, TiltedView, lie_moves
from vision.photo.card_turn import quarter_turns
from vision.photo.strip import Frame
from vision.together.sharing import (
    ACROSS,
    ALONG,
    FIT_OF_END,
    LENS_OF_CAMERA,
    SCALES,
    SKEW,
    TILT_OF_CARD,
    Shot,
    as_if_alone,
    as_seen,
    with_print_turned,
)

CARD = CARDS["short"]
PLANE = camera(Scene())
PLACES = np.array([7.0, 23.0, 33.0, 49.0, 59.0, 75.0])
WAYS = {
    "as the arrow says": Scene(),
    "end for end": Scene(card_edge=2),
    "along the transfer face": Scene(card_side="transfer"),
    "a quarter": Scene(card_edge=1),
    "a quarter the other way": Scene(card_edge=3),
}
EDGE = Source("wall edge place", "tail 0 left")


def points_of(scene: Scene) -> EndPoints:
    """Corners and six square walls of the scene's end, in the card's plane."""
    frame, t = end_frame(scene), scene.thickness_mm
    corners = [[x, y] for y in (0.0, t) for x in (0.0, scene.width_mm)]
    ends = [[place, y] for place in PLACES for y in (0.0, t)]
    return EndPoints(frame, frame.to_plane(np.array(corners + ends)))


def out_of_square(shape: EndPoints, points: Floats) -> Floats:
    """Out of square (walls,) of moved points, mm."""
    numbers = shape.numbers(points)
    return np.asarray(numbers[3::2] - numbers[2::2])


def stated(shape: EndPoints) -> list[Quantity]:
    """Out of square of every wall with what the set-up's tilts do to it."""
    base = out_of_square(shape, shape.points)
    moves = lie_moves(PLANE, shape.middle_frame)
    changes = {source: out_of_square(shape, moves[source](shape.points)) - base for source in (ALONG, ACROSS)}
    return [Quantity(0.0, {s: float(change[wall]) for s, change in changes.items()}) for wall in range(len(PLACES))]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_tilt_of_the_card_itself_goes_with_the_card(way: str, axis: str) -> None:
    shape = points_of(WAYS[way])
    middle = Frame.turned(np.array([CARD.width_mm, CARD.height_mm]) / 2.0, 0.0)
    lie = CardLie(along=CARD_TILT_U) if axis == "x" else CardLie(across=CARD_TILT_U)
    real = out_of_square(shape, TiltedView(PLANE, middle, lie).true_points(shape.points))
    shot = Shot("1", card="short", turn=quarter_turns(shape.frame))
    source = Source("card tilt", f"card {axis}, card short")
    told = [as_seen(quantity, shot).parts.get(source, 0.0) / np.sqrt(TILT_OF_CARD) for quantity in stated(shape)]
    # To first order: the tilt's own square, 5e-6, of 18 mm; a change of scale with height does nothing to square walls.
    np.testing.assert_allclose(told, real, atol=2e-4)
    assert np.abs(real).max() > 1e-3


def sheared(shape: EndPoints, skew: float) -> Floats:
    """What a printed skew does to the walls: the true points of the plane are sheared in the card's axes."""
    return out_of_square(shape, shape.points + shape.points[:, ::-1] * [skew, 0.0])


@pytest.mark.parametrize("way", WAYS)
def test_a_prints_skew_changes_its_sign_with_a_quarter_turn_only(way: str) -> None:
    usual, turned = sheared(points_of(Scene()), 1e-4), sheared(points_of(WAYS[way]), 1e-4)
    one = with_print_turned(Quantity(0.0, {SKEW: float(usual[0])}), WAYS[way].card_edge)
    # To first order: skew times the board's own turn against the card, 0.4 degrees, of 18 mm.
    assert turned[0] == pytest.approx(one.parts[SKEW], abs=1e-4 * 18.0 * 0.02)
    assert abs(turned[0]) == pytest.approx(18.0 * 1e-4, rel=0.01)


def test_scales_change_places_with_a_quarter_turn() -> None:
    quantity = Quantity(80.0, {SCALES[0]: 0.2, SCALES[1]: 0.01})
    assert with_print_turned(quantity, 1).parts == {SCALES[0]: 0.01, SCALES[1]: 0.2}
    assert with_print_turned(quantity, 2).parts == quantity.parts


def test_naming_owners_takes_nothing_from_the_uncertainty() -> None:
    other_tilt = Source("card tilt", "as the faces tell it")
    parts = {EDGE: 0.03, SKEW: -0.02, ALONG: 0.01, ACROSS: 0.04, Source("lens", "k1"): 0.01, other_tilt: 0.02}
    quantity = Quantity(0.2, parts)
    for turn in range(4):
        assert as_seen(quantity, Shot("1", turn=turn)).u == pytest.approx(quantity.u, rel=1e-12)
    assert as_if_alone(quantity, Shot("1")).u == pytest.approx(quantity.u, rel=1e-12)


def test_taken_as_if_alone_photos_share_the_print_and_nothing_else() -> None:
    quantity = Quantity(0.2, {EDGE: 0.03, SKEW: -0.02, ALONG: 0.01, Source("card height"): 0.04})
    first, second = (as_if_alone(quantity, Shot(photo, "1", "short", "phone")).parts for photo in "12")
    assert {source: second[source] for source in first if source in second} == {
        Source("print skew", "card short"): -0.02
    }


def shared(quantity: Quantity, one: Shot, other: Shot) -> float:
    """Correlation between what two photos say of one quantity."""
    a, b = as_seen(quantity, one).parts, as_seen(quantity, other).parts
    return sum(part * b.get(source, 0.0) for source, part in a.items()) / quantity.u**2


def test_photos_share_what_their_common_owner_brings() -> None:
    first = Shot("1", "1", "short", "phone")
    second, anew, other_phone = (
        Shot("2", "1", "short", "phone"),
        Shot("2", "2", "short", "phone"),
        Shot("2", "1", "short"),
    )
    assert shared(Quantity(0.0, {EDGE: 1.0}), first, second) == pytest.approx(FIT_OF_END)
    assert shared(Quantity(0.0, {Source("card corners", "axis 0"): 1.0}), first, second) == 0.0
    assert shared(Quantity(0.0, {Source("card height"): 1.0}), first, second) == pytest.approx(1.0)
    assert shared(Quantity(0.0, {Source("card height"): 1.0}), first, anew) == 0.0
    assert shared(Quantity(0.0, {ALONG: 1.0}), first, second) == pytest.approx(1.0)
    assert shared(Quantity(0.0, {ALONG: 1.0}), first, anew) == pytest.approx(TILT_OF_CARD)
    assert shared(Quantity(0.0, {Source("lens", "k1"): 1.0}), first, other_phone) == 0.0


def test_a_lens_known_by_a_profile_is_wrong_alike_in_all_its_photos() -> None:
    lens = Quantity(0.0, {Source("lens", "k1"): 1.0})
    first, second = (Shot(photo, camera="phone", profiled=True) for photo in "12")
    assert shared(lens, first, second) == pytest.approx(1.0)
    assert shared(lens, Shot("1", camera="phone"), Shot("2", camera="phone")) == pytest.approx(LENS_OF_CAMERA)


def test_a_cause_nobody_knows_never_averages_out() -> None:
    assert shared(Quantity(0.0, {Source("gravity"): 1.0}), Shot("1"), Shot("2")) == pytest.approx(1.0)
