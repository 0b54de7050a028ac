"""The bridge from above: both lines, girders beneath their ties, supports, the crossing.

The sheet is turned so that the first and the last support stand level, the start of the line to the
left; the left of growing station is then above. The origin is the crossing of the track centres. What
lies beneath the deck is dashed. Read :func:`plan_sheet`.
"""

from __future__ import annotations

from functools import partial
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry import box as area
from shapely.geometry.base import BaseGeometry

from spanwright.alignment.crossing import off_square
from spanwright.alignment.line import Line, position_at
from spanwright.alignment.stage import Alignments, LaidLine
from spanwright.drawings import fonts
from spanwright.drawings.display import Circle, Item, Path, Role, Sheet, Text, path, text_box
from spanwright.drawings.draughting import ARROW, Draught, bounds
from spanwright.drawings.sheets.arrangement.silhouette import largest, middle_line, outlines, painted, split
from spanwright.drawings.sheets.arrangement.views import bearing_numbers, bridged, plan_view
from spanwright.drawings.speech import Speech
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.structures.given import StructuresInput
from spanwright.structures.spans import kink
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport
from spanwright.survey.stage import AdjustedSurvey

FloatArray = np.ndarray

SIZE = 2.2
#: How far the picture reaches beyond the bridge on paper: along, and across. [mm]
MARGIN = (15.0, 13.0)
#: An ellipse of doubt is drawn so much larger, the first that can be seen. [1]
TIMES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_SEEN = 1.5  # least half axis of an ellipse on paper
_ROW = 3.2
_TRIES = 60
_FAN = (0.0, 20.0, -20.0, 40.0, -40.0, 60.0, -60.0)  # degrees
_UNITS = {"mm": "mm", "in": "inches"}
_ARC = 20.0  # radius of the angle's arc
_COVERS = ("ties", "cap", "backwall")


def plan_sheet(
    given: StructuresInput, survey: AdjustedSurvey, alignments: Alignments, bridge: Structures, say: Speech
) -> Sheet:
    """Draw the bridge from above.

    Parameters
    ----------
    given : StructuresInput
        Names of the lines, the coverage factor.
    survey : AdjustedSurvey
        The marks.
    alignments : Alignments
        The lines.
    bridge : Structures
        The fitted bridge.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    Sheet
        ``arrangement/plan``; the origin is the crossing of the track centres.
    """

    def make(scale: float) -> Sheet:
        return _sheet(_Picture(given, survey, alignments, bridge, say, scale=scale))

    return largest(make)


class _Picture:
    """What every part of the drawing needs."""

    def __init__(
        self,
        given: StructuresInput,
        survey: AdjustedSurvey,
        alignments: Alignments,
        bridge: Structures,
        say: Speech,
        *,
        scale: float,
    ) -> None:
        self.given, self.survey, self.alignments, self.bridge, self.say = (
            given,
            survey,
            alignments,
            bridge,
            say,
        )
        self.scale = scale
        self.view = plan_view(alignments, bridge, scale)
        self.draught = Draught(SIZE)
        self.upper, self.lower = alignments.line(given.upper), alignments.line(given.lower)
        corners = np.concatenate([self.view.paper(s.vertices) for s in bridge.shapes])
        low, high = corners.min(axis=0) - MARGIN, corners.max(axis=0) + MARGIN
        self.window = area(low[0], low[1], high[0], high[1])
        self.hulls = {s.part: _hull(self.view.paper(s.vertices)) for s in bridge.shapes}
        self._seen = 0  # texts whose boxes are among those that block
        self.blocked: list[BaseGeometry] = [h.buffer(0.6) for h in self.hulls.values()]
        self.cover = shapely.union_all([h for part, h in self.hulls.items() if _last(part) in _COVERS])

    def axes(self, support: FittedSupport) -> tuple[FloatArray, FloatArray]:
        """Return a support's place on paper and the unit vector to the left of the track there."""
        point, heading = position_at(self.upper, np.array([support.station]))
        turn = heading[0] - self.view.turn
        return self.view.paper(point)[0], np.array([-np.sin(turn), np.cos(turn)])

    def free(self, corners: tuple[float, float, float, float]) -> bool:
        """Tell whether a box (left, bottom, right, top) stands on nothing that was drawn."""
        texts = [t for t in self.draught.items if isinstance(t, Text)]
        for t in texts[self._seen :]:
            self.blocked.append(Polygon(text_box(t, fonts.width(t.text, t.size, bold=t.bold))))
        self._seen = len(texts)
        return not bool(np.any(shapely.intersects(area(*corners), np.array(self.blocked))))


