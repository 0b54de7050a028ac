"""A rough line through the marks, to start the fit from: directions of the chords between neighbours.

The direction grows by the curvature of each curve between its two ends. For given ends that is linear
in the first direction and the curvatures; the ends are found by trying places along the line, one end
at a time, until none moves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FloatArray = np.ndarray

#: Numbers that describe one curve: curvature, middle and log length of the easement into it, and out.
PER_CURVE = 5
#: Length of the easements that are tried. [mm]
EASEMENT = 60.0
PLACES = 21
SWEEPS = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoughLine:
    """Where a fit may start.

    Parameters
    ----------
    origin : tuple of float
        Track centre beside the first mark. [mm]
    direction : float
        Direction there. [rad]
    length : float
        From the first mark to the last. [mm]
    elements : ndarray, shape (e,)
        Five numbers a curve. [any]
    """

    origin: tuple[float, float]
    direction: float
    length: float
    elements: FloatArray


def _turned(s: FloatArray, start: float, end: float) -> FloatArray:
    """Integral over station of a curvature of one between two easements' middles."""

    def ramp(x: FloatArray) -> FloatArray:
        inside = np.clip(x, 0.0, EASEMENT)
        return inside**2 / (2.0 * EASEMENT) + np.maximum(x - EASEMENT, 0.0)

    return ramp(s - start + 0.5 * EASEMENT) - ramp(s - end + 0.5 * EASEMENT)


def _solve(s: FloatArray, angle: FloatArray, ends: list[float]) -> tuple[float, FloatArray]:
    """Square sum, and first direction with the curvatures, for given ends of the curves."""
    pairs = zip(ends[::2], ends[1::2], strict=True)
    design = np.column_stack([np.ones(len(s)), *(_turned(s, a, b) for a, b in pairs)])
    scale = np.maximum(np.linalg.norm(design, axis=0), 1e-9)
    found = np.linalg.lstsq(design / scale, angle, rcond=1e-9)[0] / scale
    return float(np.sum((design @ found - angle) ** 2)), found


def rough_line(points: FloatArray, wanted: FloatArray, curves: int) -> RoughLine:
    """Find a rough line.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        Marks in station order. [mm]
    wanted : ndarray, shape (n,)
        Their offsets from the track centre, left positive. [mm]
    curves : int
        How many curves the stretch holds.

    Returns
    -------
    RoughLine
        Good to some millimetres.
    """
    ahead = np.gradient(points, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    centre = points - wanted[:, None] * np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    steps = np.diff(centre, axis=0)
    chords = np.hypot(steps[:, 0], steps[:, 1])
    along = np.concatenate([[0.0], np.cumsum(chords)])
    length = float(along[-1])
    angle = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    middle = 0.5 * (along[1:] + along[:-1])
    places = np.concatenate([[-EASEMENT], np.linspace(0.0, length, PLACES)[1:-1], [length + EASEMENT]])
    ends = list(np.linspace(-EASEMENT, length + EASEMENT, curves + 1).repeat(2)[1:-1]) if curves else []
    best, found = _solve(middle, angle, ends)
    for _ in range(SWEEPS):
        before = best
        for k in range(len(ends)):
            for place in places:
                trial = [*ends[:k], float(place), *ends[k + 1 :]]
                if np.any(np.diff(trial) < 0.0):
                    continue
                cost, solution = _solve(middle, angle, trial)
                if cost < best * (1.0 - 1e-9):
                    best, found, ends = cost, solution, trial
        if best == before:
            break
    log = float(np.log(EASEMENT))
    elements = [(kappa, ends[2 * c], log, ends[2 * c + 1], log) for c, kappa in enumerate(found[1:])]
    return RoughLine(
        origin=(float(centre[0, 0]), float(centre[0, 1])),
        direction=float(found[0] + sum(k * _turned(np.zeros(1), a, b)[0] for k, a, _, b, _ in elements)),
        length=length,
        elements=np.array(elements).ravel(),
    )
