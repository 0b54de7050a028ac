"""What the steps are made from: the bridge, its parts list, its readings, and names of drawings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.build.as_built import AsBuilt
from spanwright.build.step import Access
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.estimation.inputs import Inputs, size
from spanwright.findings import Severity, Verdict
from spanwright.parts.given import PartsInput
from spanwright.parts.pieces import How, Piece, made_last
from spanwright.structures.given import StructuresInput, SupportKind
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport

#: Ids of drawings; a step that names the beginning of several means all of them.
CALIBRATION = "printer calibration"
OPENING_TOP = "pattern/opening top"
OPENING_UNDERSIDE = "pattern/opening underside"
OPENING_TABLE = "pattern/opening ordinates"
STICKS = "stick"
CANT = "card/cant"
BUILD_UP = "arrangement/build-up"
PLAN = "arrangement/plan"
SECTION = "general/section"

#: The reading that proves that the cut pattern lies where it should.
CHECKED = "board/check distances"
#: The reading that proves that the rails did not move when they were hung.
HUNG = "board/railheads hung"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Work:
    """All that the steps follow from.

    Parameters
    ----------
    given : StructuresInput
        Spans, supports, layers.
    parts : PartsInput
        Board, units, settings.
    inputs : Inputs
        The base inputs.
    structures : Structures
        The fitted bridge.
    clearance : ClearanceResult or None
        Gaps, if trains were reckoned.
    pieces : tuple of Piece
        The parts list.
    readings : tuple of AsBuilt
        The as-built rows.
    """

    given: StructuresInput
    parts: PartsInput
    inputs: Inputs
    structures: Structures
    clearance: ClearanceResult | None
    pieces: tuple[Piece, ...]
    readings: tuple[AsBuilt, ...]

    @property
    def last(self) -> tuple[str, ...]:
        """Supports that are made last, to a measured gap."""
        return made_last(self.given, self.parts)

    @property
    def groups(self) -> tuple[tuple[str, ...], ...]:
        """Spans as they are set: units, and single spans, in station order."""
        units = {unit[0]: unit for unit in self.parts.units}
        inside = {name for unit in self.parts.units for name in unit[1:]}
        names = [s.axis.given.name for s in self.structures.spans]
        return tuple(units.get(name, (name,)) for name in names if name not in inside)

    def support(self, name: str) -> FittedSupport:
        """Return a support.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        FittedSupport
            The support.
        """
        return next(s for s in self.structures.supports if s.given.name == name)

    def span(self, name: str) -> FittedSpan:
        """Return a span.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        FittedSpan
            The span.
        """
        return next(s for s in self.structures.spans if s.axis.given.name == name)

    def ends(self, group: tuple[str, ...]) -> tuple[str, str]:
        """Return the two supports that carry a span or unit while it is set.

        Parameters
        ----------
        group : tuple of str
            Its spans.

        Returns
        -------
        tuple of str
            The outer two.
        """
        return self.span(group[0]).axis.given.start, self.span(group[-1]).axis.given.end

    def of(self, belongs: str, *ends: str, how: How | None = None) -> tuple[str, ...]:
        """Return ids of the pieces of a span or support whose ids hold one of some words.

        Parameters
        ----------
        belongs : str
            The span or support.
        *ends : str
            Words; none for all of its pieces.
        how : How or None
            Only those that are come by in this way.

        Returns
        -------
        tuple of str
            Ids.
        """
        return tuple(
            p.id
            for p in self.pieces
            if p.belongs == belongs
            and (not ends or any(e in p.id.removeprefix(f"{belongs}/") for e in ends))
            and how in (None, p.how)
        )

    def taken(self, start: str, belongs: str = "", end: str = "") -> tuple[str, ...]:
        """Return ids of as-built rows.

        Parameters
        ----------
        start : str
            How the id begins.
        belongs : str
            Of which span or support; empty for all.
        end : str
            How the id ends.

        Returns
        -------
        tuple of str
            Ids.
        """
        return tuple(
            r.id
            for r in self.readings
            if r.id.startswith(start) and r.id.endswith(end) and belongs in ("", r.belongs)
        )


def card_sheets(work: Work) -> tuple[str, ...]:
    """Return the beginnings of the ids of all half-profile cards' drawings.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    tuple of str
        One a support: a pier has one card whatever its shaft is called, a bent one a column.
    """
    return tuple(dict.fromkeys(f"card/{p.belongs}" for p in work.pieces if p.id.startswith("card/")))


def glue_order(work: Work) -> tuple[str, ...]:
    """Return the supports in the order in which they are glued.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    tuple of str
        Abutments, the key pier, the rest from the ends inward; what is made last comes at the end.

    Notes
    -----
    The key pier is the one that the others follow from: the one whose place the builder fixed, else the
    bent, else the one nearest the middle of what is left. Two ends before the middle: a pier that comes
    out a little off is then shared by both its spans (common practice, no source).
    """
    supports = [s.given for s in work.structures.supports]
    ends = [s.name for s in supports if s.kind is SupportKind.ABUTMENT]
    inner = [s for s in supports if s.name not in ends and s.name not in work.last]
    fixed = [s for s in inner if s.along is not None] or [
        s for s in inner if s.kind is SupportKind.STRADDLE_BENT
    ]
    places = {s.name: k for k, s in enumerate(supports)}
    middle = 0.5 * (len(supports) - 1)
    if not fixed and inner:
        fixed = [min(inner, key=lambda s: abs(places[s.name] - middle))]
    key = [s.name for s in fixed[:1]]
    rest = sorted((s.name for s in inner if s.name not in key), key=lambda n: -abs(places[n] - middle))
    return (*ends, *key, *rest, *work.last)


def ways_in(work: Work, fitted: FittedSupport) -> tuple[Access, ...]:
    """Return the ways for a hand to a support: through the opening from above, and under the bridge.

    Parameters
    ----------
    work : Work
        The bridge.
    fitted : FittedSupport
        The support.

    Returns
    -------
    tuple of Access
        From above first. Nothing else that stands on the layout is known: only the bridge and its board.
    """
    name = fitted.given.name
    spans = [s for s in work.structures.spans if name in (s.axis.given.start, s.axis.given.end)]
    hand, board = work.parts.hand, work.parts.subroadbed
    wide = np.inf if board is None else max(_reach(work, s) for s in spans) + 2.0 * board.room
    long = np.inf
    if board is not None:
        stations = [s.station for s in work.structures.supports]
        long = stations[-1] - stations[0]
    way = "from above, before the spans are set" if board is None else "from above, through the opening"
    above = Access(way=way, width=wide, height=long, hand=hand)
    return above, under(work, fitted)


def under(work: Work, fitted: FittedSupport) -> Access:
    """Return the way in from beside the bridge, under its girders.

    Parameters
    ----------
    work : Work
        The bridge.
    fitted : FittedSupport
        The support that is reached for.

    Returns
    -------
    Access
        Width along the line to the next support on the wider side, height from base to girder.
    """
    name = fitted.given.name
    spans = [s for s in work.structures.spans if name in (s.axis.given.start, s.axis.given.end)]
    base = max(float(c.base.value) for c in fitted.cuts)
    low = min(
        float(b.girder_top.value)
        - next(float(x.thickness.value) for x in b.layers if x.name.startswith("girder"))
        for s in spans
        for b in s.heights.bearings
    )
    return Access(
        way="from the {left} or {right} side, under the girders",
        width=max(_between(work, s) for s in spans),
        height=low - base,
        hand=work.parts.hand,
    )


def _between(work: Work, span: FittedSpan) -> float:
    """Clear length between the caps at a span's two ends."""
    ends = [work.support(n).given for n in (span.axis.given.start, span.axis.given.end)]
    taken = sum(
        float(size(work.inputs, e.cap_along).value) * (1.0 if e.kind is SupportKind.ABUTMENT else 0.5)
        for e in ends
    )
    return float(span.axis.pitch.value) - taken


