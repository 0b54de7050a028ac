"""The widening of a gauge along a line: by the radius there, led in and out beyond the curve.

Between printed radii the widening is taken evenly by radius, which lies above the true curve of a table
that falls like 1/R. Beyond the flattest printed radius it falls like 1/R. On a sharper curve than the
table prints, the value of its sharpest row is taken and said to be less than the sheet would ask for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.gauges.given import Gauge, Widening

FloatArray = np.ndarray

#: Stations between which the widening is taken as a straight line. [mm]
STEP = 1.0


def printed(widening: Widening, curvature: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the widening for curvatures, and whether the table prints one.

    Parameters
    ----------
    widening : Widening
        The table.
    curvature : ndarray, shape (n,)
        Curvature of the track, either sign. [1/mm]

    Returns
    -------
    each_side : ndarray, shape (n,)
        Widening on each side. [mm]
    is_printed : ndarray of bool, shape (n,)
        False where the curve is sharper than any row. [1]
    """
    bend = np.abs(np.asarray(curvature, dtype=float))
    first, last = widening.radii[0], widening.radii[-1]
    radius = 1.0 / np.maximum(bend, 1e-12)
    each = np.interp(radius, widening.radii, widening.each_side)
    each = np.where(radius > last, widening.each_side[-1] * last * bend, each)
    return each, radius >= first * (1.0 - 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Along:
    """The widening of a gauge along a line.

    Parameters
    ----------
    stations : ndarray, shape (n,)
        Stations, growing. [mm]
    each_side : ndarray, shape (n,)
        Widening on each side. [mm]
    sharpest : float
        Radius of the sharpest curve, if the table prints nothing for it; else nil. [mm]
    """

    stations: FloatArray
    each_side: FloatArray
    sharpest: float = 0.0

    def at(self, s: FloatArray) -> FloatArray:
        """Return the widening on each side at stations.

        Parameters
        ----------
        s : ndarray, any shape
            Stations. [mm]

        Returns
        -------
        ndarray, same shape
            Widening. [mm]
        """
        return np.interp(s, self.stations, self.each_side)


def widening_along(line: Line, gauge: Gauge, run: tuple[float, float]) -> Along:
    """Return the widening of a gauge along a stretch of a line.

    Parameters
    ----------
    line : Line
        The line.
    gauge : Gauge
        The gauge.
    run : tuple of float
        First and last station. [mm]

    Returns
    -------
    Along
        Nil everywhere for a gauge without widening.
    """
    stations = np.linspace(*run, max(2, int(np.ceil((run[1] - run[0]) / STEP)) + 1))
    rule = gauge.widening
    if rule is None:
        return Along(stations=stations, each_side=np.zeros(len(stations)))
    step = stations[1] - stations[0]
    curvature = al.curvature_at(line, stations)
    wanted, is_printed = printed(rule, curvature)
    led = wanted.copy()
    for k in range(1, int(np.ceil(rule.gone_after / step))):
        share = min(1.0, (rule.gone_after - k * step) / (rule.gone_after - rule.full_for))
        led[k:] = np.maximum(led[k:], share * wanted[:-k])
        led[:-k] = np.maximum(led[:-k], share * wanted[k:])
    sharpest = 0.0 if np.all(is_printed) else 1.0 / float(np.max(np.abs(curvature)))
    return Along(stations=stations, each_side=led, sharpest=sharpest)
