"""The parts list: every piece to buy, cut, trim and make, and every thing to hold against the work.

Each piece says which way it can be put right, where, and to which side it is therefore cut
(``safe_side``). Read :func:`list_pieces`; ``listing`` has the pieces of spans and supports.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from spanwright.errors import InputError
from spanwright.estimation.inputs import Inputs
from spanwright.parts.given import PartsInput
from spanwright.parts.listing.held import held_pieces, stock_pieces
from spanwright.parts.listing.piece import CAUTIONS, Hazard, How, Piece, PieceSize, Sizing
from spanwright.parts.listing.spans import span_pieces
from spanwright.parts.listing.supports import support_pieces
from spanwright.structures.given import StructuresInput
from spanwright.structures.stage import Structures

__all__ = ["CAUTIONS", "Hazard", "How", "Piece", "PieceSize", "list_pieces", "made_last", "uncounted"]


def made_last(given: StructuresInput, parts: PartsInput) -> tuple[str, ...]:
    """Return the supports over which a rigid unit spans: their height is cut to a measured gap.

    Parameters
    ----------
    given : StructuresInput
        Spans and supports.
    parts : PartsInput
        Which spans are joined.

    Returns
    -------
    tuple of str
        Names, in station order.

    Raises
    ------
    InputError
        If a unit names a span that is not there, or spans that do not follow one another.
    """
    spans = {s.name: s for s in given.spans}
    inside = []
    for unit in parts.units:
        for name in unit:
            if name not in spans:
                raise InputError(
                    "a unit names a span that is not there",
                    code="PA003",
                    where="bridge units",
                    value=name,
                    limit=", ".join(spans),
                )
        for before, after in pairwise(unit):
            if spans[before].end != spans[after].start:
                raise InputError(
                    "the spans of a unit do not follow one another",
                    code="PA004",
                    where="bridge units",
                    value=f"{before}, {after}",
                    limit=f"{before} ends at {spans[before].end}",
                )
            inside.append(spans[before].end)
    return tuple(s.name for s in given.supports if s.name in inside)


def list_pieces(
    given: StructuresInput, parts: PartsInput, inputs: Inputs, structures: Structures
) -> tuple[Piece, ...]:
    """List every piece.

    Parameters
    ----------
    given : StructuresInput
        Spans, supports, layers.
    parts : PartsInput
        Board, units, tolerance.
    inputs : Inputs
        The base inputs, with the unseen ones.
    structures : Structures
        The fitted bridge.

    Returns
    -------
    tuple of Piece
        Spans, supports, things to hold, stock.

    Raises
    ------
    InputError
        If a unit cannot be meant.
    """
    sizing = Sizing(inputs=inputs, k=given.k)
    shapes = {s.part: s for s in structures.shapes}
    last = made_last(given, parts)
    pieces: list[Piece] = []
    for k, span in enumerate(structures.spans):
        pieces += span_pieces(given, sizing, span, shapes, 2 * k + 1)
    for fitted in structures.supports:
        pieces += support_pieces(given, sizing, fitted, shapes, made_last=fitted.given.name in last)
    pieces += held_pieces(parts, sizing, structures)
    pieces += stock_pieces(sizing, given.packing.thinnest, given.packing.most)
    return tuple(pieces)


def uncounted(pieces: tuple[Piece, ...], structures: Structures) -> tuple[str, ...]:
    """Return the finished shapes that no piece makes up, and pieces whose id stands twice.

    Parameters
    ----------
    pieces : tuple of Piece
        The parts list.
    structures : Structures
        The fitted bridge.

    Returns
    -------
    tuple of str
        Their ids; empty for a complete list.
    """
    listed = {p.part for p in pieces}
    twice = [key for key, n in Counter(p.id for p in pieces).items() if n > 1]
    return (*(s.part for s in structures.shapes if s.part not in listed), *twice)
