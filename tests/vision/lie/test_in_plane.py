"""Card and end out of plane: refused when firmly far out, remarked on when likely, or when it is what U is made of."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from calibration.prints.known import NOTHING_KNOWN, Known, told_size
from calibration.quantity import Quantity, Source
from tests.vision.lies import Board, Fits, View, leans_of, photograph
from vision.lie.card_lie import CardLie
from vision.lie.find_lie import FoundLie
from vision.lie.in_plane import check_in_plane, lie_share

PLACES = np.array([8.0, 24.0, 34.0, 50.0, 60.0, 76.0])
SCATTER_DEG = np.array([0.02, -0.03, 0.01, 0.03, -0.02, -0.01])
ROUGH_DEG = np.array([0.9, -1.1, 0.8, -0.9, 1.2, -0.8])
FITS = Fits()


def found(
    along_deg: float = 0.0,
    across_deg: float = 0.0,
    *,
    lean_deg: np.ndarray = ROUGH_DEG,
    fits: Fits = FITS,
    known: Known = NOTHING_KNOWN,
) -> FoundLie:
    board = Board(84.0, 18.0, PLACES[: len(lean_deg)], np.radians(lean_deg))
    lie = CardLie(0.0, *np.tan(np.radians([along_deg, across_deg])).tolist())
    return photograph(board, lie, View(), fits, np.random.default_rng(3)).found(known)


def reasons(lie: FoundLie) -> list[str]:
    return [kind.reason for kind in check_in_plane(lie, leans_of(lie.numbers))]


def test_a_good_end_gives_no_warning() -> None:
    assert reasons(found()) == []


def test_faces_out_of_parallel_are_remarked_on_and_then_refused() -> None:
    assert reasons(found(0.3)) == []
    assert "card_tilt_suspected" in reasons(found(1.8))
    # The likeliest tilt, a tenth nearer to none than it is: even firm evidence is weighed against the usual set-up.
    with pytest.raises(CannotMeasure, match="tilted by about 3 degrees") as caught:
        reasons(found(4.0))
    assert caught.value.refusal.reason == "card_not_in_plane"


@pytest.mark.parametrize("axis", ["along", "across"])
@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("firm_deg", "told"),
    [(0.499, []), (0.501, ["card_tilt_suspected"]), (0.749, ["card_tilt_suspected"]), (0.751, None)],
)
def test_a_tilt_counts_by_what_it_is_beyond_its_uncertainty(
    axis: str, sign: float, firm_deg: float, told: list[str] | None
) -> None:
    tilt = Quantity(sign * (firm_deg + 0.2), {Source("lens", "k1"): 0.1}, "deg")
    tilted = found()._replace(**{axis: tilt})
    if told is not None:
        assert reasons(tilted) == told
        return
    with pytest.raises(CannotMeasure, match="tilted by about 1 degrees"):
        reasons(tilted)


def test_a_slipped_block_is_refused_for_what_shows_of_it_along_the_width() -> None:
    # Across the thickness hardly anything shows beside a sawyer's own scatter, and it may be as far out.
    with pytest.raises(CannotMeasure, match="tilted by about 2 degrees"):
        reasons(found(2.2, 6.0))


def test_a_fan_of_even_walls_is_remarked_on_and_then_refused() -> None:
    assert "card_tilt_suspected" in reasons(found(0.0, 5.8, lean_deg=SCATTER_DEG))
    with pytest.raises(CannotMeasure, match="tilted by about"):
        reasons(found(0.0, 7.0, lean_deg=SCATTER_DEG))


def test_a_fan_lost_in_the_walls_own_scatter_is_not_evidence() -> None:
    assert "card_tilt_suspected" not in reasons(found(0.0, 3.0))


def test_two_walls_are_too_few_to_make_a_fan() -> None:
    assert reasons(found(0.0, 6.0, lean_deg=SCATTER_DEG[:2])) == []


def test_faces_seen_unsurely_are_no_evidence() -> None:
    unsure = Fits(show_rad=float(np.radians(0.3)), transfer_rad=float(np.radians(0.3)))
    assert "card_tilt_suspected" not in reasons(found(2.0, fits=unsure))


def test_it_is_said_when_the_lie_is_what_u_is_made_of() -> None:
    sure = Fits(wall_rad=float(np.radians(0.005)), wall_mm=0.001)
    assert "card_lie_dominates" in reasons(found(1.6, fits=sure))
    assert "card_lie_dominates" not in reasons(found())


@pytest.mark.parametrize(("share", "told"), [(0.49, []), (0.51, ["card_lie_dominates"])])
def test_the_lie_dominates_from_half_of_the_variance_of_the_middle_lean_on(share: float, told: list[str]) -> None:
    parts = {Source("card tilt", "along the width"): share**0.5, Source("lens", "k1"): (1.0 - share) ** 0.5}
    leans = [
        Quantity(0.1, {Source("lens", "k1"): 1.0}),
        Quantity(0.1, parts),
        Quantity(0.1, {Source("card tilt"): 1.0}),
    ]
    assert [kind.reason for kind in check_in_plane(found(), leans)] == told


def test_a_told_size_that_does_not_fit_is_remarked_on() -> None:
    assert "told_size_doubted" in reasons(found(known=Known(thickness=told_size("thickness", 20.0))))


def test_the_lies_share_is_of_the_variance() -> None:
    quantity = Quantity(1.0, {Source("card tilt", "along the width"): 3.0, Source("lens", "k1"): 4.0})
    assert lie_share(quantity) == pytest.approx(9.0 / 25.0, rel=1e-12)
    assert lie_share(Quantity(1.0)) == 0.0
