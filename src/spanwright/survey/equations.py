"""What each kind of reading would show, as plain arithmetic on coordinates.

Each function takes its local unknowns as jets, in the order that :data:`EQUATIONS` lists them, and
returns the jet of the reading. Plan directions are counted clockwise, as in the field; heights up.
"""

from __future__ import annotations

from collections.abc import Callable

from spanwright.estimation import jets
from spanwright.estimation.jets import Jet
from spanwright.survey.readings import Kind

#: Axes that each mark of a kind brings, in mark order: "xyz", "xy", "z" or "c" (cant).
AXES: dict[Kind, tuple[str, ...]] = {
    Kind.DISTANCE: ("xyz", "xyz"),
    Kind.LEVEL_DISTANCE: ("xy", "xy"),
    Kind.ANGLE: ("xy", "xy", "xy"),
    Kind.BEARING: ("xy", "xy"),
    Kind.LEVEL_ANGLE: ("xyz", "xyz"),
    Kind.HEIGHT: ("z", "z"),
    Kind.STEPPED_BLOCK: ("z", "z"),
    Kind.OFFSET: ("xy", "xy", "xy"),
    Kind.VERSINE: ("xy", "xy", "xy"),
    Kind.ALONG: ("xy", "xy", "xy"),
    Kind.PLUMB_X: ("x", "x"),
    Kind.PLUMB_Y: ("y", "y"),
    Kind.PLUMB_PAST_EDGE: ("xy", "xy", "xy", "xy"),
    Kind.CROSS_LEVEL_ANGLE: ("c",),
    Kind.CROSS_LEVEL_FEELER: ("c",),
    Kind.COORDINATE_X: ("x",),
    Kind.COORDINATE_Y: ("y",),
    Kind.COORDINATE_Z: ("z",),
}

#: Kinds read as an angle.
ANGULAR = frozenset({Kind.ANGLE, Kind.BEARING})


def _length(dx: Jet, dy: Jet) -> Jet:
    return jets.sqrt(dx * dx + dy * dy)


def distance(q: list[Jet]) -> Jet:
    """Straight distance of two points (x1 y1 z1 x2 y2 z2).

    Parameters
    ----------
    q : list of Jet
        Local unknowns.

    Returns
    -------
    Jet
        Length.
    """
    dx, dy, dz = q[3] - q[0], q[4] - q[1], q[5] - q[2]
    return jets.sqrt(dx * dx + dy * dy + dz * dz)


def level_distance(q: list[Jet]) -> Jet:
    """Distance in plan (x1 y1 x2 y2).

    Parameters
    ----------
    q : list of Jet
        Local unknowns.

    Returns
    -------
    Jet
        Length.
    """
    return _length(q[2] - q[0], q[3] - q[1])


def angle(q: list[Jet]) -> Jet:
    """Clockwise angle at the first point, from the second to the third.

    Parameters
    ----------
    q : list of Jet
        Local unknowns x y of each.

    Returns
    -------
    Jet
        Angle in radians, of any turn.
    """
    back = jets.arctan2(q[2] - q[0], q[3] - q[1])
    fore = jets.arctan2(q[4] - q[0], q[5] - q[1])
    return fore - back


def bearing(q: list[Jet]) -> Jet:
    """Clockwise direction from the y axis, first point to second.

    Parameters
    ----------
    q : list of Jet
        Local unknowns x y of each.

    Returns
    -------
    Jet
        Angle in radians.
    """
    return jets.arctan2(q[2] - q[0], q[3] - q[1])


def level_angle(q: list[Jet]) -> Jet:
    """Slope angle from the first point up to the second.

    Parameters
    ----------
    q : list of Jet
        Local unknowns x y z of each.

    Returns
    -------
    Jet
        Angle in radians, rising positive.
    """
    return jets.arctan2(q[5] - q[2], _length(q[3] - q[0], q[4] - q[1]))


def difference(q: list[Jet]) -> Jet:
    """First less second: a height, or one axis of a plumb.

    Parameters
    ----------
    q : list of Jet
        Local unknowns, one of each mark.

    Returns
    -------
    Jet
        Difference.
    """
    return q[0] - q[1]


def offset(q: list[Jet]) -> Jet:
    """Distance of the first point to the left of the string from the second to the third.

    Parameters
    ----------
    q : list of Jet
        Local unknowns x y of each.

    Returns
    -------
    Jet
        Offset, left positive.
    """
    dx, dy = q[4] - q[2], q[5] - q[3]
    return (dx * (q[1] - q[3]) - dy * (q[0] - q[2])) / _length(dx, dy)


def along(q: list[Jet]) -> Jet:
    """Distance of the first point's foot along the string from the second to the third.

    Parameters
    ----------
    q : list of Jet
        Local unknowns x y of each.

    Returns
    -------
    Jet
        Distance from the second point.
    """
    dx, dy = q[4] - q[2], q[5] - q[3]
    return (dx * (q[0] - q[2]) + dy * (q[1] - q[3])) / _length(dx, dy)


def past_edge(q: list[Jet]) -> Jet:
    """How far the second point lies from the first, square to the left of an edge (third to fourth).

    Parameters
    ----------
    q : list of Jet
        Local unknowns x y of each.

    Returns
    -------
    Jet
        Distance, left of the edge's direction positive.
    """
    dx, dy = q[6] - q[4], q[7] - q[5]
    return (dx * (q[3] - q[1]) - dy * (q[2] - q[0])) / _length(dx, dy)


def itself(q: list[Jet]) -> Jet:
    """Return a coordinate that was read directly.

    Parameters
    ----------
    q : list of Jet
        The one local unknown.

    Returns
    -------
    Jet
        The same.
    """
    return q[0]


EQUATIONS: dict[Kind, Callable[[list[Jet]], Jet]] = {
    Kind.DISTANCE: distance,
    Kind.LEVEL_DISTANCE: level_distance,
    Kind.ANGLE: angle,
    Kind.BEARING: bearing,
    Kind.LEVEL_ANGLE: level_angle,
    Kind.HEIGHT: difference,
    Kind.STEPPED_BLOCK: difference,
    Kind.OFFSET: offset,
    Kind.VERSINE: offset,
    Kind.ALONG: along,
    Kind.PLUMB_X: difference,
    Kind.PLUMB_Y: difference,
    Kind.PLUMB_PAST_EDGE: past_edge,
    Kind.COORDINATE_X: itself,
    Kind.COORDINATE_Y: itself,
    Kind.COORDINATE_Z: itself,
}
