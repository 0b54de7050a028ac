"""Re-drawn demos: the same truth, measured again with fresh errors.

Each draw replaces the values of the demo's readings (and of the gauges and rail heads, by caliper) in
the job that was loaded once, derives survey and alignment, and compares with the truth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from spanwright.alignment.line import track_point
from spanwright.estimation import derived as dv
from spanwright.files.job_file import load_job
from spanwright.geometry.chain import nearest
from spanwright.job import Job, derive
from spanwright.survey.stage import adjust_survey
from truth import demo

CHORD = 120.0  # of the throw, like the truck spacing of a long car
AROUND = np.array([-120.0, -80.0, -40.0, 0.0, 40.0, 80.0, 120.0])  # stations about the crossing
K95 = 1.96


@dataclass
class Setting:
    """What all draws share."""

    job: Job
    truth: demo.Truth
    crossing: tuple[float, float]


def setting() -> Setting:
    """Load the demo and its truth once."""
    truth = demo.make_truth()
    job = load_job(Path(demo.SHIPPED).parent)
    return Setting(
        job=replace(job, structures=None, clearance=None),
        truth=truth,
        crossing=demo.crossing(truth.upper, truth.lower),
    )


def drawn(given: Setting, seed: int, *, blunder: bool) -> Job:
    """The demo's job with fresh readings."""
    rng = np.random.default_rng([seed, 7])
    shown = demo.draw(given.truth, rng, blunder=blunder)
    true_sizes = {"gauge": demo.GAUGE, "rail_head": demo.HEAD}
    values = []
    for item in given.job.inputs.items:
        if item.id in shown:
            # read without a sign, entered with a side: the job holds the sign
            sided = item.id[0] in "ovc"
            values.append(np.copysign(shown[item.id], item.value) if sided else shown[item.id])
            continue
        size = next((v for name, v in true_sizes.items() if f"/{name}" in item.id), None)
        values.append(item.value if size is None else size + rng.normal(0.0, item.sd))
    return replace(given.job, inputs=given.job.inputs.with_values(np.array(values)))


def names_it(given: Setting, seed: int) -> tuple[bool, bool]:
    """Whether the slip is named (alone or among several), and whether a clean survey names one."""
    wrong = drawn(given, seed, blunder=True)
    found = adjust_survey(wrong.survey, wrong.inputs).suspects
    clean = drawn(given, seed + 1_000_000, blunder=False)
    named = any(demo.BLUNDER in s.readings for s in found)
    return named, bool(adjust_survey(clean.survey, clean.inputs).suspects)


def coverage(given: Setting, seed: int) -> dict[str, list[tuple[float, float]]]:
    """Errors and standard uncertainties of a clean draw: sideways, height, throw, separation."""
    job = drawn(given, seed, blunder=False)
    plan = derive(job)
    sds = plan.inputs.sds
    out: dict[str, list[tuple[float, float]]] = {"lateral": [], "height": [], "throw": [], "separation": []}
    for name, track, at in (
        ("upper", given.truth.upper, given.crossing[0]),
        ("lower", given.truth.lower, given.crossing[1]),
    ):
        line = plan.alignment.line(name)
        true_xy = np.array([track.point(at + d) for d in AROUND])
        s = nearest(line.chain, true_xy)
        p = track_point(line, s)
        c, d = np.cos(p.heading.value), np.sin(p.heading.value)
        gap = p.y * c - p.x * d  # offset of the fitted line, to its left
        error = gap.value - (true_xy[:, 1] * c - true_xy[:, 0] * d)
        out["lateral"] += list(zip(error, gap.sd(sds), strict=True))
        true_z = np.array([float(track.height(at + d)) for d in AROUND])
        out["height"] += list(zip(p.z.value - true_z, p.z.sd(sds), strict=True))
        for k in (1, 3, 5):
            here = at + AROUND[k]
            three = np.array([track.point(here + d) for d in (-CHORD / 2, 0.0, CHORD / 2)])
            true = _ordinate(*three)
            q = track_point(line, nearest(line.chain, three))
            dx, dy = q.x[2] - q.x[0], q.y[2] - q.y[0]
            fitted = ((q.y[1] - q.y[0]) * dx - (q.x[1] - q.x[0]) * dy) / dv.sqrt(dx * dx + dy * dy)
            out["throw"].append((float(fitted.value) - true, float(fitted.sd(sds))))
    apart = given.truth.upper.height(given.crossing[0]) - given.truth.lower.height(given.crossing[1])
    got = plan.alignment.crossings[0].centre.separation
    out["separation"].append((float(got.value) - float(apart), float(got.sd(sds))))
    return out


def _ordinate(a, m, b) -> float:
    d = (b - a) / np.linalg.norm(b - a)
    w = m - a
    return float(d[0] * w[1] - d[1] * w[0])
