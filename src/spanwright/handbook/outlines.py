"""Outlines of a body's cross-section: from five numbers, and raised as models ride.

An outline is a list of (height above railhead, full width) from the bottom up, the same to both sides.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.errors import InputError

Outline = tuple[tuple[float, float], ...]

#: Heights of foot, waist and eaves as shares of the height over all, where they are not given. Common
#: practice, no source, and on the safe side: the body is wide from low down to high up.
FOOT, WAIST, EAVES = 0.08, 0.15, 0.92


@dataclass(frozen=True, slots=True, kw_only=True)
class FiveNumbers:
    """A cross-section by five numbers, with the heights that belong to three of them.

    Parameters
    ----------
    height : float
        Height over all, above the railhead. [any]
    foot : float
        Full width at the foot. [any]
    waist : float
        Full width at the waist, from which the side goes up. [any]
    eaves : float
        Full width at the eaves, from which the roof goes in. [any]
    roof : float
        Width of the flat on top. [any]
    foot_height : float or None
        Height of the foot; 8 per cent of the height over all if None. [any]
    waist_height : float or None
        Height of the waist; 15 per cent if None. [any]
    eaves_height : float or None
        Height of the eaves; 92 per cent if None. [any]
    """

    height: float
    foot: float
    waist: float
    eaves: float
    roof: float
    foot_height: float | None = None
    waist_height: float | None = None
    eaves_height: float | None = None


def by_proportion(five: FiveNumbers) -> tuple[str, ...]:
    """Return which heights are taken by proportion.

    Parameters
    ----------
    five : FiveNumbers
        The numbers.

    Returns
    -------
    tuple of str
        Some of ``foot``, ``waist`` and ``eaves``.
    """
    given = {"foot": five.foot_height, "waist": five.waist_height, "eaves": five.eaves_height}
    return tuple(name for name, height in given.items() if height is None)


def five_outline(five: FiveNumbers) -> Outline:
    """Return the outline of five numbers.

    Parameters
    ----------
    five : FiveNumbers
        The numbers.

    Returns
    -------
    tuple
        Foot, waist, eaves and roof: heights and full widths.

    Raises
    ------
    InputError
        If the heights are not in order.

    Examples
    --------
    >>> five_outline(FiveNumbers(height=40, foot=17, waist=20.2, eaves=20, roof=13, eaves_height=33.5))
    ((3.2, 17), (6.0, 20.2), (33.5, 20), (40, 13))
    """
    foot = five.height * FOOT if five.foot_height is None else five.foot_height
    waist = five.height * WAIST if five.waist_height is None else five.waist_height
    eaves = five.height * EAVES if five.eaves_height is None else five.eaves_height
    if not 0 <= foot <= waist <= eaves <= five.height or not foot < five.height:
        raise InputError(
            "the heights of foot, waist, eaves and roof are not in order",
            code="HB007",
            value=", ".join(f"{h:.6g}" for h in (foot, waist, eaves, five.height)),
            limit="each at least as high as the one before, the roof above the foot",
            hint="Give foot_height, waist_height and eaves_height: those by proportion do not fit this body",
        )
    return ((foot, five.foot), (waist, five.waist), (eaves, five.eaves), (five.height, five.roof))


def raised(outline: Outline, by: float) -> Outline:
    """Return an outline that holds the body at its height and raised, and every height between.

    What narrows upwards goes up; what widens upwards stays, as the body may also ride at its height.

    Parameters
    ----------
    outline : tuple
        Heights and full widths, from the bottom up; the widths grow to their largest and then shrink.
    by : float
        How much higher it may ride. [mm]

    Returns
    -------
    tuple
        Heights and full widths.

    Examples
    --------
    >>> raised(((1.0, 8.0), (3.0, 10.0), (9.0, 4.0)), 0.3)
    ((1.0, 8.0), (3.0, 10.0), (3.3, 10.0), (9.3, 4.0))
    """
    widths = [width for _, width in outline]
    top = max(k for k, width in enumerate(widths) if width == max(widths))
    return (*outline[: top + 1], *((height + by, width) for height, width in outline[top:]))
