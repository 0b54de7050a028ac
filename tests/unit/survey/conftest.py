"""A small survey that is put together line by line, and true readings worked by hand from places."""

from dataclasses import dataclass, field
from math import atan2, cos, hypot, pi, sin

import numpy as np
import pytest

from spanwright.estimation.inputs import Input, Inputs
from spanwright.survey.readings import Datum, DatumKind, Kind, Mark, Reading, SurveyInput
from spanwright.survey.stage import adjust_survey

ANGLES = {Kind.ANGLE, Kind.BEARING, Kind.LEVEL_ANGLE, Kind.CROSS_LEVEL_ANGLE}


def clockwise(a, b):
    """Clockwise from the y axis, by turning a compass: 90 degrees less the usual angle."""
    return pi / 2 - atan2(b[1] - a[1], b[0] - a[0])


def square_off(p, a, b):
    """Left of the string positive: the cross product by the string's unit vector."""
    t = atan2(b[1] - a[1], b[0] - a[0])
    return -sin(t) * (p[0] - a[0]) + cos(t) * (p[1] - a[1])


def along(p, a, b):
    t = atan2(b[1] - a[1], b[0] - a[0])
    return cos(t) * (p[0] - a[0]) + sin(t) * (p[1] - a[1])


BY_HAND = {
    Kind.DISTANCE: lambda a, b: float(np.linalg.norm(np.subtract(a, b))),
    Kind.LEVEL_DISTANCE: lambda a, b: hypot(a[0] - b[0], a[1] - b[1]),
    Kind.ANGLE: lambda at, a, b: (clockwise(at, b) - clockwise(at, a)) % (2 * pi),
    Kind.BEARING: lambda a, b: clockwise(a, b) % (2 * pi),
    Kind.LEVEL_ANGLE: lambda a, b: atan2(b[2] - a[2], hypot(a[0] - b[0], a[1] - b[1])),
    Kind.HEIGHT: lambda of, above: of[2] - above[2],
    Kind.STEPPED_BLOCK: lambda of, above: of[2] - above[2],
    Kind.OFFSET: square_off,
    Kind.VERSINE: square_off,
    Kind.ALONG: along,
    Kind.PLUMB_X: lambda upper, lower: upper[0] - lower[0],
    Kind.PLUMB_Y: lambda upper, lower: upper[1] - lower[1],
    Kind.PLUMB_PAST_EDGE: lambda above, below, e1, e2: square_off(below, e1, e2) - square_off(above, e1, e2),
    Kind.COORDINATE_X: lambda p: p[0],
    Kind.COORDINATE_Y: lambda p: p[1],
    Kind.COORDINATE_Z: lambda p: p[2],
}


@dataclass
class Net:
    """Places are the truth; readings are true to them unless a value is given."""

    places: dict
    fixed: str = ""  # names of marks whose coordinates are held, one letter each
    rough: str = ""
    datum: Datum | None = None
    lines: dict = field(default_factory=dict)
    noise: object = None
    readings: list = field(default_factory=list)
    items: list = field(default_factory=list)
    shared: list = field(default_factory=list)
    set_aside: frozenset = frozenset()

    def share(self, key, sd, unit="mm"):
        self.shared.append(key)
        self.items.append(Input(id=key, value=0.0, sd=sd, unit=unit, label=key, kind="shared"))
        return key

    def size(self, key, value, sd):
        self.items.append(Input(id=key, value=value, sd=sd, unit="mm", label=key, kind="size"))
        return key

    def read(self, kind, *marks, value=None, sd=None, key=None, add=0.0, **tool):
        sd = sd or (1e-3 if kind in ANGLES else 0.5)
        if value is None:
            value = BY_HAND[kind](*(self.places[m] for m in marks))
        value += add + (self.noise.normal(0.0, sd) if self.noise is not None else 0.0)
        key = key or f"{kind.value} {'-'.join(marks)}"
        self.readings.append(Reading(id=key, kind=kind, marks=marks, **tool))
        unit = "rad" if kind in ANGLES else "mm"
        self.items.append(Input(id=key, value=float(value), sd=sd, unit=unit, label=key, kind="reading"))
        return self

    @property
    def inputs(self):
        return Inputs(items=tuple(self.items))

    @property
    def given(self):
        held = tuple((m, axis, v) for m in self.fixed for axis, v in zip("xyz", self.places[m], strict=False))
        used = {m for r in self.readings for m in r.marks} | set(self.fixed)
        return SurveyInput(
            marks=tuple(
                Mark(
                    name=m,
                    line=self.lines.get(m, ""),
                    rough=(p[0] + 4.0, p[1] - 3.0) if m in self.rough else None,
                )
                for m, p in self.places.items()
                if m in used
            ),
            readings=tuple(self.readings),
            datum=self.datum or Datum(kind=DatumKind.FIXED, fixed=held),
            shared=tuple(self.shared),
            set_aside=self.set_aside,
        )

    def adjust(self, values=None):
        inputs = self.inputs if values is None else self.inputs.with_values(values)
        return adjust_survey(self.given, inputs)


@pytest.fixture
def net():
    """Make a Net, as a test cannot import this file."""
    return Net
