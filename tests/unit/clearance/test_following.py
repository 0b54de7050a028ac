"""Trucks between the outer two: their slide against a closed form, its derivatives, what is said of it."""

from dataclasses import replace

import numpy as np
import pytest
from clearance_scenes import car, make_line
from derived_scenes import PLACES, line_of, scene

from spanwright.clearance.engine.following import derived_slide, following_findings, slides, worst_slides
from spanwright.errors import InputError
from spanwright.findings import Severity

RADIUS, SPACING, OFFSET = 600.0, 160.0, 10.0
ARC = {"knots": [-500.0, 500.0], "curvature": [1 / RADIUS] * 2}


def three(play=None, wheelbase=0.0, between=(OFFSET,)):
    """A body on three trucks, the middle one a little ahead of the middle."""
    vehicle = car(spacing=SPACING, wheelbase=wheelbase)
    body = replace(vehicle.bodies[0], between=between, between_play=play)
    return replace(vehicle, bodies=(body,))


@pytest.mark.parametrize("wheelbase", [0.0, 22.0])
def test_on_an_arc_the_slide_is_the_difference_of_two_versines(wheelbase):
    body = three(wheelbase=wheelbase).bodies[0]
    _, aside = slides(make_line(**ARC), body, np.array([0.0, 37.0]))
    runs_on = RADIUS * np.cos(0.5 * wheelbase / RADIUS)  # where the truck centres stand
    # the line curves to the left: in the middle it lies to the right of the body
    wanted = np.sqrt(runs_on**2 - 0.25 * SPACING**2) - np.sqrt(runs_on**2 - OFFSET**2)
    assert aside[:, 0] == pytest.approx(wanted, abs=1e-8)
    assert wanted == pytest.approx(-(80 - OFFSET) * (80 + OFFSET) / 2 / RADIUS, rel=0.01)


def test_on_a_canted_tangent_nothing_slides():
    line = make_line(knots=[0.0, 1000.0], curvature=[0.0, 0.0], cant=[1.0])
    assert slides(line, three().bodies[0], np.array([500.0]))[1][0, 0] == pytest.approx(0.0, abs=1e-9)


def test_the_worst_place_is_the_sharpest():
    line, vehicle, _, inputs = scene()
    vehicle = replace(vehicle, bodies=(replace(vehicle.bodies[0], between=(0.0,)),))
    (worst,) = worst_slides(line, vehicle, inputs)
    stations = np.arange(line.surveyed[0], line.surveyed[1], 0.1)
    _, aside = slides(line, vehicle.bodies[0], stations)
    assert abs(float(worst.slide.value)) == pytest.approx(np.abs(aside).max(), abs=0.01)


@pytest.mark.parametrize("wheelbase", [0.0, 22.0])
def test_a_derived_slide_has_true_derivatives(wheelbase):
    line, vehicle, _, inputs = scene(wheelbase=wheelbase)
    vehicle = replace(vehicle, bodies=(replace(vehicle.bodies[0], between=(OFFSET,)),))
    body, s = vehicle.bodies[0], 421.0

    def slide(given):
        return derived_slide(line_of(given, line), vehicle, body, s, number=0, inputs=given)

    found = slide(inputs)
    assert float(found.value) == pytest.approx(slides(line, body, np.array([s]))[1][0, 0], abs=1e-9)
    for k, item in enumerate(inputs.items):
        if item.id.rsplit(" ", 1)[0] in PLACES:
            continue
        step = 1e-4 * item.sd / 0.1
        values = inputs.values
        values[k] += step
        ahead = slide(inputs.with_values(values)).value
        values[k] -= 2 * step
        behind = slide(inputs.with_values(values)).value
        assert found.jac[k] == pytest.approx(
            (ahead - behind) / (2 * step), rel=2e-5, abs=1e-6 * 0.1 / item.sd
        ), item.id


def test_what_is_said_of_it():
    line, vehicle, _, inputs = scene()

    def told(play):
        body = replace(vehicle.bodies[0], between=(0.0,), between_play=play)
        return following_findings(line, replace(vehicle, bodies=(body,)), inputs, k=2.0)

    (note,) = told(None)
    assert (note.code, note.severity, note.limit) == ("CL108", Severity.NOTE, None)
    assert f"the middle truck must slide {note.value:.2f} " in note.text
    assert f"mm to one side where {line.name} is tightest for it, " in note.text
    assert "it has" not in note.text
    assert told(note.value + 100.0) == ()
    (warning,) = told(0.0)
    assert (warning.severity, warning.limit) == (Severity.WARNING, 0.0)
    assert warning.text.endswith("; it has 0.00 mm")
    (perhaps,) = told(note.value)
    assert perhaps.severity is Severity.WARNING
    assert f"; not proven that it can: it has {note.value:.2f} mm" in perhaps.text


def test_two_trucks_between_are_told_apart():
    line, vehicle, _, inputs = scene()
    vehicle = replace(vehicle, bodies=(replace(vehicle.bodies[0], between=(-30.0, 20.0)),))
    first, second = following_findings(line, vehicle, inputs, k=2.0)
    assert first.text.startswith("truck 2 of 4 must slide")
    assert second.text.startswith("truck 3 of 4 must slide")
    assert first.value < second.value


def test_on_two_trucks_nothing_is_said():
    line, vehicle, _, inputs = scene()
    assert following_findings(line, vehicle, inputs, k=2.0) == ()


def test_a_truck_between_stands_between():
    with pytest.raises(InputError, match="80") as error:
        three(between=(80.0,))
    assert error.value.code == "CL025"
