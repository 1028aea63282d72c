"""The drawn result: where things are, that they are there, and that the photo is left alone. No picture baselines."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.vision.photos import measurement, photo, report
from vision.answer import overlay, sketch
from vision.answer.overlay import draw_overlay, exaggeration
from vision.answer.page import MOST_ROWS, block_rows, rows_needed
from vision.answer.palette import LOOKS, PAPER
from vision.answer.view import PICTURE_WIDTH_PX
from vision.joint.seating import Limits, predict_seating


def texts_of(monkeypatch: pytest.MonkeyPatch, **options: object) -> list[sketch.Text]:
    """Every text that an overlay sets."""
    caught: list[sketch.Text] = []
    monkeypatch.setattr(sketch, "write", lambda canvas, texts: caught.extend(texts))
    draw_overlay(photo(), report(), **options)  # type: ignore[arg-type]
    return caught


def has_colour(picture: np.ndarray, colour: tuple[int, int, int]) -> bool:
    return bool((picture == np.array(colour, np.uint8)).all(axis=2).sum() > 50)


def test_the_overlay_is_a_picture_for_a_phone_and_leaves_the_photo_alone() -> None:
    original = photo()
    before = original.rgb.copy()
    picture = draw_overlay(original, report())
    assert picture.dtype == np.uint8
    assert picture.shape[1:] == (PICTURE_WIDTH_PX, 3)
    assert (original.rgb == before).all()


@pytest.mark.parametrize("turns", [0, 1])
def test_each_verdict_shows_its_colour_and_no_other_does(turns: int) -> None:
    result = report(turns=turns)
    verdicts = {socket.verdict for socket in result.prediction.sockets}
    assert {"splitting", "loose"} <= verdicts
    picture = draw_overlay(photo(turns), result)
    for verdict, look in LOOKS.items():
        assert has_colour(picture, look.colour) == (verdict in verdicts)


def test_the_words_say_verdicts_tails_scale_and_factor(monkeypatch: pytest.MonkeyPatch) -> None:
    words = [text.words for text in texts_of(monkeypatch)]
    assert words[0].startswith("Start over")
    assert {"tail 1", "tail 2", "10 mm", "LOOSE", "SPLITTING", "left half pin", "between tails 1 and 2"} <= set(words)
    factor = exaggeration(measurement().walls)
    assert any(f"drawn {factor} times as large" in line for line in words)


def test_inches_are_shown_to_those_who_ask(monkeypatch: pytest.MonkeyPatch) -> None:
    words = " ".join(text.words for text in texts_of(monkeypatch, units="inch"))
    assert " in wide" in words
    assert "1/2 in" in words
    assert "squeeze 0.0" in words


def test_all_words_lie_within_the_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    height_px = draw_overlay(photo(), report()).shape[0]
    for text in texts_of(monkeypatch):
        width_px = sketch.text_width(text.words, text.size_px)
        left = text.at[0] - {"l": 0.0, "m": 0.5, "r": 1.0}[text.anchor[0]] * width_px
        assert left >= 0
        assert left + width_px <= PICTURE_WIDTH_PX
        assert 0 <= text.at[1] <= height_px - text.size_px / 2


def test_small_text_can_be_read_on_a_phone(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a screen 70 mm wide, nothing under 1.3 mm: the lower bound of newsprint's small type."""
    assert min(text.size_px for text in texts_of(monkeypatch)) * 70.0 / PICTURE_WIDTH_PX >= 1.3


def test_the_largest_factor_is_taken_that_keeps_walls_short_and_apart() -> None:
    assert exaggeration(measurement((0.01, 0.01, 0.01, 0.01)).walls) == 20
    assert exaggeration(measurement((0.3, 0.3, 0.3, 0.3)).walls) == 10
    assert exaggeration(measurement((0.5, 3.9, 0.5, 0.5)).walls) == 1
    assert exaggeration(measurement((9.0, 0.0, 0.0, 0.0)).walls) == 1


