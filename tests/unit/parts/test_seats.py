"""Seat plans, taken back to the layout by a rotation of our own, meet the bearings; a level cap by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from spanwright.alignment.line import position_at
from spanwright.parts.seats import seat_plans
from truth.build_cases import made_up
from truth.line_scenes import exact_line


def plans_of(plan):
    given = plan.job.structures
    lines = tuple(plan.alignment.line(name) for name in (given.upper, given.lower))
    return seat_plans(plan.inputs, lines, plan.structures), lines


def back(place, point):
    """From a cap's frame (right, ahead) to the layout: turned by the angle of the cap's left."""
    left = place.across.value
    angle = math.atan2(left[1], left[0])
    right, ahead = np.asarray(point, dtype=float).T
    x = float(place.x.value) - right * math.cos(angle) + ahead * math.sin(angle)
    y = float(place.y.value) - right * math.sin(angle) - ahead * math.cos(angle)
    return np.column_stack([x, y]) if np.ndim(point) == 2 else np.array([x, y])


def test_drill_points_are_the_bearings(demo_plan):
    plans, _ = plans_of(demo_plan)
    bearings = {b.id: b for b in demo_plan.structures.bearings}
    seen = 0
    for plan, fitted in zip(plans, demo_plan.structures.supports, strict=True):
        for seat in plan.seats:
            b = bearings[seat.bearing]
            there = back(fitted.footprint, (float(seat.x.value), float(seat.y.value)))
            assert there == pytest.approx([float(b.x.value), float(b.y.value)], abs=1e-9)
            assert back(fitted.footprint, seat.shoe).mean(axis=0) == pytest.approx(there, abs=1e-9)
            seen += 1
    assert seen == len(bearings) == 12


def test_shoes_and_girders_lie_along_their_span(demo_plan):
    """A shoe is 2.0 by a flange of 2.395 mm, turned as its span; the girder ends 2 mm behind its middle."""
    plans, _ = plans_of(demo_plan)
    spans = {s.axis.given.name: s.axis for s in demo_plan.structures.spans}
    for plan, fitted in zip(plans, demo_plan.structures.supports, strict=True):
        for seat in plan.seats:
            along = spans[seat.span].along.value
            shoe = back(fitted.footprint, seat.shoe)
            sides = sorted(math.dist(shoe[k], shoe[(k + 1) % 4]) for k in range(4))
            assert sides == pytest.approx([2.0, 2.0, 2.395, 2.395], abs=1e-9)
            girder = back(fitted.footprint, seat.centre)
            way = (girder[1] - girder[0]) / math.dist(girder[0], girder[1])
            assert way @ along == pytest.approx(1.0 if seat.end == "start" else -1.0, abs=1e-9)
            assert math.dist(girder[0], shoe.mean(axis=0)) == pytest.approx(2.0, abs=1e-9)
            end = back(fitted.footprint, seat.girder)
            middle = end.mean(axis=0)
            assert (end - middle) @ np.array([-along[1], along[0]]) == pytest.approx(
                np.sign((end - middle) @ np.array([-along[1], along[0]])) * 2.395 / 2.0, abs=1e-9
            )


def test_the_tracks_are_those_of_the_lines(demo_plan):
    plans, (upper, lower) = plans_of(demo_plan)
    for plan, fitted in zip(plans, demo_plan.structures.supports, strict=True):
        assert (len(plan.under) > 0) == (plan.support == "bent")
        for line, run in ((upper, plan.over), (lower, plan.under)):
            if len(run):
                there = back(fitted.footprint, run)
                fine, _ = position_at(line, np.linspace(150.0, 620.0, 47001))
                gaps = [np.hypot(*(fine - p).T).min() for p in there]
                assert max(gaps) < 0.006  # points of the fine line stand 0.01 apart


def test_a_cap_s_middle_lies_on_the_centre_lines_and_its_columns_beneath(demo_plan):
    plans, _ = plans_of(demo_plan)
    bent = next(p for p in plans if p.support == "bent")
    fitted = next(s for s in demo_plan.structures.supports if s.given.name == "bent")
    for (name, outline), column in zip(bent.beneath, fitted.footprint.columns, strict=True):
        middle = outline.mean(axis=0)
        assert back(fitted.footprint, middle) == pytest.approx(column.value, abs=1e-9)
        assert name.startswith("column")
        assert np.ptp(outline, axis=0) == pytest.approx([4.0, 5.0])  # across, along as given
    # 16.2 to the aisle and 15.2 to the wall, a column of 4 each side, 1 mm of cap beyond each
    assert float(bent.length.value) == pytest.approx(16.2 + 15.2 + 2 * 4.0 + 2 * 1.0)


def test_left_is_on_the_left(demo_plan):
    plans, _ = plans_of(demo_plan)
    for plan in plans:
        for a, b in ((s, t) for s in plan.seats for t in plan.seats if s.span == t.span):
            if (a.side, b.side) == ("left", "right"):
                assert float(a.x.value) < float(b.x.value)
        ends = {s.end: float(s.y.value) for s in plan.seats if s.side == "left"}
        if len(ends) == 2:
            assert ends["end"] < ends["start"], "the span that ends here lies on the near side"


def test_the_edge_is_that_of_the_drawn_shoe(demo_plan):
    plans, _ = plans_of(demo_plan)
    for plan in plans:
        half = 0.5 * np.array([float(plan.length.value), float(plan.wide.value)])
        for seat in plan.seats:
            drawn = (half - np.abs(seat.shoe)).min()
            assert drawn == pytest.approx(float(seat.edge.value), abs=1e-9)


def test_girders_that_frame_in_meet_the_face_on_their_own_line():
    """A level bent on straight track along x, its cap square to a lower line at 80 degrees: by hand."""
    case = made_up("level")
    lines = (exact_line(height=80.0), exact_line("lower", start=(500.0, -450.0), heading=np.radians(80.0)))
    plan = next(p for p in seat_plans(case.inputs, lines, case.structures) if p.support == "q")
    place = next(s for s in case.structures.supports if s.given.name == "q").footprint
    assert plan.level
    assert all(len(seat.shoe) == 0 and seat.face is not None for seat in plan.seats)
    cap_ahead = np.array([math.cos(math.radians(80.0)), math.sin(math.radians(80.0))])
    cap_right = np.array([cap_ahead[1], -cap_ahead[0]])
    centre = np.array([float(place.x.value), float(place.y.value)])
    half = 0.5 * float(plan.wide.value)
    bearings = {b.id: b for b in case.structures.bearings}
    for seat in plan.seats:
        # the girder runs along x at its own y: from the cap's middle go to that y on the face
        y = float(bearings[seat.bearing].y.value)
        face = half if float(seat.y.value) > 0.0 else -half
        expected = (y - centre[1] - face * cap_ahead[1]) / cap_right[1]
        assert float(seat.on_face.value) == pytest.approx(expected, abs=1e-9)


def test_doubts_come_along(demo_plan):
    """The doubt of a drill point is that of a difference taken again with every input moved by its doubt."""
    plans, _ = plans_of(demo_plan)
    pier = next(p for p in plans if p.support == "pier 1")
    fitted = next(s for s in demo_plan.structures.supports if s.given.name == "pier 1")
    bearing = {b.id: b for b in demo_plan.structures.bearings}[pier.seats[0].bearing]
    sds = demo_plan.inputs.sds

    def right(k, sign):
        moved = {
            name: value.value + sign * value.padded(len(sds)).jac[..., k] * sds[k]
            for name, value in {
                "x": bearing.x - fitted.footprint.x,
                "y": bearing.y - fitted.footprint.y,
                "left": fitted.footprint.across,
            }.items()
        }
        return -(moved["x"] * moved["left"][0] + moved["y"] * moved["left"][1])

    parts = [0.5 * (right(k, 1.0) - right(k, -1.0)) for k in range(len(sds))]
    assert float(pier.seats[0].x.sd(sds)) == pytest.approx(float(np.sqrt(np.sum(np.square(parts)))), rel=1e-6)


def test_nothing_depends_on_the_order_of_supports(demo_plan):
    plans, lines = plans_of(demo_plan)
    turned = replace(demo_plan.structures, supports=demo_plan.structures.supports[::-1])
    again = seat_plans(demo_plan.inputs, lines, turned)
    assert [p.support for p in again] == [p.support for p in plans][::-1]
