"""Curve elements against constructed points, and each refusal."""

from math import cos, inf, nan, pi, radians, sin, sqrt, tan

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.geometry import curves as c

R, TURN = 457.2, radians(37.0)


def test_elements_against_points_on_the_arc():
    start = np.zeros(2)  # tangent along x, left turn
    end = R * np.array([sin(TURN), 1.0 - cos(TURN)])
    middle = R * np.array([sin(TURN / 2), 1.0 - cos(TURN / 2)])
    assert c.long_chord(R, TURN) == pytest.approx(np.hypot(*(end - start)))
    assert c.middle_ordinate(R, TURN) == pytest.approx(np.hypot(*(middle - 0.5 * end)))
    # the tangents meet where both are as long
    corner = np.array([c.tangent_length(R, TURN), 0.0])
    assert np.hypot(*(end - corner)) == pytest.approx(corner[0])
    assert np.arctan2(*(end - corner)[::-1]) == pytest.approx(TURN)
    assert c.curve_length(R, TURN) == pytest.approx(R * TURN)
    assert c.sub_chord(R, R * TURN) == pytest.approx(c.long_chord(R, TURN))
    assert c.deflection_angle(R, R * TURN) == pytest.approx(np.arctan2(end[1], end[0]))
    chord = c.long_chord(R, TURN)
    assert c.tangent_offset(R, chord) == pytest.approx(end[1])
    ahead = end + chord * np.array([cos(TURN / 2), sin(TURN / 2)])  # the chord run on
    second = R * np.array([sin(2 * TURN), 1.0 - cos(2 * TURN)])
    assert c.deflection_distance(R, chord) == pytest.approx(np.hypot(*(second - ahead)))


def test_degree_by_chord_and_arc():
    for degree in (radians(0.5), radians(10.0), 1.0):
        radius = c.radius_from_degree_chord(degree, 100.0)
        assert c.long_chord(radius, degree) == pytest.approx(100.0)
        radius = c.radius_from_degree_arc(degree, 100.0)
        assert c.curve_length(radius, degree) == pytest.approx(100.0)


def test_middle_ordinate_keeps_its_digits_on_a_flat_curve():
    assert c.middle_ordinate(1e9, 1e-7) == pytest.approx(1e9 * 1e-14 / 8, rel=1e-12)


def test_radius_from_versine_inverts_the_middle_ordinate():
    for turn in (0.01, 0.3, pi):
        chord, versine = c.long_chord(R, turn), c.middle_ordinate(R, turn)
        assert c.radius_from_versine(chord, min(versine, chord / 2)) == pytest.approx(R, rel=1e-9)
    assert c.radius_from_versine(80.0, 0.0) == inf
    assert c.radius_doubt_from_versine(80.0, 0.0, 0.1, 0.1) == inf


def test_radius_doubt_against_differences_and_chance():
    chord, versine, uc, uv = 120.0, 3.0, 0.2, 0.05
    f = c.radius_from_versine
    by_chord = (f(chord + 1e-4, versine) - f(chord - 1e-4, versine)) / 2e-4
    by_versine = (f(chord, versine + 1e-6) - f(chord, versine - 1e-6)) / 2e-6
    doubt = c.radius_doubt_from_versine(chord, versine, uc, uv)
    assert doubt == pytest.approx(sqrt((by_chord * uc) ** 2 + (by_versine * uv) ** 2), rel=1e-6)
    rng = np.random.default_rng(1)
    drawn = [f(a, b) for a, b in rng.normal([chord, versine], [uc, uv], (20000, 2))]
    assert np.std(drawn) == pytest.approx(doubt, rel=0.03)


def test_easement_ends_tangent_to_its_arc():
    spiral = c.easement_elements(150.0, 600.0, radians(60.0))
    # centre of the arc from the easement's end, square to its direction, and from the run and the shift
    centre = np.array([spiral.x - 600.0 * sin(spiral.turn), spiral.y + 600.0 * cos(spiral.turn)])
    assert centre == pytest.approx([spiral.run, 600.0 + spiral.shift])
    # the whole figure is symmetric about the line from the corner to the centre
    corner = np.array([spiral.tangent, 0.0])
    to_centre = centre - corner
    assert np.arctan2(to_centre[1], -to_centre[0]) == pytest.approx(pi / 2 - radians(30.0))
    # thumb rule for flat easements: L^2 / 24 R
    assert spiral.shift == pytest.approx(150.0**2 / (24 * 600.0), rel=0.01)
    assert spiral.tangent == pytest.approx((600.0 + spiral.shift) * tan(radians(30.0)) + spiral.run)


@pytest.mark.parametrize("bad", [0.0, -4.0, inf, nan])
@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda v: c.radius_from_degree_chord(0.1, v), "chord"),
        (lambda v: c.radius_from_degree_arc(0.1, v), "arc"),
        (lambda v: c.tangent_length(v, 0.1), "radius"),
        (lambda v: c.curve_length(v, 0.1), "radius"),
        (lambda v: c.long_chord(v, 0.1), "radius"),
        (lambda v: c.middle_ordinate(v, 0.1), "radius"),
        (lambda v: c.tangent_offset(v, 1.0), "radius"),
        (lambda v: c.deflection_distance(10.0, v), "chord"),
        (lambda v: c.deflection_angle(10.0, v), "arc"),
        (lambda v: c.sub_chord(v, 1.0), "radius"),
        (lambda v: c.radius_from_versine(v, 0.0), "chord"),
        (lambda v: c.easement_elements(v, 600.0, 1.0), "length"),
        (lambda v: c.easement_elements(150.0, v, 1.0), "radius"),
    ],
)
def test_lengths_must_be_above_nil(call, name, bad):
    with pytest.raises(InputError, match=f"^{name}: the {name} must be above nil; read {bad!r}"):
        call(bad)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (
            lambda: c.radius_from_degree_chord(3.5, 100.0),
            "degree: .*read 3.5; expected between 0 and 3.14159",
        ),
        (lambda: c.radius_from_degree_arc(-0.1, 100.0), "degree: .*read -0.1"),
        (lambda: c.tangent_length(100.0, 3.2), "deflection: .*read 3.2; expected between 0 and 3.14159"),
        (lambda: c.curve_length(100.0, 6.5), "deflection: .*read 6.5; expected between 0 and 6.28319"),
        (lambda: c.sub_chord(100.0, 700.0), "deflection: .*read 7.0"),
        (lambda: c.deflection_distance(100.0, 201.0), "chord: .*read 201.0; expected 200.0"),
        (lambda: c.radius_from_versine(80.0, -1.0), "versine: .*read -1.0; expected between 0 and 40"),
        (lambda: c.radius_from_versine(80.0, 41.0), "versine: .*read 41.0"),
        (lambda: c.easement_elements(700.0, 600.0, 1.0), "length: .*read 700.0; expected at most 600"),
    ],
)
def test_what_cannot_be_meant_is_said(call, name):
    with pytest.raises(InputError, match=name):
        call()
