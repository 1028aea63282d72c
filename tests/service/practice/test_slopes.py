"""Slopes of faces beside those asked for: firm words only beyond the uncertainty, and none on contradicted photos."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from service.domain.assignment import Policy
from service.domain.check import Answer, Check, StoredPhoto, View
from service.domain.together import Together
from service.practice.slopes import Slopes, class_sentence, slope_word, slopes_of

ASKED = Policy(slope_steepest_n=6.0, slope_flattest_n=8.0)
SENT = datetime(2026, 3, 2, tzinfo=UTC)


def kerf(n: float, u95: float = 0.004, tail: int = 0, side: str = "left") -> dict[str, Any]:
    """A cut with a slope of 1:n."""
    return {"tail": tail, "side": side, "slope": 1.0 / n, "slope_u95": u95}


def face(*kerfs: dict[str, Any], view: View = "show", name: str = "c", **more: Any) -> Check:
    answer = Answer({"ok": True, "kerfs": list(kerfs)}, {})
    told = {"state": "measured", "answer": answer} | more
    return Check(name, "b", "ann", StoredPhoto("p", "JPEG"), name, SENT, view, **told)


def seen(*checks: Check, policy: Policy = ASKED, together: Together | None = None) -> Slopes:
    found = slopes_of(checks, policy, together)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("n", "u95", "word"),
    [
        (7.0, 0.004, "within"),
        (6.0, 0.004, "too close to call"),
        (8.0, 0.004, "too close to call"),
        (7.0, 0.03, "too close to call"),
        (5.0, 0.004, "outside"),
        (10.0, 0.004, "outside"),
        (-7.0, 0.004, "outside"),
        (1e9, 0.004, "outside"),  # square
    ],
)
def test_a_slope_is_within_or_outside_only_beyond_its_uncertainty(n: float, u95: float, word: str) -> None:
    assert slope_word(1.0 / n, u95, ASKED) == word


def test_an_open_end_is_no_limit() -> None:
    assert slope_word(0.5, 0.004, Policy(slope_flattest_n=8.0)) == "within"
    assert slope_word(0.0, 0.004, Policy(slope_steepest_n=6.0)) == "within"
    assert slopes_of([face(kerf(7.0))], Policy()) is None


def test_a_slope_at_the_limit_is_called_wrong_as_seldom_as_promised() -> None:
    """At the limit itself, U of two standard deviations: beyond it by more than U in 2.3 % of measurements."""
    rng = np.random.default_rng(7)
    measured = 1.0 / 6.0 + rng.normal(0.0, 0.002, 4000)
    outside = np.mean([slope_word(float(slope), 0.004, ASKED) == "outside" for slope in measured])
    assert outside == pytest.approx(0.0228, abs=3.0 * (0.0228 / 4000) ** 0.5)  # three standard errors of a share


def test_all_faces_are_told_with_their_intervals_in_one_sentence() -> None:
    slopes = seen(face(kerf(7.0), kerf(5.0, side="right")), face(kerf(6.0), view="transfer", name="d"))
    assert [(cut.view, cut.word) for cut in slopes.cuts] == [
        ("show", "within"),
        ("show", "outside"),
        ("transfer", "too close to call"),
    ]
    assert slopes.cuts[0].told == "1:7.0 (1:6.8 to 1:7.2)"  # 1 / (1/7 +- 0.004)
    assert slopes.sentence == (
        "Slopes asked for: 1:6 to 1:8. Of 3 cuts measured 1 is within, 1 is outside, 1 is too close to call."
    )


def test_without_a_face_it_is_said_what_would_tell() -> None:
    refused = face(state="refused", answer=Answer({"ok": False}, {}))
    for checks in ((), (refused,), (face(kerf(7.0), view="end"),)):
        assert "a photo of the show or the transfer face would tell" in seen(*checks).sentence


def test_the_newest_photo_of_a_face_counts() -> None:
    assert [cut.word for cut in seen(face(kerf(5.0)), face(kerf(7.0), name="d")).cuts] == ["within"]


def test_a_newer_photo_that_could_not_be_measured_leaves_the_older_ones_slopes() -> None:
    refused = face(name="d", state="refused", answer=Answer({"ok": False}, {}))
    assert [cut.word for cut in seen(face(kerf(5.0)), refused).cuts] == ["outside"]


@pytest.mark.parametrize(("doubt", "word"), [(None, "outside"), ("end", "outside"), ("show", "too close to call")])
def test_a_face_that_the_other_photos_contradict_is_never_called(doubt: str | None, word: str) -> None:
    told = Answer({"end": None, "board": {"ok": True, "agreement": {"doubt": doubt}}}, {})
    slopes = seen(face(kerf(5.0)), together=Together("b", answer=told))
    assert slopes.cuts[0].word == word
    assert ("contradict that of the show face" in slopes.sentence) == (doubt == "show")


def test_of_a_single_slope_it_is_said_that_only_its_absence_can_be_told() -> None:
    exact = Policy(slope_steepest_n=7.0, slope_flattest_n=7.0)
    slopes = seen(face(kerf(7.0), kerf(5.0)), policy=exact)
    assert [cut.word for cut in slopes.cuts] == ["too close to call", "outside"]
    assert "exactly 1:7 no measurement can tell" in slopes.sentence


def test_a_class_is_told_over_the_boards_of_which_a_face_is_measured() -> None:
    boards = [[face(kerf(7.0), kerf(7.0))], [face(kerf(5.0))], []]
    assert class_sentence(boards, ASKED) == (
        "Slopes asked for: 1:6 to 1:8. Over 2 boards with a photo of a face, of 3 cuts 2 are within, 1 is outside."
    )
    assert class_sentence([[]], ASKED) == class_sentence(boards, Policy()) == ""


def test_a_damaged_result_has_no_cuts() -> None:
    assert seen(face({"tail": 0}), face(kerf(7.0, -1.0), view="transfer")).cuts == ()
