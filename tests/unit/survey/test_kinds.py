"""Each kind of reading against places worked by hand: its sign, and that it brings a mark home."""

from math import asin, pi, radians

import numpy as np
import pytest

from spanwright.estimation.jets import variables
from spanwright.survey.equations import AXES, EQUATIONS
from spanwright.survey.readings import Kind

PLACES = {
    "A": (0.0, 0.0, 0.0),
    "B": (1000.0, 0.0, 20.0),
    "C": (0.0, 800.0, -10.0),
    "E": (200.0, 100.0, 0.0),
    "F": (700.0, 180.0, 0.0),
    "P": (430.0, 310.0, 55.0),
    "Q": (441.0, 305.5, -90.0),
}


@pytest.mark.parametrize(
    ("kind", "q", "shown"),
    [
        (Kind.DISTANCE, (0, 0, 0, 3, 4, 12), 13.0),
        (Kind.LEVEL_DISTANCE, (0, 0, 3, 4), 5.0),
        (Kind.ANGLE, (0, 0, 0, 10, 10, 0), pi / 2),  # from north to east is clockwise
        (Kind.ANGLE, (5, 5, 5, 15, -5, 5), -pi / 2),  # north to west
        (Kind.BEARING, (0, 0, 10, 0), pi / 2),
        (Kind.BEARING, (0, 0, 0, 10), 0.0),
        (Kind.BEARING, (0, 0, 0, -10), pi),
        (Kind.LEVEL_ANGLE, (0, 0, 0, 3, 4, 5), pi / 4),
        (Kind.LEVEL_ANGLE, (3, 4, 5, 0, 0, 0), -pi / 4),
        (Kind.HEIGHT, (12, 5), 7.0),
        (Kind.STEPPED_BLOCK, (12, 5), 7.0),
        (Kind.OFFSET, (4, 3, 0, 0, 10, 0), 3.0),  # left of a string that runs east
        (Kind.VERSINE, (4, -3, 0, 0, 10, 0), -3.0),
        (Kind.OFFSET, (4, 3, 0, 0, 0, 10), -4.0),  # right of one that runs north
        (Kind.ALONG, (4, 3, 0, 0, 10, 0), 4.0),
        (Kind.ALONG, (4, 3, 0, 0, 0, -10), -3.0),
        (Kind.PLUMB_X, (12, 5), 7.0),
        (Kind.PLUMB_Y, (5, 12), -7.0),
        (Kind.PLUMB_PAST_EDGE, (4, 3, 4, 8, 0, 0, 10, 0), 5.0),  # below lies left of the edge's direction
        (Kind.PLUMB_PAST_EDGE, (4, 3, 9, 3, 0, 0, 0, 10), -5.0),
        (Kind.COORDINATE_X, (7,), 7.0),
        (Kind.COORDINATE_Y, (7,), 7.0),
        (Kind.COORDINATE_Z, (7,), 7.0),
    ],
)
def test_what_is_shown(kind, q, shown):
    jet = EQUATIONS[kind](variables(np.array([q], dtype=float)))
    assert jet.value[0] == pytest.approx(shown)
    assert len(q) == sum(len(axes) for axes in AXES[kind])


def test_every_kind_has_its_axes():
    assert set(AXES) == set(Kind)


