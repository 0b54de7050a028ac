"""Pictures of the sweep agree with the engine: the least of the curve, every pose inside the swept plan."""

import numpy as np
import shapely
from clearance_scenes import box, car, curved_line

from spanwright.clearance.engine.along import gap_along, swept_plan
from spanwright.clearance.least_gap import least_gap
from spanwright.clearance.sweep import poses
from spanwright.clearance.vehicles import Play
from spanwright.clearance.witness import SearchSettings


def test_the_least_of_the_curve_is_the_gap_of_the_engine():
    line, vehicle = curved_line(), car(play=Play(lateral=0.2))
    part = box("column", [545.0, 100.0, 25.0], (8.0, 6.0, 60.0), angle=0.4)
    witness = least_gap(line, vehicle, (part,), SearchSettings(reach=40.0))[0]
    curve = gap_along(line, vehicle, part, witness.station + np.linspace(-60.0, 60.0, 121))
    assert curve.min() >= witness.gap - 0.005
    assert curve[60] - witness.gap < 0.001


def test_an_overlap_is_nought():
    part = box("column", [545.0, 72.0, 25.0], (8.0, 6.0, 60.0), angle=0.4)
    assert gap_along(curved_line(), car(), part, np.linspace(500.0, 600.0, 21)).min() == 0.0


def test_every_pose_lies_in_the_swept_plan():
    line, vehicle = curved_line(), car()
    area = swept_plan(line, vehicle, np.arange(300.0, 700.0, 2.0))
    at = poses(line, vehicle.bodies[0], np.arange(301.0, 699.0, 7.3))
    for x, y in ((115.0, 18.0), (0.0, -18.0), (-115.0, 18.0)):
        points = at.origin[:, :2] + x * at.axes[:, 0, :2] + y * at.axes[:, 1, :2]
        outside = shapely.distance(area, shapely.points(points))
        assert outside.max() < 0.005  # between two poses the corner's path bows out by less
