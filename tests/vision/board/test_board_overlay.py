"""A board drawn on all its photos: one name and one colour for a wall in each, and the photo to doubt is marked."""

from dataclasses import replace

import numpy as np
import pytest

from tests.vision.faces import end_measurement, face_measurement, moved_face, true_board
from tests.vision.photos import HEIGHT_PX, WIDTH_PX, photo
from vision.answer import sketch
from vision.answer.palette import LOOKS
from vision.answer.view import PICTURE_WIDTH_PX
from vision.board import overlay
from vision.board.judge import judge_board
from vision.board.overlay import doubted_views, draw_board_photos, odd_walls, wall_label

BOARD = true_board([0.0, 0.3, 0.3, -0.3, -0.3, 0.0], [0.0] * 6)
"""Between tails 1 and 2 far too tight, between 2 and 3 far too loose."""
PX_PER_MM, LEFT_PX, NEAR_PX = 9.0, 120.0, 420.0


def straight(points):
    """x to the right, the frame's second axis downward."""
    return np.asarray(points, float) * PX_PER_MM + (LEFT_PX, NEAR_PX)


def upside_down(points):
    """The same photo held the other way round."""
    return (WIDTH_PX - 1.0, HEIGHT_PX - 1.0) - straight(points)


def mirrored(points):
    """x to the left, depth downward: another view of a face, as its other side would be seen."""
    return straight(np.asarray(points) * (-1.0, 1.0) + (BOARD.width_mm, 0.0))


def board(faces=None, to_image=straight):
    seen = faces or [face_measurement(BOARD, view) for view in ("show", "transfer")]
    end = replace(end_measurement(BOARD), to_image=straight)
    return judge_board(end, [replace(face, to_image=to_image) for face in seen])


def photos(report):
    return {view: photo() for view in ("end", *(face.view for face in report.faces))}


def drawn(report, monkeypatch, **options):
    """The picture, and the texts of each part: head, photos from top to bottom, legend."""
    parts, write = [], sketch.write
    monkeypatch.setattr(sketch, "write", lambda canvas, texts: (parts.append((canvas, texts)), write(canvas, texts)))
    return draw_board_photos(photos(report), report, **options), parts


def words_of(parts):
    return [[text.words for text in texts] for _, texts in parts]


def near(canvas, at, colour, px=6):
    """Whether that colour is found within a few pixels of a point."""
    x, y = np.rint(at).astype(int)
    piece = canvas[max(y - px, 0) : y + px + 1, max(x - px, 0) : x + px + 1].astype(int)
    return bool((np.abs(piece - colour).max(axis=2) < 12).any())


def test_the_photos_stand_below_one_another_and_are_left_alone(monkeypatch):
    report = board()
    given = photos(report)
    before = [one.rgb.copy() for one in given.values()]
    picture = draw_board_photos(given, report)
    assert picture.dtype == np.uint8
    assert picture.shape[1:] == (PICTURE_WIDTH_PX, 3)
    for one, was in zip(given.values(), before, strict=True):
        np.testing.assert_array_equal(one.rgb, was)
    _, parts = drawn(report, monkeypatch)
    assert [words[0] for words in words_of(parts)[1:4]] == ["End", "Show face", "Transfer face"]
    assert {"loose", "splitting"} < set(words_of(parts)[-1])


@pytest.mark.parametrize("to_image", [straight, upside_down, mirrored])
def test_every_wall_bears_its_name_in_every_photo_and_x_runs_to_the_right(monkeypatch, to_image):
    report = board(to_image=to_image)
    names = [wall_label(wall.tail, wall.side) for wall in report.end.walls]
    assert names == ["1L", "1R", "2L", "2R", "3L", "3R"]
    _, parts = drawn(report, monkeypatch)
    for _, texts in parts[1:4]:
        found = {text.words: text.at[0] for text in texts if text.words in names}
        assert sorted(found, key=lambda name: found[name]) == names


