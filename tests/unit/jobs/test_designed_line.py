"""A designed line against closed forms: arc, clothoid, vertical curve, cant about the low rail, stray."""

import numpy as np
import pytest
from scipy.special import fresnel

from spanwright.alignment.design import JUMP, designed_line
from spanwright.alignment.given import Design, Element, ElementKind, LineInput, TrackKind
from spanwright.alignment.line import cant_at, grade_at, height_at, position_at, track_point
from spanwright.estimation.inputs import Input, Inputs, Size, size
from truth import h0

LONG = h0.TANGENT + h0.EASEMENT + h0.ARC


def an_input(key, value, sd):
    return Input(id=key, value=value, sd=sd, unit="mm", label=key, kind="size")


SIZES = {
    "gauge": (16.6, 0.1),
    "head": (0.88, 0.1),
    "across": (0.0, 0.4),
    "along": (0.0, 0.4),
    "up": (0.0, 0.2),
}
INPUTS = Inputs(items=tuple(an_input(key, value, sd) for key, (value, sd) in SIZES.items()))


def designed(elements, *, start=(0.0, 0.0), heading=0.0, heights=((0.0, 0.0), (100.0, 0.0)), **more):
    gauge, head = Size(ids=("gauge",)), Size(ids=("head",))
    design = Design(x=start[0], y=start[1], heading=heading, elements=elements, heights=heights, **more)
    given = LineInput(
        name="lower", marks=(), track=TrackKind.FLEXIBLE, gauge=gauge, rail_head=head, design=design
    )
    return designed_line(given, INPUTS, size(INPUTS, gauge) + size(INPUTS, head))


def tangent(length):
    return Element(kind=ElementKind.TANGENT, length=length)


def easement(length):
    return Element(kind=ElementKind.EASEMENT, length=length)


def arc(length, radius):
    return Element(kind=ElementKind.ARC, length=length, radius=radius)


def end_of(line, s):
    points, angles = position_at(line, np.array([s]))
    return points[0], angles[0]


def arc_end(radius, length):
    turn = length / radius
    return np.array([radius * np.sin(turn), radius * (1.0 - np.cos(turn))]), turn


def clothoid_end(length, radius):
    """End of an easement from a tangent to a radius, by Fresnel's integrals."""
    a = np.sqrt(np.pi * abs(radius) * length)
    sine, cosine = fresnel(length / a)
    return np.array([a * cosine, np.sign(radius) * a * sine]), length / (2.0 * radius)


def turned(v, angle):
    c, s = np.cos(angle), np.sin(angle)
    return np.array([c * v[0] - s * v[1], s * v[0] + c * v[1]])


# ---------------------------------------------------------------- plan

NEAR = 10.0 * JUMP  # a jump of curvature is a ramp of this order [mm]


@pytest.mark.parametrize("radius", [800.0, -381.0])
def test_end_of_an_arc(radius):
    line = designed((arc(500.0, radius),), start=(10.0, -20.0), heading=0.7)
    point, angle = end_of(line, 500.0)
    by_hand, turn = arc_end(radius, 500.0)
    assert point == pytest.approx(np.array([10.0, -20.0]) + turned(by_hand, 0.7), abs=1e-9)
    assert angle == pytest.approx(0.7 + turn, abs=1e-12)


@pytest.mark.parametrize("radius", [800.0, -600.0])
def test_end_of_an_easement(radius):
    line = designed((tangent(50.0), easement(120.0), arc(40.0, radius)))
    point, angle = end_of(line, 170.0)
    by_hand, turn = clothoid_end(120.0, radius)
    assert point == pytest.approx(np.array([50.0, 0.0]) + by_hand, abs=1e-5)
    assert angle == pytest.approx(turn, abs=1e-6)


def test_an_easement_between_two_arcs_turns_by_their_mean():
    line = designed((arc(100.0, 500.0), easement(80.0), arc(100.0, -400.0)))
    _, angle = end_of(line, 280.0)
    assert angle == pytest.approx(100 / 500 + 40 / 500 - 40 / 400 - 100 / 400, abs=1e-6)


def test_arc_upon_arc_without_easement():
    line = designed((arc(100.0, 500.0), arc(100.0, -400.0)))
    first, turn = arc_end(500.0, 100.0)
    second, back = arc_end(-400.0, 100.0)
    point, angle = end_of(line, 200.0)
    assert point == pytest.approx(first + turned(second, turn), abs=NEAR)
    assert angle == pytest.approx(turn + back, abs=1e-9)


