"""What to measure next: the reading that makes a verdict most likely, and what then is to be expected.

For every gap that is *tight* or *not proven* each reading that can be taken in the state of the work is
tried: the one with the greatest probability of a verdict is named, not the one that shrinks the doubt most. A
short plan follows where one is not enough. Where even perfect readings leave the question open it says so:
then the design must change. Read :func:`advise` first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spanwright.advice.candidates import chord_of, common_candidates, own_candidates, plain_id
from spanwright.advice.given import ADDS, EASIER, ENOUGH, HOPELESS, MOST, WORTH, Advice, Step
from spanwright.advice.outlook import (
    Asked,
    Outlook,
    all_perfect,
    asked,
    outlook,
    outlooks,
    settled,
    taken,
    with_reading,
)
from spanwright.advice.recut import Uncut, uncut_shafts
from spanwright.advice.state import work_state
from spanwright.clearance.stage import Gap
from spanwright.estimation.budget import Candidate
from spanwright.estimation.spread import Spread
from spanwright.findings import Verdict
from spanwright.job import Plan

FloatArray = np.ndarray

#: Probabilities that differ by less are the same: the smaller doubt decides. [1]
_SAME = 0.002


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readable:
    """Candidates with what would be read in terms of the inputs' spread.

    Parameters
    ----------
    candidates : tuple of Candidate
        The readings.
    rows : ndarray, shape (c, n)
        Their derivatives times the root of the inputs' covariance. [any]
    sds : ndarray, shape (c,)
        How well each can be read. [any]
    """

    candidates: tuple[Candidate, ...]
    rows: FloatArray
    sds: FloatArray

    def some(self, kept: Sequence[int]) -> Readable:
        """Return some of them.

        Parameters
        ----------
        kept : sequence of int
            Which.

        Returns
        -------
        Readable
            In that order.
        """
        chosen = list(kept)
        return Readable(
            candidates=tuple(self.candidates[c] for c in chosen), rows=self.rows[chosen], sds=self.sds[chosen]
        )


def readable_now_and_later(candidates: Sequence[Candidate], spread: Spread) -> tuple[Readable, Readable]:
    """Part candidates by when they can be read.

    Parameters
    ----------
    candidates : sequence of Candidate
        All.
    spread : Spread
        Of the base inputs.

    Returns
    -------
    now : Readable
        Those that can be read now.
    later : Readable
        The others.
    """
    jac = np.zeros((len(candidates), len(spread.sds)))
    for row, candidate in zip(jac, candidates, strict=True):
        row[: len(candidate.jac)] = candidate.jac
    every = Readable(
        candidates=tuple(candidates),
        rows=spread.scaled(jac),
        sds=np.array([c.sd for c in candidates]),
    )
    now = [i for i, c in enumerate(candidates) if not c.later]
    later = [i for i, c in enumerate(candidates) if c.later]
    return every.some(now), every.some(later)


def advise(plan: Plan) -> tuple[Advice, ...]:
    """Name the next measurement for every gap that is tight or not proven.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    tuple of Advice
        In the order of the gaps, closest first; none if the job has no gaps.
    """
    if plan.clearance is None or plan.job.clearance is None:
        return ()
    k = plan.job.clearance.k
    low = plan.job.structures.k if plan.job.structures else k
    state = work_state(plan)
    standing = frozenset(name for name in state.parts if state.is_cut(name))
    shafts = uncut_shafts(plan.structures, plan.inputs, standing, low)
    chords = {run.vehicle.id: chord_of(run.vehicle) for run in plan.job.clearance.runs}
    common = common_candidates(plan, state)
    gaps = [g for g in plan.clearance.gaps if _is_open(g)]
    gaps.sort(key=lambda g: float(g.gap.value) - k * g.u)
    return tuple(
        _advice(plan, gap, common + own_candidates(plan, gap, chords[gap.vehicle], state), shafts, (k, low))
        for gap in gaps
    )


def _is_open(gap: Gap) -> bool:
    return gap.verdict in (Verdict.TIGHT, Verdict.NOT_PROVEN) and not gap.beyond_reach


def _advice(
    plan: Plan, gap: Gap, candidates: tuple[Candidate, ...], shafts: list[Uncut], factors: tuple[float, float]
) -> Advice:
    k, low = factors
    it = asked(gap, plan.inputs, shafts, k=k, low=low)
    if gap.suspects:
        text = f"Read {', '.join(gap.suspects)} again: the verdict hangs on it"
        return Advice(gap=gap.id, text=text, before=gap.u)
    if not gap.surveyed:
        text = f"Put marks on line {gap.line} further out: the train stands beyond the last one"
        return Advice(gap=gap.id, text=text, before=gap.u)
    if gap.reason:
        return Advice(gap=gap.id, text=f"First mend this: {gap.reason}", before=gap.u)
    now, later = readable_now_and_later(candidates, plan.inputs.spread)
    chance = outlook(all_perfect(it, now.rows)).settled(it.verdict)
    if chance < HOPELESS:
        return Advice(
            gap=gap.id,
            text="No reading that can be taken now will settle it: change the design",
            before=it.doubt,
            hopeless=True,
            chance_of_all=chance,
            beyond=_later(it, later),
        )
    steps = _plan_of(it, now)
    last = steps[-1].outlook if steps else None
    waits = last is None or last.settled(it.verdict) < ENOUGH
    return Advice(
        gap=gap.id,
        text="" if steps else "No reading taken now would help much",
        before=it.doubt,
        steps=steps,
        chance_of_all=chance,
        settled=steps[0].outlook.settled(it.verdict) if steps and steps[0].outlook else 0.0,
        beyond=_later(it, later) if waits else None,
    )


def _plan_of(it: Asked, now: Readable) -> tuple[Step, ...]:
    """Choose readings one by one, each the best once those before it are taken.

    While a verdict is still far off its probability tells little of which reading to begin with, so a row
    of readings that each shrink the doubt most is tried as well; the likelier row is kept, without what
    adds little.
    """
    rows = [_row_of(it, now, by_doubt=by_doubt) for by_doubt in (False, True)]
    chances = [outlook(_taking(it, now, row)).settled(it.verdict) for row in rows]
    chosen = rows[int(np.argmax(chances))]
    if max(chances) < HOPELESS:
        chosen = rows[1][:1]  # no row settles it; the reading that shrinks the doubt most is something
        if not chosen or _taking(it, now, chosen).doubt > WORTH * it.doubt:
            return ()
    else:
        chosen = _without_idle(it, now, chosen)
    steps = []
    for count in range(1, len(chosen) + 1):
        found = outlook(_taking(it, now, chosen[:count]))
        steps.append(step(now.candidates[chosen[count - 1]], found.after, found))
    return tuple(steps)


def _taking(it: Asked, now: Readable, chosen: list[int]) -> Asked:
    """Count readings as taken, one after the other."""
    read = now.rows[chosen]
    for at, one in enumerate(chosen):
        sd = float(now.sds[one])
        it = taken(it, read[at], sd)
        read = with_reading(read, read[at], sd)
    return it


def _row_of(it: Asked, now: Readable, *, by_doubt: bool) -> list[int]:
    """Return a row of readings that settles it with enough probability, or the longest row allowed."""
    once = [plain_id(candidate) for candidate in now.candidates]
    easy = np.array(
        [EASIER if candidate.id == one else 0.0 for candidate, one in zip(now.candidates, once, strict=True)]
    )
    read, free = now.rows, np.ones(len(once), dtype=bool)
    verdict, chosen = it.verdict, list[int]()
    while len(chosen) < MOST and free.any():
        cases = outlooks(it, read, now.sds)
        worth = -cases.after * (1.0 - easy) if by_doubt else settled(cases.chances, verdict) + easy
        worth = np.where(free, worth, -np.inf)
        like = np.flatnonzero(worth > worth.max() - (0.0 if by_doubt else _SAME))
        pick = int(like[np.argmin(cases.after[like])]) if len(like) else int(np.argmax(worth))
        sd = float(now.sds[pick])
        it, read = taken(it, read[pick], sd), with_reading(read, read[pick], sd)
        free &= np.array([one != once[pick] for one in once])
        chosen.append(pick)
        if outlook(it).settled(verdict) >= ENOUGH:
            break
    return chosen


def _without_idle(it: Asked, now: Readable, chosen: list[int]) -> list[int]:
    """Leave out readings without which the row settles it almost as likely; the best one comes first."""
    kept = list(chosen)
    whole = outlook(_taking(it, now, kept)).settled(it.verdict)
    for one in reversed(chosen):
        rest = [c for c in kept if c != one]
        if rest and outlook(_taking(it, now, rest)).settled(it.verdict) > whole - ADDS:
            kept = rest
    alone = {c: outlook(_taking(it, now, [c])) for c in kept}
    kept.sort(key=lambda c: (-round(alone[c].settled(it.verdict), 2), alone[c].after))
    return kept


def _later(it: Asked, later: Readable) -> Step | None:
    """Return what settles it most likely once it can be read, if it may."""
    if not later.candidates:
        return None
    cases = outlooks(it, later.rows, later.sds, cut=True)
    chances = settled(cases.chances, it.verdict)
    pick = max(range(len(chances)), key=lambda c: (chances[c], -cases.after[c]))
    if chances[pick] < HOPELESS:
        return None
    found = outlook(_taking(it, later, [pick]), cut=True)
    return step(later.candidates[pick], found.after, found)


def step(candidate: Candidate, after: float, found: Outlook | None = None) -> Step:
    """Return a reading as a step of a plan.

    Parameters
    ----------
    candidate : Candidate
        The reading.
    after : float
        Standard uncertainty of the number then. [any]
    found : Outlook, optional
        What is foretold then.

    Returns
    -------
    Step
        The step.
    """
    return Step(
        reading=candidate.id,
        text=candidate.text,
        tool=candidate.tool,
        sd=candidate.sd,
        unit=candidate.unit,
        later=candidate.later,
        after=after,
        outlook=found,
    )
