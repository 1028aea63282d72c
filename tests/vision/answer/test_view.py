"""The part of the photo that the overlay draws on, and the map into it."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vision.photos import HEIGHT_PX, WIDTH_PX, measurement, photo
from vision.answer.view import MARGIN_MM, PICTURE_WIDTH_PX, turn_points, view_end
from vision.photo.photo import Photo


@pytest.mark.parametrize("turns", range(4))
def test_turned_points_follow_turned_pixels(turns: int) -> None:
    image = np.zeros((HEIGHT_PX, WIDTH_PX), int)
    image[123, 456] = 1
    (row,), (column,) = np.nonzero(np.rot90(image, turns))
    assert turn_points(np.array([[456.0, 123.0]]), turns, WIDTH_PX, HEIGHT_PX).tolist() == [[column, row]]


@pytest.mark.parametrize("turns", [0, 1])
def test_the_end_lies_upright_in_the_view_however_the_phone_was_held(turns: int) -> None:
    measured = measurement(turns=turns)
    view = view_end(photo(turns), measured, card_reach_mm=45.0)
    left, right = view.place(np.array([[0.0, 0.0], [measured.width.value, 0.0]]))
    deep = view.place(np.array([[0.0, measured.thickness.value]]))[0]
    assert right[0] - left[0] > 900
    assert right[1] == pytest.approx(left[1], abs=1e-6)  # the board was made level
    assert deep[1] > left[1]
    assert view.width_px == PICTURE_WIDTH_PX


def test_the_map_puts_a_mark_where_the_pixels_show_it() -> None:
    """A white dot of 5 px round a point of the end, found again by its centre of mass."""
    measured = measurement()
    pixels = np.zeros((HEIGHT_PX, WIDTH_PX, 3), np.uint8)
    x, y = measured.to_image(np.array([[30.0, 10.0]]))[0].astype(int)
    pixels[y - 2 : y + 3, x - 2 : x + 3] = 255
    view = view_end(Photo(pixels), measured, card_reach_mm=45.0)
    rows, columns = np.nonzero(view.picture[:, :, 0] > 127)
    expected = view.place(np.array([[30.0, 10.0]]))[0]
    assert [columns.mean(), rows.mean()] == pytest.approx(expected, abs=0.5)  # whole pixels of the enlarged dot


def test_the_view_reaches_over_the_card_and_stops_at_the_photos_edge() -> None:
    measured = measurement()
    show, transfer = (view_end(photo(), measured, card_reach_mm=reach) for reach in (40.0, -400.0))
    top = show.place(np.array([[0.0, -MARGIN_MM - 40.0]]))[0]
    assert 0 <= top[1] < 3
    bottom = transfer.place(np.array([[0.0, 400.0]]))[0]
    assert bottom[1] > transfer.height_px
