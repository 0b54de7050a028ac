"""Why a gap is as small as it is: throw, lean, play and the run of the height switched off one after another.

At the closest point everything is held: where the train stands, the point of the body, the point of the part
and the direction between them. Then the curve is taken out of the line (throw), the cant (lean), the running
play, and the vertical curve, in this order; each step is what that cause takes from the gap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.stage import Gap
from spanwright.clearance.sweep import body_points, poses
from spanwright.clearance.vehicles import Body, Play, pieces
from spanwright.estimation.derived import Derived
from spanwright.geometry import distance as ds
from spanwright.geometry.chain import Chain
from spanwright.job import Plan

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What each cause takes from a gap; negative where it gives.

    Parameters
    ----------
    gap : float
        As it is. [mm]
    throw : float
        The curve: the body's middle and ends do not follow the track. [mm]
    lean : float
        The cant. [mm]
    play : float
        Running play, sideways and rocking. [mm]
    height : float
        The vertical curve between the trucks. [mm]
    """

    gap: float
    throw: float
    lean: float
    play: float
    height: float

    @property
    def bare(self) -> float:
        """The gap on straight, level track without play, in mm."""
        return self.gap + self.throw + self.lean + self.play + self.height


def explain(plan: Plan, gap: Gap) -> Explanation | None:
    """Explain one gap.

    Parameters
    ----------
    plan : Plan
        With clearances.
    gap : Gap
        One of its gaps.

    Returns
    -------
    Explanation or None
        None where there is no closest point: beyond reach, or an overlap.
    """
    held = plan.clearance.choices[gap.id].gap if plan.clearance else ()
    if not held or float(gap.gap.value) <= 0.0 or plan.job.clearance is None:
        return None
    witness = held[0]
    vehicle = next(r.vehicle for r in plan.job.clearance.runs if r.vehicle.id == gap.vehicle)
    body = vehicle.bodies[witness.body]
    line = plan.alignment.line(gap.line)
    at = float(al.nearest_station(line, gap.where[None, :2])[0])
    straight = _straight(line, at)
    level = replace(straight, cant=_nought(straight.cant))
    even = _even(level, at)

    def along(on: Line) -> float:
        placed = poses(on, body, np.array([witness.station]))
        return float(witness.normal @ body_points(placed, witness.body_point[None])[0])

    reach = [along(on) for on in (line, straight, level, even)]
    pose = poses(level, body, np.array([witness.station]))
    return Explanation(
        gap=float(gap.gap.value),
        throw=reach[0] - reach[1],
        lean=reach[1] - reach[2],
        play=_play(body, vehicle.play, witness.prism, pose.axes[0] @ witness.normal),
        height=reach[2] - reach[3],
    )


def _nought(numbers: Derived) -> Derived:
    return Derived(np.zeros_like(numbers.value), np.zeros_like(numbers.jac))


def _straight(line: Line, at: float) -> Line:
    """Return the line without its curve: straight on from the place that is looked at."""
    point, heading = al.position_at(line, np.array([at]))
    angle = float(heading[0])
    start = point[0] - (at - line.chain.knots[0]) * np.array([np.cos(angle), np.sin(angle)])
    chain = Chain(
        knots=line.chain.knots,
        curvature=np.zeros_like(line.chain.curvature),
        start=(float(start[0]), float(start[1])),
        heading=angle,
    )
    return replace(line, chain=chain)


def _even(line: Line, at: float) -> Line:
    """Return the line on one even grade, that of the place that is looked at."""
    grade = float(al.grade_at(line, np.array([at]))[0])
    height = float(al.height_at(line, np.array([at]))[0])
    value = np.full(len(line.profile.value), grade)
    value[0] = height - grade * (at - line.grade_knots[0])
    return replace(line, profile=Derived(value, line.profile.jac))


def _play(body: Body, play: Play, prism: int, seen: FloatArray) -> float:
    """How much further a grown body reaches than the plain one, in a direction of its own frame."""

    def reach(of: Play) -> float:
        solids = [p.solid for p in pieces(body, of) if p.prism == prism]
        return max(float(ds.support(solid, seen[None])[0]) for solid in solids)

    return reach(play) - reach(Play())
