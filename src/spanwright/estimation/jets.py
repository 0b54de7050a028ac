"""Values with first and second derivatives, in batches of small problems.

A :class:`Jet` holds n problems of m local unknowns each: value (n,), gradient (n, m), second
derivatives (n, m, m). An observation is written once as plain arithmetic and yields all three.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

FloatArray = np.ndarray


class Jet:
    """A batch of values with gradients and second derivatives.

    Parameters
    ----------
    value : ndarray, shape (n,)
        Values. [any]
    grad : ndarray, shape (n, m)
        First derivatives. [any]
    hess : ndarray, shape (n, m, m)
        Second derivatives. [any]
    """

    __array_priority__ = 1000
    __slots__ = ("grad", "hess", "value")

    def __init__(self, value: FloatArray, grad: FloatArray, hess: FloatArray) -> None:
        self.value = value
        self.grad = grad
        self.hess = hess

    def __add__(self, other: Any) -> Jet:
        if isinstance(other, Jet):
            return Jet(self.value + other.value, self.grad + other.grad, self.hess + other.hess)
        return Jet(self.value + other, self.grad, self.hess)

    __radd__ = __add__

    def __neg__(self) -> Jet:
        return Jet(-self.value, -self.grad, -self.hess)

    def __sub__(self, other: Any) -> Jet:
        return self + (-other)

    def __rsub__(self, other: Any) -> Jet:
        return (-self) + other

    def __mul__(self, other: Any) -> Jet:
        if isinstance(other, Jet):
            u, v = self.value, other.value
            cross = self.grad[:, :, None] * other.grad[:, None, :]
            return Jet(
                u * v,
                self.grad * v[:, None] + other.grad * u[:, None],
                self.hess * v[:, None, None]
                + other.hess * u[:, None, None]
                + cross
                + cross.transpose(0, 2, 1),
            )
        f = np.broadcast_to(np.asarray(other, dtype=float), self.value.shape)
        return Jet(self.value * f, self.grad * f[:, None], self.hess * f[:, None, None])

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Jet:
        if isinstance(other, Jet):
            v = other.value
            return self * _chain(other, 1.0 / v, -1.0 / v**2, 2.0 / v**3)
        return self * (1.0 / np.asarray(other, dtype=float))


def _chain(x: Jet, value: FloatArray, first: FloatArray, second: FloatArray) -> Jet:
    outer = x.grad[:, :, None] * x.grad[:, None, :]
    return Jet(
        value,
        x.grad * first[:, None],
        x.hess * first[:, None, None] + outer * second[:, None, None],
    )


def variables(values: FloatArray) -> list[Jet]:
    """Return local unknowns as jets.

    Parameters
    ----------
    values : ndarray, shape (n, m)
        Values of the m unknowns in each of n problems. [any]

    Returns
    -------
    list of Jet
        m jets, each differentiating to itself by one.
    """
    first, second = _of_themselves(*values.shape)
    return [Jet(values[:, k], grad, second) for k, grad in enumerate(first)]


@lru_cache(maxsize=64)  # the same problems are worked through again and again
def _of_themselves(n: int, m: int) -> tuple[FloatArray, FloatArray]:
    """First derivatives (m, n, m) and second (n, m, m) of local unknowns to themselves."""
    first, second = np.repeat(np.eye(m)[:, None], n, axis=1), np.zeros((n, m, m))
    first.flags.writeable = second.flags.writeable = False
    return first, second


def sqrt(x: Jet) -> Jet:
    """Square root.

    Parameters
    ----------
    x : Jet
        Positive.

    Returns
    -------
    Jet
        Its square root.
    """
    root = np.sqrt(x.value)
    return _chain(x, root, 0.5 / root, -0.25 / root**3)


def arcsin(x: Jet) -> Jet:
    """Angle of a sine.

    Parameters
    ----------
    x : Jet
        Between -1 and 1.

    Returns
    -------
    Jet
        Angle in radians.
    """
    c2 = 1.0 - x.value**2
    return _chain(x, np.arcsin(x.value), c2**-0.5, x.value * c2**-1.5)


def arctan2(y: Jet, x: Jet) -> Jet:
    """Direction of a vector.

    Parameters
    ----------
    y : Jet
        Second component.
    x : Jet
        First component.

    Returns
    -------
    Jet
        Angle from the first axis, in radians.
    """
    r2 = x.value**2 + y.value**2
    a, b = x.value / r2, -y.value / r2
    grad = y.grad * a[:, None] + x.grad * b[:, None]
    # second derivatives of the angle: aa = -2xy/r4, bb = 2xy/r4, ab = (y^2 - x^2)/r4
    cross = 2.0 * x.value * y.value / r2**2
    mixed = (y.value**2 - x.value**2) / r2**2
    yy = y.grad[:, :, None] * y.grad[:, None, :]
    xx = x.grad[:, :, None] * x.grad[:, None, :]
    yx = y.grad[:, :, None] * x.grad[:, None, :]
    hess = (
        y.hess * a[:, None, None]
        + x.hess * b[:, None, None]
        - yy * cross[:, None, None]
        + xx * cross[:, None, None]
        + (yx + yx.transpose(0, 2, 1)) * mixed[:, None, None]
    )
    return Jet(np.arctan2(y.value, x.value), grad, hess)


def exp(x: Jet) -> Jet:
    """Exponential.

    Parameters
    ----------
    x : Jet
        Any.

    Returns
    -------
    Jet
        e to that power.
    """
    e = np.exp(x.value)
    return _chain(x, e, e, e)


def cube_plus(x: Jet) -> Jet:
    """Cube of the positive part: 0 below nil, twice smooth at nil.

    Parameters
    ----------
    x : Jet
        Any.

    Returns
    -------
    Jet
        ``max(x, 0)^3``.
    """
    p = np.maximum(x.value, 0.0)
    return _chain(x, p**3, 3.0 * p**2, 6.0 * p)
