"""Elements of the simple circular curve and of the easement (clothoid) that leads into it.

Lengths may be in any one unit: a 100 ft chord gives a radius in feet, one in millimetres a radius in
millimetres. Angles are in radians. *Deflection* of a curve is the whole turn between its tangents.

Read the circular curve first, then the versine, then :func:`easement_elements`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, inf, isfinite, pi, sin, tan

from spanwright.errors import InputError
from spanwright.geometry.chain import clothoid


def _positive(name: str, value: float) -> None:
    if not (value > 0 and isfinite(value)):
        raise InputError(f"the {name} must be above nil", code="GE060", where=name, value=value, limit="> 0")


def _turn(name: str, value: float, most: float) -> None:
    if not 0 < value < most:
        raise InputError(
            f"the {name} is not an angle of this curve",
            code="GE061",
            where=name,
            value=value,
            limit=f"between 0 and {most:.6g} rad",
        )


def radius_from_degree_chord(degree: float, chord: float) -> float:
    """Radius from the degree of curve by the chord definition.

    Parameters
    ----------
    degree : float
        Turn over one chord. [rad]
    chord : float
        The chord that defines the degree, 100 ft in the trade. [any]

    Returns
    -------
    float
        Radius in the chord's unit. [any]

    Raises
    ------
    InputError
        If the chord is not above nil or the degree not between 0 and half a turn.

    Notes
    -----
    ``R = (c / 2) / sin(D / 2)``.

    Examples
    --------
    >>> from math import radians
    >>> round(radius_from_degree_chord(radians(1.0), 100.0), 1)
    5729.7
    """
    _positive("chord", chord)
    _turn("degree", degree, pi)
    return 0.5 * chord / sin(0.5 * degree)


def radius_from_degree_arc(degree: float, arc: float) -> float:
    """Radius from the degree of curve by the arc definition.

    Parameters
    ----------
    degree : float
        Turn over one arc. [rad]
    arc : float
        The arc that defines the degree, 100 ft in the trade. [any]

    Returns
    -------
    float
        Radius in the arc's unit. [any]

    Raises
    ------
    InputError
        If the arc is not above nil or the degree not between 0 and a full turn.

    Examples
    --------
    >>> from math import radians
    >>> round(radius_from_degree_arc(radians(1.0), 100.0), 3)
    5729.578
    """
    _positive("arc", arc)
    _turn("degree", degree, 2.0 * pi)
    return arc / degree


def tangent_length(radius: float, deflection: float) -> float:
    """Distance from the intersection of the tangents to either end of the curve.

    Parameters
    ----------
    radius : float
        Radius. [any]
    deflection : float
        Turn of the whole curve, below half a turn. [rad]

    Returns
    -------
    float
        ``R tan(deflection / 2)``. [any]

    Raises
    ------
    InputError
        If the radius is not above nil or the tangents do not meet.
    """
    _positive("radius", radius)
    _turn("deflection", deflection, pi)
    return radius * tan(0.5 * deflection)


def curve_length(radius: float, deflection: float) -> float:
    """Length along the curve.

    Parameters
    ----------
    radius : float
        Radius. [any]
    deflection : float
        Turn of the whole curve. [rad]

    Returns
    -------
    float
        ``R deflection``. [any]

    Raises
    ------
    InputError
        If the radius is not above nil or the turn not between 0 and a full one.
    """
    _positive("radius", radius)
    _turn("deflection", deflection, 2.0 * pi)
    return radius * deflection


def long_chord(radius: float, deflection: float) -> float:
    """Straight distance between the ends of the curve.

    Parameters
    ----------
    radius : float
        Radius. [any]
    deflection : float
        Turn of the whole curve. [rad]

    Returns
    -------
    float
        ``2 R sin(deflection / 2)``. [any]

    Raises
    ------
    InputError
        If the radius is not above nil or the turn not between 0 and a full one.
    """
    _positive("radius", radius)
    _turn("deflection", deflection, 2.0 * pi)
    return 2.0 * radius * sin(0.5 * deflection)


def middle_ordinate(radius: float, deflection: float) -> float:
    """Height of the curve over the middle of its long chord.

    Parameters
    ----------
    radius : float
        Radius. [any]
    deflection : float
        Turn of the whole curve. [rad]

    Returns
    -------
    float
        ``R (1 - cos(deflection / 2))``. [any]

    Raises
    ------
    InputError
        If the radius is not above nil or the turn not between 0 and a full one.

    Notes
    -----
    Computed as ``2 R sin^2(deflection / 4)``, which keeps its digits on flat curves.
    """
    _positive("radius", radius)
    _turn("deflection", deflection, 2.0 * pi)
    return 2.0 * radius * sin(0.25 * deflection) ** 2


def tangent_offset(radius: float, chord: float) -> float:
    """How far the far end of a chord lies from the tangent at its near end.

    Parameters
    ----------
    radius : float
        Radius. [any]
    chord : float
        Chord from the tangent point, at most the diameter. [any]

    Returns
    -------
    float
        ``c^2 / (2 R)``, exact. [any]

    Raises
    ------
    InputError
        If a length is not above nil or the chord longer than the diameter.
    """
    return 0.5 * deflection_distance(radius, chord)


def deflection_distance(radius: float, chord: float) -> float:
    """How far the next chord's end lies from the last chord run on by its own length.

    Parameters
    ----------
    radius : float
        Radius. [any]
    chord : float
        Both chords, at most the diameter. [any]

    Returns
    -------
    float
        ``c^2 / R``, exact. [any]

    Raises
    ------
    InputError
        If a length is not above nil or the chord longer than the diameter.
    """
    _positive("radius", radius)
    _positive("chord", chord)
    if chord > 2.0 * radius:
        raise InputError(
            "the chord is longer than the diameter",
            code="GE062",
            where="chord",
            value=chord,
            limit=2.0 * radius,
        )
    return chord**2 / radius


def deflection_angle(radius: float, arc: float) -> float:
    """Angle at the start of an arc from the tangent to the arc's far end.

    Parameters
    ----------
    radius : float
        Radius. [any]
    arc : float
        Length along the curve. [any]

    Returns
    -------
    float
        Half the arc's turn. [rad]

    Raises
    ------
    InputError
        If a length is not above nil.
    """
    _positive("radius", radius)
    _positive("arc", arc)
    return 0.5 * arc / radius


def sub_chord(radius: float, arc: float) -> float:
    """Straight distance between the ends of an arc of given length.

    Parameters
    ----------
    radius : float
        Radius. [any]
    arc : float
        Length along the curve, at most a full circle. [any]

    Returns
    -------
    float
        ``2 R sin(arc / 2 R)``. [any]

    Raises
    ------
    InputError
        If a length is not above nil or the arc longer than the circle.
    """
    return long_chord(radius, 2.0 * deflection_angle(radius, arc))


def radius_from_versine(chord: float, versine: float) -> float:
    """Radius from the height of an arc over the middle of a chord.

    Parameters
    ----------
    chord : float
        Straight distance between the chord's ends. [mm]
    versine : float
        Height of the arc over the chord's middle; 0 is straight. [mm]

    Returns
    -------
    float
        ``c^2 / (8 h) + h / 2``; infinite for no height. [mm]

    Raises
    ------
    InputError
        If the chord is not above nil, or the versine negative or above half the chord.

    Examples
    --------
    >>> radius_from_versine(80.0, 20.0)
    50.0
    """
    _positive("chord", chord)
    if not 0 <= versine <= 0.5 * chord:
        raise InputError(
            "the versine does not belong to an arc over this chord",
            code="GE063",
            where="versine",
            value=versine,
            limit=f"between 0 and {0.5 * chord:.6g}",
            hint="Read it from the middle of the chord to the arc, in the chord's unit",
        )
    return inf if versine == 0 else chord**2 / (8.0 * versine) + 0.5 * versine


def radius_doubt_from_versine(
    chord: float, versine: float, chord_doubt: float, versine_doubt: float
) -> float:
    """Return the standard uncertainty of a radius found from a versine, to first order.

    Parameters
    ----------
    chord : float
        Straight distance between the chord's ends. [mm]
    versine : float
        Height of the arc over the chord's middle. [mm]
    chord_doubt : float
        Standard uncertainty of the chord. [mm]
    versine_doubt : float
        Standard uncertainty of the versine. [mm]

    Returns
    -------
    float
        Standard uncertainty; infinite for no height. [mm]

    Raises
    ------
    InputError
        If the chord is not above nil, or the versine negative or above half the chord.

    Notes
    -----
    ``dR/dc = c / (4 h)`` and ``dR/dh = 1/2 - c^2 / (8 h^2)``, independent readings (GUM, JCGM
    100:2008, eq. (10)). First order is good while ``versine_doubt`` is a tenth of the versine or less.
    """
    if radius_from_versine(chord, versine) == inf:
        return inf
    return hypot(chord / (4.0 * versine) * chord_doubt, (0.5 - chord**2 / (8.0 * versine**2)) * versine_doubt)


@dataclass(frozen=True, slots=True, kw_only=True)
class EasementElements:
    """An easement from a tangent into an arc, as a field book lists it.

    Parameters
    ----------
    turn : float
        Turn of the easement. [rad]
    x : float
        Its end along the tangent. [any]
    y : float
        Its end off the tangent. [any]
    run : float
        Along the tangent, from the easement's start to the foot of the arc's centre. [any]
    shift : float
        How far the arc, run on, stays off the tangent. [any]
    tangent : float
        From the intersection of the tangents to the easement's start. [any]
    """

    turn: float
    x: float
    y: float
    run: float
    shift: float
    tangent: float


def easement_elements(length: float, radius: float, deflection: float) -> EasementElements:
    """Elements of a curve with equal clothoid easements at both ends.

    Parameters
    ----------
    length : float
        Length of one easement. [any]
    radius : float
        Radius of the arc between them. [any]
    deflection : float
        Turn between the two tangents. [rad]

    Returns
    -------
    EasementElements
        Turn, end, run, shift and tangent, in the unit of the lengths.

    Raises
    ------
    InputError
        If a length is not above nil, the tangents do not meet, or the easements alone turn too far.

    Notes
    -----
    ``turn = L / (2 R)``, ``run k = X - R sin(turn)``, ``shift p = Y - R (1 - cos(turn))``,
    ``tangent Ts = (R + p) tan(deflection / 2) + k``; X and Y by :func:`~spanwright.geometry.chain.clothoid`.
    """
    _positive("length", length)
    _positive("radius", radius)
    _turn("deflection", deflection, pi)
    turn = 0.5 * length / radius
    if 2.0 * turn > deflection:
        raise InputError(
            "the two easements turn further than the curve",
            code="GE064",
            where="length",
            value=length,
            limit=f"at most {deflection * radius:.6g}",
            hint="Shorten the easement or widen the radius",
        )
    x, y, _ = clothoid(length, 0.0, 1.0 / radius)
    run = x - radius * sin(turn)
    shift = y - radius * (1.0 - cos(turn))
    tangent = (radius + shift) * tan(0.5 * deflection) + run
    return EasementElements(turn=turn, x=x, y=y, run=run, shift=shift, tangent=tangent)
