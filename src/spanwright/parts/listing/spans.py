"""The pieces of a span: girders, what keeps them apart, shoes, ties, handrails."""

from __future__ import annotations

import math

from spanwright.estimation import derived as dv
from spanwright.estimation.inputs import size
from spanwright.parts.listing.piece import Hazard, How, Piece, PieceSize, Sizing, not_made
from spanwright.parts.safe_side import Correction
from spanwright.structures.given import Span, StructuresInput
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.shapes import Shape

#: One tie in so many is made over, two at the least (common practice, no source).
SPARE_TIES = 10
#: Corners of a box: ties and handrails are made of boxes.
CORNERS = 8
RAILS_OF_HANDRAIL = 2


def span_pieces(
    given: StructuresInput, sizing: Sizing, fitted: FittedSpan, shapes: dict[str, Shape], number: int
) -> list[Piece]:
    """List the pieces of one span.

    Parameters
    ----------
    given : StructuresInput
        Ties and layers.
    sizing : Sizing
        Inputs and coverage factor.
    fitted : FittedSpan
        The span.
    shapes : dict of str to Shape
        The finished shapes by part.
    number : int
        Number of its left girder; the right one has the next.

    Returns
    -------
    list of Piece
        Girders, frames between them, shoes, ties, handrails.
    """
    span = fitted.axis.given
    pieces = [_girder(sizing, fitted, side, number + k) for k, side in enumerate(("left", "right"))]
    pieces.append(_frames(sizing, span))
    pieces.append(_shoes(sizing, span))
    pieces.append(_ties(given, sizing, fitted, shapes[f"{span.name}/ties"]))
    for side in handrail_sides(span):
        pieces += _handrail(sizing, fitted, side, shapes[f"{span.name}/handrail {side}"])
    return pieces


def handrail_sides(span: Span) -> tuple[str, ...]:
    """Return on which sides a span has a handrail.

    Parameters
    ----------
    span : Span
        The span.

    Returns
    -------
    tuple of str
        ``left``, ``right``, both or none.
    """
    if not (span.handrail_side and span.handrail_offset and span.handrail_height):
        return ()
    return ("left", "right") if span.handrail_side == "both" else (span.handrail_side,)


def _girder(sizing: Sizing, fitted: FittedSpan, side: str, number: int) -> Piece:
    span, inputs = fitted.axis.given, sizing.inputs
    depth = span.depth_left if side == "left" else span.depth_right
    sizes = (
        ("length", span.length),
        ("depth with cover plates", depth),
        ("flange", span.flange),
        ("end to the middle of the shoe", span.bearing_inset),
    )
    found = tuple(sizing.size(name, size(inputs, of), of=of) for name, of in sizes)
    unmade = any(s.to_be_made for s in found)
    kept = found if unmade else tuple(sizing.measured(s.name, s.finished) for s in found)
    return Piece(
        id=f"{span.name}/girder {side}",
        name=f"girder {number}, {{{side}}} side",
        belongs=span.name,
        how=How.CUT if unmade else How.FROM_KIT,
        count=1,
        sizes=kept,
        correction=Correction.PACKED,
        corrected_at="its height: in the packing under its two shoes",
        after="Enter length and depth as measured: each bearing's height is reckoned from this very girder.",
        hazards=(Hazard.BLADE,),
        part=f"{span.name}/girder {side}",
        mark=f"On the top flange: {number}, and an arrow to the {{finish}} end; its {{{side}}} face outward.",
    )


def _frames(sizing: Sizing, span: Span) -> Piece:
    spacing = size(sizing.inputs, span.spacing)
    clear = spacing - span.plate
    apart = sizing.size("from web to web", clear, of=span.spacing)
    return Piece(
        id=f"{span.name}/frames",
        name="frames between the girders, over each pair of shoes; more between as the kit has them",
        belongs=span.name,
        how=How.MAKE,
        count=2,
        sizes=(apart,),
        corrected_at="on the bench, before the girders are joined",
        after="Enter the girder spacing as it came out, centre to centre of the webs.",
        hazards=(Hazard.BLADE, Hazard.SOLVENT),
    )


