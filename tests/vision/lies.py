"""Boards whose end does not lie in the card's plane, as points: sawn, seen by a camera, and fitted with errors.

The camera's view is worked out in space, apart from the formulas it is to test. No picture is painted, so thousands
take seconds.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PARAMETERS, PlaneMap, rotation_matrix
from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.quantity import Quantity, combine
from tests.vision.ends import made_wall
from vision.end.find_walls import EndStrip
from vision.end.found_end import FoundEnd
from vision.end.laid import BOARD_UNPARALLEL_U
from vision.end.sawn_extent import RoughSide
from vision.end.sides import Side
from vision.end.uncertainty import EndQuantities, end_quantities
from vision.lie.card_lie import CardLie
from vision.lie.find_lie import BOARD_SIDES_U, FoundLie, find_lie
from vision.photo.strip import Frame
from vision.walls.fit import LineFit
from vision.walls.measure import MeasuredWall

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Fits:
    """Standard deviations of what the picture gives: directions (rad) of walls, faces and sides, places (mm).

    With the waste out, the sides' directions are not seen: `side_rad` None.
    """

    wall_rad: float = float(np.radians(0.04))
    wall_mm: float = 0.008
    show_rad: float = float(np.radians(0.004))
    transfer_rad: float = float(np.radians(0.006))
    side_mm: float = 0.03
    thickness_mm: float = 0.01
    side_rad: float | None = None


@dataclass(frozen=True)
class Board:
    """An end as it is: `leans_rad` and `places_mm` (mid thickness) of its walls.

    Its faces are `unparallel_rad` apart, its sides `fanned_rad`.
    """

    width_mm: float
    thickness_mm: float
    places_mm: Floats
    leans_rad: Floats
    unparallel_rad: float = 0.0
    fanned_rad: float = 0.0


@dataclass(frozen=True)
class Seen:
    """What the measuring steps would hand on of a board: the plane, the end, the walls, the sides."""

    plane: PlaneMap
    end: FoundEnd
    walls: list[MeasuredWall]
    sides: tuple[Side, Side]

    @property
    def numbers(self) -> EndQuantities:
        """The end's numbers as if it lay in the card's plane."""
        return self.numbers_at(CardLie())

    def numbers_at(self, lie: CardLie) -> EndQuantities:
        """The end's numbers if it lay like that."""
        return end_quantities(self.plane, self.end, self.walls, *self.sides, lie)

    def found(self, known: Known = NOTHING_KNOWN) -> FoundLie:
        """The lie and the corrected numbers."""
        return find_lie(self.numbers_at, self.sides[0], known)


@dataclass(frozen=True)
class View:
    """A camera and an end: `frame` is where the end's middle would lie were it in the card's plane."""

    distance_mm: float = 300.0
    camera_tilt_rad: tuple[float, float] = (0.03, -0.05)
    frame: Frame = field(default_factory=lambda: Frame.turned(np.array([60.0, 44.0]), 0.008))

    @property
    def plane(self) -> PlaneMap:
        """A camera that knows itself exactly, its axis through the middle of the end."""
        vector = np.array([*self.camera_tilt_rad, 0.02])
        matrix = rotation_matrix(vector)
        away = self.distance_mm / matrix[2, 2]
        shift = np.array([0.0, 0.0, away]) - matrix[:, :2] @ self.frame.origin
        theta = np.zeros(PARAMETERS)
        theta[:7] = [*vector, *shift, np.log(4500.0)]
        return PlaneMap(theta, np.array([1631.5, 1223.5]), np.zeros((PARAMETERS, PARAMETERS)))

    def seen(self, points: Floats, lie: CardLie, width_mm: float) -> Floats:
        """Where points (n, 2) of a tilted end, mm from the left of its show edge, are seen in the card's plane."""
        plane, frame = self.plane, self.frame
        along = np.append(frame.right, lie.along) / np.hypot(1.0, lie.along)
        across = np.append(frame.down, lie.across)
        across -= (across @ along) * along
        across /= np.linalg.norm(across)
        middle = np.append(frame.origin, lie.height_mm)
        space = middle + (points[:, :1] - width_mm / 2.0) * along + points[:, 1:] * across
        eye = np.append(plane.nadir_mm, plane.distance_mm)
        rays = space - eye
        return np.asarray((eye + rays * (-eye[2] / rays[:, 2:]))[:, :2])


def photograph(board: Board, lie: CardLie, view: View, fits: Fits, rng: np.random.Generator) -> Seen:
    """What is seen of the board, with errors of the fits."""
    w, t = board.width_mm, board.thickness_mm
    skew = np.tan(board.unparallel_rad) * w / 2.0
    fan = np.tan(board.fanned_rad) * t / 2.0
    corners = np.array([[0.0, 0.0], [w, 0.0], [-fan, t - skew], [w + fan, t + skew]])
    swing = np.tan(board.leans_rad) * t / 2.0
    ends = np.column_stack(
        [np.column_stack([board.places_mm - swing, board.places_mm + swing]).ravel(), [0.0, t] * len(swing)]
    )
    points = view.seen(np.vstack([corners, ends]), lie, w)
    end = _found_end(points[:4], fits, rng)
    inside = end.frame.from_plane(points)
    walls = [
        _fitted(index, show, transfer, end.thickness, fits, rng)
        for index, (show, transfer) in enumerate(inside[4:].reshape(-1, 2, 2))
    ]
    left, right = (_side(inside[corner], inside[corner + 2], fits, rng) for corner in (0, 1))
    return Seen(view.plane, end, walls, (left, right))


