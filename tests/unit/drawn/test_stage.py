"""What trials say of numbers and words, with trials whose bend is known."""

from dataclasses import replace
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from spanwright.book.trains.trials_text import trials_text
from spanwright.book.words import speech
from spanwright.drawn.stage import _factor, try_plan, widened
from spanwright.drawn.trials import foretold, watched_gaps, watched_numbers
from spanwright.estimation.drawing.draws import draw, stream
from spanwright.estimation.drawing.together import Method
from spanwright.files.job_file import load_job
from spanwright.findings import Verdict
from spanwright.job import derive
from truth import demo

RISK = NormalDist().cdf(-2.0)
MANY = 200_000


@pytest.fixture(scope="module")
def plan():
    return derive(load_job(Path(demo.SHIPPED).parent))


@pytest.fixture(scope="module")
def near(plan):
    """The clear gap that is nearest to its limit."""
    clear = [g for g in watched_gaps(plan) if g.verdict is Verdict.CLEAR]
    return min(clear, key=lambda g: float(g.margin_gap.value) / g.margin_u)


def pretended(plan, bend):
    """Trials by derivatives alone, then bent: takes the place of a map over real ones."""
    numbers = [(q.id, "number", (q.value,)) for q in watched_numbers(plan)]
    for g in watched_gaps(plan):
        numbers += [(g.id, "gap", g.witness_gaps), (g.id, "margin gap", g.witness_margins)]

    def each(_, things):
        by = np.array(list(things))
        columns = [bend(key, what, foretold(own, by), by) for key, what, own in numbers]
        return list(np.stack(columns, axis=1))

    return each


def straight(_key, _what, values, _by):
    return values


def test_what_is_straight_stays_first_order(plan):
    found = try_plan(plan, pairs=6, each=pretended(plan, straight))
    assert (found.made, found.failed, found.wider) == (12, 0, ())
    for one in found.numbers:
        several = one.what != "number" and one.method is Method.DRAWS
        assert one.surface.bend < 1e-9
        assert several or one.method is Method.FIRST_ORDER
    same = widened(plan, found)
    assert same is plan


def test_trials_are_the_same_every_time(plan):
    seen = []

    def each(_, things):
        seen.append(np.array(list(things)))
        return pretended(plan, straight)(_, seen[-1])

    first, second = (try_plan(plan, pairs=4, each=each) for _ in range(2))
    assert first == second
    assert np.array_equal(seen[0], seen[1])
    assert np.array_equal(seen[0][:4], -seen[0][4:])  # pairs of mirror images


def test_a_bent_number_is_told_by_draws(plan):
    number = watched_numbers(plan)[0]
    value, u = float(number.value.value), float(number.value.sd(plan.inputs.spread))

    def bend(key, what, values, _by):
        return (
            values + 0.3 * u * ((values - value) / u) ** 2 if (key, what) == (number.id, "number") else values
        )

    found = try_plan(plan, pairs=12, each=pretended(plan, bend))
    told = {(t.id, t.what): t for t in found.numbers}[number.id, "number"]
    assert told.method is Method.DRAWS
    assert told.told.mean == pytest.approx(value + 0.3 * u, abs=0.05 * u)
    assert told.told.high == pytest.approx(value + u * (2.0 + 0.3 * 4.0), abs=0.1 * u)
    # draws alone would end higher: few trials are not believed so far
    assert told.told.low == value - 2.0 * u


def test_a_clear_gap_that_bends_towards_the_train_is_clear_no_more(plan, near):
    value, u = float(near.margin_gap.value), near.margin_u
    depth = value / u - 1.5  # at two doubts towards the train its margin is used up, and more

    def bend(key, what, values, _by):
        if key != near.id:
            return values
        base = value if what == "margin gap" else float(near.gap.value)
        return values - depth * u * ((values - base) / (2.0 * u)) ** 2

    trials = try_plan(plan, pairs=12, each=pretended(plan, bend))
    assert [key for key, _ in trials.wider] == [near.id]
    assert trials.words == ((near.id, Verdict.CLEAR),)
    held = widened(plan, trials)
    after = {g.id: g for g in held.clearance.gaps}[near.id]
    assert after.verdict is Verdict.TIGHT
    assert after.wider > 1.0
    assert [f.where for f in held.findings if f.code == "CL109"] == [near.id]
    words = {g.id: g.verdict for g in plan.clearance.gaps}
    assert [g.id for g in held.clearance.gaps if g.verdict is not words[g.id]] == [near.id]
    assert derive(plan.job, held.choices) == held
    told = " ".join(str(block) for block in trials_text(held, trials, speech(held)))
    assert "times as wide; the word is now tight, was clear" in told
    was_tight = replace(trials, words=((near.id, Verdict.TIGHT),))
    assert "the word is still tight" in " ".join(
        str(block) for block in trials_text(held, was_tight, speech(held))
    )


def test_the_bound_of_a_word_is_put_where_the_draws_have_its_risk(plan, near):
    spread = plan.inputs.spread
    values = np.array([float(w.value) for w in near.witness_margins])
    rows = spread.scaled(np.stack([w.padded(len(spread.sds)).jac for w in near.witness_margins]))
    drawn = draw(values, 1.4 * rows, MANY, stream()).min(axis=1)
    factor = _factor(near, {"margin gap": drawn, "gap": None}, spread, 2.0)
    # draws with doubts 1.4 times as large; the word's own bound for several places is on the safe side
    assert 1.2 < factor < 1.41
    single = draw(values[:1], 1.4 * rows[:1], MANY, stream())[:, 0]
    (alone,) = near.witness_margins[:1]
    bound = float(alone.value) - float(np.quantile(single, RISK))
    assert bound == pytest.approx(2.0 * 1.4 * float(alone.sd(spread)), rel=0.02)
    assert _factor(near, {"margin gap": drawn + 10.0, "gap": None}, spread, 2.0) == 1.0
    assert _factor(near, {"margin gap": None, "gap": drawn - 10.0}, spread, 2.0) == 1.0


def test_trials_that_fail_are_counted(plan):
    def each(_, things):
        found = np.array(pretended(plan, straight)(_, things))
        found[:20] = np.nan
        return found

    trials = try_plan(plan, pairs=12, each=each)
    assert trials.failed == 20
    assert all(t.surface is None for t in trials.numbers)  # four tell nothing
    assert trials.wider == ()
