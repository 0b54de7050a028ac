"""Numbers that carry their derivatives to the base inputs through plain arithmetic.

A :class:`Derived` is an array of values with a Jacobian whose last axis runs over the base inputs.
Sums, products and the few functions below carry both (forward differentiation). A result with a
shorter last axis knows nothing of the inputs added later: its derivatives to them are zero.

Covariance is J diag(sd^2) J^T and is formed on demand only (GUM, JCGM 100:2008, clause 5.1.2,
eq. (10), for independent inputs).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from spanwright.estimation.spread import Spread, spread_of

FloatArray = np.ndarray


class Derived:
    """Values and their derivatives to the base inputs.

    Parameters
    ----------
    value : ndarray
        Values, any shape. [any]
    jac : ndarray
        Derivatives, the value's shape and one more axis of inputs. [any]
    """

    __array_priority__ = 1000
    __slots__ = ("jac", "value")

    def __init__(self, value: Any, jac: FloatArray) -> None:
        self.value: FloatArray = np.asarray(value, dtype=float)
        self.jac: FloatArray = jac

    def __repr__(self) -> str:
        return f"Derived({self.value!r}, inputs={self.jac.shape[-1]})"

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the values."""
        return self.value.shape

    def __len__(self) -> int:
        return len(self.value)

    def __bool__(self) -> bool:
        raise TypeError("a derived number is neither true nor false; compare its value")

    def __getitem__(self, index: Any) -> Derived:
        if isinstance(index, int | slice):
            return Derived(self.value[index], self.jac[index])
        if not isinstance(index, tuple):
            index = (index,)
        if any(i is Ellipsis for i in index):
            return Derived(self.value[index], self.jac[(*index, slice(None))])
        return Derived(self.value[index], self.jac[index])

    def __add__(self, other: Any) -> Derived:
        if isinstance(other, Derived):
            if self.jac.shape == other.jac.shape:
                return Derived(self.value + other.value, self.jac + other.jac)
            a, b = _common(self.jac, other.jac)
            return Derived(self.value + other.value, _spread(a, self, other) + _spread(b, other, self))
        value = np.asarray(self.value + other)
        if value.shape == self.value.shape:
            return Derived(value, self.jac)
        return Derived(value, np.broadcast_to(self.jac, (*value.shape, self.jac.shape[-1])))

    __radd__ = __add__

    def __neg__(self) -> Derived:
        return Derived(-self.value, -self.jac)

    def __sub__(self, other: Any) -> Derived:
        if isinstance(other, Derived) and self.jac.shape == other.jac.shape:
            return Derived(self.value - other.value, self.jac - other.jac)
        return self + (-other)

    def __rsub__(self, other: Any) -> Derived:
        return (-self) + other

    def __mul__(self, other: Any) -> Derived:
        if isinstance(other, Derived):
            if self.jac.shape == other.jac.shape:
                a, b = self.value, other.value
                if a.ndim:
                    a, b = a[..., None], b[..., None]
                return Derived(self.value * other.value, self.jac * b + other.jac * a)
            a, b = _common(self.jac, other.jac)
            return Derived(
                self.value * other.value,
                _spread(a, self, other) * other.value[..., None]
                + _spread(b, other, self) * self.value[..., None],
            )
        if isinstance(other, float):
            return Derived(self.value * other, self.jac * other)
        factor = np.asarray(other, dtype=float)
        return Derived(self.value * factor, self.jac * factor[..., None])

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Derived:
        if isinstance(other, Derived):
            return self * _chain(other, 1.0 / other.value, -1.0 / other.value**2)
        return self * (1.0 / np.asarray(other, dtype=float))

    def __rtruediv__(self, other: Any) -> Derived:
        return _chain(self, 1.0 / self.value, -1.0 / self.value**2) * other

    def sd(self, sds: FloatArray | Spread) -> FloatArray:
        """Return standard uncertainties.

        Parameters
        ----------
        sds : ndarray, shape (n,), or Spread
            Standard uncertainties of the base inputs, at least as many as the Jacobian has columns. [any]

        Returns
        -------
        ndarray
            Same shape as the values. [any]
        """
        return spread_of(sds).doubt(self.jac)

    def covariance(self, sds: FloatArray | Spread) -> FloatArray:
        """Return the covariance matrix of the flattened values.

        Parameters
        ----------
        sds : ndarray, shape (n,), or Spread
            Standard uncertainties of the base inputs. [any]

        Returns
        -------
        ndarray, shape (m, m)
            Covariance. [any]
        """
        scaled = spread_of(sds).scaled(self.jac.reshape(-1, self.jac.shape[-1]))
        return scaled @ scaled.T

    def padded(self, n: int) -> Derived:
        """Return the same numbers with zero derivatives to inputs added later.

        Parameters
        ----------
        n : int
            Number of base inputs wanted.

        Returns
        -------
        Derived
            Same values.
        """
        return Derived(self.value, _pad(self.jac, n))