def _shoes(sizing: Sizing, span: Span) -> Piece:
    inputs = sizing.inputs
    named = (("height with its peg home", span.shoe), ("along the girder", span.shoe_along))
    found = tuple(sizing.size(name, size(inputs, of), of=of) for name, of in named)
    unmade = any(s.to_be_made for s in found)
    if not unmade:
        found = tuple(sizing.measured(s.name, s.finished) for s in found)
    return Piece(
        id=f"{span.name}/shoes",
        name="shoes",
        belongs=span.name,
        how=How.CUT if unmade else How.FROM_KIT,
        count=4,
        sizes=found,
        correction=Correction.PACKED,
        corrected_at="in the packing under each",
        after="Press the peg home in the girder, then measure each shoe's height.",
        hazards=(Hazard.BLADE,),
    )


def _ties(given: StructuresInput, sizing: Sizing, fitted: FittedSpan, shape: Shape) -> Piece:
    """Ties; their length was decided from girders, flange, offset and overhang: those are its doubt."""
    span, inputs = fitted.axis.given, sizing.inputs
    needed = size(inputs, span.spacing) + size(inputs, span.flange)
    needed = needed + fitted.axis.worst_offset * (
        2.0 if float(fitted.axis.worst_offset.value) >= 0.0 else -2.0
    )
    length = needed * 1.0 + (fitted.tie_length - float(needed.value))
    count = len(shape.vertices) // CORNERS
    sizes: tuple[PieceSize, ...] = (
        sizing.size("length", length, Correction.TRIMMED_ON_BENCH),
        PieceSize(name="width", finished=dv.constant(given.tie_width, len(inputs)), cut=given.tie_width),
        sizing.measured("thickness", size(inputs, given.tie)),
    )
    if given.dap:
        sizes = (*sizes, sizing.measured("notch over each girder", size(inputs, given.dap)))
    return Piece(
        id=f"{span.name}/ties",
        name="ties",
        belongs=span.name,
        how=How.CUT,
        count=count,
        spare=max(2, math.ceil(count / SPARE_TIES)),
        sizes=sizes,
        correction=Correction.TRIMMED_ON_BENCH,
        corrected_at="all together against a stop, after the girder spacing has been measured",
        after="Measure three ties of the batch; sort out any that differ in thickness.",
        hazards=(Hazard.BLADE, Hazard.DUST),
        part=f"{span.name}/ties",
    )


def _handrail(sizing: Sizing, fitted: FittedSpan, side: str, shape: Shape) -> list[Piece]:
    span, inputs = fitted.axis.given, sizing.inputs
    part = f"{span.name}/handrail {side}"
    if span.handrail_height is None:
        return []
    from_kit = not not_made(inputs, span.handrail_height)
    height, length = size(inputs, span.handrail_height), fitted.axis.length
    post = sizing.size("above the tie top", height, Correction.TRIMMED_ON_BENCH, of=span.handrail_height)
    rail = sizing.size("length", length, Correction.TRIMMED_IN_PLACE)
    if from_kit:
        post = sizing.measured("above the tie top", height)
    return [
        Piece(
            id=f"{part}/posts",
            name=f"posts of the handrail, {{{side}}} side",
            belongs=span.name,
            how=How.FROM_KIT if from_kit else How.CUT,
            count=len(shape.vertices) // CORNERS - RAILS_OF_HANDRAIL,
            sizes=(post,),
            correction=Correction.NONE if from_kit else Correction.TRIMMED_ON_BENCH,
            corrected_at="" if from_kit else "all together against a stop",
            after="Enter the height and the distance from the span's axis when the handrail stands.",
            hazards=(Hazard.BLADE,),
            part=part,
        ),
        Piece(
            id=f"{part}/rails",
            name=f"top and middle rail of the handrail, {{{side}}} side",
            belongs=span.name,
            how=How.TRIM if from_kit else How.CUT,
            count=RAILS_OF_HANDRAIL,
            sizes=(rail,),
            correction=Correction.TRIMMED_IN_PLACE,
            corrected_at="at the span's ends, when the posts stand",
            after="Leave the gap over each support open: spans move.",
            hazards=(Hazard.BLADE,),
            part=part,
        ),
    ]
