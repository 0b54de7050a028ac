"""Half-profile cards: a card that stands on both lower rails and is slid past a part that stands beside.

The card's edge is the swept envelope there, grown by the margins: where the card passes, the margins are
kept. A dashed line on it is the touching line, the envelope itself. Left and right cards differ, for the
throw differs; one card serves the whole of a part, so its edge holds the envelope at several stations.

The card measures what the survey only reckons: it stands on the rails as they are. One foot bears on the
inner face of the near rail, so that the card is centred by the rail that matters; the other has play.

Read :func:`profile_cards` first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from spanwright.alignment.given import LineInput
from spanwright.alignment.line import Line, position_at
from spanwright.alignment.stage import Alignments
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.clearance.vehicles import Vehicle, sized
from spanwright.estimation.inputs import Inputs, size
from spanwright.findings import Finding, Severity
from spanwright.parts.envelope import (
    SIDES,
    Band,
    Envelope,
    bands,
    grown,
    half_profile,
    section_envelope,
    shape_section,
)
from spanwright.structures.given import StructuresInput, SupportKind
from spanwright.structures.shapes import Shape
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport

FloatArray = np.ndarray

#: The plan is looked at where the line is sampled by this. [mm]
_SAMPLE = 1.0
#: How far beyond its surveyed ends a line is looked at. [mm]
_BEYOND = 150.0
#: Stations that one card serves are not further apart than this. [mm]
_PITCH = 8.0
#: Stations are rounded outward to this. [mm]
_STEP = 0.5
#: Two columns of a bent share their stations unless the bent is so far turned that this is far longer.
_SHARED = 1.3
#: The card's edge starts so far above the railhead at the least (common practice, no source). [mm]
_FREE = 0.2
#: Play of the far foot, as gauge varies (common practice, no source). [mm]
PLAY = 0.3
#: A foot reaches this share of the rail's height down, and no deeper than a millimetre (common practice,
#: no source), so that it meets neither tie nor spike.
_DOWN, _DEEPEST = 0.5, 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Feet:
    """How a card stands on the rails.

    Parameters
    ----------
    gauge : float
        Between the inner faces of the rails. [mm]
    head : float
        Width of a rail head. [mm]
    deep : float
        How far the feet reach below the railhead, between the rails. [mm]
    wide : float
        Width of a foot. [mm]
    play : float
        Room between the far foot and its rail. [mm]
    rail : float
        Height of the rails. [mm]
    """

    gauge: float
    head: float
    deep: float
    wide: float
    play: float
    rail: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileCard:
    """One card, drawn in (outward from the track's centre, up from the railhead).

    Parameters
    ----------
    id : str
        Stable id, such as ``card/bent/column left``.
    part : str
        What it is slid past: a part's id or a support's name.
    side : str
        On which side of the lower line that stands: ``left`` or ``right``.
    line : str
        The lower line.
    stations : tuple of float
        From where to where along the lower line it serves. [mm]
    touching : ndarray, shape (n, 2)
        The swept envelope, from its lowest point up. [mm]
    edge : ndarray, shape (n, 2)
        The same with the margins. [mm]
    outline : ndarray, shape (n, 2)
        The whole card, closed, anticlockwise. [mm]
    feet : Feet
        How it stands.
    margins : tuple of float
        Beside and above. [mm]
    bands : tuple of Band
        The outermost vehicle by height.
    critical : str
        Id of the vehicle that comes nearest to the part.
    critical_name : str
        Its name.
    room : float
        Least distance of the part from the touching line, in the plane of the card; 0 where they meet. [mm]
    gap : Gap or None
        What the clearance stage says of that vehicle and this part; None without it or beyond its reach.
    surveyed : bool
        Whether every pose behind it stands on surveyed track.
    """

    id: str
    part: str
    side: str
    line: str
    stations: tuple[float, float]
    touching: FloatArray
    edge: FloatArray
    outline: FloatArray
    feet: Feet
    margins: tuple[float, float]
    bands: tuple[Band, ...]
    critical: str
    critical_name: str
    room: float
    gap: Gap | None
    surveyed: bool

    @property
    def height(self) -> float:
        """Height of the card above the railhead, in mm."""
        return float(self.edge[:, 1].max())

    @property
    def width(self) -> float:
        """How far the card reaches from the track's centre, in mm."""
        return float(self.edge[:, 0].max())


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped:
    """What stands on the ground and gets no card.

    Parameters
    ----------
    part : str
        The part's id or the support's name.
    reason : str
        ``far``: no train comes near; ``on the track``; ``no trains``: none runs on the lower line.
    distance : float
        From the lower track's centre to its nearest point. [mm]
    """

    part: str
    reason: str
    distance: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileCards:
    """All cards.

    Parameters
    ----------
    cards : tuple of ProfileCard
        In the order of the supports, left before right.
    skipped : tuple of Skipped
        What gets none, and why.
    findings : tuple of Finding
        What the builder should know.
    """

    cards: tuple[ProfileCard, ...]
    skipped: tuple[Skipped, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Beside:
    """What stands beside the lower line, as one thing that a card is slid past."""

    name: str
    shapes: tuple[Shape, ...]
    side: str
    distance: float
    stations: tuple[float, float]


def profile_cards(
    given: StructuresInput,
    structures: Structures,
    alignments: Alignments,
    asked: ClearanceInput,
    *,
    track: LineInput,
    result: ClearanceResult | None = None,
) -> ProfileCards:
    """Make a card for everything that stands beside the lower rails within reach of a train.

    Parameters
    ----------
    given : StructuresInput
        Supports, and the rail's height.
    structures : Structures
        Finished parts.
    alignments : Alignments
        The lines.
    asked : ClearanceInput
        Vehicles and margins.
    track : LineInput
        The lower line as given: its gauge and rail heads.
    result : ClearanceResult, optional
        Gaps with their doubt.

    Returns
    -------
    ProfileCards
        Cards, what was left out, findings.
    """
    inputs = alignments.inputs
    line = alignments.line(given.lower)
    vehicles = tuple(sized(r.vehicle, inputs) for r in asked.runs if r.line == given.lower)
    feet = track_feet(track, given, inputs)
    cards: list[ProfileCard] = []
    skipped: list[Skipped] = []
    known: dict[float, Envelope] = {}
    for thing in _standing(structures, line):
        stations = _stations(thing.stations)
        reason = "no trains" if not vehicles else "on the track" if thing.distance <= 0.0 else ""
        if not reason:
            region = _at(line, vehicles, stations[len(stations) // 2], known).region
            if thing.distance > np.abs(shapely.get_coordinates(region)[:, 0]).max() + asked.search.reach:
                reason = "far"
        if reason:
            skipped.append(Skipped(part=thing.name, reason=reason, distance=thing.distance))
            continue
        envelopes = [_at(line, vehicles, s, known) for s in stations]
        cards.append(_card(thing, envelopes, asked, feet=feet, line=line.name, result=result))
    findings = tuple(_not_surveyed(c) for c in cards if not c.surveyed)
    return ProfileCards(cards=tuple(cards), skipped=tuple(skipped), findings=findings)


def track_feet(track: LineInput, given: StructuresInput, inputs: Inputs) -> Feet:
    """Return how a card stands on a track.

    Parameters
    ----------
    track : LineInput
        The line as given.
    given : StructuresInput
        The rail's height.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Feet
        Gauge, rail head and the feet between the rails.
    """
    gauge = float(size(inputs, track.gauge).value)
    rail = float(size(inputs, given.rail).value)
    return Feet(
        gauge=gauge,
        head=float(size(inputs, track.rail_head).value),
        deep=min(_DOWN * rail, _DEEPEST),
        wide=max(1.0, 0.16 * gauge),
        play=PLAY,
        rail=rail,
    )


def _standing(structures: Structures, line: Line) -> list[_Beside]:
    """Return each column of a bent, and each other support as a whole, with its place beside the line."""
    first, last = line.surveyed
    s = np.arange(first - _BEYOND, last + _BEYOND, _SAMPLE)
    plan, heading = position_at(line, s)
    centre = shapely.LineString(plan)
    found = []
    for fitted in structures.supports:
        things = _things(fitted, structures.shapes)
        together = _reach(centre, [x for _, shapes in things for x in shapes]) + s[0]
        for name, shapes in things:
            own = _reach(centre, list(shapes)) + s[0]
            reach = together if np.ptp(together) < _SHARED * np.ptp(own) else own
            hull = shapely.MultiPoint(np.vstack([x.vertices[:, :2] for x in shapes])).convex_hull
            middle = np.asarray(hull.centroid.coords)[0]
            k = int(np.argmin(np.abs(s - s[0] - centre.project(shapely.Point(middle)))))
            c, n = np.cos(heading[k]), np.sin(heading[k])
            left = (middle[1] - plan[k, 1]) * c - (middle[0] - plan[k, 0]) * n
            found.append(
                _Beside(
                    name=name,
                    shapes=shapes,
                    side="left" if left > 0.0 else "right",
                    distance=float(centre.distance(hull)),
                    stations=(float(reach[0]), float(reach[1])),
                )
            )
    return found


def _reach(centre: shapely.LineString, shapes: list[Shape]) -> FloatArray:
    """Return from where to where along a line parts stand."""
    corners = np.vstack([x.vertices[:, :2] for x in shapes])
    along = shapely.line_locate_point(centre, shapely.points(corners))
    return np.array([along.min(), along.max()])


def _things(fitted: FittedSupport, shapes: tuple[Shape, ...]) -> list[tuple[str, tuple[Shape, ...]]]:
    """Group the parts of a support: a bent's cap lies over the track and is no thing beside it."""
    name = fitted.given.name
    if fitted.given.kind is SupportKind.STRADDLE_BENT:
        ids = [f"{name}/column {side}" for side in SIDES]
        groups = [(i, (i, f"{name}/footing of {i.rpartition('/')[2]}")) for i in ids]
        return [(i, tuple(s for s in shapes if s.part in wanted)) for i, wanted in groups]
    return [(name, tuple(s for s in shapes if s.part.startswith(f"{name}/")))]


def _stations(reach: tuple[float, float]) -> FloatArray:
    low, high = np.floor(reach[0] / _STEP) * _STEP, np.ceil(reach[1] / _STEP) * _STEP
    return np.round(np.linspace(low, high, max(3, int(np.ceil((high - low) / _PITCH)) + 1)), 1)


def _at(line: Line, vehicles: tuple[Vehicle, ...], station: float, known: dict[float, Envelope]) -> Envelope:
    if station not in known:
        known[station] = section_envelope(line, vehicles, float(station))
    return known[station]


def _card(
    thing: _Beside,
    envelopes: list[Envelope],
    asked: ClearanceInput,
    *,
    feet: Feet,
    line: str,
    result: ClearanceResult | None,
) -> ProfileCard:
    touching: BaseGeometry = shapely.union_all([e.region for e in envelopes])
    edge = _above_rail(half_profile(grown(touching, asked.margin_side, asked.margin_above), thing.side))
    rooms = {o.vehicle: float("inf") for o in envelopes[0].outlines}
    for envelope in envelopes:
        cut = shapely.union_all([shape_section(s, envelope.plane) for s in thing.shapes])
        for outline in envelope.outlines if not cut.is_empty else ():
            rooms[outline.vehicle] = min(rooms[outline.vehicle], float(outline.region.distance(cut)))
    critical = min(rooms, key=lambda v: rooms[v])
    return ProfileCard(
        id=f"card/{thing.name}",
        part=thing.name,
        side=thing.side,
        line=line,
        stations=thing.stations,
        touching=_above_rail(half_profile(touching, thing.side)),
        edge=edge,
        outline=card_outline(edge, feet),
        feet=feet,
        margins=(asked.margin_side, asked.margin_above),
        bands=bands(envelopes[len(envelopes) // 2], thing.side),
        critical=critical,
        critical_name=next(o.name for o in envelopes[0].outlines if o.vehicle == critical),
        room=rooms[critical],
        gap=_gap(result, line, critical, {s.part for s in thing.shapes}),
        surveyed=all(e.surveyed for e in envelopes),
    )


def _above_rail(profile: FloatArray) -> FloatArray:
    """Leave off what would lie lower than the card can reach outside the rail."""
    if profile[0, 1] >= _FREE:
        return profile
    start = np.array([[np.interp(_FREE, profile[:, 1], profile[:, 0]), _FREE]])
    return np.vstack([start, profile[profile[:, 1] > _FREE]])


def _gap(result: ClearanceResult | None, line: str, vehicle: str, parts: set[str]) -> Gap | None:
    if result is None:
        return None
    mine = [
        g
        for g in result.gaps
        if g.line == line and g.vehicle == vehicle and g.part in parts and not g.beyond_reach
    ]
    return min(mine, key=lambda g: float(g.gap.value), default=None)


def card_outline(edge: FloatArray, feet: Feet) -> FloatArray:
    """Return the outline of a card from its edge and its feet.

    Parameters
    ----------
    edge : ndarray, shape (n, 2)
        From the lowest point up, outward positive. [mm]
    feet : Feet
        How it stands.

    Returns
    -------
    ndarray, shape (m, 2)
        Corners, anticlockwise, the last not joined to the first. The near foot's outer face is at half
        the gauge; the rail heads are stood on at height 0. [mm]
    """
    near, outside = 0.5 * feet.gauge, 0.5 * feet.gauge + feet.head
    far = -(near - feet.play)
    low, top = float(edge[0, 1]), float(edge[-1, 1])
    relief = min(0.5, 0.5 * low)
    bottom = [
        (-outside, 0.0),
        (far, 0.0),
        (far, -feet.deep),
        (far + feet.wide, -feet.deep),
        (far + feet.wide, relief),
        (near - feet.wide, relief),
        (near - feet.wide, -feet.deep),
        (near, -feet.deep),
        (near, 0.0),
        (outside, 0.0),
        (outside, low),
    ]
    body = edge.copy()
    wide = np.nonzero(edge[:, 0] >= outside)[0]
    if len(wide):  # a hollow never cuts the card in two: below its roof it stays as wide as its rail
        body[: wide[-1], 0] = np.maximum(edge[: wide[-1], 0], outside)
    back = [(0.0, top), (-outside, max(2.0 * low, 0.3 * top))]
    corners = np.vstack([np.array(bottom), body, np.array(back)])
    steps = np.abs(np.diff(corners, axis=0, prepend=corners[-1:])).max(axis=1)
    return np.asarray(corners[steps > 1e-9])


def _not_surveyed(card: ProfileCard) -> Finding:
    return Finding(
        code="PA141",
        severity=Severity.WARNING,
        where=card.id,
        text="trains that shape this card stand beyond the surveyed track",
        value=card.stations[0],
        remedy="Mark and measure the lower line a train's length past this place, then make the card",
    )
