"""Joints with leaning, sloping, twisted walls against solid booleans by an independent program.

Tails are built as meshes over their ruled sides, pins as prisms over the outline that the tails have at the transfer
face; manifold3d intersects them. Overlap, its place, and what shows at each depth must be those of our closed forms,
which never see the bodies.
"""

import numpy as np
import pytest

from tests.reference.test_solid_joints import open_at_show, quad, row
from tests.vision.faces import random_true_board
from vision.board.joint_in_depth import predict_in_depth, root_overlaps
from vision.joint.overlap_place import overlap_of
from vision.joint.settling import mean_over_depth, settle, wall_signs

manifold3d = pytest.importorskip("manifold3d")
shapely = pytest.importorskip("shapely")

JOINTS = 15
CELLS = 24
"""Facets of a twisted side, each way."""
TWIST_MM = 0.25


def facet_volume(board) -> float:
    """How much volume (mm3) the flat facets of a side may be off.

    A cell's saddle is at most twist / 4 / cells^2 high; neighbours cancel but where the overlap ends inside a cell, and
    there it is thin: a hundredth of the area is plenty.
    """
    return TWIST_MM / 4.0 / CELLS**2 * board.thickness_mm * board.depth_mm / 100.0


def ruled_solid(left, right, thickness_mm, depth_mm):
    """The body between two ruled sides, each given by its corners x at show and transfer face, at end and at bottom."""
    steps = np.linspace(0.0, 1.0, CELLS + 1)
    v, w = (grid.ravel() for grid in np.meshgrid(steps, steps, indexing="ij"))
    weights = np.stack([(1 - v) * (1 - w), v * (1 - w), (1 - v) * w, v * w], axis=1)
    points = [np.stack([weights @ side, v * thickness_mm, w * depth_mm], axis=1) for side in (left, right)]
    inner = side_triangles()
    triangles = np.concatenate([inner[:, ::-1], inner + (CELLS + 1) ** 2, rim_triangles()])
    mesh = manifold3d.Mesh64(np.concatenate(points), triangles.astype(np.uint64))
    body = manifold3d.Manifold(mesh)
    assert body.volume() > 0.0
    return body


def side_triangles():
    """Two triangles a cell, their diagonals alternating, so that the saddles of neighbours cancel; seen from +x."""
    found = []
    for i in range(CELLS):
        for j in range(CELLS):
            a, b = i * (CELLS + 1) + j, (i + 1) * (CELLS + 1) + j
            c, d = b + 1, a + 1
            found += [(a, b, c), (a, c, d)] if (i + j) % 2 else [(a, b, d), (b, c, d)]
    return np.array(found)


def rim_triangles():
    """The strip between the rims of both sides."""
    n = CELLS + 1
    rim = [*range(n)] + [i * n + n - 1 for i in range(1, n)]
    rim += [(n - 1) * n + j for j in reversed(range(n - 1))] + [i * n for i in reversed(range(1, n - 1))]
    found = []
    for one, other in zip(rim, [*rim[1:], rim[0]], strict=True):
        found += [(one, other + n * n, other), (one, one + n * n, other + n * n)]
    return np.array(found)


def tails_of(board):
    return [
        ruled_solid(left, right, board.thickness_mm, board.depth_mm)
        for left, right in zip(board.corners[0::2], board.corners[1::2], strict=True)
    ]


def pins_of(board, shift_mm):
    """Per socket, the prism over its outline at the transfer face, moved sideways; half pins end at the board."""
    outline = [(x + shift_mm, root + shift_mm) for x, root in board.corners[:, [1, 3]]]
    lefts = [(0.0, 0.0), *outline[1::2]]
    rights = [*outline[0::2], (board.width_mm, board.width_mm)]
    return [prism(left, right, board) for left, right in zip(lefts, rights, strict=True)]


def prism(left, right, board):
    corners = [(left[at], right[at], depth) for at, depth in ((0, 0.0), (1, board.depth_mm))]
    points = [(x, y, z) for low, high, z in corners for x in (low, high) for y in (0.0, board.thickness_mm)]
    return manifold3d.Manifold.hull_points(np.array(points, dtype=np.float64))


