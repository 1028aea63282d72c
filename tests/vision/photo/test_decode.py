"""The decoder: every kind of file, every orientation, its limits, and every way a file can be bad."""

from __future__ import annotations

import warnings

import cv2
import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms

from calibration.outcome import CannotMeasure
from tests.vision.photos import HEIGHT_PX, WIDTH_PX, encoded, exif_bytes, picture
from vision.photo import decode as decoding
from vision.photo.decode import decode, sniff

LOSSY_LEVELS = 5
"""A smooth ramp survives JPEG at quality 98 and HEIC at 95 within 4 of 255 levels; one to spare."""


def heic(image: np.ndarray, **options: object) -> bytes:
    pillow_heif.register_heif_opener()
    return encoded(image, "HEIF", quality=95, **options)


def files() -> dict[str, bytes]:
    image = picture()
    kinds = {kind: encoded(image, kind) for kind in ("JPEG", "PNG", "WEBP", "TIFF")}
    return kinds | {"HEIF": heic(image), "progressive JPEG": encoded(image, "JPEG", progressive=True)}


@pytest.fixture(scope="module")
def made() -> dict[str, bytes]:
    return files()


KINDS = ("JPEG", "PNG", "WEBP", "TIFF", "HEIF", "progressive JPEG")


def reason(data: bytes) -> str:
    with pytest.raises(CannotMeasure) as caught:
        decode(data)
    return caught.value.refusal.reason


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_file_gives_its_pixels_back(made: dict[str, bytes], kind: str) -> None:
    photo = decode(made[kind], "a photo")
    assert photo.name == "a photo"
    assert photo.rgb.shape == (HEIGHT_PX, WIDTH_PX, 3)
    assert np.abs(photo.rgb.astype(int) - picture()).max() <= LOSSY_LEVELS


@pytest.mark.parametrize("kind", KINDS)
def test_the_kind_is_told_from_the_content(made: dict[str, bytes], kind: str) -> None:
    assert sniff(made[kind]) == kind.removeprefix("progressive ")


def test_pixels_cannot_be_changed(made: dict[str, bytes]) -> None:
    with pytest.raises(ValueError, match="read-only"):
        decode(made["PNG"]).rgb[0, 0, 0] = 1


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_is_undone(kind: str, orientation: int) -> None:
    """Stored pixels are made from the upright picture by Pillow's own transpositions, the inverse of the tag's."""
    inverse = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }
    upright = Image.fromarray(picture())
    stored = upright.transpose(inverse[orientation]) if orientation in inverse else upright
    photo = decode(encoded(stored, kind, exif=exif_bytes({0x0112: orientation})))
    assert photo.orientation == orientation
    assert photo.rgb.shape == (HEIGHT_PX, WIDTH_PX, 3)
    assert np.abs(photo.rgb.astype(int) - picture()).max() <= LOSSY_LEVELS


def test_a_heic_is_turned_once_by_its_container_and_not_again_by_its_exif() -> None:
    """Phones write the turn both ways; HEIF says that only the container's counts (ISO/IEC 23008-12)."""
    photo = decode(heic(picture(), exif=exif_bytes({0x0112: 6})))
    assert photo.rgb.shape == (WIDTH_PX, HEIGHT_PX, 3)
    assert np.abs(photo.rgb.astype(int) - np.rot90(picture(), -1)).max() <= LOSSY_LEVELS
    assert photo.orientation == 6


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_grey_becomes_three_equal_channels(kind: str) -> None:
    grey = picture()[:, :, 0]
    rgb = decode(encoded(grey, kind)).rgb
    assert (rgb[:, :, 0] == rgb[:, :, 1]).all()
    assert (rgb[:, :, 0] == rgb[:, :, 2]).all()
    assert np.abs(rgb[:, :, 0].astype(int) - grey).max() <= LOSSY_LEVELS


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_sixteen_bit_grey_is_scaled_to_eight(kind: str) -> None:
    deep = (picture()[:, :, 0].astype(np.uint16) * 257).astype(np.uint16)
    rgb = decode(encoded(Image.fromarray(deep), kind)).rgb
    assert np.abs(rgb[:, :, 0].astype(int) - picture()[:, :, 0]).max() <= 1  # rounding


def test_sixteen_bit_colour_is_scaled_to_eight() -> None:
    deep = picture()[:, :, ::-1].astype(np.uint16) * 257
    rgb = decode(cv2.imencode(".png", deep)[1].tobytes()).rgb
    assert np.abs(rgb.astype(int) - picture()).max() <= 1  # rounding


def test_transparent_parts_become_white() -> None:
    layers = np.dstack([picture(), np.full((HEIGHT_PX, WIDTH_PX), 255, np.uint8)])
    layers[:100, :, 3] = 0
    rgb = decode(encoded(layers, "PNG")).rgb
    assert (rgb[:100] == 255).all()
    assert (rgb[100:] == picture()[100:]).all()


def test_a_palette_becomes_colours() -> None:
    two = np.zeros((HEIGHT_PX, WIDTH_PX, 3), np.uint8)
    two[:, 600:] = (200, 30, 40)
    rgb = decode(encoded(Image.fromarray(two).quantize(4), "PNG")).rgb
    assert (rgb == two).all()


