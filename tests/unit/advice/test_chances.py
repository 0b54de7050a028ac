"""How likely each word is along one surprise, against draws."""

import numpy as np
import pytest

from spanwright.advice.chances import Lengths, chances, rounded_down
from spanwright.advice.normal import surprises
from spanwright.clearance.verdict import places

K, DRAWS = 2.0, 200_000


def drawn(values, slopes, doubts, lengths, split):
    """Draw the surprise; shafts are cut to what is wanted then, rounded down."""
    z = np.random.default_rng(3).normal(size=(DRAWS, 1))
    found = []
    for c in range(len(values)):
        longer = rounded_down(lengths.wanted[c] + z * lengths.follow[c]) - lengths.now
        moved = values[c] + z * slopes[c] + longer @ lengths.lever.T
        u = np.broadcast_to(doubts[c], moved.shape)
        words = places(moved[:, :split], u[:, :split], moved[:, split:], u[:, split:], k=K)
        found.append(np.bincount(words, minlength=4) / DRAWS)
    return np.array(found)


@pytest.mark.parametrize("shafts", [0, 1, 2])
@pytest.mark.parametrize("follow", [0.0, 0.01, 0.3])
def test_each_word_is_as_likely_as_draws_say(shafts, follow):
    rng, cases, m = np.random.default_rng(5), 12, 5
    values = rng.uniform(-0.8, 1.0, (cases, 1)) + rng.uniform(0.0, 0.2, (cases, m)) - [0, 0, 0, 0.5, 0.5]
    slopes, doubts = rng.normal(0.0, 0.2, (cases, m)), rng.uniform(0.05, 0.3, (cases, m))
    wanted = rng.uniform(40.0, 41.0, (cases, shafts))
    lengths = Lengths(
        wanted=wanted,
        follow=follow * rng.normal(size=(cases, shafts)),
        now=rounded_down(wanted[0]),
        lever=rng.uniform(-1.0, 1.0, (m, shafts)),
    )
    got = chances(values, slopes, doubts, lengths, split=3, k=K)
    np.testing.assert_allclose(got.sum(axis=1), 1.0, atol=1e-9)
    np.testing.assert_allclose(got, drawn(values, slopes, doubts, lengths, 3), atol=0.006)


def test_a_length_that_makes_up_for_the_surprise_leaves_the_rounding():
    """The gap moves by the surprise, its shaft back by as much, in steps of 0.1.

    What is left beyond the margin is 0.2 now, and that is what clear asks for. The length is 0.05 below what
    is wanted; read anew it may be anything from 0 to 0.1 below, as likely one as the other.
    """
    lengths = Lengths(
        wanted=np.array([[50.05]]),
        follow=np.array([[-0.5]]),
        now=np.array([50.0]),
        lever=np.array([[1.0], [1.0]]),
    )
    values, slopes = np.array([[2.0, 0.2]]), np.array([[0.5, 0.5]])
    got = chances(values, slopes, np.array([[0.1, 0.1]]), lengths, split=1, k=K)
    assert got[0] == pytest.approx([0.5, 0.5, 0.0, 0.0], abs=0.01)


@pytest.mark.parametrize("spread", [0.0, 0.003, 0.04, 0.4])
def test_lengths_are_rounded_down(spread):
    wanted = 50.0 + spread * np.random.default_rng(3).normal(size=1000)
    got = rounded_down(wanted)
    assert np.all(got <= wanted + 1e-9)
    assert np.all(got > wanted - 0.1)
    np.testing.assert_allclose(got * 10.0, np.rint(got * 10.0), atol=1e-9)
    assert rounded_down(np.array([50.3])) == pytest.approx(50.3)


@pytest.mark.parametrize("directions", [1, 2, 3])
def test_places_to_average_over_are_those_of_independent_normal_numbers(directions):
    at = surprises(directions)
    assert at.shape[1] == directions
    np.testing.assert_allclose(at.mean(axis=0), 0.0, atol=1e-12)
    np.testing.assert_allclose(at.T @ at / len(at), np.eye(directions), atol=0.02)
    np.testing.assert_allclose(np.sort(at, axis=0), np.sort(-at, axis=0), atol=1e-12)
    slope = np.array([0.8, -0.5, 0.3])[:directions]
    exact = np.exp(0.5 * slope @ slope)
    assert np.exp(at @ slope).mean() == pytest.approx(exact, rel=0.02)
    assert np.mean(at @ slope > 0.0) == pytest.approx(0.5, abs=0.02)


def test_without_another_direction_there_is_one_place():
    assert surprises(0).shape == (1, 0)
    assert surprises(-1).shape == (1, 0)
