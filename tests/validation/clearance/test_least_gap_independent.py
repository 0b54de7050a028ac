"""The least gap against an independent library.

Source: the solids of manifold3d (https://github.com/elalish/manifold), its ``min_gap`` between meshes, at
poses that are built from the definition of the line without any code of ours (``clearance_brute_force.py``).
"""

import numpy as np
import pytest
from clearance_brute_force import least
from clearance_scenes import NARROW_BELOW, RECTANGLE, box, car, curved_line, together

from spanwright.alignment import line as al
from spanwright.clearance.least_gap import least_gap, run_of
from spanwright.clearance.witness import SearchSettings

pytestmark = pytest.mark.validates(
    source="manifold3d, min_gap between solids", item="least gap over poses every 0.01 mm", page="-"
)


def beside(line, station, offset, height):
    plan, heading = al.position_at(line, np.array([station]))
    left = np.array([-np.sin(heading[0]), np.cos(heading[0])])
    return [*(plan[0] + offset * left), al.height_at(line, np.array([station]))[0] + height]


def column(line, station, offset):
    return box("column", beside(line, station, offset, 30.0), (8.0, 6.0, 80.0), angle=0.4)


def girder(line, station, height):
    return box("girder", beside(line, station, 0.0, height), (260.0, 12.0, 9.0), angle=0.9, tilt=0.1)


def wall(line, station, offset):
    heading = al.position_at(line, np.array([station]))[1][0]
    return box("wall", beside(line, station, offset, 20.0), (300.0, 10.0, 50.0), angle=heading)


def truss(line, station, offset):
    rng = np.random.default_rng(5)
    pieces = [
        box(
            "x",
            beside(
                line,
                station + rng.uniform(-60, 60),
                offset + np.sign(offset) * rng.uniform(0, 9),
                rng.uniform(2, 60),
            ),
            rng.uniform(2, 12, 3),
            angle=rng.uniform(0, 3),
            tilt=rng.uniform(-0.3, 0.3),
        )
        for _ in range(7)
    ]
    return together("truss", pieces)


SCENES = {
    "column inside the curve": (lambda line: column(line, 560.0, 31.0), {}, {}),
    "column outside the curve": (lambda line: column(line, 620.0, -27.0), {}, {}),
    "column on the tangent before the easement": (lambda line: column(line, 225.0, -27.5), {}, {}),
    "column by the easement": (lambda line: column(line, 350.0, 28.0), {"section": NARROW_BELOW}, {}),
    "column before the line begins": (lambda line: column(line, -60.0, 22.5), {}, {}),
    "girder overhead": (lambda line: girder(line, 520.0, 60.0), {}, {}),
    "girder overhead, concave": (
        lambda line: girder(line, 420.0, 66.0),
        {"section": NARROW_BELOW, "wheelbase": 22.0},
        {},
    ),
    "wall along the arc": (lambda line: wall(line, 640.0, -32.0), {}, {}),
    "wall into the notch of a concave section": (
        lambda line: box("sill", beside(line, 600.0, 28.0, 14.0), (24.0, 6.0, 20.0), angle=0.6),
        {"section": NARROW_BELOW},
        {},
    ),
    "truss, long car": (lambda line: truss(line, 700.0, 37.0), {"length": 300.0, "spacing": 210.0}, {}),
    "truss, strong cant": (
        lambda line: truss(line, 500.0, -29.0),
        {"section": NARROW_BELOW},
        {"cant": [0, 0, 2.4, 2.4, 0, 0]},
    ),
    "truss on a kinked cant": (
        lambda line: truss(line, 420.0, 27.0),
        {"section": RECTANGLE},
        {"cant_knots": [0, 300, 340, 380, 420, 1200], "cant": [0, 0.2, 1.4, 0.1, 1.5, 0]},
    ),
}


@pytest.mark.parametrize("name", SCENES)
def test_least_gap_is_that_of_the_independent_library(name):
    place, vehicle_changes, line_changes = SCENES[name]
    line, vehicle = curved_line(**line_changes), car(**vehicle_changes)
    shape = place(line)
    low, high = run_of(line, vehicle)
    expected = least(line, vehicle, shape, low, high)
    found = least_gap(line, vehicle, (shape,), SearchSettings())[0]
    assert 0 < expected < 25.0, "the scene shows nothing"
    assert found.gap <= expected + 0.01
    assert found.gap >= expected - 0.01


@pytest.mark.parametrize("seed", range(8))
def test_random_scenes_agree_too(seed):
    rng = np.random.default_rng(100 + seed)
    radius = rng.uniform(450.0, 900.0) * rng.choice([-1, 1])
    line = curved_line(
        curvature=[0, 0, 1 / radius, 1 / radius, 0, 0],
        profile=[0.0, *rng.uniform(-0.03, 0.03, 4)],
        cant=[0, 0, *rng.uniform(0.2, 1.5, 2), 0, 0],
    )
    section = [RECTANGLE, NARROW_BELOW][seed % 2]
    spacing = rng.uniform(90.0, 190.0)
    vehicle = car(
        section, length=spacing + rng.uniform(20.0, 90.0), spacing=spacing, wheelbase=rng.choice([0.0, 25.0])
    )
    offset = rng.choice([-1, 1]) * rng.uniform(27.0, 40.0)
    place = rng.uniform(100.0, 1100.0)
    size = rng.uniform(3.0, 40.0, 3)
    offset += np.sign(offset) * 0.4 * np.hypot(size[0], size[1])
    shape = box(
        "part",
        beside(line, place, offset, rng.uniform(5.0, 60.0)),
        size,
        angle=rng.uniform(0, 3),
        tilt=rng.uniform(-0.4, 0.4),
    )
    expected = least(line, vehicle, shape, *run_of(line, vehicle))
    found = least_gap(line, vehicle, (shape,), SearchSettings())[0]
    assert 0 < expected < 25.0, "the scene shows nothing"
    assert abs(found.gap - expected) <= 0.01
