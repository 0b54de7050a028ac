"""Crossings of exact lines: by hand, rail over rail, more than one, derivatives."""

import numpy as np
import pytest

from spanwright.alignment.crossing import find_crossings
from truth.line_scenes import exact_line

D = 10.0  # distance of the rail heads


def test_two_straight_lines_at_60_degrees():
    a = exact_line("a", height=70.0)
    b = exact_line(
        "b", start=(200.0, -300.0 * np.sin(np.radians(60.0))), heading=np.radians(60.0), height=10.0
    )
    (c,) = find_crossings(a, b)
    assert (c.upper, c.lower, c.id) == ("a", "b", "crossing/a/b/1")
    assert np.degrees(float(c.angle.value)) == pytest.approx(-60.0)
    assert float(c.centre.lower_station.value) == pytest.approx(300.0)
    assert float(c.centre.upper_station.value) == pytest.approx(350.0)
    assert float(c.centre.separation.value) == pytest.approx(60.0)
    assert c.surveyed


def test_the_upper_line_is_the_one_on_top():
    low, high = exact_line("a", height=10.0), exact_line("b", start=(300.0, -300.0), heading=1.2, height=70.0)
    (c,) = find_crossings(low, high)
    assert (c.upper, c.lower) == ("b", "a")


def test_four_rail_over_rail_points_differ_by_cant_and_grade():
    """At right angles: the left rail of the upper line crosses where the lower line is D/2 further on."""
    upper = exact_line("u", height=70.0, grade=0.02, cant=0.6)
    lower = exact_line("l", start=(400.0, -300.0), heading=np.pi / 2.0, height=10.0, grade=0.01, cant=-0.4)
    (c,) = find_crossings(upper, lower)
    for r in c.rails:
        side_u = 1.0 if r.upper_rail == "left" else -1.0
        side_l = 1.0 if r.lower_rail == "left" else -1.0
        # lower line runs along +y: its left is -x, so its left rail meets the upper line D/2 earlier
        s, t = 400.0 - side_l * D / 2.0, 300.0 + side_u * D / 2.0
        assert float(r.upper_station.value) == pytest.approx(s, abs=1e-9)
        assert float(r.lower_station.value) == pytest.approx(t, abs=1e-9)
        z_up = 70.0 + 0.02 * s - side_u * 0.3  # right rail 0.6 above the left
        z_low = 10.0 + 0.01 * t + side_l * 0.2
        assert float(r.separation.value) == pytest.approx(z_up - z_low, abs=1e-9)
    assert len({(r.upper_rail, r.lower_rail) for r in c.rails}) == 4


def test_a_line_that_crosses_an_arc_twice():
    arc = exact_line(
        "arc", start=(0.0, 0.0), heading=np.radians(50.0), curvature=-1.0 / 400.0, length=900.0, height=60.0
    )
    chord = exact_line("chord", start=(-50.0, 60.0), length=900.0)
    found = find_crossings(arc, chord)
    assert [c.id for c in found] == ["crossing/chord/arc/1", "crossing/chord/arc/2"] or len(found) == 2
    angles = [abs(float(c.angle.value)) for c in found]
    assert angles[0] == pytest.approx(
        angles[1], abs=1e-9
    )  # a straight line meets a circle alike on both sides


def test_lines_that_do_not_cross():
    assert find_crossings(exact_line("a"), exact_line("b", start=(0.0, 100.0))) == ()


def test_beyond_the_survey_is_said():
    (c,) = find_crossings(
        exact_line("a", height=50.0), exact_line("b", start=(1030.0, -300.0), heading=np.pi / 2.0)
    )
    assert not c.surveyed


@pytest.mark.parametrize("column", [0, 1, 2, 10, 20])
def test_derivatives_to_the_plan(column):
    """Stations, place and separation against central differences of the plan's own numbers."""
    from dataclasses import replace

    from spanwright.estimation.derived import Derived
    from spanwright.geometry.chain import Chain

    def lines(q):
        base = exact_line("u", height=70.0, grade=0.02, cant=0.3, n=len(q))
        chain = Chain(start=(q[0], q[1]), heading=q[2], knots=base.chain.knots, curvature=q[3:])
        upper = replace(base, chain=chain, plan=Derived(q, np.eye(len(q))))
        lower = exact_line("l", start=(250.0, -150.0), heading=1.0, curvature=1 / 700.0, height=5.0, n=len(q))
        return find_crossings(upper, lower)[0]

    q = np.concatenate([[0.0, 0.0, 0.1], np.full(41, 1.0 / 500.0)])
    step = np.zeros(len(q))
    step[column] = 1e-5 if column < 3 else 1e-8
    plus, minus, here = lines(q + step), lines(q - step), lines(q)
    for name in ("x", "y", "upper_station", "lower_station", "separation"):
        for pick in (lambda c: c.centre, lambda c: c.rails[1], lambda c: c.rails[2]):
            slope = (float(getattr(pick(plus), name).value) - float(getattr(pick(minus), name).value)) / (
                2 * step[column]
            )
            got = getattr(pick(here), name).jac[column]
            assert got == pytest.approx(slope, rel=1e-5, abs=1e-5)
