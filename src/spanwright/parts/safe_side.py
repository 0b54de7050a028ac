"""Which way a part can be corrected, and the size that it is cut to because of it.

A glued support cannot go down: its height is made up by packing, so it is cut *low*. A tie, a rail, a
wall or a board's edge is trimmed: it is cut *long*. What is cut to size, or made last to a measured
gap, gets no allowance. Read :func:`cut_size`.
"""

from __future__ import annotations

import math
from enum import Enum
from fractions import Fraction

from spanwright.errors import InputError

#: Sizes are cut in steps of this. [mm]
STEP = 0.1
#: Sixty-fourths are the finest marks of an inch rule; 25.4 mm is an inch exactly.
FINEST = Fraction(254, 10 * 64)
#: What a saw leaves to be filed or sanded off a part that is cut long (common practice, no source). [mm]
SAW_ALLOWANCE = 0.5
#: A size this close to a step counts as lying on it: far below what a tool shows. [mm]
CLOSE = 1e-6


class Correction(Enum):
    """How a part that came out a little off is put right."""

    PACKED = "packed"
    TRIMMED_ON_BENCH = "trimmed on the bench"
    TRIMMED_IN_PLACE = "trimmed in place"
    MADE_LAST = "made last to a measured gap"
    NONE = "none: cut to size"


class Way(Enum):
    """To which side a size is cut."""

    LOW = "low"
    LONG = "long"
    TO_SIZE = "to size"


#: To which side each correction asks to cut. What is made last is cut to the gap as it is measured.
WAYS = {
    Correction.PACKED: Way.LOW,
    Correction.TRIMMED_ON_BENCH: Way.LONG,
    Correction.TRIMMED_IN_PLACE: Way.LONG,
    Correction.MADE_LAST: Way.TO_SIZE,
    Correction.NONE: Way.TO_SIZE,
}


def cut_size(finished: float, wide: float, correction: Correction, *, thinnest: float = 0.0) -> float:
    """Return the size to cut to.

    Parameters
    ----------
    finished : float
        Size that is wanted in the end. [mm]
    wide : float
        Its doubt as shown: k times the standard uncertainty. [mm]
    correction : Correction
        How the part can be put right.
    thinnest : float
        Thinnest packing that can be made; counts for packed parts only. [mm]

    Returns
    -------
    float
        Packed: ``finished - wide - thinnest``, rounded down. Trimmed: ``finished + wide + saw
        allowance``, rounded up. Else the finished size. [mm]

    Raises
    ------
    InputError
        If a packed part has no length left, or a doubt or packing is negative.

    Examples
    --------
    >>> cut_size(50.0, 0.62, Correction.PACKED, thinnest=0.25)
    49.1
    >>> cut_size(21.5, 0.62, Correction.TRIMMED_ON_BENCH)
    22.7
    """
    if not (wide >= 0.0 and thinnest >= 0.0):
        raise InputError(
            "a doubt or a packing is negative", code="PA001", value=min(wide, thinnest), limit="0 or more"
        )
    way = WAYS[correction]
    if way is Way.TO_SIZE:
        return finished
    if way is Way.LONG:
        return rounded(finished + wide + SAW_ALLOWANCE, way)
    low = rounded(finished - wide - thinnest, way)
    if low <= 0.0:
        raise InputError(
            "nothing is left of a part that is cut low",
            code="PA002",
            value=round(low, 3),
            limit="more than 0 mm",
            hint="Measure its place better, or take a thinner packing",
        )
    return low


def rounded(value: float, way: Way, step: float = STEP) -> float:
    """Round a size to the safe side.

    Parameters
    ----------
    value : float
        The size. [mm]
    way : Way
        To which side.
    step : float
        Size of the step. [mm]

    Returns
    -------
    float
        Down for low, up for long, as it is otherwise. [mm]
    """
    if way is Way.TO_SIZE:
        return value
    steps = math.floor((value + CLOSE) / step) if way is Way.LOW else math.ceil((value - CLOSE) / step)
    return round(steps * step, 6)


def sixty_fourths(value: float, way: Way) -> Fraction:
    """Return a size in sixty-fourths of an inch, rounded to the safe side.

    Parameters
    ----------
    value : float
        The size. [mm]
    way : Way
        To which side; a size that is cut to size goes to the nearest mark.

    Returns
    -------
    Fraction
        In inches.
    """
    exact = value / float(FINEST)
    if way is Way.LOW:
        count = math.floor(exact + CLOSE)
    elif way is Way.LONG:
        count = math.ceil(exact - CLOSE)
    else:
        count = round(exact)
    return Fraction(count, 64)
