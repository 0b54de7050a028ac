"""Published and own gauges as text: what stands within each, and by how much the rest clears it."""

from __future__ import annotations

from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
from spanwright.clearance.gauges.gaps import GaugeGap
from spanwright.drawings.speech import Speech
from spanwright.job import Plan


def gauges_text(plan: Plan, say: Speech) -> list[Block]:
    """Return a table of the gaps for each gauge and line, the least first.

    Parameters
    ----------
    plan : Plan
        The plan.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks; none where no gauge is asked for.
    """
    gaps = plan.clearance.gauge_gaps if plan.clearance else ()
    if not gaps:
        return []
    columns = (
        *texts("part", most=26),
        *numbers("gap"),
        *texts("side"),
        *numbers("along the line", "gauge widened by"),
    )
    lines: list[Block] = ["", "Beside the gauges, to compare with: no verdict rests on them."]
    for of in dict.fromkeys((g.gauge, g.line) for g in gaps):
        ours = sorted((g for g in gaps if (g.gauge, g.line) == of), key=_order)
        lines += heading(f"{of[0]} on {of[1]} ({say.unit})")
        near = [g for g in ours if not g.beyond_reach]
        if near:
            lines += table(columns, (_row(g, say) for g in near))
        if len(near) < len(ours):
            least = say.plain(min(float(g.gap.value) for g in ours if g.beyond_reach))
            lines += paragraph(f"all {'others' if near else 'parts'}: over {least}.", indent=2)
        if any(not g.surveyed for g in near):
            lines += paragraph("*: beyond the last mark, where the line is not surveyed.", indent=2)
        for note in dict.fromkeys(g.note for g in ours if g.note):
            lines += paragraph(note, indent=2)
    return lines


def _order(gap: GaugeGap) -> tuple[bool, float]:
    return gap.beyond_reach, float(gap.gap.value)


def _row(gap: GaugeGap, say: Speech) -> tuple[str, ...]:
    place = say.bare(gap.station, 0) + ("" if gap.surveyed else " *")
    size = say.length(float(gap.gap.value), gap.u)
    return (
        say.place(gap.part),
        f"{size}, within it" if gap.is_inside else size,
        say.side(gap.side) or gap.side,
        place,
        say.bare(gap.each_side, 2),
    )
