"""The gaps as text: one line for the job, what is not clear, the least clear gap of each part, all gaps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from spanwright.book.blocks import Block, Column, heading, numbers, paragraph, table, texts
from spanwright.book.trains.chance_text import chance_text
from spanwright.book.trains.gauges_text import gauges_text
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.drawings.speech import Speech
from spanwright.findings import Severity, Verdict
from spanwright.job import Plan

_NONE: Mapping[str, str] = MappingProxyType({})
_ORDER = (Verdict.FOUL, Verdict.NOT_PROVEN, Verdict.TIGHT, Verdict.CLEAR)
_SIDES = {"below": "below", "ahead": "ahead", "behind": "behind", "above": "above"}


def answer(plan: Plan, *, whole: bool = True) -> list[Block]:
    """Return the one line that says whether all is clear; what must be mended stands before it.

    Parameters
    ----------
    plan : Plan
        The plan.
    whole : bool
        The whole job is shown, so that what is to mind stands below.

    Returns
    -------
    list of Block
        Blocks.
    """
    lead = not_ready(plan)
    mind = {"thing to mind": 0, "suspect reading": len(plan.survey.suspects)}
    if not lead:
        kinds = ("ST", "AL")
        mind["thing to mind"] = sum(
            f.severity is Severity.WARNING and f.code[:2] in kinds for f in plan.findings
        )
    there = {
        "thing to mind": "see the end" if whole else "run spanwright check",
        "suspect reading": "see below" if whole else "still in, run spanwright survey",
    }
    said = [f"{_many(n, thing)}: {there[thing]}" for thing, n in mind.items() if n]
    also = "".join(f" {text}." for text in said)
    if plan.clearance is None:
        return [*lead, f"Nothing is judged yet.{also}"]
    gaps = plan.clearance.gaps
    if not gaps:
        return [*lead, *paragraph(f"Nothing is judged yet: {_why_none(plan)}.{also}")]
    one = len(gaps) == 1
    count = Counter(g.verdict for g in gaps)
    if count[Verdict.CLEAR] < len(gaps):
        words = ", ".join(f"{count[v]} {v.value}" for v in _ORDER if count[v])
        return [*lead, *paragraph(f"Not all clear: {words}.{also}")]
    if lead:
        kept = "The gap as such keeps its" if one else f"The {len(gaps)} gaps as such keep their"
        return [*lead, f"{kept} margin.{also}"]
    if also:
        clear = "The only gap is clear" if one else f"All {len(gaps)} gaps clear"
        return paragraph(f"{clear}, but{also.replace('. ', '; ')}")
    return [f"All clear: {'the only gap keeps its' if one else f'all {len(gaps)} gaps keep their'} margin."]


def _why_none(plan: Plan) -> str:
    if plan.job.clearance is None or plan.job.clearance.runs:
        return "no vehicle runs where it could meet a part"
    return "the job has gauges but no trains"


def not_ready(plan: Plan) -> list[Block]:
    """Return the line that leads where something must be mended before building.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    list of Block
        Blocks; none if nothing must be mended but the gaps.
    """
    stops = sum(f.severity is Severity.STOP and not f.code.startswith("CL") for f in plan.findings)
    if not stops:
        return []
    return [f"Not ready: {_many(stops, 'thing')} must be mended before building, see STOP below."]


def _many(count: int, thing: str) -> str:
    noun, _, rest = thing.partition(" to ")
    return f"{count} {noun}{'' if count == 1 else 's'}{f' to {rest}' if rest else ''}"


def words_text() -> list[Block]:
    """Return what the four verdicts mean.

    Returns
    -------
    list of Block
        Blocks.
    """
    return paragraph(
        "clear: the wanted margin is kept, proven. tight: it passes, but the margin is not proven. foul:"
        " it touches,"
        " proven. not proven: it may pass or touch.",
        indent=2,
    )


def wanted(settings: ClearanceInput, say: Speech) -> list[Block]:
    """Return the margins that the job wants.

    Parameters
    ----------
    settings : ClearanceInput
        The margins.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    side, above = say.plain(settings.margin_side, 2), say.plain(settings.margin_above, 2)
    return paragraph(f"Wanted margin: {side} to the sides, {above} above.", indent=2)


def vehicle_on(gap: Gap) -> str:
    """Return a gap's vehicle and its line.

    Parameters
    ----------
    gap : Gap
        The gap.

    Returns
    -------
    str
        Such as ``long coach on lower``.
    """
    return f"{gap.vehicle} on {gap.line}"


