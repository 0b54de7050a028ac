"""What is promised of a reading is what happens, as often as promised.

The linear test draws the truth from the inputs' spread, draws what is read, conditions the inputs on it, cuts
what is not cut yet by what is then known, and lets the verdict rule decide. The other goes the whole way.
"""

from collections import Counter
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from spanwright.advice.candidates import chord_of, common_candidates, own_candidates
from spanwright.advice.outlook import asked, outlook, taken, with_reading
from spanwright.advice.recut import uncut_shafts
from spanwright.advice.stage import advise
from spanwright.advice.state import work_state
from spanwright.clearance.verdict import decide, joint_factor
from spanwright.estimation.condition import learn, spread_with
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import size
from spanwright.findings import Verdict
from spanwright.job import Choices, derive
from spanwright.measured.teach import Taught
from spanwright.structures.supports import CUT_STEP

pytestmark = pytest.mark.slow
K = 2.0
WITHIN = 0.05  # points of probability by which a promise may be off
GROUND = "h56 x 4"  # the height of what the bent's right column is glued to, read four times more


@pytest.fixture(scope="module")
def shafts(plan):
    return uncut_shafts(plan.structures, plan.inputs, frozenset(), K)


def candidates_of(plan, gap):
    state = work_state(plan)
    chord = next(chord_of(r.vehicle) for r in plan.job.clearance.runs if r.vehicle.id == gap.vehicle)
    return {c.id: c for c in (*common_candidates(plan, state), *own_candidates(plan, gap, chord, state))}


def promised(plan, gap, shafts, chosen):
    it = asked(gap, plan.inputs, shafts, k=K, low=K)
    read = plan.inputs.spread.scaled(
        np.array([np.pad(c.jac, (0, len(plan.inputs) - len(c.jac))) for c in chosen])
    )
    for at, candidate in enumerate(chosen):
        it = taken(it, read[at], candidate.sd)
        read = with_reading(read, read[at], candidate.sd)
    return outlook(it)


def drawn(plan, chosen, rng):
    """Draw the truth and what is read; return what was learnt and how well it is known then."""
    inputs, n = plan.inputs, len(plan.inputs)
    jac = np.array([np.pad(c.jac, (0, n - len(c.jac))) for c in chosen])
    sds = np.array([c.sd for c in chosen])
    truth = rng.normal(size=n) * inputs.sds
    read = jac @ truth + rng.normal(size=len(sds)) * sds
    ids = tuple(item.id for item in inputs.items)
    return learn(Derived(np.zeros(len(sds)), jac), read, sds, prior=(ids, inputs.sds), at=np.zeros(n))


def lengths_then(support, plan, learnt, spread):
    """Cut anew by what is known: as low as the doubt asks, rounded down."""
    n, truly = len(plan.inputs), [plan.inputs.derived(key) for key in support.given.cut]
    footing = size(plan.inputs, support.given.footing) if support.given.footing else None
    assert footing is not None
    levels, bases = [], []
    for cut, own in zip(support.cuts, truly, strict=True):
        wanted, base = cut.wanted.padded(n), cut.base.padded(n)
        bases.append(float(base.value) + float(base.jac @ learnt.moves))
        value = float(wanted.value) + float(wanted.jac @ learnt.moves)
        levels.append(value - K * float(spread.doubt((wanted - own).jac)) + bases[-1])
    return np.array([np.floor((min(levels) - b) / CUT_STEP + 1e-9) * CUT_STEP for b in bases])


def happens(plan, gap, chosen, draws, seed):
    rng = np.random.default_rng(seed)
    n = len(plan.inputs)
    bent = next(s for s in plan.structures.supports if s.given.name == gap.part.partition("/")[0])
    columns = [plan.inputs.column(key) for key in bent.given.cut]
    own = np.array([g.padded(n).jac for g in gap.witness_gaps])
    grown = np.array([g.padded(n).jac for g in gap.witness_margins])
    found = Counter()
    for _ in range(draws):
        learnt = drawn(plan, chosen, rng)
        spread = spread_with(plan.inputs.sds, learnt)
        longer = lengths_then(bent, plan, learnt, spread) - np.array([c.length for c in bent.cuts])
        values = [
            np.array([float(g.value) for g in numbers]) + jac @ learnt.moves + jac[:, columns] @ longer
            for numbers, jac in ((gap.witness_gaps, own), (gap.witness_margins, grown))
        ]
        found[decide(values[0], spread.doubt(own), values[1], spread.doubt(grown), k=K)] += 1
    return {word: found[word] / draws for word in Verdict}


def open_gap(plan, part):
    return next(g for g in plan.clearance.gaps if g.part == part and g.verdict is not Verdict.CLEAR)


