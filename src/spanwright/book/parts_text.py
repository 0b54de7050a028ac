"""The parts list as text: what to buy, cut, trim and make, and which way each piece can be corrected."""

from __future__ import annotations

from itertools import groupby

from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
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


#: Words that tell nothing new beside a place.
_SMALL_WORDS = frozenset({"of", "the", "side"})
#: How a piece is put right, and what to do when it has been measured.
_Note = tuple[str, str]


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
        Blocks: a table for each way that a piece is come by, then how pieces are put right.
    """
    count = sum(p.count for p in parts.pieces)
    lines: list[Block] = [f"{len(parts.pieces)} kinds of pieces, {count} pieces."]
    lines += paragraph(
        "Finished: as it is wanted in the end, or as it was measured. Cut to: with what is left on or taken"
        " off on purpose, so that the piece can be corrected; the number under note says in the last table"
        " how, and what to do when it has been measured. A size with a * is trimmed on the"
        " bench. A size that is still to be made has the doubt of"
        " making it."
    )
    order = list(How)
    ordered = sorted(parts.pieces, key=lambda p: order.index(p.how))
    notes = [n for n in dict.fromkeys(_note(piece, say) for piece in ordered) if any(n)]
    for how, group in groupby(ordered, key=lambda p: p.how):
        lines += _group(how, list(group), notes, say)
    if notes:
        lines += heading("How each is corrected")
        columns = (*numbers("note"), *texts("correction", most=44), *texts("when it has been measured"))
        lines += table(columns, [(f"{k}", *note) for k, note in enumerate(notes, start=1)])
    return lines


def _group(how: How, pieces: list[Piece], notes: list[_Note], say: Speech) -> list[Block]:
    lines = heading(f"{_TITLES[how]} ({say.unit})")
    for caution in dict.fromkeys(c for p in pieces for c in p.cautions):
        lines += paragraph(f"CAUTION: {caution}", indent=2)
    columns = (
        *numbers("count"),
        *texts("piece", most=32),
        *texts("size", most=26),
        *numbers("finished", most=16),
        *numbers("cut to", most=12),
        *numbers("note"),
    )
    rows = [row for piece in pieces for row in _rows(piece, notes, say)]
    kept = [k for k in range(len(columns)) if any(row[k] for row in rows)]
    return lines + table([columns[k] for k in kept], [[row[k] for k in kept] for row in rows])


def _rows(piece: Piece, notes: list[_Note], say: Speech) -> list[tuple[str, ...]]:
    """Return a row for each size of a piece; its name stands in the first."""
    count = f"{piece.count}" + (f" + {piece.spare}" if piece.spare else "")
    note = _note(piece, say)
    number = f"{notes.index(note) + 1}" if note in notes else ""
    if not piece.sizes:
        return [(count, _called(piece, say), "", "", "", number)]
    rows: list[tuple[str, ...]] = []
    for k, size in enumerate(piece.sizes):
        start, end = ((count, _called(piece, say)), number) if k == 0 else (("", ""), "")
        name = f"{say.text(size.name)}{_own(size, piece)}"
        rows.append((*start, name, say.of(size.finished), _cut(size, say), end))
    return rows


def _called(piece: Piece, say: Speech) -> str:
    """Return a piece's place, and what it is where the place does not say so already."""
    name, what = say.place(piece.id), say.text(piece.name)
    known = set(name.replace(",", " ").split()) | _SMALL_WORDS
    return name if set(what.replace(",", " ").split()) <= known else f"{name}: {what}"


def _cut(size: PieceSize, say: Speech) -> str:
    return "" if size.cut is None else say_cut(size.cut, WAYS[size.correction], say)


def _own(size: PieceSize, piece: Piece) -> str:
    """Return how this size is put right if that is not as for the piece."""
    if size.cut is None or size.correction is piece.correction or size.correction is Correction.NONE:
        return ""
    return " *" if size.correction is Correction.TRIMMED_ON_BENCH else f" ({size.correction.value})"


def _note(piece: Piece, say: Speech) -> _Note:
    if piece.how is How.HOLD or piece.correction is Correction.NONE:
        return "", say.text(piece.after)
    at = f", {say.text(piece.corrected_at)}" if piece.corrected_at else ""
    most = f"; packing {say.plain(piece.most_packing, 2)} at most" if piece.most_packing else ""
    return f"{piece.correction.value}{at}{most}", say.text(piece.after)
