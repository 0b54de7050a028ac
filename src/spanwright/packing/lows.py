"""How low each support comes out, and how likely it is that a bearing stands too high.

A shaft is cut so low that each of its bearings can be packed up. How low it comes out is the packing of the
bearing that has least of it, less the thinnest that can be made: the least of several doubtful numbers, which
is not first order where some are near equal. All are drawn jointly.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.coverage import Chance, Drawn
from spanwright.estimation.drawing.together import Method, any_below, least_of, near_equal
from spanwright.estimation.spread import Spread
from spanwright.structures.stage import Structures


@dataclass(frozen=True, slots=True, kw_only=True)
class Low:
    """How low one support comes out.

    Parameters
    ----------
    support : str
        The support.
    bearings : int
        How many bearings it carries.
    near : int
        How many of them are near equal to the lowest: any of these may decide.
    least : Drawn
        The least packing, less the thinnest.
    method : Method
        How that was found.
    high : Chance
        That a bearing stands too high.
    """

    support: str
    bearings: int
    near: int
    least: Drawn
    method: Method
    high: Chance


def _spare(structures: Structures, thinnest: float) -> dict[str, list[Derived]]:
    return {s.given.name: [seat.packing - thinnest for seat in s.seats] for s in structures.supports}


def lows(structures: Structures, thinnest: float, spread: Spread, *, k: float) -> tuple[Low, ...]:
    """Return how low each support comes out.

    Parameters
    ----------
    structures : Structures
        The bridge.
    thinnest : float
        The thinnest packing that can be made. [mm]
    spread : Spread
        Of the base inputs.
    k : float
        Coverage factor. [1]

    Returns
    -------
    tuple of Low
        In the order of the supports; those without bearings are left out.
    """
    found = []
    for name, spare in _spare(structures, thinnest).items():
        if not spare:
            continue
        near = near_equal(spare, spread)
        least, method = least_of(near, spread, k=k)
        high, _ = any_below(spare, spread)
        found.append(
            Low(support=name, bearings=len(spare), near=len(near), least=least, method=method, high=high)
        )
    return tuple(found)


def any_high(structures: Structures, thinnest: float, spread: Spread) -> tuple[Chance, float]:
    """Return the chance that some bearing of the job stands too high.

    Parameters
    ----------
    structures : Structures
        The bridge.
    thinnest : float
        The thinnest packing that can be made. [mm]
    spread : Spread
        Of the base inputs.

    Returns
    -------
    tuple of (Chance, float)
        By draws with all that they share, and the sum of their own chances. [1]
    """
    return any_below([n for own in _spare(structures, thinnest).values() for n in own], spread)