def part_of(gap: Gap, say: Speech) -> str:
    """Return a gap's part in the builder's words.

    Parameters
    ----------
    gap : Gap
        The gap.
    say : Speech
        How places are said.

    Returns
    -------
    str
        Such as ``bent, aisle column``.
    """
    return say.place(gap.part)


def side_of(gap: Gap, say: Speech) -> str:
    """Return on which side of the vehicle a gap is.

    Parameters
    ----------
    gap : Gap
        The gap.
    say : Speech
        How sides are said.

    Returns
    -------
    str
        The builder's word; ``above`` and the like otherwise.
    """
    return say.side(gap.side) or "-"


def value_of(gap: Gap, say: Speech) -> str:
    """Return a gap's size and give or take, without the unit.

    Parameters
    ----------
    gap : Gap
        The gap.
    say : Speech
        How lengths are said.

    Returns
    -------
    str
        ``more than ...`` where it is beyond the reach of the search; negative where it touches.
    """
    value = float(gap.gap.value)
    if gap.beyond_reach:
        return f"over {say.bare(value)}"
    return say.length(value, gap.u) if np.isfinite(value) else "touches"


def margin_of(gap: Gap, settings: ClearanceInput) -> float:
    """Return the margin that is wanted where the gap is.

    Parameters
    ----------
    gap : Gap
        The gap.
    settings : ClearanceInput
        The margins.

    Returns
    -------
    float
        Above for what is above; the side margin otherwise. [mm]
    """
    return settings.margin_above if gap.side == "above" else settings.margin_side


def _badness(gap: Gap, k: float) -> tuple[int, bool, float]:
    """Order of gaps: by verdict, measured ones before those that are only known to be more."""
    margin = float(gap.margin_gap.value)
    bound = margin - k * gap.margin_u if np.isfinite(margin) else -np.inf
    return _ORDER.index(gap.verdict), gap.beyond_reach, bound


def not_clear(result: ClearanceResult, k: float) -> list[Gap]:
    """Return the gaps that are not clear, the worst first.

    Parameters
    ----------
    result : ClearanceResult
        All gaps.
    k : float
        Coverage factor. [1]

    Returns
    -------
    list of Gap
        Foul, then not proven, then tight.
    """
    return sorted((g for g in result.gaps if g.verdict is not Verdict.CLEAR), key=lambda g: _badness(g, k))


def not_clear_text(plan: Plan, say: Speech, after: Mapping[str, str] = _NONE) -> list[Block]:
    """Return every gap that is not clear, with why.

    Parameters
    ----------
    plan : Plan
        The plan.
    say : Speech
        How numbers and places are said.
    after : mapping of str to str
        What stands last in the entry of a gap, by its id.

    Returns
    -------
    list of Block
        Blocks; none if all is clear.
    """
    result, settings = plan.clearance, plan.job.clearance
    if result is None or settings is None:
        return []
    gaps = not_clear(result, say.k)
    if not gaps:
        return []
    lines = heading("Not clear, the worst first")
    lines += words_text() + wanted(settings, say)
    for gap in gaps:
        lines += ["", *_entry(gap, settings, say)]
        if gap.id in after:
            lines += paragraph(after[gap.id], indent=4, hanging=2)
    return lines


def _entry(gap: Gap, settings: ClearanceInput, say: Speech) -> list[Block]:
    lines = paragraph(
        f"{gap.verdict.value.upper()}: {vehicle_on(gap)}, against {part_of(gap, say)}", indent=2, hanging=2
    )
    lines += paragraph(_how(gap, settings, say), indent=4)
    if gap.reason:
        lines += paragraph(f"Why not proven: {_reason(gap)}.", indent=4)
    shares = say.shares(gap.gap)
    if shares:
        lines += paragraph(f"Largest parts of the doubt: {shares}", indent=4, hanging=2)
    return lines


def _how(gap: Gap, settings: ClearanceInput, say: Speech) -> str:
    place = f", {say.plain(gap.station, 0)} along {gap.line}" if np.isfinite(gap.station) else ""
    if not np.isfinite(gap.gap.value):
        return (
            f"It touches, and moving the part up to {say.plain(settings.freeing_limit, 0)} up or to either"
            " side does"
            " not free it."
        )
    value, margin = float(gap.gap.value), margin_of(gap, settings)
    if value >= 0.0:
        beside = _beside(gap, say)
        where = (f" {beside}" if beside else "") + place
        want = "" if gap.side == "below" else f"; wanted {say.plain(margin, 2)}"
        return f"Gap {value_of(gap, say)} {say.unit}{where}{want}."
    more = "" if gap.side == "below" else f", and {say.plain(margin, 2)} more for the margin"
    way = {"up": "up", "left": f"to the {say.words.left} side", "right": f"to the {say.words.right} side"}
    return (
        f"It overlaps{place}: the part would have to move {say.length(-value, gap.u)} {say.unit}"
        f" {way.get(gap.travel, gap.travel)} just to come free{more}."
    )


