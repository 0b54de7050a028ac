"""Why a number is as doubtful as it is, as text."""

from __future__ import annotations

from spanwright.advice.given import Advice, Step, Why
from spanwright.advice.why import gap_of
from spanwright.book.advising.next_text import gains, reading_said, wide
from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
from spanwright.book.clearance_text import part_of, vehicle_on
from spanwright.clearance.stage import Gap
from spanwright.drawings.speech import Speech, degrees
from spanwright.job import Plan

#: Parts below this are not told. [1]
_SHARED = 0.005
_ROWS = 12


def why_text(plan: Plan, found: Why, advices: tuple[Advice, ...], say: Speech) -> list[Block]:
    """Return a number, what its doubt is made of, and what would make it smaller.

    Parameters
    ----------
    plan : Plan
        The plan.
    found : Why
        What was found of the number.
    advices : tuple of Advice
        Of the gaps that are not settled.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    gap = gap_of(plan, found.id)
    name = f"{vehicle_on(gap)} against {part_of(gap, say)}" if gap else say.place(found.id)
    label = (
        next((q.label for q in plan.structures.quantities if q.id == found.id), "") if plan.structures else ""
    )
    lines = paragraph(f"{name}: {_value(found, say)}{_meaning(label, name, say)}")
    if gap:
        lines += paragraph(f"The word: {gap.verdict.value}.")
    if not found.shares:
        return [*lines, *paragraph("It has no doubt: it is held, decided or exact.")]
    lines += heading("Where the doubt comes from")
    rows = [(f"{100.0 * s.share:.0f} %", say.text(s.label), s.remedy) for s in found.shares[:_ROWS]]
    rest = 1.0 - sum(s.share for s in found.shares[:_ROWS])
    if rest >= _SHARED:
        rows.append((f"{100.0 * rest:.0f} %", "all the rest, each less", ""))
    lines += table((*numbers("share"), *texts("of", most=60), *texts("to make it smaller", most=34)), rows)
    if found.shared >= _SHARED:
        lines += paragraph(
            f"{100.0 * found.shared:.0f} % are errors that many readings share: no single one taken again"
            " helps against them.",
            indent=2,
        )
    lines += heading("What would make it smaller")
    if found.steps:
        lines += _readings(found, say)
    else:
        lines += paragraph("No reading that can be taken now helps much.", indent=2)
    if found.later is not None:
        lines += paragraph(f"Later, {_reading(found.later, found.unit, say)}.", indent=2, hanging=2)
    return lines + (_likely(gap, advices, say) if gap else [])


def _likely(gap: Gap, advices: tuple[Advice, ...], say: Speech) -> list[Block]:
    """Return how likely each word of a gap is once readings are taken."""
    lines: list[Block] = []
    for advice in advices:
        if advice.gap == gap.id:
            lines += heading("How likely each word is then")
            if advice.next is not None:
                said = reading_said(advice.next, say)
                lines += paragraph(f"1. {said[:1].upper()}{said[1:]}:", indent=2, hanging=3)
            for entry in gains(advice, gap, say):
                lines += paragraph(entry, indent=2, hanging=2)
    return lines


def _meaning(label: str, name: str, say: Speech) -> str:
    """Return what a number is, where its name does not say so."""
    return f" ({say.text(label)})" if label and not name.endswith(label) else ""


def _readings(found: Why, say: Speech) -> list[Block]:
    lines = paragraph(
        "The reading first that shrinks it most; each below once those above are taken.", indent=2
    )
    for number, one in enumerate(found.steps, start=1):
        text = _reading(one, found.unit, say)
        lines += paragraph(f"{number}. {text[:1].upper()}{text[1:]}.", indent=2, hanging=3)
    return lines


def _reading(one: Step, unit: str, say: Speech) -> str:
    return f"{reading_said(one, say)}: the number is then good to ± {wide(one.after, unit, say)}"


def _value(found: Why, say: Speech) -> str:
    if found.unit == "mm":
        return f"{say.length(found.value, found.u)} {say.unit}"
    if found.unit == "rad":
        return f"{degrees(found.value, say.k * found.u)}°"
    return f"{found.value:.4g} ± {say.k * found.u:.2g}"
