"""How the base inputs are spread: independent doubts, and what later readings have taught about them.

Before anything of the bridge is measured the base inputs are independent, and the covariance of results is
``J S J'`` with S the diagonal of squared doubts. A later reading of a result ties the inputs to one another:
the covariance becomes ``J S^(1/2) R R' S^(1/2) J'`` with R a root that differs from the identity by as many
directions as there are such readings. So every doubt, share and covariance is still made of one row of
numbers, :meth:`Spread.scaled`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """Standard uncertainties of the base inputs and the directions in which later readings shrank them.

    Parameters
    ----------
    sds : ndarray, shape (n,)
        Standard uncertainties before the later readings. [any]
    directions : ndarray, shape (n, r)
        Orthonormal directions in the space of inputs over their doubts. [1]
    shrunk : ndarray, shape (r,)
        By what part the doubt along each direction became smaller, 0 to 1. [1]
    """

    sds: FloatArray
    directions: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    shrunk: FloatArray = field(default_factory=lambda: np.zeros(0))

    def scaled(self, jac: FloatArray) -> FloatArray:
        """Return derivatives times the root of the inputs' covariance.

        Parameters
        ----------
        jac : ndarray, shape (..., m)
            Derivatives to the first m base inputs. [any]

        Returns
        -------
        ndarray, shape (..., n)
            Rows whose squares add up to the variance, and whose products to the covariance; as long as
            ``jac`` where nothing was learnt. [any]
        """
        m = jac.shape[-1]
        own = jac * self.sds[:m]
        if not len(self.shrunk):
            return own
        along = own @ self.directions[:m]
        if m < len(self.sds):
            missing = np.zeros((*own.shape[:-1], len(self.sds) - m))
            own = np.concatenate([own, missing], axis=-1)
        return own - (along * self.shrunk) @ self.directions.T

    def doubt(self, jac: FloatArray) -> FloatArray:
        """Return standard uncertainties of results.

        Parameters
        ----------
        jac : ndarray, shape (..., m)
            Derivatives to the first m base inputs. [any]

        Returns
        -------
        ndarray, shape (...)
            Standard uncertainties. [any]
        """
        rows = self.scaled(jac)
        return np.sqrt(np.einsum("...k,...k->...", rows, rows))


def spread_of(sds: FloatArray | Spread) -> Spread:
    """Return plain doubts as a spread of independent inputs; a spread as it is.

    Parameters
    ----------
    sds : ndarray, shape (n,), or Spread
        Standard uncertainties. [any]

    Returns
    -------
    Spread
        The spread.
    """
    return sds if isinstance(sds, Spread) else Spread(sds=sds)
