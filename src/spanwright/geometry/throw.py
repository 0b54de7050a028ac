"""How far a straight body on two pivots reaches beyond its own width on an arc.

The pivots stand on the arc; the body's axis is the line through them. On the inside its middle
reaches furthest (*mid throw*), on the outside its end corners (*end throw*). Both are measured along
the arc's radius, from where the body's side would be if the track were straight. A straight deck
under curved track is the same figure: its ends on the arc, or shifted by half the middle ordinate.

First-order forms are those printed in handbooks; the exact ones are for use.
"""

from __future__ import annotations

from math import hypot, isfinite, sqrt

from spanwright.errors import InputError


def _check(radius: float, pivot_distance: float) -> None:
    if not radius > 0:
        raise InputError("the radius must be above nil", code="GE080", where="radius", value=radius)
    if not (pivot_distance >= 0 and isfinite(pivot_distance)):
        raise InputError(
            "the pivot distance must not be negative",
            code="GE081",
            where="pivot distance",
            value=pivot_distance,
        )
    if pivot_distance > 2.0 * radius:
        raise InputError(
            "the pivots are further apart than the arc is wide",
            code="GE082",
            where="pivot distance",
            value=pivot_distance,
            limit=f"at most {2.0 * radius:.6g}",
        )


def _check_body(pivot_distance: float, reach: float, half_width: float) -> None:
    if not (reach >= 0.5 * pivot_distance and isfinite(reach)):
        raise InputError(
            "the body ends before its pivot",
            code="GE083",
            where="reach",
            value=reach,
            limit=f"at least {0.5 * pivot_distance:.6g}",
            hint="Reach is from the middle between the pivots to the body's end",
        )
    if not (half_width >= 0 and isfinite(half_width)):
        raise InputError(
            "the half width must not be negative", code="GE084", where="half width", value=half_width
        )


def middle_ordinate_of_chord(radius: float, chord: float) -> float:
    """Height of an arc over the middle of a chord.

    Parameters
    ----------
    radius : float
        Radius of the arc; infinite for a straight. [mm]
    chord : float
        Straight distance between the ends. [mm]

    Returns
    -------
    float
        ``R - sqrt(R^2 - c^2 / 4)``, towards the outside. [mm]

    Raises
    ------
    InputError
        If the radius is not above nil, or the chord negative or longer than the diameter.

    Notes
    -----
    Computed as ``(c^2 / 4) / (R + sqrt(R^2 - c^2 / 4))``, which keeps its digits on flat curves.

    Examples
    --------
    >>> middle_ordinate_of_chord(50.0, 80.0)
    20.0
    """
    _check(radius, chord)
    if not isfinite(radius):
        return 0.0
    half = 0.5 * chord
    return half**2 / (radius + sqrt((radius - half) * (radius + half)))


def mid_throw(radius: float, pivot_distance: float) -> float:
    """How far the middle of a body reaches towards the inside of a curve, beyond its half width.

    Parameters
    ----------
    radius : float
        Radius of the track's centre line; infinite for a straight. [mm]
    pivot_distance : float
        Distance between the pivots. [mm]

    Returns
    -------
    float
        ``R - sqrt(R^2 - C^2 / 4)``, exact for a body of any width. [mm]

    Raises
    ------
    InputError
        If the radius is not above nil, or the pivot distance negative or above the diameter.
    """
    return middle_ordinate_of_chord(radius, pivot_distance)


def end_throw(radius: float, pivot_distance: float, reach: float, half_width: float) -> float:
    """How far an end corner of a body reaches towards the outside of a curve, beyond its half width.

    Parameters
    ----------
    radius : float
        Radius of the track's centre line; infinite for a straight. [mm]
    pivot_distance : float
        Distance between the pivots. [mm]
    reach : float
        From the middle between the pivots to the body's end. [mm]
    half_width : float
        Half the body's width at the corner. [mm]

    Returns
    -------
    float
        Throw of the corner; negative when the end stays inside the arc. [mm]

    Raises
    ------
    InputError
        If a size is negative, the radius not above nil, or the body ends before its pivot.

    Notes
    -----
    With ``m = sqrt(R^2 - C^2 / 4)`` and w the half width, ``hypot(m + w, reach) - (R + w)``. Computed
    from the difference of the squares, which keeps its digits on flat curves.
    """
    _check(radius, pivot_distance)
    _check_body(pivot_distance, reach, half_width)
    if not isfinite(radius):
        return 0.0
    inside = middle_ordinate_of_chord(radius, pivot_distance)
    axis = radius - inside
    squares = reach**2 - inside * (axis + radius + 2.0 * half_width)
    return squares / (hypot(axis + half_width, reach) + radius + half_width)


def mid_throw_first_order(radius: float, pivot_distance: float) -> float:
    """Mid throw as handbooks print it.

    Parameters
    ----------
    radius : float
        Radius of the track's centre line. [mm]
    pivot_distance : float
        Distance between the pivots. [mm]

    Returns
    -------
    float
        ``C^2 / (8 R)``, a little less than :func:`mid_throw`. [mm]

    Raises
    ------
    InputError
        If the radius is not above nil, or the pivot distance negative or above the diameter.
    """
    _check(radius, pivot_distance)
    return pivot_distance**2 / (8.0 * radius)


def end_throw_first_order(radius: float, pivot_distance: float, reach: float) -> float:
    """End throw as handbooks print it, for the body's axis instead of its corner.

    Parameters
    ----------
    radius : float
        Radius of the track's centre line. [mm]
    pivot_distance : float
        Distance between the pivots. [mm]
    reach : float
        From the middle between the pivots to the body's end. [mm]

    Returns
    -------
    float
        ``(L^2 - C^2) / (8 R)`` with ``L = 2 reach``. [mm]

    Raises
    ------
    InputError
        If a size is negative, the radius not above nil, or the body ends before its pivot.
    """
    _check(radius, pivot_distance)
    _check_body(pivot_distance, reach, 0.0)
    return (4.0 * reach**2 - pivot_distance**2) / (8.0 * radius)


def half_split_shift(radius: float, chord: float) -> float:
    """How far a straight deck under an arc is moved outward so that the arc strays equally to both sides.

    Parameters
    ----------
    radius : float
        Radius of the arc; infinite for a straight. [mm]
    chord : float
        Length of the deck between the points where its axis would meet the arc. [mm]

    Returns
    -------
    float
        Half the middle ordinate. [mm]

    Raises
    ------
    InputError
        If the radius is not above nil, or the chord negative or longer than the diameter.
    """
    return 0.5 * middle_ordinate_of_chord(radius, chord)
