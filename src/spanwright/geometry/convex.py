"""Simple polygons cut into few convex pieces.

A concave section treated as its convex hull would be wrongly foul by millimetres, so it is handled
as the exact union of convex pieces: ears are cut off into triangles, then neighbours are joined again
over their common side for as long as the union stays convex (never more than four times the least
possible number of pieces, usually the least).

Read :func:`decompose` first; :func:`is_simple` and :func:`hull` stand alone.
"""

from __future__ import annotations

import numpy as np

from spanwright.errors import InputError

FloatArray = np.ndarray

_STRAIGHT = 1e-12  # relative size of a turn that counts as none


def area(polygon: FloatArray) -> float:
    """Return the signed area, positive for counter-clockwise corners.

    Parameters
    ----------
    polygon : ndarray, shape (m, 2)
        Corners in order, the last joined to the first. [any]

    Returns
    -------
    float
        Area in the square of the unit given. [any]

    Examples
    --------
    >>> float(area(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]])))
    2.0
    """
    x, y = (polygon - polygon[0]).T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _turn(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    """Twice the area of the triangle a, b, c, positive for a left turn."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def is_simple(polygon: FloatArray) -> bool:
    """Return whether no two sides of a polygon meet except neighbours at their common corner.

    Parameters
    ----------
    polygon : ndarray, shape (m, 2)
        Corners in order. [any]

    Returns
    -------
    bool
        False where sides cross or touch, corners coincide or a side folds back on its neighbour.
    """
    m = len(polygon)
    starts, ends = polygon, np.roll(polygon, -1, axis=0)
    if np.any(np.all(starts == ends, axis=1)):
        return False
    for i in range(m):
        before, after = polygon[i - 1], ends[i]
        if _turn(before, polygon[i], after) == 0 and np.dot(before - polygon[i], after - polygon[i]) > 0:
            return False
        for j in range(i + 2, m):
            if (i, j) != (0, m - 1) and _sides_meet(starts[i], ends[i], starts[j], ends[j]):
                return False
    return True


def _sides_meet(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> bool:
    turns = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    ends = ((a, b, c, turns[0]), (a, b, d, turns[1]), (c, d, a, turns[2]), (c, d, b, turns[3]))
    return any(turn == 0 and np.dot(p - r, q - r) <= 0 for p, q, r, turn in ends)


def hull(points: FloatArray) -> FloatArray:
    """Return the convex hull of points in the plane, counter-clockwise, without corners on a straight side.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Any points, three of them not in line. [any]

    Returns
    -------
    ndarray, shape (m, 2)
        Corners of the hull. [any]
    """
    ordered = np.unique(points, axis=0)
    limit = _STRAIGHT * float(np.max(np.ptp(ordered, axis=0))) ** 2
    chains = []
    for sequence in (ordered, ordered[::-1]):
        chain: list[FloatArray] = []
        for point in sequence:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= limit:
                chain.pop()
            chain.append(point)
        chains.append(chain[:-1])
    return np.array(chains[0] + chains[1])


def _is_convex(polygon: FloatArray, corners: list[int]) -> bool:
    """Whether the corners picked, in order, never turn right."""
    limit = -_STRAIGHT * float(np.max(np.ptp(polygon, axis=0))) ** 2
    n = len(corners)
    return all(
        _turn(polygon[corners[i - 1]], polygon[corners[i]], polygon[corners[(i + 1) % n]]) >= limit
        for i in range(n)
    )


def _cut_ears(polygon: FloatArray) -> list[list[int]]:
    """Cut a counter-clockwise simple polygon into triangles of corner numbers."""
    left = list(range(len(polygon)))
    triangles = []
    while len(left) > 3:
        # a simple polygon always has an ear (two, for more than three corners)
        ear = next(i for i in range(len(left)) if _is_ear(polygon, left, i))
        triangles.append([left[ear - 1], left[ear], left[(ear + 1) % len(left)]])
        del left[ear]
    triangles.append(left)
    return [t for t in triangles if abs(_turn(*polygon[t])) > 0]


def _is_ear(polygon: FloatArray, left: list[int], i: int) -> bool:
    picked = [left[i - 1], left[i], left[(i + 1) % len(left)]]
    a, b, c = polygon[picked]
    turn = _turn(a, b, c)
    if turn < 0:
        return False
    if turn == 0:  # a corner on a straight side carries no area and may go at once
        return True
    others = (polygon[k] for k in left if k not in picked)
    return not any(_turn(a, b, p) >= 0 and _turn(b, c, p) >= 0 and _turn(c, a, p) >= 0 for p in others)


def _join(first: list[int], second: list[int]) -> list[int] | None:
    """Join two counter-clockwise pieces over a common side; None if they share none."""
    for i, corner in enumerate(first):
        following = first[(i + 1) % len(first)]
        if corner in second and following in second:
            j = second.index(following)
            if second[(j + 1) % len(second)] == corner:
                around = second[j + 1 :] + second[: j + 1]  # starts at `corner`, ends at `following`
                return first[: i + 1] + around[1:-1] + first[i + 1 :]
    return None


def decompose(polygon: FloatArray) -> tuple[FloatArray, ...]:
    """Cut a simple polygon into convex pieces that cover it exactly.

    Parameters
    ----------
    polygon : ndarray, shape (m, 2)
        Corners in order, either way round; concave allowed. [any]

    Returns
    -------
    tuple of ndarray, shape (k, 2)
        Convex pieces, counter-clockwise; a convex polygon gives one. [any]

    Raises
    ------
    InputError
        If its sides cross or touch.

    Examples
    --------
    >>> len(decompose(np.array([[0, 0], [3, 0], [3, 1], [1, 1], [1, 3], [0, 3]], dtype=float)))
    2
    """
    polygon = np.asarray(polygon, dtype=float)
    if not is_simple(polygon):
        raise InputError(
            "the sides of the polygon cross or touch",
            code="GE010",
            value=polygon.tolist(),
            hint="List the corners in order around it",
        )
    if area(polygon) < 0:
        polygon = polygon[::-1]
    if _is_convex(polygon, list(range(len(polygon)))):
        return (hull(polygon),)
    pieces = _cut_ears(polygon)
    joined = True
    while joined:
        joined = False
        for i in range(len(pieces)):
            for j in range(i + 1, len(pieces)):
                union = _join(pieces[i], pieces[j])
                if union is not None and _is_convex(polygon, union):
                    pieces[i] = union
                    del pieces[j]
                    joined = True
                    break
            if joined:
                break
    return tuple(hull(polygon[piece]) for piece in pieces)


def half(polygon: FloatArray, side: float) -> FloatArray:
    """Return the part of a convex polygon on one side of the second axis.

    Parameters
    ----------
    polygon : ndarray, shape (m, 2)
        Convex polygon. [mm]
    side : float
        1 keeps first coordinates of nought and more, -1 those of nought and less. [1]

    Returns
    -------
    ndarray, shape (n, 2)
        What is left, convex; empty if nothing is. [mm]
    """
    kept = []
    for a, b in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        if a[0] * side >= 0.0:
            kept.append(a)
        if a[0] * b[0] < 0.0:
            kept.append(a + (b - a) * (a[0] / (a[0] - b[0])))
    return np.array(kept) if len(kept) >= 3 and area(np.array(kept)) != 0.0 else np.zeros((0, 2))