HOME = {
    "distance": [(Kind.DISTANCE, "AP"), (Kind.DISTANCE, "PB"), (Kind.DISTANCE, "CP"), (Kind.HEIGHT, "PA")],
    "level distance": [(Kind.LEVEL_DISTANCE, "AP"), (Kind.LEVEL_DISTANCE, "PB"), (Kind.LEVEL_DISTANCE, "CP")],
    "angle": [(Kind.ANGLE, "ABP"), (Kind.ANGLE, "BPA"), (Kind.ANGLE, "PAB")],
    "bearing": [(Kind.BEARING, "AP"), (Kind.LEVEL_DISTANCE, "AP")],
    "level angle": [
        (Kind.LEVEL_DISTANCE, "AP"),
        (Kind.LEVEL_DISTANCE, "PB"),
        (Kind.LEVEL_DISTANCE, "CP"),
        (Kind.LEVEL_ANGLE, "AP"),
    ],
    "height": [(Kind.HEIGHT, "PA")],
    "stepped block": [(Kind.STEPPED_BLOCK, "BP")],
    "offset and along": [(Kind.OFFSET, "PAB"), (Kind.ALONG, "PAB")],
    "offset from behind": [(Kind.OFFSET, "PBA"), (Kind.ALONG, "PBA")],
    "versine": [(Kind.VERSINE, "PCB"), (Kind.LEVEL_DISTANCE, "PA"), (Kind.LEVEL_DISTANCE, "PB")],
    "plumb": [(Kind.OFFSET, "PAB"), (Kind.ALONG, "PAB"), (Kind.PLUMB_X, "QP"), (Kind.PLUMB_Y, "PQ")],
    "plumb past edge": [
        (Kind.OFFSET, "PAB"),
        (Kind.ALONG, "PAB"),
        (Kind.PLUMB_PAST_EDGE, "PQEF"),
        (Kind.LEVEL_DISTANCE, "AQ"),
    ],
    "coordinates": [
        (Kind.COORDINATE_X, "P"),
        (Kind.COORDINATE_Y, "P"),
        (Kind.COORDINATE_Z, "P"),
        (Kind.HEIGHT, "PA"),
    ],
}
ROUGH = {"angle": "P", "plumb past edge": "Q"}


@pytest.mark.parametrize("name", HOME)
def test_true_readings_bring_a_mark_home(net, name):
    survey = net(PLACES, fixed="ABCEF", rough=ROUGH.get(name, ""))
    for kind, marks in HOME[name]:
        survey.read(kind, *marks)
    found = survey.adjust()
    for key in found.names:
        mark, axis = key.split(".")
        assert float(found.value(key).value) == pytest.approx(PLACES[mark]["xyz".index(axis)], abs=1e-6), key
    assert np.abs(found.adjustment.residuals).max() < 1e-8


def test_a_tape_in_the_air_is_longer_than_one_held_level(net):
    found = (
        net(PLACES, fixed="ABC")
        .read(Kind.HEIGHT, "P", "A")
        .read(Kind.DISTANCE, "A", "P")
        .read(Kind.DISTANCE, "B", "P")
        .read(Kind.LEVEL_DISTANCE, "C", "P", value=np.hypot(430.0, 490.0))
        .adjust()
    )
    assert float(found.value("P.x").value) == pytest.approx(430.0, abs=1e-6)
    assert float(found.value("P.y").value) == pytest.approx(310.0, abs=1e-6)


@pytest.mark.parametrize("cant", [-1.2, 0.0, 2.5])
def test_cross_level_by_angle_and_feeler(net, cant):
    """Rail heads 17.7 apart; the block reaches 14 and the right rail is the higher for a positive cant."""
    survey = net(PLACES, fixed="A").read(Kind.HEIGHT, "P", "A")
    survey.read(Kind.CROSS_LEVEL_ANGLE, "P", value=asin(cant / 17.7), rail_distance=17.7, sd=1e-3)
    survey.read(
        Kind.CROSS_LEVEL_FEELER, "P", value=cant * 14.0 / 17.7, reach=14.0, rail_distance=17.7, sd=0.02
    )
    found = survey.adjust()
    assert float(found.value("P.c").value) == pytest.approx(cant, abs=1e-9)
    assert np.abs(found.adjustment.residuals).max() < 1e-9
    by_angle, by_feeler = 17.7 * 1e-3, 0.02 * 17.7 / 14.0  # doubts near level
    wanted = 1.0 / np.hypot(1.0 / by_angle, 1.0 / by_feeler)
    assert float(found.value("P.c").sd(survey.inputs.sds)) == pytest.approx(wanted, rel=0.02)


