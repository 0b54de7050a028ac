"""Derivatives of many body points at once are those of each point, carried through step by step."""

from dataclasses import replace

import numpy as np
import pytest
from derived_scenes import derived_body_point, line_of, scene

from spanwright.clearance.engine.levers import levers, numbers_of
from spanwright.clearance.sweep import body_points, poses

POINTS = np.array(
    [[110.0, -17.0, 48.0], [-90.0, 16.0, 5.0], [0.0, 17.0, 51.0], [60.0, -3.0, 0.0], [-20.0, 9.0, 30.0]]
)
STATIONS = np.array([421.0, -60.0, 1265.0, 300.0, 700.0])  # two of them beyond the ends
ALONG = np.array([[0.6, -0.8, 0.0], [0.0, 0.0, 1.0], [0.36, 0.48, -0.8], [-1.0, 0.0, 0.0], [0.0, 0.6, 0.8]])


@pytest.mark.parametrize("wheelbase", [0.0, 22.0])
def test_levers_are_the_derivatives_of_the_point(wheelbase):
    line, vehicle, _, inputs = scene(wheelbase=wheelbase)
    line, body = line_of(inputs, line), vehicle.bodies[0]
    sizes = np.tile([body.truck_spacing, wheelbase], (5, 1))
    found = levers(line, poses(line, body, STATIONS), sizes, xyz=POINTS, along=ALONG)
    plain = derived_body_point(line, body, vehicle, STATIONS, xyz=POINTS, inputs=inputs)
    wanted = np.einsum("nc,nck->nk", ALONG, plain.jac)
    of_line = [k for k, item in enumerate(inputs.items) if item.id.split()[0] in LINE]
    jac = found.by_line @ numbers_of(line, inputs)
    assert jac[:, of_line] == pytest.approx(wanted[:, of_line], rel=1e-11, abs=1e-11)
    assert found.by_spacing == pytest.approx(wanted[:, inputs.column("trucks")], rel=1e-11, abs=1e-12)
    assert found.by_point[:, 2] == pytest.approx(wanted[:, inputs.column("height")], rel=1e-11)


LINE = ("plan", "profile", "cant", "heads")


def test_bodies_of_all_kinds_go_through_together():
    line, vehicle, _, inputs = scene(wheelbase=22.0)
    line, one = line_of(inputs, line), vehicle.bodies[0]
    other = replace(one, truck_spacing=80.0, truck_wheelbase=0.0)
    bodies = [one, other, other, one, other]
    each = [poses(line, body, STATIONS[k : k + 1]) for k, body in enumerate(bodies)]
    names = ("station", "half", "origin", "axes")
    at = replace(each[0], **{name: np.concatenate([getattr(p, name) for p in each]) for name in names})
    sizes = np.array([[body.truck_spacing, body.truck_wheelbase] for body in bodies])
    together = levers(line, at, sizes, xyz=POINTS, along=ALONG)
    for k, pose in enumerate(each):
        own = slice(k, k + 1)
        alone = levers(line, pose, sizes[own], xyz=POINTS[own], along=ALONG[own])
        assert together.by_line[own] == pytest.approx(alone.by_line, rel=1e-13, abs=1e-13)
        assert together.by_spacing[own] == pytest.approx(alone.by_spacing, rel=1e-13)


def test_a_lever_is_what_a_move_of_the_truck_spacing_does():
    line, vehicle, _, _ = scene(wheelbase=22.0)
    body, step = vehicle.bodies[0], 1e-3
    found = levers(
        line,
        poses(line, body, STATIONS),
        np.tile([body.truck_spacing, 22.0], (5, 1)),
        xyz=POINTS,
        along=ALONG,
    )

    def moved(by):
        longer = replace(body, truck_spacing=body.truck_spacing + by)
        return np.sum(ALONG * body_points(poses(line, longer, STATIONS), POINTS), axis=1)

    assert found.by_spacing == pytest.approx((moved(step) - moved(-step)) / (2.0 * step), abs=1e-7)
