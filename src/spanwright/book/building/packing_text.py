"""Packing and the railhead that comes of it, as text."""

from __future__ import annotations

from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
from spanwright.drawings.speech import Speech
from spanwright.findings import Verdict
from spanwright.packing.gaps import PackedGap
from spanwright.packing.needs import Rule, RuleKind
from spanwright.packing.shelf import PackingInput
from spanwright.packing.stage import Packed, PackingResult, said_value

_CAUTION = (
    "CAUTION: cut sheet with a sharp blade along a steel rule, away from your hand. Glue and solvent: open"
    " the window, no flame."
)


def packing_text(
    result: PackingResult, given: PackingInput, say: Speech, under: tuple[PackedGap, ...] = ()
) -> list[Block]:
    """Return the packing of every bearing, the railhead, and what is left on the shelf.

    Parameters
    ----------
    result : PackingResult
        What the packing stage found.
    given : PackingInput
        Shelf and limits.
    say : Speech
        How numbers and places are said.
    under : tuple of PackedGap
        Gaps under spans that stand off their wanted height.

    Returns
    -------
    list of Block
        Blocks.
    """
    known = [b for b in result.bearings if b.need.is_known]
    waiting = [b for b in result.bearings if not b.need.is_known and b.need.support not in result.out]
    lines = [*_answer(result, (len(known), len(waiting)), say)]
    if known:
        lines += _packed(known, result, given, say)
    if waiting:
        lines += _waiting(waiting, given, say)
    lines += _railhead(result, say)
    lines += _limits(result, say)
    lines += _under(under, say)
    if result.left and known:
        lines += _left(result)
    return lines


def _answer(result: PackingResult, count: tuple[int, int], say: Speech) -> list[Block]:
    """Say in a few lines how it stands."""
    known, waiting = count
    parts = []
    if result.out:
        parts.append(f"{' and '.join(result.out)} must be taken out and made lower: see below.")
    if known and result.choice is not None:
        offs = [abs(float(b.off.value)) for b in result.bearings if b.off is not None]
        far = say.plain(sum(offs) / known, 2)
        best = "proven best" if result.choice.is_proven else "not proven best"
        if result.choice.missed:
            parts.append("DO NOT GLUE THIS YET: limits of the railhead are missed, see below.")
        kept = "" if result.choice.missed else ", all limits kept"
        parts.append(f"{known} bearings packed, {far} off on average; {best}{kept}.")
    elif known:
        parts.append(f"{known} bearings can be packed: list your sheets under [shelf].")
    if waiting:
        parts.append(f"{waiting} bearings wait for a reading.")
    return paragraph(" ".join(parts))


def _packed(known: list[Packed], result: PackingResult, given: PackingInput, say: Speech) -> list[Block]:
    lines = heading(f"Packing ({say.unit})")
    if given.shelf is None:
        bare = [(say.place(b.need.bearing), say.of(b.need.wanted)) for b in known]
        return lines + table((*texts("bearing"), *numbers("wanted")), bare)
    if result.choice is None:
        return lines
    glue = "one glue line to a layer" if given.shelf.glue else "no glue line is counted: none is given"
    near = f"; for these they may be {say.plain(given.shelf.near, 2)} farther off" if given.shelf.near else ""
    lines += paragraph(
        f"From the cap upward, at most {given.shelf.layers} layers, {glue}. Packing is only added. All are"
        " chosen together, so that the seats come nearest to their wanted heights in all, then with the"
        f" fewest layers{near}."
    )
    lines += paragraph(_CAUTION)
    rows = [
        (
            say.place(b.need.bearing),
            say.of(b.need.wanted),
            _pieces(b),
            say.of(b.comes_out) if b.comes_out is not None else "",
            say.of(b.off) if b.off is not None else "",
        )
        for b in known
    ]
    columns = (*texts("bearing"), *numbers("wanted"), *texts("sheets"), *numbers("comes out", "stands off"))
    lines += table(columns, rows)
    return lines + paragraph("Stands off: plus is above its wanted height.", indent=2)


def _pieces(bearing: Packed) -> str:
    return " + ".join(f"{n} of {name}" if n > 1 else name for name, n in bearing.pieces) or "none"


