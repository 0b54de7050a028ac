"""The section square to the lower line, at the bent or else at the crossing, as seen towards the finish.

What the plane cuts is hatched; the bent itself, which it would cut lengthwise, is shown in view. The swept
envelope stands in the frame of the track and leans with its cant. A gap's number is the least distance in
space of a train and a part, which may lie a little before or behind the plane.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from spanwright.alignment.line import Line, track_point
from spanwright.alignment.stage import Alignments
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.clearance.vehicles import sized
from spanwright.drawings.display import Circle, Path, Point, Role, Sheet, Text, path
from spanwright.drawings.draughting import Draught
from spanwright.drawings.sheets.arrangement.silhouette import Outline, outlines, painted
from spanwright.drawings.sheets.gauges import rail_outline, unit_word
from spanwright.drawings.sheets.hatching import cut_area, hatching, rings
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import size
from spanwright.parts.cards import Feet
from spanwright.parts.envelope import (
    SIDES,
    Envelope,
    Plane,
    bands,
    grown,
    in_plane,
    outermost,
    section_envelope,
    shape_section,
    track_plane,
)
from spanwright.structures.given import StructuresInput, SupportKind
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport

FloatArray = np.ndarray

SECTION = "general/section"

_SMALL, _LINE = 2.2, 2.9
#: Enlargements and reductions of ISO 5455 that a section may have, and the room it must fit, on paper.
_SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
_ROOM = (102.0, 190.0)
#: Paper left beside what is drawn. [mm]
_AROUND = 5.0
#: Parts further before or behind the plane than this are not in the section, nor gaps larger. [mm]
_NEAR = 15.0
#: A closest point further from the plane than this is drawn hollow. [mm]
_IN_PLANE = 4.0
#: Only a vehicle that is outermost over so much height is drawn by itself. [mm]
_BAND = 1.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _View:
    """From the plane to paper: plumb, the left of the track to the left, enlarged."""

    plane: Plane
    scale: float

    def of(self, points: FloatArray) -> FloatArray:
        """Return points given to the left and up in the frame of the track."""
        c, s = np.cos(self.plane.roll), np.sin(self.plane.roll)
        y, z = points[..., 0], points[..., 1]
        return np.stack([-(y * c - z * s), y * s + z * c], axis=-1) * self.scale

    def seen(self, corners: FloatArray) -> FloatArray:
        """Return points of the layout: on paper, and how far ahead."""
        local = in_plane(self.plane, corners)
        return np.column_stack([self.of(local[:, 1:]), local[:, 0]])

    def area(self, region: BaseGeometry) -> BaseGeometry:
        """Return an area of the plane on paper."""
        return shapely.transform(region, self.of)

    def height(self, z: float) -> float:
        """Return where a height of the layout stands on paper."""
        return (z - float(self.plane.origin[2])) * self.scale


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Scene:
    """All that is drawn."""

    given: StructuresInput
    structures: Structures
    upper: Line
    lower: Line
    view: _View
    over: float
    bent: FittedSupport | None
    swept: Envelope | None
    asked: ClearanceInput | None
    result: ClearanceResult | None
    say: Speech

    @property
    def window(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top on paper."""
        k = self.view.scale
        reach, low, high = _extent(self)
        half = reach * k + _AROUND
        return (-half, self.view.height(low) - 5.0, half, self.view.height(high) + 1.0)


