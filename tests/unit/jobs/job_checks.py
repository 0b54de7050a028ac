"""What both jobs are held against: their truth, their own replay, a hand calculation of every seat."""

import numpy as np
from scipy.optimize import minimize_scalar

from spanwright.alignment.line import cant_at, height_at, position_at, track_point
from spanwright.findings import Verdict
from spanwright.geometry.chain import nearest
from spanwright.job import derive, same

AROUND = np.array([-160.0, -120.0, -80.0, -40.0, 0.0, 40.0, 80.0, 120.0, 160.0])  # about the crossing
WITHIN = 4.0  # standard uncertainties
ROUNDING = 1e-6  # of the truth's finite steps [mm]


def assert_within(error, u):
    assert np.all(np.abs(error) <= WITHIN * np.asarray(u) + ROUNDING), np.array([error, u])


def line_errors(plan, name, track, at):
    """Errors and doubts of a fitted line about a true station: sideways, height, cant, grade."""
    line, sds = plan.alignment.line(name), plan.inputs.sds
    truth = np.array([track.point(at + d) for d in AROUND])
    s = nearest(line.chain, truth)
    p = track_point(line, s)
    c, d = np.cos(p.heading.value), np.sin(p.heading.value)
    left = p.y * c - p.x * d
    heights = np.array([float(track.height(at + d)) for d in AROUND])
    cants = np.array([float(track.cant(at + d)) for d in AROUND])
    run = s[2:] - s[:-2]
    grade = (p.z[np.arange(2, len(s))] - p.z[np.arange(len(s) - 2)]) / run
    true_grade = (heights[2:] - heights[:-2]) / (AROUND[2:] - AROUND[:-2])
    return {
        "sideways": (left.value - (truth[:, 1] * c - truth[:, 0] * d), left.sd(sds)),
        "height": (p.z.value - heights, p.z.sd(sds)),
        "cant": (p.cant.value - cants, p.cant.sd(sds)),
        "grade": (grade.value - true_grade, grade.sd(sds)),
    }


def assert_replays(plan):
    """The same choices give the same plan, numbers and derivatives."""
    again = derive(plan.job, plan.choices)
    assert same(again, plan)
    assert np.array_equal(again.survey.values.value, plan.survey.values.value)
    for a, b in zip(again.alignment.lines, plan.alignment.lines, strict=True):
        for name in ("plan", "profile", "cant"):
            assert_same(getattr(a.line, name), getattr(b.line, name))
    for a, b in zip(again.structures.quantities, plan.structures.quantities, strict=True):
        assert a.id == b.id
        assert_same(a.value, b.value)
    for a, b in zip(again.clearance.gaps, plan.clearance.gaps, strict=True):
        assert (a.id, a.verdict, a.reason) == (b.id, b.verdict, b.reason)
        assert_same(a.gap, b.gap)
        assert_same(a.margin_gap, b.margin_gap)
    assert [f.text for f in again.findings] == [f.text for f in plan.findings]


def assert_same(a, b):
    np.testing.assert_allclose(a.value, b.value, rtol=1e-12, atol=1e-10)
    n = max(a.jac.shape[-1], b.jac.shape[-1])
    np.testing.assert_allclose(a.padded(n).jac, b.padded(n).jac, rtol=1e-9, atol=1e-10)


def seats_by_hand(plan, span, *, rail, tie, dap, depths, shoe):
    """Seats of a span from the adjusted line by plain arithmetic, in the order of its bearings."""
    line = plan.alignment.line(plan.job.structures.upper)
    railheads = []
    for b in span.heights.bearings:
        x, y = float(b.x.value), float(b.y.value)

        def far(s, x=x, y=y):
            p = position_at(line, np.array([s]))[0][0]
            return (p[0] - x) ** 2 + (p[1] - y) ** 2

        near = float(b.station.value)
        s = minimize_scalar(far, bounds=(near - 5.0, near + 5.0), method="bounded", options={"xatol": 1e-9}).x
        p, heading = (v[0] for v in position_at(line, np.array([s])))
        left = (y - p[1]) * np.cos(heading) - (x - p[0]) * np.sin(heading)
        slope = cant_at(line, s)[0] / float(line.head_distance.value)
        railheads.append(height_at(line, s)[0] - slope * left)
    under = np.array(railheads) - rail - tie + dap
    twist = under[0] - under[1] - under[2] + under[3]
    tops = under - 0.25 * twist * np.array([1.0, -1.0, -1.0, 1.0])
    assert abs(tops[0] - tops[1] - tops[2] + tops[3]) < 1e-9  # in one plane
    return tops - np.array([depths[0], depths[1], depths[0], depths[1]]) - shoe


def swapped(text):
    """An id as it reads from the other end."""
    return text.replace("left", "LEFT").replace("right", "left").replace("LEFT", "right")


def assert_same_bridge(plan, other, rename=str, *, raised=0.0):
    """Gaps and seats of two ways to say the same job agree; ``raised`` is the step between their datums."""
    theirs = {g.id: g for g in other.clearance.gaps}
    assert len(theirs) == len(plan.clearance.gaps)
    on_edge = []
    for g in plan.clearance.gaps:
        h = theirs[rename(g.id)]
        assert h.beyond_reach == g.beyond_reach
        assert abs(float(h.gap.value - g.gap.value)) <= max(0.02, 0.3 * g.u), g.id
        assert abs(float(h.margin_gap.value - g.margin_gap.value)) <= max(0.02, 0.3 * g.margin_u), g.id
        # of two closest points that are near equal, now one and now the other is the closer
        assert 0.6 < (h.u + 0.02) / (g.u + 0.02) < 1.6, g.id
        if h.verdict is not g.verdict:
            # along a soffit a point a little farther off with a larger doubt is kept as far as it is found
            # (docs/clearance.md): a word on the edge may then be the next one, no other
            assert {h.verdict, g.verdict} in (
                {Verdict.CLEAR, Verdict.TIGHT},
                {Verdict.TIGHT, Verdict.NOT_PROVEN},
            )
            on_edge.append(g.id)
    assert len(on_edge) <= 0.05 * len(theirs), on_edge
    seats = {b.id: b for b in other.structures.bearings}
    assert len(seats) == len(plan.structures.bearings)
    for b in plan.structures.bearings:
        u = float(b.seat.sd(plan.inputs.sds))
        change = float(seats[rename(b.id)].seat.value - b.seat.value) - raised
        assert abs(change) <= max(0.02, 0.3 * u), b.id


def gap_of(plan, vehicle, part, line="lower"):
    found = [g for g in plan.clearance.gaps if g.id == f"clearance/{line}/{vehicle}/{part}"]
    assert len(found) == 1
    return found[0]


def separation(plan):
    crossing = plan.alignment.crossings[0]
    value = crossing.centre.separation
    return float(value.value), float(value.sd(plan.inputs.sds)), crossing


def wrapped(angle):
    return float(np.arctan2(np.sin(angle), np.cos(angle)))
