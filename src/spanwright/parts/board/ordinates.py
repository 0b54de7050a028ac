"""What ties the opening to the rails: pilot holes, ordinates for laying out by rule, distances to check.

A survey mark is a pencil mark on a rail, so all of this starts there. Lengths along the line are those of
the outer edge of the marked rail's head, on which a rule can be laid; ordinates stand square to the
nearer rail, out from the outer edge of its head.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import curvature_at, position_at
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.parts.board.outline import Outline, RailMark, Track
from spanwright.parts.given import Subroadbed
from spanwright.structures.spans import beside
from spanwright.survey.readings import Rail

FloatArray = np.ndarray

#: Drill for the pilot holes (common practice, no source). [mm]
DRILL = 3.0
#: Least wood from the drill to a tie, and to the saw line (common practice, no source). [mm]
WOOD = 2.0
#: Doubt of one distance by steel tape or rule over a layout (common practice, no source). [mm]
TAPE = 0.5
#: A mark so near to a cut is no place to hook a tape (common practice, no source). [mm]
HOOK = 15.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pilot:
    """A pilot hole, drilled square through the board in the waste.

    Parameters
    ----------
    mark : str
        The survey mark beside which it is drilled.
    side : str
        ``left`` or ``right``: beyond which rail.
    distance : float
        From the outer face of that rail's head, square off the rail at the mark. [mm]
    drill : float
        Its diameter. [mm]
    x : Derived
        First coordinate.
    y : Derived
        Second coordinate.
    z : Derived
        Height of the board's top there.
    """

    mark: str
    side: str
    distance: float
    drill: float
    x: Derived
    y: Derived
    z: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ordinate:
    """One row of the ordinate table.

    Parameters
    ----------
    kind : str
        ``step``, ``mark``, ``support`` (a corner of the sides) or ``end`` (an end cut).
    at : str
        Name of the mark or the support; empty at a step.
    along : Derived
        Along the marked rail from the row of the origin, in growing station.
    finished_left : Derived
        From the outer edge of the left rail's head to the finished line.
    finished_right : Derived
        The same to the right.
    saw_left : Derived
        From the outer edge of the left rail's head to the saw line.
    saw_right : Derived
        The same to the right.
    on_left : bool
        Whether the finished line lies on the board there, to the left.
    on_right : bool
        The same to the right.
    """

    kind: str
    at: str
    along: Derived
    finished_left: Derived
    finished_right: Derived
    saw_left: Derived
    saw_right: Derived
    on_left: bool
    on_right: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Distance:
    """A distance to measure before the saw is used.

    Parameters
    ----------
    start : str
        What is measured from: ``start left`` or another corner of the finished line, or ``pilot`` and a mark.
    mark : str
        The survey mark that is measured to.
    value : Derived
        As the tape lies, straight through the air.
    limit : float
        It passes if it is off by no more: k times the doubts of prediction and tape together. [mm]
    tape : float
        Doubt of the tape that is taken in the limit. [mm]
    is_diagonal : bool
        Whether it runs from one end and side to the other.
    """

    start: str
    mark: str
    value: Derived
    limit: float
    tape: float
    is_diagonal: bool


def inside(track: Track, ends: tuple[Derived, Derived]) -> tuple[RailMark, ...]:
    """Return the marks between the end cuts.

    Parameters
    ----------
    track : Track
        The track with its marks.
    ends : tuple of Derived
        Stations of the end cuts.

    Returns
    -------
    tuple of RailMark
        In station order.
    """
    low, high = (float(e.value) for e in ends)
    return tuple(m for m in track.marks if low < float(m.station.value) < high)


def pilot_holes(given: Subroadbed, track: Track, found: Outline, saw: Derived) -> tuple[Pilot, ...]:
    """Choose two pilot holes beside marks near the two ends of the opening.

    Parameters
    ----------
    given : Subroadbed
        The board, its ties, and marks that the builder has chosen.
    track : Track
        The track with its marks.
    found : Outline
        The finished line.
    saw : Derived
        Corners of the saw line.

    Returns
    -------
    tuple of Pilot
        Two in station order; fewer where no mark leaves room for one.
    """
    marks = inside(track, found.ends)
    if given.pilots:
        chosen = [_hole(given, track, m, saw) for m in marks if m.name in given.pilots]
        return tuple(h for h in chosen if h)
    all_holes = [hole for m in marks if (hole := _hole(given, track, m, saw))]
    return (all_holes[0], all_holes[-1]) if len(all_holes) > 1 else tuple(all_holes)


def _hole(given: Subroadbed, track: Track, mark: RailMark, saw: Derived) -> Pilot | None:
    """Set a hole clear of the ties on the mark's side of the track, else on the other; None without room."""
    own = 1.0 if mark.rail is Rail.LEFT else -1.0 if mark.rail is Rail.RIGHT else track.side
    edge = float(track.edge.value)
    tie = 0.5 * given.ties.length if given.ties else edge
    least = max(tie - edge, 0.0) + WOOD + 0.5 * DRILL
    distance = float(np.ceil(least / given.whole - 1e-9) * given.whole)
    for sign in (own, -own):
        limit = given.edge_left if sign > 0.0 else given.edge_right
        x, y, z = track.off(mark.station, (track.edge + distance) * sign)
        at = np.array([float(x.value), float(y.value)])
        if min(_room(saw.value, at), limit - edge - distance) >= WOOD + 0.5 * DRILL:
            side = "left" if sign > 0.0 else "right"
            return Pilot(
                mark=mark.name,
                side=side,
                distance=distance,
                drill=DRILL,
                x=x,
                y=y,
                z=track.board_top(z),
            )
    return None


