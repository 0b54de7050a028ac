"""Work through one random job and keep what is to be counted, small enough to be written on one line.

Read :func:`record` first, then :mod:`truth.whole.tally`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spanwright.alignment.given import TrackKind
from spanwright.clearance.chance.joint import joint_risk
from spanwright.errors import SpanwrightError
from spanwright.findings import Verdict
from spanwright.job import Plan, derive
from truth.whole import outputs
from truth.whole.as_built import as_built, late_and_early
from truth.whole.as_true import as_true, true_gaps
from truth.whole.jobs import Known, make_known
from truth.whole.promised import promised
from truth.whole.remedied import open_gaps, remedied, risk
from truth.whole.world import SHORT_WAVES

K95 = 1.96
LATE_EVERY, BUILT_EVERY = 50, 3  # how often what costs much is done


def record(date: int, number: int) -> dict:
    """Draw a job, derive it, and compare: as planned, after its remedies, and as built."""
    known = make_known(date, number)
    found: dict = {"job": number, "waves": known.world.has_waves}
    try:
        plan = derive(known.job)
        true = as_true(known, plan)
        gaps = true_gaps(true, plan)
        found["planned"] = _counts(
            outputs.of_lines(known, plan), outputs.of_bridge(plan, true), outputs.of_gaps(plan, gaps)
        )
        found["words"] = _words(plan, gaps)
        found["clear"], found["joint"] = _clear(plan, gaps), _joint(plan, gaps)
        found |= _after_remedies(known, plan)
        promise = promised(known, plan, true)
        if promise is not None:
            found["promise"] = promise
        if number // 2 % BUILT_EVERY == 0:
            taught = as_built(known, plan, true)
            now = as_true(known, taught)
            shown = sum(t.used for t in taught.choices.taught.tested)
            found["built"] = _counts(
                outputs.of_lines(known, taught),
                outputs.of_bridge(taught, now),
                outputs.of_gaps(taught, true_gaps(now, taught)),
            )
            found["readings"] = [shown, len(taught.choices.taught.tested)]
        if number % LATE_EVERY == 0:
            found["late"] = late_and_early(known)
    except SpanwrightError as error:
        found["refused"] = f"{error.code} {error.what}"
    return found


def short_waves(date: int, track: TrackKind, number: int) -> dict:
    """Compare a place with waves that its marks barely see, said to be track of this kind."""
    known = make_known(date, 2 * number + 1, waves=SHORT_WAVES)
    lines = tuple(replace(line, track=track) for line in known.job.lines)
    known.job = replace(known.job, lines=lines)
    plan = derive(known.job)
    gaps = true_gaps(as_true(known, plan), plan)
    return {
        "job": number,
        "waves": True,
        "planned": _counts(outputs.of_lines(known, plan), outputs.of_gaps(plan, gaps)),
        "clear": _clear(plan, gaps),
    }


def _counts(*pairs: outputs.Pairs) -> dict[str, list[float]]:
    """How many numbers, how many cover, sum and square sum of error over doubt, square sums of both, by class."""
    out = {}
    for one in pairs:
        for what, rows in one.items():
            error, u = np.array(rows).T
            z = error / u
            sums = (np.sum(z), np.sum(z * z), np.sum(error * error), np.sum(u * u))
            out[what] = [len(z), int(np.sum(np.abs(z) < K95)), *(float(one) for one in sums)]
    return out


def _words(plan: Plan, gaps: dict) -> dict[str, list[int]]:
    """How often each word is said, and how often it is not so."""
    wrong = {
        Verdict.CLEAR: lambda g: float(g.margin_gap.value) < 0.0,
        Verdict.TIGHT: lambda g: float(g.gap.value) < 0.0,
        Verdict.FOUL: lambda g: float(g.gap.value) >= 0.0,
        Verdict.NOT_PROVEN: lambda g: False,
    }
    out: dict[str, list[int]] = {}
    for gap in plan.clearance.gaps:
        counts = out.setdefault(gap.verdict.name, [0, 0])
        counts[0] += 1
        counts[1] += int(wrong[gap.verdict](gaps[gap.id]))
    return out


def _clear(plan: Plan, gaps: dict, only: set[str] | None = None) -> list[float]:
    """Of gaps called clear: how many, the sum of their stated risks, how many truly are under the margin."""
    chosen = [g for g in plan.clearance.gaps if g.verdict is Verdict.CLEAR and (only is None or g.id in only)]
    under = sum(float(gaps[g.id].margin_gap.value) < 0.0 for g in chosen)
    return [len(chosen), sum(risk(plan, g) for g in chosen), under]


def _joint(plan: Plan, gaps: dict) -> list[float]:
    """Return the stated chance that some gap called clear is short of its margin, and whether one is."""
    return [joint_risk(plan.clearance, plan.inputs.spread).short.part, int(_clear(plan, gaps)[2] > 0)]


def _after_remedies(known: Known, plan: Plan) -> dict:
    mended = remedied(plan)
    if mended.plan is plan:
        return {}
    gaps = true_gaps(as_true(known, mended.plan), mended.plan)
    return {
        "clear after": _clear(mended.plan, gaps),
        "mended": _clear(mended.plan, gaps, mended.mended),
        "joint": _joint(mended.plan, gaps),
        "still open": len(open_gaps(mended.plan)),
    }
