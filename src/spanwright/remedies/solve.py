"""Find the smallest move that makes a gap clear, with its doubt, and what it does to everything else.

Each trial is the job file edited, read again and derived again: first with the one train that matters, to
find how far, then whole, with every train, before it is shown. Read :func:`find_remedies`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from spanwright.clearance.stage import ClearanceResult, Gap, Mapping
from spanwright.errors import SpanwrightError
from spanwright.files.job_file import job_of
from spanwright.findings import Finding, Severity, Verdict
from spanwright.job import Choices, Job, Plan, derive
from spanwright.remedies.move import Move
from spanwright.remedies.moves import moves_for

#: The words from worst to best.
ORDER = (Verdict.FOUL, Verdict.NOT_PROVEN, Verdict.TIGHT, Verdict.CLEAR)
_FAR = 1000.0  # mm: more than any gap that is looked at
Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Remedy:
    """One move that makes a gap clear, tried by the whole engine.

    Parameters
    ----------
    move : Move
        What is moved.
    by : float
        How far, with its sign. [mixed]
    text : str
        The job file with the move in it.
    plan : Plan
        The plan derived from it.
    worse : tuple of (Gap, Gap)
        Gaps whose word became worse: before and after.
    better : tuple of (Gap, Gap)
        Gaps whose word became better.
    cuts : tuple of (str, float, float)
        Cut sizes that change: id, before and after. [mm]
    findings : tuple of Finding
        Warnings and stops that were not there before.
    """

    move: Move
    by: float
    text: str
    plan: Plan
    worse: tuple[tuple[Gap, Gap], ...]
    better: tuple[tuple[Gap, Gap], ...]
    cuts: tuple[tuple[str, float, float], ...]
    findings: tuple[Finding, ...]


def find_remedies(
    text: str, name: str, plan: Plan, gap: Gap, *, each: Mapping = map, tell: Tell | None = None
) -> tuple[Remedy, ...]:
    """Return what would make one gap clear, the best first.

    Parameters
    ----------
    text : str
        The job file.
    name : str
        What messages call it.
    plan : Plan
        The plan derived from it.
    gap : Gap
        A gap of that plan that is not clear.
    each : callable
        Works through the trains, as ``map`` does.
    tell : callable, optional
        Told how many moves have been tried, and of how many.

    Returns
    -------
    tuple of Remedy
        What makes no other word worse first, then what is done more gladly, then what is smaller. Empty if
        no move helps, as where the ground was not surveyed or a suspect reading is in.

    Notes
    -----
    How far is found on the grid of each move by false position on the margin gap less k times its doubt,
    which is nearly straight in each move; the word of the engine itself decides at every trial.
    """
    if gap.reason:
        return ()
    moves = moves_for(gap, plan.job, plan.inputs)
    found = []
    for number, move in enumerate(moves, start=1):
        by = _how_far(text, name, plan, gap, move)
        if by is not None:
            remedy = _tried(text, name, plan, gap, move=move, by=by, each=each)
            if remedy is not None:
                found.append(remedy)
        if tell:
            tell(number, len(moves))
    return tuple(sorted(found, key=_standing))


def _standing(remedy: Remedy) -> tuple[int, int, int, float]:
    stops = sum(f.severity is Severity.STOP for f in remedy.findings)
    return len(remedy.worse) + stops, len(remedy.findings), remedy.move.rank, abs(remedy.by)


def _how_far(text: str, name: str, plan: Plan, gap: Gap, move: Move) -> float | None:
    """Return the smallest amount on the grid that makes the gap clear; None if the farthest does not."""
    if move.most == 0.0:
        return 0.0 if _room(text, name, plan, gap, move=move, by=0.0)[0] else None
    sign = 1.0 if move.most > 0.0 else -1.0
    low, high = 0, round(abs(move.most) / move.step)
    at_low = plan_room(gap, plan)
    is_clear, at_high = _room(text, name, plan, gap, move=move, by=sign * high * move.step)
    if not is_clear:
        return None
    while high - low > 1:
        share = -at_low / (at_high - at_low) if at_high > at_low else 0.5
        trial = min(max(low + int(share * (high - low)) + 1, low + 1), high - 1)
        is_clear, room = _room(text, name, plan, gap, move=move, by=sign * trial * move.step)
        if is_clear:
            high, at_high = trial, max(room, 0.0)
        else:
            low, at_low = trial, min(room, 0.0)
    return round(sign * high * move.step, 6)


def plan_room(gap: Gap, plan: Plan) -> float:
    """Return what is left of a gap over its margin and its doubt; negative where it is not proven.

    Parameters
    ----------
    gap : Gap
        The gap.
    plan : Plan
        Its plan, for the coverage factor.

    Returns
    -------
    float
        Margin gap less k times its standard uncertainty; very much where it is beyond reach. [mm]
    """
    if gap.beyond_reach:
        return _FAR
    k = plan.job.clearance.k if plan.job.clearance else 2.0
    return max(float(gap.margin_gap.value) - k * gap.margin_u, -_FAR)


def _room(text: str, name: str, plan: Plan, gap: Gap, *, move: Move, by: float) -> tuple[bool, float]:
    """Try a move with the one train that matters: is its gap clear, and what is left."""
    try:
        job = job_of(move.edit(text, by), name)
        trial = derive(_only(job, gap), _held(plan))
    except SpanwrightError:  # what cannot be built so is no remedy
        return False, -_FAR
    gaps = trial.clearance.gaps if trial.clearance else ()
    same = next((g for g in gaps if g.id == gap.id), None)
    if same is None:
        return True, _FAR
    return same.verdict is Verdict.CLEAR, plan_room(same, trial)


def _only(job: Job, gap: Gap) -> Job:
    """Keep of the trains the one that the gap is of."""
    if job.clearance is None:
        return job
    runs = tuple(r for r in job.clearance.runs if r.vehicle.id == gap.vehicle and r.line == gap.line)
    return replace(job, clearance=replace(job.clearance, runs=runs))


def _held(plan: Plan) -> Choices:
    """Hold how the lines were fitted: no move changes a reading."""
    return Choices(alignment=plan.choices.alignment, structures=None, clearance=None)


def _tried(
    text: str, name: str, plan: Plan, gap: Gap, *, move: Move, by: float, each: Mapping
) -> Remedy | None:
    """Derive the whole plan with a move in it; None if the gap is not clear after all."""
    edited = move.edit(text, by)
    try:
        trial = derive(job_of(edited, name), _held(plan), each=each)
    except SpanwrightError:
        return None
    if plan.clearance is None or trial.clearance is None:
        return None
    now = {g.id: g for g in trial.clearance.gaps}
    if gap.id in now and now[gap.id].verdict is not Verdict.CLEAR:
        return None
    return Remedy(
        move=move,
        by=by,
        text=edited,
        plan=trial,
        worse=_changed(plan.clearance, now, worse=True),
        better=_changed(plan.clearance, now, worse=False),
        cuts=_cuts(plan, trial),
        findings=_new_findings(plan, trial),
    )


def _changed(before: ClearanceResult, now: dict[str, Gap], *, worse: bool) -> tuple[tuple[Gap, Gap], ...]:
    found = []
    for gap in before.gaps:
        if gap.id in now:
            step = ORDER.index(now[gap.id].verdict) - ORDER.index(gap.verdict)
            if step != 0 and (step < 0) is worse:
                found.append((gap, now[gap.id]))
    return tuple(found)


def _cuts(plan: Plan, trial: Plan) -> tuple[tuple[str, float, float], ...]:
    if plan.structures is None or trial.structures is None:
        return ()
    before = {c.id: c.length for s in plan.structures.supports for c in s.cuts}
    after = {c.id: c.length for s in trial.structures.supports for c in s.cuts}
    return tuple((key, before[key], after[key]) for key in before if abs(after[key] - before[key]) > 1e-9)


def _new_findings(plan: Plan, trial: Plan) -> tuple[Finding, ...]:
    known = {(f.code, f.where) for f in plan.findings}
    return tuple(
        f
        for f in trial.findings
        if f.severity is not Severity.NOTE and f.code[:2] != "CL" and (f.code, f.where) not in known
    )
