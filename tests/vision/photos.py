"""Image files, photos and reports made for the tests: never square, so that swapped axes cannot hide."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from calibration.quantity import Quantity, Source
from tests.vision.boards import THICKNESS_MM, board
from vision.answer.result import Report
from vision.end.report import CardView, Measurement, Stage
from vision.joint.seating import predict_seating
from vision.photo.photo import Photo

WIDTH_PX, HEIGHT_PX = 1200, 900
PX_PER_MM = 12.0
ORIGIN_PX = (90.0, 620.0)

TIGHT_AND_LOOSE = (0.0, 0.3, 0.3, -0.3, -0.3, 0.0)
"""Walls of three tails: between tails 1 and 2 far too tight, between 2 and 3 far too loose, the half pins square."""


def picture(width_px: int = WIDTH_PX, height_px: int = HEIGHT_PX) -> NDArray[np.uint8]:
    """A smooth picture (h, w, 3) whose four corners all differ: red grows to the right, green downward."""
    red, green = np.meshgrid(np.linspace(0, 255, width_px), np.linspace(0, 255, height_px))
    return np.stack([red, green, np.full_like(red, 128.0)], axis=2).astype(np.uint8)


def encoded(image: Image.Image | NDArray[np.uint8], kind: str, **options: object) -> bytes:
    """The image as a file of that Pillow kind; JPEG and WebP as good as they get."""
    if not isinstance(image, Image.Image):
        image = Image.fromarray(image)
    best = {"JPEG": {"quality": 98, "subsampling": 0}, "WEBP": {"lossless": True}}.get(kind, {})
    file = BytesIO()
    image.save(file, kind, **(best | options))
    return file.getvalue()


def exif_bytes(main: dict[int, object], photo: dict[int, object] | None = None) -> bytes:
    """EXIF with those main tags and those tags of the photo's own table."""
    exif = Image.Exif()
    for tag, value in main.items():
        exif[tag] = value
    exif.get_ifd(0x8769).update(photo or {})
    return exif.tobytes()


def measurement(
    into_mm: Sequence[float] = TIGHT_AND_LOOSE, u_mm: float = 0.005, stage: Stage = "sawn", turns: int = 0
) -> Measurement:
    """A measured board seen straight from above, at `PX_PER_MM`, in a photo turned clockwise by `turns`, 0 or 1."""
    walls, width = board(into_mm, u_mm)
    known = Quantity(width.value, {Source("board edge"): 0.02})
    thickness = Quantity(THICKNESS_MM, {Source("face edge"): 0.03})
    tilt = Quantity(2.0, {Source("card corners"): 0.1}, "deg")
    return Measurement(
        stage,
        PX_PER_MM,
        tilt,
        CardView("short", 33, 0.05),
        known,
        thickness,
        tuple(walls),
        to_image=_map(turns),
        px_per_mm_u95=0.03,
    )


def report(into_mm: Sequence[float] = TIGHT_AND_LOOSE, u_mm: float = 0.005, turns: int = 0) -> Report:
    """The report of such a board of maple."""
    measured = measurement(into_mm, u_mm, turns=turns)
    prediction = predict_seating(measured.walls, measured.width, measured.thickness, species="maple")
    return Report("board.jpg", measured, prediction)


def photo(turns: int = 0) -> Photo:
    """A plain grey photo with room for that board and its card, turned clockwise by `turns` quarters, 0 or 1."""
    grey = np.full((HEIGHT_PX, WIDTH_PX, 3), 150, np.uint8)
    return Photo(np.ascontiguousarray(np.rot90(grey, -turns)), name="board.jpg")


def _map(turns: int) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    def to_image(points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        points = np.asarray(points_mm, float) * PX_PER_MM + ORIGIN_PX
        if turns:
            points = np.column_stack([HEIGHT_PX - 1 - points[:, 1], points[:, 0]])
        return points

    return to_image
