"""The packing stage: what each bearing wants in, sheets from the shelf and a railhead out.

Read :func:`pack`, then ``needs`` (what is wanted, and the limits), ``profile`` (what can still be reached),
``choose`` (which sheets).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import Line
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.findings import Finding, Severity
from spanwright.packing.choose import (
    PATIENCE,
    Choice,
    Sheets,
    TakenOut,
    choose,
    parts_to_take_out,
    pieces_short,
)
from spanwright.packing.needs import Doubt, Need, Needs, Rule, RuleKind, find_needs
from spanwright.packing.profile import nearest_profile
from spanwright.packing.shelf import PackingInput, Shelf
from spanwright.structures.stage import Structures

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Packed:
    """One bearing with its packing.

    Parameters
    ----------
    need : Need
        What it wants.
    pieces : tuple of (str, int)
        Sheets and how many of each; empty for none.
    comes_out : Derived or None
        How thick that is, glue lines included; None where nothing is to be packed yet.
    off : Derived or None
        How far the seat then stands above its wanted height; None likewise.
    lift : float
        The same without doubt; of a bearing that is not known, what the others ask of it. [mm]
    reach : float
        The same of the nearest railhead that any packing could reach. [mm]
    """

    need: Need
    pieces: tuple[tuple[str, int], ...]
    comes_out: Derived | None
    off: Derived | None
    lift: float
    reach: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PackingResult:
    """All that the packing stage knows.

    Parameters
    ----------
    bearings : tuple of Packed
        In station order.
    rules : tuple of Rule
        Limits of the railhead.
    lifts : ndarray, shape (n,)
        Of the railhead as it is packed, or without a shelf of the nearest that can be reached. [mm]
    choice : Choice or None
        None without a shelf, or where no packing is to be chosen.
    left : tuple of (str, int or None)
        What is left of each sheet; None for as many as wanted.
    out : tuple of str
        Supports that must be taken out.
    findings : tuple of Finding
        What the builder should know.
    """

    bearings: tuple[Packed, ...]
    rules: tuple[Rule, ...]
    lifts: FloatArray
    choice: Choice | None
    left: tuple[tuple[str, int | None], ...]
    out: tuple[str, ...]
    findings: tuple[Finding, ...]


def pack(
    given: PackingInput, inputs: Inputs, bridge: Structures, upper: Line, doubt: Doubt, *, k: float
) -> PackingResult:
    """Choose the packing of every bearing that is known, and tell the railhead that comes of it.

    Parameters
    ----------
    given : PackingInput
        Shelf and limits.
    inputs : Inputs
        The base inputs.
    bridge : Structures
        Spans, supports, seats.
    upper : Line
        The line that is carried.
    doubt : callable
        Gives the standard uncertainty of a number.
    k : float
        Coverage factor. [1]

    Returns
    -------
    PackingResult
        Sheets, railhead, stock, findings.

    Raises
    ------
    NotConvergedError
        If nothing was found in time.
    """
    return solve(given, inputs, find_needs(given, bridge, upper, doubt, k=k))


def solve(given: PackingInput, inputs: Inputs, needs: Needs, *, patience: float = PATIENCE) -> PackingResult:
    """Choose the packing for needs that are known already.

    Parameters
    ----------
    given : PackingInput
        Shelf and limits.
    inputs : Inputs
        The base inputs.
    needs : Needs
        Bearings and limits.
    patience : float
        Time for one solution. [s]

    Returns
    -------
    PackingResult
        Sheets, railhead, stock, findings.

    Raises
    ------
    NotConvergedError
        If nothing was found in time.
    """
    findings: list[Finding] = []
    reach = nearest_profile(needs)
    out: tuple[str, ...] = ()
    still = needs
    if reach is None:
        taken = parts_to_take_out(needs, patience=patience)
        out = taken.supports
        findings += _out_findings(needs, taken)
        still = _without(needs, out)
        reach = nearest_profile(still)
    choice = None
    if given.shelf is not None and any(n.is_known for n in still.needs):
        sheets = _sheets(given.shelf, inputs)
        choice = choose(still, sheets, patience=patience) if reach is not None else None
        if choice is None:
            choice = choose(still, sheets, elastic=True, patience=patience)
        if choice is not None and choice.missed:
            more = pieces_short(still, sheets, patience=patience) if reach is not None else None
            findings += _missed_findings(choice, _way_out(given.shelf, more, can_be_kept=reach is not None))
        if choice is not None and not choice.is_proven:
            findings.append(_unproven(choice))
    nearest = np.maximum(still.lowest, 0.0) if reach is None else reach
    lifts = nearest if choice is None else choice.lifts
    findings += _high_findings(needs, out)
    return PackingResult(
        bearings=tuple(
            _packed(need, n, given.shelf, inputs, (choice, lifts, nearest))
            for n, need in enumerate(still.needs)
        ),
        rules=needs.rules,
        lifts=lifts,
        choice=choice,
        left=_left(given.shelf, choice),
        out=out,
        findings=tuple(findings),
    )


def _sheets(shelf: Shelf, inputs: Inputs) -> Sheets:
    return Sheets(
        thickness=tuple(float(size(inputs, s.thickness).value) for s in shelf.sheets),
        counts=tuple(np.inf if s.count is None else float(s.count) for s in shelf.sheets),
        glue=float(size(inputs, shelf.glue).value) if shelf.glue else 0.0,
        layers=shelf.layers,
        near=shelf.near,
    )


def _without(needs: Needs, out: tuple[str, ...]) -> Needs:
    """Return the needs where some supports are to be made again: to any height, and not known."""
    lowest = np.array(
        [-np.inf if n.support in out else low for n, low in zip(needs.needs, needs.lowest, strict=True)]
    )
    changed = tuple(replace(n, is_known=n.is_known and n.support not in out) for n in needs.needs)
    return replace(needs, needs=changed, lowest=lowest)


def _packed(
    need: Need,
    n: int,
    shelf: Shelf | None,
    inputs: Inputs,
    solved: tuple[Choice | None, FloatArray, FloatArray],
) -> Packed:
    choice, lifts, reach = solved
    stack = choice.stacks[n] if choice else None
    if shelf is None or stack is None:
        return Packed(
            need=need, pieces=(), comes_out=None, off=None, lift=float(lifts[n]), reach=float(reach[n])
        )
    total = need.wanted * 0.0
    for sheet, count in zip(shelf.sheets, stack, strict=True):
        total = total + size(inputs, sheet.thickness) * float(count)
    if shelf.glue:
        total = total + size(inputs, shelf.glue) * float(sum(stack))
    return Packed(
        need=need,
        pieces=tuple((s.name, c) for s, c in zip(shelf.sheets, stack, strict=True) if c),
        comes_out=total,
        off=total - need.wanted,
        lift=float(lifts[n]),
        reach=float(reach[n]),
    )


def _left(shelf: Shelf | None, choice: Choice | None) -> tuple[tuple[str, int | None], ...]:
    if shelf is None:
        return ()
    used = np.zeros(len(shelf.sheets), dtype=int)
    for stack in choice.stacks if choice else ():
        used += np.array(stack if stack is not None else 0, dtype=int)
    return tuple(
        (s.name, None if s.count is None else int(s.count - u))
        for s, u in zip(shelf.sheets, used, strict=True)
    )


# ---------------------------------------------------------------- findings

_NO_SOURCE = "common practice, no source"


def said_value(rule: Rule, value: float) -> str:
    """Return a number in the unit of a limit.

    Parameters
    ----------
    rule : Rule
        The limit.
    value : float
        The number. [mixed]

    Returns
    -------
    str
        Such as ``0.21 mm`` or ``0.8 %``.
    """
    return f"{100.0 * value:.2f} %" if rule.kind is RuleKind.GRADE_CHANGE else f"{value:.2f} mm"


def _out_findings(needs: Needs, taken: TakenOut) -> list[Finding]:
    if not taken.supports:
        return [
            Finding(
                code="PK103",
                severity=Severity.STOP,
                where="railhead",
                text="no heights of the bearings keep the limits of the railhead, whatever is remade",
                remedy="Allow more under [profile], or mend the track at both ends of the bridge first",
                source=_NO_SOURCE,
            )
        ]
    found = []
    for name in taken.supports:
        mine = [n for n, need in enumerate(needs.needs) if need.support == name]
        least = max(float(needs.lowest[n] - taken.lifts[n]) for n in mine)
        worst = min((needs.needs[n] for n in mine), key=lambda need: float(need.wanted.value))
        right = -float(worst.wanted.value)
        _, span, side = worst.bearing.split("/")
        wrong = float(worst.wanted.value)
        found.append(
            Finding(
                code="PK101",
                severity=Severity.STOP,
                where=name,
                text=(
                    f"it stands too high for any railhead within the limits: under {span} on the "
                    f"{side} side the packing would have to be {wrong:.2f} mm"
                ),
                value=right,
                limit=0.0,
                remedy=(
                    f"Take it out and make it {right:.2f} mm lower, {least:.2f} mm at the very least; "
                    "the others can stay"
                ),
                source=_NO_SOURCE,
            )
        )
    return found


def _high_findings(needs: Needs, out: tuple[str, ...]) -> list[Finding]:
    """Say which bearings stand too high, though the railhead can live with it."""
    found = []
    for need, low in zip(needs.needs, needs.lowest, strict=True):
        if low > 0.0 and need.support not in out:
            found.append(
                Finding(
                    code="PK104",
                    severity=Severity.WARNING,
                    where=need.bearing,
                    text=(
                        f"this bearing stands {'' if need.is_known else 'at least '}{low:.2f} mm "
                        "too high with no packing at all"
                    ),
                    value=float(low),
                    limit=0.0,
                    remedy="Packing cannot be taken away: its neighbours are lifted as far as the limits ask",
                )
            )
    return found


def _way_out(shelf: Shelf, more: tuple[int, ...] | None, *, can_be_kept: bool) -> str:
    """Say what would let the limits be kept."""
    if not can_be_kept:
        return "See what is said of the railhead as a whole"
    if more is None:
        return "A thinner sheet on the shelf, or one layer more: more pieces of these sheets would not do"
    wanted = [f"{n} more of {s.name}" for s, n in zip(shelf.sheets, more, strict=True) if n]
    return f"{' and '.join(wanted)} would do: then every limit can be kept"


def _missed_findings(choice: Choice, remedy: str) -> list[Finding]:
    found = []
    for rule, over in choice.missed:
        value = abs(rule.value(choice.lifts))
        found.append(
            Finding(
                code="PK102",
                severity=Severity.WARNING,
                where=rule.where,
                text=(
                    f"{rule.kind.value} is {said_value(rule, value)} with the sheets on this shelf, "
                    f"{said_value(rule, over)} more than allowed"
                ),
                value=value,
                limit=rule.limit,
                remedy=remedy,
                source=_NO_SOURCE,
            )
        )
    return found


def _unproven(choice: Choice) -> Finding:
    how = (
        f"another could be nearer by {choice.short_by:.2f} mm in all"
        if choice.unsettled == 0.0
        else f"another could miss the limits by less, by {100.0 * choice.unsettled:.0f} % of a limit in all"
    )
    return Finding(
        code="PK105",
        severity=Severity.NOTE,
        where="packing",
        text=f"the choice of sheets is not proven best: {how}",
        value=choice.short_by,
        limit=0.0,
        remedy="It can be used; fewer sheets on the shelf or fewer layers are gone through faster",
    )