def _hull(points: FloatArray) -> Polygon:
    hull = MultiPoint(points).convex_hull
    return hull if isinstance(hull, Polygon) else hull.buffer(1e-6)


def _last(part: str) -> str:
    return part.rpartition("/")[2].split()[0]


def _sheet(p: _Picture) -> Sheet:
    say = p.say
    crossing = bridged(p.alignments, p.bridge)
    _parts(p)
    _tracks(p)
    times = _crossing(p)
    _marks(p)
    _pitches(p)
    _bearings(p)
    _directions(p)
    _supports(p)
    _angle(p)
    _sides(p)
    _legend(p)
    between, off = off_square(crossing)
    long, short, _ = ellipse(crossing.centre.x, crossing.centre.y, say)
    return Sheet(
        id="arrangement/plan",
        title="Plan of the bridge and of both lines",
        items=p.draught.items,
        true=False,
        scale=p.scale,
        notes=(
            f"The lines cross at {say.angle(between)}, which is {say.angle(off)} off square.",
            f"The place of the crossing is known to {say.spread(long / say.k)} by {say.spread(short / say.k)}"
            f" {say.unit}, the half axes of its ellipse of doubt (drawn {times:g} times as large).",
            "Dashed: beneath the ties. A kink is the angle by which the axis of one span turns from that of"
            " the span before. Dimensions of spans: from the line of one support to that of the next.",
        ),
    )


def ellipse(x: Derived, y: Derived, say: Speech) -> tuple[float, float, float]:
    """Return the ellipse of doubt of a plan point.

    Parameters
    ----------
    x : Derived
        First coordinate.
    y : Derived
        Second coordinate.
    say : Speech
        The doubts and the coverage factor.

    Returns
    -------
    long : float
        Larger half axis, k times the standard uncertainty in that direction. [mm]
    short : float
        Smaller half axis. [mm]
    direction : float
        Of the larger axis, from the x axis to the left. [rad]
    """
    values, vectors = np.linalg.eigh(dv.stack([x, y]).covariance(say.inputs.spread))
    short, long = say.k * np.sqrt(np.maximum(values, 0.0))
    return float(long), float(short), float(np.arctan2(vectors[1, 1], vectors[0, 1]))


def _visible(p: _Picture, line: Line, offset: float = 0.0) -> tuple[FloatArray, FloatArray]:
    """Stations within the picture, and places on paper of a curve beside the line there."""
    reach = 400.0 / p.scale
    s = np.arange(line.surveyed[0] - reach, line.surveyed[1] + reach, 1.0)
    points, heading = position_at(line, s)
    beside = p.view.paper(points + offset * np.column_stack([-np.sin(heading), np.cos(heading)]))
    inside = shapely.contains_xy(p.window, beside[:, 0], beside[:, 1])
    # the stretch through the bridge, should the line leave the picture and come back
    middle = int(np.argmin(np.hypot(*beside.T)))
    first = middle - int(np.argmin(inside[: middle + 1][::-1])) + 1
    last = middle + int(np.argmin(inside[middle:]))
    return s[first:last], beside[first:last]


def _tracks(p: _Picture) -> None:
    for line, cover in ((p.lower, p.cover), (p.upper, Polygon())):
        half = 0.5 * float(line.head_distance.value)
        for offset, role in ((half, Role.OUTLINE), (-half, Role.OUTLINE), (0.0, Role.CENTRE)):
            run = LineString(_visible(p, line, offset)[1])
            p.blocked.append(run.buffer(0.6))
            seen, hidden = split(run, cover)
            p.draught.add(path(r, role) for r in seen)
            p.draught.add(path(r, Role.HIDDEN) for r in hidden if role is Role.OUTLINE)


def _parts(p: _Picture) -> None:
    """Draw ties and handrails as seen, the rest dashed where ties cover it."""
    decks = shapely.union_all([h for part, h in p.hulls.items() if _last(part) == "ties"])
    caps = shapely.union_all([h for part, h in p.hulls.items() if _last(part) in ("cap", "backwall")])
    for shape in p.bridge.shapes:
        kind = _last(shape.part)
        if kind == "ties":
            p.draught.add(painted(outlines(shape, partial(_from_above, p), role=Role.FINE)))
    for shape in p.bridge.shapes:
        kind = _last(shape.part)
        if kind == "handrail":
            p.draught.add(_edge(np.array(p.hulls[shape.part].exterior.coords)[:-1]))
        elif kind != "ties":
            cover = decks if kind in ("cap", "backwall", "girder") else decks.union(caps)
            seen, hidden = split(p.hulls[shape.part].exterior, cover)
            p.draught.add(path(r, Role.OUTLINE) for r in seen)
            # edge by edge, so that each starts with a dash and corners are closed
            p.draught.add(path(pair, Role.HIDDEN) for r in hidden for pair in pairwise(r))


