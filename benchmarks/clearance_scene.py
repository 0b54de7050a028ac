"""A bridge of any number of triangles over a curved line, and any number of vehicles, for the benchmark.

Each part is a cage of bars beside or over the track; what triangles are wanted beyond those of the bars are
rivet heads on them. All of it is made up, at H0.
"""

from __future__ import annotations

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.vehicles import Body, Prism, Vehicle
from spanwright.estimation.derived import constant
from spanwright.geometry.chain import Chain
from spanwright.structures.shapes import Shape

PARTS = 20
BARS = 20
_BOX = np.array(
    [0, 2, 1, 0, 3, 2, 4, 5, 6, 4, 6, 7, 0, 1, 5, 0, 5, 4, 1, 2, 6, 1, 6, 5, 2, 3, 7, 2, 7, 6, 3, 0, 4]
)
_BOX = np.append(_BOX, [3, 4, 7]).reshape(12, 3)
_CORNERS = np.array(
    [[x, y, z] for z in (-0.5, 0.5) for x, y in ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5))]
)


def make_line(length: float = 1200.0) -> Line:
    """Return a line of tangents, easements, arcs and reverse arcs, with grade and cant, of a length in mm."""
    shape = np.array([0.0, 0.0, 1.0, 1.0, 0.0, 0.0, -0.8, -0.8, 0.0])
    stretch = np.array([0.0, 150.0, 270.0, 560.0, 680.0, 740.0, 860.0, 1080.0, 1200.0])
    rounds = max(1, round(length / 1200.0))
    knots = (
        np.concatenate([[0.0], *(stretch[1:] + 1200.0 * k for k in range(rounds))])
        * length
        / (1200.0 * rounds)
    )
    curvature = np.concatenate([[0.0], *([shape[1:]] * rounds)]) / 600.0
    grades = np.tile([0.0, 0.015, -0.01], 40)[: len(knots)]
    return Line(
        name="line",
        chain=Chain(start=(0.0, 0.0), heading=0.2, knots=knots, curvature=curvature),
        plan=constant(np.concatenate([[0.0, 0.0, 0.2], curvature])),
        grade_knots=knots,
        profile=constant(np.concatenate([[0.0], grades])),
        cant_knots=knots,
        cant=constant(600.0 * np.abs(curvature)),
        head_distance=constant(17.6),
        surveyed=(0.0, float(knots[-1])),
    )


def _solid(vertices: list[np.ndarray], part: str) -> Shape:
    count = len(vertices)
    triangles = np.concatenate([_BOX + 8 * k for k in range(count)])
    points = np.concatenate(vertices)
    return Shape(
        part=part,
        vertices=points,
        triangles=triangles,
        controls=constant(np.zeros(1), 0),
        sensitivity=np.zeros((len(points), 3, 1)),
        over="",
    )


def _turned(angle: float, tilt: float) -> np.ndarray:
    c, s, d, t = np.cos(angle), np.sin(angle), np.cos(tilt), np.sin(tilt)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ np.array([[1, 0, 0], [0, d, -t], [0, t, d]])


def make_parts(line: Line, triangles: int, seed: int = 20261125) -> tuple[Shape, ...]:
    """Twenty parts with so many triangles together, to the nearest dozen."""
    rng = np.random.default_rng(seed)
    boxes = triangles // (12 * PARTS)
    last = line.surveyed[1]
    shapes = []
    for number in range(PARTS):
        station = last * (number + 0.5) / PARTS
        plan, heading = al.position_at(line, np.array([station]))
        rail = al.height_at(line, np.array([station]))[0]
        over = number % 4 == 3
        side = 0.0 if over else (1.0, -1.0)[number % 2]
        offset = side * rng.uniform(28.0, 36.0)
        height = 66.0 + rng.uniform(0.0, 6.0) if over else rng.uniform(15.0, 45.0)
        base = np.array(
            [*(plan[0] + offset * np.array([-np.sin(heading[0]), np.cos(heading[0])])), rail + height]
        )
        spread = np.array([25.0, 60.0, 6.0] if over else [40.0, 8.0, 45.0])
        frame = _turned(heading[0], 0.0)
        bars = []
        for _ in range(min(BARS, boxes)):
            size = rng.uniform([12.0, 1.5, 1.5], [60.0, 4.0, 4.0])
            out = rng.uniform(-0.5, 0.5, 3) * spread
            out[1] += side * 6.0
            turn = frame @ _turned(rng.uniform(-0.3, 0.3), rng.uniform(-1.2, 1.2))
            bars.append((size, turn, base + frame @ out))
        made = [(_CORNERS * size) @ turn.T + centre for size, turn, centre in bars]
        for k in range(boxes - len(made)):  # rivet heads on the bars' four long faces
            size, turn, centre = bars[k % len(bars)]
            at = rng.uniform(-0.5, 0.5, 3) * size
            face = rng.integers(1, 3)
            at[face] = size[face] * rng.choice([-0.5, 0.5])
            made.append((_CORNERS * 0.35 + at) @ turn.T + centre)
        shapes.append(_solid(made, f"part {number}"))
    return tuple(shapes)


def make_vehicles(count: int, seed: int = 20261125) -> tuple[Vehicle, ...]:
    """Vehicles of a club: one in four has a concave section, one in eight a load in steps."""
    rng = np.random.default_rng(seed)
    found = []
    for number in range(count):
        spacing = rng.uniform(70.0, 200.0)
        length = spacing + rng.uniform(20.0, 90.0)
        half, foot, eaves = rng.uniform(14.0, 19.0), rng.uniform(2.0, 10.0), rng.uniform(38.0, 46.0)
        roof, flat = eaves + rng.uniform(3.0, 12.0), rng.uniform(3.0, 10.0)
        right = [[half - 2.0, foot], [half, foot + 6.0], [half, eaves], [flat, roof]]
        if number % 4 == 3:
            right = [[half - 3.0, foot], [half - 3.0, 22.0], [half, 22.0], [half, eaves], [flat, roof]]
        section = np.array(right + [[-y, z] for y, z in reversed(right)])
        prisms = (Prism(rear=-length / 2, front=length / 2, section=section),)
        if number % 8 == 0:
            low = section * [1.0, 0.4]
            load = Prism(rear=-0.3 * length, front=0.3 * length, section=section)
            prisms = (Prism(rear=-length / 2, front=length / 2, section=low), load)
        wheelbase = float(rng.choice([0.0, 24.0]))
        body = Body(name="body", truck_spacing=spacing, truck_wheelbase=wheelbase, prisms=prisms)
        found.append(Vehicle(id=f"vehicle {number}", name=f"vehicle {number}", bodies=(body,)))
    return tuple(found)
