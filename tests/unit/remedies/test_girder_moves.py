"""Shallower girders raise their undersides, and the cap under their bearings, by what they lack in depth."""

import tomllib

import pytest

from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.remedies.move import STEP
from spanwright.remedies.moves import moves_for
from spanwright.remedies.solve import find_remedies, plan_room

pytestmark = pytest.mark.slow
FORM = 'form         = "level with the girders"'
ROOF = 'outline = [["3", "14"], ["6", "19.5"], ["29", "19.5"], ["33", "12"]]'


def taller(by):
    """The template with a higher boxcar."""
    text = template_text()
    assert ROOF in text
    return text.replace(
        ROOF, f'outline = [["3", "14"], ["6", "19.5"], ["{29 + by}", "19.5"], ["{33 + by}", "12"]]'
    )


def worst(plan, start):
    gaps = [g for g in plan.clearance.gaps if g.part.startswith(start) and g.line == "lower"]
    return min(gaps, key=lambda g: plan_room(g, plan))


def test_a_girder_rises_by_what_it_is_shallower():
    text = taller(14.5)  # so that a little more than a millimetre is missing
    plan = derive(job_of(text, "job.toml"))
    gap = worst(plan, "span A/girder")
    assert gap.side == "above"
    assert -1.5 < plan_room(gap, plan) < -1.0
    found = find_remedies(text, "job.toml", plan, gap)
    girders = next(r for r in found if r.move.id == f"{gap.part}/shallower girders")
    # what is missing at k = 2; places as near raise k to 2.53 at most, new girders are less well known
    missing = -plan_room(gap, plan)
    assert missing - STEP <= -girders.by <= missing + 0.53 * gap.margin_u + 0.3
    again = derive(job_of(girders.text, "job.toml"))
    assert next(g for g in again.clearance.gaps if g.id == gap.id).verdict is Verdict.CLEAR
    less = derive(job_of(girders.move.edit(text, girders.by + STEP), "job.toml"))
    assert next(g for g in less.clearance.gaps if g.id == gap.id).verdict is not Verdict.CLEAR
    spans = tomllib.loads(girders.text)["spans"]
    assert spans[0]["depth"]["aisle"] == {"is": f"{12.89 + girders.by:g} mm", "by": "to be cut"}
    assert spans[0]["depth"]["wall"] == {"is": f"{12.95 + girders.by:g} mm", "by": "to be cut"}
    assert spans[1]["depth"] == "12.9"
    assert "# one size for both girders" in girders.text


def test_a_cap_under_the_bearings_takes_the_girders_of_both_spans():
    text = template_text()
    assert FORM in text
    text = text.replace(FORM, 'form         = "under the bearings"')
    job = job_of(text, "job.toml")
    plan = derive(job)
    gap = worst(plan, "bent/cap")
    move = next(m for m in moves_for(gap, job, plan.inputs) if m.id == "bent/cap/shallower girders")
    assert "span A and span B" in move.text
    edited = job_of(move.edit(text, -2.0), "job.toml")
    assert [
        edited.inputs[key].value
        for key in ("spans/span A/depth/left", "spans/span A/depth/right", "spans/span B/depth")
    ] == pytest.approx([10.89, 10.95, 10.9])
    after = derive(edited)
    same = next(g for g in after.clearance.gaps if g.id == gap.id)
    # the columns are cut on the grid of 0.1 mm, low by their doubt
    assert float(same.gap.value) - float(gap.gap.value) == pytest.approx(2.0, abs=0.2)


def test_a_cap_level_with_the_girders_does_not_rise_with_them():
    job = job_of(template_text(), "job.toml")
    plan = derive(job)
    ids = {m.id for m in moves_for(worst(plan, "bent/cap"), job, plan.inputs)}
    assert not any("girders" in key for key in ids)


def test_girders_come_after_the_cap():
    text = template_text().replace(FORM, 'form         = "under the bearings"')
    job = job_of(text, "job.toml")
    plan = derive(job)
    order = [m.id for m in moves_for(worst(plan, "bent/cap"), job, plan.inputs)]
    assert order.index("bent/cap") < order.index("bent/form") < order.index("bent/cap/shallower girders")