def _from_above(p: _Picture, corners: FloatArray) -> FloatArray:
    return np.column_stack([p.view.paper(corners), -corners[:, 2]])


def _edge(corners: FloatArray) -> list[Item]:
    line = middle_line(corners)
    return [path(corners, closed=True)] if line is None else [path(line)]


def _crossing(p: _Picture) -> float:
    """Mark the crossing, its ellipse of doubt and its angle; return how much larger the ellipse is drawn."""
    d, say = p.draught, p.say
    crossing = bridged(p.alignments, p.bridge)
    long, short, direction = ellipse(crossing.centre.x, crossing.centre.y, say)
    times = next((t for t in TIMES if t * long * p.scale >= _SEEN), TIMES[-1])
    t = np.linspace(0.0, 2.0 * np.pi, 73)[:-1]
    along = times * p.scale * np.column_stack([long * np.cos(t), short * np.sin(t)])
    turn = direction - p.view.turn
    c, s = np.cos(turn), np.sin(turn)
    d.add([path(along @ np.array([[c, s], [-s, c]]), Role.OUTLINE, closed=True)])
    d.add([Circle(centre=(0.0, 0.0), radius=0.4, fill=0.0)])
    return times


def _inner(p: _Picture) -> float:
    """1 if the spans turn to the left on the whole, towards the top of the sheet; else -1."""
    along = [s.axis.along.value for s in p.bridge.spans]
    return 1.0 if along[0][0] * along[-1][1] - along[0][1] * along[-1][0] >= 0.0 else -1.0


def _reach(p: _Picture, at: FloatArray, way: FloatArray) -> float:
    """How far parts reach from a place on paper, one way, within a few mm to either side."""
    across = np.array([-way[1], way[0]])
    found = 0.0
    for hull in p.hulls.values():
        corners = np.array(hull.segmentize(1.0).exterior.coords) - at
        near = np.abs(corners @ across) < 4.0
        if near.any():
            found = max(found, float((corners[near] @ way).max()))
    return found


def _plain(point: FloatArray) -> tuple[float, float]:
    return (float(point[0]), float(point[1]))


def _supports(p: _Picture) -> None:
    """Draw each support's line and say its name, its place along the line and the kink over it."""
    say, inner = p.say, _inner(p)
    axes = {s.axis.given.end: s.axis for s in p.bridge.spans}
    ahead = {s.axis.given.start: s.axis for s in p.bridge.spans}
    for support in p.bridge.supports:
        name = support.given.name
        at, left = p.axes(support)
        texts = [name, f"along {say.bare(support.station)}"]
        if name in axes and name in ahead:
            turn = kink(axes[name], ahead[name])
            size = Derived(np.abs(turn.value), turn.jac)
            texts.append(f"kink {say.angle(size)} to {say.towards(float(turn.value))}")
        out = at + left * inner * (_reach(p, at, left * inner) + 2.0)
        stop = _block(p, texts, out, way=left * inner, bold=True)
        p.draught.add([path([at - left * inner * (_reach(p, at, -left * inner) + 6.0), stop], Role.CENTRE)])


def _block(
    p: _Picture, texts: list[str], at: FloatArray, *, way: FloatArray, bold: bool = False
) -> FloatArray:
    """Set a few lines at the first free place from a point onward; return the place of their near edge."""
    _, place, top = _free_place(p, texts, at, way=way, bold=bold)
    lines = enumerate(texts)
    p.draught.add(
        Text(
            at=(float(place[0]), top - _ROW * k),
            text=text,
            size=SIZE,
            anchor="middle",
            bold=bold and k == 0,
        )
        for k, text in lines
    )
    return place


def _free_place(
    p: _Picture, texts: list[str], at: FloatArray, *, way: FloatArray, bold: bool = False
) -> tuple[int, FloatArray, float]:
    """Step onward until a block of lines is free; return the steps, the place, the top base line."""
    wide = max(fonts.width(t, SIZE, bold=bold) for t in texts)
    high = _ROW * (len(texts) - 1) + SIZE
    drop = -0.6 - high if way[1] < 0.0 else 0.6
    steps, place = 0, at
    for steps in range(_TRIES):
        place = at + way * steps
        low = float(place[1]) + drop
        if p.free((place[0] - 0.5 * wide - 0.6, low - 0.4, place[0] + 0.5 * wide + 0.6, low + high + 0.4)):
            break
    return steps, np.asarray(place), float(place[1]) + drop + _ROW * (len(texts) - 1) + 0.25 * SIZE


