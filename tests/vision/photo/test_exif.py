"""The focal length that a photo's own data tell, and when they tell nothing."""

from __future__ import annotations

import math

import pytest

from vision.photo import exif

SIZE_PX = (4032, 3024)
DIAGONAL_PX = 5040.0


def focal(photo: dict[int, object], size_px: tuple[int, int] = SIZE_PX) -> float | None:
    return exif.lens({}, photo, *size_px).focal_px


def test_the_35_mm_equivalent_is_read_on_the_diagonal() -> None:
    """A 26 mm equivalent on a 3:4:5 photo: 26 / 43.2666 of 5040 px."""
    assert focal({exif.FOCAL_LENGTH_35MM: 26}) == pytest.approx(26 / 43.266615 * DIAGONAL_PX, rel=1e-7)  # digits given


def test_its_uncertainty_holds_both_readings_of_the_number() -> None:
    """By the film's width, 36 mm, the same number means 3.8 % less: within two standard uncertainties."""
    lens = exif.lens({}, {exif.FOCAL_LENGTH_35MM: 52}, *SIZE_PX)
    assert lens.focal_px is not None
    assert lens.focal_u_px is not None
    assert abs(lens.focal_px - 52 / 36 * SIZE_PX[0]) < 2 * lens.focal_u_px


def test_a_smaller_number_is_rounded_more_coarsely() -> None:
    wide, narrow = (exif.lens({}, {exif.FOCAL_LENGTH_35MM: mm}, *SIZE_PX) for mm in (13, 120))
    assert wide.focal_px is not None
    assert wide.focal_u_px is not None
    assert narrow.focal_px is not None
    assert narrow.focal_u_px is not None
    assert wide.focal_u_px / wide.focal_px > 1.2 * narrow.focal_u_px / narrow.focal_px


@pytest.mark.parametrize("size", [(2016, 1512), (1512, 2016)])
@pytest.mark.parametrize("told", [{exif.PIXEL_X: 4032}, {exif.PIXEL_X: 4032, exif.PIXEL_Y: 3024}])
def test_without_it_the_sensors_pixels_serve(size: tuple[int, int], told: dict[int, int]) -> None:
    """6.0 mm at 1000 px/mm (25400 per inch) on 4032 px, in a photo shrunk to half, stored either way up: 3000 px."""
    sensor = {exif.FOCAL_LENGTH: 6.0, exif.FOCAL_PLANE_X: 25400.0, exif.FOCAL_PLANE_UNIT: 2}
    assert focal(sensor | told, size) == pytest.approx(3000.0, rel=1e-12)  # identity


def test_a_bare_focal_length_tells_nothing_without_the_sensor() -> None:
    assert focal({exif.FOCAL_LENGTH: 6.0}) is None


@pytest.mark.parametrize("nonsense", [0, -5, "wide", math.nan, math.inf, None])
def test_nonsense_counts_as_not_told(nonsense: object) -> None:
    assert focal({exif.FOCAL_LENGTH_35MM: nonsense}) is None


def test_a_photo_of_another_shape_than_the_camera_wrote_was_cut_and_tells_no_focal_length() -> None:
    told = {exif.FOCAL_LENGTH_35MM: 26, exif.PIXEL_X: 4032, exif.PIXEL_Y: 3024}
    assert exif.lens({}, told, 4032, 2268).cut
    assert focal(told, (4032, 2268)) is None
    assert not exif.lens({}, told, 3024, 4032).cut
    assert focal(told, (3024, 4032)) == focal(told)


@pytest.mark.parametrize(
    "size", [(4032, 3024), (3024, 4032), (6016, 4016), (4000, 2250), (3000, 3000), (4624, 2136), (4000, 1800)]
)
def test_a_shape_in_which_cameras_store_pictures_is_not_cut(size: tuple[int, int]) -> None:
    """4:3, 3:2, 16:9 and square; 19.5:9 and 20:9 are phones' narrow screens."""
    lens = exif.lens({}, {exif.FOCAL_LENGTH_35MM: 26}, *size)
    assert not lens.cut
    assert lens.focal_px is not None


@pytest.mark.parametrize("size", [(4000, 3300), (2900, 2100), (2100, 2900), (4000, 2500)])
def test_another_shape_was_cut_whatever_the_photo_says_of_its_size(size: tuple[int, int]) -> None:
    told = {exif.FOCAL_LENGTH_35MM: 26, exif.PIXEL_X: size[0], exif.PIXEL_Y: size[1]}
    assert exif.lens({}, told, *size).cut
    assert focal(told, size) is None


@pytest.mark.parametrize(("value", "meant"), [(6, 6), (0, 1), (9, 1), ("6", 1), (None, 1)])
def test_only_the_eight_orientations_count(value: object, meant: int) -> None:
    assert exif.orientation({exif.ORIENTATION: value}) == meant


def test_words_are_stripped_of_padding_and_odd_types() -> None:
    lens = exif.lens({exif.MAKE: " Maker\0", exif.MODEL: 12}, {exif.LENS_MODEL: "back 2x"}, *SIZE_PX)
    assert (lens.make, lens.model, lens.lens) == ("Maker", "", "back 2x")


def test_lens_and_zoom_are_told_as_written() -> None:
    told = {exif.FOCAL_LENGTH: 6.8, exif.FOCAL_LENGTH_35MM: 52, exif.DIGITAL_ZOOM: 1.5}
    lens = exif.lens({}, told, *SIZE_PX)
    assert (lens.focal_mm, lens.film_mm, lens.zoom) == (6.8, 52.0, 1.5)


@pytest.mark.parametrize("unused", [0, None, "none"])
def test_a_digital_zoom_of_nought_means_none(unused: object) -> None:
    """EXIF 2.32: a numerator of 0 says that digital zoom was not used."""
    assert exif.lens({}, {exif.DIGITAL_ZOOM: unused}, *SIZE_PX).zoom == 1.0