def section_sheet(
    given: StructuresInput,
    structures: Structures,
    alignments: Alignments,
    say: Speech,
    *,
    feet: dict[str, Feet],
    asked: ClearanceInput | None = None,
    result: ClearanceResult | None = None,
) -> Sheet:
    """Draw the section at the bent, or at the crossing where there is none.

    Parameters
    ----------
    given : StructuresInput
        Names of the lines; layers.
    structures : Structures
        Finished parts.
    alignments : Alignments
        The lines.
    say : Speech
        The builder's words.
    feet : dict of str to Feet
        Gauge and rails of each line, by name.
    asked : ClearanceInput, optional
        Vehicles and margins.
    result : ClearanceResult, optional
        Gaps with their verdicts.

    Returns
    -------
    Sheet
        The section, to a scale of ISO 5455.
    """
    lower = alignments.line(given.lower)
    plane = track_plane(lower, structures.choices.lower_station)
    runs = asked.runs if asked else ()
    vehicles = tuple(sized(r.vehicle, alignments.inputs) for r in runs if r.line == given.lower)
    crossing = next(c for c in alignments.crossings if c.id == structures.choices.crossing)
    bent = next((s for s in structures.supports if s.given.kind is SupportKind.STRADDLE_BENT), None)
    scene = _Scene(
        given=given,
        structures=structures,
        upper=alignments.line(given.upper),
        lower=lower,
        view=_View(plane=plane, scale=1.0),
        over=bent.station if bent else float(crossing.centre.upper_station.value),
        bent=bent,
        swept=section_envelope(lower, vehicles, plane.station) if vehicles else None,
        asked=asked,
        result=result,
        say=say,
    )
    scene = _enlarged(scene)
    draught = Draught(_SMALL)
    if scene.swept is not None:
        area = rings(scene.view.area(scene.swept.region))
        draught.add([Path(points=ring, closed=True, fill=0.9, stroked=False) for ring in area])
    _draw_parts(draught, scene)
    _draw_trains(draught, scene)
    _draw_tracks(draught, scene, feet)
    _draw_base(draught, scene)
    calls = [*_gaps(draught, scene), *_names(draught, scene), *_levels(draught, scene)]
    _call_out(draught, scene, calls)
    where = f"at {say.place(bent.given.name)}" if bent else "at the crossing"
    return Sheet(
        id=SECTION,
        title=f"Section {where}, looking towards {say.words.finish}",
        items=draught.items,
        true=False,
        scale=scene.view.scale,
        notes=_notes(scene),
    )


def _enlarged(scene: _Scene) -> _Scene:
    """Return the scene at the largest scale that fits."""
    for scale in _SCALES:
        view = _View(plane=scene.view.plane, scale=scale)
        scene = replace(scene, view=view)
        left, bottom, right, top = scene.window
        if right - left <= _ROOM[0] and top - bottom <= _ROOM[1]:
            break
    return scene


def _extent(scene: _Scene) -> tuple[float, float, float]:
    """Return how far to each side, how low and how high there is something to show, unenlarged."""
    reach = [1.2 * float(scene.lower.head_distance.value)]
    lows, highs = [float(scene.view.plane.origin[2])], [float(scene.view.plane.origin[2])]
    if scene.swept is not None:
        reach.append(float(np.abs(shapely.get_coordinates(scene.swept.region)[:, 0]).max()))
    mine = [s for s in scene.structures.shapes if _is_bent(scene, s.part)]
    reach += [float(np.abs(in_plane(scene.view.plane, s.vertices)[:, 1]).max()) for s in mine]
    for shape in scene.structures.shapes:
        local = in_plane(scene.view.plane, shape.vertices)
        there = (np.abs(local[:, 0]) < _NEAR) & (np.abs(local[:, 1]) < max(reach))
        if np.any(there):
            lows.append(float(shape.vertices[there, 2].min()))
            highs.append(float(shape.vertices[there, 2].max()))
    return max(reach), min(lows), max(highs)


def _is_bent(scene: _Scene, part: str) -> bool:
    return scene.bent is not None and part.startswith(f"{scene.bent.given.name}/")


# ---------------------------------------------------------------- what is drawn
def _draw_trains(draught: Draught, scene: _Scene) -> None:
    """Draw the envelope's lines over the parts, so that what it cuts into is seen."""
    if scene.swept is None:
        return
    view = scene.view
    outer = {b.vehicle for side in SIDES for b in bands(scene.swept, side) if b.high - b.low >= _BAND}
    for outline in scene.swept.outlines:
        if outline.vehicle in outer:
            outer_rings = rings(view.area(outline.region))
            draught.add([Path(points=r, role=Role.FINE, closed=True) for r in outer_rings])
    draught.add(
        [Path(points=r, role=Role.OUTLINE, closed=True) for r in rings(view.area(scene.swept.region))]
    )
    if scene.asked is not None:
        wider = grown(scene.swept.region, scene.asked.margin_side, scene.asked.margin_above)
        draught.add([Path(points=r, role=Role.REFERENCE, closed=True) for r in rings(view.area(wider))])