def test_cmyk_becomes_rgb_with_white_still_white() -> None:
    """No ink at all is white paper, whatever the convention of the file's writer."""
    white = Image.fromarray(np.full((HEIGHT_PX, WIDTH_PX, 3), 255, np.uint8)).convert("CMYK")
    assert decode(encoded(white, "JPEG")).rgb.min() >= 255 - LOSSY_LEVELS


def swapped_profile() -> bytes:
    """sRGB with the red and the blue primary exchanged, under another name."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = srgb.replace(b"rXYZ", b"----", 1).replace(b"bXYZ", b"rXYZ", 1).replace(b"----", b"bXYZ", 1)
    return swapped.replace("sRGB".encode("utf-16-be"), "Test".encode("utf-16-be"))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_a_foreign_colour_profile_is_converted(kind: str) -> None:
    """Red and blue light exchanged in the profile: so are the two channels after conversion."""
    rgb = decode(encoded(picture(), kind, icc_profile=swapped_profile())).rgb
    assert np.abs(rgb[:, :, ::-1].astype(int) - picture()).max() <= LOSSY_LEVELS + 1  # rounding of the conversion


@pytest.mark.parametrize(
    "profile", [b"not a profile", ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()]
)
def test_a_broken_or_unfitting_profile_leaves_the_pixels_alone(profile: bytes) -> None:
    assert (decode(encoded(picture(), "PNG", icc_profile=profile)).rgb == picture()).all()


def test_an_srgb_profile_costs_nothing_and_changes_nothing() -> None:
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert (decode(encoded(picture(), "PNG", icc_profile=srgb)).rgb == picture()).all()


def test_the_focal_length_comes_from_the_35_mm_equivalent_on_the_diagonal() -> None:
    photo = decode(encoded(picture(), "JPEG", exif=exif_bytes({0x010F: "Maker", 0x0110: "Model"}, {0xA405: 52})))
    assert photo.lens.make == "Maker"
    assert photo.lens.model == "Model"
    assert photo.lens.focal_px == pytest.approx(
        52 / 43.2666 * np.hypot(WIDTH_PX, HEIGHT_PX), rel=1e-5
    )  # printed digits


def test_a_phones_multi_picture_jpeg_gives_its_first_picture() -> None:
    both = encoded(picture(), "JPEG") + encoded(picture(400, 300), "JPEG")
    assert decode(both).rgb.shape == (HEIGHT_PX, WIDTH_PX, 3)


@pytest.mark.parametrize(
    "data", [b"", b"no image at all", b"\xff\xd8\xff", b"GIF89a" + bytes(100), b"\0\0\0\x18ftypavif"]
)
def test_what_is_not_a_photo_is_refused(data: bytes) -> None:
    assert reason(data) == "not_an_image"


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("share", [0.05, 0.5, 0.98])
def test_a_file_cut_short_is_refused(made: dict[str, bytes], kind: str, share: float) -> None:
    data = made[kind]
    assert reason(data[: int(share * len(data))]) == "not_an_image"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF", "HEIF"])
def test_noise_in_the_file_is_decoded_or_refused_but_never_raises_otherwise(made: dict[str, bytes], kind: str) -> None:
    rng = np.random.default_rng(7)
    reasons: set[str] = set()
    for _ in range(8):
        data = bytearray(made[kind])
        for place in rng.integers(12, len(data), 30):
            data[place] = int(rng.integers(256))
        try:
            assert decode(bytes(data)).rgb.dtype == np.uint8
        except CannotMeasure as error:
            reasons.add(error.refusal.reason)
    assert reasons <= {"not_an_image", "image_too_large", "image_too_small"}


def test_too_many_bytes_are_refused_before_anything_is_read() -> None:
    assert reason(bytes(decoding.MAX_BYTES + 1)) == "image_too_large"


@pytest.mark.parametrize("size", [(8200, 6300), (20000, 20000)])
def test_too_many_pixels_are_refused_from_the_header(size: tuple[int, int], monkeypatch: pytest.MonkeyPatch) -> None:
    """The larger one would also trip Pillow's guard against decompression bombs; neither is decoded."""
    bomb = encoded(Image.new("1", size), "PNG")
    monkeypatch.setattr(decoding, "_pixels", lambda *_: pytest.fail("pixels were decoded"))
    assert reason(bomb) == "image_too_large"


def test_a_fifty_megapixel_photo_of_a_phone_is_within_the_limit() -> None:
    assert decoding.MAX_PIXELS >= 8192 * 6144


def test_a_preview_is_refused_as_too_small() -> None:
    assert reason(encoded(picture(640, 480), "JPEG")) == "image_too_small"


def test_no_warning_of_the_codecs_leaks() -> None:
    """60 megapixels are under Pillow's error but near its warning; broken EXIF makes it warn as well."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        decode(encoded(picture(), "JPEG", exif=b"Exif\0\0MM\0*\0\0\0\x08\xff\xff\0\0"))


@pytest.mark.parametrize(("sampling", "coarse"), [("4:4:4", False), ("4:2:2", True), ("4:2:0", True)])
def test_a_jpeg_tells_whether_it_keeps_colour_coarsely(sampling: str, coarse: bool) -> None:
    assert decode(encoded(picture(), "JPEG", subsampling=sampling)).coarse_colour is coarse


def test_heic_of_phones_keeps_colour_coarsely_and_lossless_photos_do_not(made: dict[str, bytes]) -> None:
    assert decode(made["HEIF"]).coarse_colour
    assert not decode(made["PNG"]).coarse_colour