@pytest.mark.parametrize(
    ("part", "ids"),
    [
        ("bent/column left", ["versine/lower"]),
        ("bent/column right", ["supports/bent/clear/right"]),
        ("bent/cap", ["crossing/upper/lower/1/right over right"]),
        ("bent/cap", ["bent/column right/lower railhead over base", "bent/column left/railhead over base"]),
        ("bent/cap", [GROUND]),
        ("bent/cap", [GROUND, "h57 x 4"]),
        ("bent/cap", [GROUND, "h54 x 4", "versine/lower"]),
    ],
)
@pytest.mark.parametrize("nearer", [0.0, 0.2])
def test_each_word_comes_as_often_as_promised(plan, shafts, part, ids, nearer):
    """As it stands, and with the gap moved to where the words are evenly likely."""
    gap = open_gap(plan, part)
    gap = replace(gap, witness_gaps=tuple(g + nearer for g in gap.witness_gaps))
    known = candidates_of(plan, gap)
    chosen = [known[key] for key in ids]
    told = promised(plan, gap, shafts, chosen)
    seen = happens(plan, gap, chosen, 2000, seed=5)
    for word in Verdict:
        assert told.chances[word] == pytest.approx(seen[word], abs=WITHIN), word


def test_a_length_that_makes_up_for_what_is_read_does_so_in_steps(plan, shafts):
    """The ground under a column moves, the column is cut so much longer or shorter, but for its rounding.

    The gap is put where a word changes, the reading swept over all that it may say, and the bridge derived
    again each time. Taken for its average, the length would leave nothing that moves: a promise of 0 or 1.
    """
    gap, many = open_gap(plan, "bent/cap"), 25
    chosen = candidates_of(plan, gap)[GROUND]
    jac = np.pad(chosen.jac, (0, len(plan.inputs) - len(chosen.jac)))[None]
    wide = float(np.hypot(chosen.sd, plan.inputs.spread.doubt(jac[0])))
    ids = tuple(item.id for item in plan.inputs.items)
    swept = []
    for part in (np.arange(many) + 0.5) / many:
        learnt = learn(
            Derived(np.zeros(1), jac),
            np.array([wide * NormalDist().inv_cdf(part)]),
            np.array([chosen.sd]),
            prior=(ids, plan.inputs.sds),
            at=np.zeros(len(plan.inputs)),
        )
        held = Choices(
            alignment=plan.choices.alignment,
            structures=None,
            clearance=plan.choices.clearance,
            taught=Taught(learnt=learnt, unknown=(), tested=()),
        )
        swept.append(next(g for g in derive(plan.job, held).clearance.gaps if g.id == gap.id))
    least = min(float(g.gap.value) for g in swept)
    most = max(float(g.gap.value) for g in swept)
    assert most - least > 0.05
    limit = joint_factor(K, len(gap.witness_gaps)) * swept[0].u
    for edge in np.linspace(least, most, 7)[1:-1]:
        nearer = limit - edge
        at = replace(gap, witness_gaps=tuple(g + nearer for g in gap.witness_gaps))
        told = promised(plan, at, shafts, [chosen]).chances[Verdict.TIGHT]
        seen = np.mean([float(g.gap.value) >= edge for g in swept])
        assert told == pytest.approx(seen, abs=WITHIN + 1.0 / many)
        assert 0.0 < told < 1.0


def test_a_named_plan_of_readings_keeps_its_promise(plan, shafts):
    advice = next(a for a in advise(plan) if len(a.steps) > 1)
    gap = next(g for g in plan.clearance.gaps if g.id == advice.gap)
    known = candidates_of(plan, gap)
    seen = happens(plan, gap, [known[s.reading] for s in advice.steps], 2000, seed=7)
    for word, chance in advice.steps[-1].outlook.chances.items():
        assert chance == pytest.approx(seen[word], abs=WITHIN), word


@pytest.mark.parametrize(
    ("part", "ids"),
    [
        ("bent/column left", ["versine/lower"]),
        (
            "bent/cap",
            ["bent/column right/lower railhead over base", "crossing/upper/lower/1/right over right"],
        ),
    ],
)
def test_the_whole_plan_derived_again_decides_as_foretold(plan, shafts, part, ids):
    """Inputs as a drawn reading leaves them; what is not cut is cut anew, no choice of the bridge held.

    With so few draws only a gross fault of a promise would show in how often each word comes, so the numbers
    themselves are held to those foretold as well.
    """
    gap = open_gap(plan, part)
    known, rng, draws = candidates_of(plan, gap), np.random.default_rng(11), 24
    chosen = [known[key] for key in ids]
    told = promised(plan, gap, shafts, chosen)
    words, values = Counter(), []
    for _ in range(draws):
        learnt = drawn(plan, chosen, rng)
        held = Choices(
            alignment=plan.choices.alignment,
            structures=None,
            clearance=plan.choices.clearance,
            taught=Taught(learnt=learnt, unknown=(), tested=()),
        )
        after = derive(plan.job, held)
        again = next(g for g in after.clearance.gaps if g.id == gap.id)
        words[again.verdict] += 1
        number = (
            (again.margin_gap, again.margin_u) if float(gap.margin_gap.value) > 0 else (again.gap, again.u)
        )
        assert number[1] == pytest.approx(told.after, rel=0.03)
        values.append(float(number[0].value))
    for word, chance in told.chances.items():
        wide = 3.0 * np.sqrt(max(chance * (1.0 - chance), 0.02) / draws)
        assert words[word] / draws == pytest.approx(chance, abs=wide + WITHIN), word
    assert len(values) == draws
