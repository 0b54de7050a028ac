"""What the trains of the lower line sweep in plan, and the gap of the nearest ones along the line."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry import box as area
from shapely.geometry.base import BaseGeometry

from spanwright.alignment.line import Line, nearest_station, position_at
from spanwright.alignment.stage import Alignments
from spanwright.clearance.engine.along import gap_along, swept_plan
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.clearance.vehicles import Vehicle
from spanwright.drawings.display import Item, Role, Sheet, Text, path
from spanwright.drawings.draughting import Draught
from spanwright.drawings.sheets.arrangement.silhouette import largest
from spanwright.drawings.sheets.arrangement.views import PlanView, plan_view
from spanwright.drawings.speech import Speech
from spanwright.structures.given import StructuresInput
from spanwright.structures.shapes import Shape
from spanwright.structures.stage import Structures

FloatArray = np.ndarray

SIZE = 2.2
_STEP = 2.0  # mm of station between poses of the plan
_BEYOND = 40.0  # mm that the picture reaches beyond the bridge's parts
_GAPS = 4  # graphs on a sheet
_REACH = 140.0  # mm of station to each side of the closest pose
_POSES = 71
_GRAPH = (150.0, 34.0)  # width and height of a graph on paper
#: Ticks of gap and of station, by the unit that lengths are shown in. [mm]
_TICKS = {"mm": (2.0, 40.0), "in": (2.54, 50.8)}
_MOST = 6.0  # mm of gap above the margin that a graph shows


def swept_sheet(
    given: StructuresInput, bridge: Structures, alignments: Alignments, asked: ClearanceInput, say: Speech
) -> Sheet:
    """Draw what all trains of the lower line sweep, seen from above, with the parts that stand beside it.

    Parameters
    ----------
    given : StructuresInput
        Names of the lines.
    bridge : Structures
        Finished parts.
    alignments : Alignments
        The lines.
    asked : ClearanceInput
        Vehicles and margins.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    Sheet
        ``general/swept plan``, to a scale of ISO 5455.
    """
    line = alignments.line(given.lower)
    corners = np.vstack([s.vertices[:, :2] for s in bridge.shapes if s.over in ("", given.lower)])
    near = nearest_station(line, corners)
    stations = np.arange(near.min() - 2.0 * _BEYOND, near.max() + 2.0 * _BEYOND, _STEP)
    vehicles = [run.vehicle for run in asked.runs if run.line == given.lower]
    swept = {v.id: swept_plan(line, v, stations) for v in vehicles}

    def make(scale: float) -> Sheet:
        return _plan(given, bridge, alignments, say, scale=scale, swept=swept)

    return largest(make)


def _plan(
    given: StructuresInput,
    bridge: Structures,
    alignments: Alignments,
    say: Speech,
    *,
    scale: float,
    swept: dict[str, BaseGeometry],
) -> Sheet:
    view = plan_view(alignments, bridge, scale)
    draught = Draught(SIZE)
    beside = [s for s in bridge.shapes if s.over == "" and s.part.split("/")[1] not in ("cap", "backwall")]
    hulls = {s.part: MultiPoint(view.paper(s.vertices)).convex_hull for s in beside}
    low = np.min([h.bounds[:2] for h in hulls.values()], axis=0) - _BEYOND * scale
    high = np.max([h.bounds[2:] for h in hulls.values()], axis=0) + _BEYOND * scale
    window = area(low[0], low[1], high[0], high[1])
    whole = shapely.union_all([_placed(view, a) for a in swept.values()])
    draught.add(_outline(whole.intersection(window), Role.OUTLINE, fill=0.9))
    for one in swept.values():
        draught.add(_outline(_placed(view, one).intersection(window), Role.FINE))
    feet = {part for part in hulls if part.split("/")[1].startswith("footing")}
    for part in sorted(hulls, key=lambda key: key not in feet):
        draught.add(_outline(hulls[part], Role.HIDDEN if part in feet else Role.OUTLINE, fill=1.0))
    centre = _centre(alignments.line(given.lower), view)
    for part, hull in hulls.items():
        if part not in feet:
            _name(draught, say.place(part), hull, centre)
    run = centre.intersection(window)
    draught.add(
        [path(part.coords, Role.CENTRE) for part in getattr(run, "geoms", [run]) if not part.is_empty]
    )
    _ends(draught, run, given.lower, say)
    left, bottom, right, top = window.bounds
    draught.label(f"{say.words.left} side", (0.5 * (left + right), top + 2.0), bold=True)
    draught.label(
        f"{say.words.right} side", (0.5 * (left + right), bottom - 4.0), away=(0.0, -1.0), bold=True
    )
    notes = (
        "Grey: all that the trains of the lower line sweep, play included, at any height. Fine lines: each"
        " vehicle by itself. What touches here need not touch in space: see the section and the graphs.",
    )
    return Sheet(
        id="general/swept plan",
        title=f"What the trains of line {given.lower} sweep, from above",
        items=draught.items,
        true=False,
        scale=scale,
        notes=notes,
    )


def _ends(draught: Draught, run: BaseGeometry, line: str, say: Speech) -> None:
    """Say where the line leads, beyond both ends of what is seen of it."""
    points = shapely.get_coordinates(run)
    for end, before, word in (
        (points[0], points[1], say.words.start),
        (points[-1], points[-2], say.words.finish),
    ):
        way = (end - before) / np.hypot(*(end - before))
        x, y = end + 3.0 * way
        y -= SIZE if way[1] < 0.0 else 0.0  # a text stands on its base line
        anchor = "end" if way[0] < 0.0 else "start"
        draught.label(
            f"{line}, to {word}",
            (float(x), float(y)),
            away=(0.0, 1.0 if way[1] >= 0.0 else -1.0),
            anchor=anchor,
        )


def _name(draught: Draught, words: str, hull: BaseGeometry, centre: LineString) -> None:
    """Say what stands there, on the side that is turned away from the track."""
    x, y = hull.centroid.coords[0]
    foot = shapely.get_coordinates(shapely.shortest_line(centre, hull.centroid))[0]
    way = (np.array([x, y]) - foot) / np.hypot(x - foot[0], y - foot[1])
    sideways = 7.0 if way[0] >= 0.0 else -7.0
    draught.leader((x, y), (x + sideways, y + (12.0 if way[1] >= 0.0 else -12.0)), words)


def _placed(view: PlanView, area_: BaseGeometry) -> BaseGeometry:
    return shapely.transform(area_, view.paper)


def _outline(shape: BaseGeometry, role: Role, fill: float | None = None) -> list[Item]:
    polygons = [p for p in getattr(shape, "geoms", [shape]) if isinstance(p, Polygon) and not p.is_empty]
    return [path(p.exterior.coords[:-1], role, closed=True, fill=fill) for p in polygons]


def _centre(line: Line, view: PlanView) -> LineString:
    points, _ = position_at(line, np.arange(line.surveyed[0], line.surveyed[1], 2.0))
    return LineString(view.paper(points))


def gap_sheet(
    shapes: tuple[Shape, ...],
    alignments: Alignments,
    asked: ClearanceInput,
    result: ClearanceResult,
    say: Speech,
) -> Sheet | None:
    """Draw the gap along the line for the closest vehicles and parts.

    Parameters
    ----------
    shapes : tuple of Shape
        Finished parts, portals too.
    alignments : Alignments
        The lines.
    asked : ClearanceInput
        Vehicles and margins.
    result : ClearanceResult
        Gaps with their verdicts.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    Sheet or None
        ``general/gaps``; None where nothing comes near.
    """
    near = [g for g in result.gaps if not g.beyond_reach and np.isfinite(g.station)]
    near.sort(key=lambda g: float(g.margin_gap.value) - say.k * g.margin_u)
    chosen: list[Gap] = []
    for gap in near:  # one vehicle for each part
        if len(chosen) < _GAPS and gap.part not in {g.part for g in chosen}:
            chosen.append(gap)
    if not chosen:
        return None
    draught = Draught(SIZE)
    vehicles = {run.vehicle.id: run.vehicle for run in asked.runs}
    for number, gap in enumerate(chosen):
        curve = _curve(gap, vehicles, shapes, alignments)
        margin = asked.margin_above if gap.side == "above" else asked.margin_side
        _graph(draught, -number * (_GRAPH[1] + 20.0), gap, curve, margin=margin, say=say)
    notes = (
        "Each curve is the least distance in space at that place of the train; where there is none, nothing"
        " is as near as the graph is high. The band is"
        f" {say.k:g} times the standard uncertainty at the closest point; the dashed line is the margin that"
        " is wanted.",
    )
    return Sheet(
        id="general/gaps",
        title="The gap along the line, where trains come closest",
        items=draught.items,
        true=False,
        scale=0.0,
        notes=notes,
    )


def _curve(
    gap: Gap, vehicles: dict[str, Vehicle], shapes: tuple[Shape, ...], alignments: Alignments
) -> tuple[FloatArray, FloatArray]:
    shape = next(s for s in shapes if s.part == gap.part)
    stations = gap.station + np.linspace(-_REACH, _REACH, _POSES)
    return stations, gap_along(alignments.line(gap.line), vehicles[gap.vehicle], shape, stations)


def _graph(
    draught: Draught,
    foot: float,
    gap: Gap,
    curve: tuple[FloatArray, FloatArray],
    *,
    margin: float,
    say: Speech,
) -> None:
    """Draw one graph whose foot is gap nought."""
    stations, values = curve
    top = margin + _MOST
    wide, high = _GRAPH
    x = partial(_scaled, low=stations[0], high=stations[-1], size=wide)
    y = partial(_scaled, low=0.0, high=top, size=high)
    frame = [(0.0, foot), (wide, foot), (wide, foot + high), (0.0, foot + high)]
    draught.add([path(frame, Role.FINE, closed=True)])
    wide_u = say.k * gap.u
    for low, above in _runs(values, top):
        points = np.column_stack([x(stations[low:above]), foot + y(values[low:above])])
        upper = np.column_stack([points[:, 0], foot + y(np.minimum(values[low:above] + wide_u, top))])
        under = np.column_stack([points[:, 0], foot + y(np.maximum(values[low:above] - wide_u, 0.0))])
        band = path((*upper, *under[::-1]), closed=True, fill=0.88)
        draught.add([replace(band, stroked=False)])
        draught.add([path(points, Role.OUTLINE)])
    level = foot + float(y(margin))
    draught.add([path([(0.0, level), (wide, level)], Role.REFERENCE)])
    draught.label(
        f"{gap.vehicle} on {gap.line}, against {say.place(gap.part)}: {gap.verdict.value}",
        (0.0, foot + high + 1.5),
        anchor="start",
        bold=True,
    )
    for value in np.arange(0.0, top + 0.01, _TICKS[say.unit][0]):
        up = foot + float(y(value))
        draught.add([path([(-1.0, up), (0.0, up)], Role.FINE)])
        draught.label(
            say.bare(value, 1 if say.unit == "mm" else -1), (-1.8, up - 0.8), away=(-1.0, 0.0), anchor="end"
        )
    step = _TICKS[say.unit][1]
    for station in np.arange(np.ceil(stations[0] / step) * step, stations[-1], step):
        at = float(x(station))
        draught.add([path([(at, foot), (at, foot - 1.0)], Role.FINE)])
        draught.label(say.bare(station, 0 if say.unit == "mm" else -2), (at, foot - 4.0), away=(0.0, -1.0))
    draught.add(
        [
            Text(
                at=(-12.0, foot + 0.5 * high),
                text=f"gap, {say.unit}",
                size=SIZE,
                anchor="middle",
                turn=np.pi / 2,
            )
        ]
    )
    draught.label(f"middle of the train along {gap.line}, {say.unit}", (wide, foot - 7.5), anchor="end")


def _scaled(value: FloatArray | float, *, low: float, high: float, size: float) -> FloatArray:
    return (np.asarray(value) - low) / (high - low) * size


def _runs(values: FloatArray, top: float) -> list[tuple[int, int]]:
    """Return stretches of two or more values that the graph can show."""
    shown = np.concatenate([[False], values <= top, [False]])
    edges = np.flatnonzero(np.diff(shown.astype(int)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= 2]
