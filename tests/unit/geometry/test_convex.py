import numpy as np
import pytest
from shapely import Polygon, union_all

from spanwright.errors import InputError
from spanwright.geometry import convex

L_SHAPE = np.array([[0, 0], [3, 0], [3, 1], [1, 1], [1, 3], [0, 3]], dtype=float)
T_SHAPE = np.array([[-1, 0], [1, 0], [1, 3], [3, 3], [3, 4], [-3, 4], [-3, 3], [-1, 3]], dtype=float)
STAR = np.array(
    [[np.cos(a) * r, np.sin(a) * r] for a, r in zip(np.arange(10) * np.pi / 5, [3, 1.2] * 5, strict=True)]
)


def test_a_convex_polygon_is_one_piece_counter_clockwise():
    square = np.array([[0, 0], [0, 2], [2, 2], [2, 0]], dtype=float)
    (piece,) = convex.decompose(square)
    assert convex.area(piece) == pytest.approx(4.0)


@pytest.mark.parametrize(("polygon", "most"), [(L_SHAPE, 2), (L_SHAPE[::-1], 2), (T_SHAPE, 2), (STAR, 6)])
def test_pieces_cover_the_polygon_exactly_and_are_convex(polygon, most):
    pieces = convex.decompose(polygon)
    assert len(pieces) <= most
    assert sum(convex.area(p) for p in pieces) == pytest.approx(abs(convex.area(polygon)))
    assert union_all([Polygon(p) for p in pieces]).symmetric_difference(Polygon(polygon)).area < 1e-12
    for piece in pieces:
        assert len(convex.hull(piece)) == len(piece)


@pytest.mark.parametrize("seed", range(20))
def test_random_polygons_are_covered(seed):
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(0, 2 * np.pi, 12))
    polygon = np.column_stack([np.cos(angles), np.sin(angles)]) * rng.uniform(1, 5, 12)[:, None]
    if not Polygon(polygon).is_valid:
        assert not convex.is_simple(polygon)
        return
    pieces = convex.decompose(polygon)
    assert union_all([Polygon(p) for p in pieces]).symmetric_difference(Polygon(polygon)).area < 1e-9


def test_a_corner_on_a_straight_side_does_no_harm():
    polygon = np.array([[0, 0], [1, 0], [2, 0], [2, 2], [1, 1], [0, 2]], dtype=float)
    assert sum(convex.area(p) for p in convex.decompose(polygon)) == pytest.approx(3.0)


@pytest.mark.parametrize(
    "polygon",
    [
        [[0, 0], [2, 2], [2, 0], [0, 2]],  # sides cross
        [[0, 0], [2, 0], [2, 0], [0, 2]],  # two corners coincide
        [[0, 0], [2, 0], [1, 0], [0, 2]],  # folds back
        [[0, 0], [4, 0], [4, 2], [2, 0], [0, 2]],  # a corner touches a side
    ],
)
def test_polygons_that_are_not_simple(polygon):
    assert not convex.is_simple(np.array(polygon, dtype=float))


def test_simple_polygons():
    assert convex.is_simple(L_SHAPE)
    assert convex.is_simple(STAR)


def test_crossing_sides_are_refused_with_their_corners():
    bow = np.array([[0, 0], [4, 4], [4, 0], [0, 4]], dtype=float)
    with pytest.raises(InputError, match=r"4\.0.*corners in order"):
        convex.decompose(bow)
