"""The readings that could be taken: what would be read, how well, with what, and when.

All are readings of what the plan already foretells: any reading once more; a real piece with a caliper; a
block between surfaces whose heights both hang on the survey; a versine or a cross level at the structure; the
gap itself, once the part stands. How well is told by the job's own tools.
"""

from __future__ import annotations

import numpy as np

from spanwright.advice.state import WorkState, can_repeat, when_measured
from spanwright.alignment.line import track_point
from spanwright.clearance.stage import Gap
from spanwright.clearance.vehicles import Vehicle
from spanwright.estimation import derived as dv
from spanwright.estimation.budget import Candidate
from spanwright.estimation.inputs import Input
from spanwright.job import Plan
from spanwright.measured.gauged import gauged_heights, lower_line
from spanwright.structures.stage import Structures

#: How well these can be read where the job does not say (common practice, no source). [mm]
HOW_WELL = {"stepped block": 0.2, "caliper": 0.05, "depth gauge": 0.1, "feeler": 0.1}
#: A cross level over the rails, from a feeler under a block that reaches two and a half times the rail
#: distance: so much of the feeler's doubt. [1]
CROSS_LEVEL = 0.4
#: A reading taken so many times, each from a fresh start, is better by the root of it.
TIMES = 4
#: A size that is known better than so many times the caliper's doubt is not worth a caliper.
_WORTH = 1.5


def _sd(plan: Plan, tool: str) -> float:
    """Return how well a tool of the job can be read in mm, its own zero in it."""
    return plan.job.tools.get(tool, HOW_WELL[tool])


def common_candidates(plan: Plan, state: WorkState) -> tuple[Candidate, ...]:
    """Return the readings that can be taken whatever number is asked for.

    Parameters
    ----------
    plan : Plan
        The plan.
    state : WorkState
        How far the work is.

    Returns
    -------
    tuple of Candidate
        Those that can be taken now and those that wait for something.
    """
    found = _repeats(plan, state) + _pieces(plan, state) + _at_crossings(plan, state)
    if plan.structures is not None:
        found += _over_spans(plan, plan.structures, state)
        found += _at_supports(plan, plan.structures, state)
    return tuple(found)


def _repeats(plan: Plan, state: WorkState) -> list[Candidate]:
    """Any reading once more, and a few times more: what the adjusted marks say would be read."""
    survey, inputs = plan.survey, plan.inputs
    readings = {r.id: r for r in plan.job.survey.readings}
    found = []
    for row, key in enumerate(survey.reading_ids):
        item = inputs[key]
        if item.kind != "reading" or (key in readings and not can_repeat(readings[key], state)):
            continue
        jac = np.zeros(len(inputs))
        jac[: survey.computed_by_input.shape[1]] = survey.computed_by_input[row]
        what, _, tool = item.label.rpartition(" by ")
        found += [
            Candidate(
                id=key,
                text=f"take reading {key} again ({what or item.label})",
                jac=jac,
                sd=item.sd,
                tool=tool,
                unit=item.unit,
            ),
            Candidate(
                id=f"{key} x {TIMES}",
                text=f"take reading {key} {TIMES} times more, each from a fresh start ({what or item.label})",
                jac=jac,
                sd=item.sd / float(np.sqrt(TIMES)),
                tool=tool,
                unit=item.unit,
            ),
        ]
    return found


def _pieces(plan: Plan, state: WorkState) -> list[Candidate]:
    """Sizes that are nominal, guessed or not made yet: measure the real piece, when it is there."""
    found = []
    for item in plan.inputs.items:
        if item.kind not in ("size", "cut", "setting out") or item.unit != "mm":
            continue
        later = when_measured(item, state)
        text, said, tool = _measuring(item)
        sd = _sd(plan, tool)
        if later is not None and item.sd > _WORTH * sd:
            jac = plan.inputs.derived(item.id).jac
            found.append(Candidate(id=item.id, text=text, jac=jac, sd=sd, tool=said, later=later))
    return found


def _measuring(item: Input) -> tuple[str, str, str]:
    """Say how a size is measured: what to do, with what, and the tool's name in the job."""
    label = item.label.removesuffix(" (common practice, no source)")
    if item.id.startswith("portals/"):  # not a piece that can be taken into the hand
        return f"gauge where it stands, from the rails: {label}", "a stepped block", "stepped block"
    if item.kind == "size":
        return f"measure the real piece: {label}", "a caliper", "caliper"
    label = label.partition(", as it is to be ")[0]
    if item.kind == "cut":
        return f"measure the shaft, {label}", "a caliper", "caliper"
    return f"measure it where it stands, {label}", "a caliper's depth rod", "depth gauge"


def _at_crossings(plan: Plan, state: WorkState) -> list[Candidate]:
    """Rails over rails at the crossings, while the upper ones lie."""
    if state.hanging:
        return []
    n = len(plan.inputs)
    return [
        Candidate(
            id=f"{crossing.id}/{rail.upper_rail} over {rail.lower_rail}",
            text=(
                f"at the crossing, gauge from the {{{rail.lower_rail}}} rail of line {crossing.lower} "
                f"straight up to the {{{rail.upper_rail}}} rail of line {crossing.upper}"
            ),
            jac=rail.separation.padded(n).jac,
            sd=_sd(plan, "stepped block"),
            tool="a stepped block",
        )
        for crossing in plan.alignment.crossings
        for rail in crossing.rails
    ]


