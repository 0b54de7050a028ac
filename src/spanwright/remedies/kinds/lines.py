"""Moves of the lines: up, down, less cant, and a larger radius where a line is not laid yet."""

from __future__ import annotations

import math

from spanwright.alignment.given import ElementKind
from spanwright.clearance.stage import Gap
from spanwright.estimation.inputs import Inputs
from spanwright.files.edit import with_value
from spanwright.job import Job
from spanwright.remedies.move import Move, millimetres

#: How far each kind of move is tried at most (common practice, no source). [mm]
RAISE, LESS_CANT = 6.0, 0.5
#: Largest growth of a radius, as a share of it, and its grid in mm (common practice, no source).
FLATTER, RADIUS_STEP = 1.0 / 3.0, 1.0


def line_moves(gap: Gap, job: Job, inputs: Inputs) -> list[Move]:
    """List how the lines may move to mend a gap.

    Parameters
    ----------
    gap : Gap
        The gap that is not clear.
    job : Job
        The job.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    list of Move
        What the side of the gap leaves.
    """
    found: list[Move] = []
    given = job.structures
    of_portal = any(gap.part.startswith(f"{portal.name}/") for portal in job.portals)
    if gap.side == "above" and given is not None and not of_portal:  # a portal counts from the railhead
        found += _heights(given.upper, given.lower, job)
    if gap.side in ("left", "right", "above"):
        found.append(_cant(gap, job, inputs))
    return found + _flatter(gap, job)


def laid_lines(gaps: tuple[Gap, ...], job: Job) -> tuple[str, ...]:
    """Return the lines of some gaps whose curve is not moved, since they lie already.

    Parameters
    ----------
    gaps : tuple of Gap
        Gaps that are not clear.
    job : Job
        The job.

    Returns
    -------
    tuple of str
        Their names, in the order of the job.
    """
    asked = {gap.line for gap in gaps}
    return tuple(line.name for line in job.lines if line.design is None and line.name in asked)


def _flatter(gap: Gap, job: Job) -> list[Move]:
    """Return the larger radius of the designed arc at the gap, or nearest to it; none on a line that lies."""
    line = next(line for line in job.lines if line.name == gap.line)
    if line.design is None or not math.isfinite(gap.station):
        return []
    arcs, start = [], 0.0
    for number, element in enumerate(line.design.elements):
        end = start + element.length
        if element.kind is ElementKind.ARC:
            off = max(start - gap.station, gap.station - end, 0.0)
            arcs.append((off, number, abs(element.radius)))
        start = end
    if not arcs:
        return []
    _, number, now = min(arcs)
    keys = ("lines", line.name, "elements", number, "radius")
    return [
        Move(
            id=f"{line.name}/radius",
            text=f"Lay the arc of line {line.name} there with a radius that is {{by}} larger",
            most=math.floor(FLATTER * now / RADIUS_STEP) * RADIUS_STEP,
            edit=lambda text, by: with_value(text, keys, millimetres(now + by)),
            cost=f"Everything of the line beyond the arc moves with it ({now:.0f} mm now).",
            rank=4,
            step=RADIUS_STEP,
        )
    ]


def _heights(upper: str, lower: str, job: Job) -> list[Move]:
    now = {line.name: float(job.inputs[line.raised].value) for line in job.lines if line.raised}
    ramp = "It needs a ramp at each end: 100 mm of length for each mm if the grade may change by 1 %."
    found = []
    if upper in now:
        found.append(
            Move(
                id=f"{upper}/raise",
                text=f"Raise line {upper} by {{by}}",
                most=RAISE,
                edit=lambda text, by: with_value(
                    text, ("lines", upper, "raise"), millimetres(now[upper] + by)
                ),
                cost=ramp,
                rank=3,
            )
        )
    if lower in now:
        found.append(
            Move(
                id=f"{lower}/lower",
                text=f"Lower line {lower} by {{by}}",
                most=-RAISE,
                edit=lambda text, by: with_value(
                    text, ("lines", lower, "raise"), millimetres(now[lower] + by)
                ),
                cost=ramp,
                rank=3,
            )
        )
    return found


def _cant(gap: Gap, job: Job, inputs: Inputs) -> Move:
    line = next(line for line in job.lines if line.name == gap.line)
    now = float(inputs[line.canted].value)
    # less height of the right rail where the train leans left towards the part, and the other way round
    way, high = (1.0, "left") if gap.side == "right" else (-1.0, "right")

    def edit(text: str, by: float) -> str:
        change = {"high": job.words.right, "by": millimetres(now + by)}
        return with_value(text, ("lines", line.name, "cant_change"), change)

    return Move(
        id=f"{line.name}/cant",
        text=f"Lay line {line.name} with its {{{high}}} rail {{by}} lower over the other",
        most=way * LESS_CANT,
        edit=edit,
        cost="The track has to be lifted and packed again where it is canted.",
        rank=4,
    )