def test_cross_level_angle_in_degrees_of_an_inclinometer(net):
    survey = net(PLACES, fixed="A").read(Kind.HEIGHT, "P", "A")
    survey.read(Kind.CROSS_LEVEL_ANGLE, "P", value=radians(3.0), rail_distance=17.7)
    assert float(survey.adjust().value("P.c").value) == pytest.approx(17.7 * 0.0523359562, abs=1e-7)


def test_a_tapes_scale_and_zero_are_found_and_shared(net):
    """Two unknown marks by one tape that shows 0.2 per cent and 0.8 mm too much."""
    places = {**PLACES, "G": (950.0, 700.0, 0.0)}
    survey = net(places, fixed="ABCG")
    scale, zero = survey.share("tape scale", 1e-2, "1"), survey.share("tape zero", 5.0)
    for mark in "PQ":
        for peg in "ABCG":
            true = np.hypot(*np.subtract(places[mark], places[peg])[:2])
            survey.read(
                Kind.LEVEL_DISTANCE, peg, mark, value=true * 1.002 + 0.8, scale=scale, zero=zero, sd=1e-3
            )
    found = survey.adjust()
    assert found.names[-2:] == ("tape scale", "tape zero")
    # pulled towards nil by its own doubt, by a hair
    assert float(found.value("tape scale").value) == pytest.approx(0.002, abs=1e-7)
    assert float(found.value("tape zero").value) == pytest.approx(0.8, abs=1e-4)
    for key in ("P.x", "P.y", "Q.x", "Q.y"):
        assert float(found.value(key).value) == pytest.approx(places[key[0]]["xyz".index(key[2])], abs=1e-4)
    # the two marks share the tape's error
    pair = found.values[[found.names.index("P.y"), found.names.index("Q.y")]]
    assert np.abs(found.values.jac[:, survey.inputs.column("tape zero")]).max() > 0.0
    assert pair.jac.shape[0] == 2


def test_a_shared_error_that_nothing_shows_stays_in_the_doubt(net):
    survey = net(PLACES, fixed="A")
    zero = survey.share("level zero", 0.3)
    survey.read(Kind.HEIGHT, "P", "A", sd=0.1, zero=zero).read(Kind.HEIGHT, "Q", "A", sd=0.1, zero=zero)
    found = survey.adjust()
    sds = survey.inputs.sds
    assert float(found.value("P.z").sd(sds)) == pytest.approx(np.hypot(0.1, 0.3))
    apart = found.value("P.z") - found.value("Q.z")
    assert float(apart.sd(sds)) == pytest.approx(np.hypot(0.1, 0.1))
    assert set(found.unchecked) == {"height P-A", "height Q-A", "level zero"}


def test_drops_lead_from_the_touched_surface_to_the_marks_own(net):
    """The block stood on a tie top and touched the rail's foot: rail 3.2 and tie 1.8 lie between."""
    survey = net(PLACES, fixed="A")
    survey.size("rail", 3.2, 0.05)
    survey.size("tie", 1.8, 0.1)
    survey.read(
        Kind.STEPPED_BLOCK, "P", "A", value=55.0 - 3.2 + 2 * 1.8, sd=0.2, drops=(("rail", 1.0), ("tie", -2.0))
    )
    found = survey.adjust()
    assert float(found.value("P.z").value) == pytest.approx(55.0)
    sds = survey.inputs.sds
    assert float(found.value("P.z").sd(sds)) == pytest.approx(np.sqrt(0.2**2 + 0.05**2 + 0.2**2))
    jac = found.value("P.z").jac
    assert jac[survey.inputs.column("rail")] == pytest.approx(1.0)
    assert jac[survey.inputs.column("tie")] == pytest.approx(-2.0)