def _pitches(p: _Picture) -> None:
    """Dimension from support to support on the outside of the curve, where the dimensions spread."""
    inner = _inner(p)
    axes = [p.axes(s) for s in p.bridge.supports]
    reach = max(_reach(p, at, -inner * left) for at, left in axes) + 12.0
    for span, (a, _), (b, _) in zip(p.bridge.spans, axes[:-1], axes[1:], strict=True):
        text = f"{span.axis.given.name}: {p.say.bare(float(span.axis.pitch.value), 2)}"
        p.draught.dimension(_plain(a), _plain(b), text, offset=-inner * reach)
        off = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a)) * -inner * reach
        p.blocked.append(LineString([a + off, b + off]).buffer(0.6))


def _bearings(p: _Picture) -> None:
    """Mark every bearing with its number."""
    numbers = bearing_numbers(p.bridge)
    turn = np.array([np.cos(p.view.turn), np.sin(p.view.turn)])
    for b in p.bridge.bearings:
        at = p.view.paper(np.array([[float(b.x.value), float(b.y.value)]]))[0]
        c, s = b.along.value @ turn, turn[0] * b.along.value[1] - turn[1] * b.along.value[0]
        along = np.array([c, s])
        way = np.array([-s, c]) * (1.0 if b.side == "left" else -1.0)
        p.draught.add([Circle(centre=_plain(at), radius=0.5, fill=1.0)])
        out = at + way * (_reach(p, at, way) + 3.0) + along * (3.5 if b.end == "start" else -3.5)
        p.draught.leader(_plain(at), _plain(out), str(numbers[b.id]), size=2.0)
        p.blocked.append(LineString([at, out]).buffer(0.3))


def _marks(p: _Picture) -> None:
    """Draw the marks of the survey that lie in the picture."""
    for mark in p.survey.marks:
        if not (p.survey.has(f"{mark.name}.x") and p.survey.has(f"{mark.name}.y")):
            continue
        place = [[float(p.survey.value(f"{mark.name}.{axis}").value) for axis in "xy"]]
        x, y = _plain(p.view.paper(np.array(place))[0])
        if not p.window.contains(shapely.Point(x, y)):
            continue
        for run in (((x - 0.9, y), (x + 0.9, y)), ((x, y - 0.9), (x, y + 0.9))):
            p.draught.add([Path(points=run, role=Role.OUTLINE)])
        p.draught.label(mark.name, (x + 0.9, y + 0.6), away=(0.5, 1.0), anchor="start", size=1.8)


def _directions(p: _Picture) -> None:
    """Say where each line leads."""
    say, d = p.say, p.draught
    for line in (p.lower, p.upper):
        points = _visible(p, line)[1]
        for end, before, word in ((0, 3, say.words.start), (-1, -4, say.words.finish)):
            tip = points[end]
            way = tip - points[before]
            way = way / np.hypot(*way)
            side = np.array([-way[1], way[0]]) * ARROW * 0.3
            point = tip + way * ARROW
            d.add([path([point, tip + side, tip - side], Role.FINE, closed=True, fill=0.0)])
            _beside(p, f"{line.name}, to {word}", point, way)


def _sides(p: _Picture) -> None:
    """Say which side is which, above and below all that was drawn."""
    say, d = p.say, p.draught
    low_x, low_y, high_x, high_y = p.window.bounds
    middle = 0.5 * (low_x + high_x)
    _, bottom, _, top = bounds(d.items)
    d.label(f"{say.side('left')} side", (middle, max(top, high_y) + 2.0), bold=True)
    d.label(f"{say.side('right')} side", (middle, min(bottom, low_y) - 4.0), away=(0.0, -1.0), bold=True)


def _beside(p: _Picture, text: str, tip: FloatArray, way: FloatArray) -> None:
    """Set a text beside an arrow's tip, ahead of it if it lies level, where it is free."""
    wide = fonts.width(text, SIZE)
    right, left = (tip[0] + 1.4, tip[1] - 0.35 * SIZE), (tip[0] - 1.4 - wide, tip[1] - 0.35 * SIZE)
    above = (tip[0] - 0.5 * wide, tip[1] + (1.2 if way[1] > 0.0 else -3.0))
    places = (right, left, above) if way[0] > 0.0 else (left, right, above)
    if abs(way[0]) < abs(way[1]):
        places = (above, right, left)
    free = (c for c in places if p.free((c[0], c[1] - 0.6, c[0] + wide, c[1] + SIZE)))
    p.draught.label(text, _plain(np.array(next(free, places[0]))), anchor="start", away=(0.0, 1.0))