def _beside(gap: Gap, say: Speech) -> str:
    if gap.side in ("left", "right"):
        return f"on the {say.side(gap.side)} side"
    return _SIDES.get(gap.side, gap.side)


def _reason(gap: Gap) -> str:
    parts = [f"it hangs on suspect reading {', '.join(gap.suspects)}"] if gap.suspects else []
    if "not surveyed" in gap.reason:
        parts.append("the train stands beyond the last mark there, which is not surveyed")
    return " and ".join(parts) or gap.reason


_GAPS: tuple[Column, ...] = (
    *texts("part", most=26),
    *texts("worst vehicle", most=28),
    *texts("line", most=12),
    *numbers("gap", "wanted"),
    *texts("side", "verdict"),
)


def _row(gap: Gap, settings: ClearanceInput, say: Speech) -> tuple[str, ...]:
    return (
        part_of(gap, say),
        gap.vehicle,
        gap.line,
        value_of(gap, say),
        "-" if gap.side == "below" or gap.beyond_reach else say.bare(margin_of(gap, settings), 2),
        side_of(gap, say),
        gap.verdict.value,
    )


def by_part_text(plan: Plan, say: Speech) -> list[Block]:
    """Return the least clear gap of each part.

    Parameters
    ----------
    plan : Plan
        The plan.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    result, settings = plan.clearance, plan.job.clearance
    if result is None or settings is None or not result.gaps:
        return []
    worst: dict[str, Gap] = {}
    for gap in result.gaps:
        held = worst.get(gap.part)
        if held is None or _badness(gap, say.k) < _badness(held, say.k):
            worst[gap.part] = gap
    lines = heading(f"The least clear gap of each part ({say.unit})")
    return lines + table(_GAPS, [_row(g, settings, say) for g in worst.values()])


def clearance_text(plan: Plan, say: Speech) -> list[Block]:
    """Return every gap, a table a part.

    Parameters
    ----------
    plan : Plan
        The plan.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    result, settings = plan.clearance, plan.job.clearance
    if result is None or settings is None:
        return answer(plan, whole=False)
    lines = answer(plan, whole=False)
    if not result.gaps:
        return lines + gauges_text(plan, say)
    lines += words_text() + wanted(settings, say)
    columns = (
        *texts("vehicle", most=34),
        *texts("line", most=12),
        *numbers("gap", "wanted", "beyond margin"),
        *texts("side", "verdict"),
    )
    lines += paragraph(
        "beyond margin: what is left between the part and the train grown by its margins; they are wanted"
        " to the sides and above, not below.",
        indent=2,
    )
    for part in dict.fromkeys(g.part for g in result.gaps):
        gaps = sorted((g for g in result.gaps if g.part == part), key=lambda g: _badness(g, say.k))
        lines += heading(f"{say.place(part)} ({say.unit})")
        far = [g for g in gaps if g.beyond_reach and g.verdict is Verdict.CLEAR]
        shown = [g for g in gaps if g not in far]
        if shown:
            lines += table(columns, (_full_row(g, settings, say) for g in shown))
        if far:
            many = f"and {_many(len(far), 'more train')}" if shown else _many(len(far), "train")
            least = say.plain(min(float(g.gap.value) for g in far))
            lines += paragraph(f"{many}: over {least}, clear.", indent=2)
        measured = [g for g in gaps if not g.beyond_reach]
        shares = say.shares(measured[0].gap) if measured else ""
        if shares:
            which = "the first" if measured[0] is gaps[0] else f"{vehicle_on(measured[0])}"
            lines += paragraph(f"Largest parts of the doubt of {which}: {shares}", indent=2, hanging=2)
    return lines + chance_text(plan, say) + gauges_text(plan, say)


def _full_row(gap: Gap, settings: ClearanceInput, say: Speech) -> tuple[str, ...]:
    margin = float(gap.margin_gap.value)
    if gap.beyond_reach:
        beyond = f"over {say.bare(margin)}"
    else:
        beyond = say.length(margin, gap.margin_u) if np.isfinite(margin) else "touches"
    _, *cells = _row(gap, settings, say)
    return (*cells[:4], beyond, *cells[4:])
