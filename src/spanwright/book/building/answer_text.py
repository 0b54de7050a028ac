"""The new answer after something was measured or made: what was read, what changes, what is void, as text."""

from __future__ import annotations

import re

from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
from spanwright.drawings.speech import Speech
from spanwright.findings import Finding
from spanwright.measured.given import Measured
from spanwright.measured.teach import NotThere, Outcome, Taught, Tested
from spanwright.variants.compare import Comparison

Sheets = tuple[tuple[str, str], ...]
_MOST = 24  # rows of a table; a page holds no more


def readings_text(taught: Taught | None, say: Speech) -> list[Block]:
    """Return how each reading of the plan's numbers fared.

    Parameters
    ----------
    taught : Taught or None
        What was taught.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        A table with a row for each reading.
    """
    if taught is None or not (taught.tested or taught.outcomes or taught.not_there):
        return []
    columns = (*texts("reading", most=44), *numbers("foretold", "read", "off"), *texts("", most=34))
    rows = [_row(one, say) for one in taught.tested] + [_outcome(one, say) for one in taught.outcomes]
    rows += [_none(one, say) for one in taught.not_there]
    return heading(f"Measured ({say.unit})") + table(columns, rows)


def _row(one: Tested, say: Speech) -> tuple[str, ...]:
    reading = one.reading
    if one.repeats:
        word = "entered before: counts once"
    elif not one.used:
        word = f"CONTRADICTS, {abs(one.misses):.1f} times its doubt: not used"
    elif abs(one.misses) > 3.0:
        word = f"{abs(one.misses):.1f} times its doubt; used, you stand by it"
    else:
        word = f"agrees, {abs(one.misses):.1f} times its doubt"
    return (
        _what(reading, say),
        _said(one.foretold, reading.unit, one.spread, say),
        _said(reading.value, reading.unit, reading.doubt, say),
        _said(reading.value - one.foretold, reading.unit, 0.0, say),
        word,
    )


def _what(reading: Measured, say: Speech) -> str:
    """Say what was read with what; a builder may write blanks about the strokes of a name."""
    number, above = (say.place(re.sub(r"\s*/\s*", "/", name)) for name in (reading.number, reading.above))
    return f"{number}{f' above {above}' if above else ''}, by {reading.tool}"


def _said(value: float, unit: str, u: float, say: Speech) -> str:
    """Say a reading in the table's unit, an angle with its own."""
    if unit == "rad":
        return say.reading(value, unit, u)
    return say.length(value, u) if u else say.bare(value, 2)


def _outcome(one: Outcome, say: Speech) -> tuple[str, ...]:
    reading = one.reading
    word = "finished work: passes" if one.passes else f"finished work: {say.text(one.otherwise)}"
    return (
        _what(reading, say),
        say.bare(one.planned, 2),
        say.length(reading.value, reading.doubt),
        say.bare(one.off, 2),
        word,
    )


def _none(one: NotThere, say: Speech) -> tuple[str, ...]:
    reading = one.reading
    return (
        _what(reading, say),
        "",
        _said(reading.value, reading.unit, reading.doubt, say),
        "",
        f"does not count: {say.place(one.leans.support)} is not said {one.leans.lacks}, or is there no more",
    )


def changes_text(found: Comparison, says: tuple[Speech, Speech], there: frozenset[str]) -> list[Block]:
    """Return what the new answer changes in cut sizes, heights and gaps.

    Parameters
    ----------
    found : Comparison
        The plan before held against the plan now.
    says : tuple of Speech
        How the numbers of either are said.
    there : frozenset of str
        Supports that are cut: nothing of them is cut anew.

    Returns
    -------
    list of Block
        Tables; a sentence where nothing changes in print.
    """
    before, now = says
    lines: list[Block] = []
    cuts = [
        (now.place(p.id), now.text(p.name), before.cut(p.one.cut), now.cut(p.other.cut))
        for p in found.cuts
        if p.one and p.other and p.one.cut is not None and p.other.cut is not None
        if p.id.partition("/")[0] not in there
    ]
    if cuts:
        lines += heading(f"Cut otherwise than before ({now.unit})")
        lines += table((*texts("piece", "size"), *numbers("was", "now")), cuts[:_MOST])
    heights = [
        (now.place(p.id), p.name, before.of(p.one), now.of(p.other))
        for p in found.heights
        if p.one is not None and p.other is not None and p.name != "railhead"
    ]
    if heights:
        lines += heading(f"Known otherwise than before ({now.unit})")
        lines += table((*texts("bearing", ""), *numbers("was", "now")), heights[:_MOST])
    words = [
        (f"{b.vehicle} on {b.line}, {now.place(b.part)}", a.verdict.value, b.verdict.value)
        for a, b in found.words
    ]
    if words:
        lines += heading("Gaps whose word changes")
        lines += table(texts("vehicle and part", "was", "now"), words[:_MOST])
    return lines or paragraph("Nothing changes in print.")


def after_text(
    sheets: tuple[Sheets, Sheets], kept: tuple[str, ...], findings: tuple[Finding, ...], say: Speech
) -> list[Block]:
    """Return which prints are void, what must not be touched, and what is to be said of it all.

    Parameters
    ----------
    sheets : tuple of tuple
        Ids and titles of patterns and gauges that are no longer true, and of drawings.
    kept : tuple of str
        Supports that are built.
    findings : tuple of Finding
        What the builder should know.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines: list[Block] = []
    void, otherwise = (list(dict.fromkeys(title for _, title in some)) for some in sheets)
    if void:
        lines += heading("Void: print these anew before anything is cut or set by them")
        for title in void:
            lines += paragraph(say.text(title), indent=2)
    else:
        lines += paragraph("No pattern or gauge that you may have printed is void.")
    if otherwise:
        said = "; ".join(say.text(title) for title in otherwise)
        lines += paragraph(f"Drawings that look otherwise now, nothing is cut by them: {said}.")
    if kept:
        on = "it" if len(kept) == 1 else "them"
        lines += paragraph(f"Do not touch: {', '.join(say.place(k) for k in kept)}. The plan rests on {on}.")
    for f in findings:
        remedy = f" {say.text(f.remedy)}." if f.remedy else ""
        lines += paragraph(f"{f.code} {say.place(f.where)}: {say.text(f.text)}.{remedy}", hanging=2)
    return lines
