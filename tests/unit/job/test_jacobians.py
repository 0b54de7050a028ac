"""Each stage's derivatives against central differences of the converged stage, choices held.

The demo's readings disagree with one another by as much as their doubts (and one by eight), so the
second derivatives matter. An error is counted against the largest contribution to the same number:
``|dJ| sd < 1e-4 max(|J| sd)``.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from spanwright.files.job_file import load_job
from spanwright.job import Job, Plan, derive, same
from truth import demo

TOLERANCE = 1e-4
STEP = 0.03  # of the input's doubt


@pytest.fixture(scope="module")
def job() -> Job:
    return load_job(Path(demo.SHIPPED).parent)


@pytest.fixture(scope="module")
def plan(job) -> Plan:
    return derive(job)


def survey(p: Plan):
    return {"survey": p.survey.values}


def alignment(p: Plan):
    found = {}
    for laid in p.alignment.lines:
        line = laid.line
        found |= {
            f"{line.name} plan": line.plan,
            f"{line.name} profile": line.profile,
            f"{line.name} cant": line.cant,
        }
        found[f"{line.name} stations"] = laid.stations
    for crossing in p.alignment.crossings:
        found[f"{crossing.id} angle"] = crossing.angle
        for rail in (crossing.centre, *crossing.rails):
            name = f"{crossing.id} {rail.upper_rail} {rail.lower_rail}"
            found |= {
                f"{name} {what}": getattr(rail, what)
                for what in ("x", "y", "upper_station", "lower_station", "separation")
            }
    return found


def structures(p: Plan):
    return {q.id: q.value for q in p.structures.quantities}


def shapes(p: Plan):
    n = len(p.inputs)
    found = {}
    for s in p.structures.shapes:
        jac = np.einsum("vim,mj->vij", s.sensitivity[::37], s.controls.padded(n).jac)
        found[s.part] = (s.vertices[::37], jac)
    return found


def clearance(p: Plan):
    near = [g for g in p.clearance.gaps if not g.beyond_reach]
    return {g.id: g.gap for g in near} | {f"{g.id} margin": g.margin_gap for g in near}


def flat(found, n):
    values, rows = [], []
    for number in found.values():
        value, jac = number if isinstance(number, tuple) else (number.value, number.padded(n).jac)
        values.append(np.ravel(value))
        rows.append(jac.reshape(-1, n))
    return np.concatenate(values), np.concatenate(rows)


def chosen(job, kinds, count):
    rng = np.random.default_rng(20261125)
    columns = [k for k, item in enumerate(job.inputs.items) if item.sd > 0 and item.kind in kinds]
    return sorted(rng.permutation(columns)[:count].tolist())


def worst(job, plan, outputs, columns, *, stages):
    """Largest error of any number's derivative to any of the columns, and where."""
    _, rows = flat(outputs(plan), len(plan.inputs))
    sds = plan.inputs.sds
    scale = np.max(np.abs(rows) * sds, axis=1)
    x = job.inputs.values
    trimmed = replace(job, **dict.fromkeys({"structures", "clearance"} - set(stages)))
    choices = replace(plan.choices, **dict.fromkeys({"structures", "clearance"} - set(stages)))
    found = (0.0, "")
    names = [
        name
        for name, v in outputs(plan).items()
        for _ in range(np.size(v[0] if isinstance(v, tuple) else v.value))
    ]
    for column in columns:
        step = np.zeros(len(x))
        step[column] = STEP * sds[column]
        ends = [
            flat(
                outputs(derive(replace(trimmed, inputs=job.inputs.with_values(x + s * step)), choices)),
                len(plan.inputs),
            )[0]
            for s in (1.0, -1.0)
        ]
        slope = (ends[0] - ends[1]) / (2.0 * step[column])
        error = np.abs(slope - rows[:, column]) * sds[column] / np.where(scale > 0.0, scale, np.inf)
        k = int(np.argmax(error))
        found = max(found, (float(error[k]), f"{names[k]} by {job.inputs.items[column].id}"))
    return found


ALL = ("reading", "shared", "size", "setting out", "cut")


@pytest.mark.parametrize(
    ("outputs", "stages", "count"),
    [(survey, (), 30), (alignment, (), 30), (structures, ("structures",), 25), (shapes, ("structures",), 25)],
)
def test_derivatives_of_a_stage(job, plan, outputs, stages, count):
    error, where = worst(job, plan, outputs, chosen(job, ALL, count), stages=stages)
    assert error < TOLERANCE, where


def test_derivatives_to_every_size_and_setting_out(job, plan):
    columns = chosen(job, ("size", "setting out", "cut", "shared"), 40)
    error, where = worst(job, plan, structures, columns, stages=("structures",))
    assert error < TOLERANCE, where


def test_derivatives_of_the_gaps(job, plan):
    """At held witnesses; a few inputs of each kind."""
    columns = [c for kind in ALL for c in chosen(job, (kind,), 2)]
    error, where = worst(job, plan, clearance, columns, stages=("structures", "clearance"))
    assert error < TOLERANCE, where


def test_the_same_choices_give_the_same_plan(job, plan):
    again = derive(job, plan.choices)
    for outputs in (survey, alignment, structures, shapes, clearance):
        for (name, a), b in zip(outputs(plan).items(), outputs(again).values(), strict=True):
            one, two = (a, b) if isinstance(a, tuple) else ((a.value, a.jac), (b.value, b.jac))
            np.testing.assert_array_equal(one[0], two[0], err_msg=name)
            np.testing.assert_array_equal(one[1], two[1], err_msg=name)
    assert again == plan
    assert same(again.choices, plan.choices)


def test_another_reading_gives_another_plan(job, plan):
    x = job.inputs.values.copy()
    x[job.inputs.column("d20")] += 0.5
    other = replace(job, inputs=job.inputs.with_values(x))
    assert derive(other, plan.choices) != plan
