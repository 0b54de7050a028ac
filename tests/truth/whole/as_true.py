"""The plan's numbers as they truly are: its bridge on the true lines, of pieces of their true sizes.

What the plan decided (stations, cut lengths, which crossing) is held, for its derivatives hold it too. A true line
is handed over as a chain so fine that it lies on the truth (how well is checked in the tests); its stations are
counted from where the plan's own frame begins.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import Line
from spanwright.alignment.stage import Alignments
from spanwright.clearance.stage import Gap, assess
from spanwright.estimation.derived import constant
from spanwright.estimation.inputs import Inputs, size
from spanwright.geometry.chain import Chain
from spanwright.job import Plan
from spanwright.structures.stage import Structures, fit_structures
from truth import demo
from truth.whole.jobs import Known

STEP = 5.0


@dataclass
class Bases:
    """Stands in for the adjusted survey: true heights of what the supports are glued to."""

    marks: dict
    columns: int

    def value(self, name):
        return constant(np.float64(self.marks[name.partition(".")[0]][2]), self.columns)


@dataclass
class AsTrue:
    """The plan as it truly is; nothing but sizes has derivatives."""

    inputs: Inputs
    lines: dict[str, Line]
    alignments: Alignments
    structures: Structures


def as_true(known: Known, plan: Plan) -> AsTrue:
    """Build the plan's bridge on the true lines, of true pieces."""
    moved = plan.job.inputs.values - known.job.inputs.values  # by a remedy
    inputs = known.true_inputs.with_values(known.true_inputs.values + moved)
    tracks = {"lower": known.world.truth.lower, "upper": known.world.truth.upper}
    lines = {name: true_line(track, plan, name, inputs) for name, track in tracks.items()}
    laid = tuple(replace(one, line=lines[one.line.name]) for one in plan.alignment.lines)
    alignments = replace(plan.alignment, inputs=inputs, lines=laid)
    bases = Bases(known.world.truth.marks, len(inputs))
    structures = fit_structures(plan.job.structures, bases, alignments, plan.structures.choices)
    return AsTrue(inputs, lines, alignments, structures)


def true_gaps(true: AsTrue, plan: Plan) -> dict[str, Gap]:
    """Search the gaps of the plan's trains to the true bridge on the true lines."""
    settings = plan.job.clearance
    settings = replace(settings, search=replace(settings.search, also_within=0.0), gauges=())
    found = assess(true.inputs, true.lines, true.structures.shapes, settings)
    return {gap.id: gap for gap in found.gaps}


def true_line(track: demo.Track, plan: Plan, name: str, inputs: Inputs) -> Line:
    """Hand over a true line, by stations of the plan's frame, raised by what the job raises it by."""
    frame = dict(plan.choices.alignment)[name].plan
    fitted, n = plan.alignment.line(name), len(inputs)
    entry = next(line for line in plan.job.lines if line.name == name)
    ahead = np.array([np.cos(frame.direction), np.sin(frame.direction)])
    along = np.column_stack([track.x, track.y]) @ ahead - np.array(frame.origin) @ ahead
    near = slice(0, len(track.s) // 4)
    nought = float(np.interp(0.0, along[near], track.s[near]))
    length, bend = fitted.chain.knots[-1], track.curvature
    corners = np.array([bend.start, bend.start + bend.easement]) - nought
    even = np.linspace(0.0, length, int(length / STEP) + 1)
    knots = np.unique(np.concatenate([even, np.clip(corners, 0.0, length)]).round(3))
    s = knots + nought
    start, heading, kappa = track.point(nought), float(track.direction(nought)), bend(s)
    rise = float(inputs[entry.raised].value) if entry.raised else 0.0
    grades = (track.height(s + 0.01) - track.height(s - 0.01)) / 0.02
    return Line(
        name=name,
        chain=Chain(start=(float(start[0]), float(start[1])), heading=heading, knots=knots, curvature=kappa),
        plan=constant(np.concatenate([start, [heading], kappa]), n),
        grade_knots=knots,
        profile=constant(np.concatenate([[track.height(nought) + rise], grades]), n),
        cant_knots=knots,
        cant=constant(track.cant(s), n),
        head_distance=size(inputs, entry.gauge) + size(inputs, entry.rail_head),
        surveyed=fitted.surveyed,
    )