def _over_spans(plan: Plan, structures: Structures, state: WorkState) -> list[Candidate]:
    """Offer the middle ordinate over each span, while the track lies there."""
    if state.hanging:
        return []
    return [
        Candidate(
            id=f"{span.axis.given.name}/middle ordinate",
            text=(
                f"read the versine of the upper track over {span.axis.given.name}, "
                "on a chord from support to support along one rail"
            ),
            jac=span.axis.middle_ordinate.padded(len(plan.inputs)).jac,
            sd=_sd(plan, "feeler"),
            tool="a straightedge and feelers",
        )
        for span in structures.spans
    ]


def _at_supports(plan: Plan, structures: Structures, state: WorkState) -> list[Candidate]:
    """Heights at the supports, gauged directly: over bases while they are free, at a cap once it stands."""
    numbers = gauged_heights(structures, plan.alignment)
    lower = lower_line(structures)
    found = []

    def add(key: str, text: str) -> None:
        if key in numbers:
            jac = numbers[key].padded(len(plan.inputs)).jac
            found.append(
                Candidate(id=key, text=text, jac=jac, sd=_sd(plan, "stepped block"), tool="a stepped block")
            )

    for support in structures.supports:
        name = support.given.name
        if state.is_up(name):
            up = f"gauge from the railhead of line {lower} straight up to the underside of the cap of {name}"
            add(f"{name}/soffit over lower railhead", up)
            continue
        before = "" if state.is_cut(name) else ", before the shaft is cut"
        for cut in support.cuts:
            base = f"gauge from the base of {cut.id.replace('/', ', ')} up to the railhead"
            if not state.hanging:
                add(f"{cut.id}/railhead over base", f"{base} above it{before}")
            add(f"{cut.id}/lower railhead over base", f"{base} of line {lower} beside it{before}")
    return found


def plain_id(candidate: Candidate) -> str:
    """Return the id of what is read, however often.

    Parameters
    ----------
    candidate : Candidate
        A reading.

    Returns
    -------
    str
        The same for one that is taken once and one that is taken several times.
    """
    return candidate.id.removesuffix(f" x {TIMES}")


def chord_of(vehicle: Vehicle) -> float:
    """Return a chord as long as a vehicle's widest truck spacing.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.

    Returns
    -------
    float
        To the next 10 mm. [mm]
    """
    return 10.0 * float(np.ceil(max(body.truck_spacing for body in vehicle.bodies) / 10.0))


def own_candidates(plan: Plan, gap: Gap, chord: float, state: WorkState) -> tuple[Candidate, ...]:
    """Return the readings that tell of one gap: at the train's own line there, and of the gap itself.

    Parameters
    ----------
    plan : Plan
        The plan.
    gap : Gap
        The gap.
    chord : float
        For the versine. [mm]
    state : WorkState
        How far the work is.

    Returns
    -------
    tuple of Candidate
        Those that can be taken now.
    """
    found = []
    if state.is_up(gap.part.partition("/")[0]) and not gap.beyond_reach:
        text = "push the train against its play towards the part and gauge the gap itself"
        jac = gap.gap.padded(len(plan.inputs)).jac
        found.append(Candidate(id=gap.id, text=text, jac=jac, sd=_sd(plan, "feeler"), tool="feelers"))
    is_upper = plan.job.structures is not None and gap.line == plan.job.structures.upper
    if not (is_upper and state.hanging):
        found += _at_structure(plan, gap, chord)
    return tuple(found)


def _at_structure(plan: Plan, gap: Gap, chord: float) -> list[Candidate]:
    """Offer a versine and a cross level on the train's own line where the closest point is."""
    if not np.isfinite(gap.station):
        return []
    line = plan.alignment.line(gap.line)
    low, high = line.surveyed
    half = 0.5 * chord
    if not low + half < gap.station < high - half:
        return []
    n = line.plan.jac.shape[-1]
    s = np.array([gap.station - half, gap.station, gap.station + half])
    track = track_point(line, s)
    dx, dy = track.x[2] - track.x[0], track.y[2] - track.y[0]
    ordinate = ((track.y[1] - track.y[0]) * dx - (track.x[1] - track.x[0]) * dy) / dv.sqrt(dx * dx + dy * dy)
    return [
        Candidate(
            id=f"versine/{line.name}",
            text=(
                f"read the versine of line {line.name} at the structure, "
                f"on a chord of {chord:.0f} mm along one rail"
            ),
            jac=ordinate.padded(n).jac,
            sd=_sd(plan, "feeler"),
            tool="a straightedge and feelers",
        ),
        Candidate(
            id=f"cross level/{line.name}",
            text=f"read the cross level of line {line.name} at the structure",
            jac=track.cant[1].padded(n).jac,
            sd=CROSS_LEVEL * _sd(plan, "feeler"),
            tool="a block and a feeler",
        ),
    ]
