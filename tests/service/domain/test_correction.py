"""Rows of walls as people correct them: what was moved, what was not, and what cannot be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.domain.check import Answer, Check, StoredPhoto, Told
from service.domain.correction import TYPED_ZOOM, UNMOVED_PX, Correction, lines_of, row_of
from service.domain.fit import MOST_SOCKETS
from service.domain.mistakes import MistakeError
from service.domain.wall_line import WallLine
from tests.service.house import BEGIN

ENDS = ((100.0, 50.0), (101.0, 230.0)), ((260.0, 52.0), (259.0, 232.0))
RESULT = {"ok": True, "advice": "transfer", "walls": [{"show_px": list(a), "transfer_px": list(b)} for a, b in ENDS]}
LINES = tuple(WallLine(*ends) for ends in ENDS)


def check(result: dict[str, object] = RESULT, walls: tuple[WallLine, ...] = ()) -> Check:
    photo = StoredPhoto("a.jpg", "JPEG")
    return Check(
        "c", "b", "ann", photo, "0", BEGIN, told=Told(walls=walls), state="measured", answer=Answer(result, {})
    )


def test_the_lines_are_those_of_the_answer() -> None:
    assert lines_of(check()) == LINES


def test_a_placed_line_stays_as_it_was_placed() -> None:
    placed = WallLine((258.0, 40.0), (257.5, 240.0), 4.0)
    assert lines_of(check(walls=(LINES[0], placed))) == (LINES[0], placed)


def test_a_line_that_nobody_placed_lies_where_the_answer_has_it_now() -> None:
    before, placed = WallLine((99.0, 50.0), (100.0, 230.0)), WallLine((258.0, 40.0), (257.5, 240.0), 4.0)
    assert lines_of(check(walls=(before, placed))) == (LINES[0], placed)


@pytest.mark.parametrize(
    "walls", [[{}], [{"show_px": 3, "transfer_px": [1, 2]}], [{"show_px": [-9, 1], "transfer_px": [1, 2]}]]
)
def test_an_answer_that_does_not_tell_its_lines_has_none(walls: list[object]) -> None:
    assert lines_of(check(RESULT | {"walls": walls})) == ()
    assert lines_of(replace(check(), state="waiting")) == ()


def test_only_lines_that_were_moved_count_as_placed() -> None:
    moved = WallLine((262.0, 52.0), (259.0, 232.0), 6.0)
    rounded = WallLine((100.0 + UNMOVED_PX / 2.0, 50.0), (101.0, 230.0), 6.0)
    assert row_of(LINES, [rounded, moved]) == (LINES[0], moved)


def test_a_line_that_was_typed_counts_as_seen_at_its_own_size() -> None:
    assert row_of(LINES, [LINES[0], WallLine((262.0, 52.0), (259.0, 232.0))])[1].zoom == TYPED_ZOOM


def test_a_row_that_changes_nothing_or_makes_no_pairs_is_a_mistake() -> None:
    with pytest.raises(MistakeError, match="nothing to correct"):
        row_of(LINES, LINES)
    for walls in (LINES[:1], (), LINES * 100):
        with pytest.raises(MistakeError, match="come in pairs"):
            row_of(LINES, walls)


def test_a_row_has_two_walls_to_every_socket_that_a_board_may_have() -> None:
    row = [WallLine((500.0 + number, 50.0), (500.0 + number, 230.0), 2.0) for number in range(2 * MOST_SOCKETS + 2)]
    assert row_of(LINES, row[:-2]) == tuple(row[:-2])
    with pytest.raises(MistakeError, match="come in pairs"):
        row_of(LINES, row)


@pytest.mark.parametrize(
    ("ends", "zoom"), [((-1.0, 5.0), 1.0), ((float("nan"), 5.0), 1.0), ((1e9, 5.0), 1.0), ((1.0, 5.0), 0.0)]
)
def test_a_line_lies_in_the_photo_and_was_seen_somehow(ends: tuple[float, float], zoom: float) -> None:
    with pytest.raises(MistakeError):
        WallLine(ends, (10.0, 200.0), zoom)


def test_a_line_reaches_to_the_edges_of_any_photo_and_was_seen_at_any_size_that_a_screen_shows() -> None:
    for zoom in (0.02, 64.0):
        line = WallLine((0.0, 5.0), (20_000.0, 200.0), zoom)
        for wrong in (
            {"show_px": (-1e-9, 5.0)},
            {"transfer_px": (10.0, 20_000.001)},
            {"zoom": 0.02 - 1e-9},
            {"zoom": 64.0 + 1e-9},
        ):
            with pytest.raises(MistakeError) as caught:
                replace(line, **wrong)  # type: ignore[arg-type]
            assert caught.value.field == "walls"


def test_a_check_keeps_its_own_answer_beside_the_corrected_one_until_that_ends() -> None:
    own, row = check(), (LINES[0], replace(LINES[1], zoom=2.0))
    waiting = own.corrected_to(row)
    by_hand = Answer(RESULT | {"advice": "start over"}, {})
    stands = waiting.answered(by_hand)
    assert (waiting.state, stands.advice, stands.corrected) == ("waiting", "start over", True)
    assert stands.original == own.answer
    assert stands.corrected_to(row).original == own.answer
    assert stands.uncorrected() == own
    for failed in (waiting.answered(Answer({"ok": False}, {})), waiting.given_up(Answer({}, {}))):
        assert failed == own


def test_a_correction_tells_what_came_of_it() -> None:
    made = Correction("x", "c", "ann", "Ann", BEGIN, LINES, "knife line")
    assert made.stands
    assert made.answered(Answer(RESULT, {})).advice == "transfer"
    lost = made.answered(Answer({"ok": False}, {"mm": {"message": "Lines cross."}}))
    assert (lost.state, lost.said, lost.stands) == ("unusable", "Lines cross.", False)
    with pytest.raises(MistakeError, match="too long"):
        replace(made, why="x" * 501)
