"""What to measure next as text: one line for each open gap, and the readings in order."""

from __future__ import annotations

from spanwright.advice.given import ENOUGH, HOPELESS, Advice, Step
from spanwright.advice.outlook import Outlook
from spanwright.book.blocks import Block, heading, paragraph
from spanwright.book.clearance_text import part_of, vehicle_on
from spanwright.clearance.stage import Gap
from spanwright.drawings.speech import Speech, degrees
from spanwright.findings import Verdict
from spanwright.job import Plan

#: Less than this is said as under one in a hundred, more than the rest as over 99. [1]
_HARDLY = 0.005
_ORDER = (Verdict.CLEAR, Verdict.TIGHT, Verdict.FOUL)
REMEDIES = "spanwright remedies"


def reading_said(step: Step, say: Speech) -> str:
    """Return what to read, with what and how well.

    Parameters
    ----------
    step : Step
        The reading.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    str
        Such as ``gauge ..., with a stepped block, to ± 0.40 mm``.
    """
    what = say.text(step.text)
    when = f"{step.later}, " if step.later else ""
    tool = f", with {step.tool}" if step.tool else ""
    return f"{when}{what}{tool}, to ± {wide(step.sd, step.unit, say)}"


def wide(u: float, unit: str, say: Speech) -> str:
    """Return a give or take in the unit of what is read.

    Parameters
    ----------
    u : float
        Standard uncertainty. [any]
    unit : str
        ``mm``, ``rad`` or ``1``.
    say : Speech
        How numbers are said.

    Returns
    -------
    str
        With its unit.
    """
    if unit == "mm":
        return f"{say.spread(u)} {say.unit}"
    if unit == "rad":
        return f"{degrees(0.0, say.k * u).rpartition(' ')[2]}°"
    return f"{100.0 * say.k * u:.2g} %"


def percent(chance: float) -> str:
    """Return a probability in per cent.

    Parameters
    ----------
    chance : float
        The probability. [1]

    Returns
    -------
    str
        Such as ``87 %``.
    """
    if chance < _HARDLY:
        return "under 1 %"
    return "over 99 %" if chance > 1.0 - _HARDLY else f"{100.0 * chance:.0f} %"


def chances_said(found: Outlook, now: Verdict) -> str:
    """Return how likely each word is that would settle the question.

    Parameters
    ----------
    found : Outlook
        What is foretold.
    now : Verdict
        The word now.

    Returns
    -------
    str
        Such as ``87 % that it is then clear``.
    """
    words = [w for w in _ORDER if w is not now and found.chances[w] >= _HARDLY]
    if not words:
        wanted = "clear" if now is Verdict.TIGHT else "proven either way"
        return f"under 1 % that it is then {wanted}"
    first, *rest = (f"{percent(found.chances[w])} that it is then {w.value}" for w in words)
    return ", ".join([first, *(text.replace(" that it is then", "") for text in rest)])


def next_lines(plan: Plan, advices: tuple[Advice, ...], say: Speech) -> dict[str, str]:
    """Return one line for each open gap: the next reading and what comes of it.

    Parameters
    ----------
    plan : Plan
        The plan.
    advices : tuple of Advice
        For the gaps that are not settled.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    dict of str to str
        By the gap's id.
    """
    gaps = {g.id: g for g in plan.clearance.gaps} if plan.clearance else {}
    return {a.gap: f"Next: {_line(a, gaps[a.gap], say)}" for a in advices if a.gap in gaps}


def _line(advice: Advice, gap: Gap, say: Speech) -> str:
    step = advice.next
    if step is None or step.outlook is None:
        text = _lower(_refusal(advice, gap, say))
        return f"{text}; {_afterwards(advice.beyond, gap, say)}." if advice.beyond else f"{text}."
    said, more, last = reading_said(step, say), len(advice.steps) - 1, advice.steps[-1].outlook
    if step.outlook.settled(gap.verdict) < HOPELESS:
        return _unlikely(said, step.outlook, advice, gap, say)
    text = f"{said}: {_gain(step.outlook, advice, gap, say)}"
    if more and last is not None:
        text += f"; with {more} more reading{'' if more == 1 else 's'} {chances_said(last, gap.verdict)}"
    return f"{text}."


