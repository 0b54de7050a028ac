"""What each cause takes from a gap, against closed forms on plain lines."""

import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "clearance"))

from clearance_scenes import box, car, make_line

from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.stage import assess
from spanwright.clearance.vehicles import Play
from spanwright.estimation.inputs import Inputs
from spanwright.remedies.explain import explain

RADIUS = 600.0


def explained(line, vehicle, part):
    settings = ClearanceInput(runs=(Run(line="lower", vehicle=vehicle),), margin_side=1.0, margin_above=1.0)
    result = assess(Inputs(items=()), {"lower": line}, (part,), settings)
    plan = SimpleNamespace(
        clearance=result,
        job=SimpleNamespace(clearance=settings),
        alignment=SimpleNamespace(line=lambda _: line),
    )
    return explain(plan, result.gaps[0]), result.gaps[0]


def arc(**changes):
    """A long arc that turns left, as far as the cars reach."""
    values = {"knots": [0.0, 900.0], "curvature": [1.0 / RADIUS] * 2} | changes
    return make_line(**values)


def beside(line, station, left, height=25.0, size=(4.0, 4.0, 50.0)):
    """A post beside the line."""
    from spanwright.alignment.line import position_at

    (point,), (angle,) = position_at(line, np.array([station]))
    out = np.array([-np.sin(angle), np.cos(angle)])
    return box("post", [*(point + left * out), height], size, angle=angle)


def test_throw_at_the_middle_is_that_of_the_chord():
    """Inside a curve the body's middle stands off by R - sqrt(R^2 - a^2/4), a the truck spacing."""
    line = arc()
    why, gap = explained(line, car(), beside(line, 450.0, 30.0))
    ordinate = RADIUS - np.sqrt(RADIUS**2 - 80.0**2)
    assert gap.side == "left"
    # seen from the tangent at the post the whole middle ordinate is throw
    assert why.throw == pytest.approx(ordinate, abs=0.02)
    assert why.lean == why.play == why.height == 0.0
    assert why.bare == pytest.approx(30.0 - 2.0 - 18.0, abs=0.02)


def test_lean_at_the_roof_is_height_times_cant_over_the_rail_heads():
    line = make_line(knots=[0.0, 900.0], curvature=[0.0, 0.0], cant=[1.0])  # right rail up: it leans left
    post = beside(line, 450.0, 27.0, height=48.0, size=(4.0, 4.0, 4.0))
    why, _ = explained(line, car(), post)
    top = 49.9  # the post reaches from 46 to 50; the roof's corner sinks a little below 50
    assert why.lean == pytest.approx(top * 1.0 / 16.5, rel=0.03)
    assert why.throw == pytest.approx(0.0, abs=1e-9)


def test_play_is_sideways_play_and_rocking_at_the_height_of_the_point():
    line = make_line(knots=[0.0, 900.0], curvature=[0.0, 0.0])
    post = beside(line, 450.0, 27.0, height=48.0, size=(4.0, 4.0, 4.0))
    why, _ = explained(line, car(play=Play(lateral=0.3, roll=0.01)), post)
    assert why.play == pytest.approx(0.3 + 50.0 * 0.01, abs=0.02)


def test_a_sag_lifts_the_middle_by_its_ordinate():
    """In a sag of radius R the middle between the trucks stands a^2 / 8R above the rail."""
    radius = 7400.0
    line = make_line(
        knots=[0.0, 900.0],
        curvature=[0.0, 0.0],
        grade_knots=[0.0, 900.0],
        profile=[0.0, -450.0 / radius, 450.0 / radius],
    )
    from spanwright.alignment.line import height_at

    low = float(height_at(line, np.array([450.0]))[0])
    beam = box("beam", [450.0, 0.0, low + 50.0 + 6.0], (4.0, 60.0, 4.0))
    why, gap = explained(line, car(), beam)
    assert gap.side == "above"
    assert why.height == pytest.approx(160.0**2 / (8.0 * radius), abs=0.01)
    assert why.gap + why.height == pytest.approx(4.0, abs=0.02)


def test_nothing_is_explained_where_they_overlap():
    line = make_line(knots=[0.0, 900.0], curvature=[0.0, 0.0])
    why, _ = explained(line, car(), beside(line, 450.0, 10.0))
    assert why is None
