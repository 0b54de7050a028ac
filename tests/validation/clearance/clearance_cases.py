"""Cases for the clearance oracle, made by chance from a seed: one line, one vehicle, one part each.

Sizes are those of H0, then brought to a scale between N and 0. The kinds go round in order, so that any
ten cases in a row hold all of them.
"""

from dataclasses import dataclass

import numpy as np
from clearance_oracle import Way, least
from clearance_scenes import box, make_line, mesh, together

from spanwright.clearance.vehicles import Body, Play, Prism, Vehicle

KINDS = (
    "easement entry",
    "body longer than the arc",
    "reverse curve",
    "soffit in a sag or over a crest",
    "tall narrow load on cant ramps",
    "concave section",
    "end of the line",
    "overlap",
    "near touch",
    "articulated or in steps, with play",
)


@dataclass
class Case:
    """A case; the pieces are the part's solids, the shape all of them as one mesh."""

    kind: str
    line: object
    vehicle: object
    pieces: list
    shape: object


class Maker:
    """Makes one case; sizes in mm of H0, drawn with one generator."""

    def __init__(self, seed, number):
        self.rng = np.random.default_rng([seed, number])
        self.kind = KINDS[number % len(KINDS)]
        self.scale = self.rng.choice([87.0 / 160.0, 1.0, 87.0 / 48.0])

    def between(self, low, high):
        return float(self.rng.uniform(low, high))

    def sign(self):
        return float(self.rng.choice([-1.0, 1.0]))

    def make(self):
        line = self.line()
        vehicle = self.vehicle()
        pieces = self.part(line, vehicle)
        pieces = self.brought_near(line, vehicle, pieces)
        return Case(self.kind, line, vehicle, pieces, together("part", pieces))

    # ------------------------------------------------------------------------------------------ the line

    def line(self):
        f = self.scale
        radius = self.between(380.0, 900.0) * self.sign()
        ramp, arc = self.between(60.0, 160.0), self.between(250.0, 450.0)
        if self.kind == "body longer than the arc":
            ramp, arc = self.between(15.0, 60.0), self.between(60.0, 150.0)
        lengths = [self.between(150.0, 250.0), ramp, arc, ramp, self.between(100.0, 200.0)]
        curvature = [0.0, 0.0, 1.0 / radius, 1.0 / radius, 0.0, 0.0]
        if self.kind == "reverse curve":
            other = -self.between(0.7, 1.4) / radius
            lengths = [150.0, ramp, self.between(60.0, 200.0), ramp, self.between(0.5, 60.0)]
            lengths += [ramp, self.between(60.0, 200.0), ramp, 120.0]
            curvature += [other, other, 0.0, 0.0]
        knots = np.concatenate([[0.0], np.cumsum(lengths)])
        if self.rng.random() < 0.4:  # as a line laid by readings: every stretch a little off
            cuts = np.sort(self.rng.uniform(10.0, knots[-1] - 10.0, 8))
            cuts = cuts[np.min(np.abs(cuts[:, None] - knots), axis=1) > 3.0]
            cuts = cuts[np.diff(cuts, prepend=-10.0) > 3.0]
            every = np.sort(np.concatenate([knots, cuts]))
            wobble = self.rng.normal(0.0, 4e-5, len(every))
            curvature = np.interp(every, knots, curvature) + wobble
            knots = every
        steep = 0.045 if "sag" in self.kind else 0.02
        breaks = np.sort(self.rng.uniform(0.0, knots[-1], 3))
        grade_knots = np.concatenate([[0.0], breaks, [knots[-1]]])
        if np.min(np.diff(grade_knots)) < 5.0:
            grade_knots = np.linspace(0.0, knots[-1], 5)
        cant_knots, cant = knots, np.abs(np.asarray(curvature)) * self.between(0.0, 900.0)
        if "cant" in self.kind:
            cant_knots = np.linspace(0.0, knots[-1], 9)
            cant = self.rng.uniform(-0.5, 2.6, 9)
        start = f * self.rng.uniform(-500.0, 500.0, 2)
        return make_line(
            knots=f * knots,
            curvature=np.asarray(curvature) / f,
            grade_knots=f * grade_knots,
            profile=[f * self.between(-50.0, 50.0), *self.rng.uniform(-steep, steep, 5)],
            cant_knots=f * cant_knots,
            cant=f * cant,
            head_distance=f * 17.6,
            start=(float(start[0]), float(start[1])),
            heading=self.between(-3.0, 3.0),
        )

    # --------------------------------------------------------------------------------------- the vehicle

    def convex_section(self):
        half, foot, eaves, roof = (
            self.between(15.0, 19.0),
            self.between(0.5, 4.0),
            42.0,
            self.between(46.0, 60.0),
        )
        flat = self.between(2.0, half)
        right = [[half - 2.0, foot], [half, foot + 8.0], [half, eaves], [flat, roof]]
        return np.array(right + [[-y, z] for y, z in reversed(right)])

    def tall_section(self):
        half, top = self.between(5.0, 8.0), self.between(70.0, 85.0)
        return np.array([[-half, 4.0], [half, 4.0], [half, top], [-half, top]])

    def concave_section(self):
        narrow, wide = self.between(6.0, 11.0), self.between(15.0, 19.0)
        low, high, roof = self.between(18.0, 28.0), self.between(32.0, 44.0), self.between(46.0, 58.0)
        right = [
            [wide - 2.0, 2.0],
            [wide - 2.0, low],
            [narrow, low],
            [narrow, high],
            [wide, high],
            [wide, roof],
        ]
        return np.array(right + [[-y, z] for y, z in reversed(right)])

    def vehicle(self):
        if "articulated" in self.kind:
            return self.articulated() if self.rng.random() < 0.5 else self.stepped()
        section = self.convex_section()
        if "tall" in self.kind:
            section = self.tall_section()
        if self.kind == "concave section" or (self.kind in KINDS[:4] and self.rng.random() < 0.3):
            section = self.concave_section()
        spacing = self.between(90.0, 200.0)
        length = spacing + self.between(20.0, 100.0)
        middle = self.between(-8.0, 8.0)
        return self.vehicle_of([(spacing, [(middle - length / 2, middle + length / 2, section)])])

    def articulated(self):
        bodies = []
        for _ in range(2):
            spacing = self.between(100.0, 190.0)
            bodies.append((spacing, [(-spacing / 2 - 4.0, spacing / 2 + 12.0, self.convex_section())]))
        return self.vehicle_of(bodies, Play(lateral=self.scale * self.between(0.1, 0.5), roll=0.015))

    def stepped(self):
        spacing = self.between(120.0, 180.0)
        low = np.array([[-16.0, 2.0], [16.0, 2.0], [16.0, 16.0], [-16.0, 16.0]])
        load = self.convex_section() + np.array([0.0, 14.0])
        ends = [(-spacing / 2 - 25.0, spacing / 2 + 25.0, low), (-spacing * 0.3, spacing * 0.3, load)]
        return self.vehicle_of(
            [(spacing, ends)], Play(lateral=self.scale * 0.3, roll=self.between(0.0, 0.03))
        )

    def vehicle_of(self, bodies, play=None):
        f, wheelbase = self.scale, float(self.rng.choice([0.0, 24.0]))
        made = tuple(
            Body(
                name="body",
                truck_spacing=f * spacing,
                truck_wheelbase=f * wheelbase,
                prisms=tuple(Prism(rear=f * a, front=f * b, section=f * section) for a, b, section in prisms),
            )
            for spacing, prisms in bodies
        )
        return Vehicle(id="train", name="train", bodies=made, play=play or Play())

    # ------------------------------------------------------------------------------------------ the part

    def frame(self, line, station):
        """Track centre, direction and height at a station."""
        way = Way(line, min(station, 0.0) - 2.0, max(station, 0.0) + 2.0)
        at = np.array([station])
        return way.plan(at)[0], float(way.heading(at)[0]), float(way.height(at)[0])

    def beside(self, line, station, offset, height):
        plan, heading, rail = self.frame(line, station)
        return np.array([*(plan + offset * np.array([-np.sin(heading), np.cos(heading)])), rail + height])

    def part(self, line, vehicle):
        f = self.scale
        half = max(float(np.abs(p.section[:, 0]).max()) for b in vehicle.bodies for p in b.prisms)
        top = max(float(p.section[:, 1].max()) for b in vehicle.bodies for p in b.prisms)
        knots, last = line.chain.knots, line.surveyed[1]
        station = self.between(0.0, last)
        if self.kind == "easement entry":
            station = knots[1] + f * self.between(-60.0, 60.0)
        if self.kind == "end of the line":
            station = float(self.rng.choice([0.0, last])) + f * self.between(-120.0, 120.0)
        if self.kind == "concave section" and self.rng.random() < 0.7:
            return self.sill(line, station, vehicle)
        above = "soffit" in self.kind or ("tall" in self.kind and self.rng.random() < 0.5)
        if above or self.rng.random() < 0.15:
            return self.over(line, station, top)
        room = f * self.between(1.0, 9.0)
        if self.kind == "overlap":
            room = -f * self.between(1.0, 12.0)
        return self.aside(line, station, self.sign() * (half + room))

    def over(self, line, station, top):
        f = self.scale
        _, heading, _ = self.frame(line, station)
        height = top + f * self.between(2.0, 9.0)
        size = f * np.array([self.between(100.0, 220.0), self.between(4.0, 25.0), self.between(4.0, 15.0)])
        turn, tilt = heading + self.between(0.3, 2.8), self.between(-0.06, 0.06)
        centre = self.beside(line, station, f * self.between(-15.0, 15.0), height + size[2] / 2)
        pieces = [box("girder", centre, size, angle=turn, tilt=tilt)]
        if self.rng.random() < 0.5:
            below = centre + np.array([0.0, 0.0, size[2] / 2])
            pieces.append(box("plate", below, (size[0], 1.6 * size[1], 1.5 * f), angle=turn, tilt=tilt))
        return pieces

    def aside(self, line, station, offset):
        f, pick = self.scale, self.rng.integers(4)
        _, heading, _ = self.frame(line, station)
        side = np.sign(offset)
        if pick == 0:
            radius = f * self.between(2.0, 8.0)
            offset += side * (radius + f * self.between(0.0, 4.0))
            return [
                drum(
                    self.beside(line, station, offset, f * 25.0),
                    radius,
                    f * 70.0,
                    int(self.rng.integers(5, 24)),
                )
            ]
        if pick == 1:
            size = f * np.array([self.between(60.0, 300.0), 8.0, self.between(20.0, 60.0)])
            offset += side * (size[1] / 2 + 0.02 * size[0])
            turn = heading + self.between(-0.05, 0.05)
            return [box("wall", self.beside(line, station, offset, f * 15.0), size, angle=turn)]
        size = f * self.rng.uniform(3.0, 25.0, 3)
        offset += side * 0.5 * np.hypot(size[0], size[1])
        if pick == 2:
            centre = self.beside(line, station, offset, f * self.between(5.0, 55.0))
            return [box("block", centre, size, angle=self.between(0, 3), tilt=self.between(-0.4, 0.4))]
        pieces = []
        for _ in range(self.rng.integers(3, 9)):
            away = offset + side * f * self.between(0.0, 8.0)
            centre = self.beside(
                line, station + f * self.between(-60.0, 60.0), away, f * self.between(2.0, 60.0)
            )
            size = f * np.array([self.between(4.0, 40.0), self.between(1.5, 6.0), self.between(1.5, 6.0)])
            pieces.append(
                box("bar", centre, size, angle=heading + self.between(-0.2, 0.2), tilt=self.between(-1, 1))
            )
        return pieces

    def sill(self, line, station, vehicle):
        """A beam along the track that reaches into the notch of a concave section."""
        f, section = self.scale, vehicle.bodies[0].prisms[0].section
        heights = np.unique(section[:, 1])
        notch = float(np.sort(np.unique(np.abs(section[:, 0])))[0])
        middle = 0.5 * (heights[1] + heights[2])
        size = f * np.array([self.between(4.0, 40.0), self.between(6.0, 20.0), 0.0])
        size[2] = self.between(0.1, 0.5) * (heights[2] - heights[1])
        _, heading, _ = self.frame(line, station)
        offset = notch + f * self.between(2.5, 8.0) + size[1] / 2
        centre = self.beside(line, station, self.sign() * offset, middle + f * self.between(-1.0, 1.0))
        return [
            box("sill", centre, size, angle=heading + self.between(-0.3, 0.3), tilt=self.between(-0.05, 0.05))
        ]

    def brought_near(self, line, vehicle, pieces):
        """Move a part towards the train until it is as near as its kind wants; far ones show little."""
        f, rounds = self.scale, 1
        wanted, most = f * self.between(0.5, 9.0), 12.0 * f
        if self.kind == "near touch":
            wanted, most, rounds = float(self.rng.choice([0.0, 0.002, 0.01, 0.05])), 0.0, 7
        if self.kind == "overlap":
            wanted, most = -f * self.between(0.2, 6.0), 0.0
        last, by, share = np.inf, 0.0, 1.0
        for _ in range(rounds):
            gap, body, station, _ = least(line, vehicle, pieces, reach=60.0 * f)
            if gap <= max(wanted, 0.0) + 1e-3 or gap <= most or gap >= 60.0 * f:
                break
            if by > 0:  # a movement aslant closes the gap by a share of its length
                share = float(np.clip((last - gap) / by, 0.05, 1.0))
            last, by = gap, (gap - wanted) / share
            pieces = self.moved(line, vehicle.bodies[body], station, pieces, by=by)
        return pieces

    def moved(self, line, body, station, pieces, *, by):
        """Parts overhead go down, others level towards the body."""
        points = np.vstack([p.vertices for p in pieces])
        far = body.truck_spacing + 60.0
        way = Way(line, min(station, 0.0) - far, max(station, 0.0) + far)
        origin = way.poses(body, np.array([station]))[0][0]
        toward = np.append((origin - points.mean(axis=0))[:2], 0.0)
        if points[:, 2].min() > origin[2] + 45.0 * self.scale:
            toward = np.array([0.0, 0.0, -1.0])
        move = by * toward / np.linalg.norm(toward)
        return [mesh(p.part, p.vertices + move, p.triangles) for p in pieces]


def drum(centre, radius, height, sides):
    """An upright round column of flat sides."""
    angles = 2 * np.pi * np.arange(sides) / sides
    ring = radius * np.column_stack([np.cos(angles), np.sin(angles), np.zeros(sides)])
    up = np.array([0.0, 0.0, height / 2])
    vertices = np.vstack([ring - up, ring + up, [-up, up]]) + centre
    triangles = []
    for i in range(sides):
        j = (i + 1) % sides
        low, top = 2 * sides, 2 * sides + 1
        triangles += [[i, j, sides + j], [i, sides + j, sides + i], [low, j, i], [top, sides + i, sides + j]]
    return mesh("drum", vertices, triangles)
