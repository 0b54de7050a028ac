"""Take the reading that is named next from the truth: does the word come that was promised, as often as promised?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spanwright.advice.candidates import chord_of, common_candidates, own_candidates, plain_id
from spanwright.advice.stage import advise
from spanwright.advice.state import work_state
from spanwright.alignment.crossing import find_crossings
from spanwright.alignment.line import cant_at, position_at
from spanwright.alignment.stage import Alignments
from spanwright.clearance.stage import Gap
from spanwright.clearance.verdict import WORDS
from spanwright.estimation.condition import learn
from spanwright.estimation.derived import Derived
from spanwright.findings import Verdict
from spanwright.job import Choices, Plan, derive
from spanwright.measured.gauged import gauged_heights
from spanwright.measured.teach import Taught
from spanwright.structures.stage import Structures
from truth.whole.as_true import AsTrue
from truth.whole.jobs import Known


def promised(known: Known, plan: Plan, true: AsTrue) -> dict | None:
    """Take the next reading that is named for one open gap, derive the plan again, and see which word it gets."""
    named = [a for a in advise(plan) if a.next is not None and a.next.outlook is not None]
    if not named:
        return None
    advice = named[int(known.rng.integers(len(named)))]
    gap = next(g for g in plan.clearance.gaps if g.id == advice.gap)
    run = next(r for r in plan.job.clearance.runs if (r.vehicle.id, r.line) == (gap.vehicle, gap.line))
    state, chord = work_state(plan), chord_of(run.vehicle)
    every = (*common_candidates(plan, state), *own_candidates(plan, gap, chord, state))
    candidate = next(c for c in every if c.id == advice.next.reading)
    foretold, really = _both(known, plan, true, (gap, chord), plain_id(candidate))
    read = really + known.rng.normal(0.0, candidate.sd)
    n = len(plan.inputs)
    jac = np.zeros((1, n))
    jac[0, : len(candidate.jac)] = candidate.jac
    learnt = learn(
        Derived(np.array([foretold]), jac),
        np.array([read]),
        np.array([candidate.sd]),
        prior=(tuple(item.id for item in plan.inputs.items), plan.inputs.sds),
        at=np.zeros(n),
    )
    taught = Taught(learnt=learnt, unknown=(), tested=())
    job = replace(plan.job, clearance=replace(plan.job.clearance, runs=(run,)))
    held = Choices(alignment=plan.choices.alignment, structures=None, clearance=None, taught=taught)
    after = next(g for g in derive(job, held).clearance.gaps if g.id == gap.id)
    outlook = advice.next.outlook
    miss = (read - foretold) / float(np.hypot(candidate.sd, plan.inputs.spread.doubt(jac[0])))
    return {
        "reading": _kind(candidate.id),
        "chances": [outlook.chances[word] for word in WORDS],
        "word": WORDS.index(after.verdict),
        "settled": [outlook.settled(gap.verdict), int(_settles(gap.verdict, after.verdict))],
        "miss": float(miss),
    }


def _settles(before: Verdict, after: Verdict) -> bool:
    wanted = {Verdict.CLEAR, Verdict.FOUL} | ({Verdict.TIGHT} if before is Verdict.NOT_PROVEN else set())
    return after in wanted


def _kind(key: str) -> str:
    """Say of what kind a reading is, so that they can be counted."""
    kinds = {
        "versine": "a versine at the structure",
        "cross level": "a cross level at the structure",
        "middle ordinate": "a versine over a span",
        "lower railhead over base": "lower railhead over a base",
        "railhead over base": "railhead over a base",
        " over ": "rail over rail at the crossing",
    }
    found = next((kind for word, kind in kinds.items() if word in key), None)
    return found or ("a piece" if "/" in key else "a reading of the survey again")


def _both(known: Known, plan: Plan, true: AsTrue, at: tuple[Gap, float], key: str) -> tuple[float, float]:
    """Return what the plan says would be read, and what truly would be, without the reading's own error."""
    ids = plan.survey.reading_ids
    if key in known.would_read:
        row = ids.index(key)
        said = float(plan.job.inputs[key].value) - float(plan.survey.adjustment.residuals[row])
        return said, known.would_read[key]
    if key in known.true_inputs:
        return float(plan.inputs[key].value), float(true.inputs[key].value)
    return tuple(
        _number(key, at, alignments, bridge)
        for alignments, bridge in ((plan.alignment, plan.structures), (true.alignments, true.structures))
    )


def _number(key: str, at: tuple[Gap, float], alignments: Alignments, bridge: Structures) -> float:
    """Return a number that can be read, of the plan or of the truth.

    Raises
    ------
    KeyError
        If readings of this kind are not known here: say above how they are taken from the truth.
    """
    gap, chord = at
    line = alignments.line(gap.line)
    if key.startswith("versine/"):
        s = gap.station + 0.5 * chord * np.array([-1.0, 0.0, 1.0])
        (a, m, b), _ = position_at(line, s)
        d = (b - a) / np.linalg.norm(b - a)
        return float(d[0] * (m - a)[1] - d[1] * (m - a)[0])
    if key.startswith("cross level/"):
        return float(cant_at(line, np.array([gap.station]))[0])
    numbers = {q.id: q.value for q in bridge.quantities} | gauged_heights(bridge, alignments)
    if key.startswith("crossing/"):
        for crossing in find_crossings(alignments.line("upper"), alignments.line("lower")):
            for rail in crossing.rails:
                numbers[f"{crossing.id}/{rail.upper_rail} over {rail.lower_rail}"] = rail.separation
    return float(numbers[key].value)
