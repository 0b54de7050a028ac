"""Gaps under spans as packed, held against the line below raised or lowered by as much."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from spanwright.book.making import gaps_under, packed
from spanwright.estimation.derived import constant
from spanwright.files.job_file import job_of
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.packing.choose import Choice
from spanwright.packing.gaps import packed_findings
from truth import demo

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def text():
    return (Path(demo.SHIPPED).parent / "job.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def plan(text):
    return derive(job_of(text, "job.toml"))


def standing(plan, lifts):
    """The plan's packing, as if all were packed and stood off by so much."""
    result = packed(plan)
    n = len(plan.inputs)
    stood = tuple(
        replace(b, off=constant(np.float64(by), n), lift=by)
        for b, by in zip(result.bearings, lifts, strict=True)
    )
    choice = Choice(stacks=(None,) * 12, lifts=np.array(lifts), total=0.0, short_by=0.0)
    return replace(result, bearings=stood, choice=choice)


@pytest.mark.parametrize("by", [-0.25, 0.25])
def test_a_span_lowered_is_the_line_below_raised(plan, text, by):
    under = gaps_under(plan, standing(plan, [by] * 12))
    (line,) = [row for row in text.splitlines() if row.startswith("[lines.lower]")]
    raised = derive(job_of(text.replace(line, f'{line}\nraise = "{-by} mm"'), "job.toml"))
    exact = {g.id: g for g in raised.clearance.gaps}
    assert len(under) > 10
    for one in under:
        then = exact[one.gap.id]
        if then.beyond_reach:
            assert float(one.value.value) > float(then.gap.value)
            continue
        assert float(one.value.value) == pytest.approx(float(then.gap.value), abs=0.01), one.gap.id
        assert one.u == pytest.approx(then.u, abs=0.01), one.gap.id
        assert one.verdict is then.verdict, one.gap.id
        assert np.sign(one.change) == np.sign(by)


def test_spans_at_their_height_change_nothing(plan):
    assert gaps_under(plan, standing(plan, [0.0] * 12)) == ()
    assert gaps_under(plan, packed(plan)) == ()  # nothing is packed yet


def test_only_the_span_that_is_off_is_told_and_by_its_plane(plan):
    lifts = [0.0] * 4 + [-0.2, -0.2, 0.0, 0.0] + [0.0] * 4
    under = gaps_under(plan, standing(plan, lifts))
    assert under
    assert {one.gap.part.partition("/")[0] for one in under} == {"span B"}
    assert all(-0.2 - 1e-3 <= one.change <= 0.005 for one in under)


def test_the_doubt_of_the_packing_is_in_the_gap(plan):
    result = standing(plan, [-0.2] * 12)
    n = len(plan.inputs)
    doubtful = constant(np.float64(-0.2), n) + plan.inputs.derived("supports/pier 1/cut") * 1.0
    doubtful = doubtful - float(plan.inputs["supports/pier 1/cut"].value)
    wide = replace(result, bearings=tuple(replace(b, off=doubtful) for b in result.bearings))
    own = plan.inputs["supports/pier 1/cut"].sd
    for one, other in zip(gaps_under(plan, result), gaps_under(plan, wide), strict=True):
        assert other.u == pytest.approx(np.hypot(one.u, own), rel=0.02)


def test_a_word_that_is_worse_is_a_warning(plan):
    deep = gaps_under(plan, standing(plan, [-6.0] * 12))  # further than any packing: words change
    worse = [one for one in deep if one.is_worse]
    assert worse
    found = packed_findings(deep)
    assert [f.where for f in found] == [one.gap.id for one in worse]
    assert {f.code for f in found} == {"PK106"}
    assert all(one.gap.verdict is Verdict.CLEAR for one in worse)
    assert all(
        f"and {one.verdict.value}, no longer clear" in f.text for one, f in zip(worse, found, strict=True)
    )
