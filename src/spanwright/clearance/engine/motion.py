"""How the layout moves past a body: a grid of exact poses, and a bound on everything between them.

Seen from the body (at rest), a point p of a structure is at ``q(s) = axes(s) (p - origin(s))``. The search
treats q as running straight between two poses. How far the true path leaves that chord is bounded by
``e0 + e1 * |q|``, as the deviation is an affine function of p:

- *between neighbouring nodes* it is measured at the quarter points with exact poses. Every station at
  which an axle stands on a knot of plan, grade or cant is a node, so that the motion is smooth within
  a cell; there the deviation is a parabola to within a few per cent, and 10 % is added;
- *over many cells* it is the greatest deviation at the nodes inside (exact poses) plus that of the cells.

Cells are made short enough for the wanted tolerance. Read :func:`build_grid` first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.sweep import Poses, poses
from spanwright.clearance.vehicles import Body
from spanwright.errors import NotConvergedError
from spanwright.geometry import kernel

FloatArray = np.ndarray
IntArray = np.ndarray

LEVELS = 6  # the longest intervals have 2**(LEVELS - 1) cells
_SPARE = 1.10  # on the deviation measured inside a cell
_FLOOR = 1e-9  # rounding of poses, mm and radian


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Exact poses of a body along a line, and how far it leaves the chords between them.

    Parameters
    ----------
    nodes : ndarray, shape (n + 1,)
        Pose stations. [mm]
    turn : ndarray, shape (n + 1, 3, 3)
        Body axes at the nodes; ``q = turn @ p - shift``. [1]
    shift : ndarray, shape (n + 1, 3)
        Origin in the body frame. [mm]
    constant : tuple of ndarray
        ``e0`` of each interval of 1, 2, 4, ... cells. [mm]
    growth : tuple of ndarray
        ``e1`` of the same intervals. [1]
    """

    nodes: FloatArray
    turn: FloatArray
    shift: FloatArray
    constant: tuple[FloatArray, ...]
    growth: tuple[FloatArray, ...]


def _knot_stations(line: Line, body: Body) -> FloatArray:
    """Pose stations at which an axle stands on a knot of the line."""
    knots = np.unique(np.concatenate([line.chain.knots, line.grade_knots, line.cant_knots]))
    axles = (0.5, -0.5) if body.truck_wheelbase > 0 else (0.0,)
    wanted = np.concatenate([knots - axle * body.truck_wheelbase for axle in axles])
    wanted = np.concatenate([wanted, wanted])
    truck = np.repeat([1.0, -1.0], len(wanted) // 2)
    s = wanted - truck * 0.5 * body.truck_spacing
    for _ in range(4):  # the half separation hardly changes with the station
        s = wanted - truck * poses(line, body, s).half
    return s


def _cell_bounds(line: Line, body: Body, nodes: FloatArray) -> tuple[Poses, FloatArray, FloatArray]:
    """Poses at the nodes, and the bound of each cell from poses at its quarter points."""
    n = len(nodes)
    inner = nodes[:-1] + np.array([0.25, 0.5, 0.75])[:, None] * np.diff(nodes)
    every = poses(line, body, np.concatenate([nodes, inner.ravel()]))
    constant, growth = np.empty(n - 1), np.empty(n - 1)
    arrays = (kernel.whole([n - 1]), every.axes, every.origin, constant, growth)
    kernel.library().cell_bounds(*(kernel.address(a) for a in arrays))
    at = Poses(station=nodes, half=every.half[:n], origin=every.origin[:n], axes=every.axes[:n])
    return at, _SPARE * constant + _FLOOR, _SPARE * growth + _FLOOR


def _with_intervals(
    at: Poses, shift: FloatArray, cells: tuple[FloatArray, FloatArray]
) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]:
    """Bounds of the cells and of intervals of 2, 4, ... of them, the last of each perhaps shorter."""
    n = len(at.station) - 1
    sizes = [-(-n // 2**k) for k in range(LEVELS)]
    starts = np.cumsum([0, *sizes])
    constant, growth = np.empty(starts[-1]), np.empty(starts[-1])
    constant[:n], growth[:n] = cells
    arrays = (
        kernel.whole([n, LEVELS]),
        *(kernel.floats(a) for a in (at.station, at.axes, at.origin, shift)),
        kernel.whole(starts[:-1]),
        constant,
        growth,
    )
    kernel.library().interval_bounds(*(kernel.address(a) for a in arrays))
    return tuple(np.split(constant, starts[1:-1])), tuple(np.split(growth, starts[1:-1]))


def build_grid(line: Line, body: Body, run: tuple[float, float], *, reach: float, allowed: float) -> Grid:
    """Return a grid of exact poses whose cells leave their chords by no more than allowed.

    Parameters
    ----------
    line : Line
        The line.
    body : Body
        The body.
    run : tuple of float
        First and last pose station; both are nodes. [mm]
    reach : float
        Points matter up to this far from the body's origin. [mm]
    allowed : float
        Greatest deviation within a cell. [mm]

    Returns
    -------
    Grid
        Poses and bounds.

    Raises
    ------
    NotConvergedError
        If cells of a hundredth of a millimetre are still too long.
    """
    breaks = _knot_stations(line, body)
    breaks = breaks[(breaks > run[0] + 1e-6) & (breaks < run[1] - 1e-6)]
    step = 4.0
    while step > 0.01:
        even = np.linspace(*run, max(2, int(np.ceil((run[1] - run[0]) / step)) + 1))
        nodes = np.unique(np.concatenate([even, breaks]))
        nodes = nodes[np.concatenate([[True], np.diff(nodes) > 1e-6])]
        at, constant, growth = _cell_bounds(line, body, nodes)
        worst = float(np.max(constant + growth * reach))
        if worst <= allowed:
            break
        step *= min(0.7, 0.95 * np.sqrt(allowed / worst))
    else:
        raise NotConvergedError(
            "the motion of the body cannot be followed",
            code="CL021",
            where=line.name,
            value=worst,
            limit=allowed,
        )
    shift = np.einsum("nij,nj->ni", at.axes, at.origin)
    constants, growths = _with_intervals(at, shift, (constant, growth))
    return Grid(nodes=nodes, turn=at.axes, shift=shift, constant=constants, growth=growths)
