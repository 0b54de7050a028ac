"""The compiled part: distances of triangles and prisms, and the search for the least over all poses.

``kernel.c`` is compiled when the project is installed. It is called through ``ctypes``, which lets other
threads run meanwhile. What the numbers mean is said where they are used: :mod:`spanwright.geometry.distance`
and :mod:`spanwright.clearance.engine.search`.
"""

from __future__ import annotations

import ctypes
import sys
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from spanwright.errors import SpanwrightError

FloatArray = np.ndarray
_ENDINGS = {"win32": "dll", "darwin": "dylib"}


@cache
def library() -> Any:
    """Return the compiled functions.

    Returns
    -------
    CDLL
        ``contacts``, ``search``, ``poses``, ``cell_bounds``, ``interval_bounds`` and ``polish``.

    Raises
    ------
    SpanwrightError
        If the compiled part is not there or does not load.
    """
    name = f"libkernel.{_ENDINGS.get(sys.platform, 'so')}"
    place = resources.files("spanwright.geometry").joinpath(name)
    try:
        found = ctypes.CDLL(str(place))
    except OSError as problem:
        raise SpanwrightError(
            "the compiled part of the program is missing or does not load",
            code="GE090",
            where=name,
            value=str(problem),
            hint="Install the program again",
        ) from problem
    for function in ("search", "poses", "polish", "entry_bytes", "head_bytes", "prism_bytes"):
        getattr(found, function).restype = ctypes.c_int64
    for function in ("contacts", "cell_bounds", "interval_bounds"):
        getattr(found, function).restype = None
    return found


def address(array: np.ndarray) -> ctypes.c_void_p:
    """Return where an array's numbers lie.

    Parameters
    ----------
    array : ndarray
        Of one piece, as the kernel wants it. [any]

    Returns
    -------
    c_void_p
        Valid as long as the array is held.
    """
    return ctypes.c_void_p(array.ctypes.data)


def floats(values: Any) -> FloatArray:
    """Return numbers as the kernel wants them: double, of one piece.

    Parameters
    ----------
    values : array_like
        The numbers. [any]

    Returns
    -------
    ndarray
        The same array if it is so already. [any]
    """
    return np.ascontiguousarray(values, dtype=np.float64)


def whole(values: Any) -> np.ndarray:
    """Return whole numbers as the kernel wants them: 64 bits, of one piece.

    Parameters
    ----------
    values : array_like of int
        The numbers.

    Returns
    -------
    ndarray of int
        The same array if it is so already.
    """
    return np.ascontiguousarray(values, dtype=np.int64)
