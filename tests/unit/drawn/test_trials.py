"""A trial is the plan at moved inputs: held against the plan itself, its derivatives, and what cannot be."""

from pathlib import Path

import numpy as np
import pytest

from spanwright.drawn import trials
from spanwright.drawn.trials import asked, foretold, trial, watched_gaps, watched_numbers
from spanwright.errors import NoSolutionError
from spanwright.estimation.drawing.draws import moves, stream
from spanwright.files.job_file import load_job
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive
from truth import demo


@pytest.fixture(scope="module")
def plan():
    return derive(load_job(Path(demo.SHIPPED).parent))


def worst(plan, by, found):
    """Largest departure from what derivatives foretold, in doubts, of numbers and of gaps."""
    spread = plan.inputs.spread
    rows = [((q.value,), float(q.value.sd(spread))) for q in watched_numbers(plan)]
    first = len(rows)
    for g in watched_gaps(plan):
        rows += [(g.witness_gaps, g.u), (g.witness_margins, g.margin_u)]
    off = [abs(v - foretold(own, by[None])[0]) / u for (own, u), v in zip(rows, found, strict=True)]
    return max(off[:first]), max(off[first:])


def test_what_could_turn_is_watched(plan):
    gaps = watched_gaps(plan)
    assert {g.id for g in plan.clearance.gaps if g.verdict is not Verdict.CLEAR} <= {g.id for g in gaps}
    assert any(g.verdict is Verdict.CLEAR for g in gaps)
    assert not any(g.beyond_reach for g in gaps)
    ask = asked(plan)
    assert {(r.line, r.vehicle.id) for r in ask.job.clearance.runs} == {(g.line, g.vehicle) for g in gaps}
    assert len(ask.job.clearance.runs) < len(plan.job.clearance.runs)


def test_without_a_move_it_is_the_plan(plan):
    none = np.zeros(len(plan.inputs))
    numbers, gaps = worst(plan, none, trial(asked(plan), none))
    assert numbers < 1e-9
    assert gaps < 1e-9  # found again by the same search


def test_a_small_move_is_what_derivatives_foretell(plan):
    """Unseen inputs of the lines move as well."""
    by = 0.02 * moves(plan.inputs.spread, stream().standard_normal((1, len(plan.inputs))))[0]
    assert all(by[k] != 0.0 for k, item in enumerate(plan.inputs.items) if item.kind == "unseen")
    numbers, gaps = worst(plan, by, trial(asked(plan), by))
    # an effect of the second order: a fiftieth squared, times as much as things bend
    assert numbers < 0.002
    assert gaps < 0.02  # to the search's tolerance of 0.005 mm


def test_a_line_of_few_marks_is_walked_to_where_its_marks_have_moved(tmp_path):
    """From where it lay, Newton's steps alone do not settle at these draws."""
    path = tmp_path / "job.toml"
    path.write_text(template_text(), encoding="utf-8")
    plan = derive(load_job(path))
    by = moves(plan.inputs.spread, stream().standard_normal((10, len(plan.inputs))))
    for row in (by[1], by[8]):
        found = trial(asked(plan), row)
        spread = plan.inputs.spread
        for q, v in zip(watched_numbers(plan), found, strict=True):
            assert abs(v - float(q.value.value)) < 8.0 * float(q.value.sd(spread)), q.id


def test_a_plan_that_cannot_be_derived_there_is_no_number(plan, monkeypatch):
    def refuse(*_):
        raise NoSolutionError("no crossing there", code="AL001")

    monkeypatch.setattr(trials, "derive", refuse)
    found = trial(asked(plan), np.zeros(len(plan.inputs)))
    assert np.all(np.isnan(found))
