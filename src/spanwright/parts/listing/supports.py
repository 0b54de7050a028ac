"""The pieces of a support: footings, shafts or columns, cap, backwall, and the packing on top."""

from __future__ import annotations

from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Size, size
from spanwright.parts.listing.piece import Hazard, How, Piece, PieceSize, Sizing, not_made
from spanwright.parts.safe_side import Correction, cut_size
from spanwright.structures.assembly import BACKWALL
from spanwright.structures.given import CapForm, Span, StructuresInput, Support, SupportKind
from spanwright.structures.shapes import Shape
from spanwright.structures.supports import Cut, FittedSupport, cap_length, shaft_sizes

WORK = (Hazard.SAW, Hazard.DUST)

#: A height known to this, give or take, was measured and not foretold (common practice, no source). [mm]
MEASURED = 0.5


def support_pieces(
    given: StructuresInput,
    sizing: Sizing,
    fitted: FittedSupport,
    shapes: dict[str, Shape],
    *,
    made_last: bool,
) -> list[Piece]:
    """List the pieces of one support.

    Parameters
    ----------
    given : StructuresInput
        Packing and spans.
    sizing : Sizing
        Inputs and coverage factor.
    fitted : FittedSupport
        The support.
    shapes : dict of str to Shape
        The finished shapes by part.
    made_last : bool
        True where a rigid unit spans over it, so that its height is cut to a measured gap.

    Returns
    -------
    list of Piece
        From the base upward.
    """
    name = fitted.given.name
    pieces = []
    for cut in fitted.cuts:
        foot = shapes.get(f"{name}/footing of {cut.id.removeprefix(f'{name}/')}")
        if foot is not None:
            pieces.append(_footing(sizing, fitted, foot))
        pieces.append(_shaft(given, sizing, fitted, cut, made_last=made_last))
    pieces.append(_cap(sizing, fitted))
    wall = shapes.get(f"{name}/backwall")
    if wall is not None:
        pieces.append(_backwall(sizing, fitted, wall))
    return pieces + [_packing(given, sizing, fitted, k) for k in range(len(fitted.seats))]


def extent(shape: Shape, axis: int) -> Derived:
    """Return how far a shape reaches from its least to its greatest coordinate.

    Parameters
    ----------
    shape : Shape
        The finished part.
    axis : int
        0 or 1 in plan, 2 for height.

    Returns
    -------
    Derived
        The extent.
    """
    corner = shape.vertices[:, axis]
    high, low = int(corner.argmax()), int(corner.argmin())
    jac = (shape.sensitivity[high, axis] - shape.sensitivity[low, axis]) @ shape.controls.jac
    return Derived(corner[high] - corner[low], jac)


def _footing(sizing: Sizing, fitted: FittedSupport, shape: Shape) -> Piece:
    """List a footing: a little larger than its shaft; its thickness is part of the height."""
    support, inputs = fitted.given, sizing.inputs
    controls = shape.controls  # pose, then deep, wide, height
    thickness = size(inputs, support.footing) if support.footing else dv.constant(0.0, len(inputs))
    made = sizing.size("thickness", thickness, of=support.footing)
    return Piece(
        id=shape.part,
        name="footing",
        belongs=support.name,
        how=How.CUT if made.to_be_made else How.FROM_KIT,
        count=1,
        sizes=(
            made,
            sizing.size("along the line", controls[-3], Correction.TRIMMED_ON_BENCH),
            sizing.size("across the line", controls[-2], Correction.TRIMMED_ON_BENCH),
        ),
        correction=Correction.PACKED,
        corrected_at="its thickness: in the packing on the cap above",
        after="Enter its thickness before the shaft is cut.",
        hazards=WORK,
        part=shape.part,
    )


def _shaft(
    given: StructuresInput, sizing: Sizing, fitted: FittedSupport, cut: Cut, *, made_last: bool
) -> Piece:
    """List a shaft or column: cut low as decided, or last, once the gap under a unit was measured."""
    support, inputs = fitted.given, sizing.inputs
    wide = sizing.k * float(cut.wanted.sd(inputs.spread))
    waits = made_last and wide > MEASURED
    ends = shaft_sizes(support, inputs, cut)
    correction = Correction.MADE_LAST if made_last else Correction.PACKED
    own = support.cut[fitted.cuts.index(cut) :][:1]
    height = PieceSize(
        name="height",
        finished=cut.built,
        cut=None if waits else cut.length,
        correction=correction,
        to_be_made=own,
    )
    along, across = support.shaft_along or support.cap_along, support.shaft_across or support.cap_across
    at_top = "" if support.batter == 0.0 else ", at the top"
    plan: list[tuple[str, Derived, Size | None]] = [
        (f"along the line{at_top}", ends.top_along, along),
        (f"across the line{at_top}", ends.top_across, across),
    ]
    if support.batter != 0.0:
        plan += [
            ("along, at the foot", ends.foot_along, None),
            ("across, at the foot", ends.foot_across, None),
        ]
    sizes = [height, *(_section(sizing, support, name, number, of) for name, number, of in plan)]
    if waits:
        blank = cut_size(float(cut.wanted.value), wide, Correction.TRIMMED_ON_BENCH)
        sizes.append(sizing.measured("blank kept ready, at the least", dv.constant(blank, len(inputs))))
    if support.stock:
        sizes.append(sizing.measured("height of the kit's shaft", size(inputs, support.stock)))
    if cut.trimmed is not None:
        sizes.append(sizing.measured("comes off", cut.trimmed))
    column = support.kind is SupportKind.STRADDLE_BENT
    side = next((s for s in ("left", "right") if cut.id.endswith(f"column {s}")), "")
    after = "Enter its height when it is cut: the packing on it is reckoned anew."
    if made_last and not waits:
        after = "The gap under the set unit was measured: it is cut to that."
    if waits:
        after = (
            "Do not cut it yet: the gap under the set unit is measured first, then this height reckoned anew."
        )
    return Piece(
        id=cut.id,
        name=f"column, {{{side}}} side" if column else "shaft",
        belongs=support.name,
        how=How.TRIM if support.stock else How.CUT,
        count=1,
        sizes=tuple(sizes),
        correction=correction,
        corrected_at="in the packing on the cap: a glued support cannot go down, so it is cut low",
        after=after,
        hazards=WORK,
        most_packing=given.packing.most,
        part=cut.id,
        mark="An arrow up, and the name of the support."
        + (f" Trim it at the {support.trim.value}." if support.stock else ""),
    )


