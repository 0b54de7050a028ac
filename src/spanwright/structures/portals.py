"""What stands around a track: tunnel mouths, portals, walls, as finished shapes that trains must pass.

A portal is up to three blocks in the track's own frame at one station: a jamb on each side and a lintel
above. They stand level and square to the track there, as it lies in plan; cant does not lean them. Their
faces count from the track's centre and from its railhead, so that they share the doubts of the line. Read
:func:`portal_shapes`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from spanwright.alignment.line import track_point
from spanwright.alignment.stage import Alignments
from spanwright.errors import InputError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Size, size
from spanwright.structures.members import Pose, Template
from spanwright.structures.shapes import Shape


@dataclass(frozen=True, slots=True, kw_only=True)
class Portal:
    """What stands around a track; a wall is one jamb, an overhang one lintel.

    Parameters
    ----------
    name : str
        The builder's name.
    line : str
        The line that runs through it or beside it.
    mark : str
        The mark of that line that it was measured from; empty for a designed line: from its start.
    along : tuple of float
        From where to where along the line, forward of the mark. [mm]
    place : str
        Base input (value 0): how truly its place along the line is known.
    left : Size or None
        From the track's centre to the near face on the left.
    right : Size or None
        The same on the right.
    height : Size or None
        From the railhead at the track's centre to the underside above.
    top : Size or None
        From the railhead to the top of a wall; None where trains cannot pass over it.
    thickness : float
        Of what stands around the opening. [mm]
    high : float
        How high above the railhead a wall goes whose top is not said: higher than any train. [mm]
    wide : float
        How far to a side an overhang goes where there is no wall: further than any train. [mm]
    foot : float
        How far below the railhead its walls begin. [mm]
    """

    name: str
    line: str
    mark: str
    along: tuple[float, float]
    place: str
    left: Size | None
    right: Size | None
    height: Size | None
    top: Size | None
    thickness: float
    high: float
    wide: float
    foot: float


def portal_shapes(portals: tuple[Portal, ...], alignments: Alignments) -> tuple[Shape, ...]:
    """Return the finished shapes of all portals, each ``over`` its line.

    Parameters
    ----------
    portals : tuple of Portal
        What stands around the tracks.
    alignments : Alignments
        The lines with their marks.

    Returns
    -------
    tuple of Shape
        ``<portal>/jamb left``, ``/jamb right`` and ``/lintel``, as far as it has them.

    Raises
    ------
    InputError
        If a portal was measured from a mark that its line does not have.
    """
    return tuple(shape for portal in portals for shape in _shapes(portal, alignments))


def _shapes(portal: Portal, alignments: Alignments) -> list[Shape]:
    inputs = alignments.inputs
    given = {"left": portal.left, "right": portal.right, "height": portal.height, "top": portal.top}
    sizes = {name: size(inputs, of) for name, of in given.items() if of is not None}
    half = 0.5 * (portal.along[1] - portal.along[0])
    found = {}
    for side, sign in (("left", 1.0), ("right", -1.0)):
        if side in sizes:
            found[f"jamb {side}"] = _jamb(portal, side, sign, half, tuple(sizes))
    if "height" in sizes:
        found["lintel"] = _lintel(portal, half, tuple(sizes))
    pose = _pose(portal, alignments)
    return [
        replace(template.place(f"{portal.name}/{part}", pose, sizes), over=portal.line)
        for part, template in found.items()
    ]


def _jamb(portal: Portal, side: str, sign: float, half: float, names: tuple[str, ...]) -> Template:
    t = Template(names)
    near, far = t.length(**{side: sign}), t.length(sign * portal.thickness, **{side: sign})
    if "height" in names:
        top = t.length(portal.thickness, height=1.0)
    else:
        top = t.length(top=1.0) if "top" in names else t.length(portal.high)
    across = (near, far) if sign > 0.0 else (far, near)
    t.box((t.length(-half), t.length(half)), across, (t.length(-portal.foot), top))
    return t


def _lintel(portal: Portal, half: float, names: tuple[str, ...]) -> Template:
    t = Template(names)
    ends = []
    for side, sign in (("right", -1.0), ("left", 1.0)):
        out = t.length(sign * portal.thickness, **{side: sign}) if side in names else None
        ends.append(t.length(sign * portal.wide) if out is None else out)
    up = (t.length(height=1.0), t.length(portal.thickness, height=1.0))
    t.box((t.length(-half), t.length(half)), (ends[0], ends[1]), up)
    return t


def _pose(portal: Portal, alignments: Alignments) -> Pose:
    """Where the middle of a portal stands on its line; level, and square to the track."""
    inputs = alignments.inputs
    middle = 0.5 * (portal.along[0] + portal.along[1])
    station = _counted_from(portal, alignments) + inputs.derived(portal.place) + middle
    track = track_point(
        alignments.line(portal.line), Derived(station.value.reshape(1), station.jac.reshape(1, -1))
    )
    level = dv.constant(0.0, len(inputs))
    return Pose(
        x=track.x[0],
        y=track.y[0],
        z=track.z[0],
        ahead_x=dv.cos(track.heading[0]),
        ahead_y=dv.sin(track.heading[0]),
        slope=level,
        roll=level,
    )


def _counted_from(portal: Portal, alignments: Alignments) -> Derived:
    """Return the station that a portal's place counts from."""
    laid = next((found for found in alignments.lines if found.line.name == portal.line), None)
    if laid is not None and laid.stations is None and not portal.mark:
        return dv.constant(0.0, len(alignments.inputs))
    if laid is None or laid.stations is None or portal.mark not in laid.mark_names:
        raise InputError(
            "a portal was measured from a mark that its line does not have",
            code="ST013",
            where=portal.name,
            value=portal.mark,
            limit=", ".join(laid.mark_names) if laid else "the job's lines",
            hint="Name a mark of that line",
        )
    return laid.stations[laid.mark_names.index(portal.mark)]
