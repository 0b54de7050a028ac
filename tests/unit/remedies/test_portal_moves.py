"""A portal still to be built is made wider or higher by as much as is missing; one that stands is not."""

from dataclasses import replace

import pytest

from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.remedies.move import STEP
from spanwright.remedies.moves import moves_for
from spanwright.remedies.solve import find_remedies, plan_room

PORTAL = """
[[portals]]
name   = "mouth"
line   = "upper"
mark   = "b3"
along  = { town = "3", yard = "3" }
by     = "to be built"   # of plaster
clear  = { aisle = "12.5", wall = "20" }
height = "34"
"""


def alone(portal):
    """The template's lines and its boxcar, without the bridge."""
    text = template_text()
    start, end = text.index("[bridge]"), text.index("[clearance]")
    return text[:start] + text[end:] + portal


def gap_of(plan, part):
    return next(g for g in plan.clearance.gaps if g.part == f"mouth/{part}")


@pytest.fixture(scope="module")
def narrow():
    text = alone(PORTAL)
    return text, derive(job_of(text, "job.toml"))


@pytest.mark.parametrize(
    ("part", "line"),
    [
        ("jamb left", 'clear  = {{ aisle = "{0:g} mm", wall = "20" }}'),
        ("lintel", 'height = "{0:g} mm"'),
    ],
)
def test_it_is_built_wider_or_higher_by_what_is_missing(narrow, part, line):
    text, plan = narrow
    gap = gap_of(plan, part)
    assert gap.verdict in (Verdict.FOUL, Verdict.NOT_PROVEN, Verdict.TIGHT)
    first = find_remedies(text, "job.toml", plan, gap)[0]
    assert first.move.id == f"mouth/{part}"
    missing = -plan_room(gap, plan)  # at k = 2; four places as near raise k to 2.53
    assert missing - STEP <= first.by <= missing + 0.53 * gap.margin_u + 2 * STEP
    was = 12.5 if part == "jamb left" else 34.0
    assert line.format(was + first.by) in first.text
    assert "# of plaster" in first.text
    again = derive(job_of(first.text, "job.toml"))
    assert gap_of(again, part).verdict is Verdict.CLEAR
    less = derive(job_of(first.move.edit(text, first.by - STEP), "job.toml"))
    assert gap_of(less, part).verdict is not Verdict.CLEAR
    assert not first.worse


def test_raising_a_line_is_no_remedy_for_what_counts_from_its_railhead(narrow):
    _, plan = narrow
    moves = moves_for(gap_of(plan, "lintel"), plan.job, plan.inputs)
    assert {m.id for m in moves} == {"mouth/lintel", "upper/cant", "tall boxcar/leave off"}


def test_what_stands_already_is_not_moved():
    plan = derive(job_of(alone(PORTAL.replace("to be built", "caliper")), "job.toml"))
    for part in ("jamb left", "lintel"):
        moves = moves_for(replace(gap_of(plan, part), verdict=Verdict.FOUL), plan.job, plan.inputs)
        assert not any(m.id.startswith("mouth") for m in moves)


def test_one_size_for_both_sides_becomes_two():
    text = alone(PORTAL.replace('{ aisle = "12.5", wall = "20" }', '"12.5"'))
    plan = derive(job_of(text, "job.toml"))
    move = next(
        m for m in moves_for(gap_of(plan, "jamb right"), plan.job, plan.inputs) if m.id == "mouth/jamb right"
    )
    job = job_of(move.edit(text, 2.0), "job.toml")
    values = {side: job.inputs[f"portals/mouth/clear/{side}"] for side in ("left", "right")}
    assert (values["left"].value, values["right"].value) == (12.5, 14.5)
    assert all(item.sd == 0.5 for item in values.values())