def _room(ring: FloatArray, point: FloatArray) -> float:
    """How far inside a clockwise outline a point lies; negative outside the nearest edge's line."""
    edge = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(edge[:, 0], edge[:, 1])
    inward = np.stack([edge[:, 1], -edge[:, 0]], axis=1) / length[:, None]
    share = np.clip(np.einsum("ni,ni->n", point - ring, edge) / length**2, 0.0, 1.0)
    far = np.hypot(*(ring + edge * share[:, None] - point).T)
    k = int(np.argmin(far))
    return float(far[k]) if float((point - ring[k]) @ inward[k]) >= 0.0 else -float(far[k])


def ordinates(
    given: Subroadbed, track: Track, found: Outline, saw: Derived
) -> tuple[str, tuple[Ordinate, ...]]:
    """Return the ordinate table: whole steps along the marked rail, the marks, and the two end cuts.

    Parameters
    ----------
    given : Subroadbed
        The board with its edges.
    track : Track
        The track with its marks.
    found : Outline
        The finished line.
    saw : Derived
        Corners of the saw line.

    Returns
    -------
    origin : str
        The mark that lengths along the rail start from; empty if it is the first end cut.
    rows : tuple of Ordinate
        In growing station.

    Notes
    -----
    The outer edge of a rail's head, d to the left of the centre, is by ``d`` times the turn of the track
    shorter than the centre line between two stations.
    """
    marks = inside(track, found.ends)
    near = min(track.marks, key=lambda m: _beyond(m, found.ends), default=None)
    first = marks[0] if marks else near
    origin = first.station if first else found.ends[0]
    left = track.edge * track.side
    heading = track.at(origin).heading[0]

    def along(station: Derived) -> Derived:
        return station - origin - (track.at(station).heading[0] - heading) * left

    places = [
        *(
            ("end", name, e)
            for name, e in zip((found.supports[0], found.supports[-1]), found.ends, strict=True)
        ),
        *(("mark", m.name, m.station) for m in marks),
        *(
            ("support", name, origin * 0.0 + s)
            for name, s in zip(found.supports[1:-1], found.joints, strict=True)
        ),
    ]
    rows = [(kind, name, station, along(station)) for kind, name, station in places]
    low, high = float(rows[0][3].value), float(rows[1][3].value)
    every = given.every
    for step in np.arange(np.ceil(low / every), np.floor(high / every) + 1.0) * every:
        station = _station_of(track, along, float(origin.value), float(step))
        if not any(abs(float(r[3].value) - step) < 1e-6 for r in rows):
            rows.append(("step", "", station, origin * 0.0 + step))
    rows.sort(key=lambda r: float(r[2].value))
    return first.name if first else "", tuple(_row(given, track, found, saw, row=r) for r in rows)


def _beyond(mark: RailMark, ends: tuple[Derived, Derived]) -> float:
    s = float(mark.station.value)
    return max(float(ends[0].value) - s, s - float(ends[1].value))


def _station_of(track: Track, along: Callable[[Derived], Derived], origin: float, step: float) -> Derived:
    """Return the station that lies a step along the rail from the origin."""
    left = float(track.edge.value) * track.side
    s = origin + step
    for _ in range(20):
        (_, turned) = position_at(track.line, np.array([origin, s]))
        before, s = s, origin + step + left * float(turned[1] - turned[0])
        if abs(s - before) < 1e-12:
            break
    # where a held station would lie along the rail tells how the station of a held length moves
    held = along(Derived(np.float64(s), np.zeros(0)))
    bend = float(curvature_at(track.line, np.array([s]))[0])
    return Derived(np.float64(s), -held.jac / (1.0 - bend * left))


