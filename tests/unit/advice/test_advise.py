"""Which reading is named, a plan where one is not enough, and when none will do."""

from dataclasses import replace

import numpy as np
import pytest

from spanwright.advice.given import ENOUGH, HOPELESS
from spanwright.advice.stage import advise
from spanwright.advice.why import why
from spanwright.files.job_file import job_of
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.measured.numbers import readable
from truth import demo

pytestmark = pytest.mark.slow


def moved(plan, part, by, *, lower=0.0):
    """The plan with one gap that is open, shifted."""
    gaps = []
    for g in plan.clearance.gaps:
        if g.part == part and g.verdict is not Verdict.CLEAR:
            g = replace(
                g,
                gap=g.gap + by,
                witness_gaps=tuple(w + by for w in g.witness_gaps),
                margin_gap=g.margin_gap + by - lower,
                witness_margins=tuple(w + by - lower for w in g.witness_margins),
            )
        gaps.append(g)
    return replace(plan, clearance=replace(plan.clearance, gaps=tuple(gaps)))


def of(plan, part):
    return next(a for a in advise(plan) if a.gap.endswith(part))


def test_every_open_gap_has_its_advice(plan):
    open_gaps = {g.id for g in plan.clearance.gaps if g.verdict is not Verdict.CLEAR}
    found = advise(plan)
    assert {a.gap for a in found} == open_gaps
    assert all(a.steps or a.text for a in found)
    for advice in found:
        for step in advice.steps:
            assert sum(step.outlook.chances.values()) == pytest.approx(1.0, abs=1e-9)
            assert step.tool
            assert step.after <= advice.before + 1e-12


def test_the_likeliest_verdict_is_named_before_the_smallest_doubt(plan):
    best = of(plan, "bent/column left")
    assert best.reading == "versine/lower"
    assert best.settled == best.steps[0].outlook.chances[Verdict.CLEAR]


def test_one_reading_is_named_alone_where_it_is_enough(plan):
    advice = of(moved(plan, "bent/column left", 0.25), "bent/column left")
    assert len(advice.steps) == 1
    assert advice.settled >= ENOUGH


def test_a_plan_of_readings_is_likelier_with_each(plan):
    advice = of(plan, "well car with two boxes/bent/cap")
    assert len(advice.steps) > 1
    likely = [s.outlook.settled(Verdict.NOT_PROVEN) for s in advice.steps]
    assert likely == sorted(likely)
    doubts = [s.after for s in advice.steps]
    assert doubts == sorted(doubts, reverse=True)


def test_no_reading_settles_what_rests_on_work_to_come(plan):
    advice = of(moved(plan, "bent/column right", -0.4), "bent/column right")
    assert advice.hopeless
    assert advice.chance_of_all < HOPELESS
    assert not advice.steps
    assert "change the design" in advice.text
    assert advice.beyond.later == "when the columns stand"


def test_nor_a_margin_that_is_not_there(plan):
    advice = of(moved(plan, "bent/column left", 0.0, lower=2.0), "bent/column left")
    assert advice.hopeless
    assert advice.beyond is None


def test_a_wider_doubt_makes_a_verdict_less_likely(plan):
    gaps = tuple(replace(g, wider=1.3) if g.part == "bent/column left" else g for g in plan.clearance.gaps)
    wide = replace(plan, clearance=replace(plan.clearance, gaps=gaps))
    assert of(wide, "bent/column left").settled < of(plan, "bent/column left").settled


def test_once_the_bent_stands_the_gap_itself_is_gauged(worked):
    standing = worked([("bent", "dry-fitted")])
    advice = of(standing, "well car with two boxes/bent/cap")
    assert advice.steps[0].tool in ("feelers", "a stepped block")
    assert advice.settled > 0.5
    assert np.isfinite(advice.steps[0].after)


def test_a_size_that_nobody_has_measured_is_calipered_first():
    text = demo.shipped_text()
    guessed = 'footing      = { is = "1.5", by = "about 20 %" }'
    assert 'footing      = "1.5"' in text
    text = text.replace('footing      = "1.5"', guessed)
    unsure = derive(job_of(text, "job.toml"))
    advice = of(unsure, "well car with two boxes/bent/cap")
    assert advice.reading == "supports/bent/footing"
    assert advice.steps[0].tool == "a caliper"
    assert advice.steps[0].text.endswith("not measured, about 20 %")


def test_a_reading_that_is_entered_leaves_the_doubt_that_was_promised():
    """Read as foretold: entered in the job file, derived again, shared out and advised upon again."""
    text = demo.shipped_text()
    before = derive(job_of(text, "job.toml"))
    advice = of(before, "well car with two boxes/bent/cap")
    key = advice.reading
    assert " over " in key  # a height that is gauged directly
    foretold = readable(before.survey, before.alignment, before.structures)[key]
    entry = f'what = "{key}"\nis = "{float(foretold.value):.6f} mm"\nby = "stepped block"\nsd = "0.2 mm"\n'
    after = derive(job_of(f"{text}\n[[measured]]\n{entry}", "job.toml"))
    gap = next(g for g in after.clearance.gaps if g.id == advice.gap)
    assert gap.u == pytest.approx(advice.steps[0].after, rel=0.02)
    again = of(after, "well car with two boxes/bent/cap")
    assert again.before == pytest.approx(gap.u)
    assert again.reading != key
    assert sum(s.share for s in why(after, gap.id).shares) == pytest.approx(1.0, abs=0.1)