def _waiting(waiting: list[Packed], given: PackingInput, say: Speech) -> list[Block]:
    lines = heading(f"Packed only after measuring ({say.unit})")
    lines += paragraph(
        f"The packing of these is not known to {say.plain(say.k * given.limits.known, 2)} yet, give or take:"
        " build the support, stand the span on its other bearings, and read the gap under the shoe; enter it"
        " under [[measured]]. Have at hand what makes up any thickness of this range."
    )
    rows = []
    for b in waiting:
        middle, wide = float(b.need.wanted.value) + b.lift, say.k * b.need.u
        low, high = max(middle - wide, 0.0), max(middle + wide, 0.0)
        rows.append(
            (
                say.place(b.need.bearing),
                say.of(b.need.wanted),
                f"{say.bare(low, 2)} to {say.bare(high, 2)}",
            )
        )
    return lines + table((*texts("bearing"), *numbers("as planned", "have at hand")), rows)


def _railhead(result: PackingResult, say: Speech) -> list[Block]:
    lines = heading(f"Railhead over the bearings ({say.unit})")
    packed = result.choice is not None
    if packed:
        said = "As packed: with the sheets above; where a bearing waits, as the others ask of it."
    else:
        said = "As it can be: the nearest to what is wanted that packing can still reach."
    lines += paragraph(f"{said} Nearest: the least that must be off, whatever the sheets.")
    rows = [
        (
            say.place(b.need.bearing),
            say.of(b.need.railhead),
            say.bare(float(b.need.railhead.value) + b.lift, 2),
            _signed(b.lift, say),
            _signed(b.reach, say),
        )
        for b in result.bearings
    ]
    columns = (
        *texts("bearing"),
        *numbers("wanted", "as packed" if packed else "as it can be", "off", "nearest"),
    )
    return lines + table(columns, rows)


def _signed(value: float, say: Speech) -> str:
    said = say.bare(abs(value), 2)
    return said if float(said) == 0.0 else f"{'+' if value > 0.0 else '-'}{said}"


def _limits(result: PackingResult, say: Speech) -> list[Block]:
    """Return changes of grade and twist in full, of all else the worst."""
    rows = []
    for kind in RuleKind:
        rules = [r for r in result.rules if r.kind is kind]
        if not rules:
            continue
        worst = max(rules, key=lambda r: abs(r.value(result.lifts)))
        whole = kind in (RuleKind.GRADE_CHANGE, RuleKind.TWIST)
        rows += [_limit(rule, result, say) for rule in (rules if whole else [worst])]
    lines = heading("Limits of the railhead")
    columns = (*texts("limit", "where"), *numbers("is", "at most"), *texts("kept"))
    return lines + table(columns, rows)


def _limit(rule: Rule, result: PackingResult, say: Speech) -> tuple[str, ...]:
    value = rule.value(result.lifts)
    shown = value if rule.kind is RuleKind.GRADE_CHANGE else abs(value)
    return (
        rule.kind.value,
        say.place(rule.where),
        say.text(said_value(rule, shown)),
        say.text(said_value(rule, rule.limit)),
        "NO" if rule.is_missed(result.lifts) else "yes",
    )


def _under(under: tuple[PackedGap, ...], say: Speech) -> list[Block]:
    """Return the gaps under spans as packed, if there are any that change."""
    if not under:
        return []
    lines = heading(f"Gaps under the spans as packed ({say.unit})")
    most = max(abs(one.change) for one in under)
    shown = [one for one in under if one.verdict is not Verdict.CLEAR or one.is_worse]
    said = f"Trains on the line below: {len(under)} gaps change, by {say.bare(most, 2)} at most, "
    said += "to first order in how far each span stands off its wanted height. "
    said += "Those that are not clear then:" if shown else "All of them stay clear."
    lines += paragraph(said)
    rows = [
        (
            f"{one.gap.vehicle} against {say.place(one.gap.part)}",
            say.length(float(one.gap.gap.value), one.gap.u),
            say.length(float(one.value.value), one.u),
            one.verdict.value + (f", was {one.gap.verdict.value}" if one.is_worse else ""),
        )
        for one in shown
    ]
    return lines + (
        table((*texts("vehicle and part", most=44), *numbers("planned", "as packed"), *texts("")), rows)
        if rows
        else []
    )


def _left(result: PackingResult) -> list[Block]:
    rows = [(name, "as many as wanted" if n is None else str(n)) for name, n in result.left]
    return heading("Left on the shelf") + table(texts("sheet", "pieces"), rows)
