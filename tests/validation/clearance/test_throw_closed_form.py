"""Throw of a body on a plain arc, against the circle geometry of its corners.

Derivation (no table): the trucks of spacing C stand on a circle of radius R, so the chord lies
``R - sqrt(R^2 - C^2 / 4)`` inside the circle at mid-body; the body of width W is square to it there.
The corner at the end of a body of length L is ``hypot(sqrt(R^2 - C^2/4) + W/2, L/2)`` from the centre,
half a width further out than the centreline. A post so thin that it has no width of its own measures both.
"""

import numpy as np
import pytest
from clearance_scenes import RECTANGLE, box, car, make_line

from spanwright.clearance.least_gap import least_gap
from spanwright.clearance.witness import SearchSettings

HALF_WIDTH = 18.0
CASES = [(450.0, 160.0, 230.0), (600.0, 160.0, 230.0), (600.0, 210.0, 300.0), (900.0, 90.0, 140.0)]


def arc(radius):
    """An arc of well over a body's length, centre at (0, radius)."""
    return make_line(
        knots=[-400.0, 400.0],
        curvature=[1 / radius] * 2,
        start=tuple(at(radius, -400.0, 0.0)),
        heading=-400.0 / radius,
    )


def at(radius, station, offset):
    angle = station / radius
    return (radius - offset) * np.sin(angle), radius - (radius - offset) * np.cos(angle)


def post(radius, offset):
    return box("post", [*at(radius, 0.0, offset), 30.0], (1e-6, 1e-6, 40.0))


@pytest.mark.validates(
    source="circle geometry", item="throw inside the curve, mid-body", page="derived in the test"
)
@pytest.mark.parametrize(("radius", "spacing", "length"), CASES)
def test_throw_inside_is_the_middle_ordinate_of_the_trucks(radius, spacing, length):
    inside = radius - np.sqrt(radius**2 - spacing**2 / 4)
    vehicle = car(RECTANGLE, length=length, spacing=spacing)
    found = least_gap(arc(radius), vehicle, (post(radius, 40.0),), SearchSettings(tolerance=0.0005))[0]
    assert found.gap == pytest.approx(40.0 - HALF_WIDTH - inside, abs=1e-5)
    assert found.side == "left"
    assert found.body_point[0] == pytest.approx(0.0, abs=0.5)


@pytest.mark.validates(
    source="circle geometry", item="throw outside the curve, end corner", page="derived in the test"
)
@pytest.mark.parametrize(("radius", "spacing", "length"), CASES)
def test_throw_outside_is_that_of_the_corner(radius, spacing, length):
    chord = np.sqrt(radius**2 - spacing**2 / 4)
    outside = np.hypot(chord + HALF_WIDTH, length / 2) - radius
    vehicle = car(RECTANGLE, length=length, spacing=spacing)
    found = least_gap(arc(radius), vehicle, (post(radius, -40.0),), SearchSettings(tolerance=0.0005))[0]
    assert found.gap == pytest.approx(40.0 - outside, abs=1e-5)
    assert found.side == "right"
    assert abs(found.body_point[0]) == pytest.approx(length / 2)
