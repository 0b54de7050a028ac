"""Hold two plans side by side: what differs between them, and what the change would cost in parts.

Read :func:`compare` first. Numbers differ here if they do so as printed, with their doubts: what would look
the same on paper is left out.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from spanwright.clearance.stage import Gap
from spanwright.drawings.speech import INCH, Speech
from spanwright.estimation.derived import Derived
from spanwright.findings import Finding, Verdict
from spanwright.job import Plan
from spanwright.parts.listing.piece import How, Piece, PieceSize
from spanwright.variants.given import (
    Otherwise,
    Values,
    decided_otherwise,
    other_readings,
    other_sizes,
)
from spanwright.variants.lost import Lost, lost_parts

#: Words of gaps, the worst first.
WORDS = (Verdict.FOUL, Verdict.NOT_PROVEN, Verdict.TIGHT, Verdict.CLEAR)
_LEAST = 3  # least gaps of each plan
#: Findings that tell the word of a gap, which is compared gap by gap.
_OF_GAPS = frozenset({"CL101", "CL102", "CL103"})
_MADE = frozenset({How.CUT, How.TRIM, How.MAKE})
_GOT = frozenset({How.BUY, How.FROM_KIT})
_NUMBER = re.compile(r"\d+(\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Variant:
    """One of two plans.

    Parameters
    ----------
    plan : Plan
        The plan.
    pieces : tuple of Piece
        Its parts list.
    findings : tuple of Finding
        Of all its stages.
    say : Speech
        How its numbers are said.
    values : dict
        What its job file says.
    """

    plan: Plan
    pieces: tuple[Piece, ...]
    findings: tuple[Finding, ...]
    say: Speech
    values: Values


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NumberPair:
    """A number of both plans that differs in print.

    Parameters
    ----------
    id : str
        The bearing or piece.
    name : str
        Which of its numbers.
    one : Derived or None
        In the one plan; None if it has none.
    other : Derived or None
        In the other.
    """

    id: str
    name: str
    one: Derived | None
    other: Derived | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SizePair:
    """A size of a piece that differs in print, or that only one plan has.

    Parameters
    ----------
    id : str
        The piece.
    piece : str
        What the piece is.
    name : str
        Which of its sizes; empty for the piece as such.
    one : PieceSize or None
        In the one plan.
    other : PieceSize or None
        In the other.
    counts : tuple of int
        How many of the piece each has; 0 for none.
    """

    id: str
    piece: str
    name: str
    one: PieceSize | None
    other: PieceSize | None
    counts: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """Everything that differs between two plans.

    Parameters
    ----------
    readings : tuple of Otherwise
        Readings and facts of the place that are not the same: with any, the comparison is not fair.
    sizes : tuple of Otherwise
        Measured sizes of parts of the bridge that are not the same: other parts, or other readings.
    decided : tuple of Otherwise
        What the job files decide otherwise.
    counts : tuple of (Verdict, int, int)
        How many gaps have each word, the worst word first.
    words : tuple of (Gap, Gap)
        Gaps whose word is not the same, those that are worst in either first.
    only : tuple of tuple of Gap
        Gaps that only the one has, and that only the other has.
    least : tuple of (Gap or None, Gap or None)
        The least gaps of either.
    cuts : tuple of SizePair
        What is cut, trimmed or made otherwise.
    buys : tuple of SizePair
        What is bought, or comes from the kit, otherwise.
    heights : tuple of NumberPair
        Heights and packing at the bearings.
    findings : tuple of tuple of Finding
        What only the one finds, and only the other.
    lost : tuple of Lost
        Supports that are made by the one plan and would be otherwise in the other.
    """

    readings: tuple[Otherwise, ...]
    sizes: tuple[Otherwise, ...]
    decided: tuple[Otherwise, ...]
    counts: tuple[tuple[Verdict, int, int], ...]
    words: tuple[tuple[Gap, Gap], ...]
    only: tuple[tuple[Gap, ...], tuple[Gap, ...]]
    least: tuple[tuple[Gap | None, Gap | None], ...]
    cuts: tuple[SizePair, ...]
    buys: tuple[SizePair, ...]
    heights: tuple[NumberPair, ...]
    findings: tuple[tuple[Finding, ...], tuple[Finding, ...]]
    lost: tuple[Lost, ...]

    @property
    def is_same(self) -> bool:
        """Whether nothing differs, neither in what was given nor in what follows."""
        given = self.readings or self.sizes or self.decided
        follows = self.words or any(self.only) or self.cuts or self.buys or self.heights
        return not (given or follows or any(self.findings) or self.lost)


def compare(one: Variant, other: Variant) -> Comparison:
    """Hold two plans side by side.

    Parameters
    ----------
    one : Variant
        The plan to start from.
    other : Variant
        The plan to change to.

    Returns
    -------
    Comparison
        What differs.
    """
    a, b = one.plan.job, other.plan.job
    values = one.values, other.values
    gaps = _gaps(one), _gaps(other)
    words = [Counter(g.verdict for g in side.values()) for side in gaps]
    both = [(g, gaps[1][key]) for key, g in gaps[0].items() if key in gaps[1]]
    changed = [pair for pair in both if pair[0].verdict is not pair[1].verdict]
    return Comparison(
        readings=other_readings(a, b, values, one.say),
        sizes=other_sizes(a, b, one.say),
        decided=decided_otherwise(a, b, values),
        counts=tuple((word, words[0][word], words[1][word]) for word in WORDS),
        words=tuple(sorted(changed, key=lambda p: (min(_rank(g) for g in p), _least(p[1])))),
        only=(
            tuple(g for key, g in gaps[0].items() if key not in gaps[1]),
            tuple(g for key, g in gaps[1].items() if key not in gaps[0]),
        ),
        least=_least_of_both(*gaps),
        cuts=_sizes(one, other, _MADE),
        buys=_sizes(one, other, _GOT),
        heights=tuple(_heights(one, other)),
        findings=_findings(one, other),
        lost=_lost(one, other),
    )


def _lost(one: Variant, other: Variant) -> tuple[Lost, ...]:
    bridges = one.plan.structures, other.plan.structures
    given = one.plan.job.structures, other.plan.job.structures
    if bridges[0] is None or bridges[1] is None or given[0] is None or given[1] is None:
        return ()
    most = given[0].packing.most, given[1].packing.most
    return lost_parts((one.plan.job.made, other.plan.job.made), (bridges[0], bridges[1]), most)


def _gaps(variant: Variant) -> dict[str, Gap]:
    result = variant.plan.clearance
    return {g.id: g for g in result.gaps} if result else {}


def _rank(gap: Gap) -> int:
    return WORDS.index(gap.verdict)


def _least(gap: Gap) -> float:
    return float(gap.gap.value)


def _least_of_both(one: dict[str, Gap], other: dict[str, Gap]) -> tuple[tuple[Gap | None, Gap | None], ...]:
    near = [sorted((g for g in x.values() if not g.beyond_reach), key=_least)[:_LEAST] for x in (one, other)]
    keys = dict.fromkeys(g.id for side in near for g in side)
    return tuple((one.get(key), other.get(key)) for key in keys)


def shows(one: tuple[float, float], other: tuple[float, float], say: Speech) -> bool:
    """Tell whether two lengths with their doubts differ in print.

    Two numbers that straddle the middle between two printed ones, a hair apart, do not.

    Parameters
    ----------
    one : tuple of float
        A length and its standard uncertainty. [mm]
    other : tuple of float
        Another. [mm]
    say : Speech
        How lengths are said.

    Returns
    -------
    bool
        True if a reader of both would see a difference.
    """
    if not np.isfinite([*one, *other]).all():
        return one != other
    said = [say.length(*pair) for pair in (one, other)]
    if said[0] == said[1]:
        return False
    step = min(_step(text) for text in said) * (INCH if say.unit == "in" else 1.0)
    return bool(abs(one[0] - other[0]) >= 0.5 * step or say.k * abs(one[1] - other[1]) >= 0.5 * step)


def _step(text: str) -> float:
    """Worth of the last printed figure."""
    _, _, decimals = text.split(" ", maxsplit=1)[0].partition(".")
    return float(10.0 ** -len(decimals))


def _alike(one: PieceSize, other: PieceSize, say: Speech, say_other: Speech) -> bool:
    """Tell whether a size is cut alike; one without a size to cut to: is finished alike."""
    if (one.cut is None) is not (other.cut is None):
        return False
    if one.cut is not None and other.cut is not None:
        return round(one.cut, 1) == round(other.cut, 1) or not shows((one.cut, 0.0), (other.cut, 0.0), say)
    return not _shows(one.finished, other.finished, say, say_other)


def _shows(one: Derived, other: Derived, say: Speech, say_other: Speech) -> bool:
    return shows((float(one.value), say.doubt(one)), (float(other.value), say_other.doubt(other)), say)


def _sizes(one: Variant, other: Variant, hows: frozenset[How]) -> tuple[SizePair, ...]:
    """Compare pieces that are come by in some ways; packing is told with the heights."""
    a, b = (
        {p.id: p for p in v.pieces if p.how in hows and not p.id.endswith("/packing")} for v in (one, other)
    )
    found: list[SizePair] = []
    for key in dict.fromkeys((*a, *b)):
        found += _piece(a.get(key), b.get(key), one.say, other.say)
    return tuple(found)


def _piece(one: Piece | None, other: Piece | None, say: Speech, say_other: Speech) -> Iterable[SizePair]:
    known = one or other
    if known is None:
        return
    counts = one.count if one else 0, other.count if other else 0
    if counts[0] != counts[1]:
        yield SizePair(id=known.id, piece=known.name, name="", one=None, other=None, counts=counts)
    if one is None or other is None:
        return
    a, b = {s.name: s for s in one.sizes}, {s.name: s for s in other.sizes}
    for name in dict.fromkeys((*a, *b)):
        first, second = a.get(name), b.get(name)
        if first is None or second is None or not _alike(first, second, say, say_other):
            yield SizePair(id=known.id, piece=known.name, name=name, one=first, other=second, counts=counts)


def _heights(one: Variant, other: Variant) -> Iterable[NumberPair]:
    a, b = _at_bearings(one), _at_bearings(other)
    for key in dict.fromkeys((*a, *b)):
        first, second = a.get(key), b.get(key)
        if first is None or second is None or _shows(first, second, one.say, other.say):
            yield NumberPair(id=key[0], name=key[1], one=first, other=second)


def _at_bearings(variant: Variant) -> dict[tuple[str, str], Derived]:
    bridge = variant.plan.structures
    if bridge is None:
        return {}
    packing = {seat.bearing: seat.packing for s in bridge.supports for seat in s.seats}
    found: dict[tuple[str, str], Derived] = {}
    for b in bridge.bearings:
        found[b.id, "railhead"] = b.railhead
        found[b.id, "seat"] = b.seat
        if b.id in packing:
            found[b.id, "packing"] = packing[b.id]
    return found


def _findings(one: Variant, other: Variant) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Return what only one finds; a finding whose numbers alone differ is the same."""

    def key(finding: Finding) -> tuple[str, str, str]:
        return finding.code, finding.where, _NUMBER.sub("#", finding.text)

    a, b = ([f for f in v.findings if f.code not in _OF_GAPS] for v in (one, other))
    known = {key(f) for f in a}, {key(f) for f in b}
    return tuple(f for f in a if key(f) not in known[1]), tuple(f for f in b if key(f) not in known[0])
