"""Parts against what stands fast: distances by hand, doubts by the law of propagation, bad input."""

import numpy as np
import pytest
import shapely

from spanwright.clearance.fixed.things import FixedThing, corners_of, fixed_findings, fixed_gaps
from spanwright.errors import InputError
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Severity, Verdict
from spanwright.job import derive

PLACE = """
[[fixed]]
name   = "riser"
line   = "lower"
mark   = "a2"
along  = { town = "5", yard = "5" }
across = { aisle = "40", wall = "-30" }
height = ["-5", "20"]
"""


@pytest.fixture(scope="module")
def plan():
    from dataclasses import replace

    return derive(replace(job_of(template_text(), "job.toml"), clearance=None))


def beside_column(plan, clear):
    """A thing whose face stands so far off the inner face of the bent's left column."""
    line = plan.alignment.line("lower")
    laid = next(x for x in plan.alignment.lines if x.line.name == "lower")
    shape = next(s for s in plan.structures.shapes if s.part == "bent/column left")
    from spanwright.alignment.line import nearest_station, position_at

    station = float(nearest_station(line, shape.vertices[:, :2].mean(axis=0)[None])[0])
    mark = laid.mark_names[int(np.argmin(np.abs(laid.stations.value - station)))]
    start = float(laid.stations.value[laid.mark_names.index(mark)])
    (point,), (angle,) = position_at(line, np.array([start]))
    local = (shape.vertices[:, :2] - point) @ np.array(
        [[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]
    )
    inner = float(local[:, 1].min())
    return FixedThing(
        name="post",
        line="lower",
        mark=mark,
        along=(float(local[:, 0].min()) - 5.0, float(local[:, 0].max()) + 5.0),
        across=(inner - clear - 3.0, inner - clear),
        height=(0.0, 20.0),
        sd=0.4,
        room=0.5,
    )


@pytest.mark.parametrize(
    ("clear", "verdict"), [(5.0, Verdict.CLEAR), (0.02, Verdict.NOT_PROVEN), (-1.0, Verdict.FOUL)]
)
def test_the_gap_is_the_distance_of_the_faces(plan, clear, verdict):
    gap = next(
        g
        for g in fixed_gaps((beside_column(plan, clear),), plan.alignment, plan.structures.shapes, k=2.0)
        if g.part == "bent/column left"
    )
    assert float(gap.gap.value) == pytest.approx(max(clear, 0.0), abs=1e-3)
    assert gap.verdict is verdict
    assert gap.u >= 0.4


def test_the_corners_are_those_of_the_box(plan):
    thing = beside_column(plan, 5.0)
    corners = corners_of(thing, plan.alignment)
    long, wide, high = (b - a for a, b in (thing.along, thing.across, thing.height))
    assert np.linalg.norm(corners[7] - corners[0]) == pytest.approx(np.sqrt(long**2 + wide**2 + high**2))
    column = next(s for s in plan.structures.shapes if s.part == "bent/column left")
    outlines = [shapely.MultiPoint(c[:, :2]).convex_hull for c in (corners, column.vertices)]
    assert shapely.distance(*outlines) == pytest.approx(5.0, abs=1e-3)


def test_the_doubt_joins_that_of_the_thing_and_of_the_column(plan):
    """The column is set out from the track, so that most of its doubt is that of setting out (0.3 mm)."""
    thing = beside_column(plan, 5.0)
    gap = next(
        g
        for g in fixed_gaps((thing,), plan.alignment, plan.structures.shapes, k=2.0)
        if g.part == "bent/column left"
    )
    own = float(gap.gap.sd(plan.inputs.sds))
    assert gap.u == pytest.approx(np.hypot(own, 0.4))
    assert own == pytest.approx(0.3, abs=0.15)


def test_findings_say_what_is_not_clear(plan):
    gaps = fixed_gaps((beside_column(plan, -1.0),), plan.alignment, plan.structures.shapes, k=2.0)
    found = fixed_findings(gaps)
    assert found
    assert all(f.code == "CL107" for f in found)
    assert found[0].severity is Severity.STOP


def test_a_mark_of_another_line_is_refused(plan):
    thing = beside_column(plan, 5.0)
    with pytest.raises(InputError, match="b1"):
        fixed_gaps(
            (FixedThing(**{f: getattr(thing, f) for f in thing.__slots__} | {"mark": "b1"}),),
            plan.alignment,
            plan.structures.shapes,
            k=2.0,
        )


def test_it_is_read_from_the_file():
    (thing,) = job_of(template_text() + PLACE, "job.toml").fixed
    assert (thing.along, thing.across, thing.height) == ((-5.0, 5.0), (30.0, 40.0), (-5.0, 20.0))
    assert (thing.sd, thing.room) == (1.0, 0.5)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('line   = "lower"', 'line   = "middle"', "middle"),
        ('mark   = "a2"', 'mark   = "b2"', "b2"),
        ('["-5", "20"]', '["20", "-5"]', "no height"),
        ('wall = "-30"', 'wall = "-50"', "reaches nowhere"),
        ('wall = "-30"', 'north = "1"', "north"),
        ('height = ["-5", "20"]', "", "height"),
        ('height = ["-5", "20"]', 'height = ["-5", "20"]\nroom = "500"', "100 mm at most"),
    ],
)
def test_what_cannot_be_meant_is_said(old, new, says):
    with pytest.raises(InputError, match=says):
        job_of(template_text() + PLACE.replace(old, new), "job.toml")


def test_a_name_stands_once():
    with pytest.raises(InputError, match="used twice"):
        job_of(template_text() + PLACE + PLACE, "job.toml")