def _draw_parts(draught: Draught, scene: _Scene) -> None:
    """Draw the bent in view, everything else cut."""
    frame = shapely.box(*scene.window)
    seen: list[Outline] = []
    for shape in scene.structures.shapes:
        if _is_bent(scene, shape.part):
            seen += outlines(shape, scene.view.seen, fine=Role.FINE)
    draught.add(painted(seen))
    for number, shape in enumerate(scene.structures.shapes):
        if _is_bent(scene, shape.part):
            continue
        cut = scene.view.area(shape_section(shape, scene.view.plane)).intersection(frame)
        timber = shape.part.endswith("/ties")
        for area in shapely.get_parts(cut):
            if area.geom_type == "Polygon" and area.area > 0.01:
                draught.add(cut_area(area, 1.0 if number % 2 else -1.0, is_timber=timber))


def _draw_tracks(draught: Draught, scene: _Scene, feet: dict[str, Feet]) -> None:
    """Draw the rails of both lines, the lower ties for reference, and the lower centre line."""
    view, below = scene.view, feet[scene.given.lower]
    middle = 0.5 * (below.gauge + below.head)
    tie = float(size(scene.say.inputs, scene.given.tie).value)
    half = 0.9 * below.gauge
    corners = np.array([(-half, -below.rail), (half, -below.rail), (half, -below.rail - tie)])
    corners = np.vstack([corners, [(-half, -below.rail - tie)]])
    draught.add([path(view.of(corners), Role.REFERENCE, closed=True)])
    for y in (middle, -middle):
        rail = rail_outline(below.head, below.rail) + np.array([y, 0.0])
        draught.add([path(view.of(rail), closed=True, fill=0.0)])
    top = 1.0
    if scene.swept is not None:
        top = float(scene.swept.region.bounds[3]) + 3.0
    draught.add([path(view.of(np.array([(0.0, -below.rail - tie - 1.0), (0.0, top)])), Role.CENTRE)])
    above = feet[scene.given.upper]
    for at, askew in _upper_rails(scene):
        draught.add([path(view.of(rail_outline(above.head / askew, above.rail) + at), closed=True, fill=0.0)])


def _upper_rails(scene: _Scene) -> list[tuple[FloatArray, float]]:
    """Return where the plane cuts the upper rails, and the sine of the angle at which it does."""
    plane, found = scene.view.plane, []
    for side in (1.0, -1.0):
        s, point, askew = scene.over, np.zeros(3), 1.0
        for _ in range(20):
            at = track_point(scene.upper, np.array([s]))
            heading, offset = float(at.heading.value[0]), side * 0.5 * float(scene.upper.head_distance.value)
            level = np.array([-np.sin(heading), np.cos(heading), 0.0])
            point = np.array([at.x.value[0], at.y.value[0], at.z.value[0]]) + level * offset
            point[2] += offset * np.tan(float(at.roll.value[0]))
            ahead = in_plane(plane, point)
            along = np.array([np.cos(heading), np.sin(heading), float(at.grade.value[0])])
            askew = float(along @ plane.axes[0])
            if abs(askew) < 0.05 or abs(ahead[0]) < 1e-9:
                break
            s -= float(ahead[0]) / askew
        if abs(askew) < 0.05:  # the plane runs along this rail
            continue
        found.append((in_plane(plane, point)[1:], abs(askew)))
    return found


def _draw_base(draught: Draught, scene: _Scene) -> None:
    """Draw what the columns are glued to, with the strokes of solid ground."""
    if scene.bent is None:
        return
    k = scene.view.scale
    for cut, column in zip(scene.bent.cuts, scene.bent.footprint.columns, strict=True):
        z = float(cut.base.value)
        at = scene.view.seen(np.array([[*column.value, z]]))[0]
        half = 0.5 * float(np.ptp(_of(scene, cut.id)[:, 0])) + 2.5 * min(k, 2.0)
        draught.add([Path(points=((at[0] - half, at[1]), (at[0] + half, at[1])), role=Role.OUTLINE)])
        ground = shapely.box(at[0] - half, at[1] - 1.6, at[0] + half, at[1])
        draught.add(hatching(ground, 1.0))


def _of(scene: _Scene, part: str) -> FloatArray:
    return np.vstack([scene.view.seen(s.vertices)[:, :2] for s in scene.structures.shapes if s.part == part])


