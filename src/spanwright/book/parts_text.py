"""The parts list as text: what to buy, cut, trim and make, and which way each piece can be corrected."""

from __future__ import annotations

from itertools import groupby

from spanwright.book.blocks import Block, Heading, heading, numbers, paragraph, table, texts
from spanwright.build.telling import say_cut
from spanwright.drawings.speech import Speech
from spanwright.parts.listing.piece import How, Piece, PieceSize
from spanwright.parts.safe_side import WAYS, Correction
from spanwright.parts.stage import Parts

_TITLES = {
    How.BUY: "To buy",
    How.FROM_KIT: "From the kit",
    How.CUT: "To cut",
    How.TRIM: "To trim",
    How.MAKE: "To make",
    How.HOLD: "To hold against the work",
}


def parts_text(parts: Parts, say: Speech) -> list[Block]:
    """Return the parts list.

    Parameters
    ----------
    parts : Parts
        What the parts stage found.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    count = sum(p.count for p in parts.pieces)
    lines: list[Block] = [f"{len(parts.pieces)} kinds of pieces, {count} pieces."]
    lines += paragraph(
        "Finished: as it is wanted in the end, or as it was measured. Cut to: with what is left on or taken"
        " off on purpose, so that the piece can be corrected in the way that stands beside it. A size that is"
        " still to be made has the doubt of making it."
    )
    order = list(How)
    for how, group in groupby(sorted(parts.pieces, key=lambda p: order.index(p.how)), key=lambda p: p.how):
        lines += _group(how, list(group), say)
    return lines


def _group(how: How, pieces: list[Piece], say: Speech) -> list[Block]:
    lines = heading(f"{_TITLES[how]} ({say.unit})")
    for caution in dict.fromkeys(c for p in pieces for c in p.cautions):
        lines += paragraph(f"CAUTION: {caution}", indent=2)
    columns = (
        *numbers("of"),
        *texts("piece", most=26),
        *texts("size", most=18),
        *numbers("finished", most=16),
        *texts("cut to", most=12),
        *texts("correction", most=26),
    )
    lines += table(columns, [row for piece in pieces for row in _rows(piece, say)])
    return lines


def _rows(piece: Piece, say: Speech) -> list[tuple[str, ...]]:
    """Return a row for each size of a piece; its name stands in the first."""
    count = f"{piece.count}" + (f" + {piece.spare}" if piece.spare else "")
    name, what = say.place(piece.id), say.text(piece.name)
    whole = name if what in name else f"{name}: {what}"
    right = _put_right(piece, say)
    if not piece.sizes:
        return [(count, whole, "", "", "", right)]
    rows: list[tuple[str, ...]] = []
    for number, size in enumerate(piece.sizes):
        first = number == 0
        own = _own(size, piece)
        put = "; ".join(part for part in (right if first else "", own) if part)
        start = (count, whole) if first else ("", "")
        rows.append((*start, say.text(size.name), say.of(size.finished), _cut(size, say), put))
    return rows


def _cut(size: PieceSize, say: Speech) -> str:
    return "" if size.cut is None else say_cut(size.cut, WAYS[size.correction], say)


def _own(size: PieceSize, piece: Piece) -> str:
    if size.cut is None or size.correction is piece.correction or size.correction is Correction.NONE:
        return ""
    return f"{size.name} {size.correction.value}"


def _put_right(piece: Piece, say: Speech) -> str:
    if piece.how is How.HOLD or piece.correction is Correction.NONE:
        return ""
    at = f", {say.text(piece.corrected_at)}" if piece.corrected_at else ""
    most = f"; packing {say.plain(piece.most_packing, 2)} at most" if piece.most_packing else ""
    return f"{piece.correction.value}{at}{most}"


def after_text(parts: Parts, say: Speech) -> list[Block]:
    """Return what to do with each piece once it has been measured.

    Parameters
    ----------
    parts : Parts
        What the parts stage found.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks; none if nothing is to be said.
    """
    told: dict[str, list[str]] = {}
    for piece in parts.pieces:
        if piece.after:
            told.setdefault(say.text(piece.after), []).append(say.place(piece.id))
    if not told:
        return []
    lines: list[Block] = [Heading(title="When it has been measured")]
    for after, names in told.items():
        lines += paragraph(f"{', '.join(names)}: {after}", indent=2, hanging=2)
    return lines
