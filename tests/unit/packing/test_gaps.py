"""Gaps under spans as packed, held against the line below raised, and against a search of the span turned."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from spanwright.book.making import gaps_under, packed
from spanwright.clearance.stage import assess
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


def stood(plan, span, lifts):
    """The plan's packing, as if one span stood off so and the others did not."""
    own = iter(lifts)
    return standing(plan, [next(own) if b.span == span else 0.0 for b in plan.structures.bearings])


def turned(plan, span, lifts):
    """What trains below touch of a span, moved as a rigid body into the plane of these lifts, exactly."""
    mine = [b for b in plan.structures.bearings if b.span == span]
    at = np.array([[1.0, float(b.x.value), float(b.y.value)] for b in mine])
    height, *lean = np.linalg.lstsq(at, np.array(lifts), rcond=None)[0]
    middle = at[:, 1:].mean(axis=0)
    pivot = np.array([*middle, np.mean([float(b.seat.value) for b in mine])])
    up = np.array([-lean[0], -lean[1], 1.0]) / np.sqrt(1.0 + lean[0] ** 2 + lean[1] ** 2)
    x, y, z = up
    about = np.array([[0.0, 0.0, x], [0.0, 0.0, y], [-x, -y, 0.0]])  # from straight up to there
    turn = np.eye(3) + about + about @ about / (1.0 + z)
    raised = np.array([0.0, 0.0, height + middle @ lean])
    return tuple(
        replace(shape, vertices=(shape.vertices - pivot) @ turn.T + pivot + raised)
        for shape in plan.shapes
        if shape.part.startswith(f"{span}/") and shape.over == "lower"
    )


def searched(plan, span, lifts):
    """The gaps of the line below to a span where it stands so, searched anew, by id."""
    lines = {laid.line.name: laid.line for laid in plan.alignment.lines}
    found = assess(plan.inputs, lines, turned(plan, span, lifts), plan.job.clearance)
    return {gap.id: gap for gap in found.gaps if gap.line == "lower"}


@pytest.mark.parametrize(
    "lifts",
    [
        [-0.25, -0.25, 0.25, 0.25],
        [0.25, 0.25, -0.25, -0.25],
        [0.25, -0.25, 0.25, -0.25],
        [-0.25, 0.25, -0.25, 0.25],
        [-0.2, 0.0, 0.0, 0.2],
        [0.25, 0.15, -0.1, 0.0],
    ],
)
def test_a_span_that_leans_is_told_as_if_it_were_searched_as_it_stands(plan, lifts):
    under = {one.gap.id: one for one in gaps_under(plan, stood(plan, "span B", lifts))}
    exact = searched(plan, "span B", lifts)
    near = [g for g in plan.clearance.gaps if g.id in exact and not g.beyond_reach]
    assert len(near) == 7
    for gap in near:
        told, then = under.get(gap.id), exact[gap.id]
        value, margin = (told.value, told.margin) if told else (gap.gap, gap.margin_gap)
        assert (told.verdict if told else gap.verdict) is then.verdict
        if then.beyond_reach:
            assert float(value.value) > float(then.gap.value)
            continue
        # to first order, and between the held places the true least may lie a little lower
        assert float(value.value) == pytest.approx(float(then.gap.value), abs=0.015), gap.id
        assert float(margin.value) == pytest.approx(float(then.margin_gap.value), abs=0.015), gap.id


def test_a_gap_is_told_where_another_place_than_the_first_comes_nearest(plan):
    span, key = "span C", "clearance/lower/three-deck car carrier/span C/girder right"
    (gap,) = [g for g in plan.clearance.gaps if g.id == key]
    held = plan.clearance.choices[key]

    def change(of, lifts):
        return next((o.change for o in gaps_under(of, stood(of, span, lifts)) if o.gap.id == key), 0.0)

    def lever(place):
        """How far the gap opens at one held place alone by each lift."""
        alone = replace(
            plan.clearance,
            gaps=(replace(gap, gap=gap.witness_gaps[place], witness_gaps=(gap.witness_gaps[place],)),),
            choices={key: replace(held, gap=(held.gap[place],))},
        )
        return np.array([change(replace(plan, clearance=alone), list(row)) for row in np.eye(4)])

    first, second = lever(0), lever(1)
    sinks = first @ second / (first @ first) * first - second  # the first place stays, the second sinks
    lifts = list(0.4 * sinks / np.max(np.abs(sinks)))
    assert first @ lifts == pytest.approx(0.0, abs=1e-9)
    told = change(plan, lifts)
    assert told < -0.01
    apart = float(gap.witness_gaps[1].value) - float(gap.witness_gaps[0].value)
    assert told == pytest.approx(apart + second @ lifts, abs=1e-9)
    # lifts as large as these bring up a place that is not held, nearer still: see docs/packing.md
    exact = float(searched(plan, span, lifts)[key].gap.value) - float(gap.gap.value)
    assert told - 0.06 <= exact <= told + 0.005


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


def test_a_word_that_only_the_doubt_changes_is_told(plan):
    result = standing(plan, [0.0] * 12)
    column = "supports/pier 1/cut"
    cut = plan.inputs.derived(column) - float(plan.inputs[column].value)
    doubtful = constant(np.float64(0.0), len(plan.inputs)) + cut * (5.0 / plan.inputs[column].sd)
    under = gaps_under(
        plan, replace(result, bearings=tuple(replace(b, off=doubtful) for b in result.bearings))
    )
    assert under
    assert all(one.is_worse and abs(one.change) < 0.005 for one in under)
    assert {f.code for f in packed_findings(under)} == {"PK106"}


def test_trains_on_the_spans_ride_with_them(plan):
    under = gaps_under(plan, standing(plan, [-6.0] * 12))
    assert {one.gap.line for one in under} == {"lower"}


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
