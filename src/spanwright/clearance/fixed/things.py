"""The gap of each part to things that stand fast beside a track.

A thing is a box in the track's own frame at a mark: so far along, across and up. Its gap to a part is the
least distance in space of the two; the doubt of the gap is that of the part, of the track there, and of the
thing's own place. Read :func:`fixed_gaps`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import track_point
from spanwright.alignment.stage import Alignments
from spanwright.errors import InputError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived, dot
from spanwright.findings import Finding, Severity, Verdict
from spanwright.geometry import distance as ds
from spanwright.structures.shapes import Shape, point_on

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedThing:
    """Something beside a track that no part may run into.

    Parameters
    ----------
    name : str
        What it is.
    line : str
        The line that it stands beside.
    mark : str
        The mark of that line that it was measured from.
    along : tuple of float
        From where to where along the line, forward of the mark. [mm]
    across : tuple of float
        From where to where across the line, left of the track's centre. [mm]
    height : tuple of float
        From where to where above the railhead. [mm]
    sd : float
        Standard uncertainty of its faces. [mm]
    room : float
        Least gap that is wanted to any part. [mm]
    """

    name: str
    line: str
    mark: str
    along: tuple[float, float]
    across: tuple[float, float]
    height: tuple[float, float]
    sd: float
    room: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FixedGap:
    """The gap of one thing and the part that comes nearest to it.

    Parameters
    ----------
    id : str
        ``fixed/<thing>/<part>``.
    thing : FixedThing
        The thing.
    part : str
        The part's id.
    gap : Derived
        Least distance; 0 where they overlap.
    u : float
        Its standard uncertainty, the thing's own included. [mm]
    verdict : Verdict
        Clear, tight, not proven, or foul where they overlap as planned; not proven where ``is_working``.
    where : ndarray, shape (3,)
        Closest point of the part. [mm]
    is_working : bool
        Whether what had been decided for a former plan is still held: no word yet.
    """

    id: str
    thing: FixedThing
    part: str
    gap: Derived
    u: float
    verdict: Verdict
    where: FloatArray
    is_working: bool = False


def fixed_gaps(
    things: tuple[FixedThing, ...],
    alignments: Alignments,
    shapes: tuple[Shape, ...],
    *,
    k: float,
    reach: float = 25.0,
    working: bool = False,
) -> tuple[FixedGap, ...]:
    """Return the gap of every thing to every part within reach.

    Parameters
    ----------
    things : tuple of FixedThing
        What stands fast.
    alignments : Alignments
        The lines with their marks.
    shapes : tuple of Shape
        The finished parts.
    k : float
        Coverage factor of the verdicts. [1]
    reach : float
        Gaps beyond this are left out. [mm]
    working : bool
        Whether a former plan's choices are held: every word is then *not proven*.

    Returns
    -------
    tuple of FixedGap
        By thing, the nearest part first.

    Raises
    ------
    InputError
        If a thing was measured from a mark that its line does not have.
    """
    found: list[FixedGap] = []
    for thing in things:
        near = [g for g in (_gap(thing, alignments, s, k=k) for s in shapes) if float(g.gap.value) < reach]
        found += sorted(near, key=lambda g: float(g.gap.value))
    if working:
        found = [replace(g, verdict=Verdict.NOT_PROVEN, is_working=True) for g in found]
    return tuple(found)


def corners_of(thing: FixedThing, alignments: Alignments) -> FloatArray:
    """Return the corners of a thing where it stands.

    Parameters
    ----------
    thing : FixedThing
        The thing.
    alignments : Alignments
        The lines with their marks.

    Returns
    -------
    ndarray, shape (8, 3)
        In the layout frame. [mm]
    """
    origin, axes = _frame(thing, alignments)
    box = [(x, y, z) for x in thing.along for y in thing.across for z in thing.height]
    return origin + np.array(box) @ axes


def _frame(thing: FixedThing, alignments: Alignments) -> tuple[FloatArray, FloatArray]:
    """Return where a thing is measured from, and ahead, left and up there."""
    track = track_point(alignments.line(thing.line), _station(thing, alignments).value.reshape(1))
    angle = float(track.heading.value[0])
    ahead, left = [np.cos(angle), np.sin(angle), 0.0], [-np.sin(angle), np.cos(angle), 0.0]
    return np.array([float(c.value[0]) for c in (track.x, track.y, track.z)]), np.array(
        [ahead, left, [0.0, 0.0, 1.0]]
    )


def _station(thing: FixedThing, alignments: Alignments) -> Derived:
    laid = next((found for found in alignments.lines if found.line.name == thing.line), None)
    if laid is None or laid.stations is None or thing.mark not in laid.mark_names:
        raise InputError(
            "a fixed thing was measured from a mark that its line does not have",
            code="CL019",
            where=thing.name,
            value=thing.mark,
            limit=", ".join(laid.mark_names) if laid else "the job's lines",
            hint="Name a mark of that line",
        )
    return laid.stations[laid.mark_names.index(thing.mark)]


def _gap(thing: FixedThing, alignments: Alignments, shape: Shape, *, k: float) -> FixedGap:
    inputs = alignments.inputs
    station = _station(thing, alignments)
    track = track_point(
        alignments.line(thing.line), Derived(station.value.reshape(1), station.jac.reshape(1, -1))
    )
    angle = float(track.heading.value[0])
    ahead, left = (
        np.array([np.cos(angle), np.sin(angle), 0.0]),
        np.array([-np.sin(angle), np.cos(angle), 0.0]),
    )
    axes = np.stack([ahead, left, [0.0, 0.0, 1.0]])
    origin = np.array([float(c.value[0]) for c in (track.x, track.y, track.z)])
    (y0, y1), (z0, z1) = thing.across, thing.height
    outline = np.array([[y0, z0], [y1, z0], [y1, z1], [y0, z1]])
    solid = ds.ConvexPrism(rear=thing.along[0], front=thing.along[1], polygon=outline)
    contact = ds.triangle_prism(solid, (shape.vertices[shape.triangles] - origin) @ axes.T)
    best = int(np.argmin(contact.distance))
    apart = float(contact.distance[best])
    point = point_on(shape, best, contact.weights[best])
    if apart > 0.0:
        x, y, z = (float(v) for v in contact.on_prism[best])
        turn = track.heading[0] - angle  # nought, with the derivative of the direction
        place = dv.stack(
            [
                track.x[0] + (ahead[0] * x + left[0] * y) + turn * (left[0] * x - ahead[0] * y),
                track.y[0] + (ahead[1] * x + left[1] * y) + turn * (left[1] * x - ahead[1] * y),
                track.z[0] + z,
            ]
        )
        normal = (point.value - place.value) / apart
        gap = dot(normal, point - place)
    else:
        gap = dv.constant(0.0, len(inputs))
    u = float(np.hypot(float(gap.sd(inputs.spread)), thing.sd))
    return FixedGap(
        id=f"fixed/{thing.name}/{shape.part}",
        thing=thing,
        part=shape.part,
        gap=gap,
        u=u,
        verdict=_verdict(apart, u, thing.room, k),
        where=point.value,
    )


def _verdict(apart: float, u: float, room: float, k: float) -> Verdict:
    if apart <= 0.0:
        return Verdict.FOUL
    if apart - k * u >= room:
        return Verdict.CLEAR
    return Verdict.TIGHT if apart - k * u >= 0.0 else Verdict.NOT_PROVEN


def fixed_findings(gaps: tuple[FixedGap, ...]) -> tuple[Finding, ...]:
    """Say which parts come too near to something that stands fast.

    Parameters
    ----------
    gaps : tuple of FixedGap
        All of them.

    Returns
    -------
    tuple of Finding
        One for each that is not clear.
    """
    words = {
        Verdict.FOUL: "runs into",
        Verdict.TIGHT: "has less room than wanted to",
        Verdict.NOT_PROVEN: "may touch",
    }
    return tuple(
        Finding(
            code="CL107",
            severity=Severity.STOP if g.verdict is Verdict.FOUL else Severity.WARNING,
            where=g.part,
            text=(
                f"{words[g.verdict]} {g.thing.name}: gap {float(g.gap.value):.2f} mm, standard uncertainty"
                f" {g.u:.2f}, wanted {g.thing.room:g} mm{' (working)' if g.is_working else ''}"
            ),
            value=float(g.gap.value),
            limit=g.thing.room,
            remedy="Move the part or the thing, or measure its place better",
        )
        for g in gaps
        if g.verdict is not Verdict.CLEAR
    )