def volume_and_middle(body):
    """Volume (mm3) and centroid of a body, summed over the tetrahedra between its triangles and the origin."""
    mesh = body.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts, dtype=np.int64)]
    origin = corners.reshape(-1, 3).mean(axis=0)
    volumes = np.linalg.det(corners - origin) / 6.0
    middles = (corners.sum(axis=1) + origin) / 4.0
    return volumes.sum(), volumes @ middles / volumes.sum()


def joints(seed):
    rng = np.random.default_rng(seed)
    for _ in range(JOINTS):
        board = random_true_board(rng, twist_mm=TWIST_MM)
        shape = board.shape()
        ends = np.array([wall.overlap_at(0.0).value for wall in shape.walls])
        yield board, ends, np.array([overlap.value for overlap in root_overlaps(shape)])


@pytest.mark.parametrize("settled", [True, False])
def test_the_overlap_at_each_twisted_wall_is_the_volume_that_solids_share(settled):
    for board, ends, roots in joints(21):
        shift = float(settle(ends, roots)) if settled else 0.0
        tails, pins = tails_of(board), pins_of(board, shift)
        volumes = [(tails[number // 2] ^ pins[(number + 1) // 2]).volume() for number in range(len(ends))]
        mean = mean_over_depth(ends, roots, wall_signs(len(ends)) * shift)
        assert mean.max() > 0.003
        assert volumes == pytest.approx(mean * board.thickness_mm * board.depth_mm, abs=facet_volume(board))


def test_the_overlap_lies_where_the_solids_share_their_wood():
    compared = 0
    for board, ends, roots in joints(22):
        shift = float(settle(ends, roots))
        tails, pins = tails_of(board), pins_of(board, shift)
        for number, push in enumerate(wall_signs(len(ends)) * shift):
            shared = tails[number // 2] ^ pins[(number + 1) // 2]
            if shared.volume() < 1.0:
                continue
            volume, middle = volume_and_middle(shared)
            found = overlap_of(ends[number], roots[number], float(push))
            place = ((1.0 - found.height) * board.thickness_mm, found.depth * board.depth_mm)
            # The facets' volume, all of it at the farthest place of the wall, over the volume shared.
            off = facet_volume(board) * board.thickness_mm / volume
            assert middle[1:] == pytest.approx(place, abs=off)
            compared += 1
    assert compared > 40


def test_gap_and_squeeze_at_every_depth_are_the_lengths_that_plane_sections_share():
    for board, _, _ in list(joints(23))[:6]:
        found = predict_in_depth(board.shape(), board.end_walls())
        shift = found.prediction.settle_mm
        for level in range(len(found.sockets[0].slices)):
            share = level / (len(found.sockets[0].slices) - 1)
            tails, pins = sections(board, shift, share)
            for pin, socket in zip(pins, found.sockets, strict=True):
                rows = [row(y) for y in (1e-7, board.thickness_mm - 1e-7)]
                shared = max(shapely.intersection(pin, tails).intersection(line).length for line in rows)
                # 1e-7 mm off the faces, so that a line never runs along an edge; leans are below 0.03.
                assert shared == pytest.approx(socket.slices[level].squeeze_mm, abs=1e-6)
                assert open_at_show(tails, pin, board.width_mm) == pytest.approx(socket.slices[level].gap_mm, abs=1e-6)


def sections(board, shift_mm, share):
    """Tails as one, and pins, at a share of the depth, by shapely."""
    show, transfer = ((1 - share) * board.corners[:, at] + share * board.corners[:, at + 2] for at in (0, 1))
    tails = [shapely.Polygon(quad(show[k], transfer[k], show[k + 1], transfer[k + 1])) for k in range(0, len(show), 2)]
    lefts, rights = [0.0, *(transfer[1::2] + shift_mm)], [*(transfer[0::2] + shift_mm), board.width_mm]
    pins = [shapely.Polygon(quad(low, low, high, high)) for low, high in zip(lefts, rights, strict=True)]
    return shapely.union_all(tails), pins
