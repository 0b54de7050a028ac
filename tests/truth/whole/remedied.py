"""A job after its remedies: what is open is moved by just so much that it becomes clear, and all is judged again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from spanwright.alignment.stage import align
from spanwright.clearance.stage import Gap, assess
from spanwright.clearance.suspects import Trust, suspect_shifts
from spanwright.clearance.verdict import joint_factor
from spanwright.findings import Verdict
from spanwright.job import Job, Plan
from spanwright.structures.stage import fit_structures

STEP, ROUNDS = 0.1, 8
#: What may move, and how far at most: the upper line up, a column of the bent out, a handrail out. [mm]
FARTHEST = {"raise": 8.0, "clear": 6.0, "offset": 4.0}
_SLOPE = 0.2  # a move that opens a gap by less of itself does not count
NORMAL = NormalDist()


@dataclass
class Remedied:
    """A plan after its remedies."""

    plan: Plan
    mended: set[str]  # gaps that were open and are clear now


def again(plan: Plan, job: Job) -> Plan:
    """Derive a plan again in which nothing that was read has changed; equal to deriving it whole."""
    lines = align(job.lines, plan.survey, job.inputs, plan.choices.alignment)
    bridge = fit_structures(job.structures, plan.survey, lines)
    gaps = assess(
        lines.inputs,
        {laid.line.name: laid.line for laid in lines.lines},
        bridge.shapes,
        job.clearance,
        trust=Trust(suspects=suspect_shifts(plan.survey, lines.inputs), untrusted=lines.untrusted),
    )
    choices = replace(plan.choices, structures=bridge.choices, clearance=gaps.choices)
    return replace(plan, job=job, alignment=lines, structures=bridge, clearance=gaps, choices=choices)


def remedied(plan: Plan) -> Remedied:
    """Move, a grid step of 0.1 mm or more at a time, until nothing that a move can open is open."""
    first = {g.id for g in open_gaps(plan)}
    moved: dict[str, float] = {}
    for _ in range(ROUNDS):
        wanted = _wanted(plan, moved)
        if not wanted:
            break
        for key, by in wanted.items():
            moved[key] = moved.get(key, 0.0) + by
        inputs = plan.job.inputs
        values = inputs.values
        for key, by in wanted.items():
            values[inputs.column(key)] += by
        plan = again(plan, replace(plan.job, inputs=_same_doubts(inputs, values)))
    return Remedied(plan, first - {g.id for g in open_gaps(plan)})


def _same_doubts(inputs, values):
    items = tuple(replace(item, value=float(v)) for item, v in zip(inputs.items, values, strict=True))
    return replace(inputs, items=items)


def open_gaps(plan: Plan) -> list[Gap]:
    """Return gaps that are not clear for another reason than a suspect reading or a missing survey."""
    return [g for g in plan.clearance.gaps if g.verdict is not Verdict.CLEAR and not g.reason]


def _wanted(plan: Plan, moved: dict[str, float]) -> dict[str, float]:
    """How far each lever has to go from here, the neediest gap of each deciding."""
    wanted: dict[str, float] = {}
    for gap in open_gaps(plan):
        slopes = _levers(plan, gap)
        key = max(slopes, key=slopes.get)
        farthest = FARTHEST[next(word for word in FARTHEST if word in key)]
        if slopes[key] < _SLOPE or moved.get(key, 0.0) >= farthest:
            continue
        k = joint_factor(plan.job.clearance.k, len(gap.witness_margins))
        sds = plan.inputs.spread
        lacks = max(k * gap.wider * float(w.sd(sds)) - float(w.value) for w in gap.witness_margins)
        by = max(np.ceil(max(lacks, 0.0) / slopes[key] / STEP), 1.0) * STEP if np.isfinite(lacks) else 1.0
        wanted[key] = max(wanted.get(key, 0.0), min(float(by), farthest - moved.get(key, 0.0)))
    return wanted


def _levers(plan: Plan, gap: Gap) -> dict[str, float]:
    """What may move and by how much the gap opens with it; a cap rises with the line, as its shafts are cut anew."""
    upper = next(x.raised for x in plan.job.lines if x.name == plan.job.structures.upper)
    name, _, part = gap.part.partition("/")
    keys = [upper] + [
        f"supports/{name}/clear/{side}" for side in ("left", "right") if f"column {side}" in part
    ]
    keys += [f"spans/{name}/handrail/offset"] if part.startswith("handrail") else []
    slopes = {k: float(gap.margin_gap.jac[plan.inputs.column(k)]) for k in keys if k in plan.inputs}
    if gap.side == "above" and part == "cap":
        slopes[upper] = 1.0
    return slopes


def risk(plan: Plan, gap: Gap) -> float:
    """Probability, by the plan, that a gap is under its margin: of all its near equal places together."""
    if gap.beyond_reach:
        return 0.0
    kept = 1.0
    for place in gap.witness_margins:
        u = gap.wider * float(place.sd(plan.inputs.spread))
        kept *= NORMAL.cdf(float(place.value) / u) if u > 0.0 else 1.0
    return 1.0 - kept