def test_a_square_board_is_drawn_too() -> None:
    result = report((0.0, 0.0, 0.0, 0.0))
    assert {socket.verdict for socket in result.prediction.sockets} == {"seats"}
    assert has_colour(draw_overlay(photo(), result), LOOKS["seats"].colour)


def test_an_open_verdict_says_how_bad_it_may_be() -> None:
    walls = measurement((0.0, 0.05, 0.04, 0.0), u_mm=0.03)
    sockets = predict_seating(walls.walls, walls.width, walls.thickness, limits=Limits()).sockets
    unsure = next(socket for socket in sockets if socket.verdict == "too close to call")
    assert " up to " in overlay._amount(unsure, 0.10, "mm")


def test_blocks_of_words_take_as_few_rows_as_keep_them_apart() -> None:
    assert rows_needed([100.0, 500.0, 900.0], 350.0) == 1
    assert rows_needed([100.0, 300.0, 500.0], 350.0) == 2
    assert rows_needed([100.0, 200.0, 300.0, 400.0, 500.0], 350.0) == MOST_ROWS


def test_blocks_of_words_keep_their_rows_in_turn_where_no_leader_runs_through_one() -> None:
    assert block_rows([100.0, 500.0, 900.0], [200.0, 500.0, 800.0], 300.0) == [0, 0, 0]
    assert block_rows([200.0, 400.0, 600.0], [200.0, 400.0, 600.0], 350.0) == [1, 0, 1]


def test_leaders_run_through_no_block_of_words_that_the_pictures_border_pushed_aside() -> None:
    # The last block belongs 60 px farther right, where the picture ends: the leader before it would cut through it.
    points, blocks, width_px = [275.0, 520.0, 757.0, 998.0, 1237.0, 1482.0], [275, 520, 757, 998, 1237, 1400.0], 400.0
    rows = block_rows(points, blocks, width_px)
    for number, (x, row) in enumerate(zip(points, rows, strict=True)):
        above = [block for block, other in zip(blocks, rows, strict=True) if other < row]
        assert all(abs(x - block) >= width_px / 2.0 for block in above)
        beside = [block for other, block in enumerate(blocks) if rows[other] == row and other != number]
        assert all(abs(blocks[number] - block) >= width_px for block in beside)


def test_a_card_on_the_transfer_side_is_in_the_picture_as_well() -> None:
    wide = replace(report(), measurement=measurement())
    heights = [draw_overlay(photo(), wide, card_side=side).shape[0] for side in ("show", "transfer")]
    assert heights[0] > heights[1]  # the made photo ends below the end, so less of it can be shown there


def test_a_line_has_an_edge_in_the_opposite_shade() -> None:
    canvas = np.full((60, 200, 3), 150, np.uint8)
    sketch.draw_line(canvas, np.array([10.0, 30.0]), np.array([190.0, 30.0]), sketch.Stroke(PAPER, 4.0))
    assert tuple(canvas[30, 100]) == PAPER
    assert canvas[27, 100].max() < 80


def test_dashes_leave_gaps() -> None:
    canvas = np.full((40, 400, 3), 150, np.uint8)
    stroke = sketch.Stroke(PAPER, 3.0, (6.0, 6.0), 0.0)
    sketch.draw_line(canvas, np.array([10.0, 20.0]), np.array([390.0, 20.0]), stroke)
    drawn = (canvas[20, 10:390, 0] > 200).mean()
    assert 0.4 < drawn < 0.75  # half, and the round ends of 3 px lines


def test_words_are_wrapped_to_the_width() -> None:
    lines = sketch.wrapped("Start over: the left half pin and the right half pin are too tight", 40, 500.0)
    assert len(lines) > 1
    assert all(sketch.text_width(line, 40) <= 500.0 for line in lines)
    assert sketch.wrapped("short", 40, 10.0) == ["short"]
