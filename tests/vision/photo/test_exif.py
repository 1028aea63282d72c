"""The focal length that a photo's own data tell, and when they tell nothing."""

from __future__ import annotations

import math

import pytest
from PIL.ExifTags import TAGS

from vision.photo import exif

SIZE_PX = (4032, 3024)
DIAGONAL_PX = 5040.0


def focal(photo: dict[int, object], size_px: tuple[int, int] = SIZE_PX) -> float | None:
    return exif.lens({}, photo, *size_px).focal_px


@pytest.mark.parametrize(
    ("ours", "name"),
    [
        (exif.ORIENTATION, "Orientation"),
        (exif.MAKE, "Make"),
        (exif.MODEL, "Model"),
        (exif.FOCAL_LENGTH, "FocalLength"),
        (exif.FOCAL_LENGTH_35MM, "FocalLengthIn35mmFilm"),
        (exif.LENS_MODEL, "LensModel"),
        (exif.PIXEL_X, "ExifImageWidth"),
        (exif.PIXEL_Y, "ExifImageHeight"),
        (exif.DIGITAL_ZOOM, "DigitalZoomRatio"),
        (exif.FOCAL_PLANE_X, "FocalPlaneXResolution"),
        (exif.FOCAL_PLANE_UNIT, "FocalPlaneResolutionUnit"),
    ],
)
def test_a_tag_is_the_one_that_phones_write(ours: int, name: str) -> None:
    assert TAGS[ours] == name


def test_the_35_mm_equivalent_is_read_on_the_diagonal() -> None:
    """A 26 mm equivalent on a 3:4:5 photo: 26 / 43.2666 of 5040 px."""
    assert focal({exif.FOCAL_LENGTH_35MM: 26}) == pytest.approx(26 / 43.266615 * DIAGONAL_PX, rel=1e-7)  # digits given


def test_its_uncertainty_holds_both_readings_of_the_number() -> None:
    """By the film's width, 36 mm, the same number means 3.8 % less: within two standard uncertainties."""
    lens = exif.lens({}, {exif.FOCAL_LENGTH_35MM: 52}, *SIZE_PX)
    assert lens.focal_px is not None
    assert lens.focal_u_px is not None
    assert abs(lens.focal_px - 52 / 36 * SIZE_PX[0]) < 2 * lens.focal_u_px


def test_its_uncertainty_is_that_of_two_rectangular_distributions() -> None:
    lens = exif.lens({}, {exif.FOCAL_LENGTH_35MM: 52}, *SIZE_PX)
    assert lens.focal_px is not None
    # Within half a millimetre of 52, and within 4 % by what is meant.
    assert lens.focal_u_px == pytest.approx(lens.focal_px * math.hypot(0.5 / 52.0, 0.04) / 3.0**0.5, rel=1e-12)


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


SENSOR = {exif.FOCAL_LENGTH: 6.0, exif.FOCAL_PLANE_X: 1000.0, exif.FOCAL_PLANE_UNIT: 4, exif.PIXEL_X: 4032}


@pytest.mark.parametrize(("unit", "per_unit"), [(2, 25400.0), (None, 25400.0), (3, 10000.0), (4, 1000.0), (5, 1.0)])
def test_the_sensors_pixels_are_told_per_inch_centimetre_millimetre_or_micrometre(
    unit: int | None, per_unit: float
) -> None:
    told = SENSOR | {exif.FOCAL_PLANE_X: per_unit, exif.FOCAL_PLANE_UNIT: unit}
    lens = exif.lens({}, {tag: value for tag, value in told.items() if value is not None}, *SIZE_PX)
    assert lens.focal_px == pytest.approx(6000.0, rel=1e-12)  # identity, as below
    assert lens.focal_u_px == pytest.approx(6000.0 * 0.04 / 3.0**0.5, rel=1e-12)


@pytest.mark.parametrize("gone", [exif.FOCAL_LENGTH, exif.FOCAL_PLANE_X, exif.PIXEL_X])
def test_a_bare_focal_length_tells_nothing_without_the_sensor(gone: int) -> None:
    assert focal({exif.FOCAL_LENGTH: 6.0}) is None
    assert focal({tag: value for tag, value in SENSOR.items() if tag != gone}) is None
    assert focal(SENSOR | {exif.FOCAL_PLANE_UNIT: 9}) is None


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
    assert exif.orientation({}) == 1


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
