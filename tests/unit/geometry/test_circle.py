"""Circles through points: exact, noisy, far away, flat; and what fixes no circle."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from spanwright.errors import InputError, NoSolutionError, NotConvergedError
from spanwright.geometry.circle import fit_circle_algebraic, fit_circle_geometric


def arc(centre, radius, first, last, n):
    t = np.linspace(first, last, n)
    return np.asarray(centre) + radius * np.column_stack([np.cos(t), np.sin(t)])


@pytest.mark.parametrize("centre", [(0.0, 0.0), (-350.0, 1200.0), (1e6, -2e6)])
def test_points_on_a_circle_give_it_back(centre):
    fit = fit_circle_geometric(arc(centre, 610.0, 0.2, 0.9, 7))
    assert fit.centre == pytest.approx(centre, abs=1e-5)
    assert fit.radius == pytest.approx(610.0, abs=1e-5)
    assert fit.rms < 1e-6


def test_three_points_are_met_exactly():
    fit = fit_circle_geometric([[0.0, 0.0], [80.0, 0.0], [40.0, 20.0]])
    assert fit.radius == pytest.approx(50.0, abs=1e-9)
    assert fit.centre == pytest.approx((40.0, -30.0), abs=1e-9)


def test_noisy_shallow_arc_agrees_with_a_general_solver():
    rng = np.random.default_rng(7)
    for _ in range(20):
        points = arc((20.0, 30.0), 900.0, 1.2, 1.6, 12) + rng.normal(0.0, 0.3, (12, 2))
        fit = fit_circle_geometric(points)
        other = least_squares(
            lambda q, p=points: np.hypot(p[:, 0] - q[0], p[:, 1] - q[1]) - q[2],
            [20.0, 30.0, 900.0],
            xtol=1e-15,
            ftol=1e-15,
            gtol=1e-15,
            x_scale=[100.0, 100.0, 100.0],
        )
        assert fit.rms**2 * 12 <= 2.0 * other.cost * (1 + 1e-9)
        assert fit.radius == pytest.approx(other.x[2], rel=1e-5)


def test_the_answer_moves_with_the_points():
    points = arc((5.0, -3.0), 40.0, 0.0, 2.0, 6) + 0.2 * np.sin(np.arange(12)).reshape(6, 2)
    one = fit_circle_geometric(points)
    turn = np.array([[0.6, -0.8], [0.8, 0.6]])
    other = fit_circle_geometric(3.0 * points @ turn.T + [1000.0, -500.0])
    assert other.radius == pytest.approx(3.0 * one.radius, rel=1e-9)
    assert other.centre == pytest.approx(tuple(3.0 * turn @ one.centre + [1000.0, -500.0]), abs=1e-7)


@pytest.mark.parametrize("fit", [fit_circle_geometric, fit_circle_algebraic])
class TestRefusals:
    def test_two_points(self, fit):
        with pytest.raises(InputError, match="three different points; read 2; expected 3 or more"):
            fit([[0.0, 0.0], [1.0, 1.0]])

    def test_the_same_point_again_and_again(self, fit):
        with pytest.raises(InputError, match="read 2"):
            fit([[0.0, 0.0], [1.0, 1.0], [1.0, 1.0], [0.0, 0.0]])

    def test_a_straight_line(self, fit):
        with pytest.raises(InputError, match="on one straight line"):
            fit([[0.0, 1.0], [10.0, 6.0], [20.0, 11.0], [50.0, 26.0]])

    def test_a_point_that_is_no_number(self, fit):
        with pytest.raises(InputError, match=r"not a finite number; read \(3.0, nan\)"):
            fit([[0.0, 1.0], [3.0, float("nan")], [20.0, 11.0]])

    def test_points_in_space(self, fit):
        with pytest.raises(InputError, match=r"read \(4, 3\)"):
            fit(np.zeros((4, 3)))


def test_a_zigzag_about_a_line_has_no_best_circle():
    points = np.column_stack([np.arange(8.0) * 50.0, 0.3 * (-1.0) ** np.arange(8)])
    with pytest.raises(NotConvergedError, match="A straight line may fit better") as caught:
        fit_circle_geometric(points)
    assert caught.value.value > 1e6 * 100.0


def test_steps_that_run_out_are_said():
    with pytest.raises(NotConvergedError, match="expected a radius that settles"):
        fit_circle_geometric([[1, 7], [2, 6], [5, 8], [7, 7], [9, 5], [3, 7]], most=2)


def test_an_equation_of_no_real_circle_is_said(monkeypatch):
    from spanwright.geometry import circle

    monkeypatch.setattr(circle, "_algebraic", lambda points: np.array([1.0, 2.0, np.nan]))
    with pytest.raises(NoSolutionError, match=r"no real circle; read \(1.0, 2.0, nan\)"):
        circle.fit_circle_algebraic([[0.0, 0.0], [80.0, 0.0], [40.0, 20.0]])
    # the geometric fit starts from the mean instead
    assert circle.fit_circle_geometric([[0.0, 0.0], [80.0, 0.0], [40.0, 20.0]]).radius == pytest.approx(50.0)