@pytest.mark.slow
def test_the_whole_lower_line_of_the_job(h0_plan):
    line = h0_plan.alignment.line("lower")
    heading = np.radians(h0.HEADING)
    start = np.array(h0.START)
    ease, turn = clothoid_end(h0.EASEMENT, h0.RADIUS)
    bend, more = arc_end(h0.RADIUS, h0.ARC)
    at_easement = start + turned(np.array([h0.TANGENT, 0.0]), heading)
    at_arc = at_easement + turned(ease, heading)
    at_end = at_arc + turned(bend, heading + turn)
    for s, wanted in ((h0.TANGENT, at_easement), (h0.TANGENT + h0.EASEMENT, at_arc), (LONG, at_end)):
        assert end_of(line, s)[0] == pytest.approx(wanted, abs=1e-4)
    assert end_of(line, LONG)[1] == pytest.approx(heading + turn + more, abs=1e-7)


# ---------------------------------------------------------------- height and cant


@pytest.mark.slow
def test_heights_of_the_job_are_the_low_rail_and_half_the_cant(h0_plan):
    line = h0_plan.alignment.line("lower")
    for s in (0.0, 120.0, 250.0, 300.0, 325.0, 360.0, 400.0, 420.0, 480.0, 550.0, 800.0, LONG):
        (s0, z0), (s1, z1), (s2, z2) = h0.HEIGHTS
        into, out = (z1 - z0) / (s1 - s0), (z2 - z1) / (s2 - s1)
        if s <= 250.0:
            low = z0 + into * s
        elif s >= 550.0:
            low = z1 + out * (s - s1)
        else:  # the parabola of 300 mm about the corner at 400
            low = z1 + into * (s - s1) + (out - into) * (s - 250.0) ** 2 / 600.0
        cant = 0.8 * min(max((s - 300.0) / 120.0, 0.0), 1.0)
        assert cant_at(line, s)[0] == pytest.approx(cant, abs=1e-12)
        assert height_at(line, s)[0] == pytest.approx(low + 0.5 * cant, abs=1e-6)
    assert height_at(line, 400.0)[0] < 14.0 + 0.5 * 0.8  # a crest lies below its corner


def test_grades_meet_in_a_corner_without_a_vertical_curve():
    line = designed((tangent(400.0),), heights=((0.0, 10.0), (200.0, 14.0), (400.0, 12.0)))
    s = np.array([0.0, 100.0, 200.0, 300.0, 400.0])
    assert height_at(line, s) == pytest.approx([10.0, 12.0, 14.0, 13.0, 12.0], abs=1e-5)
    assert grade_at(line, np.array([150.0, 250.0])) == pytest.approx([0.02, -0.01], abs=1e-12)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_low_rail_keeps_the_given_height(sign):
    cants = ((50.0, 0.0), (150.0, sign * 0.9), (300.0, sign * 0.9))
    line = designed((tangent(400.0),), heights=((0.0, 10.0), (400.0, 14.0)), cants=cants)
    s = np.linspace(0.0, 400.0, 41)
    low = height_at(line, s) - 0.5 * np.abs(cant_at(line, s))
    assert low == pytest.approx(10.0 + 0.01 * s, abs=1e-6)


def test_the_low_rail_changes_where_the_cant_changes_sides():
    cants = ((100.0, 0.6), (200.0, -0.3))
    line = designed((tangent(300.0),), heights=((0.0, 10.0), (300.0, 10.0)), cants=cants)
    s = np.array([0.0, 100.0, 140.0, 100.0 + 200.0 / 3.0, 180.0, 200.0, 300.0])
    cant = np.interp(s, [100.0, 200.0], [0.6, -0.3])
    assert cant_at(line, s) == pytest.approx(cant, abs=1e-12)
    assert height_at(line, s) == pytest.approx(10.0 + 0.5 * np.abs(cant), abs=1e-4)
    assert height_at(line, 100.0 + 200.0 / 3.0)[0] == pytest.approx(10.0, abs=1e-4)


# ---------------------------------------------------------------- doubt


def test_a_line_may_stray_sideways_as_much_at_its_end_as_at_its_start():
    doubts = {"plan_doubt": "across", "along_doubt": "along", "height_doubt": "up"}
    line = designed((arc(600.0, 400.0),), heading=0.3, **doubts)
    at = track_point(line, np.array([0.0, 300.0, 600.0]))
    c, n = np.cos(at.heading.value), np.sin(at.heading.value)
    left = at.y * c - at.x * n
    assert left.sd(INPUTS.sds) == pytest.approx([0.4, 0.4, 0.4])
    assert at.z.sd(INPUTS.sds) == pytest.approx([0.2, 0.2, 0.2])


def test_a_job_gives_a_design_its_doubts(load):
    design = load(h0.file_text()).lines[0].design
    inputs = load(h0.file_text()).inputs
    assert [inputs[k].sd for k in (design.plan_doubt, design.along_doubt, design.height_doubt)] == [
        0.4,
        0.4,
        0.2,
    ]
    assert len({design.plan_doubt, design.along_doubt, design.height_doubt}) == 3
