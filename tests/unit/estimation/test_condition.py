"""Readings of results teach about inputs as the joint solution says, however they are taken up."""

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.estimation.budget import Candidate, doubt_after, shares
from spanwright.estimation.condition import innovations, learn
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input, Inputs

IDS = tuple("abcdef")
SDS = np.array([0.5, 0.3, 0.3, 0.2, 0.05, 0.0])


@pytest.fixture
def rng():
    return np.random.default_rng(20261125)


def inputs():
    return Inputs(
        items=tuple(
            Input(id=i, value=0.0, sd=float(s), unit="mm", label=i, kind="reading")
            for i, s in zip(IDS, SDS, strict=True)
        )
    )


def learnt(jac, read, doubts):
    foretold = Derived(np.zeros(len(jac)), np.asarray(jac, dtype=float))
    return learn(
        foretold, np.asarray(read, dtype=float), np.asarray(doubts), prior=(IDS, SDS), at=np.zeros(6)
    )


def test_a_shared_datum_carries_a_reading_to_the_next_pier():
    """Datum 0.5 and ground 0.3 mm: reading pier 2 well takes pier 1 from 0.58 to 0.40 mm.

    Closed form: with d, g the doubts, pier 1 keeps sqrt(d^2 + g^2 - d^4 / (d^2 + g^2)).
    """
    pier1, pier2 = Derived(np.float64(0.0), np.array([1.0, 1.0, 0, 0, 0, 0])), [[1.0, 0.0, 1.0, 0, 0, 0]]
    found = learnt(pier2, [0.4], [1e-6])
    after = inputs().knowing(found)
    assert pier1.sd(inputs().spread) == pytest.approx(0.583, abs=5e-4)
    closed = np.sqrt(0.34 - 0.25**2 / 0.34)
    assert pier1.sd(after.spread) == pytest.approx(closed, abs=1e-6)
    assert closed == pytest.approx(0.40, abs=5e-3)
    assert after.values[0] + after.values[2] == pytest.approx(0.4, abs=1e-6)
    assert after.values[0] == pytest.approx(0.4 * 0.25 / 0.34, abs=1e-6)


@pytest.mark.parametrize("doubts", [(0.1, 0.2, 0.15), (1e-3, 0.3, 1e-3)])
def test_values_and_doubts_equal_the_joint_least_squares_solution(rng, doubts):
    """Inputs as observations of themselves and readings of sums: one adjustment of all of them together."""
    jac = rng.normal(size=(3, 6))
    read = rng.normal(size=3)
    after = inputs().knowing(learnt(jac, read, np.array(doubts)))
    free = SDS > 0.0
    design = np.vstack([np.eye(6)[:, free][free], jac[:, free]])
    weight = np.concatenate([1.0 / SDS[free], 1.0 / np.array(doubts)])
    seen = np.concatenate([np.zeros(free.sum()), read])
    wanted = np.linalg.lstsq(design * weight[:, None], seen * weight, rcond=None)[0]
    cov = np.linalg.inv((design * weight[:, None] ** 2).T @ design)
    np.testing.assert_allclose(after.values[free], wanted, rtol=1e-6, atol=1e-8)
    results = Derived(np.zeros(4), rng.normal(size=(4, 6)))
    np.testing.assert_allclose(
        results.covariance(after.spread),
        results.jac[:, free] @ cov @ results.jac[:, free].T,
        rtol=1e-6,
        atol=1e-9,
    )
    np.testing.assert_allclose(
        results.sd(after.spread) ** 2, np.diag(results.covariance(after.spread)), rtol=1e-9
    )


def test_one_reading_foretells_the_doubt_that_it_leaves(rng):
    target, seen = rng.normal(size=(2, 6))
    foretold = doubt_after(target, Candidate(id="c", text="", jac=seen, sd=0.1), inputs().spread)
    after = inputs().knowing(learnt([seen], [0.0], [0.1]))
    assert Derived(np.float64(0.0), target).sd(after.spread) == pytest.approx(foretold, rel=1e-9)


def test_a_second_reading_is_reckoned_with_the_first(rng):
    """One by one, by the rule for one more reading, as both together."""
    target, first, second = rng.normal(size=(3, 6))
    one = inputs().knowing(learnt([first], [0.0], [0.1]))
    both = inputs().knowing(learnt([first, second], [0.0, 0.0], [0.1, 0.2]))
    foretold = doubt_after(target, Candidate(id="c", text="", jac=second, sd=0.2), one.spread)
    assert Derived(np.float64(0.0), target).sd(both.spread) == pytest.approx(foretold, rel=1e-9)


def test_shares_still_add_up_to_one(rng):
    after = inputs().knowing(learnt(rng.normal(size=(2, 6)), [0.1, -0.1], [0.1, 0.2]))
    assert shares(rng.normal(size=6), after.spread).sum() == pytest.approx(1.0)


def test_the_step_is_taken_from_the_first_values_wherever_the_plan_was_derived(rng):
    """On a straight plan a second pass from moved inputs changes nothing."""
    jac, read, doubts = rng.normal(size=(2, 6)), np.array([0.3, -0.2]), np.array([0.1, 0.1])
    first = learnt(jac, read, doubts)
    again = learn(Derived(jac @ first.moves, jac), read, doubts, prior=(IDS, SDS), at=first.moves)
    np.testing.assert_allclose(again.moves, first.moves, atol=1e-12)


def test_innovations_are_independent_and_of_unit_size(rng):
    jac, doubts = rng.normal(size=(3, 6)), np.array([0.1, 0.2, 0.05])
    draws = rng.normal(size=(4000, 6)) * SDS
    seen = draws @ jac.T + rng.normal(size=(4000, 3)) * doubts
    found = np.array([innovations(Derived(np.zeros(3), jac), y, doubts, SDS) for y in seen])
    np.testing.assert_allclose(np.cov(found.T), np.eye(3), atol=0.08)


def test_what_was_learnt_of_other_inputs_is_refused():
    found = learnt([[1.0] * 6], [0.1], [0.1])
    other = Inputs(items=tuple(reversed(inputs().items)))
    with pytest.raises(InputError, match="belongs to other inputs"):
        other.knowing(found)


def test_inputs_added_later_move_too():
    found = learnt([[0, 0, 0, 1.0, 1.0, 0]], [0.2], [0.01])
    short = Inputs(items=inputs().items[:3]).knowing(found)
    longer = short.extended(inputs().items[3:])
    np.testing.assert_allclose(longer.values, inputs().knowing(found).values)
    assert longer.values[3] > 0.1
    np.testing.assert_allclose(longer.spread.directions, inputs().knowing(found).spread.directions)
