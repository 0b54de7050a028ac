"""Members in place: corners and their derivatives to pose and sizes."""

import numpy as np
import pytest

from spanwright.estimation.derived import Derived
from spanwright.structures.members import Pose, Template, girder_template, handrail_template
from spanwright.structures.shapes import Shape

POSE = {"x": 120.0, "y": -35.0, "z": 80.0, "ahead_x": 0.8, "ahead_y": 0.6, "slope": 0.02, "roll": 0.05}
TEMPLATES = {
    "girder": (girder_template(160.0, 5, 0.8, (12.0, 0.3)), {"length": 160.0, "depth": 15.0, "flange": 6.0}),
    "handrail": (
        handrail_template(4, 0.8, -1.0),
        {"length": 150.0, "out": 20.0, "tie": 3.0, "height": 12.0},
    ),
}


def placed(template: Template, values: dict[str, float]) -> Shape:
    unit = np.eye(len(values))
    numbers = {name: Derived(value, unit[k]) for k, (name, value) in enumerate(values.items())}
    pose = Pose(**{name: numbers[name] for name in POSE})
    return template.place("part", pose, {name: numbers[name] for name in template.sizes})


@pytest.mark.parametrize("kind", TEMPLATES)
def test_derivatives_are_those_of_the_corners(kind):
    template, sizes = TEMPLATES[kind]
    values, step = POSE | sizes, 1e-4
    shape = placed(template, values)
    for k, name in enumerate(values):
        high, low = (placed(template, values | {name: values[name] + by}) for by in (step, -step))
        found = (high.vertices - low.vertices) / (2.0 * step)
        assert shape.sensitivity[:, :, k] == pytest.approx(found, abs=1e-6)


def test_a_girder_stands_where_its_pose_says():
    template, sizes = TEMPLATES["girder"]
    pose = {"x": 10.0, "y": 20.0, "z": 30.0, "ahead_x": 0.0, "ahead_y": 1.0, "slope": 0.0, "roll": 0.0}
    corners = placed(template, pose | sizes).vertices
    assert corners.min(axis=0) == pytest.approx([7.0, 20.0, 30.0 - 15.0 - 0.3])
    assert corners.max(axis=0) == pytest.approx([13.0, 180.0, 30.0])
