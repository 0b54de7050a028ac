"""A line, a part and a vehicle whose every number is a base input, rebuilt from any values."""

import numpy as np
from clearance_scenes import BOX_TRIANGLES, NARROW_BELOW, car, curved_line

from spanwright.alignment.line import Line
from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.sweep import derived_half, derived_trucks
from spanwright.clearance.vehicles import Play, Vehicle, VehicleInputs, size_shift, truck_spacing
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input, Inputs
from spanwright.geometry.chain import Chain
from spanwright.structures.shapes import build_shape

SIZES = ("width", "height", "length", "trucks")


def make_inputs(line, places):
    """One input for each number of the line, six for each part, four sizes."""
    numbers = [
        ("plan", line.plan),
        ("profile", line.profile),
        ("cant", line.cant),
        ("heads", line.head_distance),
    ]
    items = []
    for name, block in numbers:
        for k, v in enumerate(np.atleast_1d(block.value)):
            sd = (
                1e-6
                if name == "plan" and k > 2
                else 1e-3
                if (name, k) == ("plan", 2) or (name == "profile" and k > 0)
                else 0.1
            )
            items.append(Input(id=f"{name} {k}", value=float(v), sd=sd, unit="mm", label="", kind="reading"))
    for part, values in places.items():
        items += [
            Input(id=f"{part} {k}", value=float(v), sd=0.1, unit="mm", label="", kind="size")
            for k, v in enumerate(values)
        ]
    items += [Input(id=key, value=0.0, sd=0.1, unit="mm", label="", kind="size") for key in SIZES]
    return Inputs(items=tuple(items))


def block(inputs, name):
    keys = [i.id for i in inputs.items if i.id.rsplit(" ", 1)[0] == name]
    columns = [inputs.column(k) for k in keys]
    return Derived(inputs.values[columns], np.eye(len(inputs))[columns])


def line_of(inputs, line):
    plan = block(inputs, "plan")
    chain = Chain(
        start=tuple(plan.value[:2]), heading=plan.value[2], knots=line.chain.knots, curvature=plan.value[3:]
    )
    return Line(
        name=line.name,
        chain=chain,
        plan=plan,
        grade_knots=line.grade_knots,
        profile=block(inputs, "profile"),
        cant_knots=line.cant_knots,
        cant=block(inputs, "cant"),
        head_distance=block(inputs, "heads")[0],
        surveyed=line.surveyed,
    )


def build_box(c):
    """Controls: x, y, z of the centre, length, thickness, direction; 60 high."""
    corners = []
    for z in (-30.0, 30.0):
        for x, y in ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)):
            along, across = x * c[3], y * c[4]
            corners.append(
                [
                    c[0] + along * np.cos(c[5]) - across * np.sin(c[5]),
                    c[1] + along * np.sin(c[5]) + across * np.cos(c[5]),
                    c[2] + z,
                ]
            )
    return np.array(corners)


def shapes_of(inputs, places):
    return tuple(build_shape(part, build_box, BOX_TRIANGLES, block(inputs, part)) for part in places)


PLACES = {
    "column": (470.0, 84.0, 25.0, 7.0, 5.0, 0.5),
    "foul": (330.0, -5.0, 20.0, 9.0, 6.0, 0.2),
    "beam": (420.0, 45.0, 92.0, 120.0, 10.0, 1.2),
    "away": (500.0, 400.0, 0.0, 10.0, 10.0, 0.0),
}


def scene(*, wheelbase=22.0):
    line = curved_line(cant=[0.1, 0.2, 1.0, 1.1, 0.3, 0.1], heading=0.05)
    bodies = car(NARROW_BELOW, wheelbase=wheelbase).bodies
    vehicle = Vehicle(
        id="car",
        name="car",
        bodies=bodies,
        play=Play(lateral=0.2, roll=0.01),
        size_inputs=VehicleInputs(width="width", height="height", length="length", trucks="trucks"),
    )
    settings = ClearanceInput(runs=(Run(line="lower", vehicle=vehicle),), margin_side=1.0, margin_above=1.5)
    return line, vehicle, settings, make_inputs(line, PLACES)


def derived_body_point(line, body, vehicle, s, *, xyz, inputs):
    """A point of each pose in the layout, carried through step by step: what levers are held against."""
    half = derived_half(line, body, truck_spacing(vehicle, body, inputs), s)
    ahead, roll_ahead = derived_trucks(line, half + s, body.truck_wheelbase)
    behind, roll_behind = derived_trucks(line, s - half, body.truck_wheelbase)
    chord = ahead - behind
    origin = (ahead + behind) * 0.5
    roll = (roll_ahead + roll_behind) * 0.5
    square = chord * chord
    length = dv.sqrt(square[0] + square[1] + square[2])
    fx, fy, fz = (chord[k] / length for k in range(3))
    level = dv.sqrt(fx * fx + fy * fy)
    forward = (fx, fy, fz)
    left = (-fy / level, fx / level, dv.constant(np.zeros(len(s))))
    up = (-(fz * left[1]), fz * left[0], level)
    c, r = dv.cos(roll), dv.sin(roll)
    at = size_shift(vehicle, xyz, inputs) + xyz
    x, y, z = (at[:, k] for k in range(3))
    across, high = y * c - z * r, y * r + z * c
    world = [origin[k] + forward[k] * x + left[k] * across + up[k] * high for k in range(3)]
    placed = dv.stack(world)
    return Derived(placed.value.T, placed.jac.transpose(1, 0, 2))
