"""Published nets as input of the survey stage: metres to mm, one reading a row, given coordinates held."""

import re
import tomllib
from dataclasses import dataclass
from math import pi, radians
from pathlib import Path

import pytest

from spanwright.estimation.inputs import Input, Inputs
from spanwright.survey.readings import Datum, DatumKind, Kind, Mark, Reading, SurveyInput
from spanwright.survey.stage import adjust_survey

M = 1000.0
SECOND = pi / 180.0 / 3600.0
GON = pi / 200.0


def angle(text, unit):
    if unit == "gon":
        return float(text) * GON
    degrees, minutes, seconds = re.fullmatch(r"(\d+)°(\d+)'([\d.]+)\"", text).groups()
    return radians(int(degrees) + int(minutes) / 60.0 + float(seconds) / 3600.0)


@dataclass
class Net:
    """Readings gathered row by row, then adjusted."""

    marks: tuple[Mark, ...]
    fixed: tuple[tuple[str, str, float], ...]

    def __post_init__(self):
        self.readings, self.items = [], []

    def add(self, kind, marks, value, sd):
        unit = "rad" if kind in (Kind.ANGLE, Kind.BEARING) else "mm"
        key = f"{kind.value} {'-'.join(marks)}"
        self.readings.append(Reading(id=key, kind=kind, marks=marks))
        self.items.append(Input(id=key, value=value, sd=sd, unit=unit, label=key, kind="reading"))

    def adjust(self, set_aside=frozenset()):
        given = SurveyInput(
            marks=self.marks,
            readings=tuple(self.readings),
            datum=Datum(kind=DatumKind.FIXED, fixed=self.fixed),
            set_aside=frozenset(set_aside),
        )
        return adjust_survey(given, Inputs(items=tuple(self.items)))


def height_net(case):
    net = Net(
        marks=tuple(Mark(name=p) for p in case["start"]),
        fixed=tuple((p, "z", case["start"][p] * M) for p in case["fixed"]),
    )
    for low, high, rise, length, sd in case["levels"]:
        net.add(Kind.HEIGHT, (high, low), rise * M, sd * M * (length / 1000.0) ** 0.5)
    return net


def plan_net(case, *, extra_angles=()):
    """The approximate coordinates of the source are the rough places."""
    start = {p: (x * M, y * M) for p, (x, y) in case["start"].items()}
    net = Net(
        marks=tuple(Mark(name=p, rough=None if p in case["fixed"] else xy) for p, xy in start.items()),
        fixed=tuple((p, axis, v) for p in case["fixed"] for axis, v in zip("xy", start[p], strict=True)),
    )
    for a, b, length, sd in case.get("distances", ()):
        net.add(Kind.LEVEL_DISTANCE, (a, b), length * M, sd * M)
    unit = case.get("angle_unit", "deg")
    for at, back, fore, text, sd in (*case.get("angles", ()), *extra_angles):
        net.add(Kind.ANGLE, (at, back, fore), angle(text, unit), sd * (GON if unit == "gon" else SECOND))
    for a, b, text, sd in case.get("bearings", ()):
        net.add(Kind.BEARING, (a, b), angle(text, "deg"), sd * SECOND)
    return net


@pytest.fixture(scope="session")
def cases():
    text = Path(__file__).with_name("krumm_2020.toml").read_text(encoding="utf-8")
    return {case["id"]: case for case in tomllib.loads(text)["case"]}


@pytest.fixture
def nets():
    """Builders by kind: an object that a test can ask without importing this file."""
    return {"heights": height_net, "plan": plan_net, "empty": Net}
