"""What is stored of a photo: every pixel, what the measurement needs, and nothing of where, when and who."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from calibration.outcome import CannotMeasure
from service.uploads.clean import clean_upload
from tests.vision.photos import encoded, picture
from vision.photo.decode import decode

SAMPLES = Path(__file__).parents[3] / "sample_images"
SECRET = b"Hidden Lane 7"
GPS, EXIF = 0x8825, 0x8769
KINDS = ["JPEG", "PNG", "WEBP", "HEIF", "TIFF"]


def private_exif(orientation: int = 6) -> Image.Exif:
    """What a phone writes: lens and turn, and place, time, owner and a comment."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x0110] = orientation, "Maker", "Phone 1"
    exif[0x0132], exif[0x013B], exif[0x010E] = "2026:03:02 09:00:00", SECRET.decode(), SECRET.decode()
    exif.get_ifd(EXIF).update({0x920A: 6.8, 0xA405: 52, 0xA434: "Tele", 0x9003: "2026:03:02 09:00:00"})
    exif.get_ifd(EXIF)[0x927C] = SECRET  # the maker's own note
    exif.get_ifd(GPS).update({1: "N", 2: (53.0, 21.0, 0.0), 29: SECRET.decode()})
    return exif


def photo(kind: str, orientation: int = 6, **more: object) -> bytes:
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    return encoded(picture(), kind, exif=private_exif(orientation).tobytes(), **more)


@pytest.mark.parametrize("kind", KINDS)
def test_every_pixel_stays_and_everything_private_goes(kind: str) -> None:
    data = photo(kind)
    assert SECRET in data
    cleaned, stored_as = clean_upload(data)
    assert stored_as == ("PNG" if kind == "TIFF" else kind)
    assert SECRET not in cleaned
    assert b"2026:03:02" not in cleaned
    assert np.array_equal(decode(cleaned).rgb, decode(data).rgb)


@pytest.mark.parametrize("kind", KINDS[:-1])
def test_what_the_measurement_needs_is_kept(kind: str) -> None:
    data = photo(kind)
    before, after = decode(data), decode(clean_upload(data)[0])
    assert after.lens == before.lens
    assert after.lens.film_mm == 52.0
    assert after.setting == before.setting
    tags = opened(clean_upload(data)[0]).getexif()
    assert not tags.get_ifd(GPS)
    assert 0x927C not in tags.get_ifd(EXIF)


@pytest.mark.parametrize("kind", KINDS[:-1])
def test_a_photo_without_any_data_of_its_own_stays_one(kind: str) -> None:
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    data = encoded(picture(), kind)
    cleaned, _ = clean_upload(data)
    assert np.array_equal(decode(cleaned).rgb, decode(data).rgb)


@pytest.mark.parametrize("name", ["maple-sawn-knife.jpg", "oak-cleared-pencil.heic", "pine-sawn-pencil.jpg"])
def test_a_sample_photo_is_measured_from_the_same_pixels_and_the_same_lens(name: str) -> None:
    data = (SAMPLES / name).read_bytes()
    before, after = decode(data), decode(clean_upload(data)[0])
    assert np.array_equal(before.rgb, after.rgb)
    assert (before.lens, before.setting) == (after.lens, after.setting)


def test_comments_other_applications_and_what_follows_the_picture_are_dropped() -> None:
    data = photo("JPEG", comment=SECRET)
    foreign = b"\xff\xed" + (len(SECRET) + 2).to_bytes(2, "big") + SECRET
    cleaned, _ = clean_upload(data[:2] + foreign + data[2:] + b"\xff\xd8" + SECRET)
    assert SECRET not in cleaned
    assert cleaned.endswith(b"\xff\xd9")


def test_a_progressive_jpeg_with_its_many_scans_stays_whole() -> None:
    data = photo("JPEG", progressive=True)
    assert np.array_equal(decode(clean_upload(data)[0]).rgb, decode(data).rgb)


def test_colour_profiles_stay() -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for kind in ("JPEG", "PNG", "WEBP"):
        assert opened(clean_upload(photo(kind, icc_profile=profile))[0]).info["icc_profile"] == profile


def test_text_in_a_png_goes() -> None:
    from PIL.PngImagePlugin import PngInfo

    note = PngInfo()
    note.add_text("Comment", SECRET.decode())
    note.add_itxt("XML:com.adobe.xmp", SECRET.decode())
    told = photo("PNG", pnginfo=note)
    assert told.count(SECRET) == 2 + photo("PNG").count(SECRET)
    assert SECRET not in clean_upload(told)[0]


def test_xmp_goes_from_webp_and_heif() -> None:
    for kind in ("WEBP", "HEIF"):
        data = photo(kind, xmp=b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>" + SECRET + b"</x:xmpmeta>")
        assert data.count(SECRET) > photo(kind).count(SECRET)
        assert SECRET not in clean_upload(data)[0]


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not_an_image"),
        (b"%PDF-1.7", "not_an_image"),
        (b"", "not_an_image"),
        (b"\xff\xd8\xff" + b"\0" * 64_000_000, "image_too_large"),
    ],
)
def test_what_is_no_photo_is_refused_by_its_content(data: bytes, reason: str) -> None:
    with pytest.raises(CannotMeasure) as caught:
        clean_upload(data)
    assert caught.value.refusal.reason == reason


def test_a_picture_of_too_many_pixels_is_refused_before_any_is_decoded() -> None:
    """A PNG header that claims 10 gigapixels: decoding it would take 30 GB."""
    data = bytearray(encoded(picture(), "PNG"))
    data[16:24] = (100_000).to_bytes(4, "big") * 2
    import zlib

    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    with pytest.raises(CannotMeasure) as caught:
        clean_upload(bytes(data))
    assert caught.value.refusal.reason == "image_too_large"


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_are_refused_or_cleaned_and_never_a_fault(kind: str) -> None:
    data, rng = photo(kind), np.random.default_rng(7)
    outcomes = {_outcome(_damaged(data, rng)) for _ in range(60)}
    assert outcomes <= {"cleaned", "not_an_image", "image_too_large", "image_too_small"}
    assert "not_an_image" in outcomes


def _outcome(data: bytes) -> str:
    try:
        clean_upload(data)
    except CannotMeasure as error:
        return error.refusal.reason
    return "cleaned"


def _damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """Cut short or with some bytes changed, mostly near the beginning where the tables are."""
    changed = bytearray(data)
    reach = len(data) if rng.random() < 0.3 else 600
    for place in rng.integers(12, min(reach, len(data)), size=rng.integers(1, 8)):
        changed[int(place)] = int(rng.integers(256))
    return bytes(changed[: int(rng.integers(20, len(data)))] if rng.random() < 0.4 else changed)


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))