def _reach(work: Work, span: FittedSpan) -> float:
    """Width of all that a span carries, square to its axis."""
    name, across = span.axis.given.name, span.axis.across.value
    corners = [s.vertices[:, :2] @ across for s in work.structures.shapes if s.part.startswith(f"{name}/")]
    return float(max(c.max() for c in corners) - min(c.min() for c in corners))


def unsettled(work: Work) -> tuple[Gap, ...]:
    """Return the gaps that are not clear, the least first.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    tuple of Gap
        Foul, not proven and tight ones.
    """
    gaps = work.clearance.gaps if work.clearance else ()
    return tuple(sorted((g for g in gaps if g.verdict is not Verdict.CLEAR), key=lambda g: _bound(work, g)))


def critical(work: Work) -> tuple[Gap, ...]:
    """Return for each line the gap that leaves the least of its margin, doubt taken off.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    tuple of Gap
        One a line; its vehicle is the one to try first.
    """
    gaps = work.clearance.gaps if work.clearance else ()
    lines = dict.fromkeys(g.line for g in gaps)
    return tuple(min((g for g in gaps if g.line == line), key=lambda g: _bound(work, g)) for line in lines)


def _bound(work: Work, gap: Gap) -> float:
    return float(gap.margin_gap.value) - work.given.k * gap.margin_u


def stops(work: Work) -> tuple[str, ...]:
    """Return what the structure's findings say must be mended before building.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    tuple of str
        Place and text of each.
    """
    found = work.structures.findings
    return tuple(f"{f.where}: {f.text}. {f.remedy}" for f in found if f.severity is Severity.STOP)
