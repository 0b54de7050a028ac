"""What each bearing wants, and how the railhead depends on it.

The unknown at each bearing is its *lift*: how far its seat stands above (positive) or below the wanted
height. Every limit of the railhead is linear in the lifts: ``base + row @ lift`` within plus or minus
``limit``. Packing is only added, so that a lift cannot go below minus the packing that is wanted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import numpy as np

from spanwright.alignment.line import Line, track_point
from spanwright.estimation.derived import Derived
from spanwright.packing.shelf import Limits, PackingInput
from spanwright.structures.heights import TWIST, Bearing
from spanwright.structures.stage import Structures

FloatArray = np.ndarray
#: A limit is missed if it is passed by more than this share of it: the solver's own tolerance is smaller. [1]
MISSED = 1e-3
Doubt = Callable[[Derived], float]
"""Gives the standard uncertainty of a number of the plan."""


class RuleKind(Enum):
    """Kinds of limit."""

    GRADE_CHANGE = "change of grade"
    TWIST = "out of plane"
    STEP = "railhead off its height"
    JOINT = "railhead off that of the next span"
    UNIT = "rigid unit out of plane"


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One bearing and what is to go under it.

    Parameters
    ----------
    bearing : str
        Its id.
    support : str
        The support that it stands on.
    wanted : Derived
        Thickness of packing that brings its seat to the wanted height; negative if it stands too high.
    u : float
        Standard uncertainty of that. [mm]
    railhead : Derived
        Wanted height of the railhead over it.
    is_known : bool
        Whether it is known well enough to be packed.
    """

    bearing: str
    support: str
    wanted: Derived
    u: float
    railhead: Derived
    is_known: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rule:
    """One limit of the railhead.

    Parameters
    ----------
    kind : RuleKind
        What is limited.
    where : str
        Span, support or bearing.
    base : float
        Its value where every bearing is at its wanted height. [mixed]
    row : ndarray, shape (n,)
        How it changes with the lift of each bearing. [mixed]
    limit : float
        Largest size that is allowed. [mixed]
    """

    kind: RuleKind
    where: str
    base: float
    row: FloatArray
    limit: float

    def value(self, lifts: FloatArray) -> float:
        """Return what is limited, with its sign.

        Parameters
        ----------
        lifts : ndarray, shape (n,)
            Of the bearings. [mm]

        Returns
        -------
        float
            In the unit of the limit. [mixed]
        """
        return float(self.base + self.row @ lifts)

    def is_missed(self, lifts: FloatArray) -> bool:
        """Tell whether the limit is passed, by more than the solver's own tolerance.

        Parameters
        ----------
        lifts : ndarray, shape (n,)
            Of the bearings. [mm]

        Returns
        -------
        bool
            True if it is.
        """
        return abs(self.value(lifts)) > self.limit * (1.0 + MISSED)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Needs:
    """All bearings and all limits.

    Parameters
    ----------
    needs : tuple of Need
        In station order, start left, start right, end left, end right of each span.
    rules : tuple of Rule
        What the railhead must keep.
    lowest : ndarray, shape (n,)
        Least lift of each bearing. [mm]
    """

    needs: tuple[Need, ...]
    rules: tuple[Rule, ...]
    lowest: FloatArray

    @property
    def wanted(self) -> FloatArray:
        """Packing wanted at each bearing, in mm."""
        return np.array([float(n.wanted.value) for n in self.needs])

    @property
    def supports(self) -> tuple[str, ...]:
        """Names of the supports, in station order."""
        return tuple(dict.fromkeys(n.support for n in self.needs))


def find_needs(given: PackingInput, bridge: Structures, upper: Line, doubt: Doubt, *, k: float) -> Needs:
    """Say what every bearing wants and what the railhead must keep.

    Parameters
    ----------
    given : PackingInput
        Limits of the railhead, rigid units.
    bridge : Structures
        Spans, supports, seats.
    upper : Line
        The line that is carried.
    doubt : callable
        Gives the standard uncertainty of a number.
    k : float
        A bearing that is not known is too high only if it is so by this many times its doubt. [1]

    Returns
    -------
    Needs
        Bearings in station order.
    """
    packing = {seat.bearing: seat.packing for s in bridge.supports for seat in s.seats}
    needs = []
    for b in bridge.bearings:
        u = doubt(packing[b.id])
        needs.append(
            Need(
                bearing=b.id,
                support=b.support,
                wanted=packing[b.id],
                u=u,
                railhead=b.railhead,
                is_known=u <= given.limits.known,
            )
        )
    # what is not known yet can still be made lower; only what is proven too high cannot
    lowest = [-float(n.wanted.value) - (0.0 if n.is_known else k * n.u) for n in needs]
    ends = (bridge.supports[0].station, bridge.supports[-1].station)
    grades = track_point(upper, np.array(ends)).grade.value
    rules = railhead_rules(given.limits, bridge.bearings, (float(grades[0]), float(grades[1])))
    rules += unit_rules(given.limits, bridge.bearings, given.units)
    return Needs(needs=tuple(needs), rules=rules, lowest=np.array(lowest))


