"""A line that is to be raised, lowered or canted otherwise than it lies: what may move, without doubt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from spanwright.alignment.given import LineInput
from spanwright.alignment.line import Line
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs


def moved(given: LineInput, line: Line, inputs: Inputs) -> Line:
    """Return a line where it will lie after it has been packed up or let down, and its cant changed.

    Parameters
    ----------
    given : LineInput
        Names the base inputs of both moves, if there are any.
    line : Line
        The line as it lies.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Line
        The same numbers where nothing is moved; the derivatives to the moves are there in any case.
    """
    if given.raised:
        line = replace(line, profile=_added(line.profile, inputs.derived(given.raised), rows=slice(0, 1)))
    if given.canted:
        line = replace(line, cant=_added(line.cant, inputs.derived(given.canted), rows=slice(None)))
    return line


def _added(numbers: Derived, move: Derived, *, rows: slice) -> Derived:
    """Add a move to some of a row of numbers."""
    factor = np.zeros(numbers.shape)
    factor[rows] = 1.0
    wide = max(numbers.jac.shape[-1], move.jac.shape[-1])
    jac = numbers.padded(wide).jac + factor[:, None] * move.padded(wide).jac
    return Derived(numbers.value + factor * float(move.value), jac)