# ---------------------------------------------------------------- what is said
@dataclass(frozen=True, slots=True, kw_only=True)
class _Call:
    """Something that is pointed at from one side, and what is said of it."""

    tip: Point
    side: float
    words: tuple[str, ...]


def _gaps(draught: Draught, scene: _Scene) -> list[_Call]:
    """Draw the least gap of each part that a train comes near in this section."""
    calls: list[_Call] = []
    if scene.result is None or scene.swept is None:
        return calls
    left, bottom, right, top = scene.window
    worst: dict[str, Gap] = {}
    ours = {shape.part for shape in scene.structures.shapes}  # a portal stands in a section of its own
    for gap in scene.result.gaps:
        if gap.part not in ours or gap.line != scene.given.lower:
            continue
        if gap.beyond_reach or not np.isfinite(gap.gap.value):
            continue
        key = "above" if gap.side == "above" else gap.part  # overhead only the lowest part counts
        if key not in worst or _proven(gap, scene) < _proven(worst[key], scene):
            worst[key] = gap
    names = {o.vehicle: o for o in scene.swept.outlines}
    for gap in sorted(worst.values(), key=lambda g: float(g.where[2])):
        place = scene.view.seen(gap.where[None])[0]
        inside = left <= place[0] <= right and bottom <= place[1] <= top
        close = abs(place[2]) < _NEAR and float(gap.gap.value) < _NEAR
        if not (inside and close and gap.vehicle in names):
            continue
        body = scene.view.area(names[gap.vehicle].region)
        near = shapely.get_coordinates(shapely.shortest_line(body, shapely.Point(place[:2])))[0]
        ends = ((float(near[0]), float(near[1])), (float(place[0]), float(place[1])))
        off = float(place[2])
        away = abs(off) > _IN_PLANE
        draught.add([Path(points=ends, role=Role.REFERENCE if away else Role.OUTLINE)])
        fill = 1.0 if away else 0.0
        draught.add([Circle(centre=e, radius=0.45, role=Role.OUTLINE, fill=fill) for e in ends])
        words = [
            scene.say.place(gap.part).rpartition(", ")[2],
            f"{scene.say.of(gap.gap)}, {gap.verdict.value}",
            names[gap.vehicle].name,
        ]
        if away:
            words.append(f"{scene.say.plain(abs(off))} {'behind' if off > 0.0 else 'before'}")
        calls.append(_Call(tip=ends[1], side=-1.0 if ends[1][0] < 0.0 else 1.0, words=tuple(words)))
    return calls


def _proven(gap: Gap, scene: _Scene) -> float:
    return float(gap.margin_gap.value) - scene.say.k * gap.margin_u


def _names(draught: Draught, scene: _Scene) -> list[_Call]:
    """Name both sides; point at girders, handrails and the envelope."""
    left, bottom, right, _ = scene.window
    say, calls = scene.say, []
    draught.label(say.words.left, (left, bottom - 5.0), anchor="start", bold=True, away=(0.0, -1.0), size=2.8)
    draught.label(say.words.right, (right, bottom - 5.0), anchor="end", bold=True, away=(0.0, -1.0), size=2.8)
    for shape in scene.structures.shapes:
        cut = scene.view.area(shape_section(shape, scene.view.plane)).intersection(shapely.box(*scene.window))
        rail = "/handrail " in shape.part
        if (rail or "/girder " in shape.part) and not cut.is_empty:
            x1, low, x2, top = cut.bounds
            tip = (0.5 * (x1 + x2), top - 0.3 if rail else 0.5 * (low + top))
            words = tuple(say.place(shape.part).split(", "))
            calls.append(_Call(tip=tip, side=-1.0 if tip[0] < 0.0 else 1.0, words=words))
    if scene.swept is not None:
        height = float(scene.swept.region.bounds[1]) + 0.3
        far = float(outermost(scene.swept.region, np.array([height]), "left")[0])
        x, y = scene.view.of(np.array([far, height]))
        number = len(scene.swept.outlines)
        words = (f"swept by {number} trains" if number > 1 else "swept by one train",)
        calls.append(_Call(tip=(float(x), float(y)), side=-1.0, words=words))
    return calls


