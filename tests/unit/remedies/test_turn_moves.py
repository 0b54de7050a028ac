"""A bent that stands askew is turned back by as much as its columns lack beside the track."""

import pytest

from spanwright.book.trains.remedies_text import said
from spanwright.book.words import speech
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.remedies.moves import moves_for
from spanwright.remedies.solve import find_remedies, plan_room

pytestmark = pytest.mark.slow
CLEAR = 'clear        = { aisle = "22", wall = "22" }'
CANT = 'cant      = "not measured"'


def askew(turn, clear):
    text = template_text()
    assert CLEAR in text
    text = text.replace(CLEAR, f'clear        = "{clear}"\nturn         = "{turn} deg"   # as in the picture')
    levels = "".join(
        f'\n  {{ id = "z{k}", at = "a{k}", reach = "30", high = "aisle", is = "0", by = "feeler" }},'
        for k in range(1, 8)
    )
    return text.replace(CANT, 'cant      = "measured"').replace(
        "cross_levels = [", f"cross_levels = [{levels}"
    )


@pytest.fixture(scope="module")
def turned():
    text = askew(24, 14)
    plan = derive(job_of(text, "job.toml"))
    gaps = [g for g in plan.clearance.gaps if g.part == "bent/column left" and g.line == "lower"]
    gap = min(gaps, key=lambda g: plan_room(g, plan))
    assert gap.verdict is not Verdict.CLEAR
    found = find_remedies(text, "job.toml", plan, gap)
    return text, plan, gap, {r.move.id: r for r in found}


def test_it_is_turned_back_until_the_column_clears(turned):
    text, plan, gap, found = turned
    back = found["bent/turn clockwise"]
    assert -10.0 <= back.by < 0.0
    assert f'turn         = "{24 + back.by:g} deg"   # as in the picture' in back.text
    again = derive(job_of(back.text, "job.toml"))
    assert next(g for g in again.clearance.gaps if g.id == gap.id).verdict is Verdict.CLEAR
    less = derive(job_of(back.move.edit(text, back.by + back.move.step), "job.toml"))
    assert next(g for g in less.clearance.gaps if g.id == gap.id).verdict is not Verdict.CLEAR
    assert said(back, speech(plan)) == f"Turn bent {-back.by:.1f} degrees clockwise, seen from above"


def test_further_askew_is_no_remedy(turned):
    _, plan, gap, found = turned
    tried = {m.id: m for m in moves_for(gap, plan.job, plan.inputs)}
    assert (tried["bent/turn anticlockwise"].most, tried["bent/turn clockwise"].most) == (10.0, -10.0)
    assert "bent/turn anticlockwise" not in found


def test_only_a_bent_is_turned(turned):
    _, plan, *_ = turned
    gap = next(g for g in plan.clearance.gaps if g.part == "yard abutment/cap")
    assert not any("turn" in m.id for m in moves_for(gap, plan.job, plan.inputs))
