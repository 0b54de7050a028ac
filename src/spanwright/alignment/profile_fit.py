"""Grade, vertical curve and cant of a laid line, from heights of rails and cross levels.

The height of the track centre is a start height and a grade that is piecewise linear in station; the
grade is a straight grade, slow changes (vertical curves) and short waves. Cant is a level and ramps with
corners. Strengths are averaged over, as in the plan (``estimation.averaged``). A mark on the left rail
shows the centre's height less half the cant, one on the right rail that plus half the cant.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import grade_basis
from spanwright.estimation import derived as dv
from spanwright.estimation.averaged import average_priors, compressed
from spanwright.estimation.derived import Derived
from spanwright.geometry.hats import hat_basis

FloatArray = np.ndarray

#: Strengths that are thought possible (common practice, no source): slow change of grade over about
#: 150 mm [1], short vertical waves [mm], change of cant as a part of the gauge [1].
GRADE_CHANGES = (0.0003, 0.001, 0.004, 0.015)
WAVES = (0.02, 0.08, 0.25)
CANT_CHANGES = (0.002, 0.01, 0.03)
SLOW, SHORT, CANT_LENGTH = 150.0, 60.0, 150.0
GRADE_SPACING, CANT_SPACING = 50.0, 40.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileChoices:
    """What is held when the fit is differentiated or replayed.

    Parameters
    ----------
    grade_knots : ndarray, shape (m,)
        Stations of the grades. [mm]
    cant_knots : ndarray, shape (c,)
        Stations of the cants. [mm]
    root : ndarray, shape (p, r)
        Root of the prior covariance. [any]
    spread : ndarray, shape (p, t)
        Spread of the members of the average. [any]
    mix : ndarray, shape (t, u), or None
        What each unseen input is made of; None until it is decided. [1]
    weights : ndarray, shape (k,)
        Weights of the members. [1]
    weight_matrix : ndarray, shape (n, n)
        Inverse covariance of the observations. [any]
    """

    grade_knots: FloatArray
    cant_knots: FloatArray
    root: FloatArray
    spread: FloatArray
    mix: FloatArray | None
    weights: FloatArray
    weight_matrix: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileFit:
    """The fitted profile and cant.

    Parameters
    ----------
    profile : Derived
        Height at the first knot, then grades; without the unseen inputs.
    cant : Derived
        Cant at the cant knots.
    unseen : ndarray, shape (p, t)
        Effect on (profile, cant) of each unseen input of doubt 1. [any]
    residuals : ndarray, shape (n,)
        Observed less fitted, heights first, then cants. [mm]
    choices : ProfileChoices
        What was held.
    """

    profile: Derived
    cant: Derived
    unseen: FloatArray
    residuals: FloatArray
    choices: ProfileChoices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileData:
    """What was measured of one line.

    Parameters
    ----------
    stations : Derived
        Station of each height, shape (n,).
    heights : Derived
        Rail heights, shape (n,).
    levers : Derived
        Offset of the rail from the centre, left positive, over the distance of the rail heads, shape (n,).
    cant_stations : Derived
        Station of each cross level, shape (c,).
    cants : Derived
        Right rail above left, shape (c,).
    cant_assumed : bool
        True where the cant was not measured and an assumed one is added elsewhere.
    """

    stations: Derived
    heights: Derived
    levers: Derived
    cant_stations: Derived
    cants: Derived
    cant_assumed: bool


def _bell(a: FloatArray, b: FloatArray, length: float) -> FloatArray:
    return np.exp(-0.5 * ((a[:, None] - b[None, :]) / length) ** 2)


def _cornered(a: FloatArray, b: FloatArray, length: float) -> FloatArray:
    """Covariance of what may have corners, as the cant has where its ramp begins and ends (Matern 3/2).

    A bell would be too sure of the cant between two cross levels on either side of a corner.
    """
    r = np.sqrt(3.0) * np.abs(a[:, None] - b[None, :]) / length
    return (1.0 + r) * np.exp(-r)


def _priors(grade_knots: FloatArray, cant_knots: FloatArray, gauge: float, level: float) -> FloatArray:
    m, c = len(grade_knots), len(cant_knots)
    flat = np.zeros((1 + m + c, 1 + m + c))
    flat[0, 0] = 2000.0**2
    flat[1 : 1 + m, 1 : 1 + m] = 0.1**2
    flat[1 + m :, 1 + m :] = level**2
    found = []
    for change in GRADE_CHANGES:
        for wave in WAVES:
            for cant in CANT_CHANGES if level > 0.0 else (0.0,):
                prior = flat.copy()
                prior[1 : 1 + m, 1 : 1 + m] += change**2 * _bell(grade_knots, grade_knots, SLOW)
                prior[1 : 1 + m, 1 : 1 + m] += (wave / SHORT) ** 2 * _bell(grade_knots, grade_knots, SHORT)
                prior[1 + m :, 1 + m :] += (cant * gauge) ** 2 * _cornered(
                    cant_knots, cant_knots, CANT_LENGTH
                )
                found.append(prior)
    return np.array(found)


def _design(
    stations: FloatArray, levers: FloatArray, cant_stations: FloatArray, choices: ProfileChoices
) -> FloatArray:
    top = np.hstack(
        [
            grade_basis(choices.grade_knots, stations),
            -levers[:, None] * hat_basis(choices.cant_knots, stations),
        ]
    )
    bottom = np.hstack(
        [
            np.zeros((len(cant_stations), 1 + len(choices.grade_knots))),
            hat_basis(choices.cant_knots, cant_stations),
        ]
    )
    return np.vstack([top, bottom])


def _design_slope(
    stations: FloatArray, levers: FloatArray, cant_stations: FloatArray, choices: ProfileChoices
) -> FloatArray:
    """Return the derivative of each design row to its own station."""
    n = len(stations)
    ahead = np.zeros((n, 1 + len(choices.grade_knots)))
    ahead[:, 1:] = hat_basis(choices.grade_knots, stations)
    step = 1e-4

    def slope(s: FloatArray) -> FloatArray:
        return (hat_basis(choices.cant_knots, s + step) - hat_basis(choices.cant_knots, s - step)) / (
            2.0 * step
        )

    top = np.hstack([ahead, -levers[:, None] * slope(stations)])
    bottom = np.hstack([np.zeros((len(cant_stations), ahead.shape[1])), slope(cant_stations)])
    return np.vstack([top, bottom])


def fit_profile(
    data: ProfileData, sds: FloatArray, *, gauge: float, choices: ProfileChoices | None = None
) -> ProfileFit:
    """Fit height, grade and cant to rail heights and cross levels.

    Parameters
    ----------
    data : ProfileData
        What was measured.
    sds : ndarray, shape (m,)
        Doubts of the base inputs. [any]
    gauge : float
        Track gauge, the measure of how much cant is likely. [mm]
    choices : ProfileChoices, optional
        Held from an earlier fit.

    Returns
    -------
    ProfileFit
        Profile and cant with derivatives.

    Notes
    -----
    A linear Gaussian estimate, exact in the observed values; the stations' own doubt enters through
    the grade (a mark that lies 1 mm further along a 2 % grade is 0.02 mm higher).
    """
    z = dv.stack(
        [
            *(data.heights[k] for k in range(len(data.heights))),
            *(data.cants[k] for k in range(len(data.cants))),
        ]
    )
    s, lever, cs = data.stations.value, data.levers.value, data.cant_stations.value
    if choices is None:
        choices = _choose(data, z, sds, gauge)
    design = _design(s, lever, cs, choices)
    root = choices.root
    whitened = design @ root
    weight = choices.weight_matrix
    normal = whitened.T @ weight @ whitened + np.eye(root.shape[1])
    p = root @ np.linalg.solve(normal, whitened.T @ weight @ z.value)
    r = z.value - design @ p
    pull = weight @ r
    gain = root @ np.linalg.solve(normal, whitened.T @ weight)
    slope = _design_slope(s, lever, cs, choices)
    # dp = H^-1 [ B^T W (dz - dB p) + dB^T W r ]
    by_station = -gain * (slope @ p)[None, :] + root @ np.linalg.solve(
        normal, root.T @ (slope.T * pull[None, :])
    )
    n = len(s)
    lever_row = np.hstack([np.zeros((n, 1 + len(choices.grade_knots))), -hat_basis(choices.cant_knots, s)])
    by_lever = -gain[:, :n] * (lever_row @ p)[None, :] + root @ np.linalg.solve(
        normal, root.T @ (lever_row.T * pull[None, :n])
    )
    width = max(z.jac.shape[-1], data.stations.jac.shape[-1], data.levers.jac.shape[-1])
    jac = gain @ z.padded(width).jac
    jac = jac + by_station[:, :n] @ data.stations.padded(width).jac
    if len(cs):
        jac = jac + by_station[:, n:] @ data.cant_stations.padded(width).jac
    jac = jac + by_lever @ data.levers.padded(width).jac
    m = 1 + len(choices.grade_knots)
    unseen, mix = compressed(
        np.hstack([root @ np.linalg.solve(normal, np.eye(root.shape[1])), choices.spread]),
        mix=choices.mix,
    )
    return ProfileFit(
        profile=Derived(p[:m], jac[:m]),
        cant=Derived(p[m:], jac[m:]),
        unseen=unseen,
        residuals=r,
        choices=replace(choices, mix=mix),
    )


def _choose(data: ProfileData, z: Derived, sds: FloatArray, gauge: float) -> ProfileChoices:
    s = np.concatenate([data.stations.value, data.cant_stations.value])
    low, high = float(s.min()), float(s.max())

    def spaced(step: float) -> FloatArray:
        return np.linspace(low, high, max(2, int(np.ceil((high - low) / step)) + 1))

    grade_knots, cant_knots = spaced(GRADE_SPACING), spaced(CANT_SPACING)
    noise = z.covariance(sds) + np.eye(len(z)) * 0.005**2
    weight_matrix = np.linalg.solve(noise, np.eye(len(noise)))
    held = ProfileChoices(
        grade_knots=grade_knots,
        cant_knots=cant_knots,
        root=np.zeros((0, 0)),
        spread=np.zeros((0, 0)),
        mix=None,
        weights=np.zeros(0),
        weight_matrix=0.5 * (weight_matrix + weight_matrix.T),
    )
    design = _design(data.stations.value, data.levers.value, data.cant_stations.value, held)
    # an assumed cant is an input that the caller adds: no cant here
    level = 0.0 if data.cant_assumed else gauge / 5.0
    priors = _priors(grade_knots, cant_knots, gauge, level)
    averaged = average_priors(z.value, design, noise, priors, np.zeros(len(priors)))
    return ProfileChoices(
        grade_knots=grade_knots,
        cant_knots=cant_knots,
        root=averaged.root,
        spread=averaged.spread,
        mix=None,
        weights=averaged.weights,
        weight_matrix=held.weight_matrix,
    )
