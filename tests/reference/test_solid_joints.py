"""Gap and overlap of pins in their sockets against solid and plane booleans by independent programs.

Tails and pins are built as bodies with skewed, sloping walls and intersected by manifold3d (solids) and shapely
(sections); our closed forms never see those bodies.
"""

import numpy as np
import pytest

from tests.vision.boards import THICKNESS_MM, random_board
from vision.joint.seating import wall_overlap
from vision.joint.settling import gap_and_squeeze, mean_overlap, settle, wall_signs

manifold3d = pytest.importorskip("manifold3d")
shapely = pytest.importorskip("shapely")

DEPTH_MM = 17.0
JOINTS = 25
VOLUME_MM3 = 1e-8
"""manifold3d merges features thinner than its tolerance, 2e-11 mm here; over a wall of 320 mm2 that is 8e-9 mm3."""


def solid(section_at_end, section_at_root):
    """The convex body between two four-cornered sections, (4, 2) in x and y, at the end and at the root."""
    ends = [(section_at_end, 0.0), (section_at_root, DEPTH_MM)]
    points = [(x, y, z) for section, z in ends for x, y in section]
    return manifold3d.Manifold.hull_points(np.array(points, dtype=np.float64))


def quad(left_show, left_transfer, right_show, right_transfer):
    """A section between two straight sides, from the show face (y = 0) to the transfer face."""
    return [(left_show, 0.0), (right_show, 0.0), (right_transfer, THICKNESS_MM), (left_transfer, THICKNESS_MM)]


def tail_sections(walls, slope):
    """Per tail, its section at the end and at the root, narrower there by the slope on either side."""
    run = slope * DEPTH_MM
    for left, right in zip(walls[0::2], walls[1::2], strict=True):
        ends = [quantity.value for quantity in (left.x_show, left.x_transfer, right.x_show, right.x_transfer)]
        yield quad(*ends), quad(ends[0] + run, ends[1] + run, ends[2] - run, ends[3] - run)


def pin_sections(walls, width, shift, slope):
    """Per socket, the pin scribed at the transfer face and moved by `shift`; half pins run to the board's edge."""
    run = slope * DEPTH_MM
    lefts = [(0.0, 0.0), *((wall.x_transfer.value + shift, run) for wall in walls[1::2])]
    rights = [*((wall.x_transfer.value + shift, run) for wall in walls[0::2]), (width.value, 0.0)]
    for (left, left_run), (right, right_run) in zip(lefts, rights, strict=True):
        yield (
            quad(left, left, right, right),
            quad(left - left_run, left - left_run, right + right_run, right + right_run),
        )


def joints(seed):
    rng = np.random.default_rng(seed)
    for _ in range(JOINTS):
        walls, width = random_board(rng)
        yield walls, width, np.array([wall_overlap(wall).value for wall in walls]), float(rng.uniform(0, 1 / 6))


@pytest.mark.parametrize("settled", [True, False])
def test_the_overlap_at_each_wall_is_the_volume_that_solids_share(settled):
    for walls, width, show, slope in joints(11):
        shift = float(settle(show)) if settled else 0.0
        tails = [solid(*sections) for sections in tail_sections(walls, slope)]
        pins = [solid(*sections) for sections in pin_sections(walls, width, shift, slope)]
        volumes = [(tails[number // 2] ^ pins[(number + 1) // 2]).volume() for number in range(len(walls))]
        # A sloping wall shifts tail and pin alike at every depth, so the section's overlap holds along the depth.
        expected = mean_overlap(show, wall_signs(len(show)) * shift) * THICKNESS_MM * DEPTH_MM
        assert expected.max() > 0.1
        assert volumes == pytest.approx(expected, abs=VOLUME_MM3)


def test_gap_and_squeeze_are_the_lengths_that_plane_sections_share_at_the_faces():
    for walls, width, show, _ in joints(12):
        shift = float(settle(show))
        gaps, squeezes = gap_and_squeeze(show, shift)
        tails = shapely.union_all([shapely.Polygon(end) for end, _ in tail_sections(walls, 0.0)])
        for pin_sections_, gap, squeeze in zip(pin_sections(walls, width, shift, 0.0), gaps, squeezes, strict=True):
            pin = shapely.Polygon(pin_sections_[0])
            shared = [shapely.intersection(pin, tails).intersection(row(y)).length for y in (1e-7, THICKNESS_MM - 1e-7)]
            # 1e-7 mm off the faces, so that a line never runs along an edge; slopes are below 0.02.
            assert max(shared) == pytest.approx(squeeze, abs=1e-6)
            assert open_at_show(tails, pin, width.value) == pytest.approx(gap, abs=1e-6)


def row(y):
    return shapely.LineString([(-50.0, y), (500.0, y)])


def open_at_show(tails, pin, width):
    """Length of the show face around a pin that neither pin nor tail fills: up to 1 mm past it, on the board."""
    left, _, right, _ = pin.bounds
    face = shapely.LineString([(max(left - 1.0, 0.0), 1e-7), (min(right + 1.0, width), 1e-7)])
    return face.difference(tails).difference(pin).length


def test_the_settled_shift_has_less_squared_overlap_in_sections_than_its_neighbours():
    for walls, width, show, _ in list(joints(13))[:5]:
        shift = float(settle(show))
        energies = [squared_overlap(walls, width, shift + step) for step in (-0.02, 0.0, 0.02)]
        assert energies[1] == min(energies)


def squared_overlap(walls, width, shift, heights=80):
    """Sum over sections of every squared length that a pin and a tail share, by shapely."""
    tails = [shapely.Polygon(end) for end, _ in tail_sections(walls, 0.0)]
    pins = [shapely.Polygon(end) for end, _ in pin_sections(walls, width, shift, 0.0)]
    shared = [tails[number // 2].intersection(pins[(number + 1) // 2]) for number in range(len(walls))]
    rows = [row((k + 0.5) / heights * THICKNESS_MM) for k in range(heights)]
    return sum(area.intersection(line).length ** 2 for area in shared for line in rows)