def test_a_wall_has_its_sockets_colour_in_every_photo():
    report = board()
    panels = [overlay._end_panel(photo(), report.end, "show")]
    panels += [overlay._face_panel(photo(), face) for face in report.faces]
    for panel in panels:
        canvas = overlay._drawn(panel, report)
        top_px = canvas.shape[0] - panel.view.height_px
        for index, line in enumerate(panel.walls):
            quarter = np.array([line.start]) * 0.25 + np.array([line.end]) * 0.75  # clear of the wall's name
            verdict = report.joint.sockets[(index + 1) // 2].socket.verdict
            assert near(canvas, panel.view.place(quarter)[0] + (0.0, top_px), LOOKS[verdict].colour)


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_all_words_lie_within_their_part_of_the_picture(monkeypatch, units):
    _, parts = drawn(board(), monkeypatch, units=units)
    for canvas, texts in parts:
        for text in texts:
            width_px = sketch.text_width(text.words, text.size_px)
            left = text.at[0] - {"l": 0.0, "m": 0.5, "r": 1.0}[text.anchor[0]] * width_px
            assert left >= 0
            assert left + width_px <= canvas.shape[1]
            assert 0 <= text.at[1] <= canvas.shape[0] - text.size_px / 2


def framed(canvas):
    """Whether the canvas has a frame in the colour of what is wrong."""
    sides = (canvas[3, 20:-20], canvas[20:-20, 3])  # clear of the round corners
    return all(np.abs(side.astype(int) - LOOKS["splitting"].colour).max() < 12 for side in sides)


def test_honest_photos_are_not_marked(monkeypatch):
    report = board()
    assert doubted_views(report) == odd_walls(report) == set()
    _, parts = drawn(report, monkeypatch)
    assert not any(framed(canvas) for canvas, _ in parts)
    assert not any("doubt" in word for words in words_of(parts)[1:] for word in words)


def test_the_photo_to_doubt_is_framed_and_told_and_no_other(monkeypatch):
    faces = [face_measurement(BOARD, "show"), moved_face(face_measurement(BOARD, "transfer"), 2.0)]
    report = board([faces[0], replace(faces[1], width=faces[1].width + 2.0)])
    assert doubted_views(report) == {"transfer"}
    _, parts = drawn(report, monkeypatch)
    assert [framed(canvas) for canvas, _ in parts[1:4]] == [False, False, True]
    titles = [next(word for word in words if len(word) > 1) for words in words_of(parts)[1:4]]
    assert titles == ["End", "Show face", "Transfer face: doubt this photo; it was left out"]


def test_when_nothing_tells_which_photo_is_wrong_all_are_marked(monkeypatch):
    face = moved_face(face_measurement(BOARD, "show"), 2.0)
    report = board([replace(face, width=face.width + 2.0)])
    assert doubted_views(report) == {"end", "show"}
    _, parts = drawn(report, monkeypatch)
    assert [framed(canvas) for canvas, _ in parts[1:3]] == [True, True]
    assert all("this photo or another is wrong" in " ".join(words) for words in words_of(parts)[1:3])


def test_a_wall_that_two_photos_put_in_different_places_is_marked_in_both(monkeypatch):
    faces = [moved_face(face_measurement(BOARD, "show"), 0.3, 2), face_measurement(BOARD, "transfer")]
    report = board(faces)
    assert odd_walls(report) == {("end", 2), ("show", 2)}
    _, parts = drawn(report, monkeypatch)
    signs = [sum(text.words == "?" for text in texts) for _, texts in parts[1:4]]
    open_sockets = sum(deep.socket.verdict == "too close to call" for deep in report.joint.sockets)
    assert signs == [open_sockets + 1, open_sockets + 1, open_sockets]
    assert any("photos differ" in word for word in words_of(parts)[-1])


def test_a_board_with_one_face_is_drawn_on_two_photos(monkeypatch):
    _, parts = drawn(board([face_measurement(BOARD, "transfer")]), monkeypatch)
    assert [words[0] for words in words_of(parts)[1:3]] == ["End", "Transfer face"]
