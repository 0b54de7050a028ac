"""How sure the words of a job are together, and how likely each open gap is short."""

from __future__ import annotations

from spanwright.book.blocks import Block, Column, heading, numbers, paragraph, table, texts
from spanwright.clearance.chance.joint import GapChance, JointRisk, gap_chances, joint_risk
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.drawings.speech import Speech
from spanwright.estimation.drawing.coverage import Chance
from spanwright.findings import Verdict
from spanwright.job import Plan
from spanwright.packing.lows import any_high, lows

_LOW: tuple[Column, ...] = (
    *texts("support"),
    *numbers("may be lowest", "comes out low by", "one too high"),
    *texts("by"),
)
#: A clear gap is listed where its margin may be short with more than this chance. [1]
_WORTH = 1e-3
#: Clear gaps whose margin is further off than this many doubts are not looked at. [1]
_LOOKED = 3.5


def chance_text(plan: Plan, say: Speech) -> list[Block]:
    """Return the joint risk of the whole job and the gaps that it rests on.

    Parameters
    ----------
    plan : Plan
        The plan.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks; none if no gap has a number.
    """
    result = plan.clearance
    if result is None or all(g.beyond_reach for g in result.gaps):
        return []
    lines = heading("How sure all of it is together")
    lines += _joint(joint_risk(result, plan.inputs.spread))
    lines += _heights(plan)
    listed = _listed(result)
    told = {c.gap: c for c in gap_chances(listed, plan.inputs.spread, k=say.k)}
    rows = [
        (g, told[g.id])
        for g in listed
        if g.id in told and (g.verdict is not Verdict.CLEAR or told[g.id].short.part > _WORTH)
    ]
    if not rows:
        return lines
    rows.sort(key=lambda row: (-row[1].touches.part, -row[1].short.part))
    lines += [
        "",
        *paragraph(
            f"Where each gap lies ({say.unit}), as often as ± holds; where a train comes as near at several"
            " places it is the least of them, found by draws of all that is doubtful.",
            indent=2,
        ),
    ]
    return lines + table(_COLUMNS, [_row(gap, chance, say) for gap, chance in rows])


_COLUMNS: tuple[Column, ...] = (
    *texts("part", most=24),
    *texts("vehicle", most=26),
    *texts("line", most=10),
    *numbers("places", "gap lies in", "touches", "short of margin"),
    *texts("verdict", "by"),
)


def _listed(result: ClearanceResult) -> list[Gap]:
    return [
        g
        for g in result.gaps
        if g.verdict is not Verdict.CLEAR
        or (not g.beyond_reach and float(g.margin_gap.value) < _LOOKED * g.margin_u)
    ]


def _joint(risk: JointRisk) -> list[Block]:
    """Say the joint risk in sentences."""
    lines: list[Block] = []
    if risk.clear:
        lines += paragraph(
            f"{_gaps(risk.clear, 'clear')}: the chance that at least one is short of its wanted margin is"
            f" {percent(risk.short)} (added up, whatever they share: {_part(risk.short_sum)}).",
            indent=2,
        )
    if risk.passing:
        lines += paragraph(
            f"{_gaps(risk.passing, 'clear or tight')}: the chance that at least one touches is"
            f" {percent(risk.touches)} (added up: {_part(risk.touches_sum)}).",
            indent=2,
        )
    if not risk.passing:
        lines += paragraph("No gap is called clear or tight: nothing is promised.", indent=2)
    return lines


def _heights(plan: Plan) -> list[Block]:
    """Say how likely some bearing stands too high to be packed."""
    given, bridge = plan.job.structures, plan.structures
    if given is None or bridge is None or not bridge.bearings:
        return []
    high, total = any_high(bridge, given.packing.thinnest, plan.inputs.spread)
    count = len(bridge.bearings)
    return paragraph(
        f"{count} bearing{'' if count == 1 else 's'}: the chance that at least one comes out too high for the"
        f" thinnest packing, each piece cut as said, is {percent(high)} (added up: {_part(total)}).",
        indent=2,
    )


def low_text(plan: Plan, say: Speech) -> list[Block]:
    """Return how low each support comes out, over all bearings that may be its lowest.

    Parameters
    ----------
    plan : Plan
        The plan.
    say : Speech
        How numbers are said.

    Returns
    -------
    list of Block
        Blocks; none without a bridge.
    """
    given, bridge = plan.job.structures, plan.structures
    if given is None or bridge is None or not bridge.bearings:
        return []
    rows = [
        (
            low.support,
            f"{low.near} of {low.bearings}",
            f"{say.bare(low.least.low, 2)} to {say.bare(low.least.high, 2)}",
            percent(low.high),
            low.method.value,
        )
        for low in lows(bridge, given.packing.thinnest, plan.inputs.spread, k=say.k)
    ]
    lines = heading(f"How low each support comes out ({say.unit})")
    lines += paragraph(
        "The least packing of its bearings, less the thinnest, as often as ± holds. Where several may be the"
        " lowest it is the least of them, found by draws.",
        indent=2,
    )
    return lines + table(_LOW, rows)


def _gaps(count: int, word: str) -> str:
    return f"{count} gap{'' if count == 1 else 's'} called {word}"


def percent(chance: Chance) -> str:
    """Return a chance in words of a hundred; a bound where too few draws met it.

    Parameters
    ----------
    chance : Chance
        The chance.

    Returns
    -------
    str
        Such as ``1.1 %`` or ``under 0.1 %``.
    """
    if chance.draws and chance.part * chance.draws < 10:
        return f"under {_part(chance.at_most, up=True).removeprefix('under ')}"
    return _part(chance.part)


def _part(part: float, *, up: bool = False) -> str:
    hundred = 100.0 * part
    if hundred < 0.1:
        return "under 0.1 %"
    if hundred > 99.9:
        return "over 99.9 %"
    shown = hundred + (0.05 if up else 0.0)
    return f"{shown:.1f} %" if hundred < 10.0 else f"{shown:.0f} %"


def _row(gap: Gap, chance: GapChance, say: Speech) -> tuple[str, ...]:
    low, high = say.bare(chance.least.low), say.bare(chance.least.high)
    return (
        say.place(gap.part),
        gap.vehicle,
        gap.line,
        str(chance.places),
        f"{low} to {high}",
        percent(chance.touches),
        percent(chance.short),
        gap.verdict.value,
        chance.method.value,
    )
