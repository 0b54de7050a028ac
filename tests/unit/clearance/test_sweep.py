import numpy as np
import pytest
from clearance_scenes import RECTANGLE, car, curved_line, make_line
from derived_scenes import PLACES, derived_body_point, line_of, scene

from spanwright.clearance.engine.track import track_of
from spanwright.clearance.sweep import body_points, poses, truck_centre
from spanwright.errors import NotConvergedError


def straight(**changes):
    return make_line(**({"knots": [0.0, 1000.0], "curvature": [0.0, 0.0]} | changes))


def test_on_level_tangent_the_axes_are_those_of_the_layout():
    at = poses(straight(), car().bodies[0], np.array([500.0]))
    assert at.origin[0] == pytest.approx([500.0, 0.0, 0.0])
    assert at.axes[0] == pytest.approx(np.eye(3))
    assert at.half[0] == pytest.approx(80.0)


def test_on_a_grade_the_truck_spacing_is_kept_in_space():
    line = straight(grade_knots=[0, 1000], profile=[10.0, 0.03, 0.03])
    at = poses(line, car().bodies[0], np.array([500.0]))
    assert at.half[0] == pytest.approx(80.0 / np.hypot(1.0, 0.03))
    assert at.axes[0, 0] == pytest.approx(np.array([1.0, 0.0, 0.03]) / np.hypot(1.0, 0.03))
    assert at.origin[0, 2] == pytest.approx(10.0 + 0.03 * 500.0)


def test_the_right_rail_up_leans_the_body_to_the_left():
    line = straight(cant=[1.65])
    at = poses(line, car().bodies[0], np.array([500.0]))
    top = body_points(at, np.array([[0.0, 0.0, 50.0]]))[0]
    assert top[1] == pytest.approx(50.0 * 0.1)  # sine of the roll is 1.65 / 16.5
    left = body_points(at, np.array([[0.0, 10.0, 0.0]]))[0]
    assert left[2] == pytest.approx(-10.0 * 0.1)


def test_on_an_arc_the_origin_lies_inside_by_the_middle_ordinate():
    line = make_line(
        knots=[-500.0, 500.0],
        curvature=[1 / 600.0] * 2,
        start=(-600 * np.sin(500 / 600), 600 - 600 * np.cos(500 / 600)),
        heading=-500 / 600,
    )
    at = poses(line, car().bodies[0], np.array([0.0]))
    assert at.origin[0, :2] == pytest.approx([0.0, 600.0 - np.sqrt(600.0**2 - 80.0**2)], abs=1e-9)


def test_a_wheelbase_pulls_the_truck_inward():
    line = curved_line()
    on, _ = truck_centre(line, np.array([600.0]), 0.0)
    off, _ = truck_centre(line, np.array([600.0]), 22.0)
    assert np.linalg.norm((on - off)[0, :2]) == pytest.approx(22.0**2 / 8 / 600.0, rel=1e-3)


def test_the_slope_of_a_truck_centre_is_its_derivative():
    line, s = curved_line(), np.array([330.0, 700.0])
    step = 1e-4
    _, slope = truck_centre(line, s, 22.0)
    ahead, behind = truck_centre(line, s + step, 22.0)[0], truck_centre(line, s - step, 22.0)[0]
    assert slope == pytest.approx((ahead - behind) / (2 * step), abs=1e-8)


def test_axes_are_square_and_of_unit_length():
    at = poses(curved_line(), car(wheelbase=22.0).bodies[0], np.linspace(-200, 1400, 100))
    assert at.axes @ at.axes.transpose(0, 2, 1) == pytest.approx(np.broadcast_to(np.eye(3), (100, 3, 3)))
    assert np.linalg.det(at.axes) == pytest.approx(np.ones(100))


def test_turning_the_layout_turns_the_poses():
    plain, turned = curved_line(), curved_line(start=(30.0, -20.0), heading=0.7)
    body, s = car(wheelbase=22.0).bodies[0], np.linspace(0, 1200, 13)
    a, b = poses(plain, body, s), poses(turned, body, s)
    c, r = np.cos(0.7), np.sin(0.7)
    turn = np.array([[c, -r, 0], [r, c, 0], [0, 0, 1]])
    assert b.origin == pytest.approx(a.origin @ turn.T + [30.0, -20.0, 0.0])
    assert b.axes == pytest.approx(a.axes @ turn.T)


def test_a_truck_spacing_longer_than_the_curve_allows_is_said():
    circle = make_line(knots=[-400.0, 400.0], curvature=[1 / 60.0] * 2)
    with pytest.raises(NotConvergedError, match="lower, body"):
        poses(circle, car(RECTANGLE, spacing=160.0).bodies[0], np.array([0.0]))


@pytest.mark.parametrize("wheelbase", [0.0, 22.0])
def test_a_derived_point_is_the_plain_point_with_true_derivatives(wheelbase):
    line, vehicle, _, inputs = scene(wheelbase=wheelbase)
    body = vehicle.bodies[0]
    xyz, s = np.array([110.0, -17.0, 48.0]), 421.0

    def point(given):
        return derived_body_point(
            line_of(given, line), body, vehicle, np.array([s]), xyz=xyz[None], inputs=given
        )[0]

    found = point(inputs)
    plain = body_points(poses(line, body, np.array([s])), xyz[None])[0]
    assert found.value == pytest.approx(plain, abs=1e-9)
    for k, item in enumerate(inputs.items):
        if item.id.rsplit(" ", 1)[0] in PLACES:
            continue
        step = 1e-4 * item.sd / 0.1
        values = inputs.values
        values[k] += step
        ahead = point(inputs.with_values(values)).value
        values[k] -= 2 * step
        behind = point(inputs.with_values(values)).value
        assert found.jac[:, k] == pytest.approx(
            (ahead - behind) / (2 * step), rel=2e-6, abs=1e-6 * 0.1 / item.sd
        ), item.id


def test_knots_that_differ_by_rounding_are_one():
    """No piece of the track's table is all rounding: its direction has unit length half way along too."""
    knots = np.linspace(0.0, 871.610030126637, 29)
    line = make_line(
        knots=knots,
        curvature=1 / 600.0 + 1e-4 * np.sin(knots),
        start=(152.1, 160.3),
        heading=-0.13,
        grade_knots=knots + 2.0 * np.spacing(knots + 1.0),
        profile=[10.0, *(0.01 * np.cos(knots))],
    )
    track = track_of(line)
    t = 0.5 * np.append(np.diff(track.start), 0.0)
    powers = np.arange(1, 6) * t[:, None] ** np.arange(5)
    x, y = (np.sum(track.rows[:, first : first + 5] * powers, axis=1) for first in (1, 7))
    np.testing.assert_allclose(np.hypot(x, y), 1.0, atol=1e-9)
