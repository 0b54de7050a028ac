"""The wall card: every vehicle on a line, whether it clears, and by how much."""

from __future__ import annotations

from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
from spanwright.book.clearance_text import part_of, side_of, value_of
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.drawings.speech import Speech
from spanwright.findings import Verdict
from spanwright.remedies.solve import ORDER

_MAY_RUN = {
    Verdict.CLEAR: "may run",
    Verdict.TIGHT: "may run, little to spare",
    Verdict.NOT_PROVEN: "not proven: keep off, or try by hand",
    Verdict.FOUL: "keep off",
}


def wall_card(result: ClearanceResult, say: Speech) -> list[Block]:
    """Return a table a line: its vehicles, those that may not run first.

    Parameters
    ----------
    result : ClearanceResult
        All gaps.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines: list[Block] = []
    for line in dict.fromkeys(g.line for g in result.gaps):
        worst: dict[str, Gap] = {}
        for gap in (g for g in result.gaps if g.line == line):
            held = worst.get(gap.vehicle)
            if held is None or _standing(gap) < _standing(held):
                worst[gap.vehicle] = gap
        ranked = sorted(worst.values(), key=_standing)
        counts = {v: sum(g.verdict is v for g in ranked) for v in ORDER}
        told = ", ".join(f"{n} {v.value}" for v, n in counts.items() if n)
        lines += heading(f"Line {line} ({say.unit})")
        lines += paragraph(f"{len(ranked)} vehicles: {told}.", indent=2)
        columns = (*texts("vehicle"), *texts("verdict"), *numbers("least room"), *texts("at", "side"))
        rows = [
            (g.vehicle, _MAY_RUN[g.verdict], value_of(g, say), part_of(g, say), side_of(g, say))
            for g in ranked
        ]
        lines += table(columns, rows)
    return lines


def _row(gap: Gap, say: Speech) -> tuple[str, ...]:
    return gap.vehicle, _MAY_RUN[gap.verdict], value_of(gap, say), part_of(gap, say), side_of(gap, say)


def _standing(gap: Gap) -> tuple[int, bool, float]:
    return ORDER.index(gap.verdict), gap.beyond_reach, float(gap.margin_gap.value)
