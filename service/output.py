"""Writing files for people without ever destroying a photo."""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from service.errors import UsageError

OVERLAY_KINDS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG"}
MARK = "Drawn by tailproof"
"""Written into every overlay: an image that carries it may be overwritten, any other may not."""
_MARK_WITHIN_BYTES = 4096
_PHOTO_STARTS = (b"\xff\xd8\xff", b"\x89PNG", b"RIFF", b"II*\0", b"MM\0*")


def overlay_paths(target: str, photos: list[Path]) -> list[Path]:
    """Where each photo's overlay goes: a file for one photo; a folder or a name with `{name}` for several.

    Raises UsageError when several would land in one file, or one would overwrite a photo.
    """
    paths = [_overlay_path(target, photo, alone=len(photos) == 1) for photo in photos]
    if len(set(paths)) < len(paths):
        raise UsageError(
            "--overlay would write several pictures into one file. For several photos name a folder, or a file with"
            " {name} in it, and give the photos different names."
        )
    for path in paths:
        check_output(path, photos)
    return paths


def check_output(path: Path, photos: Iterable[Path] = ()) -> None:
    """Raise UsageError when writing `path` would destroy one of `photos` or any image that we did not draw."""
    if any(same_file(path, photo) for photo in photos) or _is_foreign_image(path):
        raise UsageError(f"{path} is a photo and would be overwritten. Name another file to write to.")
    check_folder(path)


def check_folder(path: Path) -> None:
    """Raise UsageError when there is no folder to write `path` into."""
    if not path.parent.is_dir():
        raise UsageError(f"there is no folder {path.parent} to write {path.name} into.")


def write_overlay(path: Path, picture: NDArray[np.uint8]) -> None:
    """Write the picture as PNG or JPEG, by its name, with our mark in it. Raises UsageError when it cannot be."""
    write_file(path, _encoded(picture, path))


def write_file(path: Path, data: bytes) -> None:
    """Write a file. Raises UsageError, saying why, when it cannot be written."""
    try:
        path.write_bytes(data)
    except OSError as error:
        raise UsageError(f"{path} could not be written ({error.strerror or error}).") from error


def _encoded(picture: NDArray[np.uint8], path: Path) -> bytes:
    from PIL import Image
    from PIL.PngImagePlugin import PngInfo

    image, file = Image.fromarray(picture), BytesIO()
    if OVERLAY_KINDS[path.suffix.lower()] == "JPEG":
        image.save(file, "JPEG", quality=90, comment=MARK)
    else:
        mark = PngInfo()
        mark.add_text("Software", MARK)
        image.save(file, "PNG", compress_level=3, pnginfo=mark)
    return file.getvalue()


def _overlay_path(target: str, photo: Path, *, alone: bool) -> Path:
    if "{name}" in target:
        path = Path(target.replace("{name}", photo.stem))
    elif target.endswith(("/", "\\")) or Path(target).is_dir():
        path = Path(target) / f"{photo.stem}-overlay.png"
    else:
        path = _single(target, alone)
    if path.suffix.lower() not in OVERLAY_KINDS:
        raise UsageError(f"--overlay writes .png or .jpg files, not {path.name!r}.")
    return path


def _single(target: str, alone: bool) -> Path:
    if not alone:
        raise UsageError(
            f"--overlay {target} is one file, but there are several photos. Name a folder that exists, or a file with"
            " {name} in it, such as checked-{name}.png."
        )
    return Path(target)


def same_file(path: Path, other: Path) -> bool:
    """Whether both lead to one file, which may not be there yet."""
    try:
        return path.samefile(other)
    except OSError:
        return path.absolute() == other.absolute()


def _is_foreign_image(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            head = file.read(_MARK_WITHIN_BYTES)
    except OSError:
        return False
    looks = head.startswith(_PHOTO_STARTS) or head[4:8] == b"ftyp"
    return looks and MARK.encode() not in head