def _unlikely(said: str, found: Outlook, advice: Advice, gap: Gap, say: Speech) -> str:
    """Say first that this reading alone will not do."""
    last, doubt = advice.steps[-1].outlook or found, _doubts(found, advice, gap, say)
    then = ""
    if advice.beyond and advice.beyond.outlook:
        likelier = advice.beyond.outlook.settled(gap.verdict) > last.settled(gap.verdict)
        then = f"{_afterwards(advice.beyond, gap, say)}; else " if likelier else ""
    if len(advice.steps) == 1:
        less = ", or be content with less" if gap.verdict is Verdict.TIGHT else ""
        return (
            f"no reading taken now is likely to settle it; {then}change the design ({REMEDIES}){less}."
            f" This one would teach most: {said} {doubt}."
        )
    together = f"{len(advice.steps)} together: {chances_said(last, gap.verdict)}"
    return (
        f"no one reading is likely to settle it; {together}; {then or 'else '}change the design"
        f" ({REMEDIES}). First {said} {doubt}."
    )


def _gain(found: Outlook, advice: Advice, gap: Gap, say: Speech) -> str:
    return f"{chances_said(found, gap.verdict)} {_doubts(found, advice, gap, say)}"


def _doubts(found: Outlook, advice: Advice, gap: Gap, say: Speech) -> str:
    before, after = say.spread(advice.before), say.spread(found.after)
    of = "" if before == say.spread(gap.u) else "beyond the margin "
    return f"(doubt {of}{before} -> {after})"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _refusal(advice: Advice, gap: Gap, say: Speech) -> str:
    """Say what is left where no reading is named: other work, a change of the design, or less margin."""
    if not advice.hopeless:
        return say.text(advice.text)
    if gap.verdict is Verdict.TIGHT:
        return (
            "No reading that can be taken now will show that the margin is kept: change the design"
            f" ({REMEDIES}), or be content with less"
        )
    return f"{say.text(advice.text)} ({REMEDIES})"


def advice_text(plan: Plan, advices: tuple[Advice, ...], say: Speech) -> list[Block]:
    """Return what to measure next, one entry a reading.

    Parameters
    ----------
    plan : Plan
        The plan.
    advices : tuple of Advice
        For the gaps that are not settled.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks; none if nothing is open.
    """
    if not advices or plan.clearance is None:
        return []
    gaps = {g.id: g for g in plan.clearance.gaps}
    lines = heading("What to measure next")
    lines += paragraph(
        "The reading that makes a verdict most likely, with the tool and how well to read. The chances are"
        " those before it is taken; what is not cut yet counts as cut by what is known then.",
        indent=2,
    )
    grouped: dict[str, list[Advice]] = {}
    for advice in advices:
        step = advice.next
        text = _refusal(advice, gaps[advice.gap], say) if step is None else _upper(reading_said(step, say))
        grouped.setdefault(text, []).append(advice)
    for text, group in grouped.items():
        lines += paragraph(f"* {text.rstrip('.')}.", indent=2, hanging=2)
        for advice in group:
            for entry in gains(advice, gaps[advice.gap], say):
                lines += paragraph(entry, indent=6, hanging=2)
    return lines


def gains(advice: Advice, gap: Gap, say: Speech) -> list[str]:
    """Return what the readings that are named for one gap would bring.

    Parameters
    ----------
    advice : Advice
        The advice.
    gap : Gap
        Its gap.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of str
        First what the next one brings; then each further one, what all would, and what comes later.
    """
    what = f"{vehicle_on(gap)} against {part_of(gap, say)} ({gap.verdict.value})"
    step = advice.next
    if step is None or step.outlook is None:
        most = say.shares(gap.gap, most=1) if advice.chance_of_all or advice.hopeless else ""
        entries = [f"{what}.{f' The largest part of the doubt is {most}.' if most else ''}"]
    else:
        entries = [f"{what}: {_gain(step.outlook, advice, gap, say)}."]
        for number, one in enumerate(advice.steps[1:], start=2):
            if one.outlook is not None:
                then = chances_said(one.outlook, gap.verdict)
                entries.append(
                    f"{number}. {_upper(reading_said(one, say))}: {then} (doubt {say.spread(one.after)})."
                )
        last = advice.steps[-1].outlook
        if last is not None and last.settled(gap.verdict) < ENOUGH:
            entries.append(
                "If every reading that can be taken now were perfect:"
                f" {percent(advice.chance_of_all)} that it is settled; else change the design ({REMEDIES})."
            )
    if advice.beyond is not None:
        entries.append(f"{_upper(_afterwards(advice.beyond, gap, say))}.")
    return entries


def _afterwards(step: Step, gap: Gap, say: Speech) -> str:
    then = f": {chances_said(step.outlook, gap.verdict)}" if step.outlook else ""
    return f"later, {reading_said(step, say)}{then}"
