"""The opening of the board under the upper line: what is sawn and trimmed, and what keys it to the rails.

Order to read: :func:`open_board`, then ``outline`` (the finished line and the saw line), then ``ordinates``
(pilot holes, ordinates, distances to check).

A board that is cut too far does not come back, so it is cut to the safe side: the saw line lies in the
waste inside the finished line, by as much as the blade may lean over the board's thickness, half the saw
cut, and k times the doubt of setting out. What is left standing is trimmed back to the finished line.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from spanwright.alignment.given import LineInput
from spanwright.alignment.line import Line
from spanwright.alignment.stage import LaidLine
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.findings import Finding, Severity
from spanwright.parts.board.laid import LaidTrack, laid_track, square_off
from spanwright.parts.board.ordinates import (
    Distance,
    Ordinate,
    Pilot,
    check_distances,
    ordinates,
    pilot_holes,
)
from spanwright.parts.board.outline import Outline, RailMark, Track, inset, on_board, outline
from spanwright.parts.given import Obstruction, Subroadbed
from spanwright.structures.given import StructuresInput
from spanwright.structures.spans import beside
from spanwright.structures.stage import Structures
from spanwright.survey.readings import Mark, Rail
from spanwright.survey.stage import AdjustedSurvey

FloatArray = np.ndarray

#: How truly a pattern is laid to the rails and its line followed, standard uncertainty (common practice,
#: no source). [mm]
SETTING_OUT = 0.3
#: The allowance for doubt is rounded up to this. [mm]
STEP = 0.1
#: What passes an end cut by less is as good as flush with it. [mm]
CLOSE = 0.05
#: Fewest distances that tell a pattern that lies off along, across or askew.
FEWEST_CHECKS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Allowance:
    """How far the saw line lies inside the finished line, and why.

    Parameters
    ----------
    total : Derived
        All of it.
    lean : Derived
        Thickness times the tangent of the blade's lean.
    kerf : float
        Half the saw cut. [mm]
    doubt : float
        k times the doubt of setting out, rounded up. [mm]
    """

    total: Derived
    lean: Derived
    kerf: float
    doubt: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Obstructed:
    """An obstruction where it lies.

    Parameters
    ----------
    given : Obstruction
        As given.
    ring : ndarray, shape (n, 2)
        Its outline in plan. [mm]
    """

    given: Obstruction
    ring: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Opening:
    """All that is known of the opening. Plan points are in the layout frame.

    Parameters
    ----------
    given : Subroadbed
        The board, as given.
    thickness : Derived
        All that the saw goes through.
    outline : Outline
        The finished line.
    saw : Derived
        Corners of the saw line, as those of the finished line, shape (2 n, 2).
    sawn : tuple of (ndarray, bool)
        What of the saw line is sawn: where the board ends the cut runs out; and whether it is closed. [mm]
    trimmed : tuple of (ndarray, bool)
        The same of the finished line. [mm]
    allowance : Allowance
        Between the two.
    track : LaidTrack
        Rails, slots, ties.
    marks : tuple of RailMark
        Survey marks on the line, in station order.
    pilots : tuple of Pilot
        Two pilot holes; fewer where there is no room.
    origin : str
        The mark that ordinates are counted from; empty if it is the first end cut.
    marked : str
        ``left`` or ``right``: the rail along which they are counted.
    ordinates : tuple of Ordinate
        The ordinate table.
    checks : tuple of Distance
        What to measure before the saw is used.
    obstructions : tuple of Obstructed
        What the saw must not meet.
    k : float
        Coverage factor of allowance and limits. [1]
    findings : tuple of Finding
        What the builder should know.
    """

    given: Subroadbed
    thickness: Derived
    outline: Outline
    saw: Derived
    sawn: tuple[tuple[FloatArray, bool], ...]
    trimmed: tuple[tuple[FloatArray, bool], ...]
    allowance: Allowance
    track: LaidTrack
    marks: tuple[RailMark, ...]
    pilots: tuple[Pilot, ...]
    origin: str
    marked: str
    ordinates: tuple[Ordinate, ...]
    checks: tuple[Distance, ...]
    obstructions: tuple[Obstructed, ...]
    k: float
    findings: tuple[Finding, ...]


def open_board(
    given: Subroadbed,
    inputs: Inputs,
    laid: LaidLine,
    structures: Structures,
    survey: AdjustedSurvey,
    *,
    line_input: LineInput,
    bridge: StructuresInput,
) -> Opening:
    """Find where the board is cut and how the cut is laid out.

    Parameters
    ----------
    given : Subroadbed
        The board.
    inputs : Inputs
        The base inputs, with the unseen ones.
    laid : LaidLine
        The line on the board.
    structures : Structures
        The bridge that finds its place in the opening.
    survey : AdjustedSurvey
        The marks on the rails.
    line_input : LineInput
        Rail head of the line.
    bridge : StructuresInput
        Rail, tie and coverage factor.

    Returns
    -------
    Opening
        Lines, holes, ordinates, checks.
    """
    line = laid.line
    marks = _rail_marks(laid, survey)
    track = Track(
        line=line, inputs=inputs, head=size(inputs, line_input.rail_head), marks=marks, bridge=bridge
    )
    found = outline(given, inputs, line, structures, bridge)
    allowance = _allowance(given, track, found)
    saw = inset(found.corners, allowance.total)
    pilots = pilot_holes(given, track, found, saw)
    origin, rows = ordinates(given, track, found, saw)
    checks = check_distances(track, found, pilots)
    obstructions = tuple(_place(o, line, marks) for o in given.obstructions)
    sawn = on_board(given, line, saw.value)
    return Opening(
        given=given,
        thickness=size(inputs, given.thickness),
        outline=found,
        saw=saw,
        sawn=sawn,
        trimmed=on_board(given, line, found.corners.value),
        allowance=allowance,
        track=laid_track(given, track, found, origin),
        marks=marks,
        pilots=pilots,
        origin=origin,
        marked="left" if track.side > 0.0 else "right",
        ordinates=rows,
        checks=checks,
        obstructions=obstructions,
        k=bridge.k,
        findings=(
            *_met(obstructions, sawn, saw.value, pilots, allowance=allowance, k=bridge.k),
            *_closed(found, saw, allowance),
            *_over_the_ends(track, found, structures),
            *_unsurveyed(line, found),
            *_unkeyed(given, pilots, checks),
        ),
    )


def _rail_marks(laid: LaidLine, survey: AdjustedSurvey) -> tuple[RailMark, ...]:
    if laid.stations is None:
        return ()
    by_name: dict[str, Mark] = {m.name: m for m in survey.marks}
    marks = [
        RailMark(
            name=name,
            rail=by_name[name].rail or Rail.BOTH,
            x=survey.value(f"{name}.x"),
            y=survey.value(f"{name}.y"),
            z=survey.value(f"{name}.z"),
            station=laid.stations[k],
        )
        for k, name in enumerate(laid.mark_names)
    ]
    return tuple(sorted(marks, key=lambda m: float(m.station.value)))


def _allowance(given: Subroadbed, track: Track, found: Outline) -> Allowance:
    """Lean, half the saw cut, and k times how far the finished line may lie off, seen from the rails."""
    spread = track.inputs.spread
    doubts = [
        float(beside(track.line, found.corners[k][0], found.corners[k][1])[1].sd(spread))
        for k in range(len(found.corners))
    ]
    n = len(found.supports)
    for k in (*range(n - 1), *range(n, 2 * n - 1)):  # the sides lie off in the middle too
        middle = (found.corners[k] + found.corners[k + 1]) * 0.5
        doubts.append(float(beside(track.line, middle[0], middle[1])[1].sd(spread)))
    for end in found.ends:
        near = min(track.marks, key=lambda m: abs(float((m.station - end).value)), default=None)
        doubts.append(float((end - near.station).sd(spread)) if near else float(end.sd(spread)))
    u = float(np.hypot(max(doubts), SETTING_OUT))
    doubt = float(np.ceil(track.bridge.k * u / STEP - 1e-9) * STEP)
    lean = size(track.inputs, given.thickness) * float(np.tan(given.lean))
    return Allowance(total=lean + (0.5 * given.kerf + doubt), lean=lean, kerf=0.5 * given.kerf, doubt=doubt)


def _place(given: Obstruction, line: Line, marks: tuple[RailMark, ...]) -> Obstructed:
    mark = next(float(m.station.value) for m in marks if m.name == given.mark)
    stations = mark + np.linspace(given.along[0], given.along[1], 9)
    low, high = given.across
    ring = np.concatenate([square_off(line, stations, low), square_off(line, stations, high)[::-1]])
    return Obstructed(given=given, ring=ring)


def _met(
    obstructions: tuple[Obstructed, ...],
    sawn: tuple[tuple[FloatArray, bool], ...],
    saw: FloatArray,
    pilots: tuple[Pilot, ...],
    *,
    allowance: Allowance,
    k: float,
) -> list[Finding]:
    """Find what saw or drill meets, within the doubt of where it lies."""
    paths = [LineString(np.vstack([run, run[:1]]) if closed else run) for run, closed in sawn]
    waste = Polygon(saw)
    blade = allowance.kerf + float(allowance.lean.value)
    found = []
    for thing in obstructions:
        body = Polygon(thing.ring)
        near = k * float(np.hypot(thing.given.sd, SETTING_OUT))
        tools: list[tuple[str, LineString | Point, float]] = [("saw", path, blade) for path in paths]
        tools += [
            (f"drill of the pilot hole at {p.mark}", Point(float(p.x.value), float(p.y.value)), 0.5 * p.drill)
            for p in pilots
        ]
        for tool, way, reach in tools:
            room = float(way.distance(body)) - reach
            if room < near:
                found.append(_finding_of(thing, tool, room, near))
        if body.intersects(waste):
            found.append(
                Finding(
                    code="PA102",
                    severity=Severity.NOTE,
                    where=thing.given.name,
                    text="it lies under the piece that comes out",
                    remedy="Free it from the board before the saw is used, or the piece will not come out",
                )
            )
    return found


def _finding_of(thing: Obstructed, tool: str, room: float, near: float) -> Finding:
    met = room <= 0.0
    return Finding(
        code="PA101",
        severity=Severity.STOP if met else Severity.WARNING,
        where=thing.given.name,
        text=(
            f"the {tool} meets it"
            if met
            else f"the {tool} passes it by {room:.1f} mm, and where it lies is known to {near:.1f} mm"
        ),
        value=room,
        limit=near,
        remedy="Move it, stop the saw short of it and finish by hand, or measure its place better",
    )


def _closed(found: Outline, saw: Derived, allowance: Allowance) -> list[Finding]:
    """Say where the saw lines of the two sides, or of the two ends, cross each other."""
    outer, inner = found.corners.value, saw.value
    last = len(outer) - 1
    pairs = [(k, last - k) for k in range(len(found.supports))] + [(0, len(found.supports) - 1)]
    if all(float((outer[a] - outer[b]) @ (inner[a] - inner[b])) > 0.0 for a, b in pairs):
        return []
    total = float(allowance.total.value)
    return [
        Finding(
            code="PA106",
            severity=Severity.STOP,
            where="subroadbed",
            text=f"the saw line lies {total:.1f} mm inside the finished line: no waste is left between",
            value=total,
            remedy="Hold the blade more upright, or measure the track and the bridge better",
        )
    ]


def _over_the_ends(track: Track, found: Outline, structures: Structures) -> list[Finding]:
    """Say what of the first and the last span passes an end cut, which is set by the support alone."""
    corners = found.corners.value
    n = len(found.supports)
    over = []
    for k, (a, b) in ((0, (corners[-1], corners[0])), (-1, (corners[n - 1], corners[n]))):
        out = np.array([a[1] - b[1], b[0] - a[0]]) / float(np.hypot(*(b - a)))  # the corners go clockwise
        top = float(track.board_top(track.at(found.ends[k]).z[0]).value)
        name = structures.spans[k].axis.given.name
        for shape in structures.shapes:
            if shape.part.partition("/")[0] != name:
                continue
            past = (shape.vertices[:, :2] - a) @ out
            if float(past.max()) <= CLOSE:
                continue
            is_above = float(shape.vertices[past > CLOSE, 2].min()) >= top
            over.append(
                Finding(
                    code="PA107",
                    severity=Severity.NOTE if is_above else Severity.WARNING,
                    where=shape.part,
                    text=(
                        f"it stands {float(past.max()):.1f} mm over the board beyond the end of the opening"
                        if is_above
                        else f"it runs {float(past.max()):.1f} mm into the board at the end of the opening"
                    ),
                    value=float(past.max()),
                    limit=0.0,
                    remedy="End it short there, or cut the board back beside the support",
                )
            )
    return over


def _unsurveyed(line: Line, found: Outline) -> list[Finding]:
    low, high = line.surveyed
    beyond = []
    for name, end in zip((found.supports[0], found.supports[-1]), found.ends, strict=True):
        s = float(end.value)
        past = max(low - s, s - high)
        if past > 0.0:
            beyond.append(
                Finding(
                    code="PA103",
                    severity=Severity.WARNING,
                    where=name,
                    text=f"the end of the opening lies {past:.1f} mm beyond the last mark: not surveyed",
                    value=past,
                    limit=0.0,
                    remedy="Mark and measure the rails past the end of the opening, then derive again",
                )
            )
    return beyond


def _unkeyed(given: Subroadbed, pilots: tuple[Pilot, ...], checks: tuple[Distance, ...]) -> list[Finding]:
    found = []
    if len(pilots) < 2:
        lost = [name for name in given.pilots if name not in {p.mark for p in pilots}]
        found.append(
            Finding(
                code="PA104",
                severity=Severity.WARNING,
                where="subroadbed",
                text=(
                    f"no pilot hole finds room in the waste beside {' and '.join(lost)}"
                    if lost
                    else "there are no two marks in the opening beside which pilot holes find room"
                )
                + ": there is no pattern for the underside",
                value=float(len(pilots)),
                limit=2.0,
                remedy="Mark and measure two more places on the rails inside the opening, or cut from above",
            )
        )
    if len(checks) < FEWEST_CHECKS:
        found.append(
            Finding(
                code="PA105",
                severity=Severity.WARNING,
                where="subroadbed",
                text="there are too few marks outside the opening to check the pattern by three distances",
                value=float(len(checks)),
                limit=float(FEWEST_CHECKS),
                remedy="Mark and measure the rails beyond both ends of the opening",
            )
        )
    return found