def _row(
    given: Subroadbed,
    track: Track,
    found: Outline,
    saw: Derived,
    *,
    row: tuple[str, str, Derived, Derived],
) -> Ordinate:
    kind, at, station, along = row
    there = track.at(station)
    x, y = there.x[0], there.y[0]
    left = (-dv.sin(there.heading)[0], dv.cos(there.heading)[0])
    n = len(found.supports)
    out = {}
    for name, corners in (("finished", found.corners), ("saw", saw)):
        for side, sign, numbers in (
            ("left", 1.0, list(range(n))),
            ("right", -1.0, list(range(2 * n - 1, n - 1, -1))),
        ):
            out[name, side] = _crossing((x, y), left, [corners[k] for k in numbers]) * sign - track.edge
    limits = (given.edge_left, given.edge_right)
    edge = float(track.edge.value)
    return Ordinate(
        kind=kind,
        at=at,
        along=along,
        finished_left=out["finished", "left"],
        finished_right=out["finished", "right"],
        saw_left=out["saw", "left"],
        saw_right=out["saw", "right"],
        on_left=float(out["finished", "left"].value) + edge <= limits[0],
        on_right=float(out["finished", "right"].value) + edge <= limits[1],
    )


def _crossing(at: tuple[Derived, Derived], left: tuple[Derived, Derived], side: list[Derived]) -> Derived:
    """How far to the left a side is crossed; beyond its ends the outer edges run on straight."""
    cross = []
    for corner in side:  # ahead of the line square to the track: positive
        gap = (corner.value[0] - at[0].value, corner.value[1] - at[1].value)
        cross.append(float(gap[0] * left[1].value - gap[1] * left[0].value))
    k = next((j for j in range(1, len(side) - 1) if cross[j] >= 0.0), len(side) - 1) - 1
    a, b = side[k], side[k + 1]
    ex, ey = b[0] - a[0], b[1] - a[1]
    return ((a[0] - at[0]) * ey - (a[1] - at[1]) * ex) / (left[0] * ey - left[1] * ex)


def check_distances(track: Track, found: Outline, pilots: tuple[Pilot, ...]) -> tuple[Distance, ...]:
    """Choose three distances to marks outside the opening: two diagonals and a pilot hole.

    Parameters
    ----------
    track : Track
        The track with its marks.
    found : Outline
        The finished line.
    pilots : tuple of Pilot
        The pilot holes.

    Returns
    -------
    tuple of Distance
        Three; fewer where there are no marks.
    """
    if not track.marks:
        return ()
    low, high = (float(e.value) for e in found.ends)
    before = [m for m in track.marks if float(m.station.value) < low]
    after = [m for m in track.marks if float(m.station.value) > high]
    first = next((m for m in reversed(before) if low - float(m.station.value) >= HOOK), None)
    last = next((m for m in after if float(m.station.value) - high >= HOOK), None)
    first, last = first or (before[-1] if before else None), last or (after[0] if after else None)
    n = len(found.supports)
    # a corner on the far side from the rail that is measured to makes the longest diagonal
    across = "right" if track.side > 0.0 else "left"
    rows = []
    for place, k, mark in (("start", 0, last), ("finish", n - 1, first)):
        corner = found.corners[k if across == "left" else 2 * n - 1 - k]
        rows.append((f"{place} {across}", _on_paper(track, corner), mark, True))
    if pilots:
        hole, mark = (pilots[-1], first) if first else (pilots[0], last)
        rows.append((f"pilot {hole.mark}", (hole.x, hole.y, hole.z), mark, False))
    return tuple(_distance(track, start, at, mark, is_diagonal=d) for start, at, mark, d in rows if mark)


def _distance(
    track: Track, start: str, at: tuple[Derived, Derived, Derived], mark: RailMark, *, is_diagonal: bool
) -> Distance:
    dx, dy, dz = mark.x - at[0], mark.y - at[1], mark.z - at[2]
    value = dv.sqrt(dx * dx + dy * dy + dz * dz)
    u = float(value.sd(track.inputs.spread))
    limit = track.bridge.k * float(np.hypot(u, TAPE))
    return Distance(start=start, mark=mark.name, value=value, limit=limit, tape=TAPE, is_diagonal=is_diagonal)


def _on_paper(track: Track, corner: Derived) -> tuple[Derived, Derived, Derived]:
    """Say where a printed corner comes to lie: the sheet is fast to the rails at the nearest mark."""
    held = Derived(corner.value, np.zeros((2, 0)))
    station, left, _ = beside(track.line, held[0], held[1])
    s = float(station.value)
    near = min(track.marks, key=lambda m: abs(float(m.station.value) - s))
    x, y, z = track.off(
        near.station + (s - float(near.station.value)), near.station * 0.0 + float(left.value)
    )
    return x, y, track.board_top(z)
