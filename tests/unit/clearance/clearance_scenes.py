"""Synthetic lines, vehicles and parts for the clearance tests."""

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.vehicles import Body, Play, Prism, Vehicle
from spanwright.estimation.derived import constant
from spanwright.geometry.chain import Chain
from spanwright.structures.shapes import Shape


def make_line(
    *,
    knots,
    curvature,
    grade_knots=(0.0, 1.0),
    profile=(0.0, 0.0, 0.0),
    cant_knots=(0.0,),
    cant=(0.0,),
    head_distance=16.5,
    start=(0.0, 0.0),
    heading=0.0,
    surveyed=None,
    derived=constant,
):
    knots, curvature = np.asarray(knots, float), np.asarray(curvature, float)
    return Line(
        name="lower",
        chain=Chain(start=start, heading=heading, knots=knots, curvature=curvature),
        plan=derived(np.concatenate([start, [heading], curvature])),
        grade_knots=np.asarray(grade_knots, float),
        profile=derived(np.asarray(profile, float)),
        cant_knots=np.asarray(cant_knots, float),
        cant=derived(np.asarray(cant, float)),
        head_distance=derived(np.asarray(head_distance, float)),
        surveyed=surveyed or (knots[0], knots[-1]),
    )


BOX_TRIANGLES = np.array(
    [
        [0, 2, 1],
        [0, 3, 2],
        [4, 5, 6],
        [4, 6, 7],
        [0, 1, 5],
        [0, 5, 4],
        [1, 2, 6],
        [1, 6, 5],
        [2, 3, 7],
        [2, 7, 6],
        [3, 0, 4],
        [3, 4, 7],
    ]
)


def box(part, centre, size, angle=0.0, tilt=0.0, over=""):
    sx, sy, sz = 0.5 * np.asarray(size, float)
    corners = np.array(
        [[x, y, z] for z in (-sz, sz) for x, y in ((-sx, -sy), (sx, -sy), (sx, sy), (-sx, sy))]
    )
    c, s = np.cos(tilt), np.sin(tilt)
    corners = corners @ np.array([[1, 0, 0], [0, c, s], [0, -s, c]])
    c, s = np.cos(angle), np.sin(angle)
    corners = corners @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) + np.asarray(centre, float)
    return mesh(part, corners, BOX_TRIANGLES, over)


def mesh(part, vertices, triangles, over=""):
    return Shape(
        part=part,
        vertices=vertices,
        triangles=np.asarray(triangles),
        controls=constant(np.zeros(1), 0),
        sensitivity=np.zeros((len(vertices), 3, 1)),
        over=over,
    )


def together(part, shapes):
    """Several meshes as one part."""
    offset, vertices, triangles = 0, [], []
    for shape in shapes:
        vertices.append(shape.vertices)
        triangles.append(shape.triangles + offset)
        offset += len(shape.vertices)
    return mesh(part, np.vstack(vertices), np.vstack(triangles))


RECTANGLE = np.array([[-18.0, 1.0], [18.0, 1.0], [18.0, 50.0], [-18.0, 50.0]])
NARROW_BELOW = np.array(  # a wide cab roof over a narrow frame: concave on both sides
    [
        [-12.0, 1.0],
        [12.0, 1.0],
        [12.0, 30.0],
        [18.0, 30.0],
        [18.0, 50.0],
        [6.0, 55.0],
        [-6.0, 55.0],
        [-18.0, 50.0],
        [-18.0, 30.0],
        [-12.0, 30.0],
    ]
)


def car(section=RECTANGLE, length=230.0, spacing=160.0, wheelbase=0.0, play=None):
    prism = Prism(rear=-0.5 * length, front=0.5 * length, section=section)
    body = Body(name="body", truck_spacing=spacing, truck_wheelbase=wheelbase, prisms=(prism,))
    return Vehicle(id="car", name="car", bodies=(body,), play=play or Play())


def curved_line(**changes):
    """Tangent, easement, arc of 600 mm, easement, tangent; sag and cant."""
    values = {
        "knots": [0, 250, 400, 850, 1000, 1200],
        "curvature": [0, 0, 1 / 600, 1 / 600, 0, 0],
        "grade_knots": [0, 400, 600, 1200],
        "profile": [0, -0.015, -0.015, 0.02, 0.02],
        "cant_knots": [0, 250, 400, 850, 1000, 1200],
        "cant": [0, 0, 1.0, 1.0, 0, 0],
    }
    values.update(changes)
    return make_line(**values)
