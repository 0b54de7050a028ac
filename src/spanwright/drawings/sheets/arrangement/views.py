"""How the bridge is set on paper: in plan, and unrolled; and the least height over the lower track.

In plan the sheet is turned until the first and the last support stand level. Seen from its side, a
bridge on a curve has no one direction to look in: each span is set as seen square to its own axis, so
that its length is true, beside the next at the support they share, each support as seen square to the
track there. Read :func:`plan_view`, :func:`unroll`, then :func:`clear_height`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.crossing import Crossing
from spanwright.alignment.line import Line, position_at, track_point
from spanwright.alignment.stage import Alignments
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import size
from spanwright.structures.given import StructuresInput, SupportKind
from spanwright.structures.heights import Bearing
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.spans import SpanAxis, point_on_span
from spanwright.structures.stage import Structures

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frame:
    """Where one span or support is set in the unrolled view.

    Parameters
    ----------
    origin : ndarray, shape (2,)
        A plan point. [mm]
    along : ndarray, shape (2,)
        Unit vector in plan that runs to the right in the view. [1]
    at : float
        Where the plan point is set, along the unrolled bridge. [mm]
    """

    origin: FloatArray
    along: FloatArray
    at: float

    def place(self, points: FloatArray) -> FloatArray:
        """Return the way along the unrolled bridge and the offset to the left of plan points.

        Parameters
        ----------
        points : ndarray, shape (n, 2)
            Plan positions. [mm]

        Returns
        -------
        ndarray, shape (n, 2)
            Along, and to the left. [mm]
        """
        way = np.asarray(points, dtype=float)[:, :2] - self.origin
        left = np.array([-self.along[1], self.along[0]])
        return np.column_stack([self.at + way @ self.along, way @ left])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Unrolled:
    """The unrolled bridge: nil at its first support, pitch after pitch to its last.

    Parameters
    ----------
    line : Line
        The line that is carried.
    stations : tuple of float
        Of the supports. [mm]
    at : tuple of float
        Where the supports are set. [mm]
    frames : tuple of (str, Frame)
        Of every span and support, by name.
    """

    line: Line
    stations: tuple[float, ...]
    at: tuple[float, ...]
    frames: tuple[tuple[str, Frame], ...]

    def frame(self, name: str) -> Frame:
        """Return the frame of a span or a support.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        Frame
            Its frame.
        """
        return dict(self.frames)[name]

    def along(self, station: float) -> float:
        """Return where a point of the track is set.

        Parameters
        ----------
        station : float
            On the line that is carried. [mm]

        Returns
        -------
        float
            Along the unrolled bridge; beyond its ends, along the track. [mm]
        """
        first, last = self.stations[0], self.stations[-1]
        if station <= first:
            return self.at[0] + station - first
        if station >= last:
            return self.at[-1] + station - last
        k = int(np.searchsorted(self.stations, station, side="right")) - 1
        spans = [frame for _, frame in self.frames[: len(self.stations) - 1]]
        return float(spans[k].place(position_at(self.line, np.array([station]))[0])[0, 0])


def unroll(line: Line, bridge: Structures) -> Unrolled:
    """Set the spans of a bridge end to end.

    Parameters
    ----------
    line : Line
        The line that is carried.
    bridge : Structures
        The fitted bridge.

    Returns
    -------
    Unrolled
        Spans and supports in one plane.
    """
    at = [0.0]
    frames = []
    for span in bridge.spans:
        axis = span.axis
        pitch, along = float(axis.pitch.value), axis.along.value
        origin = axis.middle.value - axis.slide * along
        frames.append((axis.given.name, Frame(origin=origin, along=along, at=at[-1] + 0.5 * pitch)))
        at.append(at[-1] + pitch)
    stations = tuple(s.station for s in bridge.supports)
    points, headings = position_at(line, np.array(stations))
    for support, point, heading, x in zip(bridge.supports, points, headings, at, strict=True):
        along = np.array([np.cos(heading), np.sin(heading)])
        frames.append((support.given.name, Frame(origin=point, along=along, at=x)))
    return Unrolled(line=line, stations=stations, at=tuple(at), frames=tuple(frames))


def bridged(alignments: Alignments, bridge: Structures) -> Crossing:
    """Return the crossing that a bridge was fitted to.

    Parameters
    ----------
    alignments : Alignments
        The lines and crossings.
    bridge : Structures
        The fitted bridge.

    Returns
    -------
    Crossing
        The crossing.
    """
    return next(c for c in alignments.crossings if c.id == bridge.choices.crossing)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanView:
    """How plan positions come onto the sheet.

    Parameters
    ----------
    origin : ndarray, shape (2,)
        What is set at the sheet's origin. [mm]
    turn : float
        Direction in plan that runs to the right on paper. [rad]
    scale : float
        Drawn size over model size. [1]
    """

    origin: FloatArray
    turn: float
    scale: float

    def paper(self, points: FloatArray) -> FloatArray:
        """Return places on paper.

        Parameters
        ----------
        points : ndarray, shape (n, 2)
            Plan positions; further columns are left out. [mm]

        Returns
        -------
        ndarray, shape (n, 2)
            Places on paper. [mm]
        """
        c, s = np.cos(self.turn), np.sin(self.turn)
        return self.scale * ((np.asarray(points)[:, :2] - self.origin) @ np.array([[c, -s], [s, c]]))


def plan_view(alignments: Alignments, bridge: Structures, scale: float) -> PlanView:
    """Return how the plan is set on its sheet.

    Parameters
    ----------
    alignments : Alignments
        The lines.
    bridge : Structures
        The fitted bridge.
    scale : float
        Drawn size over model size. [1]

    Returns
    -------
    PlanView
        Origin at the crossing, first and last support level.
    """
    crossing = bridged(alignments, bridge)
    ends = np.array([bridge.supports[0].station, bridge.supports[-1].station])
    first, last = position_at(alignments.line(crossing.upper), ends)[0]
    way = last - first
    origin = np.array([float(crossing.centre.x.value), float(crossing.centre.y.value)])
    return PlanView(origin=origin, turn=float(np.arctan2(way[1], way[0])), scale=scale)


def bearing_numbers(bridge: Structures) -> dict[str, int]:
    """Return the number by which drawings know each bearing.

    Parameters
    ----------
    bridge : Structures
        The fitted bridge.

    Returns
    -------
    dict
        Number by bearing id: support after support, at each the spans in order, left before right.
    """
    ids = [b.id for s in bridge.supports for b in bridge.bearings if b.support == s.given.name]
    return {key: number for number, key in enumerate(ids, start=1)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClearHeight:
    """Height from the lower railhead to what passes over it, at the track's centre.

    Parameters
    ----------
    part : str
        Id of the lowest part over the track's centre.
    height : Derived
        Railhead at the track's centre up to the part's underside.
    lower : Derived
        Height of that railhead.
    at : float
        Where it stands along the unrolled bridge. [mm]
    """

    part: str
    height: Derived
    lower: Derived
    at: float


def clear_height(alignments: Alignments, bridge: Structures, given: StructuresInput) -> ClearHeight | None:
    """Return the least height over the lower track's centre, under girders and a bent's cap.

    Parameters
    ----------
    alignments : Alignments
        The lines.
    bridge : Structures
        The fitted bridge.
    given : StructuresInput
        Names of the lines.

    Returns
    -------
    ClearHeight or None
        None where no girder and no bent stands over it.

    Notes
    -----
    A girder's underside is straight between its bearings. Its axis meets the lower track's tangent at
    ``a`` along the span; both the height there and ``a`` carry their derivatives, so the doubt of the
    crossing's place is in the height's doubt.
    """
    lower = alignments.line(given.lower)
    view = unroll(alignments.line(given.upper), bridge)
    crossing = bridged(alignments, bridge)
    found = []
    for span in bridge.spans:
        for side, sign in (("left", 0.5), ("right", -0.5)):
            left = size(alignments.inputs, span.axis.given.spacing) * sign
            over = _under_girder(span, lower, (side, left), float(crossing.centre.lower_station.value))
            if over is not None:
                along, height, rail = over
                at = view.frame(span.axis.given.name).at + along + span.axis.slide
                found.append(
                    ClearHeight(
                        part=f"{span.axis.given.name}/girder {side}", height=height, lower=rail, at=at
                    )
                )
    for support in bridge.supports:
        if support.given.kind is SupportKind.STRADDLE_BENT:
            x = support.footprint
            place = np.array([[float(x.x.value), float(x.y.value)]])
            rail = track_point(lower, np.array([bridge.choices.lower_station])).z[0]
            found.append(
                ClearHeight(
                    part=f"{support.given.name}/cap",
                    height=support.soffit - rail,
                    lower=rail,
                    at=float(view.frame(support.given.name).place(place)[0, 0]),
                )
            )
    return min(found, key=lambda c: float(c.height.value)) if found else None


def _under_girder(
    span: FittedSpan, lower: Line, girder: tuple[str, Derived], start: float
) -> tuple[float, Derived, Derived] | None:
    """Where along the span a girder passes over the lower track's centre, how high, and that railhead."""
    axis = span.axis
    s = start
    foot_x, foot_y = point_on_span(axis, 0.0, girder[1])
    along: Derived = dv.constant(0.0)
    ahead: Derived = dv.constant(0.0)
    track = track_point(lower, np.array([s]))
    for _ in range(20):
        track = track_point(lower, np.array([s]))
        tx, ty = dv.cos(track.heading)[0], dv.sin(track.heading)[0]
        gx, gy = track.x[0] - foot_x, track.y[0] - foot_y
        det = axis.along[0] * ty - axis.along[1] * tx
        if abs(float(det.value)) < 1e-6:
            return None
        along = (gx * ty - gy * tx) / det
        ahead = (gx * axis.along[1] - gy * axis.along[0]) / det
        if abs(float(ahead.value)) < 1e-9:
            break
        s += float(ahead.value)
    half = 0.5 * float(axis.length.value)
    if abs(float(along.value)) > half or not lower.surveyed[0] <= s <= lower.surveyed[1]:
        return None
    ends = {b.end: b for b in span.heights.bearings if b.side == girder[0]}
    a, b = (_along(axis, ends[end]) for end in ("start", "end"))
    share = (along - a) / (b - a)
    top = ends["start"].girder_top + (ends["end"].girder_top - ends["start"].girder_top) * share
    depth = next(layer.thickness for layer in ends["start"].layers if layer.name.startswith("girder "))
    rail = track.z[0] + track.grade[0] * ahead
    return float(along.value), top - depth - rail, rail


def _along(axis: SpanAxis, bearing: Bearing) -> Derived:
    """How far a bearing stands from the middle of its span, along its axis."""
    dx, dy = bearing.x - axis.middle[0], bearing.y - axis.middle[1]
    return dx * axis.along[0] + dy * axis.along[1]
