"""What whole plans with drawn inputs have shown: which numbers bend, which gaps are held wider."""

from __future__ import annotations

from spanwright.book.blocks import Block, Column, heading, numbers, paragraph, table, texts
from spanwright.clearance.stage import Gap
from spanwright.drawings.speech import Speech
from spanwright.drawn.stage import BENDS, Trials, Tried
from spanwright.estimation.drawing.together import Method
from spanwright.findings import Verdict
from spanwright.job import Plan

_COLUMNS: tuple[Column, ...] = (
    *texts("number", most=44),
    *numbers("is", "lies in", "departs"),
)


def trials_text(plan: Plan, trials: Trials | None, say: Speech) -> list[Block]:
    """Return what trials have shown.

    Parameters
    ----------
    plan : Plan
        The plan, its doubts held wider as they ask.
    trials : Trials or None
        Of the plan; None if there were none.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks; none without trials.
    """
    if trials is None:
        return []
    lines = heading(f"Whole plans with drawn inputs ({say.unit})")
    told = [t for t in trials.numbers if t.surface is not None]
    off = sorted((t for t in told if _bends(t)), key=lambda t: -_bend(t))
    many = "1 whole plan was" if trials.made == 1 else f"{trials.made} whole plans were"
    straight = f"{len(told) - len(off)} of {len(told)} numbers"
    lines += paragraph(
        f"{many} derived with all inputs drawn within their doubts, every choice held but the closest points."
        f" {straight} are where derivatives foretold, but for a tenth of their doubt at most.",
        indent=2,
    )
    if trials.failed:
        lines += paragraph(
            f"{trials.failed} of them could not be derived: with readings a little otherwise the job does not"
            " settle, and what the rest of them say is too hopeful. More marks or readings would help.",
            indent=2,
        )
    if len(told) < len(trials.numbers):
        untold = len(trials.numbers) - len(told)
        lines += paragraph(
            f"Of {untold} numbers too few trials tell: their doubt rests on derivatives alone.", indent=2
        )
    if off:
        lines += paragraph(
            "The rest bend within their doubt and depart by so many times it; where they lie is found by"
            " draws, as often as ± holds:",
            indent=2,
        )
        lines += table(_COLUMNS, [_row(t, plan, say) for t in off])
    was = dict(trials.words)
    for key, factor in trials.wider:
        lines += _wider(_of(key, plan), factor, was.get(key), say)
    return lines


def _bend(tried: Tried) -> float:
    return tried.surface.bend if tried.surface is not None else 0.0


def _bends(tried: Tried) -> bool:
    return _bend(tried) > BENDS and tried.method is Method.DRAWS


def _name(tried: Tried, plan: Plan, say: Speech) -> str:
    """Say which number it is; of a gap its vehicle, line and part."""
    if tried.what == "number":
        return say.place(tried.id)
    return f"{tried.what}: {_gap(tried.id, plan, say)}"


def _of(key: str, plan: Plan) -> Gap:
    gaps = plan.clearance.gaps if plan.clearance is not None else ()
    return next(g for g in gaps if g.id == key)


def _gap(key: str, plan: Plan, say: Speech) -> str:
    gap = _of(key, plan)
    return f"{gap.vehicle} on {gap.line} against {say.place(gap.part)}"


def _row(tried: Tried, plan: Plan, say: Speech) -> tuple[str, ...]:
    low, high = (say.bare(v, 2) for v in (tried.told.low, tried.told.high))
    return (
        _name(tried, plan, say),
        say.bare(tried.value, 2),
        f"{low} to {high}",
        f"{_bend(tried):.2f}",
    )


def _wider(gap: Gap, factor: float, was: Verdict | None, say: Speech) -> list[Block]:
    word = gap.verdict.value
    word = (
        f"is still {word}" if was is gap.verdict else f"is now {word}" + (f", was {was.value}" if was else "")
    )
    name = f"{gap.vehicle} on {gap.line} against {say.place(gap.part)}"
    text = f"{name}: doubt held {factor:.2f} times as wide; the word {word}."
    return paragraph(text, indent=2, hanging=2)
