"""Cant where it is to be seen to: at every bearing line, at mid span, beside every column; and its cards.

A cant card is a plate that stands on both rails, its foot over the low rail longer, so that its top is
level where the cant is as planned. It serves both hands: turned round, it gauges the other rail high.

With the cant ``e`` over the rail-head distance ``b`` the lean is ``asin(e / b)``; a block of the reach
``w`` shows ``w e / b``, and what stands ``h`` above the rails leans aside by ``h e / b``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, nearest_station, track_point
from spanwright.alignment.stage import Alignments
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.spread import Spread
from spanwright.parts.cards import Feet, ProfileCard
from spanwright.structures.given import StructuresInput
from spanwright.structures.stage import Structures

FloatArray = np.ndarray

#: Cards are made for cants rounded to this. [mm]
CARD_STEP = 0.1
#: Height of a cant card at the middle of the track, in gauges; it must take a small level on its top
#: (common practice, no source).
_TALL = 1.2
#: How far it reaches beyond the rail heads, and how high above them at the least, in gauges (common
#: practice, no source).
_REACH, _SHOULDER = 0.5, 0.16


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CantPlace:
    """The cant at one place.

    Parameters
    ----------
    id : str
        Stable id: ``support`` or ``span`` of the upper line, ``beside <part>`` of the lower.
    kind : str
        ``bearing line``, ``mid span`` or ``beside``.
    line : str
        Name of the line.
    station : float
        Where, along it. [mm]
    cant : Derived
        Right rail above left, over the rail heads.
    high : str
        Which rail is high: ``left``, ``right``; empty where neither is by as much as a card shows, or where
        that is not proven (k times the doubt).
    doubtful : bool
        True where no rail is proven to be high, but one may be by as much as a card shows.
    over_block : Derived
        The same over a block of the builder's reach.
    lean : Derived
        Lean of the rail heads, positive when the left is up.
    """

    id: str
    kind: str
    line: str
    station: float
    cant: Derived
    high: str
    doubtful: bool
    over_block: Derived
    lean: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CantCard:
    """A plate that stands on both rails and whose top is level where the cant is as planned.

    Parameters
    ----------
    id : str
        Stable id, such as ``cant card/0.3``.
    line : str
        Line whose rails it fits.
    cant : float
        Rounded, always positive: the left foot is the longer one. [mm]
    lean : float
        Angle of its top to the rail heads. [rad]
    outline : ndarray, shape (n, 2)
        Left of the track's centre as seen, and height, in a picture in which the top is level;
        anticlockwise. [mm]
    feet : Feet
        How it stands.
    places : tuple of str
        Ids of the places that it serves.
    """

    id: str
    line: str
    cant: float
    lean: float
    outline: FloatArray
    feet: Feet
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CantPlan:
    """All cants and cards.

    Parameters
    ----------
    places : tuple of CantPlace
        Upper line by station, then the lower.
    cards : tuple of CantCard
        One for each line and rounded cant that is proven to be there.
    reach : float
        Reach of the builder's block. [mm]
    """

    places: tuple[CantPlace, ...]
    cards: tuple[CantCard, ...]
    reach: float


def plan_cant(
    given: StructuresInput,
    structures: Structures,
    alignments: Alignments,
    cards: tuple[ProfileCard, ...],
    *,
    feet: dict[str, Feet],
    reach: float = 30.0,
) -> CantPlan:
    """List the cant where it matters and make the cards.

    Parameters
    ----------
    given : StructuresInput
        Names of both lines.
    structures : Structures
        Supports and spans.
    alignments : Alignments
        The lines.
    cards : tuple of ProfileCard
        What stands beside the lower line.
    feet : dict of str to Feet
        How a plate stands on each line, by name.
    reach : float
        Reach of the builder's block across the rails. [mm]

    Returns
    -------
    CantPlan
        Places and cards.
    """
    upper, lower = alignments.line(given.upper), alignments.line(given.lower)
    wanted = [(s.station, s.given.name, "bearing line") for s in structures.supports]
    for span in structures.spans:
        middle = nearest_station(upper, span.axis.middle.value[None])
        wanted.append((float(middle[0]), span.axis.given.name, "mid span"))
    doubt = (alignments.inputs.spread, given.k)
    places = [_place(upper, w, reach, doubt) for w in sorted(wanted)]
    beside = [(0.5 * sum(c.stations), f"beside {c.part}", "beside") for c in cards]
    places += [_place(lower, w, reach, doubt) for w in beside]
    return CantPlan(places=tuple(places), cards=_cards(places, alignments, feet), reach=reach)


def _place(
    line: Line, wanted: tuple[float, str, str], reach: float, doubt: tuple[Spread, float]
) -> CantPlace:
    station, name, kind = wanted
    spread, k = doubt
    cant = track_point(line, np.array([station])).cant[0]
    value, wide = float(cant.value), k * float(cant.sd(spread))
    high = ""
    if _steps(value) and abs(value) > wide:
        high = "right" if value > 0.0 else "left"
    return CantPlace(
        id=name,
        kind=kind,
        line=line.name,
        station=station,
        cant=cant,
        high=high,
        doubtful=not high and _steps(abs(value) + wide) > 0,
        over_block=cant * reach / line.head_distance,
        lean=-dv.arcsin(cant / line.head_distance),
    )


def _steps(cant: float) -> int:
    return round(abs(cant) / CARD_STEP)


def _cards(places: list[CantPlace], alignments: Alignments, feet: dict[str, Feet]) -> tuple[CantCard, ...]:
    serves: dict[tuple[str, int], list[str]] = {}
    for place in places:
        if place.high:
            steps = _steps(float(place.cant.value))
            serves.setdefault((place.line, steps), []).append(place.id)
    found = []
    for (name, steps), ids in serves.items():
        cant = round(steps * CARD_STEP, 6)
        lean = float(np.arcsin(cant / alignments.line(name).head_distance.value))
        found.append(
            CantCard(
                id=f"cant card/{name} {cant:.1f}",
                line=name,
                cant=cant,
                lean=lean,
                outline=plate(feet[name], lean),
                feet=feet[name],
                places=tuple(ids),
            )
        )
    return tuple(found)


def plate(feet: Feet, lean: float) -> FloatArray:
    """Return the outline of a cant card, its top level, its right foot on the high rail.

    Parameters
    ----------
    feet : Feet
        How it stands.
    lean : float
        Angle of the rail heads, the right one up. [rad]

    Returns
    -------
    ndarray, shape (n, 2)
        To the right as drawn, and height over the middle between the rail heads; anticlockwise. [mm]
    """
    near, outside = 0.5 * feet.gauge, 0.5 * feet.gauge + feet.head
    far = near - feet.play
    relief = 0.5
    standing = np.array(
        [
            (-outside, 0.0),
            (-far, 0.0),
            (-far, -feet.deep),
            (-far + feet.wide, -feet.deep),
            (-far + feet.wide, relief),
            (near - feet.wide, relief),
            (near - feet.wide, -feet.deep),
            (near, -feet.deep),
            (near, 0.0),
            (outside, 0.0),
        ]
    )
    c, s = np.cos(lean), np.sin(lean)
    turned = standing @ np.array([[c, s], [-s, c]])
    top, wide = _TALL * feet.gauge, outside + _REACH * feet.gauge
    shoulder = _SHOULDER * feet.gauge
    right, left = turned[-1], turned[0]
    upper = [
        (right[0], shoulder),
        (wide, shoulder),
        (wide, top),
        (-wide, top),
        (-wide, shoulder),
        (left[0], shoulder),
    ]
    return np.vstack([turned, np.array(upper)])
