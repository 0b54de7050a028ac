"""Additive model Y = X1 + X2 + X3 + X4 of JCGM 101:2008, clauses 9.2.2 to 9.2.4.

JCGM 101:2008, *Evaluation of measurement data - Supplement 1 to the "Guide to the expression of uncertainty
in measurement"*. S1-01 and S1-02 were read in a source that quotes the original; S1-03 is from memory, and is
checked besides against the distribution worked out here by convolution.

Tolerance: half of the last printed digit, and what chance leaves: the numerical tolerance to which the draws
were made to settle (clause 7.9).
"""

import numpy as np
import pytest

from spanwright.estimation.drawing.adaptive import draw_until_settled
from spanwright.estimation.drawing.coverage import shortest
from spanwright.estimation.drawing.draws import draw, stream
from spanwright.estimation.spread import Spread

SOURCE = "JCGM 101:2008, Supplement 1 to the GUM, propagation by a Monte Carlo method"


def rectangular(us):
    rng, half = stream(), np.sqrt(3.0) * np.array(us)
    return lambda m: rng.uniform(-half, half, (m, len(half))).sum(axis=1)


def within(found, printed, last_digit):
    assert abs(found.told.low - printed[0]) <= 0.5 * last_digit + found.tolerance
    assert abs(found.told.high - printed[1]) <= 0.5 * last_digit + found.tolerance


def exact_half_width(us, p=0.95, step=0.002):
    """End of the symmetric interval by convolving the rectangles on a grid."""
    density = np.ones(1)
    for u in us:
        wide = round(2.0 * np.sqrt(3.0) * u / step)
        density = np.convolve(density, np.full(wide, 1.0 / wide))
    at = (np.arange(len(density)) - 0.5 * (len(density) - 1)) * step
    return float(np.interp(0.5 + 0.5 * p, np.cumsum(density) - 0.5 * density, at))


@pytest.mark.validates(source=SOURCE, item="S1-01: four normal inputs", page="clause 9.2.2")
def test_four_normals():
    rng, rows = stream(), Spread(sds=np.ones(4)).scaled(np.ones((1, 4)))
    found = draw_until_settled(lambda m: draw(np.zeros(1), rows, m, rng)[:, 0], p=0.95, digits=3, most=1000)
    assert found.settled
    assert found.told.u == pytest.approx(2.0, abs=0.05)
    within(found, (-3.92, 3.92), 0.01)


@pytest.mark.validates(source=SOURCE, item="S1-02: four rectangular inputs of one width", page="clause 9.2.3")
def test_four_rectangles():
    found = draw_until_settled(rectangular([1, 1, 1, 1]), p=0.95, digits=3, most=1000)
    assert found.settled
    assert found.told.u == pytest.approx(2.0, abs=0.05)
    within(found, (-3.88, 3.88), 0.01)
    assert found.told.high < 3.90  # the normal law would say 3.92
    assert found.told.high == pytest.approx(exact_half_width([1, 1, 1, 1]), abs=found.tolerance)


@pytest.mark.validates(source=SOURCE, item="S1-03: one input ten times as wide", page="clause 9.2.4")
def test_one_dominant_rectangle():
    found = draw_until_settled(rectangular([10, 1, 1, 1]), p=0.95, digits=3, most=1000)
    assert found.settled
    assert found.told.u == pytest.approx(10.1, abs=0.05 + found.tolerance)
    within(found, (-17.0, 17.0), 0.1)
    assert found.told.high == pytest.approx(exact_half_width([10, 1, 1, 1]), abs=found.tolerance)


def test_the_shortest_interval_is_the_symmetric_one_where_the_law_is_symmetric():
    values = rectangular([1, 1, 1, 1])(200_000)
    low, high = shortest(values, 0.95)
    # flat where it is shortest: chance moves both ends together, but not their distance
    assert high - low == pytest.approx(2.0 * exact_half_width([1, 1, 1, 1]), abs=0.03)