def _side(show: Floats, transfer: Floats, fits: Fits, rng: np.random.Generator) -> Side:
    """A side through its seen corners, with errors."""
    place = float(show[0] + rng.normal(0.0, fits.side_mm))
    if fits.side_rad is None:
        return Side(place, fits.side_mm)
    lean = float(np.arctan2(*(transfer - show)))
    return Side(place, fits.side_mm, lean + rng.normal(0.0, fits.side_rad), fits.side_rad)


def _found_end(corners: Floats, fits: Fits, rng: np.random.Generator) -> FoundEnd:
    """The end as its face edges give it: the datum steadied by the transfer face, as `locate` does it."""
    show, transfer = (_angle(corners[i + 1] - corners[i]) for i in (0, 2))
    show, transfer = show + rng.normal(0.0, fits.show_rad), transfer + rng.normal(0.0, fits.transfer_rad)
    variances = np.array([fits.show_rad**2, fits.transfer_rad**2 + BOARD_UNPARALLEL_U**2])
    share = variances[0] / variances.sum()
    frame = Frame.turned(corners[0], show + share * (transfer - show))
    inside = frame.from_plane(corners)
    thickness = inside[2:, 1].mean() - inside[:2, 1].mean() + rng.normal(0.0, fits.thickness_mm)
    direction_u = float(np.sqrt(variances.prod() / variances.sum()))
    unparallel_u = float(np.hypot(fits.show_rad, fits.transfer_rad))
    left, right = float(inside[0, 0]), float(inside[1, 0])
    strip = EndStrip(np.zeros((1, 2, 3), np.float32), np.arange(2.0), np.zeros(1))
    return FoundEnd(
        frame, float(thickness), fits.thickness_mm, direction_u, transfer - show, unparallel_u,
        left, right, [], strip, (RoughSide.at(left), RoughSide.at(right)),
    )  # fmt: skip


def _angle(vector: Floats) -> float:
    return float(np.arctan2(vector[1], vector[0]))


def _fitted(
    index: int, show: Floats, transfer: Floats, thickness: float, fits: Fits, rng: np.random.Generator
) -> MeasuredWall:
    """The wall's line through its seen ends, with errors."""
    slope = (transfer[0] - show[0]) / (transfer[1] - show[1])
    level = show[0] + slope * (thickness / 2.0 - show[1])
    level_u = 1e-9 + fits.wall_mm
    line = LineFit(
        0.0,
        float(level + rng.normal(0.0, np.hypot(level_u, 0.008) if fits.wall_mm else 0.0)),
        float(slope + rng.normal(0.0, fits.wall_rad)),
        level_u,
        fits.wall_rad,
        0.01,
        40.0,
    )
    return replace(made_wall(index, float(level)), line=line)


def some_board(rng: np.random.Generator) -> Board:
    """A board by chance: two to five tails, a sawyer with a habit and a scatter of his own, nearly true all round."""
    tails = int(rng.integers(2, 6))
    widths = np.concatenate(
        [[rng.uniform(5.0, 8.0)], *([rng.uniform(12, 20), rng.uniform(4, 9)] for _ in range(tails))]
    )
    places = np.cumsum(widths[:-1])
    leans = np.radians(rng.normal(rng.normal(0.0, 0.3), rng.uniform(0.1, 0.8), 2 * tails))
    return Board(
        float(widths.sum()),
        float(rng.uniform(11.0, 21.0)),
        places,
        leans,
        *rng.normal(0.0, [BOARD_UNPARALLEL_U, BOARD_SIDES_U]).tolist(),
    )


def some_view(rng: np.random.Generator) -> View:
    """A camera by chance, 250 to 420 mm away and up to 5 degrees off in each direction."""
    tilt = np.radians(rng.uniform(-5.0, 5.0, 2))
    frame = Frame.turned(np.array([60.0, 44.0]), float(np.radians(rng.normal(0.0, 0.5))))
    return View(float(rng.uniform(250.0, 420.0)), (float(tilt[0]), float(tilt[1])), frame)


def leans_of(numbers: EndQuantities) -> list[Quantity]:
    """Leans (deg) of the walls, as tangents."""
    per_mm = float(np.degrees(1.0 / numbers.thickness.value))
    return [(far - near).scaled(per_mm, "deg") for near, far in zip(numbers.x_show, numbers.x_transfer, strict=True)]


def tapers_of(numbers: EndQuantities) -> list[Quantity]:
    """Tapers (mm) of the sockets, left to right; the board's edges count as square."""
    out = [near - far for near, far in zip(numbers.x_show, numbers.x_transfer, strict=True)]
    full = [combine([(1.0, right), (-1.0, left)]) for left, right in zip(out[1:-1:2], out[2:-1:2], strict=True)]
    return [out[0], *full, -out[-1]]


def true_leans(board: Board) -> Floats:
    """Leans (walls,) in degrees, as tangents."""
    return np.asarray(np.degrees(np.tan(board.leans_rad)))


def true_tapers(board: Board) -> Floats:
    """Tapers (sockets,) in mm; the board's edges count as square."""
    out = np.concatenate([[0.0], -np.tan(board.leans_rad) * board.thickness_mm, [0.0]])
    return np.asarray(out[1::2] - out[0::2])
