"""Put every member of the bridge in place."""

from __future__ import annotations

from dataclasses import replace

from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.structures.given import StructuresInput, Support, SupportKind
from spanwright.structures.heights import SpanHeights
from spanwright.structures.members import (
    Pose,
    Template,
    block_template,
    cap_template,
    column_template,
    girder_template,
    handrail_template,
    taper_template,
    ties_template,
)
from spanwright.structures.shapes import Shape
from spanwright.structures.spans import SpanAxis, point_on_span
from spanwright.structures.supports import CAP_OVERHANG, Cut, FittedSupport, ShaftSizes, shaft_sizes

PLATE = 0.4
HANDRAIL_POSTS = 8.0
HANDRAIL_THICK = 0.5
BACKWALL = 2.0


def _pose(axis: SpanAxis, left: Derived | float, z: Derived, slope: Derived, roll: Derived) -> Pose:
    """Pose of a member that starts where the span's girders do."""
    x, y = point_on_span(axis, axis.length * -0.5, left)
    return Pose(x=x, y=y, z=z, ahead_x=axis.along[0], ahead_y=axis.along[1], slope=slope, roll=roll)


def span_shapes(
    given: StructuresInput, inputs: Inputs, axis: SpanAxis, heights: SpanHeights, tie_length: float
) -> list[Shape]:
    """Return girders, ties and handrails of one span.

    Parameters
    ----------
    given : StructuresInput
        Layers and ties.
    inputs : Inputs
        The base inputs.
    axis : SpanAxis
        The span in plan.
    heights : SpanHeights
        Its bearings.
    tie_length : float
        Length of its ties. [mm]

    Returns
    -------
    list of Shape
        Its finished parts.
    """
    span = axis.given
    tops = {(b.end, b.side): b.girder_top for b in heights.bearings}
    between = axis.length - size(inputs, span.bearing_inset) * 2.0
    inset = size(inputs, span.bearing_inset)
    flange, spacing = size(inputs, span.flange), size(inputs, span.spacing)
    shapes = []
    upright = dv.constant(0.0, len(inputs))
    template = girder_template(
        float(axis.length.value), span.stiffeners, span.plate, (span.rivet_pitch, span.rivet_height)
    )
    for side, sign in (("left", 0.5), ("right", -0.5)):
        slope = (tops[("end", side)] - tops[("start", side)]) / between
        depth = size(inputs, span.depth_left if side == "left" else span.depth_right)
        pose = _pose(axis, spacing * sign, tops[("start", side)] - slope * inset, slope, upright)
        sizes = {"length": axis.length, "depth": depth, "flange": flange}
        shapes.append(replace(template.place(f"{span.name}/girder {side}", pose, sizes), over=given.lower))
    start = (tops[("start", "left")] + tops[("start", "right")]) * 0.5
    end = (tops[("end", "left")] + tops[("end", "right")]) * 0.5
    slope = (end - start) / between
    origin = start - slope * inset
    tie = size(inputs, given.tie)
    if given.dap:
        origin = origin - size(inputs, given.dap)
    length = float(axis.length.value)
    ties = ties_template(max(2, int(length / given.tie_pitch)), given.tie_width, tie_length)
    # ties follow the cant: they lie in the plane of the girder tops, and a handrail stands square on them
    roll = dv.arcsin((tops[("start", "left")] - tops[("start", "right")]) / spacing)
    deck = _pose(axis, 0.0, origin, slope, roll)
    shapes.append(
        replace(ties.place(f"{span.name}/ties", deck, {"length": axis.length, "tie": tie}), over=given.lower)
    )
    if span.handrail_side and span.handrail_offset and span.handrail_height:
        offset, height = size(inputs, span.handrail_offset), size(inputs, span.handrail_height)
        sizes = {"length": axis.length, "out": offset, "tie": tie, "height": height}
        sides = ("left", "right") if span.handrail_side == "both" else (span.handrail_side,)
        for side in sides:
            rail = handrail_template(
                max(2, int(length / HANDRAIL_POSTS)), HANDRAIL_THICK, 1.0 if side == "left" else -1.0
            )
            shapes.append(replace(rail.place(f"{span.name}/handrail {side}", deck, sizes), over=given.upper))
    return shapes


