"""The height build-up at every bearing, from the railhead down to what the support is glued to.

Grade, cant, skew and unequal girders make every bearing its own. Each layer is a measured piece with
its doubt; one layer, the packing, takes up what is left. A rigid span's four girder tops lie in one
plane: where the track is twisted, the plane splits the difference and the rest is reported as the
amount by which the span would otherwise rock.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.alignment.line import Line
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.structures.given import StructuresInput
from spanwright.structures.spans import SpanAxis, all_beside, point_on_span

#: Corner pattern of a twisted plane: start left, start right, end left, end right.
TWIST = (1.0, -1.0, -1.0, 1.0)
CORNERS = (("start", "left"), ("start", "right"), ("end", "left"), ("end", "right"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layer:
    """One layer of a height build-up.

    Parameters
    ----------
    name : str
        What it is.
    thickness : Derived
        Its thickness; a dap counts negative.
    """

    name: str
    thickness: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bearing:
    """One bearing.

    Parameters
    ----------
    id : str
        Stable id: ``support/span/side``.
    span : str
        The span it carries.
    support : str
        The support it stands on.
    end : str
        ``start`` or ``end`` of the span.
    side : str
        ``left`` or ``right``.
    x : Derived
        Plan place, first coordinate.
    y : Derived
        Plan place, second coordinate.
    station : Derived
        On the upper line.
    rail_over_girder : Derived
        Track centre to the left of the girder's centre line there.
    railhead : Derived
        Height of the plane of the rail heads over the bearing.
    girder_top : Derived
        Height of the girder's top, coplanar with the span's other three.
    layers : tuple of Layer
        From the railhead down to the seat: rail, tie, dap, ties packed or let in, girder, shoe.
    seat : Derived
        Height of the surface that the shoe stands on.
    along : Derived
        Unit vector along the span, shape (2,).
    corners : tuple of (Derived, Derived)
        Plan places of the two corners of the girder's flange at this end.
    half_flange : Derived
        Half the flange width, which a shoe is taken to have too.
    """

    id: str
    span: str
    support: str
    end: str
    side: str
    x: Derived
    y: Derived
    station: Derived
    rail_over_girder: Derived
    railhead: Derived
    girder_top: Derived
    layers: tuple[Layer, ...]
    seat: Derived
    along: Derived
    corners: tuple[tuple[Derived, Derived], ...]
    half_flange: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpanHeights:
    """The four bearings of a span and how twisted its track is.

    Parameters
    ----------
    bearings : tuple of Bearing
        Start left, start right, end left, end right.
    rocks_by : Derived
        How far one corner would stand off if each seat followed the track.
    vertical_middle_ordinate : Derived
        Track above (positive) or below the straight line between its ends at mid span.
    """

    bearings: tuple[Bearing, ...]
    rocks_by: Derived
    vertical_middle_ordinate: Derived


def span_heights(given: StructuresInput, inputs: Inputs, upper: Line, axis: SpanAxis) -> SpanHeights:
    """Reckon the heights at a span's four bearings.

    Parameters
    ----------
    given : StructuresInput
        Layers.
    inputs : Inputs
        The base inputs.
    upper : Line
        The line that is carried.
    axis : SpanAxis
        The span in plan.

    Returns
    -------
    SpanHeights
        Bearings with layers and seats.
    """
    span = axis.given
    rail, tie = size(inputs, given.rail), size(inputs, given.tie)
    dap = size(inputs, given.dap) if given.dap else None
    inset, spacing = size(inputs, span.bearing_inset), size(inputs, span.spacing)
    shoe, half_flange = size(inputs, span.shoe), size(inputs, span.flange) * 0.5
    depths = {"left": size(inputs, span.depth_left), "right": size(inputs, span.depth_right)}
    points = []
    for end, side in CORNERS:
        along = (axis.length * 0.5 - inset) * (1.0 if end == "end" else -1.0)
        points.append(point_on_span(axis, along, spacing * (0.5 if side == "left" else -0.5)))
    points.append(point_on_span(axis, 0.0, 0.0))
    stations, offsets, track = all_beside(
        upper, dv.stack([x for x, _ in points]), dv.stack([y for _, y in points])
    )
    # the rail-head plane falls to the left with a right rail that is raised
    railheads = track.z - track.cant * offsets / upper.head_distance
    under_ties = railheads - rail - tie + (0.0 if dap is None else dap)
    places = [(x, y, stations[k], offsets[k], railheads[k], under_ties[k]) for k, (x, y) in enumerate(points)]
    twist = places[0][5] - places[1][5] - places[2][5] + places[3][5]
    bearings = []
    for (end, side), sign, (x, y, station, offset, railhead, under_tie) in zip(
        CORNERS, TWIST, places[:-1], strict=True
    ):
        level = twist * (0.25 * sign)
        top = under_tie - level
        layers = [Layer(name="rail", thickness=rail), Layer(name="tie", thickness=tie)]
        if dap is not None:
            layers.append(Layer(name="dap", thickness=-dap))
        layers += [
            Layer(name="twist taken up under the ties", thickness=level),
            Layer(name=f"girder {side}", thickness=depths[side]),
            Layer(name="shoe", thickness=shoe),
        ]
        support = span.start if end == "start" else span.end
        bearings.append(
            Bearing(
                id=f"{support}/{span.name}/{side}",
                span=span.name,
                support=support,
                end=end,
                side=side,
                x=x,
                y=y,
                station=station,
                rail_over_girder=-offset,
                railhead=railhead,
                girder_top=top,
                layers=tuple(layers),
                seat=top - depths[side] - shoe,
                along=axis.along,
                corners=tuple(
                    point_on_span(
                        axis,
                        axis.length * (0.5 if end == "end" else -0.5),
                        spacing * (0.5 if side == "left" else -0.5) + half_flange * corner,
                    )
                    for corner in (1.0, -1.0)
                ),
                half_flange=half_flange,
            )
        )
    ends = (places[0][4] + places[1][4] + places[2][4] + places[3][4]) * 0.25
    return SpanHeights(bearings=tuple(bearings), rocks_by=twist, vertical_middle_ordinate=railheads[4] - ends)
