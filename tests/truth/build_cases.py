"""Jobs and small made-up bridges, derived without trains, for tests of the parts list and the steps."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import numpy as np

import spanwright.files
from spanwright.alignment.crossing import find_crossings
from spanwright.alignment.stage import Alignments, LaidLine
from spanwright.build.stage import plan_build
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.parts.given import PartsInput
from spanwright.structures.given import CapForm, SupportKind
from spanwright.structures.stage import fit_structures
from truth.line_scenes import Sizes, bridge, exact_line, pier, span

JOBS = {
    "demo": Path(spanwright.files.__file__).parent / "demo" / "job.toml",
    "oo": Path(__file__).parents[1] / "jobs" / "oo" / "job.toml",
    "h0": Path(__file__).parents[1] / "jobs" / "h0" / "job.toml",
}


class Ground:
    """Stands in for the adjusted survey: heights of ground marks as base inputs."""

    def __init__(self, sizes, **heights):
        self.keys = {name: sizes.free(z, 0.25) for name, z in heights.items()}
        self.sizes = sizes

    def value(self, name):
        return self.sizes.inputs.derived(self.keys[name.partition(".")[0]])


def fitted(sizes, ground, given):
    """Fit a bridge on level straight track, 80 mm up, over a line at 80 degrees to it."""
    above = exact_line(height=80.0)
    below = exact_line("lower", start=(500.0, -450.0), heading=np.radians(80.0), height=12.0)
    laid = tuple(
        LaidLine(
            line=x, mark_names=(), stations=None, residuals=np.zeros(0), description=(), shortest_wave=0.0
        )
        for x in (above, below)
    )
    crossings = find_crossings(above, below)
    lines = Alignments(inputs=sizes.inputs, lines=laid, crossings=crossings, choices=(), findings=())
    return fit_structures(given, ground, lines)


def made_up(kind, parts=None):
    """One span without a bent, a bent with its cap level with the girders, or four spans on three piers."""
    sizes = Sizes()
    ground = Ground(sizes, g=1.0, h=2.0)
    names = {"one span": "pq", "level": "pqr", "four spans": "pqrst"}[kind]
    ends = SupportKind.ABUTMENT
    first = -190.5 if kind == "four spans" else -95.5 if kind == "level" else -47.5
    supports = [pier(sizes, n) for n in names]
    supports[0] = replace(supports[0], kind=ends, along=first)
    supports[-1] = replace(supports[-1], kind=ends)
    if kind == "level":
        supports[0] = replace(supports[0], along=None)
        supports[1] = replace(
            supports[1], kind=SupportKind.STRADDLE_BENT, form=CapForm.LEVEL, bases=("g", "h"),
            cut=(*supports[1].cut, sizes.free(0.0, 0.2)),
            clear_left=sizes(16.0, 0.3), clear_right=sizes(15.0, 0.3), footing=sizes(1.5),
        )  # fmt: skip
    spans = [span(sizes, a.upper(), a, b) for a, b in pairwise(names)]
    given = bridge(sizes, spans, supports)
    return SimpleNamespace(
        given=given,
        parts=parts or PartsInput(),
        inputs=sizes.inputs,
        structures=fitted(sizes, ground, given),
        words=None,
        lower=None,
    )


def from_job(name):
    job = load_job(JOBS[name])
    plan = derive(replace(job, clearance=None))
    return SimpleNamespace(
        given=job.structures,
        parts=job.parts or PartsInput(),
        inputs=plan.alignment.inputs,
        structures=plan.structures,
        words=job.words,
        lower=next(x for x in job.lines if x.name == job.structures.lower),
    )


def built(case, clearance=None):
    """Plan the build of a case."""
    return plan_build(case.given, case.parts, case.inputs, case.structures, clearance, lower=case.lower)