def railhead_rules(
    limits: Limits, bearings: tuple[Bearing, ...], grades: tuple[float, float]
) -> tuple[Rule, ...]:
    """Return every limit of the railhead as a row over the lifts.

    Parameters
    ----------
    limits : Limits
        What is allowed.
    bearings : tuple of Bearing
        Four a span, in station order.
    grades : tuple of float
        Of the track before the first support and after the last. [1]

    Returns
    -------
    tuple of Rule
        Changes of grade in station order, then twist by span, then steps.

    Notes
    -----
    The grade of a span is that of the straight line between the means of its two bearings at each end.
    Out of plane is ``h1 - h2 - h3 + h4``, which is how far one corner stands off the plane of the others.
    The wanted heights themselves lie in one plane.
    """
    count = len(bearings)
    slopes = [_slope(bearings, first) for first in range(0, count, 4)]
    before = [(grades[0], np.zeros(count)), *slopes]
    after = [*slopes, (grades[1], np.zeros(count))]
    places = [bearings[first].support for first in range(0, count, 4)] + [bearings[-1].support]
    rules = [
        Rule(
            kind=RuleKind.GRADE_CHANGE,
            where=place,
            base=b[0] - a[0],
            row=b[1] - a[1],
            limit=limits.grade_change,
        )
        for place, a, b in zip(places, before, after, strict=True)
    ]
    for first in range(0, count, 4):
        row = np.zeros(count)
        row[first : first + 4] = TWIST
        rules.append(
            Rule(kind=RuleKind.TWIST, where=bearings[first].span, base=0.0, row=row, limit=limits.twist)
        )
    one = np.eye(count)
    for n, b in enumerate(bearings):
        rules.append(Rule(kind=RuleKind.STEP, where=b.id, base=0.0, row=one[n], limit=limits.step))
    for here, beyond in pairwise(range(0, count, 4)):
        for side in (0, 1):
            row = one[beyond + side] - one[here + 2 + side]
            b = bearings[here + 2 + side]
            where = f"{b.support}/{b.side}"
            rules.append(Rule(kind=RuleKind.JOINT, where=where, base=0.0, row=row, limit=limits.step))
    return tuple(rules)


def unit_rules(
    limits: Limits, bearings: tuple[Bearing, ...], units: tuple[tuple[str, ...], ...]
) -> tuple[Rule, ...]:
    """Return the limits of spans that are joined into rigid units.

    A unit is as rigid as one span, and as true as it is planned: it stands on its outer four bearings, one of
    which may be off the plane of the other three; each of those between may be off the plane of the outer
    four.

    Parameters
    ----------
    limits : Limits
        What is allowed: twist, as within a span.
    bearings : tuple of Bearing
        Four a span, in station order.
    units : tuple of tuple of str
        Names of spans that are joined.

    Returns
    -------
    tuple of Rule
        For the last outer bearing and each between, unit by unit.
    """
    places = np.array([[1.0, float(b.x.value), float(b.y.value)] for b in bearings])
    rules = []
    for unit in units:
        mine = [n for n, b in enumerate(bearings) if b.span in unit]
        outer = [*mine[:2], *mine[-2:]]
        for n in [mine[-1], *mine[2:-2]]:
            others = outer[:3] if n == mine[-1] else outer
            row = np.zeros(len(bearings))
            row[others] = -places[n] @ np.linalg.pinv(places[others])
            row[n] += 1.0
            rules.append(
                Rule(kind=RuleKind.UNIT, where=bearings[n].id, base=0.0, row=row, limit=limits.twist)
            )
    return tuple(rules)


def _slope(bearings: tuple[Bearing, ...], first: int) -> tuple[float, FloatArray]:
    """Return the wanted grade of a span and how it changes with the lifts."""
    four = bearings[first : first + 4]
    x, y, z = (np.array([float(getattr(b, name).value) for b in four]) for name in ("x", "y", "railhead"))
    mean = np.array([-0.5, -0.5, 0.5, 0.5])
    long = float(np.hypot(mean @ x, mean @ y))
    row = np.zeros(len(bearings))
    row[first : first + 4] = mean / long
    return float(mean @ z) / long, row
