"""Portals and walls: gaps by hand on straight track, doubts shared with the line, bad input."""

from dataclasses import replace

import numpy as np
import pytest

from spanwright.advice.stage import advise
from spanwright.alignment.line import nearest_station, track_point
from spanwright.errors import InputError
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive, same
from spanwright.structures.portals import portal_shapes

#: The template's sample, with the cant of its straight lower line read, so that a train there stands upright.
CANT = 'cant      = "not measured"'
READ = "cross_levels = ["
PORTAL = """
[[portals]]
name      = "mouth"
line      = "lower"
mark      = "a3"
along     = { town = "3", yard = "3" }
by        = "caliper"
clear     = { aisle = "13", wall = "14" }
height    = "40"
thickness = "4"
"""
HALF, PLAY = 19.5 / 2, 0.3


def job_text(portal=PORTAL, *, bridge=True):
    text = template_text()
    assert text.count(CANT) == 1
    text = text.replace(CANT, 'cant      = "measured"')
    levels = "".join(
        f'\n  {{ id = "z{k}", at = "a{k}", reach = "30", high = "aisle", is = "0", by = "feeler" }},'
        for k in range(1, 8)
    )
    text = text.replace(READ, READ + levels)
    if not bridge:
        start, end = text.index("[bridge]"), text.index("[clearance]")
        text = text[:start] + text[end:]
    return text + portal


@pytest.fixture(scope="module")
def plan():
    return derive(job_of(job_text(), "job.toml"))


def of(plan, part):
    return next(g for g in plan.clearance.gaps if g.part == f"mouth/{part}")


def test_a_jamb_is_as_far_off_as_its_opening_less_half_the_train_and_its_play(plan):
    rolled = np.radians(0.5) * 29.0  # the upper corner of the widest part rocks furthest
    for side, clear in (("left", 13.0), ("right", 14.0)):
        gap = of(plan, f"jamb {side}")
        assert gap.side == side
        assert float(gap.gap.value) == pytest.approx(clear - HALF - PLAY - rolled, abs=0.08)


def test_a_lintel_is_as_far_off_as_its_height_less_the_roof(plan):
    rise = np.sin(np.radians(0.5)) * 6.0  # half the roof's width
    assert of(plan, "lintel").side == "above"
    assert float(of(plan, "lintel").gap.value) == pytest.approx(40.0 - 33.0 - rise, abs=0.08)


def test_where_the_line_lies_is_no_doubt_of_the_gap(plan):
    """The face counts from the track, so that only the lie of the track under the trucks is left."""
    gap = of(plan, "jamb left")
    track = track_point(plan.alignment.line("lower"), np.array([gap.station]))
    sideways = float(track.y[0].sd(plan.inputs.spread))
    columns = [k for k, i in enumerate(plan.inputs.items) if i.kind == "reading" and i.id[0] in "do"]
    of_readings = float(np.linalg.norm(gap.gap.jac[columns] * plan.inputs.sds[columns]))
    assert sideways > 0.2
    assert of_readings < 0.1 < sideways
    own = plan.inputs.column("portals/mouth/clear/left")
    assert gap.gap.jac[own] == pytest.approx(1.0, abs=0.01)


def test_the_derivatives_are_those_of_differences(plan):
    job = plan.job
    for key, part in (("portals/mouth/clear/right", "jamb right"), ("portals/mouth/height", "lintel")):
        values = job.inputs.values.copy()
        values[job.inputs.column(key)] += 0.01
        moved = derive(replace(job, inputs=job.inputs.with_values(values)), plan.choices)
        step = (float(of(moved, part).gap.value) - float(of(plan, part).gap.value)) / 0.01
        assert step == pytest.approx(of(plan, part).gap.jac[plan.inputs.column(key)], abs=1e-3)


def test_its_blocks_stand_square_to_the_track_where_they_were_measured(plan):
    line = plan.alignment.line("lower")
    laid = next(x for x in plan.alignment.lines if x.line.name == "lower")
    mark = float(laid.stations.value[laid.mark_names.index("a3")])
    shapes = {s.part: s for s in plan.portals}
    assert set(shapes) == {"mouth/jamb left", "mouth/jamb right", "mouth/lintel"}
    assert {s.over for s in plan.portals} == {"lower"}
    track = track_point(line, np.array([mark]))
    x, y, z, angle = (float(v.value[0]) for v in (track.x, track.y, track.z, track.heading))
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    ends = {}
    for part, shape in shapes.items():
        plan_view = (shape.vertices[:, :2] - [x, y]) @ turn.T
        corners = np.column_stack([plan_view, shape.vertices[:, 2] - z])
        ends[part[6:]] = np.stack([corners.min(axis=0), corners.max(axis=0)])
    foot = -9.0 / 4.0
    assert ends["jamb left"] == pytest.approx(np.array([[-3.0, 13.0, foot], [3.0, 17.0, 44.0]]), abs=1e-6)
    assert ends["jamb right"] == pytest.approx(np.array([[-3.0, -18.0, foot], [3.0, -14.0, 44.0]]), abs=1e-6)
    assert ends["lintel"] == pytest.approx(np.array([[-3.0, -18.0, 40.0], [3.0, 17.0, 44.0]]), abs=1e-6)


def test_it_needs_no_bridge(plan):
    alone = derive(job_of(job_text(bridge=False), "job.toml"))
    assert alone.structures is None
    assert {g.part for g in alone.clearance.gaps} == {s.part for s in alone.portals}
    for gap in alone.clearance.gaps:
        assert float(gap.gap.value) == pytest.approx(float(of(plan, gap.part[6:]).gap.value), abs=1e-6)
    again = derive(alone.job, alone.choices)
    assert same(alone, again)


