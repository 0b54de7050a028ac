"""One trial: the whole plan derived at drawn inputs, everything held that was chosen but the closest points.

These are searched anew, since where a train comes closest may lie elsewhere when the inputs are otherwise.
Only the trains whose gaps are asked for run. Read :func:`asked` and :func:`trial`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.clearance.stage import Gap
from spanwright.errors import SpanwrightError
from spanwright.estimation.condition import Learnt
from spanwright.estimation.derived import Derived
from spanwright.estimation.quantity import Quantity
from spanwright.findings import Verdict
from spanwright.job import Choices, Job, Plan, derive
from spanwright.measured.teach import Taught

FloatArray = np.ndarray

#: A gap further than this many doubts from changing its word is not asked for.
NEAR = 4.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """What every trial is sent.

    Parameters
    ----------
    job : Job
        With the trains whose gaps are asked for, and no others.
    choices : Choices
        All that is held; no closest points.
    ids : tuple of str
        The base inputs.
    before : ndarray, shape (n,)
        How far the inputs had moved in the plan itself, by later readings. [any]
    numbers : tuple of str
        Ids of the numbers of the bridge that are asked for.
    gaps : tuple of str
        Ids of the gaps, of each the gap and the margin gap.
    """

    job: Job
    choices: Choices
    ids: tuple[str, ...]
    before: FloatArray
    numbers: tuple[str, ...]
    gaps: tuple[str, ...]


def watched_numbers(plan: Plan) -> tuple[Quantity, ...]:
    """Return the numbers of the bridge that have a doubt.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    tuple of Quantity
        Heights, offsets, lengths.
    """
    if plan.structures is None:
        return ()
    spread = plan.inputs.spread
    return tuple(q for q in plan.structures.quantities if float(q.value.sd(spread)) > 0.0)


def watched_gaps(plan: Plan) -> tuple[Gap, ...]:
    """Return the gaps whose words could turn.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    tuple of Gap
        Those that are not clear, and clear ones near the limit of their word; none that is only a bound.
    """
    if plan.clearance is None:
        return ()
    return tuple(
        g
        for g in plan.clearance.gaps
        if not g.beyond_reach
        and np.isfinite(g.gap.value)
        and g.u > 0.0
        and (g.verdict is not Verdict.CLEAR or float(g.margin_gap.value) < NEAR * g.margin_u)
    )


def asked(plan: Plan) -> Asked:
    """Return what the trials of a plan are sent.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    Asked
        To be kept for all trials.
    """
    gaps = watched_gaps(plan)
    runs = {(g.line, g.vehicle) for g in gaps}
    settings = plan.job.clearance
    if settings is not None and runs:
        kept = tuple(run for run in settings.runs if (run.line, run.vehicle.id) in runs)
        settings = replace(settings, runs=kept, gauges=())
    else:
        settings = None
    inputs = plan.inputs
    before = np.zeros(len(inputs))
    if inputs.learnt is not None:
        before[: len(inputs.learnt.moves)] = inputs.learnt.moves
    return Asked(
        job=replace(plan.job, clearance=settings, fixed=()),
        choices=replace(plan.choices, clearance=None),
        ids=tuple(item.id for item in inputs.items),
        before=before,
        numbers=tuple(q.id for q in watched_numbers(plan)),
        gaps=tuple(g.id for g in gaps),
    )


def moved(ask: Asked, by: FloatArray) -> Plan:
    """Derive the plan with its base inputs moved.

    Parameters
    ----------
    ask : Asked
        What is held.
    by : ndarray, shape (n,)
        How far each base input is moved, the unseen ones of the lines included. [any]

    Returns
    -------
    Plan
        Its closest points are searched anew.
    """
    none = Taught(learnt=None, unknown=(), tested=())
    learnt = Learnt(
        ids=ask.ids, moves=ask.before + by, directions=np.zeros((len(ask.ids), 0)), shrunk=np.zeros(0)
    )
    taught = replace(ask.choices.taught or none, learnt=learnt)
    return derive(ask.job, replace(ask.choices, taught=taught))


def trial(ask: Asked, by: FloatArray) -> FloatArray:
    """Work out all that is asked for at moved inputs.

    Parameters
    ----------
    ask : Asked
        What is asked for.
    by : ndarray, shape (n,)
        How far each base input is moved. [any]

    Returns
    -------
    ndarray, shape (numbers + 2 gaps,)
        The numbers; then of each gap the gap and the margin gap. Not finite where there is none; all so where
        the plan cannot be derived there. [any]
    """
    found = np.full(len(ask.numbers) + 2 * len(ask.gaps), np.nan)
    try:
        plan = moved(ask, by)
    except SpanwrightError:
        return found  # counted as a trial that failed
    if plan.structures is not None:
        known = {q.id: float(q.value.value) for q in plan.structures.quantities}
        found[: len(ask.numbers)] = [known.get(key, np.nan) for key in ask.numbers]
    if plan.clearance is not None:
        gaps = {g.id: g for g in plan.clearance.gaps if not g.beyond_reach}
        for k, key in enumerate(ask.gaps):
            if key in gaps:
                at = len(ask.numbers) + 2 * k
                found[at : at + 2] = float(gaps[key].gap.value), float(gaps[key].margin_gap.value)
    return found


def foretold(numbers: tuple[Derived, ...], by: FloatArray) -> FloatArray:
    """Return what derivatives foretell of the least of some numbers.

    Parameters
    ----------
    numbers : tuple of Derived
        One, or the near equal witnesses of one gap.
    by : ndarray, shape (m, n)
        Moves of the base inputs, one trial a row. [any]

    Returns
    -------
    ndarray, shape (m,)
        The least in each trial. [any]
    """
    each = [float(number.value) + by[:, : number.jac.shape[-1]] @ number.jac for number in numbers]
    return np.asarray(np.min(each, axis=0))
