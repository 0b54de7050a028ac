"""A portal as its trains meet it: the opening, and what all trains of its line sweep in it.

Seen towards the finish, plumb. The sweep is that in three planes square to the track, at both ends of the
portal and midway, seen along it. A gap's number is the least distance in space.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

from spanwright.alignment.line import Line, nearest_station
from spanwright.alignment.stage import Alignments
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.clearance.vehicles import sized
from spanwright.drawings.display import Circle, Path, Role, Sheet, path
from spanwright.drawings.draughting import Draught
from spanwright.drawings.sheets.arrangement.silhouette import fits
from spanwright.drawings.sheets.gauges import unit_word
from spanwright.drawings.sheets.hatching import cut_area, rings
from spanwright.drawings.speech import Speech
from spanwright.estimation.inputs import size
from spanwright.findings import Verdict
from spanwright.parts.envelope import Envelope, section_envelope
from spanwright.structures.portals import Portal
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray

_SMALL = 2.3
#: Beyond the opening, or beyond the trains where it is open, so much is drawn. [mm]
_AROUND = 4.0
#: Enlargements and reductions of ISO 5455 that a portal may have.
_SCALES = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
_ORDER = (Verdict.FOUL, Verdict.NOT_PROVEN, Verdict.TIGHT, Verdict.CLEAR)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Opening:
    """A portal in a frame of its own: left of the track's centre, above its railhead."""

    portal: Portal
    blocks: dict[str, BaseGeometry]
    swept: BaseGeometry
    surveyed: bool
    origin: FloatArray
    ahead: FloatArray
    gaps: tuple[Gap, ...]


def portal_sheets(
    portals: tuple[Portal, ...],
    shapes: tuple[Shape, ...],
    alignments: Alignments,
    asked: ClearanceInput | None,
    result: ClearanceResult | None,
    *,
    say: Speech,
) -> tuple[Sheet, ...]:
    """Draw each portal with what its trains sweep in it.

    Parameters
    ----------
    portals : tuple of Portal
        As they were given.
    shapes : tuple of Shape
        Their finished shapes.
    alignments : Alignments
        The lines.
    asked : ClearanceInput or None
        The vehicles; None where there are none.
    result : ClearanceResult or None
        Gaps with their verdicts.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    tuple of Sheet
        ``portal/<name>``, to a scale of ISO 5455.
    """
    found = []
    for portal in portals:
        own = tuple(s for s in shapes if s.part.startswith(f"{portal.name}/"))
        opening = _opening(portal, own, alignments, asked, result)
        sheets = (_sheet(opening, say, scale) for scale in _SCALES)
        found.append(next((sheet for sheet in sheets if fits(sheet)), _sheet(opening, say, _SCALES[-1])))
    return tuple(found)


def _opening(
    portal: Portal,
    own: tuple[Shape, ...],
    alignments: Alignments,
    asked: ClearanceInput | None,
    result: ClearanceResult | None,
) -> _Opening:
    line = alignments.line(portal.line)
    pose = own[0].controls.value
    origin, ahead = pose[:3], np.array([pose[3], pose[4], 0.0])
    middle = float(nearest_station(line, origin[None, :2])[0])
    half = 0.5 * (portal.along[1] - portal.along[0])
    runs = asked.runs if asked else ()
    vehicles = tuple(sized(r.vehicle, alignments.inputs) for r in runs if r.line == portal.line)
    swept = [section_envelope(line, vehicles, middle + at) for at in (-half, 0.0, half)] if vehicles else []
    return _Opening(
        portal=portal,
        blocks={s.part: _seen(origin, ahead, s.vertices) for s in own},
        swept=shapely.union_all([_carried(e, origin, ahead) for e in swept]),
        surveyed=all(e.surveyed for e in swept) and _on_survey(line, middle, half),
        origin=origin,
        ahead=ahead,
        gaps=tuple(g for g in (result.gaps if result else ()) if g.part in {s.part for s in own}),
    )


def _on_survey(line: Line, middle: float, half: float) -> bool:
    return line.surveyed[0] <= middle - half and middle + half <= line.surveyed[1]


def _local(origin: FloatArray, ahead: FloatArray, points: FloatArray) -> FloatArray:
    """Return points to the left of the track's centre and above its railhead, seen along the portal."""
    away = points - origin
    return np.stack([away @ np.array([-ahead[1], ahead[0], 0.0]), away[..., 2]], axis=-1)


def _seen(origin: FloatArray, ahead: FloatArray, corners: FloatArray) -> BaseGeometry:
    return MultiPoint(_local(origin, ahead, corners)).convex_hull


def _carried(envelope: Envelope, origin: FloatArray, ahead: FloatArray) -> BaseGeometry:
    """Return what is swept in a plane square to the track, in the portal's own frame."""
    plane = envelope.plane

    def carry(points: FloatArray) -> FloatArray:
        world = plane.origin + points[:, :1] * plane.axes[1] + points[:, 1:] * plane.axes[2]
        return _local(origin, ahead, world)

    return shapely.transform(envelope.region, carry)