def _section(sizing: Sizing, support: Support, name: str, number: Derived, of: Size | None) -> PieceSize:
    """Return a shaft's size in plan: a kit's shaft and a column of bought section are not cut to it."""
    if support.stock or support.kind is SupportKind.STRADDLE_BENT:
        return PieceSize(name=name, finished=number, to_be_made=not_made(sizing.inputs, of))
    return _plan(sizing, name, number, of)


def _plan(sizing: Sizing, name: str, number: Derived, of: Size | None) -> PieceSize:
    """Return a size in plan: cut long and trimmed if it is to be made, as it is if it was measured."""
    made = sizing.size(name, number, Correction.TRIMMED_ON_BENCH, of=of)
    return made if made.to_be_made else sizing.measured(name, number)


def _cap(sizing: Sizing, fitted: FittedSupport) -> Piece:
    support, inputs = fitted.given, sizing.inputs
    bent = support.kind is SupportKind.STRADDLE_BENT
    across = cap_length(support, inputs, fitted.footprint)
    thick = sizing.size("depth" if bent else "thickness", size(inputs, support.cap), of=support.cap)
    along = _plan(sizing, "along the line", size(inputs, support.cap_along), support.cap_along)
    if bent:  # its length follows from where the columns stand
        length = sizing.size("length", across, Correction.TRIMMED_ON_BENCH)
    else:
        length = _plan(sizing, "across the line", across, support.cap_across or support.shaft_across)
    sizes = (thick if thick.to_be_made else sizing.measured(thick.name, thick.finished), along, length)
    level = bent and support.form is CapForm.LEVEL
    kind = {SupportKind.ABUTMENT: "seat stone"}.get(support.kind, "cap")
    return Piece(
        id=f"{support.name}/cap",
        name=kind,
        belongs=support.name,
        how=How.CUT if any(s.cut is not None for s in sizes) else How.FROM_KIT,
        count=1,
        sizes=sizes,
        correction=Correction.PACKED,
        corrected_at="its thickness: in the packing on it; its plan sizes: trimmed on the bench",
        after="Enter its thickness before the shaft is cut."
        + (" Both faces flat and upright: girders frame into them." if level else ""),
        hazards=(*WORK, Hazard.SOLVENT) if bent else WORK,
        part=f"{support.name}/cap",
        mark="An arrow to the {finish} end on its underside, and up.",
    )


def _backwall(sizing: Sizing, fitted: FittedSupport, shape: Shape) -> Piece:
    inputs = sizing.inputs
    return Piece(
        id=shape.part,
        name="backwall",
        belongs=fitted.given.name,
        how=How.CUT,
        count=1,
        sizes=(
            sizing.size("height", extent(shape, 2), Correction.TRIMMED_IN_PLACE),
            sizing.size("across the line", shape.controls[-2], Correction.TRIMMED_ON_BENCH),
            PieceSize(name="thickness", finished=dv.constant(BACKWALL, len(inputs)), cut=BACKWALL),
        ),
        correction=Correction.TRIMMED_IN_PLACE,
        corrected_at="its top, to the underside of the approach's ties",
        after="Slide a strip of the ties' stock over it: it must just pass.",
        hazards=WORK,
        part=shape.part,
    )


def _packing(given: StructuresInput, sizing: Sizing, fitted: FittedSupport, number: int) -> Piece:
    seat, inputs = fitted.seats[number], sizing.inputs
    spans: dict[str, Span] = {s.name: s for s in given.spans}
    span = spans[seat.bearing.split("/")[1]]
    thickness = PieceSize(name="thickness", finished=seat.packing, correction=Correction.MADE_LAST)
    sizes = [thickness, sizing.measured("across", size(inputs, span.flange))]
    where = "on the cap, under the ties" if seat.edge is None else "under the shoe"
    if seat.edge is not None:
        sizes.append(sizing.measured("along", size(inputs, span.shoe_along)))
    return Piece(
        id=f"{seat.bearing}/packing",
        name=f"packing {where}",
        belongs=fitted.given.name,
        how=How.MAKE,
        count=1,
        sizes=tuple(sizes),
        correction=Correction.MADE_LAST,
        corrected_at="here: it takes up the rest, to the stick of this bearing",
        after="Build it up from as few strips as reach between go and no-go, then write its thickness down.",
        hazards=(Hazard.BLADE, Hazard.SOLVENT),
        most_packing=given.packing.most,
        mark="The bearing it belongs to.",
    )