def test_trains_of_the_other_line_do_not_see_it(plan):
    assert {g.line for g in plan.clearance.gaps if g.part.startswith("mouth/")} == {"lower"}


def wall(**keys):
    values = {"clear": '{ aisle = "10" }', "by": '"caliper"'} | keys
    lines = [f"{key} = {value}" for key, value in values.items() if value]
    head = '\n[[portals]]\nname = "mouth"\nline = "lower"\nmark = "a3"\nalong = { town = "0", yard = "40" }\n'
    return head + "\n".join(lines)


@pytest.mark.parametrize(
    ("top", "verdict"), [("", Verdict.FOUL), ('"2"', Verdict.CLEAR), ('"8"', Verdict.FOUL)]
)
def test_a_low_wall_is_passed_over(top, verdict):
    """Below 3 mm the boxcar has nothing: a platform of 2 mm may stand under its side."""
    job = job_of(job_text(wall(top=top, clear='{ aisle = "7.2" }'), bridge=False), "job.toml")
    job = replace(job, clearance=replace(job.clearance, margin_side=0.2, margin_above=0.2))
    (gap,) = derive(job).clearance.gaps
    assert gap.part == "mouth/jamb left"
    assert gap.verdict is verdict


def test_an_overhang_reaches_over_the_whole_track():
    job = job_of(job_text(wall(clear="", height='"36"'), bridge=False), "job.toml")
    plan = derive(job)
    (gap,) = plan.clearance.gaps
    assert (gap.part, gap.side) == ("mouth/lintel", "above")
    (shape,) = plan.portals
    away = nearest_station(plan.alignment.line("lower"), shape.vertices[:, :2])
    assert np.ptp(shape.vertices[:, 1]) > 2 * 45.0 - 1.0
    assert np.ptp(away) == pytest.approx(40.0, abs=0.5)


def test_on_a_designed_line_its_place_counts_from_the_start():
    text = template_text()
    start, end = text.index("[lines.upper]"), text.index("[lines.lower]")
    assert start > end
    design = """
[lines.branch]
by = "caliper"
track = "flexible"
gauge = "9.02"
rail_head = "0.6"
start = ["0", "0"]
heading = "0 deg"
elements = [ { kind = "tangent", length = "400" } ]
heights = [ { along = "0", height = "20" }, { along = "400", height = "24" } ]
"""
    first = text.index("[layers]")
    portal = wall().replace('mark = "a3"\n', "").replace('"lower"', '"branch"')
    job = job_of(text[:first] + design + text[first:] + portal, "job.toml")
    from spanwright.alignment.stage import align
    from spanwright.survey.stage import adjust_survey

    lines = align(job.lines, adjust_survey(job.survey, job.inputs), job.inputs)
    (shape,) = portal_shapes(job.portals, lines)
    low, high = shape.vertices.min(axis=0), shape.vertices.max(axis=0)
    assert (low[0], high[0], low[1], high[1]) == pytest.approx((0.0, 40.0, 10.0, 15.0), abs=1e-6)
    assert low[2] == pytest.approx(20.2 - 9.0 / 4.0, abs=1e-6)  # 20 mm along at 1 in 100
    with pytest.raises(InputError, match="no marks"):
        job_of(text[:first] + design + text[first:] + wall().replace('"lower"', '"branch"'), "job.toml")


def test_one_size_serves_both_sides():
    job = job_of(template_text() + wall(clear='"12"', by='"to be built"'), "job.toml")
    (portal,) = job.portals
    assert portal.left is portal.right
    (item,) = (i for i in job.inputs.items if i.id == "portals/mouth/clear")
    assert item.sd == 0.5
    assert "as it is to be built" in item.label


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ({"clear": ""}, "no opening"),
        ({"clear": "", "top": '"8"', "height": '"30"'}, "top"),
        ({"top": '"8"', "height": '"30"'}, "top"),
        ({"clear": '{ north = "8" }'}, "north"),
        ({"clear": '"0"'}, "more than 0"),
        ({"by": ""}, "measured with"),
        ({"thickness": '"-1"'}, "more than 0"),
        ({"wide": '"1"'}, "no such key"),
    ],
)
def test_what_cannot_be_meant_is_said(keys, says):
    with pytest.raises(InputError, match=says):
        job_of(template_text() + wall(**keys), "job.toml")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"lower"', '"middle"', "middle"),
        ('mark = "a3"', 'mark = "b3"', "b3"),
        ('mark = "a3"', "", "from which mark"),
        ('name = "mouth"', 'name = "bent"', "used twice"),
        ('town = "0"', 'town = "-40"', "reaches nowhere"),
    ],
)
def test_where_it_cannot_be_is_said(old, new, says):
    with pytest.raises(InputError, match=says):
        job_of(template_text() + wall().replace(old, new), "job.toml")


def test_a_mark_that_the_line_lost_is_refused(plan):
    (portal,) = plan.job.portals
    with pytest.raises(InputError, match="b1"):
        portal_shapes((replace(portal, mark="b1"),), plan.alignment)


def test_what_is_doubtful_is_gauged_where_it_stands():
    portal = wall(clear='{ aisle = { is = "12.2", by = "rule" } }')
    plan = derive(job_of(job_text(portal, bridge=False), "job.toml"))
    (advice,) = advise(plan)
    assert advice.reading == "portals/mouth/clear/left"
    assert advice.steps[0].tool == "a stepped block"
