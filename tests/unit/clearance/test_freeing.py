import numpy as np
import pytest
from clearance_scenes import box, car, make_line

from spanwright.alignment.line import position_at
from spanwright.clearance.freeing import freeing_travel, least_freeing, least_travel
from spanwright.clearance.least_gap import find, prepare
from spanwright.clearance.witness import SearchSettings
from spanwright.estimation.keeping import same


def travels(shape, limit=40.0, heading=0.0):
    line = make_line(knots=[0.0, 1000.0], curvature=[0.0, 0.0], heading=heading)
    prepared = prepare(line, car(), SearchSettings())
    struck = find(prepared, (shape,))[0]
    assert struck.gap == 0.0
    return freeing_travel(prepared, shape, struck, limit=limit)


def test_travel_up_left_and_right_on_straight_track():
    found = {t.word: t for t in travels(box("post", [500.0, 20.0, 20.0], (10.0, 10.0, 36.0)), limit=60.0)}
    assert found["left"].distance == pytest.approx(18.0 - 15.0, abs=0.005)
    assert found["right"].distance == pytest.approx(18.0 + 25.0, abs=0.005)
    assert found["up"].distance == pytest.approx(50.0 - 2.0, abs=0.005)
    assert found["left"].direction == pytest.approx([0.0, 1.0, 0.0])
    assert found["left"].contact.normal == pytest.approx([0.0, 1.0, 0.0], abs=1e-6)
    assert least_travel(tuple(found.values())).word == "left"


def test_a_travel_beyond_the_limit_is_said_to_be_none():
    found = {t.word: t for t in travels(box("post", [500.0, 20.0, 20.0], (10.0, 10.0, 36.0)))}
    assert found["up"].distance == np.inf
    assert found["up"].contact is None
    blocked = travels(box("block", [500.0, 0.0, 20.0], (10.0, 200.0, 36.0)))
    assert least_travel(blocked) is None


def test_left_is_square_to_the_track():
    turned = np.array([500 * np.cos(0.5) - 20 * np.sin(0.5), 500 * np.sin(0.5) + 20 * np.cos(0.5), 20.0])
    found = {t.word: t for t in travels(box("post", turned, (10.0, 10.0, 36.0), angle=0.5), heading=0.5)}
    assert found["left"].direction == pytest.approx([-np.sin(0.5), np.cos(0.5), 0.0])
    assert found["left"].distance == pytest.approx(3.0, abs=0.005)


@pytest.mark.parametrize("limit", [40.0, 60.0, 2.5])
@pytest.mark.parametrize("place", [[500.0, 20.0, 20.0], [480.0, -19.0, 30.0], [510.0, 3.0, 49.0]])
def test_the_least_travel_is_the_least_of_all(place, limit):
    """To the last bit, though directions that cannot be the least are dropped on the way."""
    line = make_line(knots=[0.0, 400.0, 1000.0], curvature=[0.0, 1 / 600.0, 1 / 600.0])
    prepared = prepare(line, car(), SearchSettings())
    at, heading = position_at(line, np.array(place[:1]))
    left = np.array([-np.sin(heading[0]), np.cos(heading[0])])
    placed = [*(at[0] + place[1] * left), place[2]]
    shape = box("post", placed, (10.0, 10.0, 36.0), angle=0.3)
    struck = find(prepared, (shape,))[0]
    assert struck.gap == 0.0
    every = least_travel(freeing_travel(prepared, shape, struck, limit=limit))
    assert same(least_freeing(prepared, shape, struck, limit=limit), every)


def test_no_direction_may_be_the_least():
    line = make_line(knots=[0.0, 1000.0], curvature=[0.0, 0.0])
    prepared = prepare(line, car(), SearchSettings())
    blocked = box("block", [500.0, 0.0, 20.0], (10.0, 200.0, 36.0))
    assert least_freeing(prepared, blocked, find(prepared, (blocked,))[0]) is None
