"""What few dear trials tell of a number that derivatives alone do not foretell, spread over many cheap draws.

A trial works a number out in full at drawn inputs; what derivatives had foretold there is known as well. What
is left over, in doubts of the number, is fitted by a parabola over what was foretold, with what it does not
explain as noise. Many cheap draws of the foretold number are then bent so. The fit is a response surface of
one variable; its own doubt from so few trials goes into the noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FloatArray = np.ndarray

#: Trials fewer than this tell no parabola.
FEWEST = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """How a number departs from what derivatives foretell, all in its first-order doubts.

    Parameters
    ----------
    shift : float
        Departure where the foretold number is at its value. [1]
    slope : float
        Per doubt of the foretold number. [1]
    curve : float
        Per doubt squared. [1]
    rest : float
        Standard deviation of what the parabola leaves, with the doubt of the fit. [1]
    bend : float
        Root mean square of all departures: how wrong derivatives alone are. [1]
    trials : int
        How many there were.
    """

    shift: float
    slope: float
    curve: float
    rest: float
    bend: float
    trials: int


def fit_surface(foretold: FloatArray, found: FloatArray) -> Surface | None:
    """Fit the departures of trials.

    Parameters
    ----------
    foretold : ndarray, shape (m,)
        What derivatives foretold in each trial, less the number's value, in its doubts. [1]
    found : ndarray, shape (m,)
        What was found, in the same way; trials that are not finite do not count. [1]

    Returns
    -------
    Surface or None
        None if too few trials tell.
    """
    tell = np.isfinite(found) & np.isfinite(foretold)
    t, e = foretold[tell], (found - foretold)[tell]
    m = len(t)
    if m < FEWEST:
        return None
    basis = np.stack([np.ones(m), t, t * t], axis=1)
    fitted, _, rank, _ = np.linalg.lstsq(basis, e, rcond=None)
    left = e - basis @ fitted
    rest = float(np.sqrt(left @ left / (m - int(rank)) * (1.0 + 3.0 / m)))
    return Surface(
        shift=float(fitted[0]),
        slope=float(fitted[1]),
        curve=float(fitted[2]),
        rest=rest,
        bend=float(np.sqrt(np.mean(e**2))),
        trials=m,
    )


def bent(surface: Surface, foretold: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Bend draws of the foretold number.

    Parameters
    ----------
    surface : Surface
        From the trials.
    foretold : ndarray, shape (m,)
        Draws, less the number's value, in its doubts. [1]
    rng : Generator
        Chance.

    Returns
    -------
    ndarray, shape (m,)
        Draws of the number as it is. [1]
    """
    noise = rng.standard_normal(len(foretold))
    departs = surface.shift + (surface.slope + surface.curve * foretold) * foretold
    return np.asarray(foretold + departs + surface.rest * noise)