def _sheet(opening: _Opening, say: Speech, scale: float) -> Sheet:
    portal = opening.portal
    frame = _window(opening)

    def paper(points: FloatArray) -> FloatArray:
        return np.asarray(points) * np.array([-scale, scale])  # left of growing station is on the left

    draught = Draught(_SMALL)
    area = rings(shapely.transform(opening.swept, paper))
    draught.add([Path(points=ring, closed=True, fill=0.9, stroked=False) for ring in area])
    for number, block in enumerate(opening.blocks.values()):
        cut = shapely.transform(shapely.intersection(block, frame), paper)
        if cut.geom_type == "Polygon" and not cut.is_empty:
            draught.add(cut_area(cut, 1.0 if number % 2 else -1.0))
    draught.add([Path(points=ring, role=Role.FINE, closed=True) for ring in area])  # also where it touches
    low, high = frame.bounds[1], frame.bounds[3]
    draught.add([path(paper(np.array([(0.0, low), (0.0, high)])), Role.CENTRE)])
    draught.add([path(paper(np.array([(frame.bounds[0], 0.0), (frame.bounds[2], 0.0)])), Role.REFERENCE)])
    foot = scale * low
    for side, sign, of, lower in (("left", 1.0, portal.left, 6.0), ("right", -1.0, portal.right, 11.0)):
        draught.label(
            say.side(side), (-sign * scale * 0.5 * frame.bounds[2], foot - 18.0), away=(0.0, -1.0), bold=True
        )
        if of is not None:
            number_ = size(say.inputs, of)
            face = (-sign * scale * float(number_.value), 0.0)
            ends = sorted([(0.0, 0.0), face])
            draught.level_dimension(ends[0], ends[1], say.of(number_), at=foot - lower)
    if portal.height is not None:
        height = size(say.inputs, portal.height)
        beside = -scale * frame.bounds[2] - 6.0
        top = (0.0, scale * float(height.value))
        draught.upright_dimension((0.0, 0.0), top, say.of(height), at=beside)
    for gap in _closest(opening).values():
        if np.all(np.isfinite(gap.where)) and not gap.beyond_reach:
            x, y = paper(_local(opening.origin, opening.ahead, gap.where))
            draught.add([Circle(centre=(float(x), float(y)), radius=0.5, role=Role.OUTLINE, fill=0.0)])
    return Sheet(
        id=f"portal/{portal.name}",
        title=f"{portal.name}, line {portal.line}, looking towards {say.words.finish}",
        items=draught.items,
        true=False,
        scale=scale,
        notes=_notes(opening, say),
    )


def _window(opening: _Opening) -> BaseGeometry:
    """Return what is drawn: opening, trains, and a little around them; high walls are cut off."""
    portal = opening.portal
    parts: list[BaseGeometry] = [shapely.box(-_AROUND, -portal.foot, _AROUND, _AROUND)]
    parts += [opening.swept] if not opening.swept.is_empty else []
    faces = [block for part, block in opening.blocks.items() if "/jamb " in part]
    wide = max(abs(x) for p in parts for x in (p.bounds[0], p.bounds[2]))
    for face in faces:
        wide = max(wide, min(abs(face.bounds[0]), abs(face.bounds[2])))
    high = max(p.bounds[3] for p in parts)
    lintels = [block.bounds[1] for part, block in opening.blocks.items() if part.endswith("/lintel")]
    high = max([high, *lintels])
    return shapely.box(-wide - _AROUND, -portal.foot, wide + _AROUND, high + _AROUND)


def _closest(opening: _Opening) -> dict[str, Gap]:
    """Return the least clear gap of each part."""
    found: dict[str, Gap] = {}
    for gap in opening.gaps:
        held = found.get(gap.part)
        if held is None or _standing(gap) < _standing(held):
            found[gap.part] = gap
    return found


def _standing(gap: Gap) -> tuple[int, bool, float]:
    return _ORDER.index(gap.verdict), gap.beyond_reach, float(gap.margin_gap.value)


def _notes(opening: _Opening, say: Speech) -> tuple[str, ...]:
    notes = [
        f"Sizes in {unit_word(say)}, from the track's centre and from its railhead. Grey: what the trains of"
        f" line {opening.portal.line} sweep, play included, in three planes square to the track: at both ends"
        " of what stands here and midway."
    ]
    for part, gap in _closest(opening).items():
        value = f"over {say.plain(float(gap.gap.value))}"
        if not gap.beyond_reach:
            value = f"{say.of(gap.gap)} {say.unit}" if np.isfinite(gap.gap.value) else "none, it touches"
        notes.append(f"{say.place(part)}: gap {value}, {gap.verdict.value}: {gap.vehicle}.")
    if not opening.surveyed:
        notes.append("Trains stand beyond the last mark here: the line is not surveyed there.")
    return tuple(notes)