def _pad(jac: FloatArray, n: int) -> FloatArray:
    missing = n - jac.shape[-1]
    return jac if missing <= 0 else np.concatenate([jac, np.zeros((*jac.shape[:-1], missing))], axis=-1)


def _common(a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
    n = max(a.shape[-1], b.shape[-1])
    return _pad(a, n), _pad(b, n)


def _spread(jac: FloatArray, own: Derived, other: Derived) -> FloatArray:
    if own.value.shape == other.value.shape:
        return jac
    shape = np.broadcast_shapes(own.value.shape, other.value.shape)
    lead = len(shape) - own.value.ndim
    return np.broadcast_to(jac.reshape((1,) * lead + jac.shape), (*shape, jac.shape[-1]))


def _chain(x: Derived, value: Any, slope: Any) -> Derived:
    return Derived(value, x.jac * np.asarray(slope)[..., None])


def constant(value: Any, n: int = 0) -> Derived:
    """Return a number without doubt.

    Parameters
    ----------
    value : ndarray
        The value. [any]
    n : int
        Number of base inputs.

    Returns
    -------
    Derived
        Zero derivatives.
    """
    array = np.asarray(value, dtype=float)
    return Derived(array, np.zeros((*array.shape, n)))


def sqrt(x: Derived) -> Derived:
    """Square root.

    Parameters
    ----------
    x : Derived
        Positive.

    Returns
    -------
    Derived
        Its square root.
    """
    root = np.sqrt(x.value)
    return _chain(x, root, 0.5 / root)


def sin(x: Derived) -> Derived:
    """Sine of an angle in radians.

    Parameters
    ----------
    x : Derived
        Angle in radians.

    Returns
    -------
    Derived
        Its sine.
    """
    return _chain(x, np.sin(x.value), np.cos(x.value))


def cos(x: Derived) -> Derived:
    """Cosine of an angle in radians.

    Parameters
    ----------
    x : Derived
        Angle in radians.

    Returns
    -------
    Derived
        Its cosine.
    """
    return _chain(x, np.cos(x.value), -np.sin(x.value))


def arcsin(x: Derived) -> Derived:
    """Angle of a sine.

    Parameters
    ----------
    x : Derived
        Between -1 and 1.

    Returns
    -------
    Derived
        Angle in radians.
    """
    return _chain(x, np.arcsin(x.value), 1.0 / np.sqrt(1.0 - x.value**2))


def arctan2(y: Derived, x: Derived) -> Derived:
    """Direction of a vector.

    Parameters
    ----------
    y : Derived
        Second component.
    x : Derived
        First component.

    Returns
    -------
    Derived
        Angle from the first axis, in radians.
    """
    r2 = x.value**2 + y.value**2
    a, b = _common(y.jac, x.jac)
    return Derived(
        np.arctan2(y.value, x.value), a * (x.value / r2)[..., None] - b * (y.value / r2)[..., None]
    )


def stack(items: Sequence[Derived]) -> Derived:
    """Put numbers of one shape into one array along a new first axis.

    Parameters
    ----------
    items : sequence of Derived
        At least one.

    Returns
    -------
    Derived
        One more axis.
    """
    n = max(item.jac.shape[-1] for item in items)
    jac = np.zeros((len(items), *items[0].value.shape, n))
    for row, item in zip(jac, items, strict=True):
        row[..., : item.jac.shape[-1]] = item.jac
    return Derived(np.array([i.value for i in items]), jac)


def dot(weights: FloatArray, x: Derived) -> Derived:
    """Linear combination over the first axis.

    Parameters
    ----------
    weights : ndarray, shape (..., n)
        Factors. [any]
    x : Derived
        Shape (n,).

    Returns
    -------
    Derived
        ``weights @ x``.
    """
    return Derived(weights @ x.value, weights @ x.jac)


def linear(value: Any, factors: FloatArray, x: Derived) -> Derived:
    """Wrap a value computed elsewhere whose derivatives to ``x`` are known.

    Parameters
    ----------
    value : ndarray
        The value. [any]
    factors : ndarray, shape (..., n)
        Derivatives of the value to each of the n numbers in ``x``. [any]
    x : Derived
        Shape (n,).

    Returns
    -------
    Derived
        The value with the chain rule applied.
    """
    return Derived(value, factors @ x.jac)
