"""Remedies of small jobs: put into the file, they make the gap clear; a step less does not."""

import re

import pytest

from spanwright.errors import InputError
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.remedies.move import STEP
from spanwright.remedies.moves import moves_for
from spanwright.remedies.solve import find_remedies, plan_room

pytestmark = pytest.mark.slow
CLEAR = 'clear        = { aisle = "22", wall = "22" }'


def job_with(*changes):
    text = template_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def worst(plan, part):
    gaps = [g for g in plan.clearance.gaps if g.part == part and g.line == "lower"]
    return min(gaps, key=lambda g: plan_room(g, plan))


@pytest.fixture(scope="module")
def struck():
    text = job_with((CLEAR, 'clear        = { aisle = "11", wall = "22" }'))
    plan = derive(job_of(text, "job.toml"))
    gap = worst(plan, "bent/column left")
    assert gap.verdict in (Verdict.FOUL, Verdict.NOT_PROVEN)
    return text, plan, gap, find_remedies(text, "job.toml", plan, gap)


def test_the_first_remedy_applied_to_the_file_makes_the_gap_clear(struck):
    _, _, gap, remedies = struck
    assert remedies
    again = derive(job_of(remedies[0].text, "job.toml"))
    assert next(g for g in again.clearance.gaps if g.id == gap.id).verdict is Verdict.CLEAR


def test_a_step_less_is_not_enough(struck):
    text, _, gap, remedies = struck
    column = next(r for r in remedies if r.move.id == "bent/column left")
    less = derive(job_of(column.move.edit(text, column.by - STEP), "job.toml"))
    assert next(g for g in less.clearance.gaps if g.id == gap.id).verdict is not Verdict.CLEAR


def test_the_column_moves_by_what_is_missing(struck):
    """A column that is set out square to the track gains in gap what it moves, to a few per cent."""
    _, plan, gap, remedies = struck
    column = next(r for r in remedies if r.move.id == "bent/column left")
    assert column.by == pytest.approx(-plan_room(gap, plan), rel=0.1, abs=2 * STEP)


def test_each_names_what_becomes_of_the_others(struck):
    _, plan, gap, remedies = struck
    before = {g.id: g.verdict for g in plan.clearance.gaps}
    for remedy in remedies:
        after = {g.id: g.verdict for g in remedy.plan.clearance.gaps}
        told = {b.id for b, _ in (*remedy.worse, *remedy.better)}
        assert told == {key for key in after if after[key] is not before[key]}
    assert any(gap.id in {b.id for b, _ in r.better} for r in remedies)


def test_the_least_harmful_stands_first(struck):
    *_, remedies = struck
    assert [len(r.worse) for r in remedies] == sorted(len(r.worse) for r in remedies)


def test_a_column_with_one_size_for_both_sides_can_be_set_out_too():
    text = job_with((CLEAR, 'clear        = "12"'))
    job = job_of(text, "job.toml")
    plan = derive(job)
    gap = worst(plan, "bent/column right")
    move = next(m for m in moves_for(gap, job, plan.inputs) if m.id == "bent/column right")
    edited = job_of(move.edit(text, 3.0), "job.toml")
    bent = next(s for s in edited.structures.supports if s.name == "bent")
    assert edited.inputs[bent.clear_right.ids[0]].value == pytest.approx(15.0)
    assert edited.inputs[bent.clear_left.ids[0]].value == pytest.approx(12.0)


def test_where_the_ground_is_not_surveyed_no_move_helps(struck):
    from dataclasses import replace

    text, plan, gap, _ = struck
    assert find_remedies(text, "job.toml", plan, replace(gap, reason="not surveyed")) == ()


def test_a_line_is_raised_and_its_cant_changed_by_the_file():
    text = template_text()
    raised = re.sub(r"(\[lines\.upper\]\n)", r'\1raise = "1.5 mm"\n', text)
    canted = re.sub(r"(\[lines\.lower\]\n)", r'\1cant_change = { high = "wall", by = "0.2" }\n', text)
    plain, high, lean = (derive(job_of(t, "job.toml")) for t in (text, raised, canted))
    apart = [float(p.alignment.crossings[0].centre.separation.value) for p in (plain, high)]
    assert apart[1] - apart[0] == pytest.approx(1.5, abs=1e-9)
    cants = [p.alignment.line("lower").cant.value for p in (plain, lean)]
    assert cants[1] - cants[0] == pytest.approx(0.2)


def test_a_side_that_is_not_of_the_job_is_refused():
    text = re.sub(
        r"(\[lines\.lower\]\n)", r'\1cant_change = { high = "north", by = "0.2" }\n', template_text()
    )
    with pytest.raises(InputError, match="north"):
        job_of(text, "job.toml")
