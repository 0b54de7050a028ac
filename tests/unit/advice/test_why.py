"""Why a number is doubtful: shares that add up, readings that do what is said of them."""

import numpy as np
import pytest

from spanwright.advice.candidates import common_candidates
from spanwright.advice.state import work_state
from spanwright.advice.why import known_numbers, why
from spanwright.book.words import speech
from spanwright.errors import InputError
from spanwright.estimation.condition import learn, spread_with
from spanwright.estimation.derived import Derived

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("pier 1/shaft/wanted", "pier 1/shaft/wanted"),
        ("pier 1, shaft, wanted", "pier 1/shaft/wanted"),
        ("Pier 1, span A, aisle, seat", "pier 1/span A/left/seat"),
        ("bent, aisle column, wanted", "bent/column left/wanted"),
        ("span B / shift", "span B/shift"),
        ("b7", "b7/height"),
        ("well car with two boxes on lower against bent, cap",
         "clearance/lower/well car with two boxes/bent/cap"),
        ("clearance/lower/three-deck car carrier/bent/column left",) * 2,
        ("three-deck car carrier on lower against bent, aisle column",
         "clearance/lower/three-deck car carrier/bent/column left"),
    ],
)  # fmt: skip
def test_a_number_is_found_as_a_builder_calls_it(plan, written, key):
    assert why(plan, written, speech(plan).place).id == key


@pytest.mark.parametrize("key", ["pier 1/shaft/wanted", "span B/shift", "bent/span B/left/seat", "bent/kink"])
def test_each_reading_leaves_the_doubt_that_is_said(plan, key):
    """Heights, offsets, sizes to cut, angles: against conditioning the inputs on the readings."""
    found, inputs = why(plan, key), plan.inputs
    number, unit = known_numbers(plan)[key]
    n = len(inputs)
    assert found.unit == unit
    assert found.u == pytest.approx(float(number.sd(inputs.spread)))
    assert 0.5 < sum(s.share for s in found.shares) <= 1.0 + 1e-9
    assert [s.share for s in found.shares] == sorted((s.share for s in found.shares), reverse=True)
    known = {c.id: c for c in common_candidates(plan, work_state(plan))}
    for count in range(1, len(found.steps) + 1):
        chosen = [known[one.reading] for one in found.steps[:count]]
        jac = np.array([np.pad(c.jac, (0, n - len(c.jac))) for c in chosen])
        sds = np.array([c.sd for c in chosen])
        ids = tuple(item.id for item in inputs.items)
        taught = learn(
            Derived(np.zeros(count), jac), np.zeros(count), sds, prior=(ids, inputs.sds), at=np.zeros(n)
        )
        left = float(spread_with(inputs.sds, taught).doubt(number.padded(n).jac))
        assert found.steps[count - 1].after == pytest.approx(left, rel=1e-6)
    row = number.padded(n).jac * inputs.sds
    best = min(float(_after(row, c, inputs.sds)) for c in known.values() if not c.later)
    if found.steps:
        assert found.steps[0].after <= 1.05 * best + 1e-12
    else:  # it rests on work to come
        assert best > 0.97 * found.u
        assert found.later.later == "when it is made"


def _after(row, candidate, sds):
    read = np.pad(candidate.jac, (0, len(sds) - len(candidate.jac))) * sds
    return np.sqrt(row @ row - (row @ read) ** 2 / (read @ read + candidate.sd**2))


def test_the_pier_is_gauged_before_it_is_cut(plan):
    """The gap from base to railhead, gauged directly, is what a height of two levelled marks cannot give."""
    found = why(plan, "pier 1/shaft/wanted")
    assert found.steps[0].reading == "pier 1/shaft/railhead over base"
    assert found.steps[0].after < 0.85 * found.u


def test_what_is_decided_has_no_doubt(plan):
    found = why(plan, "supports/bent/shift")
    assert found.u == 0.0
    assert not found.shares
    assert not found.steps


def test_an_unknown_number_names_its_neighbours(plan):
    with pytest.raises(InputError, match=r"expected pier 1/shaft/wanted") as caught:
        why(plan, "pier 1/shaft/wantd")
    assert caught.value.code == "ME001"
