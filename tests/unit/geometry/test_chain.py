"""A chain of short clothoids: place, direction, derivatives, nearest point."""

import numpy as np
import pytest

from spanwright.errors import InputError, NotConvergedError
from spanwright.geometry.chain import (
    Chain,
    clothoid,
    curvature_at,
    evaluate,
    heading_at,
    nearest,
    sensitivities,
)


def wavy():
    """Tangent, easement, arc, easement, tangent, with a wave; uneven knots."""
    knots = np.array([0.0, 35.0, 80.0, 110.0, 160.0, 200.0, 260.0, 290.0, 340.0])
    curvature = np.array([0.0, 1e-4, 9e-4, 1.7e-3, 1.6e-3, 1.75e-3, 8e-4, -1e-4, 5e-5])
    return Chain(start=(120.0, -45.0), heading=0.3, knots=knots, curvature=curvature)


def from_vector(chain, q):
    return Chain(start=(q[0], q[1]), heading=q[2], knots=chain.knots, curvature=q[3:])


def test_place_and_direction_agree_with_simpson_on_a_fine_grid():
    """Curvature is linear between knots, so trapezia give the heading exactly; Simpson does the rest."""
    chain = wavy()
    t = np.linspace(0.0, 340.0, 13601)  # every knot is on the grid
    kappa = np.interp(t, chain.knots, chain.curvature)
    angle = chain.heading + np.concatenate([[0.0], np.cumsum(0.5 * np.diff(t) * (kappa[1:] + kappa[:-1]))])
    direction = np.column_stack([np.cos(angle), np.sin(angle)])
    pairs = (direction[:-2:2] + 4.0 * direction[1:-1:2] + direction[2::2]) * (t[2] - t[0]) / 6.0
    wanted = np.vstack([[0.0, 0.0], np.cumsum(pairs, axis=0)]) + chain.start
    points, heading = evaluate(chain, t[::2])
    np.testing.assert_allclose(points, wanted, rtol=0, atol=1e-9)
    np.testing.assert_allclose(heading, angle[::2], rtol=0, atol=1e-12)


@pytest.mark.parametrize("turns", [0.1, 0.9, 3.0])
def test_arc_closes_on_a_circle(turns):
    radius = 250.0
    length = 2.0 * np.pi * radius * turns
    chain = Chain(
        start=(0.0, 0.0), heading=0.0, knots=np.array([0.0, length]), curvature=np.full(2, 1.0 / radius)
    )
    s = np.linspace(0.0, length, 57)
    points, _ = evaluate(chain, s)
    wanted = radius * np.column_stack([np.sin(s / radius), 1.0 - np.cos(s / radius)])
    np.testing.assert_allclose(points, wanted, rtol=0, atol=1e-8)


def test_beyond_the_ends_it_runs_straight():
    chain = wavy()
    for s, end in ((np.array([-50.0, 0.0]), 1), (np.array([340.0, 390.0]), 0)):
        points, heading = evaluate(chain, s)
        assert heading[0] == heading[1]
        along = np.array([np.cos(heading[0]), np.sin(heading[0])])
        np.testing.assert_allclose(points[1] - points[0], 50.0 * along, atol=1e-10)
        assert curvature_at(chain, s)[1 - end] == 0.0


def test_heading_is_continuous_and_its_slope_is_the_curvature():
    chain = wavy()
    s = np.linspace(1.0, 339.0, 200)
    slope = (heading_at(chain, s + 1e-4) - heading_at(chain, s - 1e-4)) / 2e-4
    np.testing.assert_allclose(slope, curvature_at(chain, s), atol=1e-9)


def test_derivatives_against_central_differences():
    chain = wavy()
    s = np.array([-30.0, 0.0, 20.0, 35.0, 97.3, 180.0, 290.0, 339.9, 340.0, 365.0])
    q = np.array([*chain.start, chain.heading, *chain.curvature])
    position, heading = sensitivities(chain, s)
    for k in range(len(q)):
        step = 1e-3 if k < 2 else (1e-6 if k == 2 else 1e-8)
        up, down = q.copy(), q.copy()
        up[k] += step
        down[k] -= step
        p1, h1 = evaluate(from_vector(chain, up), s)
        p0, h0 = evaluate(from_vector(chain, down), s)
        scale = max(1.0, np.abs(position[:, :, k]).max())
        np.testing.assert_allclose(position[:, :, k], (p1 - p0) / (2 * step), rtol=0, atol=1e-6 * scale)
        np.testing.assert_allclose(
            heading[:, k], (h1 - h0) / (2 * step), rtol=0, atol=1e-6 * max(1, abs(heading[:, k]).max())
        )


def test_nearest_finds_the_foot_of_points_set_off_square():
    chain = wavy()
    s = np.array([-20.0, 3.0, 50.0, 123.4, 199.0, 300.0, 355.0])
    points, angle = evaluate(chain, s)
    off = np.array([5.0, -12.0, 30.0, -80.0, 60.0, -2.0, 9.0])
    aside = points + off[:, None] * np.column_stack([-np.sin(angle), np.cos(angle)])
    np.testing.assert_allclose(nearest(chain, aside), s, atol=1e-7)
    np.testing.assert_allclose(nearest(chain, aside, s + 3.0), s, atol=1e-7)


def test_hard_by_a_centre_the_foot_is_not_found():
    radius = 100.0
    chain = Chain(
        start=(0.0, 0.0), heading=0.0, knots=np.array([0.0, 150.0]), curvature=np.full(2, 1.0 / radius)
    )
    with pytest.raises(NotConvergedError, match="expected 1e-10 mm") as caught:
        nearest(chain, np.array([[1.0, 99.0]]))
    assert caught.value.value > 1e-10


def test_a_foot_that_is_never_reached_is_said():
    chain = Chain(
        start=(0.0, 0.0), heading=0.0, knots=np.array([0.0, 600.0]), curvature=np.full(2, 1.0 / 100.0)
    )
    with pytest.raises(NotConvergedError, match="no nearest point of the curve found; read"):
        nearest(chain, np.array([[np.nan, 50.0]]), np.array([10.0]))


@pytest.mark.parametrize("knots", [[0.0], [0.0, 10.0, 10.0], [0.0, 10.0, 5.0]])
def test_knots_must_grow(knots):
    with pytest.raises(InputError, match=f"knots must grow and be two at least; read {len(knots)}"):
        Chain(start=(0.0, 0.0), heading=0.0, knots=np.array(knots), curvature=np.zeros(len(knots)))


@pytest.mark.parametrize("length", [0.0, -3.0, float("nan")])
def test_a_clothoid_needs_a_length(length):
    with pytest.raises(InputError, match=f"read {length!r}"):
        clothoid(length, 0.0, 0.01)


def test_a_clothoid_run_backwards_is_its_mirror():
    x, y, heading = clothoid(120.0, 0.0, 0.004)
    bx, by, back = clothoid(120.0, 0.004, 0.0)
    # turn the first so that its end becomes its start
    c, s = np.cos(-heading), np.sin(-heading)
    to_start = np.array([[c, -s], [s, c]]) @ np.array([-x, -y])
    assert (bx, by) == pytest.approx((-to_start[0], to_start[1]), abs=1e-10)
    assert back == pytest.approx(heading)