def _angle(p: _Picture) -> None:
    """Draw the angle between the lines where they leave the crossing, and say it."""
    crossing = bridged(p.alignments, p.bridge)
    stations = (crossing.centre.upper_station, crossing.centre.lower_station)
    ends = [
        float(position_at(line, s.value.reshape(1))[1][0]) - p.view.turn
        for line, s in zip((p.upper, p.lower), stations, strict=True)
    ]
    turn = np.linspace(ends[0], ends[1], 25)
    arc = _ARC * np.column_stack([np.cos(turn), np.sin(turn)])
    p.draught.add([path(arc, Role.DIMENSION)])
    between, _ = off_square(crossing)
    # the text stands on the far side of the lower line, where there is no deck
    tip, side = arc[-1], np.array([-arc[-1][1], arc[-1][0]]) / _ARC
    way = side * (-1.0 if side @ arc[0] > 0.0 else 1.0)
    text = [p.say.angle(between)]
    ways = [way * np.cos(t) + np.array([-way[1], way[0]]) * np.sin(t) for t in np.radians(_FAN)]
    best = min(ways, key=lambda w: _awkward(p, text, tip, w))
    stop = _block(p, text, tip + best * 3.0, way=best)
    p.draught.add([path([tip, stop], Role.DIMENSION)])


def _awkward(p: _Picture, texts: list[str], tip: FloatArray, way: FloatArray) -> float:
    """How far off the first free place lies, one way; much farther if its leader would cross a text."""
    steps, place, _ = _free_place(p, texts, tip + way * 3.0, way=way)
    written = (
        Polygon(text_box(t, fonts.width(t.text, t.size))) for t in p.draught.items if isinstance(t, Text)
    )
    leader = LineString([tip, place])
    return steps + (1000.0 if any(leader.intersects(w) for w in written) else 0.0)


def _described(laid: LaidLine, stations: FloatArray, say: Speech) -> str:
    """Say what a line is over some stations: straight, easement, arc and its radius."""
    found = []
    for stretch in laid.description:
        if stretch.end <= stations[0] or stretch.start >= stations[-1]:
            continue
        if stretch.kind == "arc":
            radius = say.length(abs(float(stretch.radius)), float(stretch.radius_doubt))
            found.append(f"arc of radius {radius} to {say.towards(float(stretch.radius))}")
        else:
            found.append({"tangent": "straight"}.get(stretch.kind, stretch.kind))
    name = laid.line.name
    return f"{name}: {', then '.join(found)}" if found else f"{name}: as designed"


def _legend(p: _Picture) -> None:
    """Set beneath the picture: the crossing, the lines, the numbers of the bearings."""
    say, d = p.say, p.draught
    left, bottom, right, _ = bounds(d.items)
    crossing = bridged(p.alignments, p.bridge)
    between, off = off_square(crossing)
    rows = [f"crossing: {say.angle(between)} between the lines, {say.angle(off)} off square"]
    for line, station in (
        (p.upper, crossing.centre.upper_station),
        (p.lower, crossing.centre.lower_station),
    ):
        rows.append(f"crossing along {line.name}: {say.of(station)}")
    rows += [
        _described(laid, _visible(p, laid.line)[0], say)
        for name in (p.given.upper, p.given.lower)
        for laid in p.alignments.lines
        if laid.line.name == name
    ]
    rows.append("+  mark of the survey; o  bearing")
    rows.append(f"along: on {p.given.upper}, from its start, in {_UNITS[say.unit]}")
    y = bottom - 6.0
    for k, row in enumerate(rows):
        d.label(row, (left, y - _ROW * k), anchor="start", away=(0.0, -1.0))
    numbers = bearing_numbers(p.bridge)
    half = max(left + 0.5 * (right - left), left + 6.0 + max(fonts.width(row, SIZE) for row in rows))
    d.label("bearings", (half, y), anchor="start", away=(0.0, -1.0), bold=True)
    per = (len(numbers) + 1) // 2
    wide = max(fonts.width(f"{number}  {say.place(key)}", SIZE) for key, number in numbers.items())
    for key, number in numbers.items():
        column, down = divmod(number - 1, per)
        text = f"{number}  {say.place(key)}"
        place = (half + column * (wide + 6.0), y - _ROW * (down + 1))
        d.label(text, place, anchor="start", away=(0.0, -1.0))