def _shaft_template(support: Support, cut: Cut, shaft: ShaftSizes) -> tuple[Template, dict[str, Derived]]:
    """Return a shaft's or column's template and its sizes."""
    sizes = {"deep": shaft.foot_along, "wide": shaft.foot_across, "height": cut.built}
    if support.kind is SupportKind.STRADDLE_BENT:
        return column_template(PLATE), sizes
    if support.batter == 0.0:
        return block_template(), sizes
    return taper_template(), sizes | {"deep_top": shaft.top_along, "wide_top": shaft.top_across}


def support_shapes(inputs: Inputs, fitted: FittedSupport, top: Derived) -> list[Shape]:
    """Return the parts of one support.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    fitted : FittedSupport
        The support.
    top : Derived
        Height of the underside of the approach's ties, where an abutment's backwall ends.

    Returns
    -------
    list of Shape
        Its finished parts.
    """
    support, place = fitted.given, fitted.footprint
    nil = dv.constant(0.0, len(inputs))
    cap, wide_along = size(inputs, support.cap), size(inputs, support.cap_along)
    # the block's own "along" is square to the cap, its "left" is the cap's left
    ahead = (place.across[1], -place.across[0])

    def pose(x: Derived, y: Derived, z: Derived) -> Pose:
        return Pose(x=x, y=y, z=z, ahead_x=ahead[0], ahead_y=ahead[1], slope=nil, roll=nil)

    footing = size(inputs, support.footing) if support.footing else nil
    wide = size(inputs, support.shaft_across or support.cap_across or support.cap_along)
    shapes = []
    bent = support.kind is SupportKind.STRADDLE_BENT
    names = ("shaft",) if not bent else ("column left", "column right")
    for name, centre, cut in zip(names, place.columns, fitted.cuts, strict=True):
        shaft = shaft_sizes(support, inputs, cut)
        template, sizes = _shaft_template(support, cut, shaft)
        shapes.append(
            template.place(f"{support.name}/{name}", pose(centre[0], centre[1], cut.base + footing), sizes)
        )
        if support.footing:
            foot = {"deep": shaft.foot_along + 2.0, "wide": shaft.foot_across + 2.0, "height": footing}
            if bent:
                foot["wide"] = wide
            shapes.append(
                block_template().place(
                    f"{support.name}/footing of {name}", pose(centre[0], centre[1], cut.base), foot
                )
            )
    if bent:
        reach = wide * 0.5 + CAP_OVERHANG
        start = place.columns[0] + dv.stack([place.across[0] * reach, place.across[1] * reach])
        end = place.columns[1] - dv.stack([place.across[0] * reach, place.across[1] * reach])
        dx, dy = end[0] - start[0], end[1] - start[1]
        length = dv.sqrt(dx * dx + dy * dy)
        tops = [c.base + footing + c.built + cap for c in fitted.cuts]
        slope = (tops[1] - tops[0]) / length
        beam = Pose(
            x=start[0], y=start[1], z=tops[0], ahead_x=dx / length, ahead_y=dy / length, slope=slope, roll=nil
        )
        shapes.append(
            cap_template(PLATE, 8).place(
                f"{support.name}/cap", beam, {"length": length, "depth": cap, "wide": wide_along}
            )
        )
    else:
        across = size(inputs, support.cap_across) if support.cap_across else wide
        sizes = {"deep": wide_along, "wide": across, "height": cap}
        shapes.append(
            block_template().place(f"{support.name}/cap", pose(place.x, place.y, fitted.soffit), sizes)
        )
        if support.kind is SupportKind.ABUTMENT:
            outward = -1.0 if fitted.starts else 1.0
            back = wide_along * (0.5 * outward) + outward * 0.5 * BACKWALL
            x, y = place.x + ahead[0] * back, place.y + ahead[1] * back
            height = top - fitted.soffit
            wall = {"deep": nil + BACKWALL, "wide": across, "height": height}
            shapes.append(block_template().place(f"{support.name}/backwall", pose(x, y, fitted.soffit), wall))
    return shapes
