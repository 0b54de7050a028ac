"""A random place: two true lines that cross, never of the family that is fitted, and the ground below.

Easements are smooth steps of curvature that nobody tells the fit of, every arc drifts a little in its radius, and in
half the places both lines wander sideways in waves. Heights have a ripple.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from truth import demo

#: Sideways waves: rms and length. [mm]
WAVES = ((0.2, 0.6), (250.0, 500.0))
#: Waves so short that marks as far apart as these barely see them. [mm]
SHORT_WAVES = ((0.1, 0.3), (130.0, 250.0))
#: Height of the upper railhead over the lower one at the crossing. [mm]
SEPARATION = (56.0, 63.0)
ANGLE = np.radians((17.0, 36.0))  # of the crossing
BOX = (-15.0, 1085.0, -60.0, 670.0)


@dataclass
class World:
    """What is true."""

    truth: demo.Truth
    crossing: tuple[float, float]
    has_waves: bool


@dataclass
class Bend:
    """Curvature of a line: tangent, smooth step, arc of a slowly drifting radius, waves."""

    start: float
    easement: float
    radius: float
    drift: float
    wave: tuple[float, float, float] | None

    def __call__(self, s):
        t = np.clip((s - self.start) / self.easement, 0.0, 1.0)
        step = t * t * (3.0 - 2.0 * t)
        kappa = step / self.radius * (1.0 + self.drift * np.sin(s / 170.0))
        if self.wave is None:
            return kappa
        amplitude, length, phase = self.wave
        w = 2.0 * np.pi / length
        return kappa - amplitude * w * w * np.sin(w * s + phase)


@dataclass
class Climb:
    """Height of a line: a grade that changes over a vertical curve, with a ripple."""

    at_start: float
    grade: float
    change: float
    curve_from: float
    curve_length: float
    ripple: tuple[float, float, float]

    def __call__(self, s):
        ramp = np.clip(s - self.curve_from, 0.0, self.curve_length)
        beyond = np.maximum(s - self.curve_from - self.curve_length, 0.0)
        bent = self.change * (ramp * ramp / (2.0 * self.curve_length) + beyond)
        amplitude, length, phase = self.ripple
        return self.at_start + self.grade * s + bent + amplitude * np.sin(2.0 * np.pi * s / length + phase)


@dataclass
class Tilt:
    """Cant of a line: it rises with the curve and wavers."""

    most: float
    rises: tuple[float, float]
    waver: tuple[float, float]

    def __call__(self, s):
        return np.interp(s, self.rises, [0.0, self.most]) + self.waver[0] * np.sin(s / self.waver[1])


def make_world(rng: np.random.Generator, *, has_waves: bool, waves=WAVES) -> World:
    """Draw places until one has its crossing where the bridge can stand."""
    kind = waves if has_waves else None
    while True:
        lower = _track(rng, (142.0, 161.0), -7.3, radius=(480.0, 1100.0), length=900.0, waves=kind)
        upper = _track(rng, (180.0, 70.0), -2.0, radius=(340.0, 480.0), length=810.0, waves=kind)
        if not (_inside(lower) and _inside(upper)):
            continue
        at = demo.crossing(upper, lower)
        angle = upper.direction(at[0]) - lower.direction(at[1])
        meets = abs(lower.lateral(upper.point(at[0]))[1]) < 0.1
        if meets and ANGLE[0] < angle < ANGLE[1] and 350.0 < at[0] < 500.0 and 300.0 < at[1] < 650.0:
            break
    apart = rng.uniform(*SEPARATION) - float(upper.height(at[0]) - lower.height(at[1]))
    upper.height.at_start += apart
    return World(demo.make_truth(lower, upper, _layout(rng)), at, has_waves)


def _inside(track: demo.Track) -> bool:
    x, y = track.point(np.linspace(0.0, track.length - 10.0, 40))
    return bool(np.all((x > BOX[0]) & (x < BOX[1]) & (y > BOX[2]) & (y < BOX[3])))


def _track(rng, start, heading, *, radius, length, waves) -> demo.Track:
    """One line; numbers about those of the demo."""
    rms, long = waves or WAVES  # drawn in any case, so that all else stays the same
    wave = (rng.uniform(*rms) * np.sqrt(2.0), rng.uniform(*long), rng.uniform(0.0, 2.0 * np.pi))
    begins, easement = rng.uniform(80.0, 200.0), rng.uniform(60.0, 200.0)
    bend = Bend(begins, easement, rng.uniform(*radius), rng.uniform(-0.03, 0.03), wave if waves else None)
    upper = radius[1] < 500.0
    grade, change = (rng.uniform(0.008, 0.022), rng.uniform(-0.008, 0.004)) if upper else (
        rng.uniform(-0.006, 0.006), rng.uniform(-0.004, 0.004))  # fmt: skip
    ripple = (rng.uniform(0.0, 0.15), rng.uniform(250.0, 500.0), rng.uniform(0.0, 2.0 * np.pi))
    climb = Climb(11.8, grade, change, rng.uniform(200.0, 450.0), rng.uniform(150.0, 300.0), ripple)
    tilt = Tilt(
        rng.uniform(0.1, 0.4),
        (begins - 20.0, begins + easement),
        (rng.uniform(0.0, 0.1), rng.uniform(80.0, 150.0)),
    )
    place = (start[0] + rng.uniform(-8.0, 8.0), start[1] + rng.uniform(-8.0, 8.0))
    return demo.Track(place, np.radians(heading + rng.uniform(-1.5, 1.5)), length, bend, climb, tilt)


def _layout(rng: np.random.Generator) -> demo.Layout:
    pegs = {"P1": (0.0, 0.0, 0.0)}
    for name, (x, y, z) in demo.PEGS.items():
        if name != "P1":
            off = rng.uniform(-15.0, 15.0, 2)
            pegs[name] = (x + off[0], 0.0 if name == "P2" else y + off[1], z + rng.uniform(-0.4, 0.4))
    return demo.Layout(
        pegs=pegs,
        ground={name: rng.uniform(0.0, 2.0) for name in demo.GROUND},
        lower_at=demo.LOWER_AT + rng.uniform(-9.0, 9.0, len(demo.LOWER_AT)),
        upper_at=demo.UPPER_AT + rng.uniform(-9.0, 9.0, len(demo.UPPER_AT)),
    )
