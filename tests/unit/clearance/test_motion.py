import numpy as np
import pytest
from clearance_scenes import car, curved_line

from spanwright.clearance.engine import motion
from spanwright.clearance.sweep import poses
from spanwright.errors import NotConvergedError

KINKED = {"cant_knots": [0, 300, 340, 380, 420, 1200], "cant": [0, 0.2, 1.4, 0.1, 1.5, 0]}


def grid_of(line, body, allowed=0.001):
    return motion.build_grid(line, body, (-230.0, 1430.0), reach=180.0, allowed=allowed)


@pytest.mark.parametrize("changes", [{}, KINKED, {"curvature": [0, 0, 1 / 400, -1 / 500, 0, 0]}])
@pytest.mark.parametrize("level", [0, 1, 3, 5])
def test_no_point_leaves_its_chord_by_more_than_the_bound(changes, level):
    line, body = curved_line(**changes), car(wheelbase=22.0).bodies[0]
    grid = grid_of(line, body)
    rng = np.random.default_rng(level)
    cells = len(grid.nodes) - 1
    start = rng.integers(0, cells >> level, 4000) << level
    end = np.minimum(start + 2**level, cells)
    s = rng.uniform(grid.nodes[start], grid.nodes[end])
    at = poses(line, body, s)
    p = at.origin + rng.uniform(-1, 1, (len(s), 3)) * [150.0, 40.0, 80.0]
    t = ((s - grid.nodes[start]) / (grid.nodes[end] - grid.nodes[start]))[:, None]

    def seen(turn, shift):
        return np.einsum("nij,nj->ni", turn, p) - shift

    a, b = (seen(grid.turn[node], grid.shift[node]) for node in (start, end))
    true = np.einsum("nij,nj->ni", at.axes, p - at.origin)
    off = np.linalg.norm(true - ((1 - t) * a + t * b), axis=1)
    far = (
        np.maximum(np.linalg.norm(a, axis=1), np.linalg.norm(b, axis=1)) + grid.nodes[end] - grid.nodes[start]
    )
    bound = grid.constant[level][start >> level] + grid.growth[level][start >> level] * far
    assert np.all(off <= bound)
    assert off.max() > 0.2 * bound.max()  # and it is no wild exaggeration


def test_cells_keep_to_what_is_allowed_and_the_ends_are_nodes():
    line, body = curved_line(), car().bodies[0]
    grid = grid_of(line, body, allowed=0.0005)
    assert np.max(grid.constant[0] + 180.0 * grid.growth[0]) <= 0.0005
    assert grid.nodes[[0, -1]] == pytest.approx([-230.0, 1430.0], abs=0)


def test_the_motion_is_followed_only_down_to_a_hundredth_of_a_millimetre():
    with pytest.raises(NotConvergedError, match="1e-12"):
        grid_of(curved_line(), car().bodies[0], allowed=1e-12)