def _levels(draught: Draught, scene: _Scene) -> list[_Call]:
    """Dimension the clear height and the columns' distances; point at the levels."""
    say, view = scene.say, scene.view
    track = track_point(scene.lower, np.array([view.plane.station]))
    foot = (0.0, view.height(float(track.z.value[0])))
    rails = sorted(float(view.of(at)[0]) for at, _ in _upper_rails(scene))
    over = track_point(scene.upper, np.array([scene.over])).z[0]
    calls = [_level(scene, "upper railhead", over, rails[0] if rails else 0.0, side=-1.0)]
    if scene.bent is None:
        rail = 0.5 * float(scene.lower.head_distance.value) * view.scale
        return [*calls, _level(scene, "lower railhead", track.z[0], rail, side=1.0)]
    under_rail = (2.0, foot[1] - 8.0 * min(view.scale, 2.0))
    draught.label(f"railhead {say.of(track.z[0])}", under_rail, away=(0.0, -1.0), anchor="start", size=2.0)
    clear: Derived = scene.bent.soffit - track.z[0]
    soffit = view.height(float(scene.bent.soffit.value))
    inner = float(_of(scene, scene.bent.cuts[1].id)[:, 0].min())
    draught.upright_dimension(foot, (0.0, soffit), f"{say.of(clear)} clear", at=0.3 * inner)
    support = scene.bent.given
    for k, given in enumerate((support.clear_left, support.clear_right)):
        if given is not None:
            face = _of(scene, scene.bent.cuts[k].id)
            end = (float(face[:, 0].max() if k == 0 else face[:, 0].min()), float(face[:, 1].min()))
            at = scene.window[1] - 2.0
            draught.level_dimension(end, foot, say.of(size(say.inputs, given)), at=at)
    cap = float(_of(scene, f"{support.name}/cap")[:, 0].min())
    calls.append(_level(scene, "top of the cap", scene.bent.cap_top, cap, side=-1.0))
    calls.append(_level(scene, "underside of the cap", scene.bent.soffit, cap, side=-1.0))
    for k, (name, cut) in enumerate(zip(_marks(scene.bent), scene.bent.cuts, strict=True)):
        wide = _of(scene, cut.id)[:, 0]
        edge, side = (float(wide.min()), -1.0) if k == 0 else (float(wide.max()), 1.0)
        calls.append(_level(scene, f"base at {name}", cut.base, edge, side=side))
    return calls


def _level(scene: _Scene, name: str, z: Derived, edge: float, *, side: float) -> _Call:
    tip = (edge, scene.view.height(float(z.value)))
    return _Call(tip=tip, side=side, words=(name, scene.say.of(z)))


def _call_out(draught: Draught, scene: _Scene, calls: list[_Call]) -> None:
    """Set what is said in a column on each side, top down, each as near to its height as there is room."""
    out = scene.window[2] + 3.0
    for side in (-1.0, 1.0):
        free = float("inf")
        for call in sorted((c for c in calls if c.side == side), key=lambda c: -c.tip[1]):
            height = min(call.tip[1], free)
            draught.leader(call.tip, (side * out, height), call.words[0])
            first = next(i for i in reversed(draught.items) if isinstance(i, Text))
            lines = [
                replace(first, at=(first.at[0], first.at[1] - k * _LINE), text=text)
                for k, text in enumerate(call.words)
            ]
            draught.add(lines[1:])
            free = height - len(lines) * _LINE - 0.8


def _marks(bent: FittedSupport) -> list[str]:
    bases = bent.given.bases
    return [bases[min(k, len(bases) - 1)] for k in range(len(bent.cuts))]


def _notes(scene: _Scene) -> tuple[str, ...]:
    say = scene.say
    along, unit = say.plain(scene.view.plane.station, 1), unit_word(say)
    notes = [
        f"Square to the {scene.given.lower} line, {along} along it. Sizes in {unit}, heights over the "
        f"datum; ± is {say.k:g} standard uncertainties."
    ]
    if scene.bent is not None:
        notes.append("The bent is shown in view, all else cut; the lower ties (dashed) were not measured.")
    if scene.asked is not None and scene.swept is not None:
        notes.append(
            f"Dashed around the trains: margins of {say.plain(scene.asked.margin_side)} beside and "
            f"{say.plain(scene.asked.margin_above)} above. A gap is the least distance in space; "
            "hollow dots lie before or behind this section."
        )
        if not scene.swept.surveyed:
            notes.append("Not surveyed: trains that shape this section stand beyond the measured track.")
    return tuple(notes)
