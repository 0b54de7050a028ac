"""Errors and standard uncertainties of a plan's numbers against the truth, by class of output."""

from __future__ import annotations

import numpy as np

from spanwright.alignment.line import track_point
from spanwright.clearance.stage import Gap
from spanwright.estimation import derived as dv
from spanwright.geometry.chain import nearest
from spanwright.job import Plan
from truth.whole.as_true import AsTrue
from truth.whole.jobs import Known

AROUND = np.linspace(-150.0, 150.0, 7)  # stations about the crossing: where the bridge stands
CHORDS = (60.0, 120.0)  # of the throw, as the truck spacing of short and long cars
WITHIN = 20.0  # mm: gaps that the plan puts farther off are not looked at

#: Class of output by the last words of a number's id.
CLASSES = {
    "railhead": "railhead over the bearings",
    "girder top": "girder tops",
    "seat": "seats",
    "rail over girder": "offset of the track over the girders",
    "worst offset": "offset of the track over the girders",
    "shift": "offset of the track over the girders",
    "middle ordinate": "offset of the track over the girders",
    "vertical middle ordinate": "vertical middle ordinate and rocking",
    "rocks by": "vertical middle ordinate and rocking",
    "end gap left": "gaps between girder ends",
    "end gap right": "gaps between girder ends",
    "jog": "steps and kinks between spans, pitch",
    "kink": "steps and kinks between spans, pitch",
    "pitch": "steps and kinks between spans, pitch",
    "edge": "room of shoes on caps",
    "between shoes": "room of shoes on caps",
    "wanted": "cut sizes wanted",
    "length": "cut sizes as made, and what is trimmed",
    "trimmed": "cut sizes as made, and what is trimmed",
    "cap top": "caps as built",
    "soffit": "caps as built",
    "base": "heights of the bases",
    "packing": "packing",
}
Pairs = dict[str, list[tuple[float, float]]]


def of_lines(known: Known, plan: Plan) -> Pairs:
    """Compare both lines about the crossing, by the geometry of the truth alone."""
    out: Pairs = {}
    sds, world = plan.inputs.spread, known.world

    def add(what, error, number):
        pairs = zip(np.atleast_1d(error), np.atleast_1d(number.sd(sds)), strict=True)
        out.setdefault(what, []).extend((float(e), float(u)) for e, u in pairs)

    tracks = (
        ("upper", world.truth.upper, world.crossing[0]),
        ("lower", world.truth.lower, world.crossing[1]),
    )
    for name, track, at in tracks:
        line = plan.alignment.line(name)
        entry = next(x for x in plan.job.lines if x.name == name)
        rise = float(plan.job.inputs[entry.raised].value)
        true_xy = np.array([track.point(at + d) for d in AROUND])
        p = track_point(line, nearest(line.chain, true_xy))
        c, d = np.cos(p.heading.value), np.sin(p.heading.value)
        aside = p.y * c - p.x * d
        add("sideways place of the lines", aside.value - (true_xy[:, 1] * c - true_xy[:, 0] * d), aside)
        add("railhead of the lines", p.z.value - track.height(at + AROUND) - rise, p.z)
        add("cant", p.cant.value - track.cant(at + AROUND), p.cant)
        for chord in CHORDS:
            for here in at + AROUND[1:-1]:
                three = np.array([track.point(here + d) for d in (-chord / 2, 0.0, chord / 2)])
                q = track_point(line, nearest(line.chain, three))
                dx, dy = q.x[2] - q.x[0], q.y[2] - q.y[0]
                bow = ((q.y[1] - q.y[0]) * dx - (q.x[1] - q.x[0]) * dy) / dv.sqrt(dx * dx + dy * dy)
                add(f"throw on a chord of {chord:.0f} mm", bow.value - _ordinate(*three), bow)
    apart = float(world.truth.upper.height(world.crossing[0]) - world.truth.lower.height(world.crossing[1]))
    for entry, sign in ((plan.job.structures.upper, 1.0), (plan.job.structures.lower, -1.0)):
        raised = next(x.raised for x in plan.job.lines if x.name == entry)
        apart += sign * float(plan.job.inputs[raised].value)
    centre = plan.alignment.crossings[0].centre
    add("separation at the crossing", centre.separation.value - apart, centre.separation)
    return out


def _ordinate(a, m, b) -> float:
    d = (b - a) / np.linalg.norm(b - a)
    w = m - a
    return float(d[0] * w[1] - d[1] * w[0])


def of_bridge(plan: Plan, true: AsTrue) -> Pairs:
    """Compare every number of the bridge; what has no doubt in the plan must be right, and is left out."""
    out: Pairs = {}
    really = {q.id: float(q.value.value) for q in true.structures.quantities}
    for q in plan.structures.quantities:
        u = float(q.value.sd(plan.inputs.spread))
        if u > 0.0:
            what = CLASSES[q.id.rpartition("/")[2]]
            out.setdefault(what, []).append((float(q.value.value) - really[q.id], u))
    return out


def of_gaps(plan: Plan, gaps: dict[str, Gap]) -> Pairs:
    """Compare gaps, and gaps of the trains grown by their margins, where train and part are near.

    Each is counted once among all and once among its kind.
    """
    out: Pairs = {}
    for gap in plan.clearance.gaps:
        really = gaps[gap.id]
        touching = float(gap.gap.value) <= 0.0 or float(really.gap.value) <= 0.0
        numbers = (
            ("gaps", gap.gap, gap.u, really.gap, gap.witness_gaps),
            ("gaps beyond the margin", gap.margin_gap, gap.margin_u, really.margin_gap, gap.witness_margins),
        )
        for what, told, u, truly, places in numbers:
            near = -WITHIN < float(told.value) < WITHIN and np.isfinite(float(truly.value))
            if gap.beyond_reach or not near or u == 0.0:
                continue
            kind = "touching" if touching else "one place nearest" if len(places) == 1 else "several places"
            for name in (what, f"{what}: {kind}"):
                out.setdefault(name, []).append((float(told.value) - float(truly.value), u))
    return out
