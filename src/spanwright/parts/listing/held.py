"""What serves the whole bridge: what is held against the work, the opening of the board, stock to buy."""

from __future__ import annotations

import math

from spanwright.estimation import derived as dv
from spanwright.estimation.inputs import size
from spanwright.parts.given import PartsInput, Subroadbed
from spanwright.parts.listing.piece import Hazard, How, Piece, PieceSize, Sizing
from spanwright.parts.safe_side import Correction
from spanwright.structures.given import SupportKind
from spanwright.structures.stage import Structures

#: Hangers of the rails stand no farther apart than this: supports of a subroadbed do (common practice,
#: no source). [mm]
HANGER_PITCH = 150.0
#: A strongback reaches so far onto firm ground at each end (common practice, no source). [mm]
STRONGBACK_REACH = 100.0


def held_pieces(parts: PartsInput, sizing: Sizing, structures: Structures) -> list[Piece]:
    """List what is held against the work, and what holds the track while the board is open.

    Parameters
    ----------
    parts : PartsInput
        Board, units, tolerance.
    sizing : Sizing
        Inputs and coverage factor.
    structures : Structures
        The fitted bridge.

    Returns
    -------
    list of Piece
        Board first, then sticks, cards, seat plans, jigs.
    """
    pieces = _board(parts.subroadbed, sizing, structures) if parts.subroadbed else []
    pieces += [_stick(parts, sizing, b.id) for b in structures.bearings]
    for fitted in structures.supports:
        name = fitted.given.name
        if fitted.given.kind is not SupportKind.ABUTMENT:
            pieces += [_card(name, cut.id) for cut in fitted.cuts]
        pieces.append(
            Piece(
                id=f"seat/{name}",
                name="seat plan, full size",
                belongs=name,
                how=How.HOLD,
                count=1,
                corrected_at="heights come from sticks, places from measured numbers: paper only shows where",
                after="Check its bars with a rule before it is used.",
            )
        )
    return pieces + [_jig(unit) for unit in parts.units]


def _board(board: Subroadbed, sizing: Sizing, structures: Structures) -> list[Piece]:
    inputs = sizing.inputs
    thickness = size(inputs, board.thickness)
    waste = thickness * math.tan(board.lean) + 0.5 * board.kerf
    first, last = structures.supports[0], structures.supports[-1]
    length = last.station - first.station
    return [
        Piece(
            id="board/opening",
            name="opening in the subroadbed",
            belongs="",
            how=How.TRIM,
            count=1,
            sizes=(
                sizing.measured("board and roadbed, all that is sawn", thickness),
                sizing.measured(
                    "kept back for blade lean and half the saw cut; the pattern adds its doubt", waste
                ),
            ),
            correction=Correction.TRIMMED_IN_PLACE,
            corrected_at="sawn inside the finished line, then filed back to it",
            after="Measure the edge against the bridge's parts when they stand.",
            hazards=(Hazard.SAW_UNDER_LAYOUT, Hazard.DUST),
        ),
        Piece(
            id="board/strongback",
            name="strongback over the rails, straight and stiff",
            belongs="",
            how=How.MAKE,
            count=1,
            sizes=(
                sizing.measured(
                    "length at the least", dv.constant(length + 2.0 * STRONGBACK_REACH, len(inputs))
                ),
            ),
            corrected_at="shims between it and the track that stays",
            after="Read the railheads before and after it is clamped: they must not move.",
            hazards=(Hazard.METAL_ON_RAILS,),
        ),
        Piece(
            id="board/hangers",
            name="hangers that hold the rails to the strongback",
            belongs="",
            how=How.MAKE,
            count=max(2, math.ceil(length / HANGER_PITCH) + 1),
            sizes=(sizing.measured("apart at the most", dv.constant(HANGER_PITCH, len(inputs))),),
            corrected_at="their length, at the strongback",
            after="Leave each so that a tie can still be slid under the rails.",
            hazards=(Hazard.METAL_ON_RAILS,),
        ),
    ]


def _stick(parts: PartsInput, sizing: Sizing, bearing: str) -> Piece:
    return Piece(
        id=f"stick/{bearing}",
        name="go and no-go stick",
        belongs=bearing.split("/")[0],
        how=How.HOLD,
        count=2,
        sizes=(
            sizing.measured(
                "no-go longer than go, at the most", dv.constant(2.0 * parts.tolerance, len(sizing.inputs))
            ),
        ),
        corrected_at="on the bench, by caliper: never by paper",
        after="Write bearing, surfaces and length on it; make it anew when the height is reckoned anew.",
        hazards=(Hazard.BLADE,),
    )


def _card(support: str, part: str) -> Piece:
    return Piece(
        id=f"card/{part}",
        name="half-profile card that stands on the lower rails, where trains come within reach",
        belongs=support,
        how=How.HOLD,
        count=1,
        correction=Correction.NONE,
        corrected_at="on the bench: cut to its line",
        after="Check its height against a caliper. The two sides differ: do not turn it round.",
        hazards=(Hazard.BLADE,),
    )


def _jig(unit: tuple[str, ...]) -> Piece:
    return Piece(
        id=f"jig/{' + '.join(unit)}",
        name="jig board with end stops",
        belongs=unit[0],
        how=How.HOLD,
        count=1,
        corrected_at="its stops and packing, by measured numbers",
        after="Set the kink and the heights by caliper, then clamp the spans to the stops.",
        hazards=(Hazard.BLADE,),
    )


def stock_pieces(sizing: Sizing, thinnest: float, most: float) -> list[Piece]:
    """List what is bought for the whole bridge.

    Parameters
    ----------
    sizing : Sizing
        Inputs and coverage factor.
    thinnest : float
        Thinnest packing. [mm]
    most : float
        Thickest packing. [mm]

    Returns
    -------
    list of Piece
        Packing stock, glues, finishes.
    """
    n = len(sizing.inputs)
    ends = (("thinnest", thinnest), ("thickest packing", most))
    limits = tuple(PieceSize(name=name, finished=dv.constant(value, n)) for name, value in ends)
    return [
        Piece(
            id="stock/packing",
            name="flat strip for packing, in several thicknesses that differ by little",
            belongs="",
            how=How.BUY,
            count=1,
            sizes=limits,
            after="Caliper every strip and write its thickness on it: a nominal thickness is not a reading.",
            hazards=(Hazard.BLADE,),
        ),
        Piece(
            id="stock/filling glue",
            name="glue that fills a gap (two-part), for stone, plaster and wood under the bearings",
            belongs="",
            how=How.BUY,
            count=1,
            after="Try it on offcuts of both materials first: solvent cement holds plastic only.",
            hazards=(Hazard.SOLVENT,),
        ),
        Piece(
            id="stock/finishes",
            name="primer, paint and weathering colours",
            belongs="",
            how=How.BUY,
            count=1,
            after="Spray a scrap of each material first.",
            hazards=(Hazard.SPRAY,),
        ),
    ]
