"""The test run asks for the gaps that leave least; what was gauged is entered by the name of its row."""

import pytest

from spanwright.build.planning.trial import TRIED, list_trials
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.measured.numbers import find, names_gap, readable


@pytest.fixture(scope="module")
def plan():
    return derive(job_of(template_text(), "job.toml"))


def test_every_line_is_tried_where_least_is_left(plan):
    rows = list_trials(plan.clearance, k=2.0)
    lines = {g.line for g in plan.clearance.gaps}
    for line in lines:
        mine = [r for r in rows if f" on {line}/" in r.id]
        open_ = [g for g in plan.clearance.gaps if g.line == line and g.verdict is not Verdict.CLEAR]
        assert 1 <= len(mine) <= 6
        assert len(mine) == (min(len(open_), 6) or 1)
    assert list_trials(None, k=2.0) == ()


def test_a_row_is_entered_by_its_name(plan):
    known = readable(plan.survey, plan.alignment, plan.structures, plan.clearance)
    words = plan.job.words
    for row in list_trials(plan.clearance, k=2.0):
        name = row.id.removeprefix(TRIED)
        assert names_gap(name, plan.job.lines)
        assert float(find(known, name, words, where="here").value) == float(row.planned.value)
