"""Bytes to an upright sRGB photo: the only decoder.

The kind of file is told from its content. Limits are checked on the header, before any pixel is decoded. Plain 8-bit
photos take OpenCV's fast path; whatever needs care (colour profiles, alpha, 16 bit, CMYK, TIFF) goes through Pillow.
"""

from __future__ import annotations

import warnings
from io import BytesIO
from typing import TYPE_CHECKING, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure, refuse
from vision.photo import colour, exif
from vision.photo.photo import Lens, Photo

if TYPE_CHECKING:
    from PIL import Image

__all__ = ["MAX_BYTES", "MAX_PIXELS", "MIN_PIXELS", "Lens", "Photo", "decode", "inspect"]

Pixels = NDArray[np.uint8]

MAX_BYTES = 64_000_000
MAX_PIXELS = 51_000_000
"""50 megapixels as phones count them: 8192 x 6144 is 50.3 million."""
MIN_PIXELS = 1_000_000
"""Below this a card that fills the picture has under 8 px/mm: a kerf is then 4 pixels wide."""

_HEIF_BRANDS = {b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"}
_FAST_KINDS = ("JPEG", "PNG", "WEBP")
DAMAGED = "It seems to be cut short or damaged."


class _Header(NamedTuple):
    """A file opened as far as its header, `size` bytes: `image` is a Pillow image with no pixels decoded yet."""

    image: Image.Image
    size: int
    kind: str
    orientation: int
    lens: Lens


def decode(data: bytes, name: str = "") -> Photo:
    """The photo in `data`. Raises CannotMeasure: not an image (or damaged), too large, too small."""
    kind = _kind_within_limits(data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return _decode(data, kind, name)


def _kind_within_limits(data: bytes) -> str:
    """The kind that `data` begins like. Raises CannotMeasure: too many bytes, not an image."""
    if len(data) > MAX_BYTES:
        raise refuse("image_too_large", f"It has {len(data) / 1e6:.0f} MB.")
    kind = sniff(data)
    if kind is None:
        raise refuse("not_an_image")
    return kind


def sniff(data: bytes) -> str | None:
    """The kind of image that `data` begins like: JPEG, PNG, WEBP, TIFF or HEIF; None for anything else."""
    starts = {b"\xff\xd8\xff": "JPEG", b"\x89PNG\r\n\x1a\n": "PNG", b"II*\0": "TIFF", b"MM\0*": "TIFF"}
    for start, kind in starts.items():
        if data.startswith(start):
            return kind
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    return "HEIF" if data[4:8] == b"ftyp" and _HEIF_BRANDS & set(_brands(data)) else None


def _brands(data: bytes) -> list[bytes]:
    """The major and compatible brands of an ISO base media file (ISO/IEC 14496-12, 4.3)."""
    box = data[8 : min(int.from_bytes(data[:4], "big"), 256)]
    return [box[i : i + 4] for i in range(0, len(box), 4)]


def inspect(data: bytes) -> str:
    """The kind of photo, header read, limits checked, no pixel decoded. Raises CannotMeasure like `decode`."""
    kind = _kind_within_limits(data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            _read_header(data, kind)
        except CannotMeasure:
            raise
        except Exception as error:  # a stranger's bytes can make a codec fail in any way it likes
            raise refuse("not_an_image", DAMAGED) from error
    return kind


def _decode(data: bytes, kind: str, name: str) -> Photo:
    try:
        header = _read_header(data, kind)
        rgb = _upright(_pixels(data, header), _still_to_turn(header))
    except CannotMeasure:
        raise
    except Exception as error:  # a stranger's bytes can make a codec fail in any way it likes
        raise refuse("not_an_image", DAMAGED) from error
    rgb.setflags(write=False)
    return Photo(rgb, header.lens, name, _undone(header), _coarse_colour(header))


def _coarse_colour(header: _Header) -> bool:
    """Whether colour is kept at less resolution than luma: JPEG tells; HEIF of phones and WebP do it always."""
    if header.kind == "JPEG":
        from PIL.JpegImagePlugin import get_sampling

        return get_sampling(header.image) > 0
    return header.kind in ("HEIF", "WEBP")


def _undone(header: _Header) -> int:
    """The orientation that was undone: a HEIF's decoder has undone it already, and keeps what it was."""
    if header.kind != "HEIF":
        return header.orientation
    return exif.orientation({exif.ORIENTATION: header.image.info.get("original_orientation") or 1})


def _read_header(data: bytes, kind: str) -> _Header:
    stream = BytesIO(data)
    image = _open(stream, kind)
    _check_size(*image.size)
    tags = image.getexif()
    lens = exif.lens(tags, tags.get_ifd(0x8769), *image.size)
    return _Header(image, stream.tell(), kind, 1 if kind == "HEIF" else exif.orientation(tags), lens)


def _open(stream: BytesIO, kind: str) -> Image.Image:
    """A Pillow image with its header read. HEIF is turned upright by its own decoder, whatever its EXIF says."""
    if kind == "JPEG":  # not Image.open: it would load every plug-in, and take a phone's JPEG for a multi-picture file
        from PIL.JpegImagePlugin import JpegImageFile

        return JpegImageFile(stream)
    from PIL import Image

    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    try:
        return Image.open(stream, formats=[kind])
    except Image.DecompressionBombError as error:
        raise refuse("image_too_large") from error


def _check_size(width_px: int, height_px: int) -> None:
    pixels = width_px * height_px
    detail = f"It has {pixels / 1e6:.1f} megapixels."
    if pixels > MAX_PIXELS:
        raise refuse("image_too_large", detail)
    if pixels < MIN_PIXELS:
        raise refuse("image_too_small", detail)


def _pixels(data: bytes, header: _Header) -> Pixels:
    """(stored height, stored width, 3) sRGB pixels; the fast path for plain 8-bit grey or RGB."""
    image, profile = header.image, _foreign_profile(header.image)
    if header.kind not in _FAST_KINDS or image.mode not in ("L", "RGB") or "transparency" in image.info:
        return colour.rgb_from_image(image, profile)
    rgb = _fast(data, header)
    if profile and image.mode == "RGB":
        colour.convert_in_place(rgb, profile)
    return rgb


def _foreign_profile(image: Image.Image) -> bytes | None:
    """The colour profile, when there is one and it is not sRGB."""
    profile = image.info.get("icc_profile")
    return profile if profile and not colour.is_srgb(profile) else None


def _fast(data: bytes, header: _Header) -> Pixels:
    if not _complete(data, header):
        raise refuse("not_an_image", DAMAGED)
    flags = cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION
    rgb = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    if rgb is None:
        raise refuse("not_an_image", DAMAGED)
    return rgb  # type: ignore[return-value]


def _complete(data: bytes, header: _Header) -> bool:
    """Whether the file has its end: OpenCV fills what is missing with grey and says nothing."""
    if header.kind == "JPEG":  # an end marker after the start of the scan, where the header's reader stopped
        return data.find(b"\xff\xd9", header.size) > 0
    if header.kind == "PNG":
        return b"IEND" in data[-64:]
    return len(data) >= int.from_bytes(data[4:8], "little") + 8


def _still_to_turn(header: _Header) -> int:
    """The orientation left to undo once the pixels are decoded: Pillow turns a TIFF while decoding it."""
    return exif.orientation(header.image.getexif()) if header.kind == "TIFF" else header.orientation


def _upright(rgb: Pixels, orientation: int) -> Pixels:
    """`rgb` turned and mirrored as its EXIF orientation asks (TIFF 6.0, tag 274)."""
    quarter = {6: cv2.ROTATE_90_CLOCKWISE, 8: cv2.ROTATE_90_COUNTERCLOCKWISE}.get(orientation)
    if quarter is not None:
        return cv2.rotate(rgb, quarter)  # type: ignore[return-value]
    if orientation in (5, 7):
        rgb = cv2.transpose(rgb)  # type: ignore[assignment]
    flip = {2: 1, 3: -1, 4: 0, 7: -1}.get(orientation)
    return rgb if flip is None else cv2.flip(rgb, flip)  # type: ignore[return-value]
