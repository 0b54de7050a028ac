import numpy as np
import pytest
from scipy.optimize import minimize

from spanwright.geometry import convex
from spanwright.geometry import distance as ds

BLOCK = ds.ConvexPrism(
    rear=-2.0, front=3.0, polygon=np.array([[-1.0, 0.0], [1.0, 0.0], [1.0, 2.0], [-1.0, 2.0]])
)


def one(triangle, prism=BLOCK):
    return ds.triangle_prism(prism, np.array([triangle], dtype=float))


@pytest.mark.parametrize(
    ("triangle", "gap", "on_prism"),
    [
        ([[0, 0, 3], [9, 9, 9], [-9, 9, 9]], 1.0, [0, 0, 2]),  # corner over a face
        ([[5, 0, 1], [9, 9, 1], [9, -9, 1]], 2.0, [3, 0, 1]),  # corner before the front
        ([[4, 2, 3], [8, 9, 9], [9, 8, 9]], np.sqrt(3.0), [3, 1, 2]),  # corner to corner
        ([[-9, 1, 3], [9, 1, 3], [0, 9, 9]], 1.0, None),  # edge along an edge, parallel
        ([[-9, 2, 3], [9, 2, 3], [0, 9, 9]], np.sqrt(2.0), None),
        ([[0, 3, 9], [0, 3, -9], [9, 9, 0]], 2.0, None),  # edge beside a face
        ([[3, 3, 0], [5, 1, 0], [4, 2, 9]], np.sqrt(2.0) * 0.5 * 3 - np.sqrt(2.0) * 0.5 * 1, None),
    ],
)
def test_distances_reckoned_by_hand(triangle, gap, on_prism):
    found = one(triangle)
    assert found.distance[0] == pytest.approx(gap, abs=1e-12)
    if on_prism is not None:
        assert found.on_prism[0] == pytest.approx(on_prism)
    point = found.weights[0] @ np.array(triangle, dtype=float)
    assert np.linalg.norm(point - found.on_prism[0]) == pytest.approx(gap)


@pytest.mark.parametrize(
    "triangle",
    [
        [[0, 0, 1], [0.5, 0, 1], [0, 0.5, 1]],  # inside
        [[-9, 0, 1], [9, 0, 1], [0, 0, 99]],  # an edge passes through
        [[-99, -99, 1], [99, -99, 1], [0, 99, 1]],  # far larger: the prism pierces the face
        [[0, 0, 1], [9, 9, 9], [9, -9, 9]],  # a corner inside
    ],
)
def test_overlap_is_zero_with_a_common_point(triangle):
    found = one(triangle)
    assert found.distance[0] == 0.0
    point = found.weights[0] @ np.array(triangle, dtype=float)
    assert point == pytest.approx(found.on_prism[0])
    assert np.all(point >= np.array([-2, -1, 0]) - 1e-9)
    assert np.all(point <= np.array([3, 1, 2]) + 1e-9)


def by_optimisation(prism, triangle):
    """Convex program over (weights of the triangle, weights of the prism's corners)."""
    points = ds.corners(prism)
    m = len(points)

    def apart(x):
        return float(np.sum((x[:3] @ triangle - x[3:] @ points) ** 2))

    def slope(x):
        off = x[:3] @ triangle - x[3:] @ points
        return 2.0 * np.concatenate([triangle @ off, -points @ off])

    sums = [
        {"type": "eq", "fun": lambda x: np.sum(x[:3]) - 1.0, "jac": lambda x: np.repeat([1.0, 0.0], [3, m])},
        {"type": "eq", "fun": lambda x: np.sum(x[3:]) - 1.0, "jac": lambda x: np.repeat([0.0, 1.0], [3, m])},
    ]
    start = np.concatenate([np.full(3, 1 / 3), np.full(m, 1 / m)])
    options = {"ftol": 1e-15, "maxiter": 500}
    found = minimize(
        apart, start, jac=slope, bounds=[(0, 1)] * (m + 3), constraints=sums, method="SLSQP", options=options
    )
    return np.sqrt(max(found.fun, 0.0))


@pytest.mark.parametrize("seed", range(40))
def test_random_pairs_against_a_convex_program(seed):
    rng = np.random.default_rng(seed)
    prism = ds.ConvexPrism(
        rear=-rng.uniform(1, 4), front=rng.uniform(1, 4), polygon=convex.hull(rng.normal(size=(8, 2)))
    )
    triangle = rng.normal(scale=2.0, size=(3, 3)) + rng.normal(scale=3.0, size=3)
    found = ds.triangle_prism(prism, triangle[None])
    assert found.distance[0] == pytest.approx(by_optimisation(prism, triangle), abs=2e-5)


def test_a_separating_direction_never_says_more_than_the_distance():
    rng = np.random.default_rng(3)
    triangles = rng.normal(scale=2.0, size=(500, 3, 3)) + rng.normal(scale=4.0, size=(500, 1, 3))
    found = ds.triangle_prism(BLOCK, triangles)
    n = rng.normal(size=(500, 3))
    n /= np.linalg.norm(n, axis=1)[:, None]
    assert np.all(ds.separation(BLOCK, triangles, n) <= found.distance + 1e-12)
    toward = np.einsum("nj,njc->nc", found.weights, triangles) - found.on_prism
    apart = found.distance > 0
    best = toward[apart] / found.distance[apart, None]
    assert ds.separation(BLOCK, triangles[apart], best) == pytest.approx(found.distance[apart], abs=1e-9)


def test_a_flat_triangle_is_a_segment():
    assert one([[0, 3, 1], [5, 3, 1], [2, 3, 1]]).distance[0] == pytest.approx(2.0)


def test_distance_is_the_same_in_a_mirror():
    rng = np.random.default_rng(4)
    triangles = rng.normal(scale=4.0, size=(200, 3, 3))
    mirror = np.array([1.0, -1.0, 1.0])
    assert ds.triangle_prism(BLOCK, triangles).distance == pytest.approx(
        ds.triangle_prism(BLOCK, triangles * mirror).distance, abs=1e-12
    )
